"""Whole packs as circuits: worked examples by hand, and what Kirchhoff's laws say must always hold.

The branches themselves are compared with a circuit simulator in ``test_spice``.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packs.errors import ImpossibleValue
from packs.layout import Feeds, Geometry, StripSection, UnequalGroups, geometry, holder_spacing, layout
from packs.network import (
    CurrentPaths,
    PackResponse,
    PathResistances,
    compare_feeds,
    pack_circuit,
    resistance_per_length,
    solve_pack,
)
from packs.terms import CellFormat, Feed, Packing, Terminals
from packs.topology import Arrangement
from packs.units import Quantity, ureg

PITCH = holder_spacing(ureg.Quantity(18.5, "mm"), ureg.Quantity(1.5, "mm"))
IDEAL = PathResistances(strip=ureg.Quantity(0, "ohm/m"), joint=ureg.Quantity(0, "ohm"))


def measured(*sizes: int, packing: Packing = Packing.ROWS) -> Geometry:
    arrangement = Arrangement(len(sizes), sizes[0]) if len(set(sizes)) == 1 else UnequalGroups(sizes)
    return geometry(layout(arrangement, CellFormat.ROUND, Terminals.OPPOSITE_ENDS, packing=packing), PITCH)


def links_of(milliohm: float) -> PathResistances:
    """Strip of which 20 mm, one pitch, have so many milliohms, and nothing else."""
    return replace(IDEAL, strip=ureg.Quantity(milliohm / 20, "mohm/mm"))


def of(numbers: object, unit: str) -> Quantity:
    return ureg.Quantity(np.array(numbers, dtype=float), unit)


def amps(number: float) -> Quantity:
    return ureg.Quantity(number, "A")


def solved(
    pack: Geometry, volts: object, milliohms: object, resistances: PathResistances = IDEAL, feeds: Feeds | None = None
) -> PackResponse:
    return solve_pack(pack_circuit(pack, resistances, feeds), of(volts, "V"), of(milliohms, "mohm"))


# Kirchhoff's laws by hand; the same cases stand as formulas in test_network.
GROUPS = [
    pytest.param([3.70, 3.70], [20, 24], 10, 10.9091, 3.59091, [5.4545, 4.5455], id="20-24-mohm-10-A"),
    pytest.param([3.70] * 3, [30, 33, 45], 15, 11.6471, 3.52529, [5.8235, 5.2941, 3.8824], id="30-33-45-mohm-15-A"),
    pytest.param(
        [3.70, 3.65, 3.60], [30, 33, 45], 0, 11.6471, 3.65647, [1.45098, -0.19608, -1.25490], id="unequal-at-rest"
    ),
    pytest.param(
        [3.70, 3.65, 3.60], [30, 33, 45], 15, 11.6471, 3.48176, [7.27451, 5.09804, 2.62745], id="unequal-at-15-A"
    ),
    pytest.param([3.75, 3.70], [30, 30], 0, 15.0, 3.7250, [0.83333, -0.83333], id="50-mV-over-60-mohm"),
    pytest.param([3.80, 3.70], [25, 35], 0, 14.5833, 3.758333, [1.66667, -1.66667], id="100-mV-over-60-mohm"),
    pytest.param([4.20, 3.00], [30, 30], 0, 15.0, 3.60, [20.0, -20.0], id="full-onto-empty"),
    pytest.param([4.10, 3.60, 3.60, 3.60], [40] * 4, 0, 10.0, 3.725, [9.375, -3.125, -3.125, -3.125], id="1-onto-3"),
]


@pytest.mark.parametrize(("volts", "milliohms", "drawn", "resistance", "bus", "expected"), GROUPS)
def test_one_group_without_joining_metal(
    volts: list[float], milliohms: list[float], drawn: float, resistance: float, bus: float, expected: list[float]
) -> None:
    response = solved(measured(len(volts)), volts, milliohms)
    paths = response.at(amps(drawn))
    assert response.resistance.to("mohm").magnitude == pytest.approx(resistance, abs=5e-5)
    assert paths.terminal_voltage.to("V").magnitude == pytest.approx(bus, abs=5e-6)
    assert paths.cells.amps.tolist() == pytest.approx(expected, abs=5e-5)
    assert np.isnan(paths.links.amps).all(), "metal without resistance shares its current in no definite way"
    assert paths.links.watts.sum() == 0


def test_ten_groups_of_three() -> None:
    assert solved(measured(*[3] * 10), 3.6, 30).resistance.to("mohm").magnitude == pytest.approx(100.0)


def test_ten_groups_of_one_with_their_links() -> None:
    """Nine links and two leads of 1 mΩ onto ten cells of 10 mΩ: 111 mΩ in series."""
    resistances = replace(links_of(1), lead=ureg.Quantity(1, "mohm"))
    assert solved(measured(*[1] * 10), 3.6, 10, resistances).resistance.to("mohm").magnitude == pytest.approx(111.0)


def test_four_groups_of_two() -> None:
    response = solved(measured(2, 2, 2, 2), 3.6, [40, 44, 42, 46, 38, 50, 40, 40])
    shares = response.group_resistances.to("mohm").magnitude.tolist()
    assert shares == pytest.approx([20.9524, 21.9545, 21.5909, 20.0000], abs=5e-5)
    assert response.resistance.to("mohm").magnitude == pytest.approx(84.4978, abs=5e-5)


# By hand: a cell that the current reaches over n links of 10 mΩ resists 30 + 10 n mΩ.
LADDERS = [
    pytest.param(2, Feeds(), 8, [3, 5], id="one-end"),
    pytest.param(2, Feeds(Feed.FIRST_END, Feed.FIRST_END), 8, [5, 3], id="the-other-end"),
    pytest.param(2, Feeds(Feed.FIRST_END, Feed.LAST_END), 8, [4, 4], id="across"),
    pytest.param(3, Feeds(Feed.MIDDLE, Feed.MIDDLE), 11, [3, 5, 3], id="middle-of-three"),
]


@pytest.mark.parametrize(("cells", "feeds", "drawn", "expected"), LADDERS)
def test_where_the_strip_is_fed(cells: int, feeds: Feeds, drawn: float, expected: list[float]) -> None:
    paths = solved(measured(cells), 3.6, 30, links_of(10), feeds).at(amps(drawn))
    assert paths.cells.amps.tolist() == pytest.approx(expected)


def test_every_part_of_one_cell() -> None:
    """In series, by hand: 30 + 2 × 0.2 + 2 × 1 + 2 × 1.5 mΩ (15 mm of 0.1 mΩ/mm) make 35.4 mΩ; at 10 A 354 mV."""
    resistances = PathResistances(
        strip=ureg.Quantity(0.1, "mohm/mm"),
        joint=ureg.Quantity(0.2, "mohm"),
        lead=ureg.Quantity(1, "mohm"),
        tab_length=ureg.Quantity(15, "mm"),
    )
    response = solved(measured(1), 3.6, 30, resistances)
    paths = response.at(amps(10))
    assert response.resistance.to("mohm").magnitude == pytest.approx(35.4)
    assert response.feed_resistance.to("mohm").magnitude == pytest.approx(5.0)
    assert paths.terminal_voltage.to("V").magnitude == pytest.approx(3.246)
    drops = [parts.drops.to("mV").magnitude.tolist() for parts in (paths.cells, paths.joints, paths.tabs, paths.leads)]
    assert drops == [pytest.approx([300]), pytest.approx([2, 2]), pytest.approx([15, 15]), pytest.approx([10, 10])]
    losses = [parts.losses.to("W").magnitude.sum() for parts in (paths.cells, paths.joints, paths.tabs, paths.leads)]
    assert losses == pytest.approx([3, 0.04, 0.3, 0.2])
    assert paths.cell_voltages.to("V").magnitude.tolist() == pytest.approx([3.3])
    assert response.short_circuit_current.to("A").magnitude == pytest.approx(3.6 / 0.0354)


def test_drop_and_loss_of_a_strip() -> None:
    """20 mm of 8 × 0.15 mm nickel 200 at 7.2 A: 1.6067 mΩ, 11.57 mV, 83.3 mW (SMC-061: 9.64e-8 Ω·m)."""
    section = StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
    strip = resistance_per_length(ureg.Quantity(9.64e-8, "ohm*m"), section)
    paths = solved(measured(1, 1), 3.6, 30, replace(IDEAL, strip=strip)).at(amps(7.2))
    assert paths.links.resistances.to("mohm").magnitude.tolist() == pytest.approx([1.6067], abs=5e-5)
    assert abs(paths.links.drops.to("mV").magnitude).tolist() == pytest.approx([11.57], abs=5e-3)
    assert paths.links.losses.to("mW").magnitude.tolist() == pytest.approx([83.3], abs=0.05)


@pytest.mark.parametrize(
    ("resistivity", "width", "thickness", "expected"),
    [
        (6.93e-8, 8, 0.15, 1.1550),
        (9.64e-8, 8, 0.15, 1.6067),
        (14.3e-8, 8, 0.15, 2.3833),
        (6.93e-8, 5, 0.10, 2.7720),
        (9.64e-8, 10, 0.30, 0.6427),
        (14.3e-8, 8, 0.20, 1.7875),
    ],
)
def test_resistance_of_20_mm_of_strip(resistivity: float, width: float, thickness: float, expected: float) -> None:
    """ρ·L/(w·t) by hand, for CRC nickel, nickel 200 (SMC-061) and 1010 steel (SAE data sheets)."""
    section = StripSection(ureg.Quantity(width, "mm"), ureg.Quantity(thickness, "mm"))
    strip = resistance_per_length(ureg.Quantity(resistivity, "ohm*m"), section)
    assert (strip * ureg.Quantity(20, "mm")).to("mohm").magnitude == pytest.approx(expected, abs=5e-5)


def test_a_feed_at_one_end_loads_the_nearest_cell_most() -> None:
    first, middle, last = compare_feeds(measured(3), links_of(10), of(3.6, "V"), of(30, "mohm"), amps(11))
    assert [effect.feed for effect in (first, middle, last)] == list(Feed)
    assert middle.largest_cell_current.to("A").magnitude == pytest.approx(5)
    assert middle.smallest_cell_current.to("A").magnitude == pytest.approx(3)
    assert middle.largest_share.magnitude == pytest.approx(5 / (11 / 3))
    assert middle.largest_link_current.to("A").magnitude == pytest.approx(3)
    assert first.largest_share.magnitude == pytest.approx(last.largest_share.magnitude)
    assert first.largest_share.magnitude > middle.largest_share.magnitude
    assert first.pack_resistance > middle.pack_resistance


def test_without_current_feeds_do_not_differ() -> None:
    with pytest.raises(ImpossibleValue):
        compare_feeds(measured(3), links_of(10), of(3.6, "V"), of(30, "mohm"), amps(0))


def test_a_turn_of_the_pack_carries_all_current_over_one_link() -> None:
    """Two groups of three above each other touch with one cell each; side by side they share over three links."""
    turned = geometry(layout(Arrangement(2, 3), CellFormat.ROUND, Terminals.OPPOSITE_ENDS, most_columns=1), PITCH)
    for pack, expected in ((turned, 9.0), (measured(3, 3), 3.0)):
        paths = solved(pack, 3.6, 30, links_of(0.001)).at(amps(9))
        between = abs(paths.links.amps[pack.layout.links.between])
        assert between.max() == pytest.approx(expected, rel=1e-3)


BAD = ureg.Quantity(float("nan"), "ohm")


@pytest.mark.parametrize(
    "resistances",
    [
        replace(IDEAL, joint=ureg.Quantity(-1, "mohm")),
        replace(IDEAL, joint=BAD),
        replace(IDEAL, lead=BAD),
        replace(IDEAL, strip=ureg.Quantity(-1, "ohm/m")),
        replace(IDEAL, tab_length=ureg.Quantity(-1, "mm")),
        replace(IDEAL, joint=of([1, 1, 1], "mohm")),
        replace(IDEAL, strip=of([1, 1, 1], "ohm/m")),
    ],
)
def test_resistances_that_cannot_be_are_refused(resistances: PathResistances) -> None:
    with pytest.raises(ImpossibleValue):
        pack_circuit(measured(2, 2), resistances)


@pytest.mark.parametrize(
    ("volts", "milliohms"),
    [([3.6] * 3, 30), (3.6, [30] * 5), (float("nan"), 30), (3.6, 0), (3.6, -1), (3.6, float("nan")), ([], 30)],
)
def test_cells_that_cannot_be_are_refused(volts: object, milliohms: object) -> None:
    with pytest.raises(ImpossibleValue):
        solved(measured(2, 2), volts, milliohms)


@pytest.mark.parametrize("resistivity", [-1e-8, float("nan"), float("inf")])
def test_a_resistivity_that_cannot_be_is_refused(resistivity: float) -> None:
    with pytest.raises(ImpossibleValue):
        resistance_per_length(
            ureg.Quantity(resistivity, "ohm*m"), StripSection(ureg.Quantity(8, "mm"), ureg.Quantity(0.15, "mm"))
        )


def test_a_current_is_a_number() -> None:
    with pytest.raises(ImpossibleValue):
        solved(measured(1), 3.6, 30).at(amps(float("nan")))


@st.composite
def packs(draw: st.DrawFn) -> tuple[Geometry, list[float], list[float], PathResistances, Feeds, float]:
    sizes = draw(st.lists(st.integers(1, 6), min_size=1, max_size=5))
    pack = measured(*sizes, packing=draw(st.sampled_from(Packing)))
    count = sum(sizes)
    volts = draw(st.lists(st.floats(2.5, 4.25), min_size=count, max_size=count))
    milliohms = draw(st.lists(st.floats(5, 120), min_size=count, max_size=count))
    resistances = PathResistances(
        strip=ureg.Quantity(draw(st.floats(0.005, 0.3)), "mohm/mm"),
        joint=ureg.Quantity(draw(st.floats(0, 1)), "mohm"),
        lead=ureg.Quantity(draw(st.floats(0, 5)), "mohm"),
        tab_length=ureg.Quantity(draw(st.floats(0, 20)), "mm"),
    )
    feeds = Feeds(draw(st.sampled_from(Feed)), draw(st.sampled_from(Feed)))
    return pack, volts, milliohms, resistances, feeds, draw(st.floats(-40, 60))


Pack = tuple[Geometry, list[float], list[float], PathResistances, Feeds, float]


def paths_of(pack: Pack) -> tuple[PackResponse, CurrentPaths]:
    response = solved(*pack[:5])
    return response, response.at(amps(pack[5]))


@settings(max_examples=50)
@given(pack=packs())
def test_energy_balance_closes(pack: Pack) -> None:
    """Tellegen's theorem: what the sources drive is delivered or lost, to the rounding of the largest flows that could
    cancel: every cell's short-circuit power times the precision of a double and a hundred operations or so.
    """
    _, paths = paths_of(pack)
    could_flow = sum(volts**2 / (milliohms / 1000) for volts, milliohms in zip(pack[1], pack[2], strict=True))
    driven, lost, delivered = (
        part.to("W").magnitude for part in (paths.source_power, paths.loss, paths.delivered_power)
    )
    assert driven == pytest.approx(lost + delivered, rel=1e-9, abs=1e-12 * could_flow)
    assert lost >= 0


@settings(max_examples=50)
@given(pack=packs())
def test_what_flows_into_a_joint_flows_out_of_it(pack: Pack) -> None:
    """Kirchhoff's current law at every joint of every strip, and every group passes the whole current on."""
    _, paths = paths_of(pack)
    measured_pack, drawn = pack[0], pack[5]
    links = measured_pack.layout.links
    out_of_strip = np.where(links.positive, -paths.joints.amps, paths.joints.amps)
    np.add.at(out_of_strip, links.first, paths.links.amps)
    np.subtract.at(out_of_strip, links.second, paths.links.amps)
    for strip, share in ((0, drawn), (len(measured_pack.layout.strips) - 1, -drawn)):
        assert out_of_strip[links.strip == strip].sum() == pytest.approx(share, abs=1e-6)
        assert np.count_nonzero(abs(out_of_strip[links.strip == strip]) > 1e-6) <= 1
    inside = (links.strip > 0) & (links.strip < len(measured_pack.layout.strips) - 1)
    assert out_of_strip[inside] == pytest.approx(0, abs=1e-6)
    groups = np.array([cell.group for cell in measured_pack.layout.cells])
    assert np.bincount(groups, paths.cells.amps)[1:] == pytest.approx(drawn, abs=1e-6)


