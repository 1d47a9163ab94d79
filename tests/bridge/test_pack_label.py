"""The label of a pack: the job's own numbers, what is rated and never what was measured, and how it may travel."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from html import unescape
from typing import Any

import pytest

from packs import documents as content
from packs.documents import PackLabel, freeze, thaw
from packs.terms import DocumentKind, JobKind, Measure, Stage, Travels
from shop import models, printing
from shop.bridge import documents
from shop.operations import closeout
from tests import line, papers
from tests.refusal import refused

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 23, 30, tzinfo=UTC)


def label(job: models.Job) -> PackLabel:
    found = thaw(documents.build(job, DocumentKind.PACK_LABEL, number=7, by=line.technician(), at=AT))
    assert isinstance(found, PackLabel)
    return found


def said(paper: Any) -> str:
    text = unescape(re.sub(r"<[^>]+>", " ", printing.page(freeze(paper))))
    return re.sub(r" (?=[.,;:])", "", re.sub(r"\s+", " ", text))


@pytest.fixture
def proved() -> models.Job:
    return line.job_at(Stage.HAND_OVER)


def test_rated_energy_is_rated_capacity_times_nominal_voltage_and_never_what_was_measured(proved: models.Job) -> None:
    """49 CFR 171.8: Ah times V. Eight cells of 2.6 Ah and 3.6 V: 14.4 V × 5.2 Ah = 74.88 Wh, worked out by hand."""
    measured = models.Reading.objects.filter(job=proved, stage=Stage.FINAL_TEST.value, measure=Measure.CAPACITY.value)
    assert measured.get().value < 5200
    paper = label(proved)
    assert (paper.pack.nominal_voltage_mv, paper.pack.rated_capacity_mah) == (14400, Decimal("5200.0"))
    assert paper.pack.rated_energy_mwh == Decimal(74880)
    for words in (
        "Rebuilt battery pack",
        "14.40 V nominal",
        "5.20 Ah rated",
        "74.88 Wh rated",
        "Lithium-ion, lithium nickel manganese cobalt oxide (NMC)",
        "Charge at most 16.80 V, 5.200 A",
        "Load at most 6.000 A",
        "Rebuilt by Lindenhof Cell Works",
        "Do not open, crush, pierce",
        "Old ratings and marks of approval or certification on the pack are covered",
        "GP3-118",
        "Collected in person.",
    ):
        assert words in said(paper), words


def test_the_day_is_the_one_the_pack_was_proved(proved: models.Job) -> None:
    proved.steps.filter(stage=Stage.FINAL_TEST.value).update(ended_at=datetime(2026, 11, 20, 12, tzinfo=UTC))
    assert label(proved).built_on == date(2026, 11, 20)
    assert "November 2026" in said(label(proved))


def test_there_is_no_label_before_the_pack_is_proved() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    line.technician()
    with refused("not_tested"):
        label(job)


def test_a_repaired_pack_keeps_its_own_label_and_a_pack_for_stock_is_new() -> None:
    repaired = said(label(line.job_at(Stage.HAND_OVER, kind=JobKind.GROUP_REPAIR)))
    assert "Battery pack, group 2 replaced" in repaired
    assert "own label stays on it" in repaired
    assert "rated when new" in repaired
    built = said(label(line.job_at(Stage.INTO_STOCK)))
    assert "A new pack, a new type" in built
    assert "Maker, model and serial" not in built


@pytest.mark.parametrize(
    ("old", "new", "is_new_type"),
    [
        pytest.param(
            (400_000, 36_000), (480_000, 36_000), False, id="reference, section 10: +20.0 % Wh is not above 20 %"
        ),
        pytest.param((400_000, 36_000), (480_100, 36_000), True, id="reference, section 10: 480.1 Wh is"),
        pytest.param((400_000, 36_000), (319_000, 36_000), True, id="reference, section 10: -20.25 % Wh is"),
        pytest.param((400_000, 36_000), (400_000, 43_200), False, id="reference, section 10: +20.0 % V is not"),
        pytest.param((400_000, 36_000), (400_000, 48_000), True, id="reference, section 10: 36 to 48 V is"),
    ],
)
def test_whether_it_is_a_new_type_is_told_and_never_that_no_test_is_needed(
    old: tuple[int, int], new: tuple[int, int], is_new_type: bool
) -> None:
    """UN Manual of Tests and Criteria, 38.3.2.2 (b), as quoted in a maker's test report."""
    before, now = (
        replace(papers.rating(), rated_energy_mwh=Decimal(energy), nominal_voltage_mv=Decimal(volts))
        for energy, volts in (old, new)
    )
    change = content.rating_change(*(Decimal(value) for value in (old[0], new[0], old[1], new[1])))
    told = said(replace(papers.pack_label(), pack=now, found=before, change=change))
    assert ("A new type by 38.3.2.2 (b)" in told) is is_new_type
    assert ("a competent person judges" in told) is not is_new_type
    assert not re.search(r"no (further )?tests? (is|are) (needed|required)|not needed", told)


def test_the_bin_has_the_size_that_the_pack_asks_for() -> None:
    """Art. 13(4) of (EU) 2023/1542: 3 % of the largest side, at most 5 cm; here a side of 14 mm was worked out."""
    paper = papers.pack_label()
    assert 'width="14.0mm" height="14.0mm" role="img"><title>crossed-out wheeled bin</title>' in printing.page(
        freeze(paper)
    )
    elsewhere = replace(paper.market, bin_asked=False)
    assert "crossed-out wheeled bin" not in printing.page(freeze(replace(paper, market=elsewhere)))


@pytest.mark.parametrize("travels", [Travels.ROAD, Travels.SEA])
def test_without_word_on_its_transport_tests_a_pack_is_collected_in_person(
    proved: models.Job, travels: Travels
) -> None:
    line.issue_papers(proved)
    with refused("transport_tests_missing", field="transport_tests"):
        closeout.hand_over(job=proved, received_by="Ida Moor", travels=travels, by=line.technician())
    closeout.hand_over(
        job=proved,
        received_by="Ida Moor",
        travels=travels,
        transport_tests="A. Reed, report 38-7",
        by=line.technician(),
    )
    proved.refresh_from_db()
    assert proved.closed_at
