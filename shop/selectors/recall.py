"""From a lot, a cell, a welder, a charger or a meter to every pack and customer it touched, and from a pack back to all of them."""

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from django.db.models import Count, Q

from packs.terms import JobKind, Place, Stage
from shop.bridge.machines import CHARGED_WITH
from shop.models import Cell, Instrument, Job, Lot, Movement, PeelSample, PlanPosition, Reading, Step, machine_key

WELDED = "welded with "
"""What joining confirms, followed by machine, schedule and pulse."""
_AT_ONCE = 2000


@dataclass(frozen=True)
class Touched:
    """One pack that something touched, and whom to call about it; ``inside`` is how many of the cells are in it still."""

    number: int
    customer: str
    phone: str
    email: str
    device: str
    serial: str
    where: str
    closed_at: datetime | None
    why: str
    inside: int | None = None

    @property
    def job(self) -> str:
        """The number of the job as it is written."""
        return f"J{self.number:04d}"


def by_cells(cells: Q) -> list[Touched]:
    """Return the packs that cells were placed in, by where they are in the movements; ``cells`` is asked of a cell."""
    of_movement = Movement.objects.filter(to_place=Place.PACK.value, cell__in=Cell.objects.filter(cells))
    placed = _counted(of_movement.order_by().values_list("job_id").annotate(Count("cell", distinct=True)))
    still = Q(open=True, cell__place=Place.PACK.value) | Q(plan__state="built", cell__place=Place.CUSTOMER.value)
    of_plan = PlanPosition.objects.filter(still, placed_at__isnull=False, cell__in=Cell.objects.filter(cells))
    inside = _counted(of_plan.order_by().values_list("plan__job_id").annotate(Count("cell", distinct=True)))
    why = {job: f"{count} cell{'s' * (count > 1)} placed in it" for job, count in placed.items()}
    return _touched(why, inside)


def by_welder(machine: str, setting: str = "") -> list[Touched]:
    """Return the packs that were joined with a machine, however it was spelled; with ``setting``, with that alone."""
    asked, machines = machine_key(machine), _machines()
    told: dict[str, bool] = {}
    why: dict[int, str] = {}
    for job, words in _welded():
        if words not in told:
            name, its_setting = _apart(words, machines)
            told[words] = machine_key(name) == asked and setting in ("", its_setting)
        if told[words]:
            why.setdefault(job, words)
    return _touched(why)


def by_charger(name: str) -> list[Touched]:
    """Return the packs whose first charge names a charger, however it was spelled."""
    asked = machine_key(name)
    return _touched({job: f"{CHARGED_WITH}{said}" for job, said in _charged() if machine_key(said) == asked})


def chargers() -> list[tuple[str, int]]:
    """Return every charger that a first charge names, and with how many packs; spellings of one count as one."""
    jobs: dict[str, set[int]] = {}
    names: dict[str, str] = {}
    for job, said in _charged():
        jobs.setdefault(machine_key(said), set()).add(job)
        names.setdefault(machine_key(said), said)
    return sorted((names[key], len(found)) for key, found in jobs.items())


def by_meter(meter: Instrument) -> list[Touched]:
    """Return the packs that were measured with a meter or tester, and those with cells that were."""
    of_pack = Reading.objects.filter(instrument=meter, job__isnull=False)
    readings = _counted(of_pack.order_by().values_list("job_id").annotate(Count("pk")))
    measured = Reading.objects.filter(instrument=meter, cell__isnull=False).values("cell")
    placed = Movement.objects.filter(to_place=Place.PACK.value, cell__in=measured)
    cells = _counted(placed.order_by().values_list("job_id").annotate(Count("cell", distinct=True)))
    why = {}
    for job in readings | cells:
        said = [f"{readings[job]} reading{'s' * (readings[job] > 1)} at it"] if job in readings else []
        said += [f"{cells[job]} cell{'s' * (cells[job] > 1)} in it measured"] if job in cells else []
        why[job] = ", ".join(said)
    return _touched(why)


@dataclass(frozen=True)
class WentIn:
    """What went into one pack: lots with their number of cells, settings of welders, meters."""

    lots: list[tuple[Lot, int]]
    welded: list[tuple[str, str]]
    meters: list[Instrument]


def into(job: Job) -> WentIn:
    """Return what went into the pack of a job."""
    placed = Movement.objects.filter(to_place=Place.PACK.value, job=job)
    per_lot = _counted(placed.order_by().values_list("cell__lot_id").annotate(Count("cell", distinct=True)))
    lots = Lot.objects.filter(pk__in=per_lot).select_related("cell_model", "donor_job")
    measured = Reading.objects.filter(Q(job=job) | Q(cell__in=placed.values("cell")), instrument__isnull=False)
    machines = _machines()
    return WentIn(
        lots=[(lot, per_lot[lot.pk]) for lot in lots],
        welded=sorted({_apart(words, machines) for _, words in _welded(job)}),
        meters=list(Instrument.objects.filter(pk__in=measured.values("instrument"))),
    )


