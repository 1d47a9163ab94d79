"""Lists, single rows, and the operations that are not about one job."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shop.api.once import answer_once, person
from shop.api.rows import Rows, RowsAndNew
from shop.api.serializers import answers, jobs, stock
from shop.models import (
    Cell,
    CellModel,
    Container,
    Customer,
    Instrument,
    IssuedDocument,
    Item,
    Job,
    Lot,
    Plan,
    Reading,
    TesterToken,
)
from shop.operations import disposal, for_stock, intake, returns, workshop
from shop.operations import stock as stock_operations

REFUSALS = dict.fromkeys((400, 401, 403, 404, 406, 409, 413, 415), answers.Refusal)


def narrowed_by(*names: str) -> list[OpenApiParameter]:
    """Return the query parameters of a list as the schema tells them."""
    return [OpenApiParameter(name, int if name == "job" else str) for name in names]


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

    @extend_schema(request=jobs.TakeIn, responses={201: answers.JobOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Take a device in at the counter."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new job."""
        return opened(intake.take_in(by=person(request), **values))


def opened(job: Job) -> dict[str, Any]:
    """Return a new job as JSON."""
    return dict(answers.JobOut(Job.objects.with_device().get(pk=job.pk)).data)


class JobsForStock(APIView):
    """Packs the shop builds for its own stock."""

    @extend_schema(request=jobs.ForStock, responses={201: answers.JobOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Open a job that builds a pack for stock."""
        given = jobs.ForStock(data=request.data)
        given.is_valid(raise_exception=True)

        def do() -> tuple[dict[str, Any], int]:
            return opened(
                for_stock.build_for_stock(by=person(request), **given.validated_data)
            ), status.HTTP_201_CREATED

        return answer_once(request, do)


class Returns(APIView):
    """Packs rebuilt here that come back."""

    @extend_schema(request=jobs.Return, responses={201: answers.JobOut, **REFUSALS})
    def post(self, request: Request, number: int) -> Response:
        """Open a job for the pack of a closed one."""
        returned = get_object_or_404(Job, number=number)
        given = jobs.Return(data=request.data)
        given.is_valid(raise_exception=True)

        def do() -> tuple[dict[str, Any], int]:
            job = returns.take_in_return(returned=returned, by=person(request), **given.validated_data)
            return opened(job), status.HTTP_201_CREATED

        return answer_once(request, do)


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


class Customers(Rows):
    """Customers and the numbers they are named by."""

    queryset = Customer.objects.all()
    serializer_class = answers.CustomerOut
    filters = {"name": "name"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.CustomerOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List customers."""
        return self.list(request)


class Instruments(RowsAndNew):
    """Meters and testers."""

    queryset = Instrument.objects.all()
    serializer_class = answers.InstrumentOut
    takes = stock.InstrumentIn
    filters = {"name": "name"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.InstrumentOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List meters and testers."""
        return self.list(request)

    @extend_schema(request=stock.InstrumentIn, responses={201: answers.InstrumentOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Add a meter or tester."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new one."""
        return dict(answers.InstrumentOut(workshop.add_instrument(by=person(request), **values)).data)


class Cells(Rows):
    """Cells and where they stand."""

    queryset = Cell.objects.select_related("lot__cell_model")
    serializer_class = answers.CellOut
    filters = {"lot": "lot__code", "place": "place", "model": "lot__cell_model__name", "job": "job__number"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.CellOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List cells."""
        return self.list(request)


class CellsImport(APIView):
    """Tested cells of one lot."""

    @extend_schema(request=stock.CellsImport, responses={201: answers.CellOut(many=True), **REFUSALS})
    def post(self, request: Request) -> Response:
        """Bring tested cells in, all or none."""
        given = stock.CellsImport(data=request.data)
        given.is_valid(raise_exception=True)

        def do() -> tuple[Any, int]:
            cells = stock_operations.import_cells(by=person(request), **given.validated_data)
            rows = Cell.objects.select_related("lot__cell_model").filter(pk__in=[cell.pk for cell in cells])
            return answers.CellOut(rows, many=True).data, status.HTTP_201_CREATED

        return answer_once(request, do)


class CellModels(RowsAndNew):
    """Types of cells."""

    queryset = CellModel.objects.all()
    serializer_class = answers.CellModelOut
    takes = stock.CellModelIn
    filters = {"chemistry": "chemistry"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.CellModelOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List types of cells."""
        return self.list(request)

    @extend_schema(request=stock.CellModelIn, responses={201: answers.CellModelOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Add a type of cell with the limits of its data sheet."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new type."""
        return dict(answers.CellModelOut(stock_operations.add_cell_model(by=person(request), **values)).data)


class Lots(RowsAndNew):
    """Lots."""

    queryset = Lot.objects.select_related("cell_model")
    serializer_class = answers.LotOut
    takes = stock.LotIn
    filters = {"model": "cell_model__name", "origin": "origin"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.LotOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List lots."""
        return self.list(request)

    @extend_schema(request=stock.LotIn, responses={201: answers.LotOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Add a lot."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new lot."""
        return dict(answers.LotOut(stock_operations.add_lot(by=person(request), **values)).data)


class Readings(RowsAndNew):
    """Readings; the one address where a tester's key may post."""

    testers_may_post = True
    queryset = Reading.objects.select_related("cell", "job", "by", "instrument")
    serializer_class = answers.ReadingOut
    takes = stock.ReadingIn
    filters = {"cell": "cell__code", "job": "job__number", "measure": "measure", "stage": "stage"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.ReadingOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List readings."""
        return self.list(request)

    @extend_schema(request=stock.ReadingIn, responses={201: answers.ReadingOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Add a reading to a cell's history."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new reading; a tester's own instrument stands on what it posts."""
        if isinstance(request.auth, TesterToken):
            values |= {"instrument": request.auth.instrument}
        return dict(answers.ReadingOut(stock_operations.record_reading(by=person(request), **values)).data)


class Correction(APIView):
    """The correction of one reading."""

    @extend_schema(request=stock.CorrectionIn, responses={201: answers.ReadingOut, **REFUSALS})
    def post(self, request: Request, pk: int) -> Response:
        """Write the right value below a wrong one."""
        reading = get_object_or_404(Reading, pk=pk)
        given = stock.CorrectionIn(data=request.data)
        given.is_valid(raise_exception=True)

        def do() -> tuple[Any, int]:
            right = stock_operations.correct_reading(reading=reading, by=person(request), **given.validated_data)
            return answers.ReadingOut(right).data, status.HTTP_201_CREATED

        return answer_once(request, do)


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

    queryset = IssuedDocument.objects.select_related("job").defer("pdf")
    serializer_class = answers.DocumentOut
    filters = {"job": "job__number", "kind": "kind"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.DocumentOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List documents."""
        return self.list(request)


class Containers(RowsAndNew):
    """Waste containers."""

    queryset = Container.objects.all()
    serializer_class = answers.ContainerOut
    takes = stock.ContainerIn
    filters = {"condition": "condition"}

    @extend_schema(parameters=narrowed_by(*filters), responses={200: answers.ContainerOut(many=True), **REFUSALS})
    def get(self, request: Request) -> Response:
        """List containers."""
        return self.list(request)

    @extend_schema(request=stock.ContainerIn, responses={201: answers.ContainerOut, **REFUSALS})
    def post(self, request: Request) -> Response:
        """Open a container."""
        return super().post(request)

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Return the new container."""
        return dict(answers.ContainerOut(disposal.open_container(by=person(request), **values)).data)


class Consignment(APIView):
    """A container that leaves."""

    @extend_schema(request=stock.ConsignIn, responses={200: answers.ContainerOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Hand a container to a carrier."""
        container = get_object_or_404(Container, code=code)
        given = stock.ConsignIn(data=request.data)
        given.is_valid(raise_exception=True)

        def do() -> tuple[Any, int]:
            gone = disposal.consign(container=container, by=person(request), **given.validated_data)
            return answers.ContainerOut(gone).data, status.HTTP_200_OK

        return answer_once(request, do)
