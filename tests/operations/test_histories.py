"""Cells that were used before: evidence, signatures, medical devices and powered mobility. Invented.

IEC 63338:2024, clause 4 (no reuse without lifetime records), as the rules name it.
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import DeviceClass, InMobility, LotOrigin, Role, Stage
from shop import models
from shop.bridge import matching
from shop.operations import amending, histories, planning, rebuild
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory, SettingsFactory, UserFactory
from tests.operations import calls
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db

EVIDENCE = {"donor_pack": "Lamp pack 14.4 V", "date_code": "2011", "cycle_count": 118, "condition": "dry, unmarked"}
TOOL = [DeviceClass.TOOL]


def donor_lot(code: str = "D1") -> models.Lot:
    return LotFactory(code=code, origin=LotOrigin.DONOR.value)


def state(lot: models.Lot, **more: Any) -> models.LotHistory:
    return histories.state_history(lot=lot, by=line.technician(), **more)


def reclaimed(job: models.Job) -> list[list[str]]:
    """Eight cells, the first of a donor lot, as groups."""
    CellFactory(code="S1", lot=donor_lot())
    for number in range(2, 9):
        CellFactory(code=f"S{number}")
    return [[f"S{n}", f"S{n + 4}"] for n in range(1, 5)]


class TestASignature:
    def test_with_all_evidence_it_needs_no_reason(self) -> None:
        lot = donor_lot()
        assert state(lot, **EVIDENCE).missing == []
        signed = histories.sign_lot(lot=lot, device_classes=TOOL, by=line.lead())
        assert signed.device_classes == ["tool"]

    @pytest.mark.parametrize("left_out", sorted(EVIDENCE))
    def test_without_one_piece_of_evidence_it_says_what_it_rests_on(self, left_out: str) -> None:
        lot, lead = donor_lot(), line.lead()
        state(lot, **{name: value for name, value in EVIDENCE.items() if name != left_out})
        with refused("reason_missing", field="reason"):
            histories.sign_lot(lot=lot, device_classes=TOOL, reason=" ", by=lead)
        histories.sign_lot(lot=lot, device_classes=TOOL, reason="one fleet of lamps", by=lead)

    def test_without_any_evidence_it_says_what_it_rests_on(self) -> None:
        lot, lead = donor_lot(), line.lead()
        with refused("reason_missing", field="reason"):
            histories.sign_lot(lot=lot, device_classes=TOOL, by=lead)

    def test_no_cycles_at_all_are_a_count(self) -> None:
        assert state(donor_lot(), **EVIDENCE | {"cycle_count": 0}).missing == []

    def test_for_nothing_it_says_why(self) -> None:
        lot, lead = donor_lot(), line.lead()
        state(lot, **EVIDENCE)
        with refused("reason_missing", field="reason"):
            histories.sign_lot(lot=lot, device_classes=[], by=lead)

    def test_no_lead_signs_for_a_medical_device(self) -> None:
        lot, lead = donor_lot(), line.lead()
        with refused("not_for_medical", field="device_classes"):
            histories.sign_lot(lot=lot, device_classes=[DeviceClass.MEDICAL], reason="new", by=lead)

    def test_a_technician_does_not_sign(self) -> None:
        lot, technician = donor_lot(), line.technician()
        with refused("not_allowed"):
            histories.sign_lot(lot=lot, device_classes=TOOL, reason="fine", by=technician)

    @pytest.mark.parametrize(
        ("more", "code"),
        [
            ({}, "nothing_stated"),
            ({"donor_pack": " "}, "nothing_stated"),
            ({"cycle_count": -1}, "impossible_value"),
            ({"cycle_count": 100_001}, "impossible_value"),
        ],
    )
    def test_what_is_no_evidence(self, more: dict[str, Any], code: str) -> None:
        lot = donor_lot()
        line.technician()
        with refused(code):
            state(lot, **more)


class TestChoosing:
    def test_the_signature_decides_and_the_newest_one_counts(self) -> None:
        job = line.job_at(Stage.MATCH)
        groups, technician = reclaimed(job), line.technician()
        with held_by("cell.history_signed"):
            planning.accept(job=job, groups=groups, by=technician)
        lot = models.Lot.objects.get(code="D1")
        line.sign(lot, DeviceClass.POWER_BANK)
        with held_by("cell.class_allowed"):
            planning.accept(job=job, groups=groups, by=technician)
        line.sign(lot, DeviceClass.TOOL)
        assert planning.accept(job=job, groups=groups, by=technician).accepted_at

    def test_what_may_not_serve_is_not_proposed_and_says_why(self) -> None:
        job = line.job_at(Stage.MATCH)
        reclaimed(job)
        plan = job.plans.get(state="stated")
        assert {one.code: one.reason for one in matching.left_out(plan)} == {
            "S1": "no lead signed the history of lot D1"
        }
        line.sign(models.Lot.objects.get(code="D1"), DeviceClass.OTHER)
        (left,) = matching.left_out(plan)
        assert left.reason == "lot D1 is not signed for this class of device: tool"
        line.sign(models.Lot.objects.get(code="D1"))
        assert matching.left_out(plan) == ()

    def test_a_lot_signed_for_nothing_after_its_cells_were_chosen_is_not_placed(self) -> None:
        job = line.job_at(Stage.PLACE)
        lot = models.Lot.objects.get(
            cells__positions__plan__job=job, cells__positions__group=1, cells__positions__place=1
        )
        models.Lot.objects.filter(pk=lot.pk).update(origin=LotOrigin.DONOR.value)
        line.sign(lot)
        codes = list(
            models.Cell.objects.filter(positions__plan__job=job).order_by("code").values_list("code", flat=True)
        )
        rebuild.place_cell(job=job, code=codes[0], by=line.technician())
        histories.sign_lot(lot=lot, device_classes=[], reason="its pack was in water", by=line.lead())
        technician = line.technician()
        with held_by("cell.class_allowed"):
            rebuild.place_cell(job=job, code=codes[1], by=technician)

    def test_a_signature_that_was_narrowed_after_cells_were_placed_stops_them_before_they_are_joined(self) -> None:
        job = line.job_at(Stage.JOIN)
        lot = models.Lot.objects.get(
            cells__positions__plan__job=job, cells__positions__group=1, cells__positions__place=1
        )
        models.Lot.objects.filter(pk=lot.pk).update(origin=LotOrigin.DONOR.value)
        line.sign(lot, DeviceClass.POWER_BANK)
        given = calls.arguments("rebuild.join", job) | {"by": line.technician()}
        with held_by("cell.class_allowed"):
            rebuild.join(**given)
        again = dict.fromkeys(line.names(), Decimal(3620))
        measured = rebuild.measure_before_joining(job=job, rest_voltages_mv=again, by=line.technician())
        assert "cell.class_allowed" in {one.rule_id for one in measured.findings if one.stops}

    def test_a_bought_cell_that_came_back_from_a_customer_has_a_history_too(self) -> None:
        cell, new = CellFactory(code="B1"), CellFactory(code="B2")
        for before, after in (("stock", "pack"), ("pack", "customer"), ("customer", "bench"), ("bench", "stock")):
            cell.movements.create(from_place=before, to_place=after, at="2026-11-24T09:00Z", by=line.technician())
        assert list(models.Cell.objects.with_history()) == [cell]
        assert new in models.Cell.objects.free()


class TestPoweredMobility:
    @pytest.mark.parametrize(
        ("said", "goes"), [(InMobility.ALLOWED, True), (InMobility.FORBIDDEN, False), (InMobility.UNKNOWN, False)]
    )
    def test_the_place_decides_about_reclaimed_cells(self, said: InMobility, goes: bool) -> None:
        job = line.job_at(Stage.MATCH, device_class=DeviceClass.LIGHT_VEHICLE)
        SettingsFactory(reclaimed_in_mobility=said.value)
        groups, technician = reclaimed(job), line.technician()
        line.sign(models.Lot.objects.get(code="D1"))
        assert ("S1" in {one.code for one in matching.left_out(job.plans.get(state="stated"))}) is not goes
        if goes:
            planning.accept(job=job, groups=groups, by=technician)
        else:
            with held_by("target.reclaimed_in_mobility"):
                planning.accept(job=job, groups=groups, by=technician)

    def test_new_cells_go_in_whatever_is_known_of_the_place(self) -> None:
        job = line.job_at(Stage.PLACE, device_class=DeviceClass.LIGHT_VEHICLE)
        assert job.stage == Stage.PLACE

    def test_of_other_devices_it_is_not_asked(self) -> None:
        job = line.job_at(Stage.MATCH)
        SettingsFactory(reclaimed_in_mobility=InMobility.FORBIDDEN.value)
        groups, technician = reclaimed(job), line.technician()
        line.sign(models.Lot.objects.get(code="D1"))
        planning.accept(job=job, groups=groups, by=technician)


class TestMedicalDevices:
    def test_without_the_order_of_the_facility_no_target_is_stated(self) -> None:
        job = line.job_at(Stage.TARGET)
        models.Device.objects.update(device_class=DeviceClass.MEDICAL.value)
        technician = line.technician()
        with held_by("target.facility_order"):
            planning.state_target(job=job, target=line.target(), by=technician)
        line.order(models.Job.objects.get(pk=job.pk))
        planning.state_target(job=models.Job.objects.get(pk=job.pk), target=line.target(), by=technician)

    def test_another_type_of_cell_is_refused(self) -> None:
        job = line.job_at(Stage.TARGET, device_class=DeviceClass.MEDICAL)
        other = CellModelFactory(name="Round other")
        technician = line.technician()
        with held_by("target.original_type"):
            planning.state_target(job=job, target=line.target(cell_model=other), by=technician)

    @pytest.mark.parametrize("field", ["facility", "reference", "ordered_cells"])
    def test_an_order_is_whole(self, field: str) -> None:
        job = line.job_at(Stage.EXAMINE, device_class=DeviceClass.MEDICAL)
        given = calls.arguments("histories.state_order", job) | {field: " ", "by": line.technician()}
        with refused("order_incomplete", field=field):
            histories.state_order(**given)

    def test_a_tool_needs_none(self) -> None:
        job = line.job_at(Stage.EXAMINE)
        technician = UserFactory(username="counter", roles=(Role.COUNTER,))
        with refused("not_medical"):
            histories.state_order(job=job, facility="a", reference="b", ordered_cells="c", by=technician)


def test_what_was_noted_of_a_lot_is_no_evidence() -> None:
    lot = donor_lot()
    facts = {"received_on": lot.received_on, "supplier": "", "evidence": "out of a lamp"}
    amending.correct_lot(lot=lot, **facts, by=line.technician())
    lead = line.lead()
    with refused("reason_missing"):
        histories.sign_lot(lot=lot, device_classes=TOOL, by=lead)
