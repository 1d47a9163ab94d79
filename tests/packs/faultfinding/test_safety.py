"""When no load is drawn, and that the reason is said: common practice, no source; the values are invented.

The packs are 4s with groups near 3.7 V, but where a chemistry has another nominal voltage.
"""

from dataclasses import replace

import pytest

from packs.chemistry import limits
from packs.faultfinding import (
    Access,
    Circumstance,
    PackModel,
    PartKind,
    Place,
    Reading,
    Switch,
    advice,
    available,
    diagnose,
    kept_only,
    next_measurement,
    spent_groups,
    spent_line,
    tap_pairs,
    withheld,
)
from packs.terms import Chemistry
from packs.units import ureg
from tests.packs.faultfinding.test_trade_cases import (
    LOAD,
    LOW_SIDE,
    PACK,
    REGULATED,
    REST,
    groups,
    outlet,
    output,
    stack_input,
)

LOADED = {Circumstance.LOAD, Circumstance.OUTLET_LOAD, Circumstance.WOKEN, Circumstance.CHARGED}


def loads(pack: PackModel, readings: list[Reading]) -> set[tuple[Circumstance, Access]]:
    offered = available(diagnose(pack, readings), may_charge=True)
    return {(one.circumstance, one.access) for one in offered if one.circumstance in LOADED}


def why(pack: PackModel, readings: list[Reading]) -> str:
    return " ".join(reason.why for reason in withheld(diagnose(pack, readings)))


def test_no_load_of_any_kind_on_a_pack_that_was_not_read() -> None:
    assert loads(PACK, []) == set()
    assert "No group was read at rest, and neither was the outlet: no load before that." in why(PACK, [])


@pytest.mark.parametrize(("volts", "offered"), [(14.8, True), (12.1, True), (11.5, False), (0.1, False), (None, False)])
def test_a_load_at_the_shut_outlet_needs_the_open_voltage_of_a_working_pack(volts: float | None, offered: bool) -> None:
    """Four cells between 3.0 V and 4.2 V, their limits by data sheets, are 12.0 V to 16.8 V."""
    read = [outlet(volts, REST)]
    assert loads(PACK, read) == ({(Circumstance.OUTLET_LOAD, Access.SHUT)} if offered else set())
    assert ("not within 12.0" in why(PACK, read).replace("000", "0")) is not offered
    assert ("no load is drawn from an open pack before" in why(PACK, read)) is offered


@pytest.mark.parametrize(("pack", "told"), [(LOW_SIDE, "negative conductor"), (REGULATED, "regulated outlet")])
def test_where_the_outlet_tells_nothing_of_the_stack_no_load_before_the_groups_are_read(
    pack: PackModel, told: str
) -> None:
    read = [outlet(14.8 if pack is LOW_SIDE else 5.0, REST)]
    assert loads(pack, read) == set()
    assert told in why(pack, read)


def test_once_every_group_was_read_and_stands_well_nothing_is_withheld() -> None:
    read = groups("3.70 3.70 3.70 3.70")
    assert {circumstance for circumstance, _ in loads(PACK, read)} == LOADED
    assert withheld(diagnose(PACK, read)) == ()
    assert loads(PACK, read[:3]) == set()
    assert "Group 4 was not read at rest" in why(PACK, read[:3])


@pytest.mark.parametrize("chemistry", [Chemistry.NMC, Chemistry.LTO, Chemistry.NIMH])
@pytest.mark.parametrize("volts", [0.2, -0.4])
def test_no_load_at_all_while_a_group_is_nearly_at_nothing(chemistry: Chemistry, volts: float) -> None:
    """For titanate and the nickel family no line is known below which nothing is charged: a short's own bound serves."""
    pack = replace(PACK, chemistry=chemistry)
    whole = float(limits(chemistry).require("nominal_voltage").to("V").magnitude)
    read = groups(f"{whole} {volts} {whole} {whole}")
    assert loads(pack, read) == set()
    assert "Group 2 reads" in why(pack, read)
    assert "too low to come back" in why(pack, read)
    assert Circumstance.NEXT_DAY in {one.circumstance for one in available(diagnose(pack, read))}


def test_an_empty_group_is_charged_before_a_load_is_drawn_without_the_charger() -> None:
    """3.0 V is the end of discharge of the chemistry, by its data sheets; 2.8 V at rest may be charged again."""
    read = groups("3.70 2.80 3.70 2.90")
    assert {circumstance for circumstance, _ in loads(PACK, read)} == {Circumstance.WOKEN, Circumstance.CHARGED}
    assert "Groups 2 and 4 rest below the end of discharge at 3.000" in why(PACK, read)


def test_no_load_where_a_worn_group_would_fall_below_the_end_of_discharge() -> None:
    """Cells that end at 2.75 V by their data sheet, at 3.10 V nearly empty: common practice, no source, as is the margin."""
    pack = replace(PACK, load=ureg.Quantity(2.6, "A"), data_sheet_end=ureg.Quantity(2.75, "V"))
    near = groups("3.10 3.10 3.10 3.10")
    assert {circumstance for circumstance, _ in loads(pack, near)} == {Circumstance.WOKEN, Circumstance.CHARGED}
    assert "near the end of discharge at 2.750" in why(pack, near)
    assert {circumstance for circumstance, _ in loads(pack, groups("3.20 3.20 3.20 3.20"))} == LOADED


def test_no_load_through_a_group_that_did_not_settle() -> None:
    read = groups("3.70 ? 3.70 ?")
    assert loads(PACK, read) == set()
    assert "Groups 2 and 4 did not settle at rest: what they would do under load is not known." in why(PACK, read)


