"""The job card."""

from dataclasses import replace
from decimal import Decimal

from packs import topology
from packs.documents import CardStep, CellToLevel, Heading, JobCard, StripCut, StripJoints, Target
from packs.errors import PacksError
from packs.terms import DeviceClass, JointMethod, Measure, Outcome, StripMaterial
from packs.units import Quantity, of, to
from shop.bridge import cells, layouts, rules, strips, to_level
from shop.models import Job, Plan

from .card_steps import card_steps
from .packs_of import groups, mixed, outline, plan_of, rating
from .way_stated import way_stated
from .words import written_for


def job_card(job: Job, heading: Heading) -> JobCard:
    """Return what the bench works by: target pack, drawing, positions, steps with their limits."""
    plan = plan_of(job)
    return JobCard(
        heading=heading,
        device_class=DeviceClass(job.device.device_class),
        complaint=job.complaint,
        outline=outline(plan),
        target=_target(plan),
        groups=groups(plan),
        strips=_strips(plan),
        warnings=_warnings(plan, heading.workshop.number_locale),
        steps=_steps(plan, heading.workshop.number_locale),
        cuts=_cuts(plan),
        mixed=mixed(plan),
        to_level=_to_level(plan),
    )


def _steps(plan: Plan, locale: str) -> tuple[CardStep, ...]:
    return tuple(
        replace(step, ticks=tuple(written_for(locale, tick) for tick in step.ticks)) for step in card_steps(plan)
    )


def _to_level(plan: Plan) -> tuple[CellToLevel, ...]:
    return tuple(
        CellToLevel(
            one.group,
            one.code,
            _stored(Measure.REST_VOLTAGE, one.rest),
            _stored(Measure.REST_VOLTAGE, one.target),
        )
        for one in to_level.of_chosen(plan)
    )


def _target(plan: Plan) -> Target:
    limits = rules.target_limits(plan)
    per_cell = topology.cell_current(of(Measure.CURRENT, plan.continuous_current_ma), cells.arrangement(plan))
    return Target(
        rating=rating(plan),
        joint_method=JointMethod(plan.joint_method),
        strip_material=StripMaterial(plan.strip_material),
        strip_width_um=plan.strip_width_um,
        strip_thickness_um=plan.strip_thickness_um,
        continuous_current_ma=Decimal(plan.continuous_current_ma),
        cell_current_ma=to(Measure.CURRENT, per_cell),
        cell_current_limit_ma=_stored(Measure.CURRENT, limits.cell_current),
        c_rate=_c_rate(plan),
        charger_voltage_mv=Decimal(plan.charger_voltage_mv),
        charge_current_limit_ma=_stored(Measure.CURRENT, rules.charge_limits(plan).current),
        outlet_voltage_mv=_decimal(plan.outlet_voltage_mv),
        dropout_mv=_decimal(plan.dropout_mv),
        strip_layers=plan.strip_layers or 1,
        charger_limit_mv=_stored(Measure.VOLTAGE, limits.charger_voltage),
        way=way_stated(plan),
    )


def _c_rate(plan: Plan) -> Decimal:
    """Return the pack's current as a multiple of its rated capacity [1/h]."""
    capacity = of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah * plan.parallel)
    rate = topology.c_rate(of(Measure.CURRENT, plan.continuous_current_ma), capacity)
    return Decimal(f"{rate.m_as('1/hour'):.4f}")


def _strips(plan: Plan) -> tuple[StripJoints, ...]:
    return tuple(StripJoints(strip.number, strip.face, len(strip.joints)) for strip in layouts.working_order(plan))


def _cuts(plan: Plan) -> tuple[StripCut, ...]:
    """Return the strip to cut; nothing where it is not known how far the cells lie apart."""
    try:
        pieces = strips.cutting(plan).pieces
    except PacksError:
        return ()
    return tuple(StripCut(round(float(length.to("micrometer").magnitude)), *counts) for length, *counts in pieces)


def _warnings(plan: Plan, locale: str) -> tuple[str, ...]:
    """Return what the rules had to say about the plan, in the order they said it."""
    told = (Outcome.FAIL, Outcome.UNKNOWN, Outcome.ACCEPTED)
    open_words = [found for found in plan.findings if found["outcome"] in told]
    return tuple(written_for(locale, found["message"], found["where"]) for found in open_words)


def _decimal(value: int | None) -> Decimal | None:
    return None if value is None else Decimal(value)


def _stored(measure: Measure, limit: Quantity | None) -> Decimal | None:
    return None if limit is None else to(measure, limit)
