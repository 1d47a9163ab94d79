"""Which hold points guard each operation, or why none does; a new operation or rule has to say so here."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction

from packs.rules import RULES
from shop.operations.base import VERBS
from tests.operations import asked

pytestmark = pytest.mark.django_db

DOOR = "takein.no_red_sign"
VOLTAGE = "cell.recovery_voltage cell.overcharged"
MAY_SERVE = "cell.history_signed cell.class_allowed target.reclaimed_in_medical target.reclaimed_in_mobility"
CHOSEN = f"cell.tested cell.health {MAY_SERVE}"
BEFORE_CUTTING = """dismantle.charge_low dismantle.board_saved dismantle.unpowered_accepted dismantle.qualified_person
    dismantle.second_person dismantle.insulated_tools dismantle.groups_covered"""

GUARDS: dict[str, str] = {
    "intake.take_in": DOOR,
    "returns.take_in_return": DOOR,
    "for_stock.build_for_stock": DOOR,
    "intake.report_danger": DOOR,
    "details.describe": "examine.insulation",
    "examination.examine": f"{DOOR} takein.amber_cleared examine.rest_agreement examine.group_overcharged "
    "examine.group_spread examine.nameplate examine.counted",
    "health.record_pack_test": "pack_test.rest_agreement pack_test.group_spread",
    "planning.state_target": f"""{VOLTAGE} target.chemistry_known target.compression_known target.cell_current
        target.charger_voltage target.charger_fills target.step_down target.charger_highest target.board_groups
        target.board_chemistry target.board_overcharge target.board_undervoltage target.cell_peak target.part_current
        target.part_surface target.fuse_voltage target.fuse_breaking target.fuse_carries
        target.fuse_clears target.board_first target.facility_order target.original_type""",
    "planning.accept": f"{CHOSEN} target.old_beside_new",
    "opening_pack.prepare_dismantling": BEFORE_CUTTING,
    "rebuild.record_removed": f"{VOLTAGE} {BEFORE_CUTTING}",
    "rebuild.finish_dismantling": "dismantle.all_recorded dismantle.within_the_hour",
    "rebuild.place_cell": f"{VOLTAGE} {MAY_SERVE} cell.undamaged cell.holds_charge cell.keeps_charge place.right_cell place.all_placed",
    "rebuild.measure_before_joining": f"""{VOLTAGE} {MAY_SERVE} cell.undamaged cell.keeps_charge cell.prepared
        measure.all_measured measure.joining_current measure.rest_spread measure.equal_charge
        measure.group_level measure.standing_spread measure.not_reversed measure.groups_apart
        measure.rest_spread_flat measure.groups_apart_flat measure.charge_for_welding""",
    "rebuild.join": f"""{MAY_SERVE} cell.undamaged join.measured_lately join.peel_sample join.pulse_window join.clean_faces join.polarity_second_look
        join.second_look_pause join.second_look_photographs join.attempts join.cooled join.joints join.torque join.contact_resistance""",
    "breached.replace_breached": f"join.breached_isolated {CHOSEN}",
    "planning.accept_together": CHOSEN,
    "replacing.replace_cell": CHOSEN,
    "parking.park": "park.ends_insulated park.supply_off park.groups_measured",
    "parking.resume": "first_charge.supervised park.groups_measured park.group_falls_behind",
    "rebuild.check_taps": """ladder.tap ladder.rest_agreement ladder.board_suits ladder.overcharge_trip
        ladder.undervoltage_trip""",
    "proving.close_housing": """housing.compression housing.fixed housing.wires housing.insulation housing.vent_path
        housing.strain_relief housing.sensors housing.gasket housing.photographs housing.thermal_cutoff""",
    "proving.first_charge": """first_charge.supervised first_charge.charger_voltage first_charge.pack_voltage
        first_charge.current first_charge.temperature first_charge.group_voltage first_charge.precharge_current
        first_charge.precharge_time first_charge.completed first_charge.group_spread first_charge.ends_itself
        first_charge.forming_current first_charge.forming_time first_charge.forming_interval first_charge.look_at_start
        first_charge.look_interval first_charge.look_at_mid first_charge.mid_spread first_charge.overcharged_group""",
    "proving.final_test": """final.capacity final.capacity_stated final.capacity_alike final.capacity_on_record final.forecast_only final.rest_agreement
        final.group_spread final.rest_hold final.rest_hours final.board_cutoff final.insulation final.outlet
        final.temperature final.resistance final.joint_drop""",
    "giving_up.give_up": VOLTAGE,
    "disposal.to_stock": VOLTAGE,
    "disposal.finish_removed": "handover.removed_gone",
    "closeout.hand_over": """handover.accounted handover.report handover.label handover.health_report handover.disposal_note
        handover.air_charge""",
    "for_stock.into_stock": "handover.accounted handover.report handover.label",
    "stock.record_reading": VOLTAGE,
    "stock.correct_reading": VOLTAGE,
    "stock.import_cells": VOLTAGE,
}
"""The rules that an operation asks; those that stop refuse it, or leave its step undone."""

RECORD = "it writes down what is known; no pack and no cell goes on by it"
BACK = "it takes work back or ends it; nothing goes on by it"
SAFER = "it only makes a pack or a cell worse, or sends it out; nothing is built by it"
LEAD = "it is itself what a lead answers for by name"
PAPER = "a paper says what was found; it moves nothing"
WASTE = "containers and consignments are held by conditions of their own, not by rules on packs"
MONEY = "money and consent are asked elsewhere"
SHOP = "it is about the workshop, not about a pack"

UNGUARDED: dict[str, str] = {
    **dict.fromkeys(("completing.complete_intake", "pack_notes.write_notes", "pack_notes.note_time"), RECORD),
    **dict.fromkeys(
        (
            "fault_finding.state_pack",
            "fault_finding.record_probes",
            "fault_finding.take_back_probe",
            "fault_finding.search_anew",
        ),
        RECORD,
    ),
    **dict.fromkeys(("photographs.keep_photograph", "photographs.withdraw_photograph"), RECORD),
    **dict.fromkeys(("cell_testing.add_layout", "cell_testing.keep_trace", "cell_testing.accept_trace"), RECORD),
    **dict.fromkeys(("withdrawing.withdraw_reading", "withdrawing.put_to_cell"), RECORD),
    **dict.fromkeys(("stock.add_cell_model", "stock.add_lot", "welding.record_samples"), RECORD),
    **dict.fromkeys(("amending.correct_cell_model", "amending.correct_lot", "amending.correct_instrument"), RECORD),
    **dict.fromkeys(("amending.bar_cell_model", "amending.allow_cell_model"), SHOP),
    **dict.fromkeys(("people.change_password", "people.reset_password", "people.change_roles"), SHOP),
    **dict.fromkeys(("people.bar_person", "people.let_in"), SHOP),
    **dict.fromkeys(("planning.release", "intake.decline"), BACK),
    **dict.fromkeys(("tasks.search_longer", "tasks.stop"), RECORD),
    **dict.fromkeys(("intake.condemn", "conditions.lower_condition", "disposal.discard", "disposal.add_item"), SAFER),
    **dict.fromkeys(("disposal.to_container", "disposal.to_customer", "disposal.to_emergency_route"), SAFER),
    **dict.fromkeys(("intake.clear_amber", "exceptions.write_exception", "exceptions.withdraw_exception"), LEAD),
    "limits.set_limit": LEAD,
    "goods_in.check_lot": SAFER,
    **dict.fromkeys(("preparing.prepare_cells", "channels.promise"), RECORD),
    **dict.fromkeys(("channels.add_channel", "channels.keep_check_cell", "channels.read_check_cell"), RECORD),
    "many_files.read_files": RECORD,
    **dict.fromkeys(("channels.queue_cells", "channels.begin_run", "channels.end_run"), RECORD),
    **dict.fromkeys(("goods_in.release_lot", "histories.sign_lot"), LEAD),
    **dict.fromkeys(("histories.state_history", "histories.state_order"), RECORD),
    "grading.set_criteria": LEAD,
    "grading.state_new_cell": RECORD,
    "incidents.release_incident": LEAD,
    "incidents.report_incident": SAFER,
    "incidents.write_emergency_text": SHOP,
    "areas.set_area_limit": SHOP,
    **dict.fromkeys(("documents.issue", "documents.issue_label", "documents.keep_bytes"), PAPER),
    **dict.fromkeys(("documents.issue_consignment_note", "voiding.reissue", "voiding.void"), PAPER),
    **dict.fromkeys(("containers.open_container", "containers.close_container", "containers.reopen_container"), WASTE),
    **dict.fromkeys(("consignments.consign", "consignments.confirm_consignment"), WASTE),
    **dict.fromkeys(("quoting.issue_quote", "quoting.approve_quote", "quoting.decline_quote"), MONEY),
    "quoting.change_prices": MONEY,
    **dict.fromkeys(("testers.issue_token", "testers.revoke_token", "workshop.add_person"), SHOP),
    **dict.fromkeys(("workshop.change_settings", "workshop.add_instrument"), SHOP),
}


def guards(name: str) -> set[str]:
    return set(GUARDS.get(name, "").split())


@pytest.fixture(scope="module")
def heard(django_db_setup: None, django_db_blocker: Any) -> Iterator[asked.Asked]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield asked.ask_all()
        transaction.set_rollback(True)


def test_every_operation_says_what_guards_it_or_why_nothing_does() -> None:
    assert set(GUARDS) | set(UNGUARDED) == set(VERBS)
    assert not set(GUARDS) & set(UNGUARDED)
    assert all(reason.strip() for reason in UNGUARDED.values())


def test_every_rule_of_the_catalogue_guards_an_operation() -> None:
    assert {rule for name in GUARDS for rule in guards(name)} == set(RULES)


def test_each_operation_asks_just_what_it_says(heard: asked.Asked) -> None:
    """A rule that an operation forgot to ask, or asks without saying so, is found by running it."""
    wrong = {
        name: {"not asked": sorted(guards(name) - heard[name]), "not stated": sorted(heard[name] - guards(name))}
        for name in sorted(VERBS)
        if heard[name] != guards(name)
    }
    assert not wrong


def test_every_operation_was_run(heard: asked.Asked) -> None:
    """Without this the test above could pass by running nothing."""
    assert set(VERBS) <= set(heard)
