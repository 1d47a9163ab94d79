"""Wire, strip, heating and fusing against printed tables and against each other; each id names where a number stands.

ASTM B258 and IEC constants: as quoted elsewhere. Tolerances are those of the printed digits, or the stated ones.
"""

from dataclasses import replace
from math import isinf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from packs.conductors import (
    COVERED,
    OPEN,
    PERMITTED_RISE,
    Conductor,
    Load,
    Surface,
    WireMetal,
    adiabatic_constant,
    adiabatic_current,
    adiabatic_rise,
    adiabatic_time,
    awg_area,
    awg_diameter,
    current_by_ends,
    current_by_surface,
    drop,
    loss,
    narrowest_strip,
    onderdonk_current,
    onderdonk_time,
    preece_current,
    preece_diameter,
    preece_metal,
    resistance,
    rise_by_ends,
    rise_by_surface,
    smallest_gauge,
    smallest_strip,
    smallest_wire,
    steady_rise,
    strip,
    wire,
)
from packs.errors import ImpossibleValue, MissingFact
from packs.layout import StripSection
from packs.materials import METALS, Metal, metal, resistivity_at
from packs.sources import SOURCES
from packs.terms import StripMaterial
from packs.units import Kind, Quantity, parse, parse_section, ureg

COPPER, NICKEL_200 = metal(StripMaterial.COPPER), metal(StripMaterial.NICKEL_200)


def q(number: float, unit: str) -> Quantity:
    return ureg.Quantity(number, unit)


def number(quantity: Quantity | None, unit: str) -> float:
    assert quantity is not None
    return float(quantity.to(unit).magnitude)


def of_resistivity(ohm_metres: float, coefficient: float, base: Metal = NICKEL_200) -> Metal:
    return replace(base, resistivity=q(ohm_metres, "ohm*m"), temperature_coefficient=q(coefficient, "1/K"))


# --- American wire gauge ---------------------------------------------------------------------------------------------

# HyperPhysics, "American Wire Gauge" table (after Floyd, Electric Circuit Fundamentals), Ω/1000 ft at 20 °C; 0.1 %.
HYPERPHYSICS = {6: 0.3951, 8: 0.6282, 10: 0.9989, 12: 1.588, 14: 2.525, 16: 4.016, 18: 6.385, 20: 10.15, 22: 16.14,
                24: 25.67}  # fmt: skip
# A printed AWG copper table, Ω/km; 0.1 %.
PRINTED_PER_KM = {10: 3.28, 12: 5.21, 14: 8.28, 16: 13.17, 18: 20.94, 20: 33.29, 22: 52.94, 24: 84.20, 26: 133.86,
                  28: 212.87, 30: 338.50}  # fmt: skip
# The same table, mm and mm²; to the last digit printed.
PRINTED_SIZES = {10: (2.59, 5.26, 0.005), 15: (1.45, 1.65, 0.005), 20: (0.812, 0.518, 0.0005),
                 24: (0.511, 0.205, 0.0005), 30: (0.255, 0.0509, 0.0005)}  # fmt: skip


@pytest.mark.parametrize(("gauge", "ohms"), HYPERPHYSICS.items())
def test_wire_resists_what_hyperphysics_prints(gauge: int, ohms: float) -> None:
    assert number(resistance(wire(awg_area(gauge), q(1000, "ft"))), "ohm") == pytest.approx(ohms, rel=1e-3)


@pytest.mark.parametrize(("gauge", "ohms"), PRINTED_PER_KM.items())
def test_wire_resists_what_a_printed_table_says(gauge: int, ohms: float) -> None:
    assert number(resistance(wire(awg_area(gauge), q(1, "km"))), "ohm") == pytest.approx(ohms, rel=1e-3)


@pytest.mark.parametrize(("gauge", "sizes"), PRINTED_SIZES.items())
def test_wire_measures_what_a_printed_table_says(gauge: int, sizes: tuple[float, float, float]) -> None:
    millimetres, square, digit = sizes
    assert number(awg_diameter(gauge), "mm") == pytest.approx(millimetres, abs=digit)
    assert number(awg_area(gauge), "mm**2") == pytest.approx(square, abs=digit)


