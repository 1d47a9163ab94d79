"""Matching: groups proposed, what no arrangement can beat, cells reserved as they were shown, plans given up."""

import csv
import re
import uuid
from collections.abc import Iterator
from decimal import Decimal
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.core import signing
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import strip_tags

from packs.terms import DeviceClass, LotOrigin, Measure, Role, Stage
from shop import models
from shop.bridge import matching
from shop.operations import planning, stock
from shop.selectors import joblog
from shop.web.forms.match import SALT, AcceptForm
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory, UserFactory

pytestmark = pytest.mark.django_db

TESTED = {Measure.DC_RESISTANCE: 40_000, Measure.REST_VOLTAGE: 3620}


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(line.technician())
    return client


@pytest.fixture
def job() -> models.Job:
    """A 4s2p to be filled, from eight cells of 2530 to 2600 mAh."""
    job = line.job_at(Stage.MATCH)
    line.stock()
    return job


def url(job: models.Job) -> str:
    return f"/jobs/{job.number}/match/"


def words(answer: Any) -> str:
    assert answer.status_code == 200
    text = answer.content.decode().replace("<td", " <td").replace("<span", " <span")
    return " ".join(unescape(strip_tags(text)).split())


def asked(**said: str) -> dict[str, str]:
    return {"health": "60", "window": "5", "ratio": "", "leave_out": ""} | said


def groups(answer: Any) -> set[frozenset[str]]:
    return {frozenset(group.codes) for group, _ in answer.context["proposal"].groups}


def accept(client: Client, job: models.Job, page: Any, **changed: Any) -> Any:
    """Press the button of a page as it was shown."""
    html = page.content.decode()
    hidden = dict(re.findall(r'<input type="hidden" name="([a-z_]+)" value="([^"]*)"', html))
    return client.post(url(job), hidden | changed)


@pytest.mark.parametrize(
    ("measure", "value", "said"),
    [
        (Measure.CAPACITY, 2610, "capacity of S001"),
        (Measure.DC_RESISTANCE, 55000, "resistance of S001"),
        (Measure.REST_VOLTAGE, 3650, "rest voltage of S001"),
    ],
)
def test_what_was_measured_again_since_it_was_shown_is_not_reserved(
    bench: Client, job: models.Job, measure: Measure, value: int, said: str
) -> None:
    """The figures on the page are what is accepted; each of the three can make a limit or the list to level another."""
    line.stock()
    page = bench.get(url(job), {"health": "60", "window": "5", "ratio": "1.2"})
    read = models.Reading.objects.get(cell__code="S001", measure=measure.value)
    stock.correct_reading(reading=read, value=Decimal(value), reason="misread", by=line.technician())
    told = words(accept(bench, job, page))
    assert f"The stock changed since these groups were shown ({said}). Look again." in told
    assert not models.PlanPosition.objects.exists()


def test_an_accepted_plan_keeps_its_limits_and_a_later_replacement_begins_with_them(
    bench: Client, job: models.Job
) -> None:
    line.stock()
    page = bench.get(url(job), {"health": "70", "window": "4.5 %", "ratio": "1.2", "volts": "30"})
    assert accept(bench, job, page).status_code == 302
    plan = job.plans.get()
    assert plan.limits == {
        "most_mah": "5170",
        "min_capacity_mah": "1820.0",
        "max_resistance_ratio": "1.2",
        "capacity_window": "0.045",
        "ocv_window_mv": "30",
        "required_mah": None,
        "max_self_discharge_mv_per_day": None,
        "assured": False,
        "known_history": False,
        "allow_mixed_conditions": False,
        "must_use": [],
        "must_not_use": [],
    }
    asked = bench.get(f"/jobs/{job.number}/replace/").context["limits"]
    assert [asked[name].value() for name in ("health", "window", "ratio", "volts")] == ["70 %", "4.5 %", "1.2", "30 mV"]


def weaker(**said: str) -> dict[str, str]:
    return asked(aim="weaker", holds="5070 mAh") | said


def test_weaker_cells_are_used_up(bench: Client, job: models.Job) -> None:
    """By hand: 8 cells of 2530 to 2600 mAh for 4 groups of 2 use all; with ten, the two strongest stay in stock."""
    for code, mah in (("W1", 2540), ("W2", 2550)):
        CellFactory(code=code, readings=TESTED | {Measure.CAPACITY: mah})
    page = bench.get(url(job), weaker())
    assert not {"S001", "S002"} & {code for group in groups(page) for code in group}
    assert "weaker cells used up Every group holds at least 5070 mAh" in words(page)
    assert "Say what every group holds at least." in words(bench.get(url(job), weaker(holds="")))
    assert "It is proven that no pack of these cells has 5300 mAh" in words(bench.get(url(job), weaker(holds="5300")))
    for aim in ("most", "assured"):
        told = words(bench.get(url(job), weaker(holds="5300", aim=aim)))
        assert "It is proven that no pack of these cells has 5300 mAh" in told
        assert "Reserve these" not in told


