"""Jobs, their items and papers: lists, single rows, and what opens a new one."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New, Rows, RowsAndNew, narrowed_by
from shop.api.serializers import answers, jobs
from shop.models import Customer, IssuedDocument, Item, Job, Plan, Step
from shop.operations import for_stock, intake, returns


class Jobs(RowsAndNew):
    """Jobs, the newest first."""

    queryset = Job.objects.with_device()
    serializer_class = answers.JobOut
    takes = jobs.TakeIn
    filters = {"stage": "stage", "danger_level": "danger_level", "kind": "kind"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.JobOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List jobs."""
        return self.list(request)

    @extend_schema(request=jobs.TakeIn, responses={201: answers.OpenedOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Take a device in at the counter."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new job."""
        return opened(intake.take_in(by=person(request), **values))


def opened(job: Job) -> dict[str, Any]:
    """Return a new job as JSON."""
    return dict(answers.OpenedOut(Job.objects.with_device().get(pk=job.pk)).data)


class JobsForStock(New):
    """Packs the shop builds for its own stock."""

    takes = jobs.ForStock

    @extend_schema(request=jobs.ForStock, responses={201: answers.OpenedOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Open a job that builds a pack for stock."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new job."""
        return opened(for_stock.build_for_stock(by=person(request), **values))


class Returns(New):
    """Packs rebuilt here that come back."""

    takes = jobs.Return

    @extend_schema(request=jobs.Return, responses={201: answers.OpenedOut, **REFUSALS})
    def post(self, request: Request, number: int) -> Response:
        """Open a job for the pack of a closed one."""
        return self.take(request, returned=get_object_or_404(Job, number=number))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new job."""
        return opened(returns.take_in_return(by=person(request), **values, **where))


class OneJob(generics.RetrieveAPIView[Job]):
    """One job."""

    queryset = Job.objects.with_device()
    serializer_class = answers.JobOut
    lookup_field = "number"

    @extend_schema(responses={200: answers.JobOut, **REFUSALS})
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Return one job."""
        return self.retrieve(request, *args, **kwargs)


class Items(Rows):
    """Items of a job."""

    queryset = Item.objects.none()
    serializer_class = answers.ItemOut
    filters = {"kind": "kind", "condition": "condition", "place": "place"}

    def get_queryset(self) -> Any:
        """Return the items of the job in the address."""
        return get_object_or_404(Job, number=self.kwargs["number"]).items.all()

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.ItemOut(many=True), **REFUSALS})
    def get(self, request: Request, number: int) -> Response:
        """List the items of a job."""
        return self.list(request)


class Steps(Rows):
    """Tries of the steps of a job."""

    queryset = Step.objects.none()
    serializer_class = answers.StepOut
    filters = {"stage": "stage", "outcome": "outcome"}

    def get_queryset(self) -> Any:
        """Return the tries of the job in the address, in the order in which they were begun."""
        return get_object_or_404(Job, number=self.kwargs["number"]).steps.select_related("by")

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.StepOut(many=True), **REFUSALS})
    def get(self, request: Request, number: int) -> Response:
        """List the tries of the steps of a job, those that were stopped too."""
        return self.list(request)


class Customers(Rows):
    """Customers and the numbers they are named by."""

    queryset = Customer.objects.all()
    serializer_class = answers.CustomerOut
    filters = {"name": "name"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.CustomerOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List customers."""
        return self.list(request)


class Plans(Rows):
    """Plans with their positions."""

    queryset = Plan.objects.select_related("job", "cell_model").prefetch_related("positions__cell")
    serializer_class = answers.PlanOut
    filters = {"job": "job__number", "state": "state"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.PlanOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List plans."""
        return self.list(request)


class Documents(Rows):
    """Issued documents with their frozen content."""

    queryset = IssuedDocument.objects.select_related("job", "container", "consignment", "voiding__replaced_by").defer(
        "pdf"
    )
    serializer_class = answers.DocumentOut
    filters = {"job": "job__number", "kind": "kind"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.DocumentOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List documents."""
        return self.list(request)
