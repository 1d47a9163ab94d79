"""The papers of the shop: what each says, without a word of how it looks."""

from packs.documents.change import RatingChange, rating_change
from packs.documents.container_label import ContainerLabel
from packs.documents.disposal_note import DisposalNote, DisposalSection, DisposalUnit, Way
from packs.documents.fingerprint import check_code, content_hash, hash_begins
from packs.documents.frozen import Document, freeze, thaw
from packs.documents.hand_over import GoesBack, HandOverReceipt, Whereabouts
from packs.documents.heading import Exempted, Heading, Workshop
from packs.documents.health_report import HealthReport, PackTest
from packs.documents.job_card import Blank, CardStep, JobCard, Slots, StripCut, StripJoints, Target
from packs.documents.market import Claim, OnTheMarket
from packs.documents.pack import CellToLevel, Group, Limit, Mixed, Outline, PackRating, PlacedCell, WayStated
from packs.documents.pack_label import PackLabel
from packs.documents.quote import Quote, QuoteLine
from packs.documents.test_report import (
    AsFound,
    ChargeLook,
    CheckResult,
    CurvePoint,
    FromPaper,
    Proof,
    StepDone,
    StoppedTry,
    TestReport,
)

__all__ = [
    "AsFound",
    "Blank",
    "CardStep",
    "CellToLevel",
    "ChargeLook",
    "CheckResult",
    "Claim",
    "ContainerLabel",
    "CurvePoint",
    "DisposalNote",
    "DisposalSection",
    "DisposalUnit",
    "Document",
    "Exempted",
    "FromPaper",
    "GoesBack",
    "Group",
    "HandOverReceipt",
    "Heading",
    "HealthReport",
    "JobCard",
    "Limit",
    "Mixed",
    "OnTheMarket",
    "Outline",
    "PackLabel",
    "PackRating",
    "PackTest",
    "PlacedCell",
    "Proof",
    "Quote",
    "QuoteLine",
    "RatingChange",
    "Slots",
    "StepDone",
    "StoppedTry",
    "StripCut",
    "StripJoints",
    "Target",
    "TestReport",
    "Way",
    "WayStated",
    "Whereabouts",
    "Workshop",
    "check_code",
    "content_hash",
    "freeze",
    "hash_begins",
    "rating_change",
    "thaw",
]
