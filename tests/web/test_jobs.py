"""The list of jobs and the job's sheet: what comes next, the story so far, the pack, the log."""

import ast
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from packs.terms import ROUTES, STEPS, Condition, DangerSign, DocumentKind, JobKind, Measure, Place, Role, Stage
from shop import models
from shop.operations import documents, intake, proving, rebuild, stock
from shop.selectors import joblog, sheet, story
from tests import line
from tests.factories import MORNING, CustomerFactory, SettingsFactory
from tests.web.desk import primary, send, sign_in, words

pytestmark = pytest.mark.django_db
LOOKED = intake.Recall(source="maker's recall page", checked_on=MORNING.date(), result="nothing found")

OPERATIONS = Path(__file__).parents[2] / "shop" / "operations"
FROM_EXAMINE_ON = (Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def sheet_of(job: models.Job) -> str:
    return reverse("job", args=[job.number])


def page_of(job: models.Job, stage: Stage) -> str:
    if stage in STEPS:
        return f"/jobs/{job.number}/steps/{stage.value}/"
    last = {Stage.REMOVED: "removed", Stage.HAND_OVER: "hand-over"}.get(stage, stage.value)
    return f"/jobs/{job.number}/{last}/"


# --- the list


def test_an_empty_bench_says_what_it_will_hold_and_offers_the_first_step(technician: Client) -> None:
    answer = technician.get("/")
    assert "The bench is clear" in words(answer)
    assert primary(answer) == ["Take in a device"]


def test_every_open_job_says_what_comes_next_in_a_word_and_a_sign(technician: Client) -> None:
    line.job_at(Stage.TARGET)
    line.take_in(signs=[DangerSign.HOT])
    line.take_in(signs=[DangerSign.DROPPED])
    listed = words(technician.get("/"))
    assert "J0001 Garden pump GP-3 Ida Moor State the target pack" in listed
    assert "J0002 Garden pump GP-3 Ida Moor red Dispose of the pack" in listed
    assert "J0003 Garden pump GP-3 Ida Moor amber Write down a lead's findings" in listed


def test_closed_jobs_stand_on_a_list_of_their_own(technician: Client) -> None:
    job = line.job_at(Stage.EXAMINE)
    intake.decline(job=job, reason="New packs cost less.", by=line.technician())
    assert "J0001 Garden pump GP-3 Ida Moor Hand the device back" in words(technician.get("/"))
    job.refresh_from_db()
    line.to_the_end(job)
    assert "J0001" not in words(technician.get("/"))
    assert "J0001" in words(technician.get("/?show=closed"))


def test_what_comes_next_asks_the_database_nothing(django_assert_num_queries: object) -> None:
    job = line.take_in()
    with django_assert_num_queries(0):  # type: ignore[operator]
        for stage in FROM_EXAMINE_ON:
            job.stage = stage.value
            assert sheet.next_action(job) is not None
            assert len(story.outline(job)) == len(ROUTES[JobKind.REBUILD])


# --- what lies on top of the sheet


@pytest.mark.parametrize("stage", FROM_EXAMINE_ON)
def test_exactly_one_primary_action_leads_to_the_page_of_the_stage(technician: Client, stage: Stage) -> None:
    job = line.job_at(stage)
    if stage in (Stage.DISMANTLE, Stage.PLACE):
        documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician())
    answer = technician.get(sheet_of(job))
    action = sheet.next_action(job)
    assert action is not None
    assert primary(answer) == [action.button]
    assert f'<a class="button primary" href="{page_of(job, stage)}">' in answer.content.decode()


def test_the_job_card_comes_before_the_first_cut(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    assert primary(technician.get(sheet_of(job))) == ["Issue the job card"]
    documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician())
    answer = technician.get(sheet_of(job))
    assert primary(answer) == ["Dismantle the pack"]
    assert "Issue a new job card" in words(answer)


@pytest.mark.parametrize(("stage", "allowed"), [(Stage.MEASURE, False), (Stage.HAND_OVER, True)])
def test_who_may_not_reads_who_may(client: Client, stage: Stage, allowed: bool) -> None:
    job = line.job_at(stage)
    sign_in(client, Role.COUNTER)
    answer = client.get(sheet_of(job))
    assert ("This is for the technician or lead or owner." in words(answer)) is not allowed
    assert (page_of(job, stage) in answer.content.decode().split("The job so far")[0]) is allowed


def test_an_amber_job_waits_for_a_lead(client: Client) -> None:
    job = line.take_in(signs=[DangerSign.WATER])
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    assert "This is for the lead or owner." in words(client.get(sheet_of(job)))
    sign_in(client, Role.LEAD)
    answer = client.get(sheet_of(job))
    assert primary(answer) == ["Write the findings"]
    assert f"/jobs/{job.number}/findings/" in answer.content.decode()