@settings(max_examples=50)
@given(pack=packs())
def test_shares_of_the_resistance_add_up(pack: Pack) -> None:
    response, _ = paths_of(pack)
    shares = response.group_resistances.sum() + response.strip_resistances.sum() + response.feed_resistance
    assert shares.to("ohm").magnitude == pytest.approx(response.resistance.to("ohm").magnitude, rel=1e-9)


@settings(max_examples=50)
@given(pack=packs())
def test_a_shorted_pack_has_no_voltage_left(pack: Pack) -> None:
    response, _ = paths_of(pack)
    shorted = response.at(response.short_circuit_current)
    assert shorted.terminal_voltage.to("V").magnitude == pytest.approx(0, abs=1e-9)
    assert shorted.loss.to("W").magnitude == pytest.approx(shorted.source_power.to("W").magnitude, rel=1e-9)


@settings(max_examples=50)
@given(pack=packs(), factor=st.floats(0.1, 10))
def test_resistances_times_k_give_currents_over_k(pack: Pack, factor: float) -> None:
    measured_pack, volts, milliohms, path, feeds, _ = pack
    scaled = PathResistances(path.strip * factor, path.joint * factor, path.lead * factor, path.tab_length)
    one, other = (
        solved(measured_pack, volts, inside, path_of, feeds)
        for inside, path_of in ((milliohms, path), (np.array(milliohms) * factor, scaled))
    )
    assert (other.resistance / one.resistance).to("").magnitude == pytest.approx(factor, rel=1e-9)
    assert other.open_circuit_voltage.to("V").magnitude == pytest.approx(one.open_circuit_voltage.to("V").magnitude)
    assert other.at(amps(0)).cells.amps * factor == pytest.approx(one.at(amps(0)).cells.amps, rel=1e-6, abs=1e-7)


