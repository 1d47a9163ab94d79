"""The step of the job card at which the cells are measured: the stricter of two limits, and the groups beside each other."""

from decimal import Decimal

import pytest

from packs.documents import Limit
from packs.terms import JointMethod, Measure, Stage
from shop.bridge.documents.card_steps import card_steps
from tests import line

pytestmark = pytest.mark.django_db


def at_measure(**target: object) -> dict[str, Limit]:
    """The limits of the step in millivolts, by what they are of, for a 2s2p pack of 3.7 V cells."""
    plan = line.built_of(2, 2, **target).plans.get()
    step = next(step for step in card_steps(plan) if step.stage is Stage.MEASURE)
    return {limit.what: limit for limit in step.limits if limit.measure is Measure.VOLTAGE}


def test_a_cell_that_is_welded_is_not_nearly_full_and_groups_lie_together() -> None:
    """107 % of 3.74 V and 50 mV, both common practice, no source."""
    limits = at_measure()
    assert {limit.high for limit in limits.values()} == {Decimal(4001), Decimal(50)}
    apart = limits["spread of the rest voltages of the groups before they are in series"]
    assert (apart.low, apart.high) == (None, Decimal(50))


def test_a_bolted_cell_may_be_as_full_as_it_is_used_again() -> None:
    assert max(limit.high for limit in at_measure(joint_method=JointMethod.BOLTED).values() if limit.high) == 4250
