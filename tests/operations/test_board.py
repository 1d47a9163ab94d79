"""Before the board is connected: it is for this pack, and its trips were tried on a bench ladder.

Upper limit of a cell of the 4.2 V class: 4.25 V, IEC 62133-2:2017, Annex A (from memory); the invented cell of
tests/line.py ends its discharge at 3.00 V.
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Chemistry, Stage
from shop import models
from shop.bridge.rules import BoardTried, board_tried
from shop.operations import rebuild
from tests import line
from tests.operations.stopped import stopped_by

pytestmark = pytest.mark.django_db
TAPS = [Decimal(3620 * n) for n in range(1, 5)]


def check(job: models.Job, **changed: Any) -> Any:
    tried = vars(line.BOARD_TRIED) | {name: _exact(value) for name, value in changed.items()}
    return rebuild.check_taps(job=job, taps_mv=TAPS, board=BoardTried(**tried), by=line.technician())


def _exact(value: Any) -> Any:
    return value if value is None or isinstance(value, bool) else Decimal(str(value))


@pytest.mark.parametrize(
    ("changed", "rule"),
    [
        ({"suits": False}, "ladder.board_suits"),
        ({"suits": None}, "ladder.board_suits"),
        ({"overcharge_mv": 4250.001}, "ladder.overcharge_trip"),
        ({"overcharge_mv": None}, "ladder.overcharge_trip"),
        ({"undervoltage_mv": 2999.999}, "ladder.undervoltage_trip"),
        ({"undervoltage_mv": None}, "ladder.undervoltage_trip"),
    ],
)
def test_a_board_that_was_not_tried_or_does_not_suit_is_not_connected(changed: dict[str, Any], rule: str) -> None:
    stopped_by(check(line.job_at(Stage.LADDER), **changed), rule)


@pytest.mark.parametrize(
    "changed", [{}, {"overcharge_mv": 4250}, {"overcharge_mv": 4249.999}, {"undervoltage_mv": 3000.001}]
)
def test_a_board_within_its_limits_is_and_its_trips_are_kept(changed: dict[str, Any]) -> None:
    result = check(line.job_at(Stage.LADDER), **changed)
    assert result.done
    kept = dict(result.step.readings.filter(point__endswith="trip").values_list("point", "value"))
    assert kept == {
        "overcharge trip": _exact(changed.get("overcharge_mv", 4225)),
        "undervoltage trip": _exact(changed.get("undervoltage_mv", 3000)),
    }


def test_nothing_said_of_the_board_stops_all_three() -> None:
    job = line.job_at(Stage.LADDER)
    result = rebuild.check_taps(job=job, taps_mv=TAPS, by=line.technician())
    stopped_by(result, "ladder.board_suits", "ladder.overcharge_trip", "ladder.undervoltage_trip")


def test_a_nickel_pack_has_no_such_board() -> None:
    job = line.job_at(Stage.LADDER)
    plan = job.plans.get()
    plan.cell_model.chemistry = Chemistry.NIMH.value
    assert {one.outcome for one in board_tried(plan, BoardTried())} == {"not_applicable"}
