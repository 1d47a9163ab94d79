"""One test in many notations gives one series; layouts are proposed, stated, stored."""

import gzip
import hashlib
import json
import re
from datetime import datetime, timedelta
from io import BytesIO

import numpy as np
import polars as pl
import pytest

from packs.traces import Column, ColumnLayout, CurrentSign, Role, TraceRefused, figures, propose, read
from packs.traces.headings import heading
from tests.packs.traces.made import packed, parquet, sound, with_column, workbook

SOUND = sound()
LABELS = SOUND.header
MACHINE = "test_time_second,current_ampere,voltage_volt,surface_temperature_celsius"
MIXED = "test_time_second,Current / A,voltage_volt,Surface Temperature / degC"


def renamed(header, encoding="utf-8"):
    return SOUND.with_(header=header).text().encode(encoding)


def commas():
    return SOUND.text().replace(",", ";").replace(".", ",").encode()


def micro(sign="µ"):
    rows = zip(SOUND.time, SOUND.current, SOUND.voltage, strict=True)
    text = [f"Time(min),Current({sign}A),Voltage(mV)"]
    text += [f"{t / 60:.9f},{i * 1e6:.0f},{v * 1000:.1f}" for t, i, v in rows]
    return "\n".join(text) + "\n"


def units_below():
    head = ["Tester 4, channel 2", "started 2026-03-01", "Time;Current;Voltage", "h;mA;V"]
    rows = zip(SOUND.time, SOUND.current, SOUND.voltage, strict=True)
    return "\r\n".join([*head, *(f"{t / 3600:.9f};{i * 1000:.2f};{v:.4f}" for t, i, v in rows), ""]).encode()


def frame():
    columns = (SOUND.time, SOUND.current, SOUND.voltage, SOUND.degrees)
    rounded = [np.round(each, digits) for each, digits in zip(columns, (1, 4, 4, 1), strict=True)]
    return pl.DataFrame(dict(zip(LABELS.split(","), rounded, strict=True)))


def rows():
    return [LABELS.split(","), *([float(value) for value in row.split(",")] for row in SOUND.rows())]


SAME = {
    "labels": SOUND.bytes(),
    "machine names": renamed(MACHINE),
    "both notations": renamed(MIXED),
    "compressed": packed(SOUND.bytes()),
    "compressed in two parts": gzip.compress(SOUND.bytes()[:5000]) + gzip.compress(SOUND.bytes()[5000:]),
    "Parquet": parquet(frame()),
    "Parquet in 32 bits": parquet(frame().cast(pl.Float32)),
    "a workbook, second sheet": workbook({"Remarks": [["Cell", "A12"]], "Data": rows()}),
    "with a byte order mark": b"\xef\xbb\xbf" + SOUND.bytes(),
    "UTF-16": SOUND.text().encode("utf-16"),
    "single-byte encoding": renamed(LABELS.replace("degC", "°C"), "cp1252"),
    "lines ended by carriage return and line feed": SOUND.bytes().replace(b"\n", b"\r\n"),
    "no end of line at the end": SOUND.bytes()[:-1],
    "tabs": SOUND.bytes().replace(b",", b"\t"),
    "bars": SOUND.bytes().replace(b",", b"|"),
    "blanks after the marks": SOUND.bytes().replace(b",", b", "),
    "decimal commas": commas(),
    "quoted": "\n".join(",".join(f'"{each}"' for each in line.split(",")) for line in SOUND.text().split("\n")[:-1]).encode(),
    "a mark at the end of every row": SOUND.bytes().replace(b"\n", b",\n"),
    "a mark at the end of every row but the names": SOUND.bytes().replace(b"\n", b",\n").replace(b"degC,\n", b"degC\n"),
    "micro and milli, minutes": micro().encode(),
    "the other sign for micro": micro("μ").encode(),
    "micro in a single-byte encoding": micro().encode("cp1252"),
    "units on a line of their own, two lines above": units_below(),
    "brackets": renamed("Time [s],Current [A],Voltage [V],Temperature [°C]"),
}  # fmt: skip


