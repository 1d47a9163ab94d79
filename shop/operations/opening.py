"""How every job begins: what the danger signs add up to, its number and first stage, and what comes in with it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max

from packs.terms import AMBER_SIGNS, Condition, DangerLevel, DangerSign, JobKind, Place, Stage
from shop.bridge import possible, rules
from shop.errors import ShopError
from shop.models import CountBasis, Item, ItemKind, Job, NumberSeries, User

from . import areas, book, log
from .base import save
from .possible import refuse, require_stated

JOBS = "job"
"""The series whose row is held while a job gets its number."""

REACTING = frozenset({DangerSign.HOT, DangerSign.SMOKE, DangerSign.HISSING})


@dataclass(frozen=True, kw_only=True)
class CellCount:
    """How many cells are inside an unopened pack, and how well that is known."""

    cells: int | None = None
    basis: CountBasis = CountBasis.UNKNOWN


@dataclass(frozen=True, kw_only=True)
class PackSize:
    """How much an unopened pack is, as weighed, measured over its case, or read off it beside the nameplate."""

    mass_mg: int | None = None
    volume_mm3: int | None = None
    rated_energy_mwh: int | None = None

    def require_possible(self) -> None:
        """Refuse what no pack that comes over a counter has."""
        require_stated({"volume_mm3": self.volume_mm3, "rated_energy_mwh": self.rated_energy_mwh})
        if self.mass_mg is not None:
            refuse("impossible_value", {"mass_mg": possible.STATED["item_mass_mg"].doubt(self.mass_mg)})


def danger_level(signs: Iterable[DangerSign]) -> DangerLevel:
    """One red sign is enough for red, one amber sign for amber."""
    seen = set(signs)
    if rules.stopping(rules.signs_seen(seen)):
        return DangerLevel.RED
    return DangerLevel.AMBER if seen & AMBER_SIGNS else DangerLevel.CLEAR


def condition_of(signs: Iterable[DangerSign]) -> Condition:
    """A pack that heats, smokes or hisses is liable to react; any other sign makes it damaged until cleared."""
    seen = set(signs)
    if seen & REACTING:
        return Condition.REACTIVE
    return Condition.DAMAGED if seen else Condition.INTACT


def open_job(job: Job, signs: Iterable[DangerSign], *, by: User, at: datetime) -> None:
    """Number and save a new job at the stage that its kind and its danger signs make the first."""
    signs = sorted(set(signs))
    job.danger_signs = [sign.value for sign in signs]
    job.danger_level = (DangerLevel.RED if job.recalled else danger_level(signs)).value
    job.number = _next_number()
    job.opened_at, job.opened_by = at, by
    job.stage = next(stage for stage in job.route if stage is not Stage.TAKE_IN).value
    save(job)
    verb = "taken in" if job.route[0] is Stage.TAKE_IN else "opened"
    log.record(verb, by=by, at=at, job=job, kind=job.kind, danger=job.danger_level, signs=job.danger_signs)


def _next_number() -> int:
    """Return the number after the last one; whoever takes a job in at the same moment waits here for this one."""
    NumberSeries.objects.get_or_create(kind=JOBS)
    NumberSeries.objects.select_for_update().get(kind=JOBS)
    return (Job.objects.aggregate(last=Max("number"))["last"] or 0) + 1


STANDS = {
    DangerLevel.CLEAR: Place.COUNTER,
    DangerLevel.AMBER: Place.QUARANTINE,
    DangerLevel.RED: Place.OUTSIDE,
}
"""Where a pack waits by what was seen of it; quarantine is the separate bench."""


def bring_in_device(job: Job, count: CellCount, *, by: User, at: datetime, size: PackSize | None = None) -> None:
    """Write down the device with its pack, or the pack alone where nothing but that stays here."""
    if (count.cells is None) != (count.basis is CountBasis.UNKNOWN):
        raise ShopError("count_basis_missing", "Say how many cells, and whether counted or estimated.", field="cells")
    size = size or PackSize()
    size.require_possible()
    alone = job.kind == JobKind.TAKE_BACK
    item = save(
        Item(
            job=job,
            kind=(ItemKind.PACK if alone else ItemKind.DEVICE).value,
            description=f"Battery pack of {job.device}" if alone else f"{job.device} with its pack",
            cell_count=count.cells,
            count_basis=count.basis.value,
            **vars(size),
            condition=condition_of(DangerSign(sign) for sign in job.danger_signs).value,
            place=STANDS[DangerLevel(job.danger_level)].value,
        )
    )
    book.bring_in(item, by=by, at=at, job=job)
    areas.require_room_for(item)
    areas.require_size_known(item)
