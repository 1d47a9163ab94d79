"""What the disposal note and the container label say by place and date."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from packs.documents import ContainerLabel, DisposalNote, thaw
from packs.terms import Condition, DangerSign, DocumentKind, Stage
from shop import models, printing
from shop.bridge import documents, waste
from shop.operations import disposal
from shop.operations import documents as operations
from tests import line, papers
from tests.factories import CellModelFactory, SettingsFactory
from tests.operations.calls import removed

pytestmark = pytest.mark.django_db

LAST_OLD, FIRST_NEW = datetime(2026, 12, 8, 12, tzinfo=UTC), datetime(2026, 12, 9, 12, tzinfo=UTC)


def in_containers(job: models.Job) -> tuple[models.Container, models.Container]:
    made = line.containers()
    for row, condition in zip(made, (Condition.INTACT, Condition.DAMAGED), strict=True):
        disposal.to_container(
            job=job,
            container=row,
            cells=removed(job, condition),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
    return made


def printed(about: documents.About, kind: DocumentKind, at: datetime) -> str:
    content = documents.build(about, kind, number=1, by=line.technician(), at=at)
    return papers.text_of(printing.pdf(content))


@pytest.mark.parametrize(
    ("chemistry", "new"), [("nmc", "16 06 07*"), ("lfp", "16 06 07*"), ("nimh", "16 06 08*"), ("nicd", "16 06 02*")]
)
def test_a_note_of_8_and_one_of_9_december_differ_as_the_law_does(pango: None, chemistry: str, new: str) -> None:
    """Decision 2000/532/EC, and Decision (EU) 2025/934 with corrigendum OJ L 2025/90657, from 9 December 2026."""
    job = line.job_at(Stage.REMOVED)
    in_containers(job)
    models.CellModel.objects.update(chemistry=chemistry)
    old, changed = (printed(job, DocumentKind.DISPOSAL_NOTE, at) for at in (LAST_OLD, FIRST_NEW))
    before = "16 06 02*" if chemistry == "nicd" else "16 06 05"
    assert f"Waste code: {before}" in old
    assert f"Waste code: {new}" in changed
    assert ("New codes are adopted and apply from 9 December 2026" in old) is (chemistry != "nicd")
    assert "New codes are adopted" not in changed
    assert (f"Waste code: {new}" in old) is (chemistry == "nicd")


@pytest.mark.parametrize(
    ("place", "says", "not_says"),
    [
        ("eu", ["P908", "P909(2)", "16 06 05", "national rules"], ["universal waste"]),
        ("uk", ["P908", "WM3", "For 3 years.", "Scotland"], ["16 06 05 ", "universal waste"]),
        ("us", ["173.185(f)", "universal waste", "For 3 years.", "Ask your state"], ["P908", "16 06 05"]),
        ("other", ["P908", "Ask the local waste authority"], ["16 06 05", "universal waste"]),
    ],
)
def test_a_note_says_what_its_place_says(place: str, says: list[str], not_says: list[str], pango: None) -> None:
    """Sources stand with each row of the profiles."""
    job = line.job_at(Stage.REMOVED)
    made = line.containers()
    SettingsFactory(jurisdiction=place)
    for row, condition in zip(made, (Condition.INTACT, Condition.DAMAGED), strict=True):
        cells = removed(job, condition)
        disposal.to_container(
            job=job, container=row, cells=cells, insulated=True, packed_alone=True, by=line.technician()
        )
    text = printed(job, DocumentKind.DISPOSAL_NOTE, LAST_OLD)
    assert [each for each in says if each not in text] == []
    assert [each for each in not_says if each in text] == []
    assert "The workshop's own record" in text
    assert "Number of the statutory note" in text
    assert "Left to local codes" in text


def test_a_consignment_has_one_note_of_all_that_left(pango: None) -> None:
    """Seven whole cells and a damaged one of 2.6 Ah and 3.6 V: 8 × 9.36 Wh = 74.88 Wh (49 CFR 171.8)."""
    made = in_containers(line.job_at(Stage.REMOVED))
    sent = line.consigned(*made, statutory_number="WT 4711")
    row = operations.issue_consignment_note(consignment=sent, by=line.technician())
    assert (row.code, row.about, row.job) == ("DN0001", "C0001", None)
    note: Any = thaw(row.content)
    assert isinstance(note, DisposalNote)
    assert (note.count, note.rated_energy_mwh, note.gross_mass_mg) == (8, Decimal(74880), Decimal(4_000_000))
    assert {(way.carrier, way.taken_by, way.mode) for way in note.ways} == {("Vale Haulage", "Per Lund", "by road")}
    text = papers.text_of(printing.pdf(row.content))
    assert "consignment C0001" in text
    assert "WT 4711" in text


def test_the_day_that_counts_is_the_day_it_left(pango: None) -> None:
    """Decision (EU) 2025/934 with corrigendum OJ L 2025/90657: what left on 8 December left under the old code."""
    job = line.job_at(Stage.REMOVED)
    whole, damaged = in_containers(job)
    sent = line.consigned(whole, now=LAST_OLD)
    of_consignment = printed(sent, DocumentKind.DISPOSAL_NOTE, FIRST_NEW)
    assert "Waste code: 16 06 05" in of_consignment
    assert "As they stood on 8 December 2026" in of_consignment
    assert "16 06 07*" not in of_consignment
    of_job = printed(job, DocumentKind.DISPOSAL_NOTE, FIRST_NEW)
    assert "Waste code on the day it left, 8 December 2026: 16 06 05" in of_job
    assert "Waste code: 16 06 07*" in of_job
    assert damaged.consigned_at is None


def test_what_is_only_recalled_says_so(pango: None) -> None:
    """49 CFR 173.185(d): its existence was seen, its wording is from memory."""
    job = line.job_at(Stage.REMOVED)
    made = line.containers()
    SettingsFactory(jurisdiction="us")
    cells = removed(job, Condition.INTACT)
    disposal.to_container(job=job, container=made[0], cells=cells, insulated=True, by=line.technician())
    text = printed(job, DocumentKind.DISPOSAL_NOTE, LAST_OLD)
    assert re.search(r"nothing may shift\.\s†", text)
    assert re.search(r"a small one need not keep any\.\s†", text)
    assert text.count("from memory, not checked") == 1


def test_the_note_weighs_the_vehicle_where_it_matters() -> None:
    """ADR special provision 636: 333 kg of intact ones in a transport unit."""
    sent = line.consigned(*in_containers(line.job_at(Stage.REMOVED)))
    for place, limit in (("eu", Decimal(333)), ("us", None)):
        SettingsFactory(jurisdiction=place)
        content = documents.build(sent, DocumentKind.DISPOSAL_NOTE, number=1, by=line.technician(), at=LAST_OLD)
        note: Any = thaw(content)
        assert (note.vehicle_mass_mg, note.vehicle_limit_kg) == (Decimal(2_000_000), limit)


def test_cells_of_two_types_are_told_apart() -> None:
    """2.6 Ah × 3.6 V × 6 = 56.16 Wh, 6.5 Ah × 3.2 V = 20.8 Wh, above the 20 Wh of a small cell (49 CFR 173.185(c))."""
    job = line.job_at(Stage.REMOVED)
    other = CellModelFactory(
        name="Round 6.5", chemistry="lfp", rated_capacity_mah=Decimal(6500), nominal_voltage_mv=3200
    )
    cell = removed(job, Condition.INTACT)[0]
    lot = models.Lot.objects.create(code="X", cell_model=other, origin="donor", owner="shop", received_on=LAST_OLD)
    whole, _ = in_containers(job)
    models.Cell.objects.filter(pk=cell.pk).update(lot=lot)
    sent = line.consigned(whole)
    note: Any = thaw(operations.issue_consignment_note(consignment=sent, by=line.technician()).content)
    told = {unit.what: (unit.count, unit.rated_energy_mwh, unit.size_words.split(":")[0]) for unit in note.units}
    assert told == {"Round 2.6 cells": (6, Decimal(56160), "Small"), "Round 6.5 cells": (1, Decimal(20800), "Large")}


def test_boards_and_absorbent_are_no_batteries() -> None:
    job = line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
    for kind, contents in ((models.ItemKind.BOARD, "boards"), (models.ItemKind.CONTAMINATED, "contaminated")):
        item = disposal.add_item(
            job=job, kind=kind, description=kind.label, condition=Condition.INTACT, by=line.technician()
        )
        row = models.Container.objects.create(
            code=contents, contents=contents, condition="intact", started_on=LAST_OLD.date()
        )
        disposal.to_container(job=job, container=row, items=[item], insulated=False, by=line.technician())
    job = models.Job.objects.get(pk=job.pk)
    note: Any = thaw(documents.build(job, DocumentKind.DISPOSAL_NOTE, number=1, by=line.technician(), at=LAST_OLD))
    assert [section.title for section in note.sections] == [
        "boards and other parts",
        "contaminated absorbent and gloves",
    ]
    assert {(unit.battery, unit.un_number, unit.waste_code, unit.count) for unit in note.units} == {(False, "", "", 0)}
    assert note.count == 0


def test_the_larger_rating_counts_and_what_is_not_known_is_large() -> None:
    """36 V × 10.4 Ah = 374.4 Wh on the nameplate (49 CFR 171.8); 300 Wh entered do not count against it."""
    SettingsFactory()
    job = line.take_in(signs=[DangerSign.SWELLING])
    models.Device.objects.update(rated_voltage_mv=36000, rated_capacity_mah=Decimal(10400))
    job.items.update(rated_energy_mwh=300_000)
    job = models.Job.objects.get(pk=job.pk)
    disposal.to_container(
        job=job,
        container=line.containers()[1],
        items=list(job.items.all()),
        insulated=True,
        packed_alone=True,
        by=line.technician(),
    )
    note: Any = thaw(documents.build(job, DocumentKind.DISPOSAL_NOTE, number=1, by=line.technician(), at=LAST_OLD))
    (unit,) = note.units
    assert (unit.rated_energy_mwh, unit.energy_words) == (Decimal(374400), "nameplate")
    assert "Number of cells not known" in unit.size_words


class TestLabel:
    @pytest.fixture
    def label(self) -> Callable[..., ContainerLabel]:
        def build(row: models.Container, at: datetime = LAST_OLD) -> Any:
            return thaw(documents.build(row, DocumentKind.CONTAINER_LABEL, number=1, by=line.technician(), at=at))

        return build

    def test_it_says_what_is_inside(self, label: Callable[..., ContainerLabel]) -> None:
        """Words of ADR special provision 376, P909; UN3480 of the dangerous goods lists."""
        whole, damaged = in_containers(line.job_at(Stage.REMOVED))
        assert label(whole).marks == ("LITHIUM BATTERIES FOR DISPOSAL",)
        said = label(damaged)
        assert said.marks == ("DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES",)
        assert (said.things, said.names, said.leave_by) == (1, ("UN3480 LITHIUM ION BATTERIES",), None)
        assert said.waste_codes == ("16 06 05",)
        assert label(damaged, FIRST_NEW).waste_codes == ("16 06 07*",)

    def test_in_the_united_states_it_names_the_universal_waste_and_its_last_day(
        self, label: Callable[..., ContainerLabel]
    ) -> None:
        """40 CFR 273.14(a), 273.15; EPA RCRA Online 14634: a breached casing is no universal waste."""
        whole, damaged = in_containers(line.job_at(Stage.REMOVED))
        SettingsFactory(jurisdiction="us")
        models.Container.objects.update(started_on=date(2026, 3, 1))
        whole.refresh_from_db()
        said = label(whole)
        assert (said.legend, said.leave_by) == ("Universal Waste-Battery(ies)", date(2027, 3, 1))
        assert label(damaged).legend == ""
        assert "no universal waste" in label(damaged).legend_words
        models.InnerPackaging.objects.update(casing_closed=True)
        assert label(damaged).legend == "Universal Waste-Battery(ies)"

    def test_large_ones_by_highway_and_rail_have_words_of_their_own(self, label: Callable[..., ContainerLabel]) -> None:
        """49 CFR 173.185(c)(1)(iv) as quoted 2019: 15 Ah × 3.6 V = 54 Wh, a cell above 20 and up to 60 Wh."""
        whole, _ = in_containers(line.job_at(Stage.REMOVED))
        SettingsFactory(jurisdiction="us")
        models.CellModel.objects.update(rated_capacity_mah=15_000)
        said = label(whole)
        assert said.marks == ()
        assert said.further_marks == ("LITHIUM BATTERIES-FORBIDDEN FOR TRANSPORT ABOARD AIRCRAFT AND VESSEL",)

    def test_it_is_issued_for_its_container(self) -> None:
        SettingsFactory()
        row = operations.issue_label(container=line.containers()[0], by=line.technician())
        assert (row.code, row.about, row.job) == ("CL0001", "W-INTACT", None)


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ("packing.damaged_heavy", "A damaged item heavier than 30 kg, net, has an outer packaging to itself."),
        ("packing.gross", "Without UN-approved packaging a package weighs at most 30 kg, gross."),
        ("mark.letters", "Height of the letters of these words, at least: 12 mm."),
    ],
)
def test_a_limit_stands_in_its_sentence(rule: str, said: str) -> None:
    """ADR 2025: packing instructions P908 and P909 (30 kg), 5.2.1.9 (12 mm); how it is worded is ours."""
    row = next(row for row in waste.every_row() if row.rule == rule)
    assert waste.sentence(row).startswith(said)


def test_a_cell_that_nobody_measured_stands_for_itself_and_is_packed_as_damaged() -> None:
    """ADR special provision 376: what cannot be diagnosed before carriage is treated as damaged (quoted elsewhere)."""
    job = line.job_at(Stage.REMOVED)
    in_containers(job)
    codes = [cell.code for cell in removed(job, Condition.INTACT)[:2]]
    for reading in models.Reading.objects.filter(cell__code__in=codes):
        models.ReadingWithdrawal.objects.create(
            reading=reading, reason="of another cell", at=reading.measured_at, by=reading.by
        )
    content = documents.build(job, DocumentKind.DISPOSAL_NOTE, number=1, by=line.technician(), at=LAST_OLD)
    note = thaw(content)
    assert isinstance(note, DisposalNote)
    whole, damaged, unmeasured = note.sections
    assert (whole.condition, damaged.condition) == (Condition.INTACT, Condition.DAMAGED)
    assert unmeasured.title == "not measured, handled as damaged until measured"
    assert (unmeasured.packing, unmeasured.marks) == (damaged.packing, damaged.marks)
    assert [unit.codes for unit in unmeasured.units] == [tuple(sorted(codes))]
    assert not set(codes) & {code for unit in whole.units for code in unit.codes}
