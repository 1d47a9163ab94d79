"""The repair of a group: which groups are replaced, and what is known of those that stay."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType

from packs.terms import Condition, Measure, Place, Stage
from shop.bridge import figures
from shop.bridge.documents.packs_of import energy_mwh
from shop.bridge.likely import group_doubt
from shop.bridge.standing import named, point_of
from shop.errors import ShopError
from shop.models import Cell, CellModel, CountBasis, Item, ItemKind, Job, PackAsFound, Plan, User

from . import book
from .base import save
from .possible import refuse
from .readings import write

NOTHING: Mapping[int, Decimal] = MappingProxyType({})


def require_groups(job: Job, series: int, parallel: int, cell_model: CellModel, replaced: Sequence[int]) -> None:
    """A repair names at least one group of the pack as found and leaves at least one; any other job names none."""
    if not job.part_stays:
        if replaced:
            words = "This job builds every group anew. Only the repair of a group names groups."
            raise ShopError("whole_pack", words, field="replaced")
        return
    _require_as_found(job.as_found, series, parallel, cell_model)
    if doubt := _doubt(series, replaced):
        raise ShopError(*doubt, field="replaced")
    _require_same_as_begun(job, replaced)


def _require_as_found(found: PackAsFound, series: int, parallel: int, cell_model: CellModel) -> None:
    arrangement = f"{found.series}s{found.parallel}p"
    if (series, parallel) != (found.series, found.parallel):
        words = f"A repair leaves the arrangement as found, {arrangement}. Another one is a rebuild."
        raise ShopError("not_as_found", words, field="arrangement")
    if cell_model.pk != found.cell_model_id:
        words = (
            f"The groups that stay are of {found.cell_model}, and every limit of the pack with them. Other cells beside "
            "them are a rebuild."
        )
        raise ShopError("not_as_found", words, field="cell_model")


def _doubt(series: int, replaced: Sequence[int]) -> tuple[str, str] | None:
    """Return code and words of what cannot be replaced; nothing where it can."""
    if not replaced:
        return "no_group_named", "Say which groups are replaced, by their numbers from the negative end."
    if strange := sorted({number for number in replaced if not 1 <= number <= series}):
        return "no_such_group", f"There is no {named(strange)}: this pack has groups 1 to {series}."
    if len(set(replaced)) < len(replaced):
        return "group_twice", "A group is named twice."
    if len(replaced) == series:
        return "all_groups", (
            "To replace every group is a rebuild. Name those alone that failed; or return the device without a "
            "repair and take it in for a rebuild."
        )
    return None


def _require_same_as_begun(job: Job, replaced: Sequence[int]) -> None:
    """Once cells are out of the old pack, their groups are the ones that are replaced."""
    begun = job.plans.last()
    if begun is None or sorted(replaced) == begun.replaced or not Cell.objects.removed_from_pack_of(job).exists():
        return
    raise ShopError(
        "groups_begun",
        f"Cells of {named(begun.replaced)} are out already: no other groups are replaced on this job. Give the "
        "repair up where more have to go, and take the pack in for a rebuild.",
        field="replaced",
    )


def measured_groups(
    plan: Plan,
    capacities_mah: Mapping[int, Decimal],
    resistances_uohm: Mapping[int, Decimal] = NOTHING,
    *,
    by: User,
    at: datetime,
) -> None:
    """Write down what the groups that stay gave in a discharge, and their resistance, where it was measured and is news."""
    given = {number: mah for number, mah in capacities_mah.items() if mah is not None}
    ohms = {number: uohm for number, uohm in resistances_uohm.items() if uohm is not None}
    stay = set(plan.standing_groups)
    doubts = {f"capacity_{number}": NOT_HERE.format(number) for number in sorted(set(given) - stay)}
    doubts |= {f"resistance_{number}": NOT_HERE.format(number) for number in sorted(set(ohms) - stay)}
    doubts |= {f"capacity_{number}": EMPTY for number, mah in given.items() if not mah > 0}
    doubts |= {f"resistance_{number}": NO_RESISTANCE for number, uohm in ohms.items() if not uohm > 0}
    doubts |= {
        f"capacity_{number}": group_doubt(mah, plan.cell_model, plan.parallel)
        for number, mah in given.items()
        if mah > 0 and number in stay
    }
    refuse("impossible_value", doubts)
    _write_news(plan, Measure.CAPACITY, given, by=by, at=at)
    _write_news(plan, Measure.DC_RESISTANCE, ohms, by=by, at=at)


def _write_news(plan: Plan, measure: Measure, given: Mapping[int, Decimal], *, by: User, at: datetime) -> None:
    known = figures.of_points(plan.job, Stage.TARGET, measure)
    for number, value in given.items():
        point = point_of(number)
        if known.get(point) != value:
            write(job=plan.job, stage=Stage.TARGET, point=point, measure=measure, value=value, by=by, at=at)


NOT_HERE = "Group {} does not stay in this pack."
NO_RESISTANCE = "A group has a resistance above zero: the voltage step over the step of the current."
EMPTY = "A group that gives nothing does not stay: name it among those that are replaced."


def set_rest_aside(job: Job, condition: Condition, *, by: User, at: datetime) -> Item | None:
    """The groups that stay of a repair that was given up are one thing on the bench, until it goes its way."""
    plan = job.plans.select_related("cell_model").last()
    if plan is None or not plan.replaced:
        return None
    count = len(plan.standing_groups) * plan.parallel
    item = save(
        Item(
            job=job,
            kind=ItemKind.PACK.value,
            description=f"Rest of the opened pack, {named(plan.standing_groups)}"[:160],
            cell_count=count,
            count_basis=CountBasis.KNOWN.value,
            rated_energy_mwh=int(energy_mwh(plan.cell_model, count)),
            condition=condition.value,
            place=(Place.OUTSIDE if condition is Condition.REACTIVE else Place.BENCH).value,
        )
    )
    book.bring_in(item, by=by, at=at, job=job, note="what stayed of the pack, whose repair was given up")
    return item
