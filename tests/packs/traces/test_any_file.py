"""Whatever the bytes: a refusal of our own, or a series; and what the quick reader reads, the careful one reads too."""

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from packs.traces import Role, TraceRefused, figures, propose, read
from packs.traces.mending import mend
from packs.traces.numbers import to_numbers
from packs.traces.raw import open_raw
from packs.traces.table import read_table
from tests.packs.traces.made import packed, parquet, sound, workbook

SHORT = b"\n".join(sound().bytes().split(b"\n")[350:380])
SOUND = sound().header.encode() + b"\n" + SHORT + b"\n"
CELL = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.sampled_from(["", "nan", "-", "1,5", "1.5e3", "OVERLOAD", "12:00:01", "2026-03-01 12:00:00", '"', "\x00", "３"]),
    st.text(max_size=5),
)
NAMES = ["Test Time / s", "Current / A", "Voltage / V", "Step Time / s", "Date", "Mode", "Step", "Capacity(mAh)", "x"]


def either(content):
    """Read to the figures; anything but a series or our own refusal fails the test."""
    try:
        found = figures(read(content))
    except TraceRefused:
        return None
    for step in found.steps:
        assert np.isfinite(step.capacity_ah)
        assert step.capacity_ah >= 0
    return found


@given(st.binary(max_size=400))
@example(b"\x1f\x8b")
@example(b"PAR1PAR1")
@example(b"\xff\xfe")
def test_any_bytes(content):
    either(content)


@given(st.text(max_size=400))
def test_any_text(text):
    either(text.encode("utf-8", errors="surrogatepass"))


@given(st.permutations(NAMES), st.lists(st.lists(CELL, min_size=9, max_size=9), max_size=8), st.sampled_from(",;\t|"))
def test_any_table(names, rows, delimiter):
    text = "\n".join(delimiter.join(row) for row in [names, *rows])
    either(text.encode("utf-8", errors="surrogatepass"))


BASES = [SOUND, packed(SOUND), sound().bytes()[:3000]]


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(BASES), st.integers(0, 10**6), st.integers(0, 40), st.binary(max_size=12))
def test_a_sound_file_damaged_at_any_place(base, place, length, put):
    place %= len(base)
    either(base[:place] + put + base[place + length :])


@settings(max_examples=50)
@given(st.integers(0, 10**6), st.integers(0, 40), st.binary(max_size=12))
def test_packed_tables_damaged_at_any_place(place, length, put):
    import polars as pl

    book = workbook({"Data": [line.split(",") for line in SOUND.decode().split("\n")]})
    table = parquet(pl.read_csv(SOUND))
    for base in (book, table):
        at = place % len(base)
        either(base[:at] + put + base[at + length :])


@given(
    st.lists(
        st.tuples(
            st.floats(0, 100).map(lambda gap: round(gap, 3)),
            st.floats(-5, 5).map(lambda amps: round(amps, 4)),
            st.floats(2.5, 4.2).map(lambda volts: round(volts, 4)),
        ),
        min_size=3,
        max_size=40,
    )
)
def test_the_quick_reader_and_the_careful_one_read_the_same(rows):
    stamps = np.round(np.cumsum([gap for gap, _, _ in rows]), 3)
    text = "Test Time / s,Current / A,Voltage / V\n"
    text += "".join(f"{t},{i},{v}\n" for t, (_, i, v) in zip(stamps, rows, strict=True))
    raw, layout = open_raw(text.encode()), propose(text.encode()).layout
    quick = to_numbers(read_table(raw, layout).frame, layout)[0]
    careful = to_numbers(mend(raw, layout, {Role.TIME: 0, Role.CURRENT: 1, Role.VOLTAGE: 2}, 3).frame, layout)[0]
    assert quick.equals(careful)


WRONG = st.one_of(st.floats(-1e6, 1e6), st.floats(-4, 4).map(lambda power: 10**power), st.floats(-60, 60))


# A single value changed in a sound file is found, refused, or changes the charge by no more than the rows it touches.
@settings(max_examples=60)
@given(st.integers(1, 1799), st.sampled_from([0, 1, 2]), WRONG)
def test_one_wrong_value_is_never_a_wrong_charge_without_a_word(row, column, value):
    lines = sound().bytes().decode().split("\n")
    fields = lines[row].split(",")
    fields[column] = repr(value)
    lines[row] = ",".join(fields)
    try:
        found = figures(read("\n".join(lines).encode()))
    except TraceRefused:
        return
    plain = figures(read(sound().bytes()))
    for quantity in ("charge", "discharge"):
        ours, right = (sum(step.capacity_ah for step in each.steps if step.flow == quantity) for each in (found, plain))
        spoken = {each.code for each in found.remarks} - {"step_start_unknown"}
        assert spoken or ours == pytest.approx(right, abs=0.01 * right)
