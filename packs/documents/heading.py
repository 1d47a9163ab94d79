"""What every paper of the shop carries: whose it is, which job it belongs to, by which rules it was made."""

from dataclasses import dataclass
from datetime import datetime

from packs.terms import DocumentKind, Stage


@dataclass(frozen=True)
class Workshop:
    """The workshop as its settings had it on the day of issue.

    ``paper`` is "A4" or "letter"; ``number_locale`` and ``time_zone`` say how numbers and moments are written.
    """

    name: str
    address: str
    emergency_number: str
    paper: str
    number_locale: str
    time_zone: str


@dataclass(frozen=True)
class Exempted:
    """A written exception: which check does not hold on this job, why the work went on, and who answers for it."""

    stage: Stage
    what: str
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True)
class Heading:
    """The head of a paper; ``about`` says what ``job_code`` names: a job, a container, a consignment.

    ``rule_set`` is the version of the rules that its limits and results come from. ``replaces`` is the number of the paper
    that this one was issued anew for, and ``replaced_why`` the reason; both are empty on any other.
    """

    kind: DocumentKind
    code: str
    job_code: str
    device: str
    serial: str
    issued_at: datetime
    issued_by: str
    rule_set: str
    workshop: Workshop
    about: str = "job"
    exceptions: tuple[Exempted, ...] = ()
    replaces: str = ""
    replaced_why: str = ""
