"""Addresses of the API, version 1, and its description."""

from django.urls import path
from drf_spectacular.views import SpectacularAPIView

from .views import docs, goods_in, grading, jobs, limits, papers, photographs, resources, stock, tester_files, waste

urlpatterns = [
    path("jobs/", resources.Jobs.as_view(), name="api-jobs"),
    path("jobs/for-stock/", resources.JobsForStock.as_view(), name="api-jobs-for-stock"),
    path("jobs/<int:number>/returns/", resources.Returns.as_view(), name="api-returns"),
    path("jobs/<int:number>/", resources.OneJob.as_view(), name="api-job"),
    path("jobs/<int:number>/items/", resources.Items.as_view(), name="api-items"),
    path("jobs/<int:number>/steps/", resources.Steps.as_view(), name="api-steps"),
    path("jobs/<int:number>/photographs/", photographs.Photographs.as_view(), name="api-photographs"),
    *jobs.urlpatterns,
    path("customers/", resources.Customers.as_view(), name="api-customers"),
    path("instruments/", stock.Instruments.as_view(), name="api-instruments"),
    path("cells/", stock.Cells.as_view(), name="api-cells"),
    path("cells/import/", stock.CellsImport.as_view(), name="api-cells-import"),
    path("cells/<str:code>/tester-files/", tester_files.TesterFiles.as_view(), name="api-tester-files"),
    path("cells/<str:code>/conditions/", stock.Conditions.as_view(), name="api-conditions"),
    path("cells/<str:code>/discard/", stock.Discard.as_view(), name="api-discard"),
    path("cell-models/", stock.CellModels.as_view(), name="api-cell-models"),
    path("lots/", stock.Lots.as_view(), name="api-lots"),
    path("lots/<str:code>/goods-in/", goods_in.GoodsIn.as_view(), name="api-goods-in"),
    path("lots/<str:code>/release/", goods_in.Release.as_view(), name="api-release-lot"),
    path("readings/", stock.Readings.as_view(), name="api-readings"),
    path("readings/<int:pk>/correction/", stock.Correction.as_view(), name="api-correction"),
    path("readings/<int:pk>/withdrawal/", stock.Withdrawal.as_view(), name="api-withdrawal"),
    path("limits/", limits.Limits.as_view(), name="api-limits"),
    path("criteria/", grading.Criteria.as_view(), name="api-criteria"),
    path("new-cells/", grading.NewCells.as_view(), name="api-new-cells"),
    path("plans/", resources.Plans.as_view(), name="api-plans"),
    path("documents/", resources.Documents.as_view(), name="api-documents"),
    path("documents/<str:code>/reissue/", papers.Reissue.as_view(), name="api-reissue"),
    path("documents/<str:code>/void/", papers.Void.as_view(), name="api-void"),
    path("containers/", waste.Containers.as_view(), name="api-containers"),
    path("containers/<str:code>/closing/", waste.Closing.as_view(), name="api-closing"),
    path("containers/<str:code>/reopening/", waste.Reopening.as_view(), name="api-reopening"),
    path("containers/<str:code>/label/", waste.Label.as_view(), name="api-label"),
    path("consignments/", waste.Consignments.as_view(), name="api-consignments"),
    path("consignments/<int:number>/confirmation/", waste.Confirmation.as_view(), name="api-confirmation"),
    path("consignments/<int:number>/note/", waste.ConsignmentNote.as_view(), name="api-consignment-note"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("docs/", docs.docs, name="api-docs"),
]
