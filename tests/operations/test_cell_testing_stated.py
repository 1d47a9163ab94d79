"""What a tester file does not say of its test, and a person does: how warm it was, and in which channel."""

from decimal import Decimal

import pytest

from packs.terms import Measure, OldTabs, Stage, Stubs, Wrap
from packs.units import of
from shop import models
from shop.bridge import said
from shop.bridge.checking import Checks
from shop.bridge.machines import CHARGED_WITH
from shop.bridge.traces import MOST_WORDS, NOT_KNOWN, as_stated
from shop.operations import cell_testing, channels, many_files, preparing
from shop.selectors import recall
from tests import line
from tests.factories import MORNING, CellFactory
from tests.operations import tester_files
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def test_a_temperature_that_is_stated_stands_where_the_file_says_none() -> None:
    """Invented."""
    known = of(Measure.TEMPERATURE, 23_000)
    assert said.temperature(as_stated(f"0.2 A (0.2 C), {NOT_KNOWN}", known, "1")) == known
    assert as_stated("0.2 A, at 25.0 °C", known) == "0.2 A, at 25.0 °C", "what the file says stands"
    long = as_stated("x" * MOST_WORDS, None, "12")
    assert len(long) == MOST_WORDS
    assert long.endswith("in channel 12")


def test_only_the_channel_that_is_named_is_asked_for_its_check_cell() -> None:
    """Invented: two channels of one tester, of which one was checked."""
    meter = models.Instrument.objects.create(name="T1")
    good, bad = (channels.add_channel(instrument=meter, name=one, by=line.technician()) for one in ("1", "2"))
    cell = tester_files.cell()
    channels.keep_check_cell(
        cell=cell, capacity_mah=Decimal(1000), conditions="mean of 3", by=line.technician(), now=MORNING
    )
    channels.read_check_cell(channel=good, cell=cell, capacity_mah=Decimal(1000), by=line.technician(), now=MORNING)
    checks = Checks.of_cells()
    assert checks.against(meter, MORNING, cell.pk, f"0.2 C, in channel {good.name}") == ""
    assert checks.against(meter, MORNING, cell.pk, f"0.2 C, in channel {bad.name}").startswith("channel 2:")
    assert "in which channel it was is not on record" in checks.against(meter, MORNING, cell.pk, "0.2 C")


def test_figures_of_a_file_keep_the_channel_they_were_read_in() -> None:
    """Invented."""
    meter, other = (models.Instrument.objects.create(name=name) for name in ("T1", "T2"))
    channel = channels.add_channel(instrument=meter, name="1", by=line.technician())
    kept = tester_files.kept()
    given = {
        "trace": kept,
        "understood": cell_testing.again(kept),
        "measures": [Measure.CAPACITY],
        "channel": channel,
        "by": line.technician(),
    }
    with refused("another_tester"):
        cell_testing.accept_trace(**given, instrument=other)
    (reading,) = cell_testing.accept_trace(**given)
    assert reading.conditions.endswith("in channel 1")
    assert reading.instrument == meter


def test_a_file_is_known_by_the_code_of_its_cell_in_any_letter_case() -> None:
    became = many_files.bring_in(many_files.Sent("t1.csv", tester_files.CONTENT), by=line.technician())
    assert became.way == many_files.REFUSED, "no cell has this code yet"
    assert "[" not in became.words, "codes are not for people"
    cell = tester_files.cell()
    became = many_files.bring_in(many_files.Sent("t1.csv", tester_files.CONTENT), by=line.technician())
    assert (became.way, became.cell) == (many_files.KEPT, cell.code)
    CellFactory(code="T2", lot=cell.lot)
    again = many_files.bring_in(many_files.Sent("T2.csv", tester_files.CONTENT), by=line.technician())
    assert again.way == many_files.REFUSED
    assert "the file of T1" in again.words


def test_a_recall_begins_at_a_charger_too() -> None:
    """Invented: one charger in two spellings."""
    job = line.job_at(Stage.FINAL_TEST)
    models.Step.objects.filter(job=job, stage=Stage.FIRST_CHARGE.value).update(confirmed=[f"{CHARGED_WITH}Charger 1"])
    assert recall.chargers() == [("Charger 1", 1)]
    assert [one.number for one in recall.by_charger("charger-1")] == [job.number]
    assert recall.by_charger("Charger 2") == []


def test_a_round_cell_needs_a_ring_before_it_is_joined() -> None:
    """A strip over cap and rim of a round cell joins both poles; common practice, no source."""
    said = {"tabs": OldTabs.REMOVED, "stubs": Stubs.GROUND, "wrapper": Wrap.INTACT, "insulator": Wrap.NONE}
    round_one, by = CellFactory(code="R1"), line.technician()
    with refused("no_insulator", field="insulator"):
        preparing.prepare_cells(cells=[round_one], by=by, **said)
    assert preparing.prepare_cells(cells=[round_one], by=by, **said | {"insulator": Wrap.REPLACED})