IDEAL_PACKS = st.tuples(st.integers(1, 6), st.integers(1, 6), st.floats(5, 120))


@settings(max_examples=50)
@given(pack=IDEAL_PACKS)
def test_double_parallel_halves_the_resistance(pack: tuple[int, int, float]) -> None:
    series, parallel, milliohm = pack
    single, double = (
        solved(measured(*[count] * series), 3.6, milliohm).resistance for count in (parallel, 2 * parallel)
    )
    assert double.to("ohm").magnitude == pytest.approx(single.to("ohm").magnitude / 2)
    assert single.to("mohm").magnitude == pytest.approx(series * milliohm / parallel)


@settings(max_examples=50)
@given(pack=packs(), data=st.data())
def test_order_of_the_cells_in_a_group_does_not_matter_without_metal_between(pack: Pack, data: st.DataObject) -> None:
    measured_pack, volts, milliohms, _, feeds, drawn = pack
    groups = [cell.group for cell in measured_pack.layout.cells]
    order: list[int] = []
    for group in sorted(set(groups)):
        order += data.draw(st.permutations([index for index, of_cell in enumerate(groups) if of_cell == group]))
    plain = solved(measured_pack, volts, milliohms, IDEAL, feeds)
    mixed = solved(measured_pack, [volts[i] for i in order], [milliohms[i] for i in order], IDEAL, feeds)
    assert mixed.resistance.to("ohm").magnitude == pytest.approx(plain.resistance.to("ohm").magnitude, rel=1e-9)
    assert mixed.at(amps(drawn)).cells.amps == pytest.approx(
        plain.at(amps(drawn)).cells.amps[order], rel=1e-6, abs=1e-7
    )


