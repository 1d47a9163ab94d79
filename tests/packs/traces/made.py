"""Made-up tester files: one sound test, and what can be done to it."""

import gzip
from dataclasses import dataclass, replace
from io import BytesIO

import numpy as np

HEADER = "Test Time / s,Current / A,Voltage / V,Surface Temperature / degC"


@dataclass(frozen=True)
class Made:
    """A test as columns; a cell of 1 Ah at 50 mΩ, charged with 1 A and held at 4.15 V, discharged to 3.25 V."""

    header: str
    time: np.ndarray
    current: np.ndarray
    voltage: np.ndarray
    degrees: np.ndarray

    def rows(self):
        columns = (self.time, self.current, self.voltage, self.degrees)
        return [f"{t:.1f},{i:.4f},{v:.4f},{d:.1f}" for t, i, v, d in zip(*columns, strict=True)]

    def text(self, *, end="\n"):
        return "\n".join([self.header, *self.rows()]) + end

    def bytes(self):
        return self.text().encode()

    def with_(self, **columns):
        return replace(self, **columns)


def sound():
    """A rest, a charge, a rest and a discharge of an hour each, and a rest; a row every 10 s."""
    count, seed = 360, np.random.default_rng(7)
    ramp = np.linspace(0, 1, count)
    state = np.repeat([0.0, 1.0, 0.0, -1.0, 0.0], count)
    filled = np.minimum(np.arange(count) / 299, 1.0)
    level = np.concatenate([np.zeros(count), filled, np.ones(count), 1 - ramp, np.zeros(count)])
    # The last 60 rows of the charge are held at its voltage: the current falls evenly to 0.1 A.
    state[660:720] = 1 - 0.9 * np.arange(1, 61) / 60
    level[660:720] += 0.05 * (1 - state[660:720]) / 0.8
    current = np.where(state != 0, state + seed.normal(0, 2e-4, len(state)), 0.0)
    voltage = 3.3 + 0.8 * level + 0.05 * current + seed.normal(0, 1e-4, len(state))
    return Made(HEADER, np.arange(len(state)) * 10.0, current, voltage, 25 + 2 * np.abs(state) * level)


CHARGE, REST, DISCHARGE = slice(360, 720), slice(720, 1080), slice(1080, 1440)
# The middle of the discharge.
PLACE = 1260


def edited(column, rows, values):
    """The sound test with some values of one column replaced."""
    made = sound()
    changed = getattr(made, column).copy()
    changed[rows] = values
    return made.with_(**{column: changed}).bytes()


def lines(change):
    """The sound test with its lines changed by a function of their list."""
    return ("\n".join(change(sound().text(end="").split("\n"))) + "\n").encode()


def with_column(name, values, made=None):
    """The sound test with one more column."""
    made = made or sound()
    rows = zip(made.rows(), values, strict=True)
    return "\n".join([f"{made.header},{name}", *(f"{row},{value}" for row, value in rows), ""]).encode()


def packed(content):
    return gzip.compress(content)


def parquet(frame):
    out = BytesIO()
    frame.write_parquet(out)
    return out.getvalue()


def workbook(sheets):
    """A workbook of sheets, each a list of rows."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = BytesIO()
    book.save(out)
    return out.getvalue()
