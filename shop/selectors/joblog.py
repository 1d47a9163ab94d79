"""The job log as the bench would tell it: one sentence a line, with the facts that tell something."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby
from typing import Any

from packs.terms import (
    Area,
    CellEnd,
    Chemistry,
    Circumstance,
    Condition,
    DangerLevel,
    DangerSign,
    DocumentKind,
    FeeState,
    Heard,
    JobKind,
    Measure,
    Peeled,
    Stage,
    Travels,
)
from packs.units import of, show
from shop.bridge import rules
from shop.bridge.areas import in_words as limits_in_words
from shop.bridge.possible import STATED
from shop.bridge.standing import named
from shop.models import IncidentKind, IssuedDocument, Job, LogEntry, RunState

Facts = dict[str, Any]
TOGETHER = frozenset({"cells removed", "cell placed"})
"""What is told once for many cells handled one after the other."""


@dataclass(frozen=True)
class LogLine:
    """One sentence of the job log."""

    sentence: str
    by: str
    at: datetime


def lines(job: Job, *, locale: str = "en") -> list[LogLine]:
    """Return the log of a job, newest first."""
    entries = job.log.select_related("by").order_by("-pk")
    runs = groupby(entries, key=lambda entry: (entry.verb, entry.by_id) if entry.verb in TOGETHER else entry.pk)
    return [_line(list(run), locale) for _, run in runs]


def sentence(verb: str, facts: Facts, *, locale: str = "en") -> str:
    """Say one entry; a verb that an older version of the shop wrote is said as it stands."""
    try:
        return TOLD[verb]({**facts, "locale": locale})
    except (KeyError, ValueError):
        return verb.capitalize()


def _line(run: list[LogEntry], locale: str) -> LogLine:
    newest = run[0]
    if len(run) == 1:
        said = sentence(newest.verb, newest.facts, locale=locale)
    else:
        said = RUNS[newest.verb]([entry.facts for entry in reversed(run)])
    return LogLine(said, str(newest.by), newest.at)


def _of_many(count: int, codes: list[str]) -> str:
    """Name one thing, or how many and the first and the last of them."""
    return codes[0] if count == 1 and codes else f"{count} cells ({codes[0]} to {codes[-1]})" if codes else "no cell"


def _cells(facts: Facts) -> str:
    return _of_many(len(facts["cells"]), facts["cells"])


def _removed(runs: list[Facts]) -> str:
    codes = [code for facts in runs for code in facts["cells"]]
    return f"{_of_many(len(codes), codes)} out of the old pack"


def _placed(runs: list[Facts]) -> str:
    return f"{len(runs)} cells placed, positions {runs[0]['position']} to {runs[-1]['position']}"


def _kind(facts: Facts) -> str:
    kind = JobKind(facts.get("kind", JobKind.REBUILD))
    return "" if kind is JobKind.REBUILD else f", {kind.label}"


def _signs(facts: Facts) -> str:
    return ", ".join(DangerSign(sign).label for sign in facts["signs"]) or "no danger sign"


def _stopped(facts: Facts) -> str:
    return f"Stopped at “{Stage(facts['step']).label}”{_try(facts)}: {_asked_about(facts['stops'])}{_since(facts)}"


def _asked_about(rule_ids: list[str]) -> str:
    return "; ".join(dict.fromkeys(rules.asks_about(rule) for rule in rule_ids))


def _try(facts: Facts) -> str:
    """Name the try where there was more than one; entries of an older version of the shop do not say which."""
    return f", try {facts['number']}" if facts.get("number", 1) > 1 else ""


def _since(facts: Facts) -> str:
    """Say what was found and done since the try before, where that was asked for."""
    return f"; since the try before: {facts['since']}" if facts.get("since") else ""


def _issued(facts: Facts) -> str:
    kinds = {prefix: kind for kind, prefix in IssuedDocument.PREFIX.items()}
    return f"{_capital(DocumentKind(kinds[facts['document'][:2]]).label)} {facts['document']} issued"


def _corrected(facts: Facts) -> str:
    measure = Measure(facts["measure"])
    old, new = (show(of(measure, Decimal(facts[key])), locale=facts["locale"]) for key in ("old", "new"))
    return f"{_capital(measure.label)} corrected from {old} to {new}: {facts['reason']}"


def _withdrawn(facts: Facts) -> str:
    measure = Measure(facts["measure"])
    value = show(of(measure, Decimal(facts["value"])), locale=facts["locale"])
    return f"{_capital(measure.label)} of {value} of cell {facts['cell']} withdrawn: {facts['reason']}"


def _accepted(facts: Facts) -> str:
    count = len(facts["groups"])
    broken = f", not as asked: {facts['not_as_asked']}" if facts.get("not_as_asked") else ""
    return f"{sum(len(group) for group in facts['groups'])} cells reserved in {count} group{'s' * (count != 1)}{broken}"


def _replaced(facts: Facts) -> str:
    """Name the groups of a repair; entries of an older version of the shop name none."""
    return f", {named(facts['replaced'])} replaced" if facts.get("replaced") else ""


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def _contacts(count: int) -> str:
    return "1 sensor or contact" if count == 1 else f"{count or 'no'} sensors and contacts"


def _things(things: Iterable[str]) -> str:
    named = list(things)
    return named[0] if len(named) == 1 else f"{len(named)} things ({named[0]} to {named[-1]})"


def _completed(facts: Facts) -> str:
    serial = f"serial number {facts['serial']}" if facts["serial"] else ""
    more = [
        _found_out(name, facts["more"][name], facts["locale"]) for name in FOUND_OUT if name in facts.get("more", {})
    ]
    found = (
        f"{'recalled' if facts['recalled'] else 'looked for a recall'}: {facts['recall']}" if facts["recall"] else ""
    )
    return _capital("; ".join(part for part in (serial, *more, _misread(facts), found) if part))


def _misread(facts: Facts) -> str:
    """Say what stood on the nameplate before it was corrected, and why it was; nothing where nothing was."""
    was = [_found_out(name, facts["was"][name], facts["locale"]) for name in FOUND_OUT if name in facts.get("was", {})]
    return f"corrected, before it was {' and '.join(was)}: {facts['reason']}" if was else ""


# In the order told: a database may keep the facts of an entry in an order of its own.
FOUND_OUT = {
    "maker": "maker",
    "chemistry": "chemistry",
    "rated_voltage_mv": "rated voltage",
    "rated_capacity_mah": "rated capacity",
    "charger_voltage_mv": "charger output",
    "phone": "phone",
    "email": "e-mail",
}


def _found_out(name: str, text: str, locale: str) -> str:
    said = STATED[name].shown(Decimal(text), locale=locale) if name in STATED else text
    return f"{FOUND_OUT[name]} {Chemistry(said).label if name == 'chemistry' else said}"


def _closed_by_disposal(facts: Facts) -> str:
    """Say where the pack was when the job was closed; an older entry did not write it down."""
    if "containers" not in facts:
        return "Closed: the pack is for disposal"
    waits = f"is put aside for disposal, in container {' and '.join(facts['containers'])}"
    return f"Closed: the pack {waits if facts['containers'] else 'left the shop for disposal'}"


def _leaves(facts: Facts) -> str:
    """Say how a built pack left and how full it can be; an older entry did not write it down."""
    if "travels" not in facts:
        return ""
    full = "charge not known" if facts["charge"] is None else f"at most {facts['charge']} % charged"
    tests = f"; transport tests: {facts['tests']}" if facts.get("tests") else ""
    return f", {Travels(facts['travels']).label}, {full}{tests}"


def _freed(facts: Facts) -> str:
    """Say which cells nobody holds any more; an older entry did not write it down."""
    codes = facts.get("freed", [])
    return f"; free again: {_of_many(len(codes), codes)}" if codes else ""


def _fee(facts: Facts) -> str:
    """Say what became of the fee for the examination, where one was due."""
    return f"; fee for the examination, {facts['fee']}: {FeeState(facts['fee_is']).label}" if "fee" in facts else ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


RUNS: dict[str, Callable[[list[Facts]], str]] = {"cells removed": _removed, "cell placed": _placed}

TOLD: dict[str, Callable[[Facts], str]] = {
    "taken in": lambda facts: f"Taken in{_kind(facts)}: {_signs(facts)}",
    "opened": lambda facts: f"Opened{_kind(facts)}",
    "build given up": lambda facts: f"Build given up: {facts['reason']}",
    "pack into stock": lambda facts: f"{facts['pack']} into stock",
    "closed": lambda facts: "Closed",
    "cleared by lead": lambda facts: f"Cleared by the lead: {facts['findings']}",
    "not let to the bench": lambda facts: f"Not let to the bench by the lead: {facts['findings']}",
    "intake completed": _completed,
    "danger sign seen": lambda facts: f"Danger sign seen: {_signs(facts)}",
    "goes back without a rebuild": lambda facts: f"Goes back without a rebuild: {facts['reason']}{_freed(facts)}",
    "returned without a rebuild": lambda facts: f"Returned without a rebuild: {facts['reason']}",
    "pack described": lambda facts: (
        f"Case, insulation and cut-offs of the old pack stated, with {_contacts(facts['contacts'])}"
    ),
    "promised": lambda facts: f"Promised for {facts['day']}",
    "cells queued": lambda facts: f"{_cells(facts)} for a channel of the test bench",
    "cell in channel": lambda facts: f"{facts['cell']} in {facts['channel']}",
    "test of cell over": lambda facts: f"Test of {facts['cell']}: {RunState(facts['state']).label}",
    "facility order stated": lambda facts: (
        f"Ordered in writing by {facts['facility']}, {facts['reference']}: {facts['ordered_cells']}"
    ),
    "photograph kept": lambda facts: f"Photograph at “{Stage(facts['stage']).label}”: {facts['shows']}",
    "photograph withdrawn": lambda facts: f"Photograph withdrawn, {facts['shows']}: {facts['reason']}",
    "examined": lambda facts: f"Examined: {facts['arrangement']} of {facts['cells']}",
    "pack stated for fault finding": lambda facts: f"Stated for fault finding: {facts['series']} groups in series",
    "probes read": lambda facts: (
        f"{_readings(facts['count'])} to find the fault, {Circumstance(facts['circumstance']).label}"
    ),
    "search begun anew": lambda facts: f"Fault looked for anew after: {facts['repaired']}",
    "pack test completed": lambda facts: f"{_readings(facts['count'])} added to the test of the pack",
    "probe taken back": lambda facts: f"Reading taken back, {facts['where']}: {facts['reason']}",
    "target stated": lambda facts: f"Target pack stated: {facts['arrangement']}{_replaced(facts)}",
    "cells accepted": _accepted,
    "exception written": lambda facts: f"Accepted in writing: {rules.asks_about(facts['rule'])}. {facts['reason']}",
    "exception withdrawn": lambda facts: (
        f"Written exception withdrawn: {rules.asks_about(facts['rule'])}. {facts['reason']}"
    ),
    "longer search begun": lambda _: "A longer search for better groups begun",
    "long work stopped": lambda _: "A longer search stopped",
    "plan given up": lambda facts: f"Plan given up: {facts['reason']}",
    "dismantling prepared": lambda facts: (
        f"Not to be cut yet: {_asked_about(facts['stops'])}" if facts["stops"] else "Ready to be cut"
    ),
    "cells removed": lambda facts: f"{_cells(facts)} out of the old pack, {Condition(facts['condition']).label}",
    "cell placed": lambda facts: f"{facts['cell']} placed at {facts['position']}",
    "peel samples": lambda facts: (
        f"Peel sample with {facts['weld']}: "
        + ", ".join(f"{end.label} {Peeled(facts['peeled'][end]).label}" for end in CellEnd if end in facts["peeled"])
    ),
    "cell breached": lambda facts: (
        f"{facts['cell']} breached at {facts['position']}: {facts['happened']}; {facts['instead']} goes in instead"
        + (f", strip {', '.join(map(str, facts['strips']))} off" if facts["strips"] else "")
    ),
    "cell replaced": lambda facts: (
        f"{facts['cell']} replaced, {facts['reason']}: "
        + ", ".join(f"{into} for {out} at {position}" for position, out, into in facts["changes"])
    ),
    "incident": lambda facts: (
        f"Incident, {IncidentKind(facts['kind']).label}: {facts['happened']}; frozen until a lead releases it"
    ),
    "incident released": lambda facts: (
        f"Released after an incident ({IncidentKind(facts['kind']).label}): {facts['findings']}"
        + (f"; the pack is {DangerLevel(facts['danger']).value}" if "danger" in facts else "")
    ),
    "limits of a place set": lambda facts: (
        f"Limits of {Area(facts['area']).label}: {limits_in_words(facts['amounts'])} ({facts['said_by']})"
    ),
    "emergency text written": lambda _: "Emergency text written",
    "strips undone": lambda facts: f"Taken off or stated anew: strip {', '.join(map(str, facts['strips']))}",
    "parked": lambda facts: f"Parked at “{Stage(facts['step']).label}”: {facts['place']}",
    "taken up again": lambda facts: (
        f"Taken up again at “{Stage(facts['step']).label}”"
        + (f", {facts['supervised_by']} stays beside it" if "supervised_by" in facts else "")
    ),
    "step done": lambda facts: f"Done: {Stage(facts['step']).label.lower()}{_try(facts)}{_since(facts)}",
    "step stopped": _stopped,
    "step holds no more": lambda facts: (
        f"“{Stage(facts['step']).label}” holds no more, with the corrected reading: {_asked_about(facts['stops'])}"
    ),
    "condition lowered": lambda facts: (
        f"{facts['cell']} is {Condition(facts['after']).label}, no longer {Condition(facts['before']).label}: "
        f"{facts['reason']}"
    ),
    "cells reclaimed": lambda facts: f"{_cells(facts)} back to stock, to be tested",
    "rest of the pack handed back": lambda facts: f"{facts['item']}: handed back to the customer",
    "cells handed back": lambda facts: f"{_cells(facts)} handed back to the customer",
    "waste set apart": lambda facts: f"Set apart as waste: {facts['item']}",
    "into container": lambda facts: f"{_things(facts['things'])} into container {facts['container']}",
    "handed to emergency route": lambda facts: f"{facts['thing']} taken by {facts['receiver']}, emergency route",
    "removed items accounted for": lambda facts: "Nothing is left on the bench",
    "document issued": _issued,
    "pack notes written": lambda facts: f"Pack notes of {facts['pack']} written",
    "pack notes completed": lambda facts: f"Pack notes of {facts['pack']} completed with what was found",
    "labour time noted": lambda facts: f"Labour time noted: {facts['minutes']} min",
    "quote approved": lambda facts: (
        f"Quote {facts['quote']} approved by {facts['name']}, {Heard(facts['heard']).label}"
    ),
    "quote declined": lambda facts: (
        f"Quote {facts['quote']} declined by {facts['name']}, {Heard(facts['heard']).label}"
    ),
    "document voided": lambda facts: f"{facts['document']} made void: {facts['reason']}",
    "document replaced": lambda facts: f"{facts['document']} replaced by {facts['by_document']}: {facts['reason']}",
    "document stored": lambda facts: f"{facts['document']} printed and stored",
    "reading corrected": _corrected,
    "reading withdrawn": _withdrawn,
    "handed over": lambda facts: f"Handed over to {facts['to']}{_leaves(facts)}{_fee(facts)}",
    "closed by disposal": _closed_by_disposal,
}
