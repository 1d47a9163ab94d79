"""What the rules say at each stage of a job, asked with the values of its tables."""

from packs.rules import RULE_SET_VERSION, Finding, stopping

from .asking import as_json, asks_about, stored_stops
from .building import (
    Bolts,
    agreement_limit,
    all_placed,
    before_joining,
    charge_before_opening,
    dismantled,
    expected_taps_mv,
    joined,
    ladder,
    lowest_reusable,
    placed,
    rejection,
    torque_window,
)
from .door import hand_over, removed_gone
from .limits import own_limit
from .planning import matched, target
from .proving import (
    FLAT_CELLS,
    HOUSING_RULES,
    charge_limits,
    examined,
    final_test,
    first_charge,
    forecast_mah,
    housing,
    housing_questions,
    least_final_capacity,
    outlet_window,
    pack_test,
    weakest_groups,
)

__all__ = [
    "FLAT_CELLS",
    "HOUSING_RULES",
    "RULE_SET_VERSION",
    "Bolts",
    "Finding",
    "agreement_limit",
    "all_placed",
    "as_json",
    "asks_about",
    "before_joining",
    "charge_before_opening",
    "charge_limits",
    "dismantled",
    "examined",
    "expected_taps_mv",
    "final_test",
    "first_charge",
    "forecast_mah",
    "hand_over",
    "housing",
    "housing_questions",
    "joined",
    "ladder",
    "least_final_capacity",
    "lowest_reusable",
    "matched",
    "outlet_window",
    "own_limit",
    "pack_test",
    "placed",
    "rejection",
    "removed_gone",
    "stopping",
    "stored_stops",
    "target",
    "torque_window",
    "weakest_groups",
]
