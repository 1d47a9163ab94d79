"""The target pack under its load: what the page says of the way of the current, the strip to cut and the discharge.

The numbers are worked out here by hand from a single cell, where nothing is shared: Ohm's and Joule's laws, Newton's
law of cooling and the geometry of straight pieces. Data sheets are invented.
"""

import re
from math import pi, sqrt
from typing import Any

import pytest
from django.test import Client
from django.utils.html import strip_tags

from packs.terms import DocumentKind, Measure, Packing, Stage
from shop import models
from shop.bridge import layouts
from shop.bridge.documents.packs_of import outline
from shop.errors import ShopError
from shop.operations import documents, planning
from shop.plots import Line, Mark, line_plot
from tests import line
from tests.factories import CellFactory, CellModelFactory, SettingsFactory

from .test_target import typed

pytestmark = pytest.mark.django_db

# Nickel 200: 9.64e-8 Ω·m at 20 °C, 0.0043 1/K (Special Metals, SMC-061); 8890 kg/m³ (from memory).
NICKEL_OHM_M, NICKEL_PER_K, NICKEL_G_PER_MM3 = 9.64e-8, 0.0043, 8.89e-3
# Wrapped strip: 5 W/(m²·K) over half of its perimeter. Common practice, no source.
STRIP_TRANSFER, STRIP_SHARE = 5.0, 0.5
TAB_MM, JOINT_OHM = 15.0, 0.15e-3


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(line.technician())
    return client


def words(page: Any) -> str:
    text = strip_tags(page.content.decode().replace("<", " <"))
    return re.sub(r"\s+", " ", text)


def single(**changes: Any) -> dict[str, Any]:
    """One cell alone: no link, so that the whole current runs through both tabs and both leads."""
    one = {"arrangement": "1s1p", "charger_voltage_mv": "4.2 V", "continuous_current_ma": "3 A"}
    return typed(**(one | changes))


def said(client: Client, job: models.Job, what: str, form: dict[str, Any]) -> str:
    return words(client.get(f"/jobs/{job.number}/target/{what}/", form))


def rise_by_surface(amps: float, width_mm: float, thickness_mm: float) -> float:
    """Newton's law of cooling per metre: I²·R'(1 + α·ΔT) = h·p·ΔT."""
    per_metre = NICKEL_OHM_M / (width_mm * thickness_mm * 1e-6)
    cooling = STRIP_TRANSFER * STRIP_SHARE * 2 * (width_mm + thickness_mm) * 1e-3
    return amps**2 * per_metre / (cooling - amps**2 * per_metre * NICKEL_PER_K)


def share_by_surface(amps: float, width_mm: float, thickness_mm: float) -> float:
    """Of the current at which the rise is 30 K: I = √(h·p·30 / (R'(1 + 30·α)))."""
    per_metre = NICKEL_OHM_M / (width_mm * thickness_mm * 1e-6)
    cooling = STRIP_TRANSFER * STRIP_SHARE * 2 * (width_mm + thickness_mm) * 1e-3
    return 100 * amps / sqrt(cooling * 30 / (per_metre * (1 + 30 * NICKEL_PER_K)))


# --- the way of the current


@pytest.mark.parametrize("width", [8, 5])
def test_the_tab_of_a_single_cell_is_as_warm_as_by_hand(bench: Client, job: models.Job, width: int) -> None:
    page = said(bench, job, "path", single(strip_width_um=f"{width} mm"))
    rise, share = rise_by_surface(3, width, 0.15), share_by_surface(3, width, 0.15)
    ohm = NICKEL_OHM_M * TAB_MM * 1e-3 / (width * 0.15e-6)
    tab = page[page.index("Solder tab 2 of 15.00 mm") :]
    assert f"3.000 A {9 * ohm * 1000:.1f} mW {rise:.1f} K" in tab
    assert f"{share:.1f} %" in tab


def test_two_layers_halve_the_heat_of_a_tab(bench: Client, job: models.Job) -> None:
    ohm = NICKEL_OHM_M * TAB_MM * 1e-3 / (8 * 0.15e-6)
    page = said(bench, job, "path", single(strip_layers="2"))
    assert f"{9 * ohm / 2 * 1000:.1f} mW" in page[page.index("Solder tab") :]


