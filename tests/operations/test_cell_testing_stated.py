"""What a tester file does not say of its test, and a person does: how warm it was, and in which channel."""

from decimal import Decimal

import pytest

from packs.terms import Measure
from packs.units import of
from shop import models
from shop.bridge import said
from shop.bridge.checking import Checks
from shop.bridge.traces import MOST_WORDS, NOT_KNOWN, as_stated
from shop.operations import cell_testing, channels
from tests import line
from tests.factories import MORNING
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
