"""Files that are wrong in one way each: every way has its code. All files are invented."""

import numpy as np
import polars as pl
import pytest

from packs.traces import Column, ColumnLayout, CurrentSign, Expected, Role, TraceRefused, figures, propose, read
from packs.traces.problems import Problem
from tests.packs.traces.made import (
    CHARGE,
    DISCHARGE,
    PLACE,
    edited,
    lines,
    packed,
    parquet,
    sound,
    with_column,
    workbook,
)  # fmt: skip

SOUND = sound().bytes()
TIME, AMPS, VOLTS = "Test Time / s", "Current / A", "Voltage / V"


def renamed(**names):
    header = sound().header
    for old, new in names.items():
        header = header.replace({"t": TIME, "i": AMPS, "v": VOLTS}[old], new)
    return sound().with_(header=header)


def layout(**changes):
    columns = (Column(Role.TIME, TIME, "s"), Column(Role.CURRENT, AMPS, "A"), Column(Role.VOLTAGE, VOLTS, "V"))
    return ColumnLayout(**{"name": "test", "columns": columns, **changes})


def shifted(rows, by):
    made = sound()
    return made.with_(time=made.time + by * (np.arange(len(made.time)) >= rows)).bytes()


def without(rows):
    made = sound()
    kept = np.ones(len(made.time), dtype=bool)
    kept[rows] = False
    columns = {name: getattr(made, name)[kept] for name in ("time", "current", "voltage", "degrees")}
    return made.with_(**columns).bytes()


def stuck(rows):
    made = sound()
    columns = {}
    for name in ("current", "voltage"):
        columns[name] = getattr(made, name).copy()
        columns[name][rows] = columns[name][rows.start]
    return made.with_(**columns).bytes()


def clock(stamps, made=None):
    return with_column("Date Time", stamps, made)


def only_clock(stamps):
    made = sound()
    rows = zip(stamps, made.rows(), strict=True)
    text = [f"Date Time,{made.header.split(',', 1)[1]}", *(f"{stamp},{row.split(',', 1)[1]}" for stamp, row in rows)]
    return ("\n".join(text) + "\n").encode()


def stamps(form, start="2026-03-01T12:00:00", step=10):
    moments = np.datetime64(start) + np.arange(len(sound().time)) * np.timedelta64(step, "s")
    return [moment.astype(object).strftime(form) for moment in moments]


def counted(factor):
    made = sound()
    charge = np.cumsum(np.maximum(made.current, 0)) * 10 / 3600 * factor
    return with_column("Charge Capacity(Ah)", [f"{value:.6f}" for value in charge])


def both_counters():
    made = sound()
    charge, discharge = (np.cumsum(np.maximum(sign * made.current, 0)) * 10 / 3600 for sign in (1, -1))
    plain = made.with_(current=np.abs(made.current), header=f"{made.header},Charge Capacity(Ah)")
    text = with_column("Discharge Capacity(Ah)", discharge, plain.with_(header=made.header)).decode().split("\n")
    both = [f"{line},{value:.6f}" for line, value in zip(text[1:], charge, strict=False)]
    return "\n".join([f"{text[0]},Charge Capacity(Ah)", *both, ""]).encode()


def table():
    return [sound().header.split(","), *([float(value) for value in row.split(",")] for row in sound().rows())]


HALF = len(sound().time) // 2

