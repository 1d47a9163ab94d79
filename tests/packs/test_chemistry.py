"""Limits by chemistry against what makers and standards print; each id names where the number stands."""

import csv
from math import exp
from pathlib import Path

import pytest

from packs.chemistry import LIMIT_NAMES, limits
from packs.errors import MissingFact
from packs.sources import COMMON_PRACTICE, SOURCES
from packs.terms import LITHIUM_ION, Chemistry

KNOWN = sorted(set(Chemistry) - {Chemistry.UNKNOWN})
FOUR_TWO = (Chemistry.LCO, Chemistry.NMC, Chemistry.NCA, Chemistry.LMO)

PRINTED = [
    *(
        pytest.param(chemistry, name, value, id=f"{chemistry}-{name}-{source}")
        for chemistry in FOUR_TWO
        for name, value, source in (
            ("charge_limit", 4.20, "18650-specification"),
            ("end_of_discharge", 3.0, "18650-specification"),
            ("precharge_below", 3.0, "18650-specification-8-1"),
            ("precharge_rate", 0.1, "18650-specification-8-1-0.1-It"),
            ("reject_below", 2.0, "18650-specification"),
            ("charge_temperature_low", 10.0, "JEITA-2007"),
            ("charge_temperature_high", 45.0, "JEITA-2007"),
        )
    ),
    pytest.param(Chemistry.LFP, "charge_limit", 3.65, id="lfp-cell-maker-guide-3.60-to-3.65"),
    pytest.param(Chemistry.LFP, "end_of_discharge", 2.5, id="lfp-cell-maker-guide-3.65-over-2.5"),
    pytest.param(Chemistry.LFP, "precharge_below", 2.0, id="lfp-cell-specification-0.1C-below-2.0"),
    pytest.param(Chemistry.LFP, "precharge_rate", 0.1, id="lfp-cell-specification-0.1C"),
    pytest.param(Chemistry.NIMH, "charge_temperature_high", 45.0, id="nimh-from-memory"),
    pytest.param(Chemistry.LFP, "reject_below", 2.0, id="lfp-reject-common-practice-no-source"),
    pytest.param(Chemistry.LFP, "charge_temperature_low", 15.0, id="lfp-cell-specification-0.5C-from-15"),
    pytest.param(Chemistry.LFP, "charge_temperature_high", 45.0, id="lfp-cell-specification-0.5C-to-45"),
    pytest.param(Chemistry.LTO, "nominal_voltage", 2.3, id="lto-cell-data-sheet"),
    pytest.param(Chemistry.LTO, "charge_limit", 2.7, id="lto-from-memory-2.7-to-2.8"),
    pytest.param(Chemistry.LTO, "end_of_discharge", 1.5, id="lto-from-memory"),
    pytest.param(Chemistry.NIMH, "nominal_voltage", 1.2, id="nimh-from-memory"),
    pytest.param(Chemistry.NIMH, "end_of_discharge", 1.0, id="nimh-IEC-61951-2-to-1.0-V"),
    pytest.param(Chemistry.NICD, "end_of_discharge", 1.0, id="nicd-IEC-61951-1-from-memory"),
]


@pytest.mark.parametrize(("chemistry", "name", "expected"), PRINTED)
def test_a_limit_is_the_printed_one(chemistry: Chemistry, name: str, expected: float) -> None:
    unit = "degC" if "temperature" in name else "1/hour" if name.endswith("rate") else "V"
    assert limits(chemistry).require(name).to(unit).magnitude == pytest.approx(expected)


@pytest.mark.parametrize("chemistry", KNOWN)
def test_every_value_has_a_source_and_every_source_a_value(chemistry: Chemistry) -> None:
    found = limits(chemistry)
    given = {name for name in LIMIT_NAMES if getattr(found, name) is not None}
    assert given == set(found.sources)
    assert given <= found.applies <= LIMIT_NAMES
    assert found.chemistry is chemistry


