"""What the tests leave open, in a technician's words, and the choice of the assured capacity. Invented cells."""

import pytest
from django.test import Client

from packs.terms import Stage
from shop import models
from tests import line
from tests.web.test_match import asked, url, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(client: Client) -> models.Job:
    """Eight cells of 2530 to 2600 mAh: every group of a 4s2p can hold 5130 mAh."""
    client.force_login(line.technician())
    job = line.job_at(Stage.MATCH)
    line.stock()
    return job


def test_what_is_missing_is_told_beside_what_the_tests_can_tell(client: Client, job: models.Job) -> None:
    """Two cells 10 mAh apart change places: the weakest group loses 10 mAh, less than two tests differ by.

    The weakest group is 2590 + 2530 mAh, each tested to 0.5 %: the root of 12.95² + 12.65² is 18.1 mAh, shown as 18.
    """
    signed = client.get(url(job)).context["proposal"].signed
    page = words(client.get(url(job), asked(groups=signed, out="S001", into="S002")))
    assert "At most 10 mAh more is possible; of a group your tests repeat to 18 mAh: better cannot be measured." in page


def test_the_surest_capacity_may_be_asked(client: Client, job: models.Job) -> None:
    most = client.get(url(job), asked())
    assured = client.get(url(job), asked(aim="assured"))
    assert "assured capacity asked In nineteen cases of twenty the pack gives at least" in words(assured)
    assert "assured capacity asked" not in words(most)
    assert assured.context["proposal"].pack.low >= most.context["proposal"].pack.low


def test_where_nothing_fits_the_surest_is_advised_like_the_most(client: Client, job: models.Job) -> None:
    assert "What would do" in words(client.get(url(job), asked(aim="assured", health="99")))
