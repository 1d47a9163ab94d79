"""Fault finding on its page: trade cases walked reading by reading. Common practice, no source; the values are invented."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import Chemistry, Circumstance, DangerSign, Role, Stage
from shop import models
from shop.operations import fault_finding, intake
from shop.web.forms.faults import ProbesForm
from tests import line
from tests.refusal import refused
from tests.web.desk import errors, primary, send, sign_in, words

pytestmark = pytest.mark.django_db

PACK = {
    "series": "4",
    "chemistry": "nmc",
    "switch": "high_side",
    "examined_as": "unused",
    "wake_voltage_mv": "12.4 V",
    "load_ma": "2 A",
}


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.EXAMINE)


@pytest.fixture
def bench(client: Client) -> Client:
    sign_in(client, Role.TECHNICIAN)
    return client


def url(job: models.Job, more: str = "") -> str:
    return f"/jobs/{job.number}/faults/{more}"


def state(bench: Client, job: models.Job, **changed: str) -> None:
    answer = send(bench, url(job, "pack/"), **PACK | changed)
    assert answer.status_code == 302, errors(answer)


def read(bench: Client, job: models.Job, set_up: str, *shown: str) -> Any:
    """Send what each pair of the set-up shows; "?" did not settle, nothing was not read."""
    typed = {f"unsteady_{n}": "on" for n, text in enumerate(shown) if text == "?"}
    typed |= {f"value_{n}": text for n, text in enumerate(shown) if text not in ("?", "")}
    return send(bench, url(job), set_up=set_up, **typed)


def groups(circumstance: str) -> str:
    pairs = ",".join(f"group_{n}_negative~group_{n}_positive" for n in range(1, 5))
    return f"{circumstance}:{pairs}"


BOARD_INPUT = "rest:board_input_negative~board_input_positive"
OUTPUT = "rest:board_output_negative~board_output_positive"
OUTLET = "rest:outlet_negative~outlet_positive"
JOINTS = "load:" + ",".join(f"group_{n}_positive~group_{n + 1}_negative" for n in (1, 2, 3))


def suspects(bench: Client, job: models.Job) -> list[tuple[str, ...]]:
    return [one.faults for one in bench.get(url(job)).context["found"].standing.suspects]


def test_before_anything_is_stated_the_one_thing_to_do_is_to_state_the_pack(bench: Client, job: models.Job) -> None:
    assert primary(bench.get(url(job))) == ["State the pack"]


def test_the_pack_as_found_is_put_in_and_its_voltages_count_where_they_were_read(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    form = bench.get(url(job, "pack/")).context["form"]
    assert (form["series"].value(), form["chemistry"].value()) == (4, "nmc")
    state(bench, job, examined_as="terminals")
    found = bench.get(url(job)).context["found"]
    of_groups = found.standing.taken
    assert [taken.value.to("V").magnitude for taken in of_groups] == pytest.approx([3.31, 3.29, 3.3, 3.3])
    read(bench, job, OUTLET, "0.0")
    again = bench.get(url(job)).context["found"].standing.taken
    assert [taken.value.to("V").magnitude for taken in again if "outlet" in taken.where] == [0.0]


def test_what_is_not_known_has_a_default_that_the_page_names(bench: Client, job: models.Job) -> None:
    state(bench, job, wake_voltage_mv="", switch="unknown", load_ma="")
    page = words(bench.get(url(job)))
    assert "not known: so no reading after the board without load proves anything" in page
    assert "the nominal voltage of the stack, above which boards wake; common practice, no source" in page
    assert "none was stated, and the cells are not known: no load is proposed until you state it" in page


def test_every_page_has_one_next_action_with_fields_for_exactly_its_pairs(bench: Client, job: models.Job) -> None:
    state(bench, job)
    answer = bench.get(url(job))
    form = answer.context["form"]
    assert isinstance(form, ProbesForm)
    proposed = answer.context["found"].standing.next
    assert [line.words for line in form.lines()] == [pair.words for pair in proposed.pairs]
    assert len(primary(answer)) == 1
    other = next(one for one in answer.context["found"].standing.offered if one != proposed)
    chosen = bench.get(url(job), {"measure": other.sign}).context["form"]
    assert [line.words for line in chosen.lines()] == [pair.words for pair in other.pairs]


def test_stack_right_and_steady_the_board_input_unsteady_is_the_joint_between_them(
    bench: Client, job: models.Job
) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), "3.70", "3.70", "3.70", "3.70")
    read(bench, job, BOARD_INPUT, "?")
    named = {fault for faults in suspects(bench, job) for fault in faults}
    assert all("joint" in fault or "lead" in fault for fault in named), named
    read(bench, job, "rest:group_2_positive~group_3_negative", "?")
    assert {fault.split(":")[0] for (fault,) in suspects(bench, job)} == {"joint between groups 2 and 3"}


def test_a_stack_near_empty_and_a_dead_outlet_is_a_board_latched_off_and_never_gone_around(
    bench: Client, job: models.Job
) -> None:
    state(bench, job, temperature_mdegc="21")
    read(bench, job, groups("rest"), "2.80", "2.80", "2.80", "2.80")
    read(bench, job, groups("load"), "2.65", "2.65", "2.65", "2.65")
    read(bench, job, BOARD_INPUT, "11.2")
    read(bench, job, OUTPUT, "0.0")
    best = bench.get(url(job)).context["found"].standing.suspects[0]
    assert best.faults == ("board: latched off below its wake voltage",)
    page = words(bench.get(url(job)))
    assert "supervised and at the current for low cells, before anything is replaced" in page
    assert "Never charge or discharge around the board." in page


def test_spent_groups_are_told_first_and_nothing_is_proposed(bench: Client, job: models.Job) -> None:
    state(bench, job, temperature_mdegc="21")
    read(bench, job, groups("rest"), "1.00", "1.00", "1.00", "1.00")
    read(bench, job, BOARD_INPUT, "4.00")
    read(bench, job, OUTLET, "0.0")
    answer = bench.get(url(job))
    assert primary(answer) == ["Go on with the job"]
    page = words(answer)
    assert page.index("Cells spent: do not charge") < page.index("Still possible")
    assert "the stack itself may be sound" not in page
    assert "Nothing wrong that" not in page
    assert "Measure something else" in page


def test_empty_groups_of_a_pack_of_unknown_switch_lead_to_the_charger_and_its_outlet_can_be_read(
    bench: Client, job: models.Job
) -> None:
    state(bench, job, switch="unknown")
    read(bench, job, groups("rest"), "2.60", "2.61", "2.63", "2.62")
    read(bench, job, BOARD_INPUT, "10.46")
    answer = bench.get(url(job))
    assert primary(answer) == ["State the temperature of the cells"]
    signs = [one.sign for one in answer.context["found"].standing.offered]
    assert {OUTLET, OUTPUT} <= set(signs)
    assert "Outlet − to outlet +" in words(answer)
    state(bench, job, switch="unknown", temperature_mdegc="21")
    page = words(bench.get(url(job)))
    assert "under the stated load, after a moment on the charger" in page.lower()
    assert "Before the load is drawn" in page
    assert "Never leave it alone" in page
    read(bench, job, OUTLET, "0.0")
    assert "proves nothing, kept" in words(bench.get(url(job)))


def test_without_a_temperature_or_with_a_danger_sign_no_charge_is_advised(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), "2.80", "2.80", "2.80", "2.80")
    read(bench, job, OUTPUT, "0.0")
    page = words(bench.get(url(job)))
    assert "a supervised charge through the board is what comes next, once there is no danger sign" in page
    assert not any("charger" in one.access for one in bench.get(url(job)).context["found"].standing.offered)


def test_one_group_that_sags_under_load_is_weak(bench: Client, job: models.Job) -> None:
    state(bench, job, load_ma="5 A", group_resistance_uohm="20 mΩ")
    read(bench, job, groups("rest"), "3.70", "3.70", "3.70", "3.70")
    read(bench, job, groups("load"), "3.58", "3.58", "2.90", "3.58")
    assert suspects(bench, job)[0] == ("group 3: weak: right at rest, sags more than the others under load",)


def test_a_volt_lost_at_one_joint_under_load_is_a_resistive_joint(bench: Client, job: models.Job) -> None:
    state(bench, job, load_ma="5 A", group_resistance_uohm="20 mΩ")
    read(bench, job, groups("rest"), "3.70", "3.70", "3.70", "3.70")
    read(bench, job, groups("load"), "3.58", "3.58", "3.58", "3.58")
    read(bench, job, JOINTS, "-1.0", "0.0", "0.0")
    assert suspects(bench, job) == [
        ("joint between groups 1 and 2: resistive: loses voltage under load, may be unsteady",)
    ]
    standing = bench.get(url(job)).context["found"].standing
    (best,) = standing.suspects
    assert any(taken.where == "group 1 + to group 2 −" for taken, _ in best.grounds)
    assert any("group 1: weak" in fault for one in standing.struck for fault in one.faults)


def test_after_a_low_side_board_without_load_a_reading_is_kept_and_named_as_proving_nothing(
    bench: Client, job: models.Job
) -> None:
    state(bench, job, switch="low_side")
    before = suspects(bench, job)
    read(bench, job, OUTLET, "0.0")
    assert models.ProbeReading.objects.get().value_mv == 0
    assert suspects(bench, job) == before
    assert "proves nothing, kept" in words(bench.get(url(job)))


def test_a_reading_taken_back_counts_no_more_and_stays_in_the_book(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), "3.70", "0.37", "3.70", "3.70")
    wrong = models.ProbeReading.objects.get(value_mv=370)
    assert "group 2" in suspects(bench, job)[0][0]
    answer = send(bench, url(job, f"{wrong.pk}/take-back/"), reason="range was set wrong")
    assert answer.status_code == 302
    assert "group 2" not in suspects(bench, job)[0][0]
    assert models.ProbeReading.objects.filter(pk=wrong.pk, value_mv=370).exists()
    assert send(bench, url(job, f"{wrong.pk}/take-back/"), reason="again").status_code == 404
    assert "Reading taken back, group 2 − to group 2 +: range was set wrong" in words(bench.get(f"/jobs/{job.number}/"))


def test_readings_that_no_fault_explains_say_so(bench: Client, job: models.Job) -> None:
    """Three groups read twice, differently: no two readings are to blame."""
    state(bench, job)
    read(bench, job, groups("rest"), "3.70", "3.70", "3.70", "3.70")
    read(bench, job, groups("rest"), "3.10", "2.70", "2.10", "3.70")
    answer = bench.get(url(job))
    assert not answer.context["found"].standing.suspects
    assert "No one or two faults explain all readings Not even without one or two of them" in words(answer)
    assert primary(answer) == ["Go through the readings"]


def test_a_reading_with_the_wrong_sign_is_named_and_taken_again(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), "3.70", "-3.70", "3.70", "3.70")
    read(bench, job, BOARD_INPUT, "14.8")
    page = words(bench.get(url(job))).replace("\u202f", " ")
    assert "One reading does not go with the others" in page
    assert (
        "Without it: nothing wrong that a meter would show. With the probes the other way round it would be 3.700 V"
        in page
    )
    wrong = models.ProbeReading.objects.get(value_mv=-3700)
    back = url(job, f"{wrong.pk}/take-back/")
    assert back in bench.get(url(job)).content.decode()
    asked = bench.get(send(bench, back, reason="probes the wrong way round").url)
    assert "group 2 − to group 2 +" in [line.words for line in asked.context["form"].lines()]


def test_a_reading_of_the_examination_that_does_not_go_with_the_others_is_left_out(bench: Client) -> None:
    """Group 1 had 3.31 V there; read again it has 2.90 V, so that one of both is wrong."""
    job = line.job_at(Stage.TARGET)
    state(bench, job, examined_as="terminals")
    read(bench, job, OUTLET, "12.9")
    read(bench, job, groups("rest"), "2.90", "3.29", "3.30", "3.30")
    answer = bench.get(url(job))
    assert {taken.row is None for one in answer.context["found"].standing.doubts for taken in one.takens} == {
        True,
        False,
    }
    assert "It was read at the examination. Leave those voltages out and read the groups here." in words(answer)


def test_a_sag_speaks_for_the_weak_group_and_stands_where_others_were_struck_out(
    bench: Client, job: models.Job
) -> None:
    state(bench, job, load_ma="5 A", group_resistance_uohm="20 mΩ")
    read(bench, job, groups("rest"), "3.70", "3.70", "3.70", "3.70")
    read(bench, job, groups("load"), "3.58", "3.58", "2.90", "3.58")
    page = words(bench.get(url(job))).replace("\u202f", " ")
    assert "For it: group 3 loses 0.800 V under load, the others 0.120 V" in page
    assert "Against it: group 1 loses 0.120 V under load, the others 0.120 V" in page
    struck = page[page.index("Struck out") :]
    assert "group 3 loses 0.800 V under load, the others 0.120 V" in struck


def test_what_a_reading_struck_out_is_one_number(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), *["3.70"] * 4)
    read(bench, job, JOINTS, "-1.0", "0.0", "0.0")
    standing = bench.get(url(job)).context["found"].standing
    listed = {one.taken: len(one.faults) for one in standing.struck}
    told = [pair for one in standing.suspects for pair in one.grounds]
    assert told
    assert all(count == listed[taken] for taken, count in told)


def test_one_single_fault_is_the_working_explanation_and_measuring_on_is_offered(
    bench: Client, job: models.Job
) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), *["3.70"] * 4)
    assert "working explanation" not in words(bench.get(url(job)))
    read(bench, job, JOINTS, "-1.0", "0.0", "0.0")
    answer = bench.get(url(job))
    page = words(answer)
    assert "One fault explains everything: joint between groups 1 and 2: resistive" in page
    assert primary(answer) == ["Go on with the job"]
    assert "Tell a second fault apart" in page
    further = bench.get(url(job), {"second": "1"})
    assert primary(further) == [
        "Record the reading" if len(list(further.context["form"].lines())) == 1 else "Record the readings"
    ]
    shown = {f"value_{n}": "0" for n in range(len(list(further.context["form"].lines())))}
    sent = send(bench, f"{url(job)}?second=1", set_up=further.context["form"].chosen.sign, **shown)
    assert sent.url.endswith("?second=1")


def test_what_was_typed_wrong_stands_beside_its_pair_and_nothing_is_kept(bench: Client, job: models.Job) -> None:
    state(bench, job)
    wrong = send(bench, url(job), set_up=groups("rest"), value_0="3.70", value_1="3.7", unsteady_1="on")
    assert list(errors(wrong)) == ["value_1"]
    assert list(errors(read(bench, job, groups("rest"), "3.7", "37 mΩ"))) == ["value_1"]
    assert list(errors(read(bench, job, groups("rest")))) == ["__all__"]
    assert "not read" in str(errors(read(bench, job, "charged:group_1_negative~group_1_positive", "3.7")))
    assert not models.ProbeReading.objects.exists()


@pytest.mark.parametrize(
    ("low", "high"),
    [
        ("group_5_negative", "group_5_positive"),
        ("group_2_positive", "group_2_negative"),
        ("outlet_negative", "board_output_positive"),
        ("group_negative", "group_1_positive"),
        ("case", "outlet_positive"),
    ],
)
def test_points_that_the_pack_does_not_have_are_refused(job: models.Job, low: str, high: str) -> None:
    _stated(job)
    with refused("impossible_value"):
        fault_finding.record_probes(
            job=job,
            circumstance=Circumstance.REST,
            probes=[fault_finding.Probe(low=low, high=high, value_mv=Decimal(3700))],
            by=line.technician(),
        )


def _stated(job: models.Job, **known: Any) -> None:
    pack = fault_finding.KnownPack(**{"series": 4, "chemistry": Chemistry.NMC} | known)
    fault_finding.state_pack(job=job, pack=pack, by=line.technician())


def test_a_pack_stated_anew_must_fit_what_was_read(job: models.Job) -> None:
    _stated(job)
    fault_finding.record_probes(
        job=job,
        circumstance=Circumstance.REST,
        probes=[fault_finding.Probe(low="group_4_negative", high="group_4_positive", unsteady=True)],
        by=line.technician(),
    )
    with refused("impossible_value"):
        _stated(job, series=3)
    assert models.FaultSearch.objects.get().series == 4


@pytest.mark.parametrize("series", [0, 31])
def test_the_number_of_groups_is_bounded(job: models.Job, series: int) -> None:
    with refused("impossible_value"):
        _stated(job, series=series)


def test_an_opened_pack_has_no_fault_to_find_any_more(bench: Client) -> None:
    job = line.job_at(Stage.PLACE)
    assert primary(bench.get(url(job))) == ["Back to the job"]
    with refused("out_of_order"):
        _stated(job)


def test_a_pack_that_waits_for_a_lead_is_not_probed(bench: Client) -> None:
    job = line.job_at(Stage.EXAMINE, signs=[DangerSign.DROPPED])
    assert primary(bench.get(url(job))) == ["Back to the job"]


def test_what_each_group_resists_is_told_once_it_was_read_at_rest_and_under_load(
    bench: Client, job: models.Job
) -> None:
    """Ohm's law by hand: (3.70 − 3.58) V / 5 A = 24 mΩ, (3.70 − 2.90) V / 5 A = 160 mΩ."""
    state(bench, job, load_ma="5 A")
    read(bench, job, groups("rest"), *["3.70"] * 4)
    assert "Resistance of the groups" not in words(bench.get(url(job)))
    read(bench, job, groups("load"), "3.58", "3.58", "2.90", "3.58")
    told = words(bench.get(url(job))).replace("\u202f", " ")
    assert "Group 1 24.0 mΩ" in told
    assert "Group 3 160.0 mΩ" in told


