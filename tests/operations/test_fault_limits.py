"""What is not believed of a pack whose fault is looked for; the values are invented, the bounds common practice."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Chemistry, Circumstance, GroupsReadAs, Stage
from shop import models
from shop.operations import fault_finding
from shop.operations.fault_finding import KnownPack, Probe
from shop.selectors import faults as search
from tests import line
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def stated(job: models.Job, *, sure: bool = False, **known: Any) -> models.FaultSearch:
    pack = KnownPack(**{"series": 4, "chemistry": Chemistry.NMC} | known)
    return fault_finding.state_pack(job=job, pack=pack, by=line.technician(), sure=sure)


def read(job: models.Job, circumstance: Circumstance, low: str, high: str, **shown: Any) -> None:
    probes = [Probe(low=low, high=high, **shown)]
    fault_finding.record_probes(job=job, circumstance=circumstance, probes=probes, by=line.technician())


def test_another_number_of_groups_than_the_examination_found_is_asked_back_beside_its_field() -> None:
    job = line.job_at(Stage.TARGET)
    with refused("unlikely_value") as error:
        stated(job, series=5)
    assert error.value.field == "series"
    assert "The examination found 4 groups in series, not 5" in error.value.message
    assert stated(job, series=5, sure=True).series == 5


def test_voltages_of_another_number_of_groups_are_never_told_to_these() -> None:
    job = line.job_at(Stage.TARGET)
    with refused("impossible_value") as error:
        stated(job, series=5, sure=True, examined_as=GroupsReadAs.TERMINALS)
    assert error.value.field == "examined_as"


def test_a_load_beyond_what_the_weakest_group_is_rated_for_is_refused() -> None:
    """Two cells of 5.2 A each, by their data sheet: 10.4 A."""
    job = line.job_at(Stage.TARGET)
    with refused("impossible_value") as error:
        stated(job, load_ma=10_500)
    assert error.value.field == "load_ma"
    assert stated(job, load_ma=10_400).load_ma == 10_400


@pytest.mark.parametrize(
    ("field", "wrong", "right"),
    [
        ("temperature_mdegc", 210_000, 60_000),
        ("temperature_mdegc", -55_000, -20_000),
        ("sensor_ohm", Decimal(2), Decimal(100)),
        ("sensor_ohm", Decimal(10_000_000), Decimal(470_000)),
    ],
)
def test_what_no_pack_at_a_bench_has_is_refused_beside_its_field(field: str, wrong: Any, right: Any) -> None:
    job = line.job_at(Stage.EXAMINE)
    with refused("impossible_value") as error:
        stated(job, **{field: wrong})
    assert error.value.field == field
    assert getattr(stated(job, **{field: right}), field) == right


@pytest.mark.parametrize(
    ("low", "high", "shown", "words"),
    [
        ("group_2_negative", "group_2_positive", {"value_mv": Decimal(37_000)}, "Check the decimal mark and the unit"),
        ("group_2_negative", "group_2_positive", {"value_mv": Decimal(5_300)}, "at most 5.200"),
        ("board_input_negative", "board_input_positive", {"value_mv": Decimal(148_000)}, "in a pack of 4 groups"),
        ("sensor_negative", "sensor_positive", {"value_ohm": Decimal(20_000_000)}, "tick that it shows no connection"),
    ],
)
def test_what_no_meter_shows_there_is_refused_beside_its_pair(
    low: str, high: str, shown: dict[str, Decimal], words: str
) -> None:
    """Four groups have 20.8 V at most, a volt above the charge limit of 4.2 V each."""
    job = line.job_at(Stage.EXAMINE)
    stated(job)
    with refused("impossible_value") as error:
        read(job, Circumstance.REST, low, high, **shown)
    assert error.value.field == f"{low}~{high}"
    assert words in error.value.message
    assert not models.ProbeReading.objects.exists()


def test_a_group_with_the_wrong_sign_is_kept_since_only_the_diagnosis_can_tell() -> None:
    job = line.job_at(Stage.EXAMINE)
    stated(job)
    read(job, Circumstance.REST, "group_2_negative", "group_2_positive", value_mv=Decimal(-3_700))
    assert models.ProbeReading.objects.get().value_mv == -3_700


def test_a_reading_under_a_load_that_nobody_stated_says_nothing() -> None:
    job = line.job_at(Stage.EXAMINE)
    stated(job)
    with refused("load_not_stated"):
        read(job, Circumstance.LOAD, "group_2_negative", "group_2_positive", value_mv=Decimal(3_500))
    stated(job, load_ma=2_000)
    read(job, Circumstance.LOAD, "group_2_negative", "group_2_positive", value_mv=Decimal(3_500))


def test_what_was_stated_before_the_examination_is_held_against_what_it_found() -> None:
    """Five groups and 20 A, where there are four, of two cells of 5.2 A each by their data sheet."""
    job = line.job_at(Stage.EXAMINE)
    stated(job, series=5, load_ma=20_000)
    found = search.of_job(line.on(job, Stage.TARGET))
    assert found is not None
    assert "The examination found 4 groups in series, not 5" in found.pack.groups_doubt
    assert "rated for 10.40" in found.pack.load_doubt
    assert not any(one.loaded for one in found.standing.offered)
    assert any("state the load you will draw" in why for why in found.standing.withheld)
