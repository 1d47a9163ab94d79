"""Papers as frozen content: nothing is lost, nothing is guessed, sums are exact."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from packs import documents
from packs.documents import freeze, thaw
from packs.errors import ImpossibleValue
from tests import papers


@pytest.mark.parametrize("made", papers.ALL.values(), ids=papers.ALL)
def test_a_paper_comes_back_as_it_was_frozen(made: object) -> None:
    paper = made()
    stored = json.dumps(freeze(paper), allow_nan=False)
    back = thaw(json.loads(stored))
    assert back == paper
    assert type(back) is type(paper)
    assert json.dumps(freeze(back)) == stored


def test_decimals_keep_their_digits() -> None:
    frozen = freeze(papers.disposal(papers.unit(rated_energy_mwh=Decimal("20004.10"), mass_mg=Decimal("4.6E+4"))))
    unit = frozen["sections"][0]["units"][0]
    assert (unit["rated_energy_mwh"], unit["mass_mg"]) == ("20004.10", "46000")


def test_a_float_is_not_frozen() -> None:
    with pytest.raises(ImpossibleValue):
        freeze(papers.disposal(papers.unit(mass_mg=46000.0)))


def test_a_paper_from_before_a_field_was_added_is_read_with_its_default() -> None:
    frozen = freeze(papers.job_card())
    for group in frozen["groups"]:
        del group["rest_mv"], group["charged_mv"]
    assert thaw(frozen) == papers.job_card()


@pytest.mark.parametrize(
    "spoilt",
    [
        pytest.param({}, id="empty"),
        pytest.param({"heading": {"kind": "letter"}}, id="no kind of ours"),
        pytest.param({"groups": 3}, id="a number for a list"),
        pytest.param({"complaint_": "x"}, id="a field nobody knows"),
        pytest.param({"target": {"rating": {}}}, id="fields missing"),
    ],
)
def test_what_is_no_paper_is_refused(spoilt: dict[str, object]) -> None:
    content = (freeze(papers.job_card()) | spoilt) if spoilt else {}
    with pytest.raises(ImpossibleValue):
        thaw(content)


def test_the_bench_does_not_learn_the_name_of_the_customer() -> None:
    """Data minimisation, GDPR Article 5 (1) (c): the bench needs the device, not its owner."""
    assert not any("customer" in name for name in documents.JobCard.__dataclass_fields__)


def test_a_caution_stands_at_its_first_step_and_later_ones_name_that_step() -> None:
    """Every step of this card says "For every step.", its own words, and "Asks for more."; here the last of all says 1's."""
    card = papers.job_card()
    assert card.always == ("For every step.", "Asks for more.")
    last = replace(card.steps[-1], cautions=(*card.steps[-1].cautions, "Beware of step 1."))
    card = replace(card, steps=(*card.steps[:-1], last))
    assert [(new, again) for _, new, again in card.cautioned] == [
        *(((f"Beware of step {number}.",), ()) for number in range(1, 8)),
        (("Beware of step 8.",), (1,)),
    ]


def test_two_joints_to_each_cell() -> None:
    """Two terminals to each of eight cells; common practice, no source."""
    assert papers.job_card().joint_count == 16


def test_bought_and_reclaimed_add_up() -> None:
    report = papers.test_report()
    assert (report.bought, report.reclaimed) == (4, 4)


def test_a_note_adds_up_exactly() -> None:
    """Watt-hours are rated ampere-hours times nominal volts (49 CFR 171.8): 60 × 2.6 × 3.6 + 9.36 = 570.96."""
    note = papers.disposal(papers.unit(count=60, rated_energy_mwh=Decimal("561600.00")), papers.unit())
    assert (note.count, note.rated_energy_mwh, note.mass_mg) == (61, Decimal(570960), Decimal(92000))


@pytest.mark.parametrize("unknown", ["count", "rated_energy_mwh", "mass_mg"])
def test_one_thing_not_known_leaves_the_sum_not_known(unknown: str) -> None:
    note = papers.disposal(papers.unit(), papers.unit(**{unknown: None}))
    sums = {"count": note.count, "rated_energy_mwh": note.rated_energy_mwh, "mass_mg": note.mass_mg}
    assert sums.pop(unknown) is None
    assert None not in sums.values()


MANUAL = "UN Manual of Tests and Criteria 38.3.2.2 (b)"


@pytest.mark.parametrize(
    ("wh", "volts", "new_type"),
    [
        pytest.param(("400", "480"), ("36", "36"), False, id=f"{MANUAL}: +20 % energy is not more than 20 %"),
        pytest.param(("400", "480.1"), ("36", "36"), True, id=f"{MANUAL}: just above"),
        pytest.param(("400", "320"), ("36", "36"), False, id=f"{MANUAL}: -20 % energy"),
        pytest.param(("400", "319"), ("36", "36"), True, id=f"{MANUAL}: -20.25 % energy"),
        pytest.param(("400", "400"), ("36", "43.2"), False, id=f"{MANUAL}: +20 % voltage"),
        pytest.param(("400", "400"), ("36", "43.201"), True, id=f"{MANUAL}: voltage just above"),
        pytest.param(("400", "400"), ("36", "48"), True, id=f"{MANUAL}: 36 to 48 V"),
        pytest.param(("400", "400"), ("48", "36"), False, id=f"{MANUAL}: less voltage is no new type by itself"),
    ],
)
def test_when_a_change_makes_a_new_type(wh: tuple[str, str], volts: tuple[str, str], new_type: bool) -> None:
    change = documents.rating_change(*map(Decimal, wh), *map(Decimal, volts))
    assert change.new_type is new_type


@pytest.mark.parametrize("old", [(Decimal(0), Decimal(36)), (Decimal(400), Decimal(0)), (Decimal("NaN"), Decimal(36))])
def test_nothing_to_compare_with_is_refused(old: tuple[Decimal, Decimal]) -> None:
    with pytest.raises(ImpossibleValue):
        documents.rating_change(old[0], Decimal(400), old[1], Decimal(36))


def test_thawed_papers_are_frozen() -> None:
    paper = thaw(freeze(papers.receipt()))
    with pytest.raises(AttributeError):
        paper.customer = "somebody else"
    assert replace(paper, customer="x") != paper
