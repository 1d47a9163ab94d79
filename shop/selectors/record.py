"""Everything the tables hold of one job, read once for its story."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q

from packs.terms import Condition, Measure, Place, Stage
from packs.units import of, show
from shop.models import Cell, Job, Joint, JointState, PackAsFound, Plan, Reading, Step

from .sheet import standing_plan

Points = dict[str, Decimal]


VOLTAGES = frozenset({Measure.VOLTAGE, Measure.REST_VOLTAGE})
MOST_OF_A_CELL_MV = 100
"""Below it a voltage shows in mV, which suits a cell and not a pack."""


@dataclass(frozen=True, kw_only=True)
class Joints:
    """How many joints are made, on how many strips, and how many tries did not hold."""

    made: int = 0
    strips: int = 0
    failed: int = 0


@dataclass(frozen=True, kw_only=True)
class Record:
    """One job as the tables have it. ``steps`` are the last tries by stage, ``readings`` the newest
    standing ones by stage, measure and point.
    """

    job: Job
    locale: str
    found: PackAsFound | None
    plan: Plan | None
    steps: dict[str, Step]
    readings: dict[tuple[str, str], Points]
    conditions: Counter[Condition]
    unmeasured: int
    places: Counter[tuple[Place, bool]]
    placed: int
    joints: Joints

    def words(self, measure: Measure, value: Decimal | int) -> str:
        """Return a stored number as the shop writes it."""
        return str(show(of(measure, value), locale=self.locale))

    def at(self, stage: Stage, measure: Measure, point: str) -> str:
        """Return the reading of one point in words; nothing where it was not measured."""
        value = self.readings.get((stage.value, measure.value), {}).get(point)
        if value is None:
            return ""
        if point == "pack" and measure in VOLTAGES and abs(value) < MOST_OF_A_CELL_MV:  # a dead pack is still told in V
            return str(show(of(measure, value), locale=self.locale, symbol="V"))
        return self.words(measure, value)

    def span(self, stage: Stage, measure: Measure, word: str = "", *, but: str = "") -> str:
        """Return from where to where the readings of the points named by a word reach, ``but`` those of another."""
        points = self.readings.get((stage.value, measure.value), {})
        values = [
            value for point, value in points.items() if point.startswith(word) and not (but and point.startswith(but))
        ]
        if not values:
            return ""
        low, high = (self.words(measure, end) for end in (min(values), max(values)))
        return low if low == high else f"{low} to {high}"


def read(job: Job, *, locale: str = "en") -> Record:
    """Read what there is to tell of a job."""
    plan = standing_plan(job)
    removed = Cell.objects.removed_from_pack_of(job).values_list("condition", flat=True)
    return Record(
        job=job,
        locale=locale,
        found=PackAsFound.objects.filter(job=job).select_related("cell_model", "examined_by").first(),
        plan=plan,
        steps={step.stage: step for step in job.steps.select_related("by")},
        readings=_readings(job),
        conditions=Counter(Condition(condition) for condition in removed),
        unmeasured=_unmeasured(job),
        places=Counter(_places(job)),
        placed=plan.positions.filter(placed_at__isnull=False).count() if plan else 0,
        joints=_joints(plan) if plan else Joints(),
    )


def _unmeasured(job: Job) -> int:
    """Return how many cells out of the old pack are whole by their look alone: nobody measured them since they came."""
    at_rest = Reading.objects.standing().filter(measure=Measure.REST_VOLTAGE.value, measured_at__gte=job.opened_at)
    whole = Cell.objects.removed_from_pack_of(job).filter(condition=Condition.INTACT.value)
    return whole.exclude(pk__in=at_rest.filter(cell__isnull=False).values("cell")).count()


def _places(job: Job) -> list[tuple[Place, bool]]:
    """Return where the cells are that came off the job, and the pack that nobody opened; True is the emergency way."""
    rows = [
        *Cell.objects.taken_off_by(job).values_list("place", "container"),
        *job.items.gone().values_list("place", "container"),
    ]
    return [(Place(place), place == Place.CONSIGNED and container is None) for place, container in rows]


def _readings(job: Job) -> dict[tuple[str, str], Points]:
    newest: dict[tuple[str, str], Points] = {}
    rows = Reading.objects.standing().filter(job=job).values_list("stage", "measure", "point", "value")
    for stage, measure, point, value in rows:
        newest.setdefault((stage, measure), {})[point] = value
    return newest


def _joints(plan: Plan) -> Joints:
    made = Q(state=JointState.MADE.value)
    counted = Joint.objects.filter(position__plan=plan).aggregate(
        made=Count("pk", filter=made),
        strips=Count("strip", filter=made, distinct=True),
        failed=Count("pk", filter=Q(state=JointState.FAILED.value)),
    )
    return Joints(**counted)