def test_a_red_job_goes_out_unopened(technician: Client) -> None:
    job = line.take_in(signs=[DangerSign.SMELL])
    answer = technician.get(sheet_of(job))
    assert primary(answer) == ["Say where it goes"]
    assert [told["label"] for told in answer.context["story"]] == ["Take in", "Pack for disposal", "Close the job"]
    assert "Report a danger sign" not in words(answer)


# --- the story


TOO_SOON = re.compile(r", written down too soon: .*? was done")


def told(answer: object) -> dict[str, str]:
    return {part["label"]: str(part["said"]).replace("\u202f", " ") for part in answer.context["story"]}  # type: ignore[attr-defined]


def test_the_sheet_tells_what_was_found_at_every_stage(technician: Client) -> None:
    """Every number is what `tests.line` typed: eight cells in 4s2p, 3.62 V each, taps every 3.62 V."""
    job = line.job_at(Stage.HAND_OVER)
    # the line of the tests stands on one day: what it says of too little time is another test's
    said = {label: TOO_SOON.sub("", text) for label, text in told(technician.get(sheet_of(job))).items()}
    assert said == {
        "Take in": "“runs five minutes” No danger sign.",
        "Examine": "4s2p of Round 2.6, spot-welded strip, 13.20 V at rest.",
        "State the target pack": "4s2p of Round 2.6, for 6.000 A and a charger of 16.80 V.",
        "Match cells": "8 cells reserved.",
        "Dismantle": "8 of 8 cells out: 7 intact, 1 damaged or defective.",
        "Place the cells": "8 of 8 cells placed.",
        "Measure before joining": "Cells at rest 3.620 V.",
        "Join": "16 joints on 5 strips, second look by Ada Lund (named by whoever joined, not confirmed by that person), welded with bench welder, two pulses, ms, pulse 14.",
        "Check the taps": "Taps 3.620 V to 14.48 V, board trips at 4.225 V and 3.000 V.",
        "Close the housing": "7 points confirmed.",
        "First charge": "Supervised by Technician, 24.0 °C, groups 4.180 V.",
        "Final test": "5080 mAh delivered, 16.56 V at rest.",
        "Removed items": "7 stock, 1 in a waste container.",
        "Hand over": "",
    }


def test_a_stopped_step_says_so_in_the_story_and_on_top(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    rest = dict.fromkeys(line.names(), Decimal(3620)) | {"2.1": Decimal(3980)}
    rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, by=line.technician())
    answer = technician.get(sheet_of(job))
    states = {part["label"]: part["state"] for part in answer.context["story"]}
    assert states["Measure before joining"] == "fail"
    # two cells of 40 mΩ, 0.36 V apart, in one loop of 80 mΩ: 4.5 A by Ohm's law
    assert "4.50 A" in told(answer)["Measure before joining"]
    assert "The last try was stopped." in words(answer)


def test_a_repeated_measurement_counts_not_the_one_that_was_stopped(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    rest = dict.fromkeys(line.names(), Decimal(3620))
    rebuild.measure_before_joining(job=job, rest_voltages_mv=rest | {"2.1": Decimal(4100)}, by=line.technician())
    rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, since="levelled", by=line.technician())
    said = told(technician.get(sheet_of(job)))["Measure before joining"]
    assert (
        said
        == "Cells at rest 3.620 V, since the try before: levelled. Done at try 2; what stopped the earlier ones is kept."
    )