def test_the_fixed_points_of_the_gauge() -> None:
    """NBS Handbook 100 and ASTM B258: 36 AWG = 0.0050 in, 0000 AWG = 0.4600 in, in 39 steps of a ratio of 92."""
    assert number(awg_diameter(36), "inch") == pytest.approx(0.0050, rel=1e-12)
    assert number(awg_diameter(-3), "inch") == pytest.approx(0.4600, rel=1e-12)


def test_ten_gauges_are_about_a_factor_of_ten() -> None:
    """From the definition of the gauge: 92^(20/39) = 10.164."""
    ratio = resistance(wire(awg_area(24), q(1, "m"))) / resistance(wire(awg_area(14), q(1, "m")))
    assert number(ratio, "") == pytest.approx(10.164, abs=5e-4)


@pytest.mark.parametrize("gauge", [-4, 41])
def test_there_is_no_such_gauge(gauge: int) -> None:
    with pytest.raises(ImpossibleValue):
        awg_diameter(gauge)


def test_typed_wire_sizes_are_the_same_wires() -> None:
    assert parse("AWG 14", Kind.AREA).to("mm**2").magnitude == pytest.approx(number(awg_area(14), "mm**2"), rel=1e-12)


# --- Metals ----------------------------------------------------------------------------------------------------------


def test_commercial_nickel_resists_38_percent_more_than_pure() -> None:
    """Special Metals SMC-061: 58 Ω·cmil/ft; a maker's data sheet of nickel of 99.98 %: 7 µΩ·cm."""
    per_cmil_foot = q(58, "ohm*cmil/ft").to("ohm*m")
    assert number(NICKEL_200.resistivity, "ohm*m") == pytest.approx(number(per_cmil_foot, "ohm*m"), rel=2e-3)
    ratio = NICKEL_200.resistivity / metal(StripMaterial.NICKEL_999).resistivity
    assert number(ratio, "") == pytest.approx(1.38, abs=0.005)


def test_resistivity_of_nickel_200_when_hot() -> None:
    """Special Metals SMC-061, table 3: 12.6 µΩ·cm at 93 °C."""
    assert number(resistivity_at(NICKEL_200, q(93, "degC")), "ohm*m") == pytest.approx(12.6e-8, rel=0.01)


@pytest.mark.parametrize(("celsius", "ohm_metres"), [(75, 2.0968e-8), (25, 1.7580e-8)])
def test_resistivity_of_copper_when_warm(celsius: float, ohm_metres: float) -> None:
    """IEC 60287-1-1: 1.7241e-8 Ω·m at 20 °C and 0.00393 /K, worked out to five digits."""
    assert number(resistivity_at(COPPER, q(celsius, "degC")), "ohm*m") == pytest.approx(ohm_metres, abs=5e-13)


def test_copper_is_58_megasiemens_per_metre() -> None:
    """IEC 60028: annealed copper has 1/58 Ω·mm²/m; 0.15328 Ω·g/m² at 8.89 g/cm³ is the same."""
    assert number(COPPER.resistivity, "ohm*mm**2/m") == pytest.approx(1 / 58, rel=3e-5)
    assert number(COPPER.resistivity * COPPER.density, "ohm*g/m**2") == pytest.approx(0.15328, rel=2e-4)


@pytest.mark.parametrize("material", StripMaterial)
def test_every_value_of_a_metal_names_its_source(material: StripMaterial) -> None:
    of = METALS[material]
    names = set(vars(of)) - {"material", "sources"}
    assert set(of.sources) == names
    assert set(of.sources.values()) <= set(SOURCES.values())


def test_no_metal_conducts_beyond_its_melting_point() -> None:
    with pytest.raises(ImpossibleValue):
        resistivity_at(metal(StripMaterial.ALUMINIUM), q(700, "degC"))
    with pytest.raises(ImpossibleValue):
        resistivity_at(COPPER, q(float("nan"), "degC"))


# --- Resistance of strip ---------------------------------------------------------------------------------------------

# ρ·L/(w·t) for 20 mm at 20 °C, worked out to the digits shown (Ohm's law): nickel 6.93e-8 (CRC), nickel 200 9.64e-8
# (SMC-061), steel 14.3e-8 Ω·m (SAE 1010).
STRIPS = [
    ("0.15 x 8 mm", 1.1550, 1.6067, 2.3833),
    ("0.20 x 8 mm", 0.8663, 1.2050, 1.7875),
    ("0.10 x 5 mm", 2.7720, 3.8560, 5.7200),
    ("0.30 x 10 mm", 0.4620, 0.6427, 0.9533),
]


