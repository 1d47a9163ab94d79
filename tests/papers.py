"""Papers of an invented workshop, made by hand, and what to look for in their PDFs."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from importlib.abc import MetaPathFinder
from io import BytesIO
from typing import Any

import pypdf
import pytest

from packs import documents
from packs.documents import disposal_note
from packs.terms import (
    STEPS,
    CellFormat,
    Chemistry,
    Condition,
    DeviceClass,
    DocumentKind,
    Face,
    JointMethod,
    LotOrigin,
    Measure,
    Outcome,
    RemovedWay,
    Severity,
    Stage,
    StripMaterial,
    Terminals,
    Verdict,
)

AT = datetime(2026, 11, 25, 14, 30, tzinfo=UTC)
TYPED = 'Grün & Söhne <b>&" Überlandläufer'
"""What somebody may type: umlauts, markup, an ampersand, a quotation mark."""


def heading(kind: DocumentKind, code: str, **changes: Any) -> documents.Heading:
    workshop = documents.Workshop("Lindenhof Cell Works", "Mill Lane 4, Oberau", "112", "A4", "en", "UTC")
    return documents.Heading(kind, code, "J0007", TYPED, "GP3-118", AT, "Jon Adler", "2026-11-25", workshop)


def rating() -> documents.PackRating:
    """Eight cells of 2600 mAh and 3.6 V: 14.4 V, 5.2 Ah, 74.88 Wh, worked out by hand."""
    return documents.PackRating(
        "4s2p",
        8,
        "Round 2.6",
        Chemistry.NMC,
        Decimal(14400),
        Decimal(12000),
        Decimal(16800),
        Decimal("5200.0"),
        Decimal("74880.00"),
    )


def groups() -> tuple[documents.Group, ...]:
    return tuple(
        documents.Group(number, cells(number), Decimal(5130 - number), Decimal(20000), number == 4)
        for number in range(1, 5)
    )


def cells(group: int) -> tuple[documents.PlacedCell, ...]:
    return tuple(
        documents.PlacedCell(
            group,
            place,
            f"B2611-{group}{place}",
            LotOrigin.DONOR if place == 2 else LotOrigin.BOUGHT,
            Decimal(2565),
            Decimal(40000),
            Decimal(3620),
            ("2 time stamps occur twice; the first row of each counts.",) if (group, place) == (2, 1) else (),
        )
        for place in (1, 2)
    )


def job_card() -> documents.JobCard:
    target = documents.Target(
        rating(),
        JointMethod.SPOT_WELD,
        StripMaterial.NICKEL_200,
        8000,
        150,
        Decimal(6000),
        Decimal(3000),
        Decimal(5200),
        Decimal("1.1538"),
        Decimal(16800),
        Decimal(5200),
        None,
        None,
    )
    joints = ((1, Face.BOTTOM, 2), (2, Face.TOP, 4), (3, Face.BOTTOM, 4), (4, Face.TOP, 4), (5, Face.BOTTOM, 2))
    return documents.JobCard(
        heading(DocumentKind.JOB_CARD, "JC0001"),
        DeviceClass.TOOL,
        "runs five minutes",
        outline(),
        target,
        groups(),
        tuple(documents.StripJoints(*joint) for joint in joints),
        ("group 2: The rest voltages lie 61 mV apart.",),
        tuple(card_step(number, stage) for number, stage in enumerate(STEPS, start=1)),
    )


def outline() -> documents.Outline:
    return documents.Outline(4, 2, CellFormat.ROUND, Terminals.OPPOSITE_ENDS)


def card_step(number: int, stage: Stage) -> documents.CardStep:
    limit = documents.Limit("rest voltage of the cell", Measure.VOLTAGE, Decimal(2000), None)
    slots = documents.Slots(("1.1", "1.2"), (documents.Blank("read", "V"),))
    own = (f"Beware of step {number}.",)
    return documents.CardStep(
        number, stage, (limit,), ("The cells cannot move.",), (slots,), ("For every step.", *own, "Asks for more.")
    )


def test_report() -> documents.TestReport:
    tested = tuple(replace(group, charged_mv=Decimal(4180), rest_mv=Decimal(4140)) for group in groups())
    outlet = documents.Limit("voltage at the outlet", Measure.VOLTAGE, Decimal(4750), Decimal(5250))
    return documents.TestReport(
        heading=heading(DocumentKind.TEST_REPORT, "TR0001"),
        customer=TYPED,
        found=documents.AsFound(
            rating(), JointMethod.SPOT_WELD, "four screws", "one sensor", "", Decimal(13200), (Decimal(3300), None)
        ),
        left=rating(),
        change=documents.rating_change(Decimal(74880), Decimal(74880), Decimal(14400), Decimal(14400)),
        joint_method=JointMethod.SPOT_WELD,
        strip_material=StripMaterial.NICKEL_200,
        outline=outline(),
        groups=tested,
        proof=documents.Proof(
            "0.2 C to 12 V at 22 °C",
            Decimal(5126),
            Decimal("4869.7"),
            Decimal(5080),
            Decimal(16560),
            Decimal(5040),
            outlet,
            Decimal(16790),
            (documents.ChargeLook("30 min", Decimal(15200), Decimal(1000), Decimal(24000)),),
            ("Bench meter 1 (calibrated 5 November 2026)",),
            "Nell Ash",
        ),
        checks=(
            documents.CheckResult(
                Stage.MEASURE, "rest voltage of the cell", Outcome.PASS, Severity.STOP, 8, "2.00 V", ""
            ),
            documents.CheckResult(Stage.FINAL_TEST, "spread", Outcome.FAIL, Severity.WARN, 1, "50 mV", "61 mV apart."),
        ),
        steps=(documents.StepDone(Stage.JOIN, "Jon Adler", AT),),
        charger_voltage_mv=Decimal(16800),
        charge_temperature=documents.Limit("t", Measure.TEMPERATURE, Decimal(10000), Decimal(40000)),
        storage=None,
    )


def unit(**changes: Any) -> documents.DisposalUnit:
    """One removed cell: 2.6 Ah × 3.6 V = 9.36 Wh."""
    cell = documents.DisposalUnit(
        "Round 2.6 cells",
        Chemistry.NMC,
        "container W-1",
        1,
        "counted",
        Decimal("9360.00"),
        "data sheet",
        Decimal(46000),
        "UN3480",
        "LITHIUM ION BATTERIES",
        "Ask the carrier.",
        "16 06 05",
        "Ask the waste authority.",
        ("J0007-R08",),
    )
    return replace(cell, **changes)


def disposal(*units: documents.DisposalUnit) -> documents.DisposalNote:
    section = documents.DisposalSection(Condition.DAMAGED, "Leaked or dented.", units or (unit(),), ("Insulate it.",))
    ways = (disposal_note.Way("container W-1", date(2026, 11, 1), "", "", None),)
    return documents.DisposalNote(
        heading(DocumentKind.DISPOSAL_NOTE, "DN0001"),
        "European Union",
        (section,),
        ways,
        "Waste batteries need approval.",
        "The local authority decides.",
    )


def label() -> documents.ContainerLabel:
    return documents.ContainerLabel(
        heading(DocumentKind.CONTAINER_LABEL, "CL0001"),
        "European Union",
        "damaged or defective",
        True,
        date(2026, 11, 1),
        None,
        3,
        ("UN3480 LITHIUM ION BATTERIES",),
        ("DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES",),
        ("16 06 05",),
        "",
        "",
        Decimal(2_500_000),
        "Not by air.",
        "The local authority decides.",
    )


def receipt() -> documents.HandOverReceipt:
    return documents.HandOverReceipt(
        heading(DocumentKind.HAND_OVER, "HO0001"),
        TYPED,
        "runs five minutes",
        AT,
        rating(),
        rating(),
        5,
        3,
        Decimal(5080),
        "the shop",
        (documents.Whereabouts(7, "back in stock"), documents.Whereabouts(1, "in waste container W-1")),
        (("JC0001", "job card"),),
        "",
        Decimal(16800),
        None,
        documents.Limit("v", Measure.VOLTAGE, Decimal(14320), Decimal(14960)),
    )


def quote() -> documents.Quote:
    """One line of 158.34 with 20 % tax: 31.67, 190.01 in all, worked out by hand."""
    return documents.Quote(
        heading(DocumentKind.QUOTE, "QU0001"),
        TYPED,
        "runs five minutes",
        rating(),
        Decimal("5000.0"),
        "housing, board, leads and contacts",
        "at most 6 A",
        True,
        RemovedWay.TAKEN_OVER,
        Verdict.REBUILD,
        ("For each year it is expected to last, the rebuilt pack costs less.",),
        "EUR",
        (
            documents.QuoteLine("Cells Round 2.6", "8 ×", Decimal("31.74")),
            documents.QuoteLine("Work", "95 min", Decimal("126.60")),
        ),
        Decimal("158.34"),
        Decimal("0.20"),
        Decimal("31.67"),
        Decimal("190.01"),
        Decimal("25.00"),
        date(2026, 12, 9),
        "QU0000",
        ip_code="IP54",
    )


def pack_label() -> documents.PackLabel:
    """What was 4s2p of 2600 mAh and is that again: 14.4 V, 5.2 Ah, 74.88 Wh, no change."""
    market = documents.OnTheMarket(
        "European Union", date(2026, 11, 25), ("It says that it was rebuilt, and by whom.",), True, Decimal(14_000)
    )
    return documents.PackLabel(
        heading(DocumentKind.PACK_LABEL, "PL0001"),
        rating(),
        date(2026, 11, 24),
        Decimal(16800),
        Decimal(5200),
        Decimal(6000),
        documents.Limit("t", Measure.TEMPERATURE, Decimal(10000), Decimal(40000)),
        market,
        found=rating(),
        change=documents.rating_change(Decimal(74880), Decimal(74880), Decimal(14400), Decimal(14400)),
    )


def health_report() -> documents.HealthReport:
    """4800 mAh of 5200 mAh rated: 92.3 %."""
    found = test_report().found
    assert found is not None
    tested = documents.PackTest(
        Decimal(4800), Decimal(1000), Decimal(12000), Decimal(23000), Decimal(13190), (None, None), None, ""
    )
    return documents.HealthReport(
        heading(DocumentKind.HEALTH_REPORT, "HR0001"), TYPED, "runs five minutes", found, tested, (), (), ()
    )


ALL = {
    "job card": job_card,
    "test report": test_report,
    "disposal note": disposal,
    "container label": label,
    "hand-over receipt": receipt,
    "quote": quote,
    "pack label": pack_label,
    "health report": health_report,
}


def text_of(pdf: bytes) -> str:
    """Return the text of a PDF with every kind of space as one blank."""
    pages = pypdf.PdfReader(BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


class NoPango(MetaPathFinder):
    """Lets the print library fail the way it does on a machine without Pango."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> None:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0': cannot open shared object file")


@contextmanager
def a_machine_without_pango() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        for name in [name for name in sys.modules if name.split(".")[0] == "weasyprint"]:
            patch.delitem(sys.modules, name)
        patch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
        yield