def test_the_weakest_part_is_named_both_ways(bench: Client, job: models.Job) -> None:
    page = said(bench, job, "path", single(continuous_current_ma="5 A"))
    assert f"surface alone: solder tab , at {share_by_surface(5, 8, 0.15):.1f} % of what it stands. too much" in page
    # the cell's sheet allows 5.2 A: 5 A are 96.2 % of it
    assert "By their ends alone: cell , at 96.2 %" in page
    assert "The truth lies between the two" in page


def test_the_short_circuit_is_known_with_the_resistance_of_tested_cells_alone(bench: Client, job: models.Job) -> None:
    lead = {"lead_area_um2": "2.5 mm²", "lead_length_um": "150 mm"}
    assert "Short circuit DC resistance not measured" in said(bench, job, "path", single(**lead))
    for code, microohm in (("T1", 38000), ("T2", 42000)):
        CellFactory(code=code, readings={Measure.DC_RESISTANCE: microohm})
    tab = NICKEL_OHM_M * TAB_MM * 1e-3 / (8 * 0.15e-6)
    copper = 1.7241e-8 * 0.150 / 2.5e-6  # IEC 60028
    amps = 4.2 / (0.040 + 2 * (JOINT_OHM + tab + copper))
    assert f"Short circuit {amps:.2f} A" in said(bench, job, "path", single(**lead))


def test_a_lead_by_gauge_has_the_heat_of_its_section(bench: Client, job: models.Job) -> None:
    """ASTM B258: d = 0.127 mm · 92^((36 − n)/39)."""
    area = pi / 4 * (0.127e-3 * 92 ** ((36 - 18) / 39)) ** 2
    page = said(bench, job, "path", single(lead_area_um2="AWG 18", lead_length_um="1 m"))
    assert f"Lead 2 of 1.000 m 3.000 A {9 * 1.7241e-8 / area * 1000:.1f} mW" in page
    assert "No lead is stated" not in page


def test_a_lead_that_nobody_stated_is_said_and_not_blamed(bench: Client, job: models.Job) -> None:
    assert "No lead is stated: 200.00 mm of AWG" in said(bench, job, "path", single())


@pytest.mark.parametrize(
    ("fuse", "outcomes"),
    [
        ({"fuse_current_ma": "10 A"}, ["not known", "not known", "holds", "holds", "not known"]),
        (
            {"fuse_current_ma": "2 A", "fuse_voltage_mv": "4 V"},
            ["does not hold", "not known", "does not hold", "not known", "not known"],
        ),
        ({"fuse_current_ma": "10 A", "fuse_voltage_mv": "32 V"}, ["holds", "not known", "holds", "holds", "not known"]),
    ],
)
def test_a_fuse_is_asked_what_its_data_sheet_says(
    bench: Client, job: models.Job, fuse: dict[str, str], outcomes: list[str]
) -> None:
    """4.2 V and 3 A, and no known short circuit; what is not known is no pass."""
    page = said(bench, job, "path", single(**fuse))
    part = page[page.index("Fuse") : page.index("Times of melting")]
    assert re.findall(r"(holds|does not hold|not known) It ", part) == outcomes


def test_without_a_fuse_nothing_is_said_of_one(bench: Client, job: models.Job) -> None:
    assert "It breaks" not in said(bench, job, "path", single())


# --- the strip to cut


def test_the_strip_of_a_4s2p_is_cut_as_by_hand(bench: Client, job: models.Job) -> None:
    """Cells of 18.3 mm and walls of 1.5 mm stand 19.8 mm apart; half a width of 8 mm reaches past both joints.

    Eight runs along a group, two of them with a tab, and two links at each of three passages: common practice.
    """
    plain, with_tab = 19.8 + 8, 19.8 + 8 + TAB_MM
    total = 12 * plain + 2 * with_tab
    page = said(bench, job, "path", typed())
    cut = page[page.index("Strip to cut") :]
    assert f"{with_tab:.2f} mm 2 2" in cut
    assert f"{plain:.2f} mm 12" in cut
    assert f"{total:.2f} mm in all, {total * 8 * 0.15 * NICKEL_G_PER_MM3:.1f} g" in cut
    twice = said(bench, job, "path", typed(strip_layers="2"))
    assert f"{2 * total:.2f} mm in all" in twice