# What is wrong: file, layout or None for the proposed one, code of the refusal.
REFUSED = {
    "nothing in it": (b"", None, "empty_file"),
    "nothing packed in it": (packed(b""), None, "empty_file"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 4, None, "not_text"),
    "a document": (b"%PDF-1.7\n1 0 obj", None, "not_text"),
    "zero bytes between the rows": (lines(lambda a: [*a[:900], "\x00\x00\x00\x00", *a[900:]]), None, "not_text"),
    "compressed and cut off": (packed(SOUND)[:2000], None, "gzip_broken"),
    "compressed and damaged": (packed(SOUND)[:500] + b"\xff" * 100 + packed(SOUND)[600:], None, "gzip_broken"),
    "Parquet cut off": (parquet(pl.DataFrame({TIME: [0.0, 1.0], AMPS: [0.0, 0.0], VOLTS: [3.6, 3.6]}))[:-20], None, "parquet_broken"),
    "a workbook that is none": (b"PK\x03\x04 not a workbook", None, "workbook_broken"),
    "a sheet that is not there": (workbook({"Data": table()}), layout(sheet="Channel", delimiter="\t"), "sheet_missing"),
    "text in another encoding": (SOUND.replace(b"degC", b"\xb0C"), layout(), "encoding"),
    "an encoding that does not exist": (SOUND, layout(encoding="utf-99"), "encoding"),
    "prose": (b"The cell was tested on Monday.\nIt was fine.\n" * 20, None, "no_table"),
    "rows without names": (lines(lambda a: a[1:]), None, "header_missing"),
    "names without rows": (sound().header.encode() + b"\n", None, "header_only"),
    "one row": (lines(lambda a: a[:2]), None, "too_few_rows"),
    "a value missing in a row": (lines(lambda a: [*a[:900], a[900].replace(",", "", 1), *a[901:]]), None, "column_count"),
    "a value too many in a row": (lines(lambda a: [*a[:900], a[900] + ",1", *a[901:]]), None, "column_count"),
    "another table below": (lines(lambda a: [*a, "Step,Capacity,Remark,A,B", "1,1.0,x,2,3", "2,1.0,y,2,3"]), None, "sections_differ"),
    "two tables that both fit": (
        b"Summary,of the test\n1,2\n" + SOUND + b"\n" + SOUND.replace(b"Surface Temperature", b"Ambient Temperature"),
        layout(section=9), "no_table"),
    "a word among the currents": (lines(lambda a: [*a[:900], a[900].replace("0.0000", "OVERLOAD"), *a[901:]]), None, "not_a_number"),
    "decimal commas in some rows": (
        SOUND.replace(b",", b";").replace(b";-0.9", b";-0,9"), None, "decimal_mixed"),
    "numbers in groups of thousands": (
        lines(lambda a: [each.replace(",", ";") for each in a[:5]] + ["1.234.567,8;0,0;3,3;25,0"]), None, "grouped_numbers"),
    "two cells in one file": (with_column("Channel", np.arange(1800) % 2), None, "several_cells"),
    "a column of the layout is not there": (renamed(v="Potential").bytes(), layout(), "layout_column_missing"),
    "a column number that is not there": (
        SOUND, layout(columns=(Column(Role.TIME, 1, "s"), Column(Role.CURRENT, 2, "A"), Column(Role.VOLTAGE, 9, "V"))),
        "layout_column_missing"),
    "no time": (renamed(t="Counter").bytes(), None, "time_missing"),
    "no current": (renamed(i="Force / N").bytes(), None, "current_missing"),
    "no voltage": (renamed(v="Strain").bytes(), None, "voltage_missing"),
    "two currents": (renamed(v="Current(A)").bytes(), None, "column_twice"),
    "a unit nobody knows": (renamed(i="Current / furlong").bytes(), None, "unit_unknown"),
    "current in volts": (renamed(i="Current / V").bytes(), None, "unit_of_another_kind"),
    "an infinite voltage": (edited("voltage", PLACE, np.inf), None, "infinite"),
    "a third of the voltages missing": (edited("voltage", slice(0, None, 3), np.nan), None, "blanks"),
    "four voltages in a row missing": (edited("voltage", slice(900, 904), np.nan), None, "blanks"),
    "time runs backwards": (shifted(900, -300), None, "time_backward"),
    "two rows exchanged": (edited("time", [900, 901], [9010.0, 9000.0]), None, "time_backward"),
    "time stands still": (edited("time", slice(None), 5.0), None, "time_stands"),
    "time leaps by years": (shifted(1799, 4e8), None, "time_jump"),
    "the clock is set back by an hour": (
        only_clock([*stamps("%Y-%m-%d %H:%M:%S")[:HALF], *stamps("%Y-%m-%d %H:%M:%S", "2026-03-01T11:00:00")[HALF:]]),
        None, "clock_changed"),
    "milliseconds in a column of seconds": (
        clock(stamps("%Y-%m-%d %H:%M:%S"), sound().with_(time=sound().time * 1000)), None, "time_unit"),
    "clock times nobody can read": (only_clock(["the first of May"] * 1800), None, "date_unreadable"),
    "clock times in another form than the layout says": (
        only_clock(stamps("%Y-%m-%d %H:%M:%S")),
        layout(date_format="%d.%m.%Y", columns=(
            Column(Role.CLOCK, "Date Time"), Column(Role.CURRENT, AMPS, "A"), Column(Role.VOLTAGE, VOLTS, "V"))),
        "date_unreadable"),
    "day and month exchangeable": (only_clock(stamps("%d/%m/%Y %H:%M:%S", "2026-03-04T00:00:00")), None, "date_ambiguous"),
    "current without its sign": (sound().with_(current=np.abs(sound().current)).bytes(), None, "sign_missing"),
    "current the wrong way round for the layout": (SOUND, layout(sign=CurrentSign.DISCHARGE_POSITIVE), "sign_reversed"),
    "current the wrong way round for the open format": (sound().with_(current=-sound().current).bytes(), None, "sign_reversed"),
    "voltages in millivolts from half on": (
        edited("voltage", slice(HALF, None), sound().voltage[HALF:] * 1000), None, "voltage_units_mixed"),
    "a pack of three cells": (sound().with_(voltage=sound().voltage * 3).bytes(), None, "voltage_impossible"),
    "leads exchanged": (sound().with_(voltage=-sound().voltage).bytes(), None, "voltage_negative"),
    "milliamperes taken for amperes, by the tester's counter": (counted(1 / 1000), None, "current_unit_slip"),
    "five thousand amperes": (sound().with_(current=sound().current * 5000).bytes(), None, "current_impossible"),
}  # fmt: skip

