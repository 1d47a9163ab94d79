"""What the demo shop learnt of its packs."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from packs.terms import ContactKind, Opening, Sealing
from shop.operations.details import Contact, Details

SEEN = Details(
    opens=Opening.SCREWS,
    sealing=Sealing.GASKET,
    metal=False,
    board_overcharge_mv=4250,
    board_undervoltage_mv=3000,
    contacts=[Contact(kind=ContactKind.SENSOR, place="between groups 1 and 2", ohm=Decimal(10_200), mdegc=21_000)],
)

LEARNT: Mapping[str, Mapping[str, Any]] = {
    "Alder drill D-14": {
        "opens": Opening.SCREWS,
        "opening": "four screws under the feet, then a clip at the rear",
        "strips": "nickel 8 × 0.15 mm, leads 1.5 mm²",
        "board": "low side; off below 3.0 V a group, wakes on the charger",
        "sensor_ohm": Decimal(10_000),
        "usual_fault": "the group at the motor end fades first",
    },
    "Sound box S-2": {
        "opens": Opening.GLUE,
        "opening": "glued seam; warm it, then lift from the side of the socket",
        "strips": "nickel 6 × 0.15 mm",
        "board": "balances near full; sensor at the middle groups",
        "usual_fault": "all groups worn alike",
    },
}
"""By the model on the nameplate."""

MINUTES: Mapping[str, int] = {"Alder drill D-14": 95}
"""What a finished job truly took."""