@pytest.mark.parametrize(("typed", "pure", "commercial", "steel"), STRIPS)
def test_strip_resists_by_its_metal(typed: str, pure: float, commercial: float, steel: float) -> None:
    section = StripSection(width=parse_section(typed).width, thickness=parse_section(typed).thickness)
    metals = of_resistivity(6.93e-8, 0.006), NICKEL_200, metal(StripMaterial.PLATED_STEEL)
    ohms = [number(resistance(strip(of, section, q(20, "mm"))), "mohm") for of in metals]
    assert ohms == pytest.approx([pure, commercial, steel], abs=5e-5)


EIGHT = StripSection(q(8, "mm"), q(0.15, "mm"))
LINK = strip(NICKEL_200, EIGHT, q(20, "mm"))


def test_drop_and_loss_of_a_link() -> None:
    """Ohm's and Joule's laws for 1.6067 mΩ at 7.2 A: 11.57 mV, 83.3 mW."""
    assert number(drop(LINK, q(7.2, "A")), "mV") == pytest.approx(11.57, abs=0.005)
    assert number(loss(LINK, q(-7.2, "A")), "mW") == pytest.approx(83.3, abs=0.05)


# --- Lasting heat ----------------------------------------------------------------------------------------------------

# ΔT = I²·R'/(h·p − I²·R'·α), h = 10 W/(m²·K) all round at 20 °C: K at 5, 7.2 and 10 A, A for 30 K, and A for 30 K
# with h = 5 on half the perimeter. Newton's law of cooling, worked out to the digits shown.
LONG = [
    pytest.param("0.15 x 8 mm", 6.93e-8, 0.006, 9.35, 20.64, 44.99, 8.47, 4.24, id="nickel-6.93"),
    pytest.param("0.15 x 8 mm", 9.64e-8, 0.0043, 13.01, 28.70, 62.54, 7.34, 3.67, id="nickel-200"),
    pytest.param("0.15 x 8 mm", 14.3e-8, 0.003, 19.34, 42.76, 93.65, 6.14, 3.07, id="steel"),
    pytest.param("0.20 x 8 mm", 9.64e-8, 0.0043, 9.56, 20.74, 43.63, 8.50, 4.25, id="thicker"),
    pytest.param("0.10 x 5 mm", 9.64e-8, 0.0043, 59.31, 169.3, 1010, 3.75, 1.87, id="narrow"),
    pytest.param("0.30 x 10 mm", 9.64e-8, 0.0043, 3.97, 8.38, 16.72, 13.05, 6.53, id="wide"),
]


@pytest.mark.parametrize(("typed", "rho", "alpha", "five", "seven", "ten", "thirty", "covered"), LONG)
def test_a_long_strip_is_cooled_by_its_surface(
    typed: str, rho: float, alpha: float, five: float, seven: float, ten: float, thirty: float, covered: float
) -> None:
    typed_section = parse_section(typed)
    long = strip(of_resistivity(rho, alpha), StripSection(typed_section.width, typed_section.thickness), q(1, "m"))
    rises = [number(rise_by_surface(long, q(amps, "A"), OPEN), "delta_degC") for amps in (5, 7.2, 10)]
    assert rises == pytest.approx([five, seven, ten], rel=1.3e-3)
    assert number(current_by_surface(long, q(30, "K"), OPEN), "A") == pytest.approx(thirty, abs=0.005)
    assert number(current_by_surface(long, q(30, "K"), COVERED), "A") == pytest.approx(covered, abs=0.0051)


def test_no_single_current_density_suits_all_strips() -> None:
    """A/mm² for 30 K falls with the section: 7.50 at 0.5 mm², 4.35 at 3 mm² (same formula)."""
    densities = []
    for typed in ("0.1 x 5 mm", "0.3 x 10 mm"):
        section = parse_section(typed)
        long = strip(NICKEL_200, StripSection(section.width, section.thickness), q(1, "m"))
        densities.append(number(current_by_surface(long, q(30, "K"), OPEN) / long.area, "A/mm**2"))
    assert densities == pytest.approx([7.50, 4.35], abs=0.005)