def test_what_is_known_of_a_cell_besides_its_capacity_can_keep_it_out(bench: Client, job: models.Job) -> None:
    """Each cell that is left out is named with its reason; a must and a must not of one cell is refused."""
    stated = LotFactory(code="L-KNOWN", evidence="one owner, log of the maker")
    models.Cell.objects.exclude(code="S008").update(lot=stated)
    page = words(bench.get(url(job), asked(history="on")))
    assert "S008 history not known" in page
    cells = list(models.Cell.objects.order_by("code"))
    for cell in cells:
        stock.record_reading(
            cell=cell, measure=Measure.SELF_DISCHARGE, value=Decimal(900 if cell.code == "S002" else 200),
            by=line.technician(),
        )  # fmt: skip
    assert "S002 loses 0.9 mV/day, at most 0.5 mV/day asked" in words(bench.get(url(job), asked(fall="0.5 mV/day")))
    CellFactory(code="W1", readings=TESTED | {Measure.CAPACITY: 2400})
    assert "W1" not in {code for group in groups(bench.get(url(job), asked())) for code in group}
    assert "W1" in {code for group in groups(bench.get(url(job), asked(use="W1", window="9"))) for code in group}
    both = bench.get(url(job), asked(use="W1", leave_out="W1"))
    assert "W1 stands among the cells not to use too." in words(both)


def test_cells_measured_otherwise_are_left_out_unless_they_are_asked_for(bench: Client, job: models.Job) -> None:
    """A capacity at 1 C is less than at 0.2 C, and one in the cold less than in the room: only like compares."""
    for code, conditions in (("W1", "1 C, 23 °C"), ("W2", "0 °C"), ("W3", "23 °C")):
        cell = CellFactory(code=code, readings=TESTED)
        stock.record_reading(
            cell=cell, measure=Measure.CAPACITY, value=Decimal(2605), conditions=conditions, by=line.technician()
        )
    page = bench.get(url(job), asked())
    assert {"W1", "W2", "W3"} & {code for group in groups(page) for code in group} == {"W3"}
    for code in ("W1", "W2"):
        assert f"{code} does not go with the cells chosen" in words(page)
    both = bench.get(url(job), asked(mixed="on"))
    assert {"W1", "W2", "W3"} <= {code for group in groups(both) for code in group}


def test_cells_of_a_lot_charged_together_that_drifted_are_left_out(bench: Client, job: models.Job) -> None:
    """11 mV from the middle of lot-mates that were charged on one day; common practice, no source."""
    for cell in models.Cell.objects.all():
        stock.record_reading(
            cell=cell, measure=Measure.REST_VOLTAGE, value=Decimal(3631 if cell.code == "S001" else 3620),
            method="end of a rest, after charge", by=line.technician(),
        )  # fmt: skip
    models.Cell.objects.update(lot=LotFactory(code="L-ONE"))
    assert "S001 rest voltage +11 mV from its lot-mates" in words(bench.get(url(job), asked()))


def pairings(cells: list[int]) -> Iterator[list[tuple[int, int]]]:
    """Every way to deal the cells into pairs."""
    if not cells:
        yield []
    for other in range(1, len(cells)):
        left = [*cells[1:other], *cells[other + 1 :]]
        yield from ([(cells[0], cells[other]), *rest] for rest in pairings(left))