def test_after_a_repair_the_voltages_of_the_examination_say_nothing_any_more(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    state(bench, job, examined_as="terminals")
    assert len(bench.get(url(job)).context["found"].standing.taken) == 4
    read(bench, job, OUTPUT, "13.2")
    send(bench, url(job, "anew/"), repaired="group 2 replaced")
    assert bench.get(url(job)).context["found"].standing.taken == ()
    state(bench, job, examined_as="terminals")
    assert bench.get(url(job)).context["found"].standing.taken == ()


def test_after_a_repair_the_search_begins_anew_and_the_old_readings_stay_in_the_book(
    bench: Client, job: models.Job
) -> None:
    """Common practice, no source: a joint that was remade is another joint; what was read before it tells nothing."""
    state(bench, job)
    assert list(errors(send(bench, url(job, "anew/"), repaired="joint 2 remade"))) == ["__all__"]
    read(bench, job, groups("rest"), *["3.70"] * 4)
    read(bench, job, JOINTS, "0", "-1.0", "0")
    assert suspects(bench, job) == [
        ("joint between groups 2 and 3: resistive: loses voltage under load, may be unsteady",)
    ]
    assert list(errors(send(bench, url(job, "anew/"), repaired=" "))) == ["repaired"]
    assert send(bench, url(job, "anew/"), repaired="joint 2 remade").status_code == 302
    shown = bench.get(url(job))
    found = shown.context["found"]
    assert (found.standing.taken, len(found.earlier)) == ((), 7)
    assert "searched anew after: joint 2 remade" in words(shown)
    assert suspects(bench, job) == [("nothing wrong that a meter would show",)]
    with refused("taken_back_already"):
        fault_finding.take_back_probe(
            job=job, probe=job.probes.first(), reason="wrong", by=models.User.objects.get(username="technician")
        )
    read(bench, job, JOINTS, "0", "0", "0")
    assert len(bench.get(url(job)).context["found"].standing.taken) == 3
    assert "Fault looked for anew after: joint 2 remade" in words(bench.get(f"/jobs/{job.number}/"))


def test_a_day_later_is_not_the_same_hour(bench: Client, job: models.Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """A group that falls by the day would be struck out by what it still shows an hour later."""
    state(bench, job)
    assert read(bench, job, groups("rest"), *["3.7 V"] * 4).status_code == 302
    early = read(bench, job, groups("next_day"), *["3.7 V"] * 4)
    assert "Let the pack lie without a load for a day" in words(early)
    assert job.probes.count() == 4
    later = timezone.now() + timedelta(hours=20)
    monkeypatch.setattr(timezone, "now", lambda: later)
    sign_in(bench, Role.TECHNICIAN)
    assert read(bench, job, groups("next_day"), *["3.7 V"] * 4).status_code == 302
    assert job.probes.count() == 8


def test_the_sheet_and_the_hand_over_tell_the_fault_once_it_is_found(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, groups("rest"), *["3.70"] * 4)
    read(bench, job, JOINTS, "0", "-1.0", "0")
    intake.decline(job=job, reason="too dear", by=line.lead())
    for address in (f"/jobs/{job.number}/", f"/jobs/{job.number}/hand-over/"):
        told = words(bench.get(address))
        assert "Fault found" in told, address
        assert "Joint between groups 2 and 3: resistive" in told


def test_several_that_explain_it_alike_are_no_fault_found(bench: Client, job: models.Job) -> None:
    state(bench, job)
    read(bench, job, OUTLET, "0")
    assert len(suspects(bench, job)) > 1
    assert "Fault found" not in words(bench.get(f"/jobs/{job.number}/"))


def test_a_day_later_counts_from_the_examination_where_the_search_rests_on_it(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    state(bench, job, examined_as="terminals")
    first = min(row.measured_at for row in job.readings.of_examined_groups())
    shown = [fault_finding.Probe(low="group_1_negative", high="group_1_positive", value_mv=Decimal(3300))]
    given = {"job": job, "circumstance": Circumstance.NEXT_DAY, "probes": shown, "by": line.technician()}
    with refused("too_soon"):
        fault_finding.record_probes(**given, now=first + timedelta(hours=19))
    assert fault_finding.record_probes(**given, now=first + timedelta(hours=20))


def test_the_load_follows_from_the_weakest_group_and_the_page_says_so(bench: Client) -> None:
    """By hand for two cells of 2600 mAh and 5.2 A: a quarter of 10.4 A, and half of 5.2 Ah in an hour, are 2.6 A."""
    job = line.job_at(Stage.TARGET)
    models.CellModel.objects.update(end_of_discharge_mv=2500)  # so that 3.3 V are far enough above it for a load
    assert "2.6" in bench.get(url(job, "pack/")).context["form"]["load_ma"].value()
    state(bench, job, examined_as="terminals", load_ma="")
    offered = bench.get(url(job)).context["found"].standing.offered
    asked = {"measure": next(one.sign for one in offered if one.circumstance is Circumstance.LOAD)}
    page = words(bench.get(url(job), asked))
    assert (
        "The load is 2.600 A , since none was stated: at most a quarter of what the weakest group is rated for" in page
    )
    state(bench, job, examined_as="terminals", load_ma="5 A")
    assert "The load is 5.000 A . " in words(bench.get(url(job), asked))


def test_the_page_says_why_no_load_is_drawn(bench: Client, job: models.Job) -> None:
    state(bench, job)
    assert "no load now No group was read at rest" in words(bench.get(url(job))).replace("✕", "")
    read(bench, job, groups("rest"), "3.70", "?", "3.70", "3.70")
    answer = bench.get(url(job))
    assert "Group 2 did not settle at rest" in words(answer)
    assert not any(one.loaded for one in answer.context["found"].standing.offered)