def test_no_load_through_a_group_that_the_others_were_seen_to_drive_backwards() -> None:
    """It is full of nothing: right at rest, below zero as soon as a current flows."""
    read = [*groups("3.70 3.70 3.70 3.70"), *groups("3.58 -0.30 3.58 3.58", LOAD)]
    assert loads(PACK, read) == set()
    assert "Group 2 fell to" in why(PACK, read)


def test_no_load_through_a_group_that_other_readings_explain_as_shorted() -> None:
    """Three groups at 3.70 V and 11.2 V in all: the fourth, which nobody read, has next to nothing."""
    read = [*groups("3.70 3.70 3.70"), stack_input(11.2)]
    assert "Group 4 may be shorted" in why(PACK, read)
    assert loads(PACK, read) == set()


def test_readings_that_nothing_explains_leave_no_load() -> None:
    read = groups("3.10 2.70 2.40 3.70")
    assert diagnose(PACK, read).possible == ()
    assert "Nothing explains the readings together" in why(PACK, read)


def test_no_load_while_none_is_stated_and_none_follows_from_the_cells() -> None:
    read = groups("3.70 3.70 3.70 3.70")
    unstated = replace(PACK, load_stated=False)
    assert loads(unstated, read) == set()
    assert "state the load you will draw" in why(unstated, read)


def test_a_board_in_either_conductor_is_treated_alike_once_the_groups_are_known() -> None:
    read = groups("3.70 3.70 3.70 3.70")
    assert loads(replace(PACK, switch=Switch.LOW_SIDE), read) == loads(PACK, read)


SPENT = [*groups("1.00 1.00 1.00 1.00"), stack_input(4.0), outlet(0.0, REST)]


def test_spent_cells_are_told_whatever_the_board_does() -> None:
    """2.0 V is the line under which a maker charges nothing again (18650 specification in ``packs.chemistry.limits``)."""
    found = diagnose(PACK, SPENT)
    assert "Cells spent: groups 1, 2, 3 and 4 stand at 1.000" in spent_line(PACK, SPENT)
    assert "below 2.000" in spent_line(PACK, SPENT)
    for faults in found.best:
        for fault in faults:
            told = advice(found, fault, may_charge=True)
            assert told[0] == spent_line(PACK, SPENT)
            assert not any("Replace it" in line for line in told)


@pytest.mark.parametrize(("volts", "spent"), [(1.99, True), (2.0, False), (2.6, False)])
def test_the_line_of_recovery_itself_is_not_spent(volts: float, spent: bool) -> None:
    assert (list(spent_groups(PACK, groups(f"3.70 {volts} 3.70 3.70"))) == [2]) is spent


def test_what_an_open_joint_leaves_on_the_plug_is_no_spent_group() -> None:
    on_plug = tap_pairs(4)[1]
    assert not spent_groups(PACK, [Reading(*on_plug, REST, ureg.Quantity(0.1, "V"))])
    assert spent_groups(PACK, [Reading(*on_plug, REST, ureg.Quantity(1.0, "V"))])


TRIPPED_OR_FAILED = [*groups("3.70 3.70 3.70 3.70"), stack_input(14.81), output(0.0, REST)]


def proposed(pack: PackModel, readings: list[Reading], *, may_charge: bool = True) -> tuple[Circumstance, int] | None:
    told = next_measurement(diagnose(pack, readings), may_charge=may_charge)
    return None if told is None else (told.measurement.circumstance, len(told.measurement.pairs))


def test_where_nothing_but_the_board_is_left_no_load_is_proposed_at_its_input() -> None:
    """Tripped or failed: two pairs after a moment on the charger tell; common practice, no source."""
    assert {fault.kind for faults in diagnose(PACK, TRIPPED_OR_FAILED).best for fault in faults} == {PartKind.BOARD}
    assert proposed(PACK, TRIPPED_OR_FAILED) == (Circumstance.WOKEN, 2)
    assert proposed(PACK, TRIPPED_OR_FAILED, may_charge=False) is None


@pytest.mark.parametrize("pack", [PACK, LOW_SIDE])
def test_empty_groups_above_recovery_are_woken_on_the_charger_next(pack: PackModel) -> None:
    read = [*groups("2.60 2.61 2.63 2.62"), stack_input(10.46)]
    assert proposed(pack, read) == (Circumstance.WOKEN, 2)
    dead = [outlet(0.0, Circumstance.WOKEN), output(0.0, Circumstance.WOKEN)]
    assert proposed(pack, [*read, *dead]) == (Circumstance.CHARGED, 2)
    assert proposed(pack, read, may_charge=False) != (Circumstance.WOKEN, 2)


def test_behind_a_low_side_board_the_outlet_can_be_read_at_rest_and_is_kept() -> None:
    assert [one.pairs[0][0].place for one in kept_only(diagnose(LOW_SIDE, []))] == [Place.OUTLET, Place.BOARD_OUTPUT]
    assert [one.pairs[0][0].place for one in kept_only(diagnose(LOW_SIDE, [outlet(0.0, REST)]))] == [Place.BOARD_OUTPUT]
    assert kept_only(diagnose(PACK, [])) == []


def test_a_group_that_was_read_through_its_joint_is_read_with_that_joint_alone() -> None:
    """Two pairs tell what eight would: the joint below group 3, and group 3 between its own ends."""
    shown = zip(tap_pairs(4), (3.7, 3.7, 3.3, 3.7), strict=True)
    read = [Reading(*pair, REST, ureg.Quantity(volts, "V")) for pair, volts in shown]
    pack = replace(PACK, tap_plug=False, sensor_value=None, data_sheet_end=ureg.Quantity(2.75, "V"))
    assert proposed(pack, [*read, outlet(14.3, REST)]) == (Circumstance.LOAD, 2)