# What is wrong: file, layout, code of the remark, verdict.
REMARKED = {
    "zero bytes at the end": (SOUND + bytes(512), None, "nul_padding", "repaired"),
    "the names again in the middle": (lines(lambda a: [*a[:900], a[0], *a[900:]]), None, "header_repeated", "repaired"),
    "the summary of a test above its table": (
        b"Cycle,Capacity(Ah)\n" + b"".join(b"%d,1.0\n" % k for k in range(399)) + b"\n" + SOUND, None, "other_section", "repaired"),
    "a remark below the table": (lines(lambda a: [*a, "Test ended by operator"]), None, "footer", "repaired"),
    "remarks between the rows": (lines(lambda a: [*a[:900], "# step 3", *a[900:]]), None, "comment_lines", "repaired"),
    "the last row cut off": (SOUND[:-8], None, "truncated", "repaired"),
    "the last number cut short": (SOUND[:-2], None, "truncated", "repaired"),
    "a column without unit": (renamed(i="Current").bytes(), None, "unit_assumed", "warned"),
    "a name the open format gave up": (with_column("step_index", [1] * 1800), None, "old_column_name", "warned"),
    "a column nobody needs in a unit nobody knows": (with_column("Power / hp", [0] * 1800), None, "unit_unknown", "warned"),
    "text in a column nobody needs": (with_column("Power / W", ["0"] * 1799 + ["x"]), None, "not_a_number", "warned"),
    "a voltage missing here and there": (edited("voltage", [100, 900], np.nan), None, "blank_rows", "repaired"),
    "stamps twice": (edited("time", 900, 8990.0), None, "time_duplicate", "repaired"),
    "time starts again": (shifted(900, -9000), None, "time_reset", "repaired"),
    "a time of day that passes midnight": (
        lines(lambda a: [a[0], *(
            f"{(int(row.split(',')[0][:-2]) // 3600 + 22) % 24:02d}:{int(row.split(',')[0][:-2]) % 3600 // 60:02d}:"
            f"{int(row.split(',')[0][:-2]) % 60:02d},{row.split(',', 1)[1]}" for row in a[1:])]),
        None, "time_midnight", "repaired"),
    "clock and elapsed time apart": (
        clock(stamps("%Y-%m-%d %H:%M:%S", step=11)), None, "clocks_disagree", "warned"),
    "a clock nobody can read beside elapsed time": (clock(["yesterday"] * 1800), None, "date_unreadable", "warned"),
    "only the time within the step": (
        with_column("Step Time / s", [10.0 * (k % 360 + 1) for k in range(1800)], renamed(t="Row")), None,
        "time_from_steps", "warned"),
    "rows missing under current": (without(slice(1200, 1300)), None, "gap", "withheld"),
    "a few rows missing under a steady current": (without(slice(1200, 1215)), None, "gap_bridged", "repaired"),
    "a discharge of three rows": (without([k for k in range(1080, 1440) if k not in (1090, 1200)]), None, "interval_long", "withheld"),
    "the recording hung": (stuck(slice(1200, 1240)), None, "stale_rows", "withheld"),
    "one voltage leaps": (edited("voltage", PLACE, 2.9), None, "spike", "withheld"),
    "one current leaps": (edited("current", PLACE, 50.0), None, "current_spike", "repaired"),
    "one voltage no cell has": (edited("voltage", PLACE, 42.0), None, "spike", "withheld"),
    "the sign in the kind of step": (
        with_column("Step Type", ["rest"] * 360 + ["CC chg"] * 360 + ["rest"] * 360 + ["CC dchg"] * 360 + ["rest"] * 360,
            sound().with_(current=np.abs(sound().current))), None, "sign_from_step", "repaired"),
    "the sign in the counters": (both_counters(), None, "sign_from_counters", "repaired"),
    "discharge counted positive": (
        renamed(i="Current(A)").with_(current=-sound().current).bytes(), None, "sign_from_voltage", "repaired"),
    "a single flat row of rest": (
        renamed(i="Current(A)").with_(current=sound().current * 0 + 1, voltage=sound().voltage * 0 + 3.6).bytes(),
        None, "sign_unknown", "warned"),
    "the kind of step contradicts the current": (with_column("Step Type", ["charge"] * 1800), None, "step_type_contradicted", "withheld"),
    "millivolts under a heading of volts": (sound().with_(voltage=sound().voltage * 1000).bytes(), None, "voltage_unit_slip", "repaired"),
    "volts under a heading of millivolts": (renamed(v="Voltage / mV").bytes(), None, "voltage_unit_slip", "repaired"),
    "a few voltages below zero": (edited("voltage", slice(1430, 1440), -0.2), None, "voltage_negative", "withheld"),
    "no current at all": (sound().with_(current=sound().current * 0).bytes(), None, "no_current", "warned"),
    "power that is none": (
        with_column("Power / W", [f"{2 * v * i:.4f}" for v, i in zip(sound().voltage, sound().current, strict=True)]),
        None, "power_disagrees", "warned"),
    "an open temperature sensor": (edited("degrees", slice(900, 950), 850.0), None, "temperature_impossible", "repaired"),
    "a counter that starts again": (
        with_column("Charge Capacity(Ah)", [f"{k % 200 * 0.00278:.5f}" for k in range(1800)]), None, "counter_resets", "warned"),
    "a counter that counts a tenth too much": (counted(1.1), None, "counter_disagrees", "warned"),
    "a broken cycle count": (with_column("Cycle Count / 1", [6.283185] * 1800), None, "cycle_count", "warned"),
    "a cycle count that falls": (with_column("Cycle Count / 1", [2] * 900 + [1] * 900), None, "cycle_count", "warned"),
    "a step count that leaps": (with_column("Step Count / 1", [1] * 900 + [7] * 900), None, "step_count", "warned"),
}  # fmt: skip