class TestProposal:
    def test_the_heaviest_stands_beside_the_lightest(self, bench: Client, job: models.Job) -> None:
        """2600 + 2530 = 2590 + 2540 = 2580 + 2550 = 2570 + 2560 = 5130 mAh: nothing can be more even."""
        page = bench.get(url(job))
        assert groups(page) == {
            frozenset(pair) for pair in (("S001", "S008"), ("S002", "S007"), ("S003", "S006"), ("S004", "S005"))
        }
        text = words(page)
        assert "proven best No arrangement of these cells can beat a weakest group of 5130 mAh." in text
        assert "5130 mAh every group" in text
        assert "weakest 5130" not in text, "no group is marked where all are equal"
        assert "S001 2600 mAh, 40.0 mΩ" in text
        assert text.count("5130 mAh 20.0 mΩ") == 4
        assert "Reserve these 8 cells" in text
        drawing = page.content.decode().split("pack-drawing", 1)[1].split("</figure>")[0]
        assert all(drawing.count(f">S00{n}<") == 2 for n in range(1, 9)), "each cell on both faces"

    def test_the_weakest_group_is_marked_by_word_and_shape(self, bench: Client, job: models.Job) -> None:
        """One cell of 2530 becomes 2510: its group holds 5110 at best beside the heaviest."""
        stock.record_reading(
            cell=models.Cell.objects.get(code="S008"),
            measure=Measure.CAPACITY,
            value=Decimal(2510),
            by=line.technician(),
        )
        page = bench.get(url(job))
        assert "5110 mAh weakest group" in words(page)
        assert "20 mAh strongest minus weakest" in words(page)
        assert len(re.findall(r'is-note"><svg class="shape"[^>]*>.*?</svg><span>weakest', page.content.decode())) == 1
        assert "cell weakest" in page.content.decode()

    def test_cells_that_rest_apart_are_to_be_levelled_before_joining(self, bench: Client, job: models.Job) -> None:
        """One cell at 3.70 V beside 3.62 V, all others at 3.62 V: it goes there straight, and no cell goes twice."""
        stock.record_reading(
            cell=models.Cell.objects.get(code="S001"),
            measure=Measure.REST_VOLTAGE,
            value=Decimal(3700),
            by=line.technician(),
        )
        text = words(bench.get(url(job)))
        assert "before joining To level" in text
        assert "S001 3.700 V 3.620 V" in text
        assert "S008 3.620 V" not in text
        assert "the whole group" not in text

    def test_cells_of_one_resistance_share_the_current_evenly(self, bench: Client, job: models.Job) -> None:
        """Kirchhoff: 30 mΩ beside 40 mΩ takes 4/7 of the current, 57.1 %."""
        stock.record_reading(
            cell=models.Cell.objects.get(code="S003"),
            measure=Measure.DC_RESISTANCE,
            value=Decimal(30_000),
            method="DC pulse 10 s",
            by=line.technician(),
        )
        text = words(bench.get(url(job)))
        assert "Cell S003 carries most: 57.1 % of its group's current, where an even share is 50.0 %." in text
        assert "To level" not in text

    def test_a_window_tightens_what_no_arrangement_can_beat(self, bench: Client, job: models.Job) -> None:
        """Each cell within 1 % of its group's mean: every way to pair the eight cells is tried here, by hand."""
        capacities = sorted(line.CAPACITIES)
        best = max(
            min(one + other for one, other in pairs)
            for pairs in pairings(capacities)
            if all(abs(one - other) * 100 <= one + other for one, other in pairs)
        )
        pack = bench.get(url(job), asked(window="1")).context["proposal"].pack
        assert pack.weakest.m_as("mAh") == best
        assert pack.bound.m_as("mAh") == best

    def test_cells_not_to_use_are_not_used(self, bench: Client, job: models.Job) -> None:
        CellFactory(code="SPARE", readings=TESTED | {Measure.CAPACITY: 2500})
        page = bench.get(url(job), asked(leave_out="S001"))
        assert "S001" not in {code for group in groups(page) for code in group}
        assert "S001 asked not to be used" in words(page)

    def test_reasons_of_what_could_not_take_part(self, bench: Client, job: models.Job) -> None:
        CellFactory(code="WEAK", readings=TESTED | {Measure.CAPACITY: Decimal("1559.9")})
        CellFactory(code="JUST", readings=TESTED | {Measure.CAPACITY: 1560})
        CellFactory(code="UNTESTED", readings={})
        CellFactory(code="NO-REST", readings={Measure.CAPACITY: 2600, Measure.DC_RESISTANCE: 40_000})
        CellFactory(code="ELSE", lot=LotFactory(code="L9", cell_model=CellModelFactory(name="Slim 3")))
        text = words(bench.get(url(job)))
        assert "3 cells of Round 2.6 could not take part" in text
        assert "WEAK capacity 1559.9 mAh, at least 1560 mAh asked" in text, "60 % of 2600 mAh"
        assert "NO-REST rest voltage not known" in text
        assert "UNTESTED" in text
        assert "JUST" not in text
        assert "ELSE" not in text
        assert "1 more could have been used" in text

    def test_reclaimed_cells_are_kept_from_a_medical_device(self, bench: Client) -> None:
        job = line.job_at(Stage.MATCH, device_class=DeviceClass.MEDICAL)
        line.stock()
        lot = LotFactory(code="D1", origin=LotOrigin.DONOR.value)
        CellFactory(code="OLD", lot=lot, readings=TESTED | {Measure.CAPACITY: 2700})
        page = bench.get(url(job))
        assert "OLD reclaimed, and this is a medical device" in words(page)
        assert accept(bench, job, page).status_code == 302

    def test_resistances_within_a_group(self, bench: Client, job: models.Job) -> None:
        """Half the cells have 40, half 50 mΩ: a ratio of 1.2 never lets them share a group (50/40 = 1.25)."""
        for number in range(1, 5):
            stock.record_reading(
                cell=models.Cell.objects.get(code=f"S00{number}"),
                measure=Measure.DC_RESISTANCE,
                value=Decimal(50_000),
                method="DC pulse 10 s",
                by=line.technician(),
            )
        high = {f"S00{number}" for number in range(1, 5)}
        assert any(group & high and group - high for group in groups(bench.get(url(job), asked(ratio="1.25"))))
        assert all(group <= high or not group & high for group in groups(bench.get(url(job), asked(ratio="1,2"))))

    @pytest.mark.parametrize(
        ("said", "field"),
        [
            ({"health": "60 mAh"}, "health"),
            ({"health": "0"}, "health"),
            ({"window": "100"}, "window"),
            ({"window": "0.005"}, "window"),
            ({"ratio": "0.9"}, "ratio"),
            ({"ratio": "nan"}, "ratio"),
            ({"ratio": "1e5"}, "ratio"),
            ({"leave_out": "S001, NONE"}, "leave_out"),
        ],
    )
    def test_limits_that_cannot_be_read(self, bench: Client, job: models.Job, said: dict[str, str], field: str) -> None:
        page = bench.get(url(job), asked(**said))
        assert list(page.context["form"].errors) == [field]
        assert page.context["proposal"] is None
        assert "No groups were proposed" in words(page)

    def test_a_stock_that_cannot_fill_the_pack_says_what_is_missing(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job), asked(leave_out="s003\nS004"))
        text = words(page)
        assert "6 of 8 cells are usable; 8 are needed" in text
        assert "S003 asked not to be used" in text
        assert "Reserve" not in text
        assert 'href="/stock/import/"' in page.content.decode()

    @pytest.mark.parametrize("between", [" ", ", ", "; ", "\n", "\t", ",\r\n "])
    def test_codes_come_apart_at_whatever_stands_between_them(
        self, bench: Client, job: models.Job, between: str
    ) -> None:
        assert "6 of 8 cells are usable" in words(bench.get(url(job), asked(leave_out=f"S003{between}S004")))

    def test_a_code_with_a_space_in_it_stays_whole(self, bench: Client, job: models.Job) -> None:
        CellFactory(code="S 9")
        page = bench.get(url(job), asked(leave_out="S 9, S003 S004"))
        assert not page.context["form"].errors
        assert page.context["form"].cleaned_data["leave_out"] == ["S 9", "S003", "S004"]

    def test_three_times_the_stock_takes_as_many_queries(self, bench: Client, job: models.Job) -> None:
        counts = []
        for more in (0, 16):
            for number in range(more):
                CellFactory(code=f"M{number}", readings=TESTED | {Measure.CAPACITY: 2500 + number})
            bench.get(url(job))
            with CaptureQueriesContext(connection) as queries:
                bench.get(url(job))
            counts.append(len(queries))
        assert counts[0] == counts[1]