class TestNotations:
    @pytest.mark.parametrize("content", SAME.values(), ids=SAME.keys())
    def test_one_series(self, content):
        trace, plain = read(content), read(SOUND.bytes())
        assert len(trace) == len(plain) == 1800
        for role, digits in ((Role.TIME, 1e-3), (Role.CURRENT, 1e-4), (Role.VOLTAGE, 1e-4)):
            np.testing.assert_allclose(trace.floats(role), plain.floats(role), atol=digits)
        assert trace.sha256 == hashlib.sha256(content).hexdigest()

    def test_from_a_path_and_from_a_file(self, tmp_path):
        path = tmp_path / "A__B__20260301_001.bdf.csv"
        path.write_bytes(SOUND.bytes())
        with path.open("rb") as file:
            assert read(path).sha256 == read(file).sha256 == read(BytesIO(SOUND.bytes())).sha256
        np.testing.assert_array_equal(read(path).voltage, read(SOUND.bytes()).voltage)

    def test_what_the_format_fixes_is_not_guessed(self):
        assert propose(renamed(MIXED)).layout.sign is CurrentSign.CHARGE_POSITIVE
        assert propose(micro().encode()).layout.sign is CurrentSign.FIND

    # Battery Data Format 1.3.0, tables of required, recommended and optional quantities: label and machine name.
    @pytest.mark.parametrize(
        ("label", "machine", "role"),
        [
            ("Unix Time / s", "unix_time_second", Role.CLOCK),
            ("Cycle Count / 1", "cycle_count", Role.CYCLE),
            ("Step Count / 1", "step_count", Role.STEP_COUNT),
            ("Ambient Temperature / degC", "ambient_temperature_celsius", Role.AMBIENT),
            ("Charging Capacity / Ah", "charging_capacity_ah", Role.CHARGE_CAPACITY),
            ("Discharging Energy / Wh", "discharging_energy_wh", Role.DISCHARGE_ENERGY),
            ("Step Time / s", "step_time_second", Role.STEP_TIME),
            ("Step ID", "step_id", Role.STEP_ID),
            ("Step Type", "step_type", Role.STEP_TYPE),
            ("Power / W", "power_watt", Role.POWER),
            ("AC Internal Resistance / ohm", "ac_internal_resistance_ohm", Role.AC_RESISTANCE),
            ("Surface Temperature / degC", "surface_temperature_celsius", Role.TEMPERATURE),
        ],
    )
    def test_quantities_of_the_open_format(self, label, machine, role):
        for name in (label, machine):
            text = f"{LABELS.replace('Surface Temperature / degC', 'Strain / 1')},{name}\n"
            text += "".join(f"{k},0.0,3.6,0,1\n" for k in range(5))
            (column,) = [each for each in propose(text.encode()).layout.columns if each.source == name]
            assert column.role is role


@pytest.mark.parametrize(
    ("name", "role", "unit"),
    [
        ("Voltage_V", Role.VOLTAGE, "V"),
        ("Voltage_mV", Role.VOLTAGE, "mV"),
        ("Current A", Role.CURRENT, "A"),
        ("Elapsed(s)", Role.TIME, "s"),
        ("Elapsed s", Role.TIME, "s"),
        ("Temp [°C]", Role.TEMPERATURE, "°C"),
        ("Ladung [mAh]", Role.CAPACITY, "mAh"),
        ("State", Role.STEP_TYPE, ""),
        # a unit of another quantity behind a name is no unit of it
        ("Voltage_A", None, None),
    ],
)
def test_plain_headings_of_the_bench(name, role, unit):
    """Invented headings; that a unit stands behind a blank or an underline is common practice, no source."""
    assert (heading(name).role, heading(name).unit) == (role, unit)


@pytest.mark.parametrize("as_file", [lambda text: text, lambda text: text.replace(b"10.0,", b"\n10.0,", 1)])
def test_columns_that_are_not_read_are_named(as_file):
    made = with_column("Fan / 1", [0] * len(SOUND.time))
    assert read(as_file(made)).unread == ("Fan / 1",)


class TestWhereAFaultStands:
    """A clock of the invented test that is set back in the middle of the discharge."""

    def content(self, *, twice=False):
        clock = [datetime.fromisoformat("2026-11-27 08:00:00") + timedelta(seconds=float(t)) for t in SOUND.time]
        clock[1000:] = [each - timedelta(hours=9) for each in clock[1000:]]
        if twice:
            clock[50] = clock[49]
        rows = zip(clock, SOUND.current, SOUND.voltage, strict=True)
        return "\n".join(["Timestamp,Current_A,Voltage_V", *(f"{t},{i:.4f},{v:.4f}" for t, i, v in rows), ""]).encode()

    def refused(self, content):
        with pytest.raises(TraceRefused) as caught:
            read(content)
        assert caught.value.code == "time_backward"
        return str(caught.value)

    def test_by_its_line_in_the_file(self):
        content = self.content()
        line = int(re.search(r"line (\d+) of the file", self.refused(content))[1])
        before, after = (content.decode().split("\n")[number].split(",")[0] for number in (line - 2, line - 1))
        assert after < before

    def test_no_line_is_named_where_lines_were_left_out(self):
        message = self.refused(self.content().replace(b"\n2026-11-27 08:10:00", b"\n\n2026-11-27 08:10:00"))
        assert "row 1001" in message
        assert "line" not in message

    def test_what_else_is_amiss_is_said_at_once(self):
        assert "time stamps stand twice (1), first at row 51 (line 52 of the file)" in self.refused(
            self.content(twice=True)
        )


