"""At the bench: what is wrong with a pack, from readings between two points at a time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from packs.terms import BoardSwitch, Chemistry, Circumstance, GroupsReadAs, Stage
from shop.bridge import faultfinding
from shop.bridge.possible import PROBED, fault_groups_doubt
from shop.errors import ShopError
from shop.models import FaultSearch, Instrument, Job, PackAsFound, ProbeReading, User

from . import log
from .base import BENCH, lock_job, moment, require_stage, save, verb
from .intake import stands_whole
from .possible import ask, refuse, require_stated

WHILE_WHOLE = (Stage.EXAMINE, Stage.TEST_PACK, Stage.TARGET, Stage.MATCH, Stage.DISMANTLE)
"""As long as the pack is whole there is something to find in it."""


UNDER_LOAD = frozenset(Circumstance) - {Circumstance.REST, Circumstance.NEXT_DAY}

A_DAY = timedelta(hours=20)
"""So long after the first readings at rest counts as a day later; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class KnownPack:
    """What is known of a pack before it is measured; None where nothing is."""

    series: int
    chemistry: Chemistry
    group_resistance_uohm: int | None = None
    load_ma: int | None = None
    wake_voltage_mv: int | None = None
    switch: BoardSwitch = BoardSwitch.UNKNOWN
    sensor_ohm: Decimal | None = None
    outlet_voltage_mv: int | None = None
    temperature_mdegc: int | None = None
    tap_plug: bool = False
    examined_as: GroupsReadAs = GroupsReadAs.UNUSED


@dataclass(frozen=True, kw_only=True)
class Probe:
    """What a meter showed between two points: volts, ohms at the sensor, or nothing that settled."""

    low: str
    high: str
    value_mv: Decimal | None = None
    value_ohm: Decimal | None = None
    unsteady: bool = False

    @property
    def field(self) -> str:
        """How a form calls this pair."""
        return f"{self.low}{faultfinding.PAIR}{self.high}"