class TestNothingFits:
    """Resistances of 30 to 37 mΩ by 1: no two pairs keep a ratio of 1.01, and 31/30 does; all eight need 1.0334."""

    @pytest.fixture
    def spread(self, job: models.Job) -> models.Job:
        for number in range(8):
            stock.record_reading(
                cell=models.Cell.objects.get(code=f"S00{number + 1}"),
                measure=Measure.DC_RESISTANCE,
                value=Decimal(30_000 + 1000 * number),
                method="DC pulse 10 s",
                by=line.technician(),
            )
        return job

    def test_a_wish_that_cannot_be_is_made_possible_by_the_link_of_the_page(
        self, bench: Client, spread: models.Job
    ) -> None:
        page = bench.get(url(spread), asked(ratio="1.01"))
        text = words(page)
        assert "This stock gives none of the 4 groups, and it is proven that no arrangement gives more." in text
        assert "What forbids it: resistance ratio." in text
        assert "It is proven that" not in text, "one number: the proven one"
        assert "1.03 is proven not to do" in text
        link = re.search(r'href="(\?health=[^"]*ratio=[^"]*)"', page.content.decode())
        assert link, "the least change is a link"
        after = bench.get(url(spread) + unescape(link[1]).partition("#")[0])
        assert after.context["form"].data["ratio"] == "1.04"
        assert "Reserve these 8 cells" in words(after)
        assert "no groups" in words(bench.get(url(spread), asked(ratio="1.03")))

    def test_it_says_what_to_buy(self, bench: Client, spread: models.Job) -> None:
        found = bench.get(url(spread), asked(ratio="1.01", window="")).context["remedies"].found
        assert found.cells_to_buy == 4, "each of four pairs needs one more beside one of the eight"
        assert all(len(one.beside) == 1 for one in found.to_buy)

    def test_a_limit_that_no_change_helps_is_named(self, bench: Client, spread: models.Job) -> None:
        text = words(bench.get(url(spread), asked(ratio="1.01", window="0.1")))
        assert "No change of" in text

    def test_a_narrow_voltage_window_names_the_cells_to_level(self, bench: Client, job: models.Job) -> None:
        stock.record_reading(
            cell=models.Cell.objects.get(code="S004"),
            measure=Measure.REST_VOLTAGE,
            value=Decimal(3700),
            by=line.technician(),
        )
        page = bench.get(url(job), asked(volts="20"))
        assert [one.code for one in page.context["remedies"].found.to_level] == ["S004"]
        assert "Or level 1 cell and measure again" in words(page)
        assert {change.limit: change.does for change in page.context["remedies"].changes} == {
            "Rest voltage window": "80 mV"
        }


