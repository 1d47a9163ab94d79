"""What the bench pages begin with: what a step has in the book already."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Max, Q

from packs.terms import Condition, Measure, Stage
from shop.models import Cell, Job, Joint, JointState, Plan, PlanPosition, Reading

from .conditions import CellTold, told


@dataclass(frozen=True)
class StripDone:
    """A strip that is on: weld spots on each joint, and joints that did not hold the first time."""

    spots: int
    failed: int


@dataclass(frozen=True)
class ChargeLook:
    """One look at the pack while it charged, as it was written down."""

    minutes: int
    pack: Decimal | None
    current: Decimal | None
    hottest: Decimal | None


def removed_cells(job: Job) -> list[CellTold]:
    """Return the cells out of the old pack, the newest first."""
    return told(list(Cell.objects.removed_from_pack_of(job).order_by("-pk")))


def not_whole(job: Job) -> int:
    """Return how many removed cells that are damaged or liable to react lie on the bench still: a container waits."""
    return Cell.objects.on_bench_of(job).exclude(condition=Condition.INTACT.value).count()


def positions(plan: Plan) -> list[PlanPosition]:
    """Return the positions of a plan in order, each with its cell."""
    return list(plan.positions.select_related("cell"))


def strips_done(plan: Plan) -> dict[int, StripDone]:
    """Return the strips that have joints already, by number."""
    standing = Joint.objects.filter(position__plan=plan).exclude(state=JointState.UNDONE.value)
    rows = standing.order_by().values("strip")
    counted = rows.annotate(most=Max("spots"), failed=Count("pk", filter=Q(state=JointState.FAILED.value)))
    return {row["strip"]: StripDone(row["most"], row["failed"]) for row in counted}


def charge_looks(job: Job) -> list[ChargeLook]:
    """Return the looks at the charging pack, in the order of their minutes."""
    rows = Reading.objects.standing().filter(job=job, stage=Stage.FIRST_CHARGE.value, point__endswith=" min")
    looks: dict[int, dict[Measure, Decimal]] = {}
    for point, measure, value in rows.values_list("point", "measure", "value"):
        looks.setdefault(int(point.removesuffix(" min")), {})[Measure(measure)] = value
    return [
        ChargeLook(minutes, *(look.get(name) for name in (Measure.VOLTAGE, Measure.CURRENT, Measure.TEMPERATURE)))
        for minutes, look in sorted(looks.items())
    ]


def conditions_of(job: Job, stage: Stage) -> str:
    """Return the conditions that the newest readings of a stage were taken under."""
    newest = job.readings.filter(stage=stage.value).exclude(conditions="").order_by("-pk").first()
    return newest.conditions if newest else ""
