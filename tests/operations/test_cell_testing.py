"""Tester files: kept once byte for byte, their figures in the cell's readings with everything that was repaired."""

import hashlib
from datetime import UTC, datetime, timedelta
from io import StringIO

import polars as pl
import pytest
from django.core.management import CommandError, call_command

from packs.terms import Measure
from shop.models import Instrument, LogEntry, Reading, TraceFile
from shop.operations import cell_testing
from shop.web.forms.tester_files import AcceptForm
from tests.factories import UserFactory
from tests.operations import tester_files
from tests.packs.traces.made import lines, sound
from tests.refusal import refused

pytestmark = pytest.mark.django_db

LATER = datetime(2026, 11, 30, 12, tzinfo=UTC)
# The names come again in the middle: read, and told for ever.
REPAIRED = lines(lambda each: [*each[:900], each[0], *each[900:]])


def test_the_bytes_stay_and_the_series_lies_beside_them():
    kept = tester_files.kept()
    assert cell_testing.bytes_of(kept.sha256).read_bytes() == tester_files.CONTENT
    assert hashlib.sha256(tester_files.CONTENT).hexdigest() == kept.sha256
    series = pl.read_parquet(cell_testing.series_of(kept.sha256))
    assert series.height == kept.rows == 1800
    assert {"time_s", "current_a", "voltage_v", "temperature_degc"} <= set(series.columns)


def test_the_same_file_twice_is_recognised():
    first = tester_files.kept()
    again = tester_files.to_keep() | {"name": "another name.csv", "by": UserFactory()}
    with refused("known_already") as caught:
        cell_testing.keep_trace(**again)
    assert caught.value.facts["trace"] == first.pk
    assert TraceFile.objects.count() == 1


def test_accepted_figures_are_readings_with_method_conditions_and_repairs():
    kept = tester_files.kept(REPAIRED)
    (reading,) = cell_testing.accept_trace(
        trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=UserFactory()
    )
    # 1 A from the first row to the last of 360 at 10 s: 3590 s are 997.2 mAh.
    assert float(reading.value) == pytest.approx(997.2, abs=0.3)
    assert reading.cell == kept.cell
    assert "discharge from" in reading.method
    assert "°C" in reading.conditions
    assert [each["code"] for each in Reading.objects.get(pk=reading.pk).trace.repairs] == ["header_repeated"]
    assert LogEntry.objects.filter(verb="tester file accepted").exists()


def test_a_figure_is_accepted_once():
    kept, by = tester_files.kept(), UserFactory()
    cell_testing.accept_trace(trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=by)
    with refused("accepted_already"):
        cell_testing.accept_trace(trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=by)


@pytest.mark.parametrize(("changed", "accepted"), [({"message": "older words"}, True), ({"count": 7}, False)])
def test_what_counts_are_the_repairs_and_not_their_words(changed, accepted):
    """A file that an earlier version of the shop kept: the same repair in other words, or another repair."""
    to_keep, by = tester_files.to_keep(REPAIRED), UserFactory()
    understood = to_keep["understood"]
    kept = TraceFile.objects.create(
        cell=to_keep["cell"],
        name="run 7.csv",
        sha256=understood.trace.sha256,
        size=len(REPAIRED),
        rows=len(understood.trace),
        layout_name="proposed",
        layout=understood.trace.layout.facts(),
        remarks=[remark | changed for remark in understood.remarks()],
        at=LATER,
        by=by,
    )
    asked = {"trace": kept, "understood": understood, "measures": [Measure.CAPACITY], "by": by}
    if accepted:
        assert cell_testing.accept_trace(**asked)
    else:
        with refused("read_differently"):
            cell_testing.accept_trace(**asked)


def test_what_the_file_does_not_give_is_refused():
    kept, by = tester_files.kept(), UserFactory()
    with refused("not_offered"):
        cell_testing.accept_trace(
            trace=kept, understood=cell_testing.again(kept), measures=[Measure.AC_RESISTANCE], by=by
        )


def test_a_file_that_cannot_be_trusted_is_refused_with_its_code():
    model = tester_files.cell().lot.cell_model
    with refused("not_text"):
        cell_testing.look_at(content=b"\x89PNG\r\n\x1a\n" + bytes(64), model=model)


def test_bytes_that_changed_on_the_disk_are_noticed():
    kept, by = tester_files.kept(), UserFactory()
    path = cell_testing.bytes_of(kept.sha256)
    path.write_bytes(tester_files.CONTENT + b"1")
    try:
        with refused("bytes_changed"):
            cell_testing.accept_trace(
                trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=by
            )
    finally:
        path.unlink()


def test_a_stated_layout_reads_the_file():
    layout = tester_files.layout()
    model = tester_files.cell().lot.cell_model
    assert len(cell_testing.look_at(content=tester_files.CONTENT, model=model, layout=layout).trace) == 1800