@verb(*BENCH)
def state_pack(
    *,
    job: Job,
    pack: KnownPack,
    by: User,
    sure: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> FaultSearch:
    """What is known of the pack is stated first; what is not gets a default that the page names.

    Another number of groups than the examination found is asked back, and taken from who is ``sure`` of it.
    """
    at = moment(now)
    job = _whole_pack(job, version)
    require_stated(vars(pack))
    refuse("impossible_value", {"series": fault_groups_doubt(pack.series)} | _beyond(pack))
    row = FaultSearch.objects.filter(job=job).first() or FaultSearch(job=job)
    for name, value in vars(pack).items():
        setattr(row, name, value)
    row.stated_at, row.stated_by = at, by
    stated = faultfinding.StatedPack(row, _as_found(job))
    refuse("impossible_value", {"examined_as": stated.examined_doubt, "load_ma": stated.load_doubt})
    ask({"series": stated.groups_doubt}, sure=sure)
    kept = [faultfinding.reading(probe) for probe in job.probes.standing()]
    faultfinding.require_fit(stated.model(), kept)
    save(row)
    log.record("pack stated for fault finding", by=by, at=at, job=job, series=row.series, chemistry=row.chemistry)
    return row


@verb(*BENCH)
def record_probes(
    *,
    job: Job,
    circumstance: Circumstance,
    probes: Sequence[Probe],
    by: User,
    instrument: Instrument | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> list[ProbeReading]:
    """Each reading names both probe points and what the pack did; what proves nothing is kept as well."""
    at = moment(now)
    job = _whole_pack(job, version)
    stated = _stated(job)
    if not probes:
        raise ShopError("nothing_read", "Write down at least one reading, or tick that it did not settle.")
    _require_possible(probes)
    if circumstance is Circumstance.NEXT_DAY:
        _require_a_day(stated.search, at)
    rows = [_row(stated.search, circumstance, probe, instrument, by, at) for probe in probes]
    _require_readable(stated, circumstance, probes, rows)
    kept = [save(row) for row in rows]
    log.record("probes read", by=by, at=at, job=job, count=len(kept), circumstance=circumstance.value)
    return kept


@verb(*BENCH)
def search_anew(
    *, job: Job, repaired: str, by: User, version: int | None = None, now: datetime | None = None
) -> FaultSearch:
    """After a repair the search begins anew: what was read before it stays in the book and counts no more."""
    at = moment(now)
    job = _whole_pack(job, version)
    if not repaired.strip():
        raise ShopError("repaired_missing", "Say what was repaired or changed.", field="repaired")
    row = _stated(job).search
    if not job.probes.filter(search=row.search).exists():
        raise ShopError("nothing_read", "Nothing was read in this search yet: go on with it.")
    row.search += 1
    row.repaired, row.examined_as = repaired.strip(), GroupsReadAs.UNUSED.value
    save(row)
    log.record("search begun anew", by=by, at=at, job=job, search=row.search, repaired=row.repaired)
    return row


@verb(*BENCH)
def take_back_probe(
    *, job: Job, probe: ProbeReading, reason: str, by: User, version: int | None = None, now: datetime | None = None
) -> ProbeReading:
    """A reading that was wrong stays in the book, taken back with a reason, and strikes nothing out any more."""
    at = moment(now)
    job = _whole_pack(job, version)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the reading is taken back.", field="reason")
    if not job.probes.standing().filter(pk=probe.pk).exists():
        raise ShopError("taken_back_already", "This reading of the job does not stand any more.")
    row = ProbeReading(
        job=job,
        low_point=probe.low_point,
        high_point=probe.high_point,
        circumstance=probe.circumstance,
        search=probe.search,
        taken_back=True,
        corrects=probe,
        reason=reason.strip(),
        measured_at=at,
        by=by,
    )
    save(row)
    log.record("probe taken back", by=by, at=at, job=job, where=faultfinding.probed(probe).where, reason=row.reason)
    return row


def _whole_pack(job: Job, version: int | None) -> Job:
    job = lock_job(job, version)
    require_stage(job, *WHILE_WHOLE)
    if not stands_whole(job):
        raise ShopError("no_whole_pack", "There is no whole pack on this job to find a fault in.")
    return job


def _stated(job: Job) -> faultfinding.StatedPack:
    row = FaultSearch.objects.filter(job=job).first()
    if row is None:
        raise ShopError("pack_not_stated", "State the pack first: groups in series and chemistry at least.")
    return faultfinding.StatedPack(row, _as_found(job))


def _as_found(job: Job) -> PackAsFound | None:
    return PackAsFound.objects.filter(job=job).select_related("cell_model").first()


def _beyond(pack: KnownPack) -> dict[str, str]:
    """Doubts about what a pack under search cannot have, though something else here may."""
    given = {name: getattr(pack, name) for name in faultfinding.SEARCHED}
    return {name: faultfinding.SEARCHED[name].doubt(value) for name, value in given.items() if value is not None}


def _require_a_day(search: FaultSearch, at: datetime) -> None:
    """What falls by the day cannot be seen an hour later: it would strike out a leak that is there."""
    at_rest = search.job.probes.standing().filter(search=search.search, circumstance=Circumstance.REST.value)
    found = [*at_rest.values_list("measured_at", flat=True), *_examined_at(search)]
    if found and at - min(found) < A_DAY:
        hours = (at - min(found)).total_seconds() / 3600
        raise ShopError(
            "too_soon",
            f"The first readings at rest are {hours:.0f} hours old. Let the pack lie without a load for a day and read it"
            " again then; what was read now goes in as read at rest.",
        )


def _examined_at(search: FaultSearch) -> Iterable[datetime]:
    """Return when the group voltages of the examination were read, where the search rests on them."""
    if search.search > 1 or GroupsReadAs(search.examined_as) is GroupsReadAs.UNUSED:
        return ()
    return search.job.readings.of_examined_groups().values_list("measured_at", flat=True)


def _require_possible(probes: Sequence[Probe]) -> None:
    """Each pair shows one thing, and nothing that no meter shows."""
    columns = ("value_mv", "value_ohm")
    doubts = {}
    for probe in probes:
        shown = {name: value for name in columns if (value := getattr(probe, name)) is not None}
        if len(shown) + probe.unsteady != 1:
            doubts[probe.field] = "Write down a value or that it did not settle: one of them."
        elif ("value_ohm" in shown) != probe.low.startswith("sensor_") and shown:
            doubts[probe.field] = "Volts are read in the pack, ohms at the sensor."
        else:
            doubts[probe.field] = next((PROBED[name].doubt(value) for name, value in shown.items()), "")
    refuse("impossible_value", doubts)


def _require_readable(
    stated: faultfinding.StatedPack, circumstance: Circumstance, probes: Sequence[Probe], rows: Sequence[ProbeReading]
) -> None:
    """Points and circumstance belong together, the load is known, and no reading is beyond what the pack can show."""
    model, readings = stated.model(), [faultfinding.reading(row) for row in rows]
    faultfinding.require_fit(model, readings)
    if circumstance in UNDER_LOAD and not stated.load_known:
        raise ShopError("load_not_stated", "State the load that was drawn first: what a group loses hangs on it.")
    doubts = (faultfinding.reading_doubt(model, one) for one in readings)
    refuse("impossible_value", {probe.field: doubt for probe, doubt in zip(probes, doubts, strict=True)})


def _row(
    search: FaultSearch, circumstance: Circumstance, probe: Probe, instrument: Instrument | None, by: User, at: datetime
) -> ProbeReading:
    return ProbeReading(
        job=search.job,
        search=search.search,
        low_point=probe.low,
        high_point=probe.high,
        circumstance=circumstance.value,
        value_mv=probe.value_mv,
        value_ohm=probe.value_ohm,
        unsteady=probe.unsteady,
        instrument=instrument,
        measured_at=at,
        by=by,
    )
