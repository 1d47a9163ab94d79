"""What the health report works out by itself, and that nothing is lost when it is frozen. Numbers worked out by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest

from packs import documents
from packs.terms import DocumentKind, JointMethod
from tests import papers


def report(**tested: object) -> documents.HealthReport:
    found = documents.AsFound(papers.rating(), JointMethod.SPOT_WELD, "", "", "", None, (None,) * 4)
    whole = documents.PackTest(
        capacity_mah=Decimal(4160),
        current_ma=Decimal(1040),
        end_mv=Decimal(12000),
        temperature_mdegc=Decimal(22000),
        pack_rest_mv=Decimal(16480),
        groups_mv=(Decimal(4130), Decimal(4090), Decimal(4130), Decimal(4130)),
        resistance_uohm=Decimal(182000),
        resistance_method="DC pulse 10 s",
    )
    head = papers.heading(DocumentKind.HEALTH_REPORT, "HR0001")
    return documents.HealthReport(head, papers.TYPED, "", found, replace(whole, **tested), (), (), ())


def test_health_is_measured_over_rated() -> None:
    """4160 of 5200 mAh are 80 %."""
    assert report().health == Decimal("0.8")
    assert report(capacity_mah=None).health is None
    assert report(capacity_mah=Decimal(0)).health == 0


@pytest.mark.parametrize(
    ("groups", "lowest"),
    [((4130, 4090, 4130), 2), ((4090, 4130), 1), ((4130, 4130), None), ((4130, None, 4090), None), ((), None)],
)
def test_the_lowest_group_is_named_only_where_it_is_known(groups: tuple[int | None, ...], lowest: int | None) -> None:
    values = tuple(None if value is None else Decimal(value) for value in groups)
    assert report(groups_mv=values).lowest_group == lowest


def test_what_was_not_measured_is_said() -> None:
    always = ("single cells, which stayed in the pack", "self-discharge")
    assert report().not_measured == always
    said = report(capacity_mah=None, resistance_uohm=None, groups_mv=(None, Decimal(4090))).not_measured
    assert said[0].startswith("the capacity")
    assert "some of the groups at rest" in said
    assert "the groups at rest" in report(groups_mv=(None, None)).not_measured
    assert "the resistance of the pack" in said
    assert "the end voltage of the discharge" in report(end_mv=None).not_measured


def test_it_is_frozen_and_read_again_without_losing_a_digit() -> None:
    assert documents.thaw(documents.freeze(report())) == report()