@settings(max_examples=50)
@given(pack=packs())
def test_units_do_not_change_the_result(pack: Pack) -> None:
    measured_pack, volts, milliohms, path, feeds, drawn = pack
    _, plain = paths_of(pack)
    inches = holder_spacing(ureg.Quantity(18.5 / 25.4, "in"), ureg.Quantity(1500, "micrometer"))
    other_path = PathResistances(
        path.strip.to("ohm/foot"), path.joint.to("ohm"), path.lead.to("microohm"), path.tab_length.to("inch")
    )
    circuit = pack_circuit(geometry(measured_pack.layout, inches), other_path, feeds)
    response = solve_pack(circuit, of(volts, "V").to("mV"), of(milliohms, "mohm").to("kiloohm"))
    other = response.at(amps(drawn).to("mA"))
    assert other.cells.amps == pytest.approx(plain.cells.amps, rel=1e-6, abs=1e-7)
    assert other.links.amps == pytest.approx(plain.links.amps, rel=1e-6, abs=1e-6)
    assert other.loss.to("mW").magnitude == pytest.approx(1000 * plain.loss.to("W").magnitude, rel=1e-8)


@settings(max_examples=50)
@given(pack=packs())
def test_equal_cells_at_rest_carry_nothing(pack: Pack) -> None:
    measured_pack, _, milliohms, path, feeds, _ = pack
    response = solved(measured_pack, 3.6, milliohms, path, feeds)
    assert response.at(amps(0)).cells.amps == pytest.approx(0, abs=1e-9)
    assert response.open_circuit_voltage.to("V").magnitude == pytest.approx(
        3.6 * measured_pack.layout.arrangement.series
    )