def test_nested_cells_leave_less_room_between_their_strips(bench: Client, job: models.Job) -> None:
    """In rows 19.8 mm less the width of 8 mm. Columns of a hexagonal lattice lie 19.8 mm · √3/2 apart; a link between
    them leans by 30° and its corner reaches 4 mm · (√3/2 + 1/2) past its joint, towards a run of half the width.
    """
    room = 19.8 * sqrt(3) / 2 - 4 - 4 * (sqrt(3) / 2 + 0.5)
    assert "at least 11.80 mm stay free" in said(bench, job, "path", typed())
    assert f"at least {room:.2f} mm stay free" in said(bench, job, "path", typed(packing="nested"))


def test_flat_cells_are_not_nested(bench: Client, job: models.Job) -> None:
    flat = CellModelFactory(name="Flat", cell_format="prismatic", terminals="same_face")
    answer = bench.post(f"/jobs/{job.number}/target/", typed(cell_model=str(flat.pk), packing="nested"))
    assert "Only round cells are nested" in answer.context["form"].errors["packing"][0]
    assert "Only round cells" not in said(bench, job, "figures", typed(packing="nested"))
    with pytest.raises(ShopError) as caught:
        planning.state_target(job=job, target=line.target(cell_model=flat, packing="nested"), by=line.technician())
    assert (caught.value.code, caught.value.field) == ("not_nested", "packing")


def test_how_the_cells_stand_is_kept_and_drawn(bench: Client, job: models.Job) -> None:
    """Nested, the second column of the drawing begins half a pitch lower than the first; in rows at the same height."""
    bench.post(f"/jobs/{job.number}/target/", typed(packing="nested"))
    plan = models.Plan.objects.get(job=job)
    assert plan.packing == "nested"
    assert bench.get(f"/jobs/{job.number}/target/").context["form"]["packing"].value() == "nested"
    assert heights(plan) == 4
    assert heights(models.Plan(job=job, cell_model=plan.cell_model, series=4, parallel=2)) == 2
    content = outline(plan)
    assert content.packing is Packing.NESTED


def heights(plan: models.Plan) -> int:
    """Count how many heights the cells of a face stand at."""
    top = str(layouts.picture(plan, {})).split('<g class="face')[1]
    return len(set(re.findall(r'<rect class="cell[^"]*" x="[0-9.]+" y="([0-9.]+)"', top)))


def test_flat_cells_of_unknown_spacing_are_said_not_to_be_reckoned(bench: Client, job: models.Job) -> None:
    flat = CellModelFactory(name="Flat", cell_format="prismatic", terminals="same_face")
    assert "How far the cells lie apart is not known" in said(bench, job, "path", typed(cell_model=str(flat.pk)))


@pytest.mark.parametrize("name", ["strip_width_um", "continuous_current_ma", "arrangement"])
def test_half_a_pack_gives_no_way_of_the_current(bench: Client, job: models.Job, name: str) -> None:
    assert "stand here once" in said(bench, job, "path", typed(**{name: ""}))


# --- the order in which the pieces are laid


def test_pieces_are_laid_group_by_group_and_then_linked(bench: Client, job: models.Job) -> None:
    """4s2p by hand: four groups above, four below, the link below, the two above; 4.2 V for each group in reach."""
    page = said(bench, job, "path", typed(arrangement="4s2p"))
    order = page[page.index("In which order it is laid") :]
    assert order.count("the cells of group") == 8
    assert order.count("turn the pack over") == 2
    assert "9 bottom face, strip 3 group 2 to group 3" in order
    assert "10 turn the pack over, top face, strip 2 group 1 to group 2" in order
    reach = re.findall(r"up to ([0-9.]+)", order)
    assert reach == ["4.200"] * 8 + ["8.400", "12.60", "16.80"]
    ninth = order[order.index("9 bottom face") : order.index("10 turn")]
    assert "strip 1, 5" in ninth, "the other strips of the face"


