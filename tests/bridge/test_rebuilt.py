"""What a rebuilt pack carries and may be called, by place and date."""

from datetime import date
from decimal import Decimal

import pytest

from packs.terms import DocumentKind, JobKind, Stage
from shop import models, printing
from shop.bridge import documents, rebuilt, waste
from shop.bridge.waste import Jurisdiction, Where
from tests import line, papers
from tests.factories import MORNING, SettingsFactory

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 25)
EU = Where(Jurisdiction.EU, TODAY)


def plan_of(job: models.Job) -> models.Plan:
    return models.Plan.objects.select_related("cell_model", "job").get(job=job)


@pytest.fixture
def plan() -> models.Plan:
    """A 4s2p of round cells, 18.3 by 65.2 mm, proved with 5,080 mAh where 5,200 mAh are rated."""
    return plan_of(line.job_at(Stage.REMOVED))


def test_the_bin_by_the_bare_cells(plan: models.Plan) -> None:
    """Regulation (EU) 2023/1542, Annex VI part B: 3 % of the largest side.

    Four columns at 18.3 to 19.3 mm beside each other, 65.2 mm high: 47.7 to 50.3 cm², a side of 1.20 to 1.23 cm, so 13 mm.
    """
    market = rebuilt.carried(plan, EU)
    assert (market.bin_asked, market.bin_side_um, market.bin_on_packaging) == (True, Decimal(13_000), False)
    plan.cell_model.height_um = None
    assert rebuilt.carried(plan, EU).bin_side_um is None


def test_the_bin_on_a_single_cell(plan: models.Plan) -> None:
    """Regulation (EU) 2023/1542, Annex VI part B: 1.5 % of a cylinder's surface.

    π × 1.83 cm × (6.52 + 0.915) cm = 42.74 cm², a side of 0.801 cm, so 9 mm; a hearing-aid cell has it on the packaging.
    """
    plan.series = plan.parallel = 1
    assert rebuilt.carried(plan, EU).bin_side_um == Decimal(9_000)
    plan.cell_model.diameter_um, plan.cell_model.height_um = 7_900, 5_400
    market = rebuilt.carried(plan, EU)
    assert (market.bin_side_um, market.bin_on_packaging) == (Decimal(10_000), True)


@pytest.mark.parametrize(
    ("place", "on", "asked"),
    [
        (Jurisdiction.EU, date(2025, 8, 18), True),
        (Jurisdiction.EU, date(2025, 8, 17), False),
        (Jurisdiction.US, TODAY, False),
        (Jurisdiction.UK, TODAY, False),
    ],
)
def test_where_and_when_the_bin_is_asked_for(plan: models.Plan, place: Jurisdiction, on: date, asked: bool) -> None:
    """Regulation (EU) 2023/1542, Art. 13(4)."""
    market = rebuilt.carried(plan, Where(place, on))
    assert market.bin_asked is asked
    assert (market.bin_side_um is not None) is asked


def healths(*mah: int) -> None:
    """Let the placed cells have given so much."""
    cells = models.Cell.objects.filter(positions__plan__isnull=False).order_by("pk")
    for cell, value in zip(cells, mah, strict=True):
        cell.readings.create(measure="capacity_mah", value=value, measured_at=MORNING, by=line.technician())


@pytest.mark.parametrize(
    ("mah", "allowed"),
    [
        ([2600] * 7 + [2522], True),  # 2522 / 2600 = 97.0 %, a spread of exactly 3 %
        ([2600] * 7 + [2521], False),
    ],
)
def test_it_may_be_called_remanufactured_within_three_per_cent(
    plan: models.Plan, mah: list[int], allowed: bool
) -> None:
    """Regulation (EU) 2023/1542, Art. 3(32): capacity at least 90 %, spread of health not over 3 %."""
    healths(*mah)
    claim = rebuilt.on_the_market(plan, EU).claim
    assert claim is not None
    assert claim.capacity == Decimal(5080) / Decimal(5200)
    assert claim.spread == Decimal(2600 - mah[-1]) / 2600
    assert claim.allowed is allowed


def test_not_below_nine_tenths_of_the_old_rating(plan: models.Plan) -> None:
    """Regulation (EU) 2023/1542, Art. 3(32): 5080 of 5645 mAh is 89.99 %."""
    healths(*[2600] * 8)
    readings = models.CellModel.objects.create(
        name="Round 5.645",
        **{
            name: getattr(plan.cell_model, name)
            for name in ("chemistry", "cell_format", "terminals", "nominal_voltage_mv", "charge_limit_mv")
        },
        end_of_discharge_mv=3000,
        max_charge_current_ma=2600,
        max_discharge_current_ma=5200,
        rated_capacity_mah=Decimal("2822.5"),
        data_sheet="invented data sheet",
    )
    plan.job.as_found.cell_model = readings
    claim = rebuilt.on_the_market(plan, EU).claim
    assert claim is not None
    assert not claim.allowed
    assert claim.all_evaluated


def test_elsewhere_nobody_gives_the_word_a_meaning(plan: models.Plan) -> None:
    assert rebuilt.on_the_market(plan, Where(Jurisdiction.US, TODAY)).claim is None


def test_what_no_pack_was_before_is_not_remanufactured() -> None:
    plan = plan_of(line.job_at(Stage.INTO_STOCK, kind=JobKind.FOR_STOCK))
    market = rebuilt.on_the_market(plan, EU)
    assert market.claim is None
    assert market.bin_asked


def test_the_test_report_says_it(pango: None) -> None:
    SettingsFactory(jurisdiction="eu")
    job = line.job_at(Stage.HAND_OVER)
    content = documents.build(job, DocumentKind.TEST_REPORT, number=1, by=line.technician(), at=MORNING)
    text = papers.text_of(printing.pdf(content))
    for said in ("The crossed-out bin.", "13 mm", "97.7 %", "“remanufactured”", "quoted elsewhere"):
        assert said in text
    SettingsFactory(jurisdiction="us")
    content = documents.build(job, DocumentKind.TEST_REPORT, number=1, by=line.technician(), at=MORNING)
    assert "crossed-out" not in papers.text_of(printing.pdf(content))


def test_every_row_that_is_named_stands(plan: models.Plan) -> None:
    """A row that is renamed would leave the list in silence."""
    rows = {row.rule for row in waste.every_row()}
    assert {*rebuilt.CARRIED, *rebuilt.DUTIES, "rebuilt.chemical_sign"} <= rows
    assert len(rebuilt.carried(plan, EU).carries) == len(rebuilt.CARRIED)


def test_a_new_pack_is_not_told_what_holds_of_an_old_one(plan: models.Plan) -> None:
    before = rebuilt.carried(plan, EU).carries
    plan.job.kind = JobKind.FOR_STOCK.value
    gone = set(before) - set(rebuilt.carried(plan, EU).carries)
    assert len(gone) == len(rebuilt.OF_AN_OLD_PACK)
    assert any("rebuilt" in text for text in gone)