class TestRefused:
    @pytest.mark.parametrize(("content", "stated", "code"), REFUSED.values(), ids=REFUSED.keys())
    def test_with_its_code(self, content, stated, code):
        with pytest.raises(TraceRefused) as refused:
            figures(read(content, stated))
        assert refused.value.code == code
        assert str(refused.value).endswith(".")

    def test_more_than_is_unpacked(self):
        with pytest.raises(TraceRefused) as refused:
            read(packed(SOUND * 40), largest=100_000)
        assert refused.value.code == "unpacked_too_large"

    @pytest.mark.parametrize(("rated", "code"), [(0.001, "current_unit_slip"), (0.000001, "current_impossible")])
    def test_a_current_this_cell_cannot_carry(self, rated, code):
        with pytest.raises(TraceRefused) as refused:
            figures(read(SOUND), Expected(rated_ah=rated))
        assert refused.value.code == code


class TestRemarked:
    @pytest.mark.parametrize(("content", "stated", "code", "verdict"), REMARKED.values(), ids=REMARKED.keys())
    def test_with_its_code_and_what_was_done(self, content, stated, code, verdict):
        found = [(each.code, each.verdict.value) for each in figures(read(content, stated)).remarks]
        assert (code, verdict) in found

    @pytest.mark.parametrize(
        ("expected", "code"),
        [
            (Expected(charge_limit_v=3.65), "voltage_above"),
            (Expected(end_of_discharge_v=3.5), "voltage_below"),
            (Expected(rated_ah=1000.0), "current_unit_slip"),
        ],
    )
    def test_what_is_known_of_the_cell(self, expected, code):
        assert code in {each.code for each in figures(read(SOUND), expected).remarks}