def clocked(first: str, above: str = "") -> bytes:
    """The made-up test with a clock of its own, which begins at a moment."""
    start = datetime.fromisoformat(first)
    made = sound()
    rows = zip(made.time, made.current, made.voltage, strict=True)
    written = [f"{start + timedelta(seconds=float(t))},{i:.4f},{v:.4f}" for t, i, v in rows]
    return (above + "\n".join(["Timestamp,Current_A,Voltage_V", *written, ""])).encode()


class TestWhenItWasMeasured:
    """The made-up test lasts 1799 intervals of 10 s; the lot of the factory came in on 2 November 2026."""

    def ended(self, content: bytes) -> datetime | None:
        cell = tester_files.cell()
        return cell_testing.believed(cell_testing.look_at(content=content, model=cell.lot.cell_model), cell, LATER)

    def test_by_a_column_of_clock_times(self):
        assert self.ended(clocked("2026-11-20 08:00:00")) == datetime(2026, 11, 20, 12, 59, 50, tzinfo=UTC)

    @pytest.mark.parametrize("line", ["Started: 2026-11-20 08:00:00", "Start 20.11.2026 08:00"])
    def test_by_a_line_above_the_headings(self, line):
        content = f"Bench 4\n{line}\n".encode() + tester_files.CONTENT
        assert self.ended(content) == datetime(2026, 11, 20, 12, 59, 50, tzinfo=UTC)

    @pytest.mark.parametrize("first", ["1970-01-02 00:00:00", "2031-01-01 00:00:00"])
    def test_a_clock_that_cannot_be_right_is_not_believed(self, first):
        assert self.ended(clocked(first)) is None

    def test_a_file_that_names_no_time(self):
        assert self.ended(tester_files.CONTENT) is None
        assert self.ended(b"Calibrated: 2026-11-20 08:00:00\n" + tester_files.CONTENT) is None

    def test_the_reading_stands_at_that_time_with_its_meter(self):
        kept, meter = tester_files.kept(), Instrument.objects.create(name="bench 4")
        at = LATER - timedelta(days=3)
        (reading,) = cell_testing.accept_trace(
            trace=kept,
            understood=cell_testing.again(kept),
            measures=[Measure.CAPACITY],
            instrument=meter,
            measured_at=at,
            by=UserFactory(),
            now=LATER,
        )
        assert (reading.measured_at, reading.instrument) == (at, meter)


def test_the_voltage_after_the_discharge_is_not_taken_unasked():
    """The made-up test ends with a rest of an hour after its discharge."""
    model = tester_files.cell().lot.cell_model
    offers = {each.measure: each for each in cell_testing.look_at(content=tester_files.CONTENT, model=model).offers}
    assert offers[Measure.REST_VOLTAGE].doubt
    assert not offers[Measure.CAPACITY].doubt
    form = AcceptForm(offers=list(offers.values()), ended=None)
    assert {offer.measure for offer, ticked in form.lines if not ticked} == {Measure.REST_VOLTAGE}


class TestFolder:
    """`manage.py import_trace FOLDER`."""

    @pytest.fixture
    def folder(self, tmp_path):
        tester_files.cell()
        UserFactory(username="tester")
        (tmp_path / "T1__run7.csv").write_bytes(tester_files.CONTENT)
        (tmp_path / "T1.again.csv").write_bytes(REPAIRED)
        (tmp_path / "notes.md").write_text("no tester file")
        return tmp_path

    def run(self, folder, **options):
        out = StringIO()
        call_command("import_trace", str(folder), by="tester", stdout=out, stderr=out, **options)
        return out.getvalue()

    def test_run_again_it_passes_over_what_is_kept(self, folder):
        first = self.run(folder)
        assert "T1.again.csv: kept, 1800 rows; figures: " in first
        assert "repairs: The line of column names" in first
        assert "2 kept, 0 kept before, 0 refused." in first
        assert "0 kept, 2 kept before, 0 refused." in self.run(folder)
        assert TraceFile.objects.count() == 2

    def test_figures_are_accepted_where_asked(self, folder):
        tester_files.layout()
        self.run(folder, layout="Tester 4", accept=True)
        assert Reading.objects.filter(measure=Measure.CAPACITY.value, trace__isnull=False).count() == 2

    def test_a_refused_file_is_named_and_the_others_are_kept(self, folder):
        (folder / "T1__broken.gz").write_bytes(b"\x1f\x8b\x08")
        (folder / "T9.csv").write_bytes(tester_files.CONTENT.replace(b"3.3001", b"3.3002"))
        with pytest.raises(CommandError, match="2 of 4 files were refused"):
            self.run(folder)
        assert TraceFile.objects.count() == 2

    @pytest.mark.parametrize(
        ("options", "message"), [({"layout": "none such"}, "no column layout"), ({"by": "nobody"}, "Nobody")]
    )
    def test_what_it_is_told_has_to_be_there(self, folder, options, message):
        with pytest.raises(CommandError, match=message):
            call_command("import_trace", str(folder), **{"by": "tester", **options})