@pytest.mark.parametrize("chemistry", KNOWN)
def test_limits_stand_in_their_physical_order(chemistry: Chemistry) -> None:
    """A cell is rejected below its precharge line, stored above its end of discharge, charged above its nominal."""
    order = (
        ("reject_below", "precharge_below", "storage_low", "storage_high", "charge_limit"),
        ("end_of_discharge", "storage_low", "storage_high", "charge_limit"),
        ("reject_below", "end_of_discharge", "nominal_voltage", "charge_limit"),
        ("charge_temperature_low", "charge_temperature_high"),
    )
    for names in order:
        values = [getattr(limits(chemistry), name) for name in names]
        known = [value.magnitude for value in values if value is not None]
        assert known == sorted(known), names


@pytest.mark.parametrize("chemistry", FOUR_TWO)
def test_a_charge_limit_leaves_the_tolerance_of_the_upper_limit(chemistry: Chemistry) -> None:
    """JEITA/BAJ guideline (2007): 4.25 V is the upper limit charging voltage, 4.20 V and 0.05 V of tolerance."""
    assert limits(chemistry).require("charge_limit").to("V").magnitude + 0.05 <= 4.25 + 1e-9


def test_an_unknown_chemistry_has_no_limits() -> None:
    with pytest.raises(MissingFact):
        limits(Chemistry.UNKNOWN)


@pytest.mark.parametrize(
    "name", ["charge_limit", "precharge_below", "precharge_rate", "reject_below", "storage_low", "storage_high"]
)
@pytest.mark.parametrize("chemistry", [Chemistry.NIMH, Chemistry.NICD])
def test_nickel_cells_are_not_charged_to_a_voltage(chemistry: Chemistry, name: str) -> None:
    """Data sheet of a nickel fast-charge controller: a charge of nickel cells ends on a falling voltage, on temperature or on time."""
    assert name not in limits(chemistry).applies
    with pytest.raises(MissingFact, match="does not apply"):
        limits(chemistry).require(name)


@pytest.mark.parametrize(
    ("chemistry", "name"),
    [
        (Chemistry.LTO, "precharge_below"),
        (Chemistry.LTO, "reject_below"),
        (Chemistry.LTO, "charge_temperature_high"),
        (Chemistry.LMO, "storage_low"),
        (Chemistry.LTO, "precharge_rate"),
    ],
)
def test_what_no_source_gives_stays_unknown(chemistry: Chemistry, name: str) -> None:
    with pytest.raises(MissingFact, match="is not known"):
        limits(chemistry).require(name)


def test_every_lithium_limit_applies() -> None:
    assert {limits(chemistry).applies for chemistry in LITHIUM_ION} == {LIMIT_NAMES}


def test_sources_say_how_well_they_attest() -> None:
    assert str(SOURCES["practice"]) == COMMON_PRACTICE
    assert {key for key, source in SOURCES.items() if not source.title} == {"practice", "memory"}
    for source in SOURCES.values():
        assert str(source.evidence) in str(source)


@pytest.mark.parametrize(("charge", "name"), [(0.30, "storage_low"), (0.50, "storage_high")])
def test_lco_is_stored_where_its_published_curve_says(charge: float, name: str) -> None:
    """Rest voltage curve of IEEE Trans. Energy Convers. 21 (2006) 504, to 1 mV."""
    curve = -1.031 * exp(-35 * charge) + 3.685 + 0.2156 * charge - 0.1178 * charge**2 + 0.3201 * charge**3
    assert limits(Chemistry.LCO).require(name).to("V").magnitude == pytest.approx(curve, abs=1e-3)


@pytest.mark.data
@pytest.mark.parametrize(("percent", "name"), [("30", "storage_low"), ("50", "storage_high")])
def test_nmc_is_stored_near_a_measured_curve(shared_data: Path, percent: str, name: str) -> None:
    """Measured rest voltages of 5 Ah NMC cells at 25 °C (LGM50 data set); cells of a class differ by some 50 mV."""
    with (shared_data / "lgm50" / "lgm50_measured_ocv_25C.csv").open(newline="") as table:
        measured = {row["soc_pct"]: float(row["mean_ocv_v"]) for row in csv.DictReader(table)}
    assert limits(Chemistry.NMC).require(name).to("V").magnitude == pytest.approx(measured[percent], abs=0.05)