def welders() -> list[tuple[str, str, int]]:
    """Return every machine with each of its settings that a pack was joined with, and with how many."""
    counted = Counter({(job, words) for job, words in _welded()})
    per_setting = Counter(words for _, words in counted)
    machines = _machines()
    return sorted((*_apart(words, machines), count) for words, count in per_setting.items())


def elsewhere(cells: Q) -> list[tuple[str, int]]:
    """Return where cells stand that are in no pack, and how many in each place."""
    not_placed = Cell.objects.filter(cells).exclude(place__in=[Place.PACK.value, Place.CUSTOMER.value])
    counted = not_placed.order_by().values_list("place").annotate(Count("pk"))
    return sorted((str(Place(place).label), count) for place, count in counted)


def as_csv(packs: Iterable[Touched]) -> str:
    """Return the list to recall by; a text that a spreadsheet would take for a formula is kept a text."""
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(["job", *(each.name for each in fields(Touched) if each.name != "number")])
    rows.writerows(_row(pack) for pack in packs)
    return out.getvalue()


def _row(pack: Touched) -> list[str]:
    closed = pack.closed_at.date().isoformat() if pack.closed_at else ""
    texts = [pack.job, pack.customer, pack.phone, pack.email, pack.device, pack.serial, pack.where, closed, pack.why]
    inside = "" if pack.inside is None else str(pack.inside)
    return [f"'{text}" if text[:1] in "=+-@\t\r" and text else text for text in [*texts, inside]]


def _welded(job: Job | None = None) -> Iterator[tuple[int, str]]:
    steps = Step.objects.filter(stage=Stage.JOIN.value, **({"job": job} if job else {}))
    for number, confirmed in steps.order_by("job").values_list("job_id", "confirmed").iterator():
        for words in confirmed:
            if words.startswith(WELDED):
                yield number, words


def _charged() -> Iterator[tuple[int, str]]:
    steps = Step.objects.filter(stage=Stage.FIRST_CHARGE.value)
    for number, confirmed in steps.order_by("job").values_list("job_id", "confirmed").iterator():
        for words in confirmed:
            if words.startswith(CHARGED_WITH):
                yield number, words.removeprefix(CHARGED_WITH)


def _machines() -> list[str]:
    """Every machine with a peel sample, the longest name first; nothing is welded without one."""
    named = PeelSample.objects.order_by().values_list("machine", flat=True).distinct()
    return sorted(named, key=lambda name: (-len(name), name))


def _apart(words: str, machines: list[str]) -> tuple[str, str]:
    """Take a machine and its setting apart; either may have commas of its own."""
    said = words.removeprefix(WELDED)
    machine = next((name for name in machines if said.startswith(f"{name}, ")), said.rsplit(", ", 2)[0])
    return machine, said.removeprefix(f"{machine}, ")


def _counted(pairs: Iterable[Any]) -> dict[int, int]:
    return {key: count for key, count in pairs if key is not None}


_COLUMNS = (
    "pk", "number", "kind", "closed_at", "danger_level", "device__customer__name", "device__customer__phone",
    "device__customer__email", "device__customer__is_shop", "device__maker", "device__model", "device__serial",
)  # fmt: skip


def _touched(why: dict[int, str], inside: dict[int, int] | None = None) -> list[Touched]:
    """Return packs by the number of their job, newest first; asked for in parts, as a database takes so many keys."""
    found = []
    keys = sorted(why)
    for begin in range(0, len(keys), _AT_ONCE):
        for row in Job.objects.filter(pk__in=keys[begin : begin + _AT_ONCE]).order_by().values_list(*_COLUMNS):
            pk, number, kind, closed, danger, customer, phone, email, is_shop, maker, model, serial = row
            found.append(
                Touched(
                    number=number,
                    customer=customer,
                    phone=phone,
                    email=email,
                    device=f"{maker} {model}".strip(),
                    serial=serial,
                    where=_where(kind, closed is not None, is_shop, danger == "red"),
                    closed_at=closed,
                    why=why[pk],
                    inside=None if inside is None else inside.get(pk, 0),
                )
            )
    return sorted(found, key=lambda pack: -pack.number)


def _where(kind: str, closed: bool, is_shop: bool, red: bool) -> str:
    if not closed:
        return "in the shop"
    if red:
        return "not rebuilt, went as waste"
    return "built for stock" if is_shop or kind == JobKind.FOR_STOCK else "with the customer"
