"""What the rules say at each stage of a job, asked with the values of its tables."""

from packs.rules import RULE_SET_VERSION, Finding, stopping

from .asking import as_json, asks_about, stored_stops
from .building import (
    Bolts,
    SecondLook,
    agreement_limit,
    all_placed,
    before_joining,
    dismantled,
    expected_taps_mv,
    joined,
    ladder,
    lowest_reusable,
    placed,
    rejection,
    torque_window,
)
from .design import way_of_the_current
from .door import hand_over, removed_gone
from .limits import own_limit
from .opening import (
    QUALIFIED,
    SECOND,
    above_60_v,
    before_opening,
    opening_questions,
    opening_words,
)
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
from .welding import Weld, sampled, todays_samples

__all__ = [
    "FLAT_CELLS",
    "HOUSING_RULES",
    "QUALIFIED",
    "RULE_SET_VERSION",
    "SECOND",
    "Bolts",
    "Finding",
    "SecondLook",
    "Weld",
    "above_60_v",
    "agreement_limit",
    "all_placed",
    "as_json",
    "asks_about",
    "before_joining",
    "before_opening",
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
    "opening_questions",
    "opening_words",
    "outlet_window",
    "own_limit",
    "pack_test",
    "placed",
    "rejection",
    "removed_gone",
    "sampled",
    "stopping",
    "stored_stops",
    "target",
    "todays_samples",
    "torque_window",
    "way_of_the_current",
    "weakest_groups",
]