@pytest.mark.parametrize(("amps", "kelvins"), [(5, 1.195), (10, 4.782), (20, 19.13)])
def test_a_short_link_is_cooled_by_its_ends(amps: float, kelvins: float) -> None:
    """Fourier's law with constant resistivity: I²ρL²/(8kA²), nickel 200 with k = 70, worked out to the digits shown."""
    of = replace(of_resistivity(9.64e-8, 1e-9), conductivity=q(70, "W/m/K"))
    rise = rise_by_ends(strip(of, EIGHT, q(20, "mm")), q(amps, "A"))
    assert number(rise, "delta_degC") == pytest.approx(kelvins, abs=0.005 if amps == 20 else 0.0005)


@pytest.mark.parametrize(("amps", "millimetres", "celsius"), [(20, 20, 20), (30, 20, 45), (15, 40, 0)])
def test_a_short_link_whose_resistance_rises_with_its_heat(amps: float, millimetres: float, celsius: float) -> None:
    """k·A·T'' + I²·R'(T) = 0 between ends at one temperature, solved numerically beside the closed form."""
    area, length, room = 1.2e-6, millimetres / 1000, celsius - 20

    def slope(_: object, state: np.ndarray) -> np.ndarray:
        heat = amps**2 * 9.64e-8 / area * (1 + 0.0043 * (room + state[0]))
        return np.stack([state[1], -heat / (70.2 * area)])

    at = np.linspace(0, length, 41)
    solved = solve_bvp(slope, lambda here, there: np.array([here[0], there[0]]), at, np.zeros((2, 41)), tol=1e-8)
    link = strip(NICKEL_200, EIGHT, q(millimetres, "mm"))
    rise = rise_by_ends(link, q(amps, "A"), q(celsius, "degC"))
    assert number(rise, "delta_degC") == pytest.approx(float(solved.sol(length / 2)[0]), rel=1e-6)


@pytest.mark.parametrize(
    "model", [lambda amps: rise_by_surface(LINK, amps, OPEN), lambda amps: rise_by_ends(LINK, amps)]
)
def test_beyond_some_current_a_strip_never_comes_to_rest(model: object) -> None:
    assert model(q(5, "A")) is not None  # type: ignore[operator]
    assert model(q(500, "A")) is None  # type: ignore[operator]


def test_a_strip_that_would_be_hotter_than_its_melting_point_has_no_rise() -> None:
    """By the formula 5 × 0.1 mm at 10.2 A would come to rest above 1435 °C, where nickel 200 melts (SMC-061)."""
    narrow = strip(NICKEL_200, StripSection(q(5, "mm"), q(0.1, "mm")), q(1, "m"))
    assert rise_by_surface(narrow, q(10.7, "A"), OPEN) is None


AMPS = st.floats(0.1, 6)
SIZES = st.tuples(st.floats(4, 30), st.floats(0.1, 1))


@given(amps=AMPS, sizes=SIZES, celsius=st.floats(0, 45), material=st.sampled_from(StripMaterial))
def test_rise_and_current_are_one_relation(
    amps: float, sizes: tuple[float, float], celsius: float, material: StripMaterial
) -> None:
    link = strip(metal(material), StripSection(*(q(size, "mm") for size in sizes)), q(20, "mm"))
    air = q(celsius, "degC")
    rises = steady_rise(link, q(amps, "A"), OPEN, air)
    if rises.by_surface is not None:
        again = current_by_surface(link, rises.by_surface, OPEN, air)
        assert number(again, "A") == pytest.approx(amps, rel=1e-9)
    if rises.by_ends is not None:
        assert number(current_by_ends(link, rises.by_ends, air), "A") == pytest.approx(amps, rel=1e-6)


@given(amps=AMPS, sizes=SIZES, layers=st.integers(1, 4))
def test_layers_share_the_current(amps: float, sizes: tuple[float, float], layers: int) -> None:
    width, thickness = (q(size, "mm") for size in sizes)
    many = strip(NICKEL_200, StripSection(width, thickness), q(20, "mm"), layers=layers)
    one = strip(NICKEL_200, StripSection(width, layers * thickness), q(2, "cm"))
    assert number(loss(many, q(amps, "A")), "W") == pytest.approx(
        number(loss(one, q(1000 * amps, "mA")), "W"), rel=1e-9
    )
    assert number(many.perimeter, "mm") == pytest.approx(number(one.perimeter, "mm"), rel=1e-12)