class TestByHand:
    def swapped(self, bench: Client, job: models.Job, out: str, into: str, **more: str) -> Any:
        signed = bench.get(url(job)).context["proposal"].signed
        return bench.get(url(job), asked(groups=signed, out=out, into=into, **more))

    def test_two_cells_change_places_and_the_cost_is_told(self, bench: Client, job: models.Job) -> None:
        """2600 + 2540 and 2590 + 2530: 5140 and 5120 instead of 5130 twice."""
        page = self.swapped(bench, job, "S008", "s007")
        assert "The weakest group had 5130 mAh and has 5120 mAh" in words(page)
        assert frozenset({"S001", "S007"}) in groups(page)
        assert accept(bench, job, page).status_code == 302
        assert models.PlanPosition.objects.filter(open=True).count() == 8

    def test_a_limit_that_is_not_kept_is_told(self, bench: Client, job: models.Job) -> None:
        page = self.swapped(bench, job, "S008", "S007", window="1")
        assert "changed by hand, not as asked" in words(page)
        assert 'class="primary">Reserve' not in page.content.decode()
        asked_again = accept(bench, job, page)
        assert "These groups are not as asked:" in words(asked_again)
        assert not models.PlanPosition.objects.exists()
        assert accept(bench, job, page, all_the_same="on").status_code == 302
        told = models.LogEntry.objects.get(verb="cells accepted")
        assert told.facts["not_as_asked"].startswith("Group")
        assert ", not as asked: Group" in joblog.TOLD["cells accepted"](told.facts)

    def test_a_cell_reserved_for_another_job_is_not_to_be_had_by_a_tick(self, bench: Client, job: models.Job) -> None:
        accept(bench, job, bench.get(url(job)))
        other = line.job_at(Stage.MATCH)
        for number in range(8):
            CellFactory(code=f"T{number}", readings=TESTED | {Measure.CAPACITY: 2550})
        page = self.swapped(bench, other, "T0", "S001")
        assert "S001 is reserved for another job" in words(page)
        assert "all_the_same" not in page.content.decode()
        assert "proven best" not in words(page)

    @pytest.mark.parametrize(
        ("out", "into", "said"),
        [
            ("S001", "S001", "Name two different cells."),
            ("nope", "S001", "No such cell in stock: nope."),
            ("", "S001", "This field is required."),
        ],
    )
    def test_a_change_that_cannot_be_leaves_the_proposal(
        self, bench: Client, job: models.Job, out: str, into: str, said: str
    ) -> None:
        text = words(self.swapped(bench, job, out, into))
        assert said in text
        assert "5130 mAh every group" in text

    def test_a_cell_of_no_group_is_none_to_take_out(self, bench: Client, job: models.Job) -> None:
        CellFactory(code="S009", lot=models.Cell.objects.get(code="S001").lot)
        assert "S009 is in none of these groups." in words(self.swapped(bench, job, "S009", "S001"))

    def test_groups_nobody_showed_are_not_changed(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job), asked(groups="x", out="S001", into="S002"))
        assert "These are not groups that were shown." in words(page)