def test_no_order_is_told_where_strips_would_touch(bench: Client, job: models.Job) -> None:
    page = said(bench, job, "path", typed(strip_width_um="25 mm"))
    assert "two strips of one face would touch" in page
    assert "In which order it is laid" not in page


def test_the_joining_step_tells_the_order_as_well(bench: Client) -> None:
    page = words(bench.get(f"/jobs/{line.job_at(Stage.JOIN).number}/steps/join/"))
    assert "In which order it is laid" in page
    assert "up to 16.80" in page


# --- the discharge to be expected


def test_without_a_dc_resistance_there_is_no_forecast(bench: Client, job: models.Job) -> None:
    CellFactory(code="K1", readings={Measure.AC_RESISTANCE: 22000})
    assert "DC resistance not measured" in said(bench, job, "forecast", typed())
    assert bench.get(f"/jobs/{job.number}/target/pack.svg", typed()).status_code == 404


def test_the_forecast_keeps_to_charge_and_time(bench: Client, job: models.Job) -> None:
    """What is given is current times time (definition of charge), and not more than the rated 2 × 2600 mAh."""
    CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40000})
    page = said(bench, job, "forecast", typed())
    found = re.search(r"About ([\d.]+) min at 6\.000 A : (\d+) mAh", page)
    assert found
    minutes, mah = float(found[1]), float(found[2])
    assert mah == pytest.approx(6000 * minutes / 60, abs=6000 * 0.05 / 60 + 0.5)
    assert 0.9 * 5200 < mah <= 5200
    assert "mean DC resistance of 1 free cell" in page


def test_after_matching_the_very_cells_count(bench: Client) -> None:
    """The group that ends it is the one that holds least; its cells were measured, not read from a sheet."""
    job = line.job_at(Stage.PLACE)
    page = said(bench, job, "forecast", {})
    assert "of the very cells" in page
    positions = models.PlanPosition.objects.filter(plan__job=job)
    held = dict.fromkeys(range(1, 5), 0)
    for position in positions:
        held[position.group] += position.cell.readings.filter(measure="capacity_mah").latest("pk").value
    assert f"group {min(held, key=lambda group: held[group])}" in page
    assert bench.get(f"/jobs/{job.number}/target/groups.svg").content.startswith(b"<?xml")


def test_a_curve_is_the_same_every_time_and_writes_numbers_as_the_shop_does() -> None:
    curve = [Line("pack", [0, 0.5, 1], [4.2, 3.7, 3.0])]
    first = line_plot(curve, "Time [h]", "Voltage [V]", levels=[Mark("end", 3.0)])
    assert first == line_plot(curve, "Time [h]", "Voltage [V]", levels=[Mark("end", 3.0)])
    assert b">0.4</text>" in first
    assert b">0,4</text>" in line_plot(curve, "Time [h]", "Voltage [V]", locale="de")
    assert b"<dc:date>" not in first


# --- what is kept


EXTRAS = {
    "peak_current_ma": "12 A",
    "peak_time_ms": "2.5 s",
    "strip_layers": "2",
    "lead_area_um2": "AWG 14",
    "lead_length_um": "150 mm",
    "fuse_current_ma": "15 A",
    "fuse_voltage_mv": "32 V",
    "fuse_breaking_ma": "1000 A",
    "fuse_clearing": "30 A 5 s; 52.5 A 0.5 s; 90 A 100 ms",
}


