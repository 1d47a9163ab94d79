"""Goods in: a bought lot is held against its data sheet; what cannot be holds all of it until a lead says otherwise."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from packs.terms import LotOrigin
from shop.bridge import goods_in
from shop.bridge.goods_in import SAMPLED
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.models import Cell, Lot, LotCheck, User

from . import files, log
from .base import BENCH, LEADS, moment, save, verb

"""Where photographs of what is printed on cells lie."""


@verb(*BENCH)
def check_lot(
    *,
    lot: Lot,
    by: User,
    invoice: str = "",
    date_code: str = "",
    transport_summary: str = "",
    sample: str = "",
    mass_mg: int | None = None,
    diameter_um: int | None = None,
    height_um: int | None = None,
    capacity_mah: Decimal | None = None,
    dc_resistance_uohm: int | None = None,
    picture: Picture | None = None,
    now: datetime | None = None,
) -> LotCheck:
    """A bought lot is checked as it comes in; a sample that cannot be of these cells holds the whole lot."""
    at = moment(now)
    row = Lot.objects.select_for_update().select_related("cell_model").get(pk=lot.pk)
    if row.origin != LotOrigin.BOUGHT:
        raise ShopError("not_bought", f"Lot {row} was not bought; what is known of its history stands with the lot.")
    measured: dict[str, Decimal | int | None] = {
        "mass_mg": mass_mg,
        "diameter_um": diameter_um,
        "height_um": height_um,
        "capacity_mah": capacity_mah,
        "dc_resistance_uohm": dc_resistance_uohm,
    }
    known = {name: value for name, value in measured.items() if value is not None}
    said = {"invoice": invoice, "date_code": date_code, "transport_summary": transport_summary, "sample": sample}
    if not known and picture is None and not any(text.strip() for text in said.values()):
        raise ShopError("nothing_stated", "Write down what came with the lot, or what its sample measured.")
    for name, value in known.items():
        if doubt := SAMPLED[name].doubt(value):
            raise ShopError("impossible_value", doubt, field=name)
    doubts = goods_in.doubts(row.cell_model, known)
    words = {name: text.strip() for name, text in said.items()}
    if picture is not None:
        files.put(files.path_of(files.Folder.PRINTS, picture.sha256, "jpg"), picture.content)
    photographed = picture.sha256 if picture else ""
    check = save(LotCheck(lot=row, **words, **measured, picture_sha256=photographed, doubts=doubts, at=at, by=by))
    if doubts:
        row.held_why = "; ".join(doubts)[:400]
        save(row)
    log.record("lot checked", by=by, at=at, lot=row.code, doubts=doubts)
    return check


@verb(*LEADS)
def release_lot(*, lot: Lot, reason: str, by: User, now: datetime | None = None) -> LotCheck:
    """A lot that is held is used all the same only once a lead says why."""
    at = moment(now)
    row = Lot.objects.select_for_update().get(pk=lot.pk)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the lot is used all the same.", field="reason")
    if not row.held_why:
        raise ShopError("not_held", f"Lot {row} is not held.")
    row.held_why = ""
    save(row)
    released = save(LotCheck(lot=row, release=reason.strip(), at=at, by=by))
    log.record("lot released", by=by, at=at, lot=row.code, reason=released.release)
    return released


def content_of(check: LotCheck) -> bytes:
    """Return the photograph of the print of a lot."""
    sha256 = check.picture_sha256
    return files.read(files.path_of(files.Folder.PRINTS, sha256, "jpg"), sha256, name="this photograph")


def require_not_held(cells: Iterable[Cell], *, field: str = "") -> None:
    """Refuse to place, measure or join cells of a lot that is held as suspect, also where it was held only since."""
    for cell in cells:
        if cell.lot.held_why:
            message = f"Lot {cell.lot}, of cell {cell.code}, is held as suspect: {cell.lot.held_why}"
            raise ShopError("lot_held", message, field=field)
