"""The form of joining: what is said of all strips at once, and the setting of the welder. Values are invented."""

from decimal import Decimal
from typing import Any

from packs.terms import JointMethod
from packs.units import NumberFormat
from shop.bridge.rules import Weld
from shop.web.forms.building import JoinForm

BARS = {1: "Bar 1", 2: "Bar 2"}
GERMAN = NumberFormat.of_locale("de")


def bolted(**typed: str) -> JoinForm:
    counts = {"failed_1": "0", "failed_2": "0"}
    return JoinForm(counts | typed, strips=BARS, method=JointMethod.BOLTED, numbers=GERMAN)


def joined(form: JoinForm) -> list[tuple[Any, ...]]:
    assert form.is_valid(), form.errors
    return [(one.strip, one.torque_mnm, one.contact_uohm) for one in form.joined()]


def test_what_is_said_of_all_counts_where_a_bar_says_nothing_itself() -> None:
    form = bolted(all_on="on", torque_all="6 N·m", contact_all="0,12", torque_2="5,9")
    assert joined(form) == [(1, Decimal(6000), Decimal(120)), (2, Decimal(5900), Decimal(120))]


def test_without_it_each_bar_speaks_for_itself() -> None:
    assert joined(bolted(done_2="on", torque_2="6", contact_2="0,1")) == [(2, Decimal(6000), Decimal(100))]
    assert joined(bolted()) == []


def test_what_stops_the_step_when_it_is_missing_is_not_called_optional() -> None:
    form = bolted()
    names = ("torque_all", "contact_all", "torque_1", "contact_1")
    assert all(getattr(form.fields[name], "due", False) for name in names)


def test_the_newest_sample_is_what_the_welder_is_set_to() -> None:
    newest, older = (Weld(machine="Welder 1", schedule="two pulses", pulse=Decimal(ms)) for ms in (9, 7))
    form = JoinForm(strips=BARS, method=JointMethod.SPOT_WELD, welds=dict.fromkeys([newest, older], ""), numbers=GERMAN)
    assert form.welds[form["weld"].initial] == newest
    assert "torque_all" not in form.fields
