"""Cells, their types, lots, readings and the meters they were taken with."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from shop.api.once import person
from shop.api.rows import REFUSALS, New, Rows, RowsAndNew, narrowed_by
from shop.api.serializers import answers, stock
from shop.models import Cell, CellModel, ConditionChange, Instrument, Lot, Reading, TesterToken
from shop.operations import conditions, disposal, withdrawing, workshop
from shop.operations import stock as operations


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
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
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


class Conditions(RowsAndNew):
    """What became of the condition of a cell."""

    queryset = ConditionChange.objects.none()
    serializer_class = answers.ConditionChangeOut
    takes = stock.ConditionIn

    def get_queryset(self) -> Any:
        """Return the changes of the cell in the address, the first one first."""
        return _cell(self.kwargs["code"]).condition_changes.select_related("by")

    @extend_schema(responses={200: answers.ConditionChangeOut(many=True), **REFUSALS})
    def get(self, request: Request, code: str) -> Response:
        """List the changes of a cell's condition."""
        return self.list(request)

    @extend_schema(request=stock.ConditionIn, responses={201: answers.ConditionChangeOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Say that a cell is worse than it was written down."""
        return self.take(request, cell=_cell(code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the change."""
        changed = conditions.lower_condition(by=person(request), **values, **where)
        return dict(answers.ConditionChangeOut(changed).data)


class Discard(New):
    """The way of a cell of the stock that is not used any more."""

    takes = stock.DiscardIn
    done = status.HTTP_200_OK

    @extend_schema(request=stock.DiscardIn, responses={200: answers.CellOut, **REFUSALS})
    def post(self, request: Request, code: str) -> Response:
        """Put a cell of the stock into a container, or hand one that may react to the emergency service."""
        return self.take(request, cell=_cell(code))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the cell as it stands then."""
        return dict(answers.CellOut(disposal.discard(by=person(request), **values, **where)).data)


def _cell(code: str) -> Cell:
    return get_object_or_404(Cell.objects.select_related("lot__cell_model"), code=code)


class CellsImport(New):
    """Tested cells of one lot."""

    takes = stock.CellsImport

    @extend_schema(request=stock.CellsImport, responses={201: answers.CellOut(many=True), **REFUSALS})
    def post(self, request: Request) -> Response:
        """Bring tested cells in, all or none."""
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> Any:
        """Return the new cells."""
        cells = operations.import_cells(by=person(request), **values)
        rows = Cell.objects.select_related("lot__cell_model").filter(pk__in=[cell.pk for cell in cells])
        return answers.CellOut(rows, many=True).data


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
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new type."""
        return dict(answers.CellModelOut(operations.add_cell_model(by=person(request), **values)).data)


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
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new lot."""
        return dict(answers.LotOut(operations.add_lot(by=person(request), **values)).data)


class Readings(RowsAndNew):
    """Readings; the one address where a tester's key may post."""

    testers_may_post = True
    queryset = Reading.objects.select_related("cell", "job", "by", "instrument", "step", "tester", "withdrawal")
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
        return self.take(request)

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> dict[str, Any]:
        """Return the new reading; a tester's own instrument stands on what it posts."""
        if isinstance(request.auth, TesterToken):
            values |= {"instrument": request.auth.instrument, "tester": request.auth}
        return dict(answers.ReadingOut(operations.record_reading(by=person(request), **values)).data)


class Withdrawal(New):
    """The withdrawal of one reading."""

    takes = stock.WithdrawalIn

    @extend_schema(request=stock.WithdrawalIn, responses={201: answers.ReadingOut, **REFUSALS})
    def post(self, request: Request, pk: int) -> Response:
        """Withdraw a reading that is none of its cell's."""
        return self.take(request, reading=get_object_or_404(Reading, pk=pk))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> Any:
        """Return the reading, withdrawn."""
        return answers.ReadingOut(withdrawing.withdraw_reading(by=person(request), **values, **where).reading).data


class Correction(New):
    """The correction of one reading."""

    takes = stock.CorrectionIn

    @extend_schema(request=stock.CorrectionIn, responses={201: answers.ReadingOut, **REFUSALS})
    def post(self, request: Request, pk: int) -> Response:
        """Write the right value below a wrong one."""
        return self.take(request, reading=get_object_or_404(Reading, pk=pk))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> Any:
        """Return the right reading."""
        return answers.ReadingOut(operations.correct_reading(by=person(request), **values, **where)).data