class TestPictures:
    @pytest.mark.parametrize("name", ["stock", "groups"])
    def test_groups_as_shown_are_drawn_and_no_others(self, bench: Client, job: models.Job, name: str) -> None:
        signed = bench.get(url(job)).context["proposal"].signed
        drawn = bench.get(f"{url(job)}{name}.svg", {"groups": signed})
        assert drawn["Content-Type"] == "image/svg+xml"
        assert b"group 1" in drawn.content if name == "stock" else b"any weakest group" in drawn.content
        assert bench.get(f"{url(job)}{name}.svg", {"groups": "x"}).status_code == 404

    def test_the_weakest_bar_is_marked_and_the_bound_lies_on_the_strongest(
        self, bench: Client, job: models.Job
    ) -> None:
        """By hand: after a change 5130, 5130, 5120 and 5140 mAh; 5130 is the most that any weakest group can hold."""
        signed = bench.get(url(job)).context["proposal"].signed
        changed = bench.get(url(job), asked(groups=signed, out="S001", into="S002")).context["proposal"]
        held = {group.number: group.capacity.magnitude for group in changed.pack.groups}
        assert sorted(held.values()) == [5120, 5130, 5130, 5140]
        drawn = bench.get(f"{url(job)}groups.svg", {"groups": changed.signed}).content.decode()
        tops = {
            name: min(float(y) for y in re.findall(r"[ML] [\d.]+ ([\d.]+)", path))
            for name, path in re.findall(r'<g id="(bar-[^"]+)">\s*<path d="([^"]*)"', drawn)
        }
        weakest = next(number for number, mah in held.items() if mah == 5120)
        assert [name for name in tops if name.endswith("marked")] == [f"bar-{weakest}-marked"]
        line = re.search(r'<g id="level">\s*<path d="M [\d.]+ ([\d.]+)', drawn)
        assert line is not None
        for number, mah in held.items():
            top = tops[f"bar-{number}{'-marked' if number == weakest else ''}"]
            assert (top > float(line[1]) + 1, abs(top - float(line[1])) < 0.01) == (mah < 5130, mah == 5130)

    def test_every_chosen_cell_carries_the_number_of_its_group_however_many_there_are(
        self, bench: Client, job: models.Job
    ) -> None:
        """Marks repeat from the fifth group on: the number tells such groups apart."""
        shown = line.take_in()
        line.examine(shown)
        shown.refresh_from_db()
        planning.state_target(
            job=shown, target=line.target(series=10, parallel=7, charger_voltage_mv=42_000), by=line.technician()
        )
        codes = [
            CellFactory(code=f"N{number:03}", readings=TESTED | {Measure.CAPACITY: 2500 + number}).code
            for number in range(70)
        ]
        plan = shown.plans.get()
        signed = AcceptForm.signed(plan, [codes[first : first + 7] for first in range(0, 70, 7)], Decimal(18000))
        drawn = bench.get(f"{url(shown)}stock.svg", {"groups": signed}).content.decode()
        for number in range(1, 11):
            assert len(re.findall(rf"font[^>]*5\.5px[^>]*>{number}</text>", drawn)) == 7

    def test_the_one_new_group_of_a_repair_is_marked_whatever_its_number(self, bench: Client, job: models.Job) -> None:
        models.Plan.objects.filter(job=job).update(replaced=[3])
        signed = AcceptForm.signed(job.plans.get(), [["S001", "S002"]], Decimal(5190))
        drawn = bench.get(f"{url(job)}stock.svg", {"groups": signed}).content.decode()
        assert len(re.findall(r"<text[^>]*>3</text>", drawn)) == 2
        assert "group 3</text>" in drawn


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("", "Write the code of a cell"),
        ("s001", "S001 is in group"),
        ("W1", "W1: capacity 1000 mAh, at least 1560 mAh asked."),
        ("W2", "W2 could have been used"),
        ("W9", "There is no cell W9."),
    ],
)
def test_somebody_asks_why_not_this_cell(bench: Client, job: models.Job, code: str, said: str) -> None:
    for name, mah in (("W1", 1000), ("W2", 2500)):
        CellFactory(code=name, readings=TESTED | {Measure.CAPACITY: mah})
    assert said in words(bench.get(url(job), asked(why=code)))