@given(factor=st.floats(0.1, 10), amps=AMPS)
def test_scaling_of_resistance_and_of_small_rises(factor: float, amps: float) -> None:
    longer = strip(NICKEL_200, EIGHT, factor * q(20, "mm"))
    assert number(resistance(longer), "ohm") == pytest.approx(factor * number(resistance(LINK), "ohm"), rel=1e-12)
    small = rise_by_ends(LINK, q(amps / 100, "A"))
    scaled = rise_by_ends(longer, q(amps / 100, "A"))
    assert number(scaled, "delta_degC") == pytest.approx(factor**2 * number(small, "delta_degC"), rel=1e-3)


# --- Short currents --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("material", "printed", "tolerance"),
    [
        pytest.param(StripMaterial.COPPER, 226, 0.0, id="IEC-60949-copper"),
        pytest.param(StripMaterial.ALUMINIUM, 148, 0.0, id="IEC-60949-aluminium"),
        pytest.param(StripMaterial.NICKEL_200, 98.9, 0.1, id="IEC-60949-formula-nickel-200"),
        # The standard's steel (13.8e-8, 3.8e6) has 78; SAE 1010 resists more and holds less heat.
        pytest.param(StripMaterial.PLATED_STEEL, 78, 4.5, id="IEC-60949-steel"),
    ],
)
def test_adiabatic_constants(material: StripMaterial, printed: float, tolerance: float) -> None:
    constant = number(adiabatic_constant(metal(material)), "A*s**0.5/mm**2")
    assert constant == pytest.approx(printed, abs=tolerance + 1e-9)


@pytest.mark.parametrize(("of", "printed"), [(COPPER, 226), (metal(StripMaterial.ALUMINIUM), 148)])
def test_the_formula_of_the_constant_gives_what_the_standard_prints(of: Metal, printed: float) -> None:
    """IEC 60949: K = √(Qc(β + 20)/ρ) of its own constants is 225.67 and 148.11. A copy has no printed constant."""
    assert number(adiabatic_constant(replace(of)), "A*s**0.5/mm**2") == pytest.approx(printed, rel=2e-3)


MILS, FIVE, ROOM_25 = q(2581, "cmil"), q(5, "s"), q(25, "degC")


def test_onderdonk_with_the_right_sign() -> None:
    """Onderdonk's equation for 2581 cmil, 5 s, 25 °C: 168.86 A; a copy with 234 − 25 gives 178."""
    assert number(onderdonk_current(MILS, FIVE, ROOM_25), "A") == pytest.approx(168.86, abs=0.005)


@pytest.mark.parametrize("gauge", [10, 20, 24, 30])
@pytest.mark.parametrize("seconds", [0.1, 1, 5])
def test_iec_60949_and_onderdonk_agree(gauge: int, seconds: float) -> None:
    """Two sources of the same physics, copper to 1083 °C: within 0.5 %."""
    area, time = awg_area(gauge), q(seconds, "s")
    standard = adiabatic_current(COPPER, area, time, q(1083, "degC"), ROOM_25)
    assert number(standard, "A") == pytest.approx(number(onderdonk_current(area, time, ROOM_25), "A"), rel=5e-3)


ONDERDONK = {10: (4803, 1519, 679), 20: (472.6, 149.5, 66.8), 24: (186.9, 59.1, 26.4), 30: (46.5, 14.7, 6.58)}


@pytest.mark.parametrize(("gauge", "amps"), ONDERDONK.items())
def test_onderdonk_by_gauge(gauge: int, amps: tuple[float, float, float]) -> None:
    """Onderdonk's equation at 25 °C for 0.1, 1 and 5 s, worked out to the digits shown."""
    found = [number(onderdonk_current(awg_area(gauge), q(s, "s"), ROOM_25), "A") for s in (0.1, 1, 5)]
    assert found == pytest.approx(amps, rel=1.9e-3)


@pytest.mark.parametrize(
    ("of", "amps", "seconds"),
    [(NICKEL_200, 50, 0.77), (NICKEL_200, 100, 0.19), (NICKEL_200, 200, 0.048), (COPPER, 50, 3.72), (COPPER, 100, 0.93),
     (COPPER, 200, 0.23)],
)  # fmt: skip
def test_how_long_a_strip_of_1_2_mm2_stands(of: Metal, amps: float, seconds: float) -> None:
    """IEC 60949 from 25 to 60 °C, worked out to the digits shown; nickel by the same formula."""
    time = adiabatic_time(of, q(1.2, "mm**2"), q(amps, "A"), q(60, "degC"), ROOM_25)
    assert number(time, "s") == pytest.approx(seconds, rel=0.03)
    assert number(time, "s") == pytest.approx(seconds, abs=0.006)


