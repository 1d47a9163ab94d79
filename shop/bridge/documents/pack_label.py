"""The label of a pack that was built here."""

from decimal import Decimal

from packs.documents import Heading, PackLabel
from packs.terms import Measure, Stage
from packs.units import to
from shop.bridge import rebuilt, rules, waste
from shop.models import Job, Plan, StepOutcome

from .heading import local
from .packs_of import change_of, charge_temperature, mixed, plan_of, rating
from .test_report import require_tested


def pack_label(job: Job, heading: Heading) -> PackLabel:
    """Return what stands on a proved pack; there is no label before the final test is done."""
    require_tested(job)
    plan = plan_of(job)
    pack = rating(plan)
    found = rating(job.as_found) if Stage.EXAMINE in job.route else None
    proved = job.steps.filter(stage=Stage.FINAL_TEST.value, outcome=StepOutcome.DONE.value).last()
    assert proved is not None  # noqa: S101 - asked above
    at = local(proved.ended_at or heading.issued_at, heading.workshop.time_zone)
    return PackLabel(
        heading=heading,
        pack=pack,
        built_on=at.date(),
        charger_voltage_mv=Decimal(plan.charger_voltage_mv),
        charge_current_limit_ma=_charge_current(plan),
        continuous_current_ma=Decimal(plan.continuous_current_ma),
        charge_temperature=charge_temperature(plan),
        market=rebuilt.carried(plan, waste.here(heading.issued_at)),
        found=found,
        change=None if found is None else change_of(found, pack),
        mixed=mixed(plan),
    )


def _charge_current(plan: Plan) -> Decimal | None:
    limit = rules.charge_limits(plan).current
    return None if limit is None else to(Measure.CURRENT, limit)
