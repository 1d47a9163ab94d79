"""The shop's book per pack model, with the labour times that finished jobs added."""

from collections.abc import Iterable
from dataclasses import dataclass

from shop.bridge.nameplate import key_of
from shop.models import Device, PackNotes, PackTime


@dataclass(frozen=True)
class Notes:
    """What is known of a pack model, and how long it took each time, the last job last."""

    row: PackNotes
    times: tuple[int, ...]

    @property
    def minutes(self) -> int | None:
        """Mean labour time in whole minutes, where any job noted one."""
        return round(sum(self.times) / len(self.times)) if self.times else None


def of_device(device: Device) -> Notes | None:
    """Return the notes that the nameplate of a device finds."""
    row = PackNotes.objects.filter(key=key_of(device.maker, device.model)).select_related("cell_model").first()
    return _with_times([row])[0] if row else None


def book() -> list[Notes]:
    """Return all notes by nameplate."""
    return _with_times(list(PackNotes.objects.select_related("cell_model", "written_by")))


def _with_times(rows: Iterable[PackNotes]) -> list[Notes]:
    rows = list(rows)
    by_notes: dict[int, dict[int, int]] = {row.pk: {} for row in rows}
    for notes, job, minutes in PackTime.objects.filter(notes__in=rows).values_list("notes_id", "job_id", "minutes"):
        by_notes[notes][job] = minutes
    return [Notes(row, tuple(by_notes[row.pk].values())) for row in rows]