class TestLayouts:
    def test_a_proposed_layout_reads_the_file_again_after_being_stored(self):
        for content in SAME.values():
            stored = json.loads(json.dumps(propose(content).layout.facts()))
            again = read(content, ColumnLayout.from_facts(stored))
            assert len(again) == 1800

    def test_one_of_several_tables(self):
        content = (
            b"Step,Capacity / Ah\n1,0.9\n2,1.0\n\n"
            + SOUND.bytes()
            + b"\n"
            + SOUND.with_(voltage=SOUND.voltage + 0.05).bytes()
        )
        columns = propose(SOUND.bytes()).layout.columns
        first, second = (read(content, ColumnLayout("tables", columns, section=number)) for number in (2, 3))
        assert len(first) == len(second) == 1800
        assert second.voltage.max() >= first.voltage.max()
        assert second.voltage.min() > first.voltage.min()

    def test_stated_lines_before_and_after_and_column_numbers(self):
        content = b"Channel 4\nA12\n" + SOUND.bytes().split(b"\n", 1)[1] + b"1,2,3,4\nmean of all,1,2,3\n"
        stated = ColumnLayout(
            "stated",
            (Column(Role.TIME, 1, "s"), Column(Role.CURRENT, 2, "A"), Column(Role.VOLTAGE, 3, "V")),
            lines_before=2, header_lines=0, lines_after=3,
        )  # fmt: skip
        assert len(read(content, stated)) == 1800

    def test_unsigned_current_needs_something_that_gives_it_a_sign(self):
        from packs.traces import TraceRefused

        layout = ColumnLayout(**{**propose(SOUND.bytes()).layout.__dict__, "sign": CurrentSign.UNSIGNED})
        with pytest.raises(TraceRefused, match="no sign"):
            read(SOUND.bytes(), layout)

    def test_discharge_positive_is_turned_round(self):
        layout = ColumnLayout(**{**propose(SOUND.bytes()).layout.__dict__, "sign": CurrentSign.DISCHARGE_POSITIVE})
        turned = read(SOUND.with_(current=-SOUND.current).bytes(), layout)
        np.testing.assert_allclose(turned.current, read(SOUND.bytes()).current)

    @pytest.mark.parametrize(
        "form", ["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%m/%d/%Y %H:%M:%S", "%Y-%m-%dT%H:%M:%S.%f"]
    )
    def test_clock_time_alone(self, form):
        moments = np.datetime64("2026-03-20T12:00:00") + np.arange(1800) * np.timedelta64(10, "s")
        stamps = [moment.astype(object).strftime(form) for moment in moments]
        rest = [row.split(",", 1)[1] for row in SOUND.rows()]
        text = "\n".join([f"Date Time,{LABELS.split(',', 1)[1]}", *map(",".join, zip(stamps, rest, strict=True)), ""])
        trace = read(text.encode())
        np.testing.assert_allclose(trace.time, SOUND.time)

    def test_durations(self):
        stamps = [f"{int(t) // 3600}:{int(t) % 3600 // 60:02d}:{t % 60:04.1f}" for t in SOUND.time]
        rest = [row.split(",", 1)[1] for row in SOUND.rows()]
        text = "\n".join([LABELS, *map(",".join, zip(stamps, rest, strict=True)), ""])
        np.testing.assert_allclose(read(text.encode()).time, SOUND.time)


def test_charge_of_the_made_up_test():
    charge, discharge = (step for step in figures(read(SOUND.bytes())).steps if step.flow != "rest")
    # 1 A from the first row to the last of 360 at 10 s: 3590 s; the charge 2990 s of it, and 600 s at 0.55 A on average.
    assert discharge.capacity_ah == pytest.approx(3590 / 3600, abs=2e-4)
    assert charge.capacity_ah == pytest.approx((2990 + 330) / 3600, abs=2e-4)
    # Mean of 4.05 to 3.25 V; of 3.35 to 4.15 V, and 4.15 V.
    assert discharge.energy_wh == pytest.approx(3.65 * 3590 / 3600, rel=1e-3)
    assert charge.energy_wh == pytest.approx((3.75 * 2990 + 4.15 * 330) / 3600, rel=1e-3)


def test_the_made_up_test_measures_capacity():
    (test,) = figures(read(SOUND.bytes())).capacity_tests
    assert test.capacity.to("Ah").magnitude == pytest.approx(3590 / 3600, abs=2e-4)
    assert test.charged_to.to("V").magnitude == pytest.approx(4.15, abs=1e-3)
    assert test.cut_off.to("V").magnitude == pytest.approx(3.25, abs=1e-3)
