"""The published data sets as the reader gets them."""

import os
from functools import cache
from io import StringIO
from pathlib import Path

import numpy as np
import pytest

from packs.traces import Column, ColumnLayout, CurrentSign, Role, figures, read

DATA = Path(os.environ.get("SHARED_DATA", Path(__file__).resolve().parents[4] / "shared" / "data"))

BDF = "bdf/SINTEF__G20M7-202512-Gru6mV__20251228__C30__25degC__Neware.bdf.csv"
M50T = "m50t/TESTCELL0001-B2-2025-M50T_NewareNDA_Investigation.parquet"
LEAF_1C = "ornl-leaf/1C-Discharge-Bitrode-data.csv"
LEAF_CYCLES = "ornl-leaf/NissanLeaf-cell-Cycling-10C-24C-40C.csv"
LEAF_HPPC = "ornl-leaf/NissanLeaf-cell-Low-Current-HPPC-25C-2.csv"
LFP = "calce/7_3_13_1C_Cycle.csv"

# No names in the file: shared/data/README.md, section 1, gives the columns in their order.
WITHOUT_NAMES = ColumnLayout(
    name="no names",
    columns=(
        Column(Role.TIME, 2, "s"),
        Column(Role.STEP_ID, 7),
        Column(Role.STEP_TIME, 8, "s"),
        Column(Role.CURRENT, 9, "A"),
        Column(Role.VOLTAGE, 10, "V"),
        Column(Role.POWER, 11, "W"),
        Column(Role.CAPACITY, 12, "Ah"),
        Column(Role.ENERGY, 13, "Wh"),
        Column(Role.STEP_TYPE, 14),
    ),
    header_lines=0,
    sign=CurrentSign.CHARGE_POSITIVE,
)


def path(name):
    found = DATA / name
    if not found.exists():
        pytest.skip(f"{found} is not there; SHARED_DATA names the folder of measured data")
    return found


@cache
def trace(name, layout=None):
    return read(path(name), layout)


@cache
def known(name, layout=None, expected=None):
    return figures(trace(name, layout), expected)


def step(found, number):
    return found.steps[number - 1]


def discharges(found):
    return [each for each in found.steps if each.flow == "discharge"]


@cache
def _matlab(name):
    from scipy.io import loadmat

    return next(
        value for key, value in loadmat(path(f"lgm50/{name}.mat"), simplify_cells=True).items() if key[0] != "_"
    )


def pulse(temperature, soc, cell):
    """One pulse file of the 24 cells as the text a tester would write."""
    data = _matlab("LGM50_5Ah_Pulse")[f"T{temperature}"][f"SoC{soc}"][f"Cell{cell}"]["data"]
    text = StringIO()
    text.write("Status,Step,Step Time / s,Test Time / s,Voltage / V,Current / A,Temperature / degC\n")
    columns = (data[key] for key in ("Step", "StepTime", "ProgTime", "Voltage", "Current", "LogTemp001"))
    for status, *values in zip(str(data["Status"]), *columns, strict=True):
        text.write(",".join([status, *(repr(float(value)) for value in values)]) + "\n")
    return figures(read(text.getvalue().encode()))


def rate_test(temperature, rate):
    """One rate test, first discharge and what follows; it has no steps of its own."""
    data = _matlab("LGM50_5Ah_RateTest")[f"T{temperature}"][f"cRate_{rate}"]
    table = np.column_stack([data[key] for key in ("timeVec", "currVec", "volVec", "cellTemp_mid")])
    text = StringIO()
    text.write("Test Time / s,Current / A,Voltage / V,Surface Temperature / degC\n")
    np.savetxt(text, table, delimiter=",", fmt="%.17g")
    return figures(read(text.getvalue().encode()))
