"""Cells that were in a pack before are made ready to be joined again: tabs, stubs, wrapper and insulator."""

from collections.abc import Callable, Sequence
from datetime import datetime

from packs.terms import CellFormat, Condition, OldTabs, Place, Stubs, Wrap
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.models import Cell, CellPreparation, User

from . import files, incidents, log
from .base import BENCH, moment, verb

AT_HAND = (Place.BENCH.value, Place.STOCK.value)
MOST_CELLS = 500


@verb(*BENCH)
def prepare_cells(
    *,
    cells: Sequence[Cell],
    tabs: OldTabs,
    stubs: Stubs,
    wrapper: Wrap,
    insulator: Wrap,
    by: User,
    printed: str = "",
    photographed: bool = False,
    picture: Picture | None = None,
    note: str = "",
    now: datetime | None = None,
) -> list[CellPreparation]:
    """What was done alike to one cell or a set is written down; a new wrap carries over what stood on the old one."""
    at = moment(now)
    rows = list(Cell.objects.select_for_update().filter(pk__in=[cell.pk for cell in cells]).order_by("code"))
    if not rows:
        raise ShopError("no_cells", "Say which cells were prepared.", field="cells")
    if len(rows) > MOST_CELLS:
        raise ShopError("too_many", f"At most {MOST_CELLS} cells at once; these are {len(rows)}.", field="cells")
    _require(rows, lambda cell: cell.place in AT_HAND, "not_here", "not on the bench or in stock")
    _require(
        rows,
        lambda cell: cell.condition == Condition.INTACT.value,
        "not_intact",
        "damaged, and nobody grinds or wraps a damaged cell",
    )
    incidents.require_cells_released(rows)
    _require_insulated(rows, insulator)
    photographed = photographed or picture is not None
    if wrapper is Wrap.REPLACED and not (printed.strip() and photographed):
        field = "photographed" if printed.strip() else "printed"
        message = "A new wrap carries over what stood on the old one: photograph it first, and write down what it said."
        raise ShopError("print_lost", message, field=field)
    if picture is not None:
        files.put(files.path_of(files.Folder.PRINTS, picture.sha256, "jpg"), picture.content)
    said = {"tabs": tabs.value, "stubs": stubs.value, "wrapper": wrapper.value, "insulator": insulator.value}
    made = CellPreparation.objects.bulk_create(
        CellPreparation(
            picture_sha256=picture.sha256 if picture else "",
            cell=cell,
            printed=printed.strip(),
            photographed=photographed,
            note=note.strip(),
            at=at,
            by=by,
            **said,
        )
        for cell in rows
    )
    log.record("cells prepared", by=by, at=at, cells=[cell.code for cell in rows], done=said)
    return made


def _require_insulated(rows: Sequence[Cell], insulator: Wrap) -> None:
    """The can of a round cell goes over its rim: without a ring a strip on the cap lies on both poles."""
    if insulator is not Wrap.NONE:
        return
    named = Cell.objects.filter(pk__in=[cell.pk for cell in rows], lot__cell_model__cell_format=CellFormat.ROUND.value)
    if bare := list(named.order_by("code").values_list("code", flat=True)):
        more = " and more" if len(bare) > 5 else ""
        raise ShopError(
            "no_insulator",
            f"{', '.join(bare[:5])}{more}: a round cell has its can around the positive end, and a strip without an "
            "insulator ring there is a short circuit. Put one on and say so.",
            field="insulator",
            cells=bare,
        )


def content_of(preparation: CellPreparation) -> bytes:
    """Return the photograph of an old wrap."""
    sha256 = preparation.picture_sha256
    return files.read(files.path_of(files.Folder.PRINTS, sha256, "jpg"), sha256, name="this photograph")


def _require(rows: Sequence[Cell], holds: Callable[[Cell], bool], code: str, words: str) -> None:
    if wrong := [cell.code for cell in rows if not holds(cell)]:
        more = " and more" if len(wrong) > 5 else ""
        raise ShopError(code, f"{', '.join(wrong[:5])}{more}: {words}.", field="cells", cells=wrong)