def test_a_cell_nobody_measured_is_not_told_as_intact(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    told_apart = {"condition": Condition.INTACT, "by": line.technician()}
    rebuild.record_removed(job=job, count=5, rest_voltage_mv=Decimal(3300), **told_apart)
    rebuild.record_removed(job=job, count=3, **told_apart)
    rebuild.finish_dismantling(job=job, by=line.technician())
    assert told(technician.get(sheet_of(job)))["Dismantle"] == "8 of 8 cells out: 5 intact, 3 not measured."


def test_a_device_that_goes_back_stays_on_the_list_until_somebody_took_it(technician: Client) -> None:
    job = line.job_at(Stage.TARGET)
    intake.decline(job=job, reason="A new pack costs less.", by=line.technician())
    answer = technician.get(sheet_of(job))
    states = {part["label"]: part["state"] for part in answer.context["story"]}
    assert states == {"Take in": "done", "Examine": "done", "Hand over": "now"}
    assert "Goes back without a rebuild: A new pack costs less." in words(answer)
    assert primary(answer) == ["Go to the hand-over"]
    hand_over = f"{sheet_of(job)}hand-over/"
    assert primary(technician.get(hand_over)) == ["Hand the device back"]
    assert "Write down who takes the device." in words(send(technician, hand_over, received_by=""))
    send(technician, hand_over, received_by="Ida Moor")
    assert "Handed over to Ida Moor" in words(technician.get(sheet_of(job)))
    assert job.items.get().place == Place.CUSTOMER


def test_a_closed_job_is_done_to_the_end(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.hand_over(job)
    answer = technician.get(sheet_of(job))
    assert {part["state"] for part in answer.context["story"]} == {"done"}
    assert "Handed over to Ida Moor" in words(answer)


# --- the pack


def test_every_cell_of_the_drawing_opens_its_page(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    picture = technician.get(sheet_of(job)).context["picture"]
    for number in range(1, 9):
        assert picture.count(f'href="{reverse("cell", args=[f"S{number:03d}"])}"') == 2, "once on each face"


def test_the_drawing_carries_the_capacity_until_the_voltages_are_measured(technician: Client) -> None:
    before = technician.get(sheet_of(line.job_at(Stage.MEASURE))).context["picture"]
    after = technician.get(sheet_of(line.job_at(Stage.JOIN))).context["picture"]
    assert "2600\u202fmAh" in before
    assert "3.620\u202fV" not in before
    assert after.count("3.620\u202fV") == 16


def test_the_weakest_group_is_named_with_its_capacity(technician: Client) -> None:
    """2600 + 2530, 2590 + 2540 ...: every group holds 5130 mAh, so none is the weakest."""
    answer = technician.get(sheet_of(line.job_at(Stage.PLACE)))
    assert answer.context["weakest"] == ((), Decimal(5130))
    assert "all alike, 5130 mAh" in words(answer)


def test_groups_that_share_the_last_place_are_all_marked(technician: Client) -> None:
    """2500 beside 2550 and 2490 beside 2560 mAh: groups 3 and 4 hold 5050 mAh each."""
    job = line.job_at(Stage.PLACE)
    for code, mah in (("S003", 2500), ("S004", 2490)):
        cell = models.Cell.objects.get(code=code)
        stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=Decimal(mah), by=line.technician())
    answer = technician.get(sheet_of(job))
    assert answer.context["weakest"] == ((3, 4), Decimal(5050))
    assert "Weakest groups 3 and 4, 5050 mAh" in words(answer)
    assert answer.context["picture"].count(">weakest<") == 4, "two groups on each of two faces"


def test_limits_stand_beside_the_target(technician: Client) -> None:
    """Four cells in series: 4 × 3.6 V nominal, 4 × 3.0 V to 4 × 4.2 V."""
    seen = words(technician.get(sheet_of(line.job_at(Stage.MATCH))))
    assert "14.40 V 12.00 V to 16.80 V" in seen


# --- ways off the line


@pytest.mark.parametrize(
    ("stage", "ways"),
    [
        (Stage.EXAMINE, {"danger", "decline", "faults", "pack_notes"}),
        (Stage.MATCH, {"danger", "decline", "faults", "pack_notes", "quote"}),
        (Stage.DISMANTLE, {"danger", "decline", "faults", "pack_notes", "quote", "release", "replace"}),
        (Stage.PLACE, {"danger", "give_up", "pack_notes", "park", "quote", "release", "removed", "replace"}),
        (Stage.MEASURE, {"card", "danger", "give_up", "pack_notes", "park", "quote", "removed", "replace"}),
    ],
)
def test_only_the_ways_that_are_open_are_offered(technician: Client, stage: Stage, ways: set[str]) -> None:
    offered = technician.get(sheet_of(line.job_at(stage))).context["otherwise"]
    assert {way for way, is_open in offered.items() if is_open} == ways


# --- the log


def verbs_of_jobs() -> Iterator[str]:
    """Yield every verb that an operation writes into the log of a job."""
    for path in OPERATIONS.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call) or ast.unparse(node.func) != "log.record":
                continue
            if any(keyword.arg == "job" for keyword in node.keywords):
                yield from (leaf.value for leaf in ast.walk(node.args[0]) if isinstance(leaf, ast.Constant))


def test_every_verb_of_a_job_is_told_in_the_benchs_words() -> None:
    verbs = set(verbs_of_jobs())
    assert len(verbs) >= 20
    assert verbs <= set(joblog.TOLD)


def test_cells_handled_one_by_one_are_told_together(technician: Client) -> None:
    log = words(technician.get(sheet_of(line.job_at(Stage.MEASURE)))).split("Job log")[1]
    assert "8 cells placed, positions 1.1 to 4.2" in log
    assert "8 cells (J0001-R01 to J0001-R08) out of the old pack" in log
    assert "placed at" not in log


def test_the_log_says_which_paper_which_reason_which_sign(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    documents.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician())
    log = words(technician.get(sheet_of(job))).split("Job log")[1]
    assert "Test report TR0001 issued" in log
    assert "J0001-R08 into container W-DAMAGED" in log
    assert "7 cells (J0001-R01 to J0001-R07) back to stock, to be tested" in log
    assert "Taken in: no danger sign" in log


def test_a_stop_is_logged_with_what_was_asked() -> None:
    job = line.job_at(Stage.HOUSING)
    proving.close_housing(job=job, confirmed={"housing.fixed": True}, by=line.technician())
    newest = joblog.lines(job)[0].sentence
    assert newest.startswith("Stopped at “Close the housing”: run of the wires")
    assert "hold of the cells" not in newest


def test_a_verb_of_an_older_shop_is_told_as_it_stands() -> None:
    assert joblog.sentence("polished", {}) == "Polished"
    assert joblog.sentence("document stored", {"sha256": "…"}) == "Document stored"


def test_typed_text_on_the_sheet_stays_text(technician: Client) -> None:
    owner = CustomerFactory(name="<script>alert(1)</script>")
    job = line.job_at(Stage.EXAMINE, complaint="<b>dead</b>")
    models.Device.objects.filter(pk=job.device_id).update(customer=owner)
    html = technician.get(sheet_of(job)).content.decode()
    assert "<script>alert" not in html
    assert "<b>dead" not in html
    assert "&lt;b&gt;dead&lt;/b&gt;" in html


def test_no_such_job_is_not_found(technician: Client) -> None:
    assert technician.get("/jobs/999/").status_code == 404


# --- device and customer


def test_phone_nameplate_and_recall_stand_on_the_sheet(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.COUNTER)
    job = line.take_in(phone="0660 555 0100", recall=LOOKED)
    models.Device.objects.update(rated_voltage_mv=14400, rated_capacity_mah=2600, charger_voltage_mv=16800)
    seen = words(client.get(sheet_of(job))).replace("\u202f", " ").replace("\u2009", " ")
    assert "Ida Moor, 0660 555 0100" in seen
    assert "Garden pump GP-3, 14.40 V , 2600 mAh" in seen
    assert "Charger output 16.80 V" in seen
    assert "nothing found, looked on 24 Nov 2026: maker" in seen
    assert 'href="tel:06605550100"' in client.get(sheet_of(job)).content.decode()


def test_what_was_not_known_at_the_counter_is_written_down_from_the_sheet(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.COUNTER)
    job = line.take_in()
    models.Device.objects.update(serial="")
    sheet_page = client.get(sheet_of(job))
    assert "nobody has looked yet" in words(sheet_page)
    assert f'action="/jobs/{job.number}/complete/"' in sheet_page.content.decode()
    looked = {"recall_source": "maker's page", "recall_checked_on": "2026-11-24", "recall_result": "nothing found"}
    half = send(client, f"/jobs/{job.number}/complete/", serial="GP3-118", recall_source="maker's page")
    assert set(half.context["more_known"].errors) == {"recall_checked_on", "recall_result"}
    assert 'value="GP3-118"' in half.content.decode()
    assert send(client, f"/jobs/{job.number}/complete/", serial="GP3-118", **looked).url == sheet_of(job)
    seen = words(client.get(sheet_of(job)))
    assert "Serial number GP3-118; looked for a recall: nothing found" in seen
    still = client.get(sheet_of(job)).context["more_known"].fields
    assert not {"serial", "recall_source"} & set(still)
    typed = {"maker": "Vale", "rated_voltage_mv": "14.4", "rated_capacity_mah": "2.6 Ah", "charger_voltage_mv": "16.8"}
    typed |= {"chemistry": "nmc", "phone": "0660 555 0100", "email": "ida@example.org"}
    send(client, f"/jobs/{job.number}/complete/", **{name: typed[name] for name in still})
    seen = words(client.get(sheet_of(job)))
    assert "chemistry lithium nickel manganese cobalt oxide (NMC)" in seen or "NMC" in seen
    assert "Write down what is known by now" not in seen


def test_a_recall_found_later_leads_to_what_to_do_now(technician: Client) -> None:
    job = line.take_in()
    looked = {"recall_source": "maker's page", "recall_checked_on": "2026-11-24", "recall_result": "fire hazard"}
    sent = send(technician, f"/jobs/{job.number}/complete/", recalled="on", **looked)
    assert sent.url == f"/jobs/{job.number}/danger/"
    assert "recalled fire hazard, looked on 24 Nov 2026" in words(technician.get(sheet_of(job)))