@given(
    amps=st.floats(1, 1000), area=st.floats(0.5, 50), end=st.floats(30, 600), material=st.sampled_from(StripMaterial)
)
def test_rise_time_and_current_are_one_relation(amps: float, area: float, end: float, material: StripMaterial) -> None:
    of, section, current = metal(material), q(area, "mm**2"), q(amps, "A")
    time = adiabatic_time(of, section, current, q(end, "degC"))
    assert number(adiabatic_current(of, section, time, q(end, "degC")), "A") == pytest.approx(amps, rel=1e-9)
    assert number(adiabatic_rise(of, section, current, time), "delta_degC") == pytest.approx(end - 20, rel=1e-6)
    half = adiabatic_time(of, section, 2 * current, q(end, "degC"))
    assert number(time / half, "") == pytest.approx(4, rel=1e-9)


def test_what_melts_has_no_rise() -> None:
    assert isinf(number(adiabatic_rise(NICKEL_200, q(1.2, "mm**2"), q(1000, "A"), q(1, "s")), "delta_degC"))


@pytest.mark.parametrize(
    "broken",
    [
        lambda: adiabatic_time(COPPER, q(1, "mm**2"), q(0, "A"), q(60, "degC")),
        lambda: adiabatic_time(COPPER, q(1, "mm**2"), q(5, "A"), q(20, "degC")),
        lambda: adiabatic_current(COPPER, q(0, "mm**2"), q(5, "s"), q(60, "degC")),
        lambda: adiabatic_rise(COPPER, q(1, "mm**2"), q(float("nan"), "A"), q(1, "s")),
        lambda: onderdonk_time(q(1, "mm**2"), q(0, "A"), ROOM_25),
        lambda: onderdonk_current(q(1, "mm**2"), q(1, "s"), q(1083, "degC")),
        lambda: preece_current(WireMetal.COPPER, q(0, "mm")),
        lambda: strip(NICKEL_200, EIGHT, q(20, "mm"), layers=0),
        lambda: strip(NICKEL_200, EIGHT, q(0, "mm")),
        lambda: wire(q(-1, "mm**2"), q(1, "m")),
        lambda: rise_by_surface(LINK, q(5, "A"), Surface(q(0, "W/m**2/K"), 1.0)),
        lambda: current_by_ends(LINK, q(0, "K")),
    ],
)
def test_what_cannot_be_is_refused(broken: object) -> None:
    with pytest.raises(ImpossibleValue):
        broken()  # type: ignore[operator]


# --- Preece ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("of", "amps", "inches"),
    [
        pytest.param(WireMetal.COPPER, 100, 0.0457, id="Ness-Engineering-copper-100-A"),
        pytest.param(WireMetal.ALUMINIUM, 100, 0.0558, id="Ness-Engineering-aluminium-100-A"),
        pytest.param(WireMetal.IRON, 100, 0.1003, id="Ness-Engineering-iron-100-A"),
        # The table prints 0.1208 here, with two digits swapped: its own constant gives 0.1028.
        pytest.param(WireMetal.ALUMINIUM, 250, 0.1028, id="Ness-Engineering-aluminium-250-A-misprint-put-right"),
    ],
)
def test_preece_table(of: WireMetal, amps: float, inches: float) -> None:
    assert number(preece_diameter(of, q(amps, "A")), "inch") == pytest.approx(inches, rel=5e-3)
    assert number(preece_current(of, q(inches, "inch")), "A") == pytest.approx(amps, rel=5e-3)


def test_preece_example() -> None:
    """A printed example has 123 A for copper of 0.0524 in."""
    assert number(preece_current(WireMetal.COPPER, q(0.0524, "inch")), "A") == pytest.approx(123, rel=5e-3)


PREECE_BY_GAUGE = {20: 58.53, 22: 41.34, 24: 29.19, 26: 20.62, 28: 14.56, 30: 10.28}
PREECE_BY_MM = {WireMetal.COPPER: 80.02, WireMetal.ALUMINIUM: 59.25, WireMetal.IRON: 24.59, WireMetal.TIN: 12.83,
                WireMetal.LEAD: 10.77, WireMetal.PLATINUM: 40.40, WireMetal.TIN_LEAD: 10.30}  # fmt: skip