@pytest.mark.parametrize("locale", ["en", "de"])
def test_peak_lead_and_fuse_are_kept_and_read_back(bench: Client, job: models.Job, locale: str) -> None:
    SettingsFactory(number_locale=locale)
    CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40000})
    models.CellModel.objects.update(pulse_current_ma=6000, pulse_time_ms=2500)
    sent = {name: text.replace(".", ",") if locale == "de" else text for name, text in EXTRAS.items()}
    sent["strip_thickness_um"] = "0,15 mm" if locale == "de" else "0.15 mm"
    sent["charger_voltage_mv"] = "16,8 V" if locale == "de" else "16.8 V"
    assert bench.post(f"/jobs/{job.number}/target/", typed(**sent)).status_code == 302
    plan = models.Plan.objects.get()
    assert (plan.peak_current_ma, plan.peak_time_ms, plan.strip_layers) == (12000, 2500, 2)
    # AWG 14 is 2.08 mm² (ASTM B258)
    assert plan.lead_area_um2 == pytest.approx(2_080_000, rel=1e-3)
    assert plan.fuse_clearing == [[30_000, 5_000_000], [52_500, 500_000], [90_000, 100_000]]
    assert (plan.fuse_current_ma, plan.fuse_voltage_mv, plan.fuse_breaking_ma) == (15000, 32000, 1_000_000)
    form = bench.get(f"/jobs/{job.number}/target/").context["form"]
    assert form["lead_area_um2"].value() == "AWG 14"
    again = typed(version="") | {name: form[name].value() for name in form.fields}
    assert bench.post(f"/jobs/{job.number}/target/", again).status_code == 302
    stated = models.Plan.objects.get(state="stated")
    assert all(getattr(stated, name) == getattr(plan, name) for name in EXTRAS)


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"peak_current_ma": 12000}, "peak_incomplete", "peak_time_ms"),
        ({"peak_time_ms": 2000}, "peak_incomplete", "peak_current_ma"),
        ({"peak_current_ma": 5999, "peak_time_ms": 2000}, "peak_too_low", "peak_current_ma"),
        ({"fuse_voltage_mv": 32000}, "fuse_incomplete", "fuse_current_ma"),
        ({"strip_layers": 4}, "impossible_value", "strip_layers"),
        ({"strip_layers": 0}, "impossible_value", "strip_layers"),
        ({"lead_area_um2": 150_000_001}, "impossible_value", "lead_area_um2"),
        ({"lead_area_um2": 9_999}, "impossible_value", "lead_area_um2"),
        ({"fuse_current_ma": 1_000_001}, "impossible_value", "fuse_current_ma"),
    ],
)
def test_the_operation_refuses_what_the_form_refuses(
    job: models.Job, changed: dict[str, int], code: str, field: str
) -> None:
    with pytest.raises(ShopError) as refusal:
        planning.state_target(job=job, target=line.target(**changed), by=line.technician())
    assert (refusal.value.code, refusal.value.field) == (code, field)
    assert not models.Plan.objects.exists()


def test_a_peak_without_its_time_stands_beside_the_field(bench: Client, job: models.Job) -> None:
    answer = bench.post(f"/jobs/{job.number}/target/", typed(peak_current_ma="12 A"))
    assert list(answer.context["form"].errors) == ["peak_time_ms"]


@pytest.mark.parametrize("text", ["30 A", "30 A 5 s 2", "thirty A 5 s", "30 A 5 A", "60 A 5 s; 30 A 1 s"])
def test_a_curve_that_cannot_be_read_stands_beside_its_field(bench: Client, job: models.Job, text: str) -> None:
    CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40000})
    stated = {"fuse_current_ma": "10 A", "fuse_voltage_mv": "32 V", "fuse_breaking_ma": "1000 A"}
    answer = bench.post(f"/jobs/{job.number}/target/", typed(**stated, fuse_clearing=text))
    assert list(answer.context["form"].errors) == ["fuse_clearing"]
    assert answer.context["form"]["fuse_clearing"].value() == text


def test_the_job_card_tells_the_strip_to_cut() -> None:
    """As on the page: twelve pieces of 27.8 mm, two of 42.8 mm with a tab."""
    job = line.job_at(Stage.PLACE)
    paper = documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician())
    cuts = [(cut["length_um"], cut["pieces"], cut["with_tab"]) for cut in paper.content["cuts"]]
    assert cuts == [(42800, 2, 2), (27800, 12, 0)]