class TestAccepting:
    def test_the_groups_shown_are_reserved(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job))
        answer = accept(bench, job, page)
        assert answer["Location"] == f"/jobs/{job.number}/"
        positions = models.PlanPosition.objects.filter(plan__job=job).values_list("group", "cell__code")
        reserved = {frozenset(code for group, code in positions if group == n) for n in range(1, 5)}
        assert reserved == groups(page)
        job.refresh_from_db()
        assert job.stage == Stage.DISMANTLE
        told = bench.get(url(job))
        text = words(told)
        assert "5130 mAh every group 5130 mAh the most any weakest group could hold" in text
        assert text.count("5130 mAh 20.0 mΩ") == 4, "two cells of 40 mΩ in parallel"
        assert "S001 2600 mAh, 40.0 mΩ" in text
        assert "<dt>Capacity window</dt><dd>5 %</dd>" in told.content.decode()
        assert "Print the job card" in words(told)

    def test_sent_twice_it_counts_once(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job))
        assert {accept(bench, job, page)["Location"] for _ in range(2)} == {f"/jobs/{job.number}/"}
        assert models.PlanPosition.objects.count() == 8

    def test_a_cell_that_went_elsewhere_leaves_all_others_free(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job))
        other = line.take_in()
        line.examine(other), other.refresh_from_db(), line.state_target(other)
        plan = other.plans.get()
        models.PlanPosition.objects.create(plan=plan, group=1, place=1, cell=models.Cell.objects.get(code="S005"))
        answer = accept(bench, job, page)
        assert "No longer free: S005" in words(answer)
        assert not models.PlanPosition.objects.filter(plan__job=job).exists()

    @pytest.mark.parametrize(
        "tamper", [lambda text: text[:-1] + ("B" if text[-1] == "A" else "A"), lambda text: "", lambda text: "x"]
    )
    def test_only_what_was_shown(self, bench: Client, job: models.Job, tamper: Any) -> None:
        page = bench.get(url(job))
        answer = accept(bench, job, page, groups=tamper(page.context["proposal"].signed))
        assert answer.context["accept"].errors
        assert not models.PlanPosition.objects.exists()

    def test_groups_shown_for_another_target_are_not_reserved(self, bench: Client, job: models.Job) -> None:
        page = bench.get(url(job))
        planning.state_target(job=job, target=line.target(), by=line.technician())
        job.refresh_from_db()
        answer = accept(bench, job, page, version=str(job.version))
        assert "target pack was changed" in words(answer)
        assert not models.PlanPosition.objects.exists()

    def test_a_second_window_is_told_that_the_cells_are_reserved_already(self, bench: Client, job: models.Job) -> None:
        first, second = bench.get(url(job)), bench.get(url(job))
        accept(bench, job, first)
        answer = accept(bench, job, second)
        assert "The cells of this pack are reserved already, since" in words(answer)
        assert "was changed" not in words(answer)

    def test_signed_groups_name_their_plan(self, bench: Client, job: models.Job) -> None:
        plan = job.plans.get()
        shown = signing.loads(bench.get(url(job)).context["proposal"].signed, salt=SALT)
        assert shown["plan"] == [plan.pk, plan.version]

    def test_after_reserving_the_job_card_is_next_as_on_the_sheet_of_the_job(
        self, bench: Client, job: models.Job
    ) -> None:
        accept(bench, job, bench.get(url(job)))
        assert "Next on this job: Print the job card." in words(bench.get(url(job)))
        assert "Print the job card" in words(bench.get(f"/jobs/{job.number}/"))
        assert "printed job card" not in words(bench.get(f"/jobs/{job.number}/release/"))

    def test_a_job_that_is_elsewhere_says_what_is_next(self, bench: Client) -> None:
        job = line.job_at(Stage.EXAMINE)
        assert "Next on this job" in words(bench.get(url(job)))
        answer = bench.post(url(job), {"form_token": str(uuid.uuid4()), "groups": "x"})
        assert "Next on this job" in words(answer)

    def test_a_page_from_before_the_cells_were_reserved_says_so(self, bench: Client, job: models.Job) -> None:
        old, page = bench.get(url(job)), bench.get(url(job))
        accept(bench, job, page)
        assert "Nothing was reserved." in words(accept(bench, job, old))
        assert models.PlanPosition.objects.count() == 8

    def test_the_counter_does_not_match(self, client: Client, job: models.Job) -> None:
        client.force_login(UserFactory(username="front", roles=(Role.COUNTER,)))
        assert client.get(url(job)).status_code == 403
        assert client.get(f"/jobs/{job.number}/release/").status_code == 403