def test_a_sound_file_has_nothing_to_remark_but_that_its_rows_are_10_s_apart():
    assert {each.code for each in figures(read(SOUND)).remarks} == {"step_start_unknown"}


def test_a_first_row_that_comes_late_states_what_may_be_missing():
    # Four of the rows of 10 s are gone: 50 s at 1 A are 0.0139 Ah.
    late = [each for each in figures(read(without(slice(1080, 1084)))).remarks if each.code == "step_start_unknown"]
    assert any("0.0139 Ah" in each.message for each in late)


def test_every_problem_has_a_hostile_file():
    elsewhere = {"unpacked_too_large", "voltage_above", "voltage_below", "step_start_used", "step_start_unknown"}
    tried = {code for *_, code in REFUSED.values()} | {code for *_, code, _ in REMARKED.values()} | elsewhere
    assert {problem.value for problem in Problem} == tried
    assert len(tried) >= 40


@pytest.mark.parametrize("doubt", ["rows missing under current", "the recording hung", "one voltage leaps"])
def test_doubted_rows_withhold_the_capacity(doubt):
    assert figures(read(SOUND)).capacity_tests
    found = figures(read(REMARKED[doubt][0]))
    assert not found.capacity_tests
    assert any(step.flow == "discharge" and step.doubts for step in found.steps)


def test_repaired_files_give_the_same_charge():
    plain = discharged(SOUND)
    assert plain == pytest.approx(1.0 * 359 / 360, rel=1e-3)
    for what in ("the names again in the middle", "remarks between the rows", "discharge counted positive",
                 "millivolts under a heading of volts", "a few rows missing under a steady current",
                 "the sign in the kind of step", "zero bytes at the end"):  # fmt: skip
        assert discharged(REMARKED[what][0]) == pytest.approx(plain, rel=1e-3), what


def discharged(content):
    return sum(step.capacity_ah for step in figures(read(content)).steps if step.flow == "discharge")


def test_the_proposal_does_not_read_the_rest():
    assert propose(SOUND).layout.sign is CurrentSign.CHARGE_POSITIVE


assert CHARGE.stop < DISCHARGE.start
