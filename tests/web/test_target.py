"""The target pack: figures while typing, check results beside the form, nothing stated that a rule stops."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.utils.html import strip_tags

from packs.terms import Chemistry, Heard, Role, Stage
from shop import models
from shop.operations import quoting
from shop.web.forms.target import TargetForm
from tests import line
from tests.factories import CellModelFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(line.technician())
    return client


def url(job: models.Job) -> str:
    return f"/jobs/{job.number}/target/"


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "form_token": str(uuid.uuid4()),
        "cell_model": str(CellModelFactory().pk),
        "arrangement": "4s2p",
        "joint_method": "spot_weld",
        "strip_material": "nickel_200",
        "strip_thickness_um": "0.15 mm",
        "strip_width_um": "8",
        "continuous_current_ma": "6 A",
        "charger_voltage_mv": "16.8 V",
    } | changes


def words(page: Any) -> str:
    """The page as it reads, narrow spaces made plain."""
    text = strip_tags(page.content.decode().replace("<d", " <d"))
    return " ".join(text.split())


def refused(client: Client, job: models.Job, **changes: Any) -> dict[str, list[str]]:
    answer = client.post(url(job), typed(**changes))
    assert answer.status_code == 200
    assert not models.Plan.objects.exists()
    return dict(answer.context["form"].errors)


def test_a_target_pack_is_stated(bench: Client, job: models.Job) -> None:
    assert bench.post(url(job), typed()).url == f"/jobs/{job.number}/"
    plan = models.Plan.objects.get()
    assert (plan.series, plan.parallel, plan.strip_thickness_um, plan.strip_width_um) == (4, 2, 150, 8000)
    assert (plan.continuous_current_ma, plan.charger_voltage_mv, plan.outlet_voltage_mv) == (6000, 16800, None)
    job.refresh_from_db()
    assert job.stage == Stage.MATCH


def test_approved_limits_of_use_stand_beside_the_target_and_are_confirmed() -> None:
    job = line.job_at(Stage.TARGET)
    assert "limits_kept" not in TargetForm.of_job(job, {}).fields
    line.quote(job, limits_of_use="at most 6 A")
    assert "limits_kept" not in TargetForm.of_job(job, {}).fields
    quoting.approve_quote(job=job, name="Ida Moor", heard=Heard.SPOKEN, by=line.technician())
    form = TargetForm.of_job(job, {})
    assert "at most 6 A" in str(form.fields["limits_kept"].label)
    assert "limits_kept" in form.errors
    assert "limits_kept" not in TargetForm.of_job(job, {"limits_kept": "on"}).errors


def test_the_form_begins_with_the_pack_as_found_and_the_nameplate(bench: Client, job: models.Job) -> None:
    models.Device.objects.update(charger_voltage_mv=16795)
    form = bench.get(url(job)).context["form"]
    assert (form["arrangement"].value(), form["joint_method"].value()) == ("4s2p", "spot_weld")
    assert form["cell_model"].value() == str(CellModelFactory().pk)
    # 16.80 V would be more than the nameplate says
    assert form["charger_voltage_mv"].value() == "16.795"


@pytest.mark.parametrize("locale", ["en", "de"])
def test_a_stated_target_reads_back_exactly(bench: Client, job: models.Job, locale: str) -> None:
    SettingsFactory(number_locale=locale)
    sent = {"continuous_current_ma": "3.125 A", "strip_thickness_um": "0.125 mm", "outlet_voltage_mv": "5 V"}
    if locale == "de":
        sent = {name: text.replace(".", ",") for name, text in sent.items()}
    bench.post(url(job), typed(dropout_mv="333 mV", **sent))
    before = models.Plan.objects.get()
    form = bench.get(url(job)).context["form"]
    again = typed(version="") | {name: form[name].value() for name in form.fields}
    assert bench.post(url(job), again).status_code == 302
    after = models.Plan.objects.get(state=models.PlanState.STATED.value)
    assert after.pk != before.pk
    for name in ("continuous_current_ma", "strip_thickness_um", "strip_width_um", "outlet_voltage_mv", "dropout_mv"):
        assert getattr(after, name) == getattr(before, name)


# --- figures


def figures(client: Client, job: models.Job, **changes: Any) -> str:
    return words(client.get(url(job) + "figures/", typed(**changes)))


@pytest.mark.parametrize(
    "said",
    [
        # four groups in series, two cells in each, of 2600 mAh, 3.6 V, 3.0 V to 4.2 V; Kirchhoff's laws, by hand
        "Voltage window 12.00 V to 16.80 V",
        "Nominal 14.40 V",
        "Rated capacity 5200 mAh",
        "Rated energy 74.88 Wh",
        # 6 A over two cells; as a multiple of 2.6 Ah, IEC 61960-3 (reference test current, from memory)
        "Current per cell 3.000 A of at most 5.200 A",
        "C-rate 1.15 C",
        # one strip per node, two joints per cell; common practice, no source
        "Strips or bars 5, 16 joints",
    ],
)
def test_figures_of_a_4s2p(bench: Client, job: models.Job, said: str) -> None:
    assert said in figures(bench, job)


def test_figures_follow_what_is_typed(bench: Client, job: models.Job) -> None:
    page = figures(bench, job, arrangement="10s4p", continuous_current_ma="", charger_voltage_mv="", strip_width_um="x")
    assert "30.00 V to 42.00 V" in page
    assert "11, 80 joints" in page
    assert "Current per cell" not in page
    assert "They stand here once" in page
    assert "another voltage than the pack as found" in page


@pytest.mark.parametrize("changes", [{"arrangement": "4x"}, {"cell_model": ""}, {"arrangement": "999s999p"}])
def test_nothing_is_worked_out_from_half_a_pack(bench: Client, job: models.Job, changes: dict[str, str]) -> None:
    page = figures(bench, job, **changes)
    assert "are worked out here" in page
    assert "Voltage window" not in page


def test_check_results_stand_beside_the_figures(bench: Client, job: models.Job) -> None:
    page = figures(bench, job)
    assert "Holds" in page
    assert "Stop" not in page
    assert "Stop" in figures(bench, job, charger_voltage_mv="16.801 V")
    low = figures(bench, job, charger_voltage_mv="16.6 V")
    assert "Stop" not in low
    assert "With this charger the pack will not be full." in low


def test_the_pack_is_drawn(bench: Client, job: models.Job) -> None:
    page = bench.get(url(job) + "figures/", typed()).content.decode()
    assert "Pack 4s2p: 8 cells, 5 strips" in page
    assert "style=" not in page


def test_a_data_sheet_without_a_current_limit_is_said_and_stops(bench: Client, job: models.Job) -> None:
    bare = str(CellModelFactory(name="Bare", max_discharge_current_ma=None).pk)
    assert "limit is not in the book" in figures(bench, job, cell_model=bare)
    assert "continuous_current_ma" in refused(bench, job, cell_model=bare)


# --- refusals


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        # 5.2 A is the cell's limit, two cells share: 10.4 A holds, 10.402 A does not; invented data sheet
        ({"continuous_current_ma": "10.402 A"}, "continuous_current_ma"),
        # 4 × 4.2 V = 16.8 V; IEC 62133-2, upper limit charging voltage
        ({"charger_voltage_mv": "16.801 V"}, "charger_voltage_mv"),
        # one cell falls to 3.0 V and never feeds a 5 V outlet through a step-down converter; common practice, no source
        (
            {
                "arrangement": "1s2p",
                "charger_voltage_mv": "4.2 V",
                "outlet_voltage_mv": "5 V",
                "dropout_mv": "0.3 V",
            },
            "outlet_voltage_mv",
        ),
    ],
)
def test_a_rule_that_stops_stands_beside_the_field_and_the_form_stays(
    bench: Client, job: models.Job, changes: dict[str, str], field: str
) -> None:
    answer = bench.post(url(job), typed(**changes))
    assert not models.Plan.objects.exists()
    assert list(answer.context["form"].errors) == [field]
    page = answer.content.decode()
    for text in changes.values():
        assert f'value="{text}"' in page
    # the check results stand on the page as well, with the limit and where it comes from
    assert "Stop" in words(answer)
    assert "finding-source" in page


@pytest.mark.parametrize(
    "changes",
    [
        {"continuous_current_ma": "10.4 A"},
        {"charger_voltage_mv": "16.8 V"},
        {"outlet_voltage_mv": "5 V", "dropout_mv": "6.999 V"},
    ],
)
def test_at_its_limit_a_target_stands(bench: Client, job: models.Job, changes: dict[str, str]) -> None:
    assert bench.post(url(job), typed(**changes)).status_code == 302


def test_cells_of_unknown_chemistry_are_not_a_target(bench: Client, job: models.Job) -> None:
    unknown = CellModelFactory(name="Grey", chemistry=Chemistry.UNKNOWN.value)
    assert "cell_model" in refused(bench, job, cell_model=str(unknown.pk))


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("continuous_current_ma", "6 V", "expected a current"),
        ("continuous_current_ma", "0 A", "Check the number and its unit"),
        ("continuous_current_ma", "-6 A", "Check the number and its unit"),
        ("continuous_current_ma", "6000 A", "Check the number and its unit"),
        ("charger_voltage_mv", "16.8 A", "expected a voltage"),
        ("charger_voltage_mv", "nan V", "expected a voltage"),
        ("strip_thickness_um", "15 mm", "Check the number and its unit"),
        ("strip_width_um", "8 V", "expected a length"),
        ("strip_width_um", "0", "Check the number and its unit"),
        ("arrangement", "four", "expected one such as 4s2p"),
        ("joint_method", "", "required"),
        ("strip_material", "tin", "valid choice"),
        ("dropout_mv", "0.3 V", None),
        ("outlet_voltage_mv", "5 V", None),
    ],
)
def test_what_cannot_be_is_refused(bench: Client, job: models.Job, field: str, text: str, said: str | None) -> None:
    found = refused(bench, job, **{field: text})
    if said:
        assert list(found) == [field]
        assert said in found[field][0]
    else:
        # an outlet needs both of its values; the one that is missing is named
        assert set(found) == {"outlet_voltage_mv", "dropout_mv"} - {field}


def test_an_old_page_is_refused_and_kept(bench: Client, job: models.Job) -> None:
    page = bench.post(url(job), typed(version=str(job.version - 1), charger_voltage_mv="16.7 V")).content.decode()
    assert "Somebody changed job" in page
    assert 'value="16.7 V"' in page
    assert f'name="version" value="{job.version}"' in page


def test_a_form_sent_twice_counts_once(bench: Client, job: models.Job) -> None:
    form = typed()
    assert bench.post(url(job), form).url == bench.post(url(job), form).url
    assert models.Plan.objects.count() == 1


def test_until_cells_are_reserved_the_target_may_change(bench: Client) -> None:
    job = line.job_at(Stage.MATCH)
    bench.post(url(job), typed(arrangement="4s1p", continuous_current_ma="2 A"))
    assert list(models.Plan.objects.values_list("parallel", "state")) == [(2, "abandoned"), (1, "stated")]


def test_going_for_a_cell_model_loses_nothing(bench: Client, job: models.Job) -> None:
    answer = bench.post(url(job), typed(cell_model="", continuous_current_ma="7.5 A", add_cell_model="1"))
    assert answer.url.startswith("/stock/models/new/")
    assert bench.get(url(job)).context["form"]["continuous_current_ma"].value() == "7.5 A"


def test_later_the_page_tells_the_target(bench: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    page = words(bench.get(url(job)))
    assert "12.00 V to 16.80 V" in page
    assert "Next on this job: Take the old pack apart" in page


def test_before_the_examination_there_is_no_target(bench: Client) -> None:
    job = line.job_at(Stage.EXAMINE)
    assert "Record the pack as found" in words(bench.get(url(job)))
    bench.post(url(job), typed())
    assert not models.Plan.objects.exists()


def test_the_counter_does_not_state_targets(client: Client, job: models.Job) -> None:
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    assert client.get(url(job)).status_code == 403
    assert client.get(url(job) + "figures/").status_code == 403