class TestRelease:
    def test_a_plan_given_up_frees_its_cells(self, bench: Client) -> None:
        job = line.job_at(Stage.DISMANTLE)
        address = f"/jobs/{job.number}/release/"
        assert "8 reserved cells are free again" in words(bench.get(address))
        sent = {"form_token": str(uuid.uuid4()), "version": str(job.version)}
        assert list(bench.post(address, sent).context["form"].errors) == ["reason"]
        answer = bench.post(address, sent | {"reason": "customer wants a larger pack"})
        assert answer["Location"] == url(job)
        assert models.Cell.objects.free().count() == 8
        page = bench.get(url(job))
        assert "Reserve these 8 cells" in words(page)
        assert accept(bench, job, page).status_code == 302

    def test_once_a_cell_is_placed_the_plan_stands(self, bench: Client) -> None:
        job = line.job_at(Stage.MEASURE)
        address = f"/jobs/{job.number}/release/"
        assert "Give the plan up" not in words(bench.get(address))
        answer = bench.post(address, {"form_token": str(uuid.uuid4()), "reason": "changed my mind"})
        assert "another stage" in words(answer)
        assert models.Cell.objects.free().count() == 0


@pytest.mark.data
class TestPublishedCells:
    """Twelve retired cells at one age: Nature Communications 2024, doi:10.1038/s41467-024-54454-0."""

    @pytest.fixture
    def job(self, shared_data: Path) -> models.Job:
        """A 6s2p to be filled with all twelve."""
        model = CellModelFactory(name="Salvage 2.1", rated_capacity_mah=Decimal(2100), max_discharge_current_ma=4000)
        job = line.job_at(Stage.TARGET)
        target = line.target(cell_model=model, series=6, parallel=2, charger_voltage_mv=25_200)
        planning.state_target(job=job, target=target, by=line.technician())
        lot = LotFactory(code="P1", cell_model=model)
        with (shared_data / "pulsebat" / "pulsebat_cells.csv").open(encoding="utf-8") as file:
            for row in csv.DictReader(file):
                if row["batch"] == "NMC2.1" and row["id"].endswith("-600"):
                    readings = {Measure.CAPACITY: Decimal(row["q_ah"]) * 1000, **TESTED}
                    CellFactory(code=row["id"], lot=lot, readings=readings)
        job.refresh_from_db()
        return job

    def test_without_a_window_the_lightest_stands_beside_the_heaviest(self, bench: Client, job: models.Job) -> None:
        """All twelve in pairs: no pair with the lightest, 1.2860 Ah, exceeds it with the heaviest, 1.6119 Ah."""
        page = bench.get(url(job), asked(window=""))
        assert page.context["proposal"].pack.weakest.m_as("mAh") == pytest.approx(2897.9, abs=0.05)
        assert page.context["proposal"].proven
        assert frozenset({"H4-600", "I3-600"}) in groups(page)

    def test_within_five_per_cent_the_two_lightest_stand_together(self, bench: Client, job: models.Job) -> None:
        """A pair within 5 % of its mean differs by at most 1.05/0.95 = 1.1053. So 1.2860 goes with at most 1.4214
        and 1.3010 with at most 1.4380: both find only each other and 1.3856, so they go with each other: 2.5870 Ah.
        """
        page = bench.get(url(job), asked(window="5"))
        assert page.context["proposal"].pack.weakest.m_as("mAh") == pytest.approx(2587.0, abs=0.05)
        assert page.context["proposal"].proven
        assert frozenset({"H4-600", "J3-600"}) in groups(page)


def test_a_dead_cell_in_stock_keeps_nobody_from_matching() -> None:
    """0 mAh is a true reading of a dead cell: it takes no part, and the others still match."""
    job = line.job_at(Stage.MATCH)
    line.stock()
    CellFactory(code="S-DEAD", readings={Measure.CAPACITY: 0, Measure.DC_RESISTANCE: 0, Measure.REST_VOLTAGE: 0})
    proposed = matching.propose(job.plans.get())
    assert "S-DEAD" not in {code for group in proposed.groups for code in group.codes}
    assert "S-DEAD" in {one.code for one in proposed.excluded}


def test_a_largest_self_discharge_that_nobody_measured_says_what_to_measure(bench: Client, job: models.Job) -> None:
    page = bench.get(url(job), asked(fall="2"))
    text = words(page)
    assert "8 cells have no measured self-discharge: measure them, or leave this limit out." in text
    assert "No change of Largest self-discharge" not in text
    assert "Proposed groups" in words(bench.get(url(job) + page.context["remedies"].without_fall.partition("#")[0]))
