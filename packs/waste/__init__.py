"""Removed cells on their way out: what the rules of a place say on a date about carriage, packages and waste.

Nothing here is legal advice, and every text defers to those who decide: the local authority, the carrier and the
receiving facility.
"""

from .classify import (
    DEFERS,
    MARKET_DEFERS,
    Carriage,
    Size,
    Sized,
    carriage,
    codes_left_open,
    condition_of,
    condition_words,
    never_by_air,
    rated_wh,
    require_mode,
    size_of,
    universal_waste,
)
from .containers import (
    Margin,
    Weighed,
    items_to_a_package,
    keep_until,
    large_handler_until,
    leave_by,
    package,
    site,
    time_left,
    transport_unit,
    years_after,
)
from .local import NEW_TYPE_PERCENT
from .lookup import ROWS, limit, row, rows, un_number, waste_code
from .place import Jurisdiction, Statement
from .profile import GRADES, Row, Topic
from .rebuilt import BinMark, bin_mark, may_say_remanufactured, needs_bin

__all__ = [
    "DEFERS",
    "GRADES",
    "MARKET_DEFERS",
    "NEW_TYPE_PERCENT",
    "ROWS",
    "BinMark",
    "Carriage",
    "Jurisdiction",
    "Margin",
    "Row",
    "Size",
    "Sized",
    "Statement",
    "Topic",
    "Weighed",
    "bin_mark",
    "carriage",
    "codes_left_open",
    "condition_of",
    "condition_words",
    "items_to_a_package",
    "keep_until",
    "large_handler_until",
    "leave_by",
    "limit",
    "may_say_remanufactured",
    "needs_bin",
    "never_by_air",
    "package",
    "rated_wh",
    "require_mode",
    "row",
    "rows",
    "site",
    "size_of",
    "time_left",
    "transport_unit",
    "un_number",
    "universal_waste",
    "waste_code",
    "years_after",
]
