"""Rows on conditions: what each means, and which signs tell."""

from packs.sources import SOURCES
from packs.terms import Condition

from .place import Jurisdiction
from .profile import Row, Topic

CONDITIONS = (
    Row(
        rule="condition.intact",
        topic=Topic.CONDITION,
        text="Casing closed and in shape, no leak, no heat, no gas, and nothing in its history or its voltage that speaks "
        "against it.",
        conditions=frozenset({Condition.INTACT}),
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="condition.damaged",
        topic=Topic.CONDITION,
        text="Leaked, vented, swollen, dented, abnormal in voltage or insulation, or not to be diagnosed before carriage.",
        conditions=frozenset({Condition.DAMAGED}),
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="condition.reactive",
        topic=Topic.CONDITION,
        text="Heat, gas, smoke or flame is to be expected under normal carriage. Not for an ordinary carrier; call the fire "
        "service or the competent authority.",
        conditions=frozenset({Condition.REACTIVE}),
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="condition.signs",
        topic=Topic.CONDITION,
        places=frozenset({Jurisdiction.US}),
        text="Signs of a damaged one: heat, leak, smell, fire, known misuse, loose or damaged wiring, discoloration, "
        "corrosion, swelling.",
        conditions=frozenset({Condition.DAMAGED}),
        source=SOURCES["us_signs"],
    ),
    Row(
        rule="condition.casing",
        topic=Topic.CONDITION,
        places=frozenset({Jurisdiction.US}),
        text="A damaged one may be universal waste only while no casing of a single cell is breached.",
        conditions=frozenset({Condition.DAMAGED}),
        source=SOURCES["us_breached"],
    ),
)
