"""Where the search for a fault stands on a job."""

from dataclasses import dataclass
from decimal import Decimal

from shop.bridge import faultfinding
from shop.models import FaultSearch, Job, PackAsFound, Reading


@dataclass(frozen=True)
class Search:
    """A stated pack, and where the search in it stands."""

    row: FaultSearch
    pack: faultfinding.StatedPack
    standing: faultfinding.Standing
    earlier: tuple[faultfinding.Taken, ...] = ()


def found(job: Job) -> faultfinding.Suspects | None:
    """Return what explains the readings of a job best, or None where it stands beside others or nothing was read."""
    search = of_job(job)
    if search is None or not search.standing.taken or len(search.standing.suspects) != 1:
        return None
    return search.standing.suspects[0]


STACK_SHARE = Decimal("0.02")
"""Two meters at the same stack agree within this share; common practice, no source."""


def standing(job: Job) -> faultfinding.Standing | None:
    """Return where the search of a job stands, or None where none was begun."""
    search = of_job(job)
    return None if search is None else search.standing


def as_found(job: Job) -> PackAsFound | None:
    """Return the pack as found, where it was written down."""
    return PackAsFound.objects.filter(job=job).select_related("cell_model").first()


def examined(job: Job) -> list[Reading]:
    """Return the group voltages of the examination; none once something was repaired since."""
    return [] if _repaired(job) else list(job.readings.of_examined_groups().select_related("by"))


def at_outlet(job: Job) -> list[Reading]:
    """Return the voltage of the whole pack at the examination; none once something was repaired since.

    What is the sum of the groups may have been read at the open stack, and tells nothing of the outlet.
    """
    if _repaired(job):
        return []
    stack = sum(one.value for one in examined(job))
    read = job.readings.of_examined_outlet().select_related("by")
    return [one for one in read if abs(one.value - stack) > STACK_SHARE * stack]


def _repaired(job: Job) -> bool:
    return FaultSearch.objects.filter(job=job, search__gt=1).exists()


def of_job(job: Job) -> Search | None:
    """Return the search of a job, or None where its pack was not stated yet."""
    row = FaultSearch.objects.filter(job=job).select_related("stated_by").first()
    if row is None:
        return None
    pack = faultfinding.StatedPack(row, as_found(job))
    probes = job.probes.standing().select_related("by", "instrument")
    here = [faultfinding.probed(probe) for probe in probes]
    at_first = [*faultfinding.examined(row, examined(job)), *faultfinding.at_outlet(at_outlet(job), here)]
    taken = [*at_first, *here]
    earlier = job.probes.of_earlier_searches().select_related("by") if row.search > 1 else ()
    standing = faultfinding.standing(pack, taken, job=job)
    return Search(row, pack, standing, tuple(faultfinding.probed(probe) for probe in earlier))
