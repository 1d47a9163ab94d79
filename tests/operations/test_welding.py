"""Before welding: today's peel sample at both poles, the pulse between its bounds, and a second look that is one.

NASA JSC PRC-0009, Revision E (2019) asks for a peel test of each combination; AWS D17.2 for witness specimens of the
same material and thickness each day. Pulses, strips and the ten minutes are invented or common practice, no source.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from packs.terms import CellEnd, JointMethod, Outcome, Peeled, Specimen, Stage
from shop import models
from shop.bridge.rules import Weld, sampled
from shop.bridge.rules.building import NOT_CONFIRMED
from shop.operations import rebuild, welding
from shop.web.forms.building import JoinForm
from shop.web.views.building import _welds
from tests import line
from tests.operations.stopped import joined, rests
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db
ALL = range(1, 6)


@pytest.fixture
def job() -> models.Job:
    job = line.job_at(Stage.MEASURE)
    rests(job, dict.fromkeys(line.names(), 3620))
    job.refresh_from_db()
    assert not job.peel_samples.exists()
    return job


def weld(pulse: float) -> Weld:
    return Weld(machine=line.WELD.machine, schedule=line.WELD.schedule, pulse=Decimal(str(pulse)))


def sample(job: models.Job, pulse: float, peeled: Peeled, *ends: CellEnd, **given: Any) -> None:
    stated = {"weld": weld(pulse), "specimen": Specimen.PLATED_STEEL, "by": line.technician()}
    welding.record_samples(job=job, peeled=dict.fromkeys(ends or CellEnd, peeled), **stated | given)


def outcomes(job: models.Job, pulse: float | None) -> list[Outcome]:
    """Sample and window at the positive pole, then at the negative one."""
    found = sampled(job.plans.get(), None if pulse is None else weld(pulse), timezone.now())
    return [one.outcome for one in found]


def test_without_a_sample_of_today_nothing_is_welded(job: models.Job) -> None:
    poles = ["join.peel_sample", "join.pulse_window"] * 2
    strips = [rebuild.StripJoined(strip=number, spots=4) for number in ALL]
    given = {"job": job, "strips": strips, "second_look": True, "second_look_by": "Jon Adler", "by": line.technician()}
    with held_by(*poles):
        rebuild.join(weld=line.WELD, **given)
    sample(job, 14, Peeled.HELD, now=timezone.now() - timedelta(days=1))
    with held_by(*poles):
        rebuild.join(weld=line.WELD, **given)
    sample(job, 14, Peeled.HELD)
    with held_by(*poles):
        rebuild.join(**given)
    assert not models.Joint.objects.exists(), "a joint that no sample came before is none"
    done = rebuild.join(weld=line.WELD, **given)
    assert done.done
    assert "welded with bench welder, two pulses, ms, pulse 14" in done.step.confirmed
    assert f"second look by Jon Adler{NOT_CONFIRMED}" in done.step.confirmed


def test_cap_and_can_are_sampled_apart(job: models.Job) -> None:
    sample(job, 14, Peeled.HELD, CellEnd.POSITIVE)
    assert outcomes(job, 14) == [Outcome.PASS, Outcome.PASS, Outcome.UNKNOWN, Outcome.UNKNOWN]
    sample(job, 14, Peeled.LOOSE, CellEnd.NEGATIVE)
    assert outcomes(job, 14) == [Outcome.PASS, Outcome.PASS, Outcome.FAIL, Outcome.FAIL]


def test_the_newest_sample_of_a_pulse_counts_once_the_electrodes_are_dressed(job: models.Job) -> None:
    sample(job, 14, Peeled.LOOSE)
    sample(job, 15, Peeled.LOOSE)
    sample(job, 14, Peeled.HELD)
    assert outcomes(job, 14)[:2] == [Outcome.PASS, Outcome.FAIL]
    sample(job, 15, Peeled.HELD)
    assert outcomes(job, 14) == outcomes(job, 15) == [Outcome.PASS] * 4
    sample(job, 14, Peeled.LOOSE)
    assert outcomes(job, 14)[:2] == [Outcome.FAIL, Outcome.FAIL]


def test_what_burnt_through_stays_for_the_day(job: models.Job) -> None:
    sample(job, 14, Peeled.BURNT)
    sample(job, 14, Peeled.HELD)
    assert outcomes(job, 14)[:2] == [Outcome.PASS, Outcome.FAIL]


def test_the_refusal_says_which_sample_and_which_pole_and_the_list_marks_the_setting(job: models.Job) -> None:
    at = timezone.now()
    sample(job, 15, Peeled.LOOSE, CellEnd.NEGATIVE, now=at)
    sample(job, 14, Peeled.HELD, now=at)
    (found,) = (one for one in sampled(job.plans.get(), weld(14), at) if one.outcome is Outcome.FAIL)
    told = f"pulse 15 of {timezone.localtime(at):%H:%M} did not hold"
    assert found.where == f"negative terminal, {told}"
    sample(job, 16, Peeled.HELD, now=at)
    form = JoinForm(strips={}, method=JointMethod.SPOT_WELD, welds=_welds(job.plans.get()))
    labels = dict(form.fields["weld"].choices)  # type: ignore[attr-defined]
    assert labels["bench welder|two pulses, ms|16"] == "bench welder, two pulses, ms, pulse 16"
    assert labels["bench welder|two pulses, ms|14"].endswith(f"pulse 14 (negative terminal: {told})")
    assert form.fields["weld"].initial == "bench welder|two pulses, ms|16"


# Loose at 12, burnt through at 18: the window is open between them; at 12 itself the newest sample counts.
@pytest.mark.parametrize(
    ("pulse", "window"),
    [(11.9, "fail"), (12, "pass"), (12.01, "pass"), (14, "pass"), (17.99, "pass"), (18, "fail"), (18.1, "fail")],
)
def test_the_pulse_lies_between_what_did_not_hold_and_what_burnt_through(
    job: models.Job, pulse: float, window: str
) -> None:
    sample(job, 12, Peeled.LOOSE)
    sample(job, 18, Peeled.BURNT)
    sample(job, pulse, Peeled.HELD)
    assert outcomes(job, pulse)[1] == window


@pytest.mark.parametrize(
    "changed", [{"machine": "field welder"}, {"schedule": "one pulse, ms"}, {"pulse": Decimal(15)}]
)
def test_a_sample_of_another_setting_tells_nothing(job: models.Job, changed: dict[str, Any]) -> None:
    sample(job, 14, Peeled.HELD, weld=Weld(**vars(line.WELD) | changed))
    assert outcomes(job, 14)[0] is Outcome.UNKNOWN


@pytest.mark.parametrize(
    "changed", [{"strip_thickness_um": 200}, {"strip_width_um": 6000}, {"strip_material": "plated_steel"}]
)
def test_a_sample_of_another_strip_tells_nothing(job: models.Job, changed: dict[str, Any]) -> None:
    sample(job, 14, Peeled.HELD)
    assert outcomes(job, 14)[0] is Outcome.PASS
    job.plans.update(**changed)
    assert outcomes(job, 14)[0] is Outcome.UNKNOWN


def test_nothing_is_sampled_where_nothing_is_welded() -> None:
    job = line.built_of(2, 2, joint_method=JointMethod.SOLDERED_TAB)
    with refused("not_welded"):
        sample(job, 14, Peeled.HELD)
    assert sampled(job.plans.get(), weld(14), timezone.now()) == []


def test_a_sample_without_an_outcome_is_none(job: models.Job) -> None:
    with refused("no_sample"):
        welding.record_samples(job=job, weld=line.WELD, specimen=Specimen.SCRAP_CAN, peeled={}, by=line.technician())


@pytest.mark.parametrize(("pause", "goes"), [(None, False), (9, False), (10, True), (11, True)])
def test_who_looks_again_pauses_first_and_the_paper_says_so(job: models.Job, pause: int | None, goes: bool) -> None:
    line.photograph_the_cells(job)
    if not goes:
        line.peel(job)
        with held_by("join.second_look_pause"):
            joined(job, ALL, second_look_by="", pause_min=pause)
        return
    result = joined(job, ALL, second_look_by="", pause_min=pause)
    assert result.done
    assert f"second look by the same person after a pause of {pause} min" in result.step.confirmed


def test_who_looks_alone_keeps_photographs_or_a_lead_accepts_that_there_are_none(job: models.Job) -> None:
    line.peel(job)
    alone = {"second_look_by": "", "pause_min": 10}
    with held_by("join.second_look_photographs"):
        joined(job, ALL, **alone)
    line.accept_in_writing(job, "join.second_look_photographs", "no camera on the bench")
    job.refresh_from_db()
    assert joined(job, ALL, **alone).done


@pytest.mark.parametrize("name", ["Technician", "technician", " TECHNICIAN "])
def test_ones_own_name_is_not_another_person(job: models.Job, name: str) -> None:
    line.peel(job)
    with held_by("join.second_look_pause", "join.second_look_photographs"):
        joined(job, ALL, second_look_by=name)
