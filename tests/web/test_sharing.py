"""Several jobs wait for cells of one model: shared out, accepted together or not at all. Invented cells."""

import pytest
from django.test import Client

from packs.terms import Measure, Stage
from shop import models
from shop.operations import planning
from tests import line
from tests.factories import CellFactory
from tests.refusal import refused
from tests.web.desk import send, words

pytestmark = pytest.mark.django_db
WHERE = "/match/together/"
LIMITS = {"health": "60", "window": "20", "shares": "fair", "job_1": "2", "job_2": "1"}


@pytest.fixture
def jobs(client: Client) -> list[models.Job]:
    """Two 1s2p packs, and four cells of 2600, 2600, 2400 and 2400 mAh."""
    client.force_login(line.technician())
    found = [line.job_at(Stage.TARGET) for _ in range(2)]
    for job in found:
        planning.state_target(
            job=job, target=line.target(series=1, parallel=2, charger_voltage_mv=4200), by=line.technician()
        )
        job.refresh_from_db()
    for number, mah in enumerate((2600, 2600, 2400, 2400), start=1):
        CellFactory(
            code=f"Q{number}",
            readings={Measure.CAPACITY: mah, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620},
        )
    return found


def test_fair_gives_both_the_same_and_tells_what_each_had_alone(client: Client, jobs: list[models.Job]) -> None:
    """By hand: alone 2600 + 2600 = 5200 mAh; shared fairly 2600 + 2400 = 5000 mAh each."""
    assert WHERE in client.get("/").content.decode()
    found = client.get(WHERE, LIMITS).context["found"]
    assert [(pack.weakest.magnitude, pack.alone.magnitude) for pack in found.packs] == [(5000, 5200)] * 2
    assert [pack.best for pack in found.packs] == ["no sharing gives the weakest pack more"] * 2


def test_by_priority_the_first_in_order_gets_the_best(client: Client, jobs: list[models.Job]) -> None:
    found = client.get(WHERE, LIMITS | {"shares": "priority"}).context["found"]
    told = [(pack.plan.job_id, pack.weakest.magnitude) for pack in found.packs]
    assert told == [(jobs[1].pk, 5200), (jobs[0].pk, 4800)]
    assert found.first == found.packs[0].plan
    # By hand: 5200 is the most that any two of the four hold; of the two that are left there is but one pair.
    assert found.packs[0].best == "cannot be better, even alone"
    assert found.packs[1].best == "cannot be better while those settled before it get as much"


def test_jobs_of_one_place_are_alike_and_the_page_says_so(client: Client, jobs: list[models.Job]) -> None:
    """By hand as above: neither comes first, so that both have 5000 mAh."""
    page = client.get(WHERE, LIMITS | {"shares": "priority", "job_1": "1"})
    assert [pack.weakest.magnitude for pack in page.context["found"].packs] == [5000, 5000]
    assert "have the same place: they are shared fairly" in words(page)
    ordered = client.get(WHERE, LIMITS | {"shares": "priority"})
    assert "have the same place" not in words(ordered)


def test_all_are_reserved_as_shown(client: Client, jobs: list[models.Job]) -> None:
    page = client.get(WHERE, LIMITS)
    assert "not packs that were shown" in words(send(client, WHERE, packs="made up"))
    send(client, WHERE, packs=page.context["signed"])
    assert models.PlanPosition.objects.filter(open=True).count() == 4
    assert {models.Job.objects.get(pk=job.pk).stage for job in jobs} == {Stage.DISMANTLE}
    assert "A target pack was changed since" in words(send(client, WHERE, packs=page.context["signed"]))


def test_where_one_cell_is_gone_none_gets_any(client: Client, jobs: list[models.Job]) -> None:
    line.technician()
    with refused("cells_gone"):
        planning.accept_together(
            packs=[planning.Accepted(jobs[0], [["Q1", "Q2"]]), planning.Accepted(jobs[1], [["Q3", "Q2"]])],
            by=line.technician(),
        )
    assert not models.PlanPosition.objects.exists()


def test_too_few_cells_are_told_and_a_reserved_one_does_not_count(client: Client, jobs: list[models.Job]) -> None:
    planning.accept(job=jobs[0], groups=[["Q1", "Q2"]], by=line.technician())
    third = line.job_at(Stage.TARGET)
    planning.state_target(
        job=third, target=line.target(series=1, parallel=2, charger_voltage_mv=4200), by=line.technician()
    )
    page = client.get(WHERE, LIMITS | {"job_1": "", "job_3": "2"})
    assert "This stock cannot fill all of these packs" in words(page)
    said = "Together they take 4 cells: 2 + 2. 2 cells in stock are usable under these limits: 2 more are needed"
    assert said in words(page)
    alone = f'href="/jobs/{third.number}/match/?health=60&amp;window=20'
    assert alone in page.content.decode(), "what would do for each alone is one step away, under the same limits"


def test_one_job_alone_is_not_shared_with_anybody(client: Client, jobs: list[models.Job]) -> None:
    assert "at least two jobs" in words(client.get(WHERE, LIMITS | {"job_1": ""}))