@pytest.mark.parametrize(("gauge", "amps"), PREECE_BY_GAUGE.items())
def test_preece_by_gauge(gauge: int, amps: float) -> None:
    """10 244 · d^1.5, worked out to the digits shown."""
    assert number(preece_current(WireMetal.COPPER, awg_diameter(gauge)), "A") == pytest.approx(amps, abs=0.005)


@pytest.mark.parametrize(("of", "amps"), PREECE_BY_MM.items())
def test_preece_constants_by_millimetre(of: WireMetal, amps: float) -> None:
    """The constants by inch over 25.4^1.5, worked out to the digits shown."""
    assert number(preece_current(of, q(1, "mm")), "A") == pytest.approx(amps, abs=0.005)


@given(of=st.sampled_from(WireMetal), millimetres=st.floats(0.05, 10))
def test_preece_goes_by_the_power_of_three_halves(of: WireMetal, millimetres: float) -> None:
    thin, thick = (preece_current(of, q(size, "mm")) for size in (millimetres, 4 * millimetres))
    assert number(thick / thin, "") == pytest.approx(8, rel=1e-9)
    assert number(preece_diameter(of, thin), "mm") == pytest.approx(millimetres, rel=1e-9)


@pytest.mark.parametrize("material", [StripMaterial.NICKEL_200, StripMaterial.NICKEL_999, StripMaterial.PLATED_STEEL])
def test_no_fusing_constant_is_invented_for_nickel(material: StripMaterial) -> None:
    with pytest.raises(MissingFact):
        preece_metal(material)


def test_copper_has_its_fusing_constant() -> None:
    assert preece_metal(StripMaterial.COPPER) is WireMetal.COPPER


# --- Advice ----------------------------------------------------------------------------------------------------------


def lasting(amps: float, rise: float = 30) -> Load:
    return Load(q(amps, "A"), q(amps, "A"), q(0, "s"), q(rise, "delta_degC"))


@pytest.mark.parametrize(("amps", "thickness"), [(7.3, 0.15), (7.4, 0.2), (8.4, 0.2), (8.6, 0.24)])
def test_the_smallest_strip_is_the_one_that_just_stays_under_30_kelvin(amps: float, thickness: float) -> None:
    """7.34 A for 0.15 mm and 8.50 A for 0.20 mm, 8 mm wide: the long-strip rows above; then come two layers of 0.12."""
    choice = smallest_strip(NICKEL_200, lasting(amps), OPEN, q(8, "mm"))
    assert choice is not None
    assert number(choice.area, "mm**2") == pytest.approx(8 * thickness)


def test_the_narrowest_strip_lies_between_the_rows_of_the_table() -> None:
    """At 0.15 mm, 8 mm stand 7.34 A for 30 K."""
    widths = [narrowest_strip(NICKEL_200, lasting(amps), OPEN, q(0.15, "mm")) for amps in (7.3, 7.4, 500)]
    assert [choice and choice.section.width.magnitude for choice in widths] == [8, 10, None]


def test_a_link_cooled_by_its_ends_needs_less() -> None:
    load = lasting(20)
    careful = smallest_strip(NICKEL_200, load, OPEN, q(8, "mm"))
    by_ends = smallest_strip(NICKEL_200, load, OPEN, q(8, "mm"), between_cells=q(20, "mm"))
    assert careful is not None
    assert by_ends is not None
    assert careful.area > by_ends.area


@given(amps=st.floats(0.5, 60), seconds=st.floats(0.1, 60), peak=st.floats(1, 5))
def test_advised_wire_stays_under_the_rise_and_the_next_thinner_does_not(
    amps: float, seconds: float, peak: float
) -> None:
    load = Load(q(amps, "A"), q(amps * peak, "A"), q(seconds, "s"))
    gauge, metric = smallest_gauge(load), smallest_wire(load)
    if gauge is None or gauge.gauge is None or metric is None:
        return
    rise = rise_by_surface(wire(gauge.area, q(1, "m")), q(amps, "A"), OPEN)
    assert number(rise, "delta_degC") <= number(PERMITTED_RISE, "delta_degC") * (1 + 1e-9)
    if peak == 1 and gauge.gauge < 40:
        thinner: Conductor = wire(awg_area(gauge.gauge + 1), q(1, "m"))
        too_warm = rise_by_surface(thinner, q(amps, "A"), OPEN)
        assert too_warm is None or too_warm > PERMITTED_RISE
