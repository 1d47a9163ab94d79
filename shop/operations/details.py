"""At the bench: what else the opened pack shows, as far as somebody has looked."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from packs.terms import ContactKind, Opening, Sealing, Stage
from shop.bridge import rules
from shop.bridge.possible import STATED
from shop.errors import ShopError
from shop.models import Instrument, Job, PackAsFound, PackDetails, User

from . import log
from .base import BENCH, lock_job, moment, require_stage, save, verb
from .possible import refuse_all, stated_doubts

WHILE_OLD = (Stage.EXAMINE, Stage.TEST_PACK, Stage.TARGET, Stage.MATCH, Stage.DISMANTLE)
"""As long as the old pack is there to be looked at."""

MOST_CONTACTS = 12
IP_CODE = re.compile(r"IP[0-6X][0-9X]K?")
"""Two numerals, X where one is left open; IEC 60529 and, for 9K, ISO 20653 (both from memory)."""


@dataclass(frozen=True, kw_only=True)
class Contact:
    """One sensor, cut-off or contact: where it sits, and what a meter showed at it."""

    kind: ContactKind
    place: str
    ohm: Decimal | None = None
    open: bool = False
    mdegc: int | None = None


@dataclass(frozen=True, kw_only=True)
class Details:
    """What was looked at; what was not is unknown or left out."""

    opens: Opening = Opening.UNKNOWN
    sealing: Sealing = Sealing.UNKNOWN
    ip_code: str = ""
    metal: bool | None = None
    insulation_kohm: Decimal | None = None
    insulation_test_mv: int | None = None
    instrument: Instrument | None = None
    board_overcharge_mv: int | None = None
    board_undervoltage_mv: int | None = None
    board_current_ma: int | None = None
    contacts: Sequence[Contact] = ()


@verb(*BENCH)
def describe(
    *, job: Job, details: Details, by: User, version: int | None = None, now: datetime | None = None
) -> PackDetails:
    """How the case was shut, insulation, cut-offs and contacts are stated whole; the last time counts, the others stay."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *WHILE_OLD)
    require_possible(details)
    columns = {name: value for name, value in vars(details).items() if name != "contacts"}
    found = PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    asked = rules.insulated(job, found, metal=details.metal, insulation_kohm=details.insulation_kohm)
    row = save(
        PackDetails(
            job=job,
            **columns | {"ip_code": _ip_code(details)},
            contacts=[_kept(one) for one in details.contacts],
            findings=rules.as_json(asked),
            at=at,
            by=by,
        )
    )
    log.record("pack described", by=by, at=at, job=job, opens=row.opens, contacts=len(row.contacts))
    return row


def require_possible(details: Details) -> None:
    """Refuse what cannot be, all of it at once."""
    code = _ip_code(details)
    no_code = "" if not code or IP_CODE.fullmatch(code) else f"“{code}” is no IP code: one is IP54, or IPX7."
    low, high = details.board_undervoltage_mv, details.board_overcharge_mv
    upside_down = low is not None and high is not None and low >= high
    refuse_all(
        ("impossible_value", stated_doubts(vars(details))),
        ("no_ip_code", {"ip_code": no_code}),
        ("impossible_value", {"board_undervoltage_mv": UPSIDE_DOWN if upside_down else ""}),
        ("contact_incomplete", {f"contact {n}": _doubt(one) for n, one in enumerate(details.contacts, start=1)}),
    )
    if len(details.contacts) > MOST_CONTACTS:
        raise ShopError("too_many", f"Up to {MOST_CONTACTS} contacts of a pack are written down.", field="contacts")


UPSIDE_DOWN = "The undervoltage trip lies below the overcharge trip."


def _doubt(contact: Contact) -> str:
    if not contact.place.strip():
        return "Say where it sits, or which contact it is."
    if contact.open and contact.ohm is not None:
        return "Write down a value or that it is open: one of them."
    if contact.mdegc is not None and (doubt := STATED["temperature_mdegc"].doubt(contact.mdegc)):
        return doubt
    return "" if contact.ohm is None else STATED["contact_ohm"].doubt(contact.ohm)


def _ip_code(details: Details) -> str:
    return details.ip_code.replace(" ", "").upper()


def _kept(contact: Contact) -> dict[str, Any]:
    return {
        "kind": contact.kind.value,
        "place": contact.place.strip(),
        "ohm": None if contact.ohm is None else str(contact.ohm),
        "open": contact.open,
        "mdegc": contact.mdegc,
    }
