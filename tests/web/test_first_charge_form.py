"""The form of the first charge: what no meter shows is said beside its field, with the look it stands in."""

import pytest

from packs.units import NumberFormat
from shop.web.forms.proving import FirstChargeForm

WHOLE = {"supervised_by": "Jon Adler", "charger_voltage": "16.8"}


def form(**typed: str) -> FirstChargeForm:
    look = {"minutes_1": "0", "pack_1": "14.5", "current_1": "1", "hottest_1": "22"}
    return FirstChargeForm(WHOLE | look | typed, groups=4, limits={}, numbers=NumberFormat.of_locale("en"))


# More than 1000 A charges nothing on this bench; common practice, no source.
@pytest.mark.parametrize(("amps", "refused"), [("1000", False), ("2000", True)])
def test_a_current_that_cannot_be_is_marked_in_its_look(amps: str, refused: bool) -> None:
    typed = form(minutes_2="30", pack_2="15.9", current_2=amps, hottest_2="24")
    assert ("current_2" in typed.errors) is refused
    assert not refused or typed.errors["current_2"][0].startswith("Look 2, current: 2000.00")


def test_an_unfinished_look_is_asked_for_and_nothing_else_is() -> None:
    assert set(form(minutes_2="30", pack_2="15.9").errors) == {"current_2", "hottest_2"}
