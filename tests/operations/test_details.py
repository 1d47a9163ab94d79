"""What else an opened pack shows: stated whole, judged where it is due, kept when stated anew."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import ContactKind, JobKind, Opening, Outcome, Sealing, Stage
from shop import models
from shop.operations import details
from shop.operations.details import Contact, Details
from tests import line
from tests.factories import CellModelFactory
from tests.operations.test_examination import examine
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    CellModelFactory()
    return line.job_at(Stage.EXAMINE)


def describe(job: models.Job, **stated: Any) -> models.PackDetails:
    return details.describe(job=job, details=Details(**stated), by=line.technician())


def test_it_is_stated_whole_and_the_earlier_one_stays(job: models.Job) -> None:
    sensor = Contact(kind=ContactKind.SENSOR, place=" between groups 2 and 3 ", ohm=Decimal(10150), mdegc=21000)
    cut_off = Contact(kind=ContactKind.CUT_OFF, place="on group 4", open=True)
    describe(job, opens=Opening.SCREWS)
    last = describe(job, sealing=Sealing.GASKET, ip_code="ip x7", contacts=[sensor, cut_off])
    assert [row.opens for row in job.details.all()] == ["screws", "unknown"]
    assert (last.sealing, last.ip_code) == ("gasket", "IPX7")
    assert last.contacts == [
        {"kind": "sensor", "place": "between groups 2 and 3", "ohm": "10150", "open": False, "mdegc": 21000},
        {"kind": "cut_off", "place": "on group 4", "ohm": None, "open": True, "mdegc": None},
    ]


# IEC 60364-6, 500 V: at least 1 MΩ (from memory); due with metal to be touched or above 60 V DC: common practice.
@pytest.mark.parametrize(
    ("stated", "outcome"),
    [
        ({"metal": True, "insulation_kohm": Decimal(1000)}, Outcome.PASS),
        ({"metal": True, "insulation_kohm": Decimal(999)}, Outcome.FAIL),
        ({"metal": True, "insulation_kohm": Decimal(0)}, Outcome.FAIL),
        ({"metal": True}, Outcome.UNKNOWN),
        ({"insulation_kohm": Decimal(20_000)}, Outcome.PASS),
        ({"metal": False}, None),
        ({}, None),
    ],
)
def test_insulation_is_judged_where_it_was_measured_or_is_due(
    job: models.Job, stated: dict[str, Any], outcome: Outcome | None
) -> None:
    row = describe(job, **stated)
    assert [one["outcome"] for one in row.findings] == ([outcome] if outcome else [])


@pytest.mark.parametrize(("series", "due"), [(14, False), (15, True)])
def test_above_60_v_dc_it_is_due_whatever_the_case_is_of(job: models.Job, series: int, due: bool) -> None:
    """14 groups of 4.20 V have 58.8 V, 15 have 63 V."""
    examine(job, series=series, parallel=1, pack_voltage_mv=None, group_voltages_mv=[])
    job.refresh_from_db()
    assert bool(describe(job, metal=False).findings) is due


@pytest.mark.parametrize(("mv", "due"), [(60_000, False), (60_001, True)])
def test_before_the_pack_is_counted_the_nameplate_tells(job: models.Job, mv: int, due: bool) -> None:
    models.Device.objects.update(charger_voltage_mv=mv)
    job.refresh_from_db()
    assert bool(describe(job).findings) is due


@pytest.mark.parametrize(
    ("stated", "code", "field"),
    [
        ({"ip_code": "67"}, "no_ip_code", "ip_code"),
        ({"ip_code": "IP7X"}, "no_ip_code", "ip_code"),
        ({"insulation_kohm": Decimal(-1)}, "impossible_value", "insulation_kohm"),
        ({"board_overcharge_mv": 42_000}, "impossible_value", "board_overcharge_mv"),
        (
            {"board_overcharge_mv": 2800, "board_undervoltage_mv": 4250},
            "impossible_value",
            "board_undervoltage_mv",
        ),
        ({"contacts": [Contact(kind=ContactKind.SENSOR, place=" ")]}, "contact_incomplete", "contact 1"),
        (
            {"contacts": [Contact(kind=ContactKind.SENSOR, place="x", ohm=Decimal(1), open=True)]},
            "contact_incomplete",
            "contact 1",
        ),
        ({"contacts": [Contact(kind=ContactKind.SENSOR, place="x")] * 13}, "too_many", "contacts"),
    ],
)
def test_what_is_refused(job: models.Job, stated: dict[str, Any], code: str, field: str) -> None:
    with refused(code, field=field):
        describe(job, **stated)


def test_once_the_old_pack_is_apart_nothing_is_added() -> None:
    job = line.job_at(Stage.PLACE)
    with refused("out_of_order"):
        describe(job)


def test_a_pack_of_unequal_groups_holds_what_was_counted_and_what_its_smallest_gives(job: models.Job) -> None:
    """2 + 2 + 1 + 2 = 7 cells; the group of one limits it."""
    found = examine(job, counts=[2, 2, 1, 2])
    assert (found.counts, found.parallel, found.fullest, found.cell_count) == ([2, 2, 1, 2], 1, 2, 7)
    assert found.arrangement == "4s, 2 + 2 + 1 + 2 cells"
    assert job.items.get().cell_count == models.cells_due_out(job) == 7
    assert job.log.get(verb="examined").facts["arrangement"] == found.arrangement


def test_counts_that_are_all_alike_are_the_arrangement(job: models.Job) -> None:
    assert examine(job, counts=[2, 2, 2, 2]).counts == []


@pytest.mark.parametrize(
    ("counts", "code"),
    [([2, 2, 2], "wrong_count"), ([2, 2, 0, 2], "impossible_value"), ([900, 299, 1, 1], "impossible_value")],
)
def test_counts_that_cannot_be(job: models.Job, counts: list[int], code: str) -> None:
    with refused(code, field="counts"):
        examine(job, counts=counts)


def test_unequal_groups_are_not_repaired_group_by_group() -> None:
    CellModelFactory()
    job = line.job_at(Stage.EXAMINE, kind=JobKind.GROUP_REPAIR)
    with refused("uneven_repair", field="counts"):
        examine(job, counts=[2, 2, 1, 2])
