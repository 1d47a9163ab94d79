"""A quote is frozen, its answer has a name, and nothing goes on beyond what was approved. Common practice, no source."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from packs.terms import (
    DangerSign,
    DocumentKind,
    FeeState,
    Heard,
    JobKind,
    Measure,
    Owner,
    QuoteState,
    RemovedWay,
    Risk,
    Stage,
    Verdict,
)
from shop import models, printing
from shop.bridge import fees, worth
from shop.operations import closeout, consent, documents, intake, planning, quoting, rebuild, replacing
from shop.operations.details import Details, describe
from shop.operations.pack_notes import note_time
from shop.selectors import due, faults, joblog, pack_notes, quotes, reckoned, story
from shop.selectors.known_risks import known_risks, risks_in_words
from tests import line, probed
from tests.factories import CellFactory, CellModelFactory, LotFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


def approve(job: models.Job, **changed: object) -> models.Quote:
    given = {"name": "Ida Moor", "heard": Heard.TELEPHONE, "by": line.technician()} | changed
    return quoting.approve_quote(job=job, **given)  # type: ignore[arg-type]


def proposed() -> list[list[str]]:
    codes = [cell.code for cell in line.stock()]
    return [[codes[n], codes[-1 - n]] for n in range(line.SERIES)]


def decline(job: models.Job) -> models.Quote:
    return quoting.decline_quote(job=job, name="Ida Moor", heard=Heard.SPOKEN, by=line.technician())


def test_a_quote_is_reckoned_numbered_and_frozen(job: models.Job) -> None:
    """8 × 3.45, 75 and 20 min at 66 an hour, 2.10 consumables, 15 % margin, waste fee 4.00, 20 % tax: 190.01 by hand."""
    quote = line.quote(job, removed=RemovedWay.WASTE, expected_capacity_mah=Decimal(5000))
    assert (quote.state, quote.code, quote.total, quote.tax) == (
        "waiting",
        "QU0001",
        Decimal("190.01"),
        Decimal("31.67"),
    )
    assert quote.document is not None
    content = quote.document.content
    assert [row["price"] for row in content["lines"]] == ["31.74", "2.42", "94.88", "25.30", "4.00"]
    assert (content["total"], content["examination_fee"], content["expected_capacity_mah"]) == (
        "190.01",
        "25.00",
        "5000.0",
    )
    assert content["valid_until"] == (timezone.localdate() + timedelta(days=14)).isoformat()
    line.state_prices(labour_rate=Decimal(99))
    quote.refresh_from_db()
    assert quote.total == Decimal("190.01")


@pytest.mark.parametrize(
    ("board", "unpowered", "changed", "said"),
    [
        ("protects each group", "unknown", {}, True),
        ("protects each group", "unknown", {"board_cost": Decimal(12)}, False),
        ("protects each group", "unaffected", {}, False),
        ("", "unknown", {}, False),
        ("", "unknown", {"board_unknown": True}, True),
        ("protects each group", "unknown", {"board_cost": Decimal(12), "board_unknown": True}, False),
    ],
    ids=["it stays", "another goes in", "known", "there is none", "said all the same", "said of one that goes out"],
)
def test_what_nobody_knows_of_a_board_that_stays_is_accepted_with_the_quote(
    job: models.Job, board: str, unpowered: str, changed: dict[str, object], said: bool
) -> None:
    models.PackAsFound.objects.update(board=board, unpowered=unpowered)
    quote = line.quote(job, **changed)
    assert quote.document is not None
    assert (quote.board_unknown, quote.document.content["board_unknown"]) == (said, said)


def test_a_board_that_is_priced_does_not_stay(job: models.Job) -> None:
    assert line.quote(job, board_cost=Decimal(12)).stays == "housing, leads and contacts"
    with refused("stays_missing", field="stays"):
        line.quote(job, board_cost=Decimal(12), stays="case, the old board and fuse")
    assert line.quote(job, stays="case, the old board and fuse").stays == "case, the old board and fuse"


@pytest.mark.parametrize(("mah", "field"), [(5200, ""), (5201, "expected_capacity_mah")])
def test_no_more_is_expected_than_the_planned_cells_are_rated(job: models.Job, mah: int, field: str) -> None:
    """2 × 2600 mAh in parallel: 5200 mAh, by hand."""
    if not field:
        assert line.quote(job, expected_capacity_mah=Decimal(mah)).expected_capacity_mah == mah
        return
    line.state_prices()
    with refused("above_rated", field=field) as told:
        line.quote(job, expected_capacity_mah=Decimal(mah))
    assert "are rated 5200" in told.value.message


def test_what_the_case_is_marked_with_is_named_as_what_no_longer_holds(job: models.Job) -> None:
    describe(job=job, details=Details(ip_code="IP54"), by=line.technician())
    quote = line.quote(job)
    assert quote.document is not None
    assert quote.document.content["ip_code"] == "IP54"
    assert "what it is marked with, IP54, holds no longer" in printing.page(quote.document.content)


def test_strip_and_wire_are_sold_by_the_metre_and_the_last_centimetre_begun_is_paid(job: models.Job) -> None:
    """1.2301 m begin 1.24 m: at 2.10, with 15 %: 2.604 and 2.9946 → 2.99; 0.40 m at 1.50: 0.60 and 0.69. By hand."""
    line.state_prices(strip_metre=Decimal("2.10"), wire_metre=Decimal("1.50"))
    quote = line.quote(job, strip_um=1_230_100, wire_um=400_000, conductor_cost=Decimal(3))
    told = {one["label"]: (one["detail"], one["price"]) for one in quote.lines}
    assert told["Strip"] == ("1.24 m", "2.99")
    assert told["Wire"] == ("0.40 m", "0.69")
    assert told["Bars, leads and connectors"] == ("", "3.45")


def test_without_a_price_a_length_is_no_line(job: models.Job) -> None:
    line.state_prices()
    assert "Strip" not in [one["label"] for one in line.quote(job, strip_um=1_230_100).lines]


def test_what_speaks_against_a_rebuild_is_on_the_paper(job: models.Job) -> None:
    quote = line.quote(job, risks=[Risk.LOCKS_FOR_GOOD], replacement_price=Decimal(900), replacement_years=Decimal(1))
    assert (quote.verdict, quote.risks) == (Verdict.REPLACE, ["locks_for_good"])
    assert "locks for good" in quote.reasons[0]


def test_a_job_goes_on_only_once_its_quote_is_approved(job: models.Job) -> None:
    line.quote(job)
    job.refresh_from_db()
    with refused("quote_waiting"):
        line.state_target(job)
    quote = approve(job)
    assert (quote.answered_by, quote.heard, quote.recorded_by) == ("Ida Moor", "telephone", line.technician())
    assert quote.answered_at is not None
    line.state_target(job)
    job.refresh_from_db()
    line.accept(job)
    assert job.plans.get(state="accepted")


@pytest.mark.parametrize(
    ("agreed", "fits", "contradicts"),
    [(Owner.SHOP, RemovedWay.WASTE, RemovedWay.RETURNED), (Owner.CUSTOMER, RemovedWay.RETURNED, RemovedWay.TAKEN_OVER)],
)
def test_a_quote_says_of_the_removed_cells_what_was_agreed_at_the_counter(
    agreed: Owner, fits: RemovedWay, contradicts: RemovedWay
) -> None:
    job = line.job_at(Stage.TARGET, removed_owner=agreed)
    line.state_prices()
    with refused("agreed_otherwise", field="removed"):
        line.quote(job, removed=contradicts)
    line.quote(job, removed=fits)
    approve(job)
    job.refresh_from_db()
    assert job.removed_owner == agreed


def test_a_quote_at_matching_holds_the_reserving_of_cells() -> None:
    job = line.job_at(Stage.MATCH)
    line.quote(job)
    groups = proposed()
    with refused("quote_waiting"):
        planning.accept(job=job, groups=groups, by=line.technician())
    approve(job)
    planning.accept(job=job, groups=groups, by=line.technician())


@pytest.mark.parametrize("change", [{"parallel": 3}, {"series": 3}, {"cell_model": "another"}])
def test_a_change_beyond_what_was_approved_needs_a_new_approval(job: models.Job, change: dict[str, object]) -> None:
    if "cell_model" in change:
        change = {"cell_model": CellModelFactory(name="Round 2.9")}
    line.quote(job)
    approve(job)
    with refused("beyond_quote"):
        planning.state_target(job=job, target=line.target(**change), by=line.technician())
    line.quote(job, **change)
    assert list(job.quotes.values_list("state", flat=True)) == [QuoteState.REPLACED, QuoteState.WAITING]
    with refused("quote_waiting"):
        planning.state_target(job=job, target=line.target(**change), by=line.technician())
    approve(job)
    planning.state_target(job=job, target=line.target(**change), by=line.technician())


def approved(job: models.Job, **changed: object) -> None:
    line.quote(job, **changed)
    approve(job)


def test_cells_that_hold_less_than_was_quoted_are_reserved_only_after_a_new_approval() -> None:
    """Pairs of 2600 + 2530 to 2570 + 2560: the weakest holds 5130."""
    job = line.job_at(Stage.MATCH)
    approved(job, expected_capacity_mah=Decimal(5131))
    groups = proposed()
    with refused("below_quote") as caught:
        planning.accept(job=job, groups=groups, by=line.technician())
    assert "holds 5130\u202fmAh; quote QU0001 expects 5131\u202fmAh" in caught.value.message
    approved(job, expected_capacity_mah=Decimal(5130))
    planning.accept(job=job, groups=groups, by=line.technician())


def test_once_cells_are_reserved_a_new_price_is_approved_before_the_next_step() -> None:
    job = line.job_at(Stage.PLACE)
    code = job.plans.get(state="accepted").positions.order_by("pk")[0].cell.code
    approved(job)
    line.quote(job, labour_minutes=120)
    with refused("quote_waiting"):
        rebuild.place_cell(job=job, code=code, by=line.technician())
    decline(job)
    with refused("quote_declined"):
        rebuild.place_cell(job=job, code=code, by=line.technician())
    with refused("beyond_plan", field="arrangement"):
        line.quote(job, parallel=3)
    approved(job, labour_minutes=120)
    rebuild.place_cell(job=job, code=code, by=line.technician())


def test_a_weaker_cell_that_goes_in_later_waits_for_a_new_approval() -> None:
    job = line.job_at(Stage.PLACE)
    plan = job.plans.get(state="accepted")
    approved(job, expected_capacity_mah=Decimal(5000))
    spot = plan.positions.order_by("pk")[0]
    tested = {Measure.CAPACITY: 2400, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620}
    weaker = CellFactory(code="W1", readings=tested)
    replacing.replace_cell(
        job=job, code=spot.cell.code, goes_in={spot.name: weaker.code}, reason="a dent", by=line.technician()
    )
    with refused("below_quote"):
        rebuild.place_cell(job=job, code=weaker.code, by=line.technician())
    job.refresh_from_db()
    assert due.of_job(job) == due.Due("Quote it anew", consent.lacking_for_step(job).message, "Go to the quote")  # type: ignore[union-attr]
    approved(job, expected_capacity_mah=Decimal(4900))
    rebuild.place_cell(job=job, code=weaker.code, by=line.technician())


def test_another_board_than_the_one_that_stays_waits_for_a_new_approval() -> None:
    job = line.job_at(Stage.LADDER)
    approved(job)
    tried = replace(line.BOARD_TRIED, another=True)
    taps = [Decimal(3600) * tap for tap in range(1, line.SERIES + 1)]
    with refused("beyond_quote"):
        rebuild.check_taps(job=job, taps_mv=taps, board=tried, by=line.technician())
    approved(job, board_cost=Decimal(12))
    step = rebuild.check_taps(job=job, taps_mv=taps, board=tried, by=line.technician()).step
    assert step.confirmed["another board went in"]


def test_after_a_decline_the_device_waits_for_who_takes_it(job: models.Job) -> None:
    line.quote(job)
    quote = decline(job)
    job.refresh_from_db()
    assert quote.state == QuoteState.DECLINED
    assert (job.closed_at, job.stage) == (None, Stage.HAND_OVER)
    assert job.items.to_give_back().count() == 1
    reason = job.log.get(verb="goes back without a rebuild").facts["reason"]
    assert reason == "quote QU0001 declined by Ida Moor; the fee for the examination, EUR\xa025.00 with tax, is due"


@pytest.mark.parametrize("became", list(FeeState))
def test_a_device_goes_back_only_with_what_became_of_the_fee(job: models.Job, became: FeeState) -> None:
    line.quote(job)
    decline(job)
    job.refresh_from_db()
    assert str(fees.of_examination(job)) == "EUR\xa025.00"
    with refused("fee_missing", field="fee"):
        closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())
    closeout.hand_over(job=job, received_by="Ida Moor", fee=became, by=line.technician())
    job.refresh_from_db()
    told = f"Handed over to Ida Moor; fee for the examination, EUR\xa025.00: {became.label}"
    assert joblog.lines(job)[0].sentence == told
    assert story.story(job)[-1].facts == f"{told}."


def test_the_sheet_that_goes_with_a_declined_device_names_fee_and_receiver(job: models.Job) -> None:
    line.quote(job)
    decline(job)
    job.refresh_from_db()
    sheet = documents.issue(job=job, kind=DocumentKind.HAND_OVER, by=line.technician())
    text = printing.page(sheet.content)
    assert "EUR\xa025.00" in text
    assert "declined by Ida Moor" in text
    assert all(f"</span>{one.label}" in text for one in FeeState)
    assert "name of who takes the device" in text


def test_the_sheet_of_a_declined_device_says_what_was_found_and_how_to_treat_it(job: models.Job) -> None:
    probed.weak_group(job)
    intake.decline(job=job, reason="too dear", by=line.technician())
    job.refresh_from_db()
    text = printing.page(documents.issue(job=job, kind=DocumentKind.HAND_OVER, by=line.technician()).content)
    assert "the readings leave open which it is: group 3: weak" in text
    assert "Neither charge nor use a pack that is doubtful." in text
    assert "your local collection point takes it" in text


def test_a_quote_made_out_anew_starts_from_the_one_before(job: models.Job) -> None:
    given = {
        "wire_um": 500_000,
        "board_cost": Decimal("18.50"),
        "limits_of_use": "at most 6 A",
        "expected_capacity_mah": Decimal(5000),
        "test_minutes": 25,
        "life_years": Decimal("3.5"),
        "replacement_price": Decimal(150),
        "replacement_years": Decimal(5),
    }
    line.quote(job, **given)
    known = quotes.known(job)
    assert {name: known[name] for name in given} == given
    assert known["removed"] == RemovedWay.TAKEN_OVER
    assert quotes.grounds(job)["test_minutes"] == "as in quote QU0001"


def test_without_a_fee_nothing_is_asked_and_what_was_not_examined_costs_none() -> None:
    line.state_prices(examination_fee=Decimal(0))
    for stage in (Stage.TARGET, Stage.EXAMINE):
        job = line.job_at(stage)
        intake.decline(job=job, reason="not worth it", by=line.technician())
        job.refresh_from_db()
        assert fees.of_examination(job) is None
        line.state_prices()
        assert bool(fees.of_examination(job)) is (stage is Stage.TARGET)


def test_a_decline_says_which_cells_became_free() -> None:
    job = line.job_at(Stage.DISMANTLE)
    intake.decline(job=job, reason="too dear", by=line.technician())
    assert joblog.lines(job)[0].sentence == "Goes back without a rebuild: too dear; free again: 8 cells (S001 to S008)"


def test_an_expired_quote_is_not_approved(job: models.Job) -> None:
    line.quote(job)
    last = timezone.now() + timedelta(days=14)
    with refused("quote_expired"):
        approve(job, now=last + timedelta(days=1))
    approve(job, now=last)


def test_an_answer_has_a_name_and_a_quote_to_answer(job: models.Job) -> None:
    with refused("no_quote_waits"):
        approve(job)
    line.quote(job)
    with refused("name_missing"):
        approve(job, name=" ")
    approve(job)
    with refused("no_quote_waits"):
        decline(job)


def test_no_quote_is_forced_on_a_job_but_where_the_shop_needs_one() -> None:
    job = line.job_at(Stage.MATCH)
    line.state_prices(quotes_needed=True)
    groups = proposed()
    with refused("quote_missing"):
        planning.accept(job=job, groups=groups, by=line.technician())
    built = line.job_at(Stage.MATCH, kind=JobKind.FOR_STOCK)
    line.accept(built)


def test_without_prices_nothing_is_quoted(job: models.Job) -> None:
    with refused("no_prices"):
        quoting.issue_quote(job=job, offer=line.offer(), by=line.technician())


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("cell_cost", Decimal(-1)),
        ("labour_minutes", 10_001),
        ("life_years", Decimal(0)),
        ("life_years", Decimal(51)),
        ("board_cost", Decimal("NaN")),
    ],
)
def test_what_no_offer_has_is_refused(job: models.Job, column: str, value: object) -> None:
    line.state_prices()
    with refused("impossible_value") as caught:
        line.quote(job, **{column: value})
    assert caught.value.field == column


def test_half_a_replacement_is_refused(job: models.Job) -> None:
    line.state_prices()
    with refused("replacement_incomplete"):
        line.quote(job, replacement_price=Decimal(80))


def test_only_the_page_of_the_quote_makes_one_out(job: models.Job) -> None:
    line.quote(job)
    with refused("no_quote"):
        documents.issue(job=job, kind=DocumentKind.QUOTE, by=line.technician())
    assert models.NumberSeries.objects.get(kind="quote").next_number == 2


@pytest.mark.parametrize(("temperature", "verdict"), [(21_000, Verdict.CHARGE_FIRST), (None, Verdict.BOARD_FIRST)])
def test_a_board_that_is_only_latched_off_is_not_answered_with_a_rebuild(
    job: models.Job, temperature: int | None, verdict: Verdict
) -> None:
    probed.board_off(job, temperature)
    quote = line.quote(job, replacement_price=Decimal(900), replacement_years=Decimal(1))
    assert quote.verdict == verdict
    assert "latched off below its wake voltage" in quote.reasons[0]
    search = faults.standing(job)
    notes = worth.found_by(search).advice  # type: ignore[union-attr]
    assert "supervised" in notes[0]
    assert "Never charge or discharge around the board." in notes
    assert not set(notes) & set(quote.reasons)


def test_minutes_come_from_the_notes_of_the_pack_else_of_other_packs_else_from_the_prices() -> None:
    job = line.job_at(Stage.TARGET)
    assert reckoned.times(pack_notes.of_device(job.device)) == {}
    line.state_prices(labour_minutes=90, test_minutes=15)
    stated = reckoned.times(None)
    assert {name: one.value for name, one in stated.items()} == {"labour_minutes": 90, "test_minutes": 15}
    other = line.job_at(Stage.HAND_OVER)
    note_time(job=other, minutes=130, by=line.technician())
    note_time(job=other, minutes=120, by=line.technician())
    models.Device.objects.filter(pk=job.device_id).update(model="another pack")
    job.device.refresh_from_db()
    elsewhere = reckoned.times(pack_notes.of_device(job.device))
    assert (elsewhere["labour_minutes"].value, elsewhere["test_minutes"].value) == (120, 0)
    assert "of 1 job on another pack" in elsewhere["labour_minutes"].because
    same = reckoned.times(pack_notes.of_device(other.device))["labour_minutes"]
    assert same == reckoned.Minutes(120, "mean of 1 job on this pack model, from the pack notes")


def test_a_cell_costs_what_the_reserved_ones_cost_else_the_mean_of_those_that_are_free() -> None:
    """Six at 3.00 and two at 5.00 are 3.50 each; once two dear and two cheap ones are held, 4.00. By hand."""
    job = line.job_at(Stage.MATCH)
    model = job.plans.get().cell_model
    assert reckoned.cell_cost(job, model) is None
    cheap, dear = (LotFactory(code=code, unit_cost=cost, cell_model=model) for code, cost in (("L3", 3), ("L5", 5)))
    cells = [CellFactory(code=f"Q{n}", lot=dear if n < 2 else cheap) for n in range(8)]
    assert reckoned.cell_cost(job, model) == reckoned.Cost(Decimal("3.5000"), "mean of 8 cells free in stock")
    plan = job.plans.get()
    for place, cell in enumerate(cells[:4], start=1):
        models.PlanPosition.objects.create(plan=plan, group=1, place=place, cell=cell)
    assert reckoned.cell_cost(job, model) == reckoned.Cost(Decimal("4.0000"), "mean of 4 cells reserved")


def test_what_the_book_knows_against_a_rebuild_is_ticked_with_where_it_is_from() -> None:
    job = line.job_at(Stage.EXAMINE, signs=[DangerSign.UNKNOWN_HISTORY])
    assert list(known_risks(job, None, None)) == [Risk.UNKNOWN_HISTORY]
    models.Job.objects.filter(pk=job.pk).update(findings="bought at a yard sale", recalled=True, recall_result="fire")
    job.refresh_from_db()
    found = models.PackAsFound(job=job, cell_model=CellModelFactory(), unpowered="locks")
    told = risks_in_words(job, found, None)
    assert list(known_risks(job, found, None)) == [Risk.UNKNOWN_HISTORY, Risk.LOCKS_FOR_GOOD, Risk.RECALLED]
    assert "(sign at take-in; the lead found: bought at a yard sale)" in told
    assert "recalled (take-in: fire" in told
    assert "can a suitable one be had?" in told
    found.board = "protects each group"
    assert "suitable" not in risks_in_words(job, found, None)
