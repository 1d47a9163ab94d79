"""Whether the channels of testers were checked when they read something."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from packs import checking
from packs.checking import DIGITS, TestsDone, cost_of_passed
from packs.terms import Measure
from packs.units import Quantity, of
from shop.bridge.possible import Bound
from shop.models import Channel, ChannelRun, CheckReading, Instrument

__all__ = ["IN_CHANNEL", "TESTED_AT", "Beside", "Checks", "TestsDone", "agrees", "cost_of_passed", "overdue"]


TESTED_AT = Bound.of(Measure.TEMPERATURE, most=60_000, least=-20_000)
"""As the criteria have it: no cell is tested colder or warmer; common practice, no source."""


def agrees(read_mah: Decimal, known_mah: Decimal) -> bool:
    """Whether a channel reads its check cell as it is known."""
    return checking.agrees(of(Measure.CAPACITY, read_mah), of(Measure.CAPACITY, known_mah))


IN_CHANNEL = "in channel "
"""What stands before the name of a channel at the end of a reading's conditions, where somebody said which it was."""


def overdue(channel: Channel, last: CheckReading | None, at: datetime) -> str:
    """Say why a channel does not count at a moment; nothing where its check cell holds."""
    if last is None:
        return "no check cell was read yet"
    if not last.agrees:
        return "it does not read its check cell true"
    if at - last.at > timedelta(days=channel.check_every_d):
        return f"its check cell was last read {last.at:%Y-%m-%d}"
    return ""


@dataclass(frozen=True)
class Beside:
    """What is known of a check cell, and what it gave beside cells at another temperature [capacity]."""

    known: Quantity
    read: Quantity


@dataclass
class Checks:
    """The channels of testers with their check readings, and in which channel each cell was, as of many cells at once."""

    channels: dict[int, list[Channel]] = field(default_factory=lambda: defaultdict(list))
    readings: dict[int, list[CheckReading]] = field(default_factory=lambda: defaultdict(list))
    beside: dict[int, list[CheckReading]] = field(default_factory=lambda: defaultdict(list))
    runs: dict[int, list[ChannelRun]] = field(default_factory=lambda: defaultdict(list))

    @classmethod
    def of_cells(cls, cells: Iterable[int] = ()) -> "Checks":
        """Return the checks with the runs of some cells."""
        found = cls()
        for channel in Channel.objects.select_related("instrument"):
            found.channels[channel.instrument_id].append(channel)
        if not found.channels:
            return found
        for reading in CheckReading.objects.select_related("channel", "check_cell__cell__lot"):
            if reading.temperature_mdegc is None:
                found.readings[reading.channel_id].append(reading)
            else:
                found.beside[reading.channel.instrument_id].append(reading)
        for run in ChannelRun.objects.filter(cell__in=list(cells), began_at__isnull=False).order_by("began_at"):
            found.runs[run.cell_id].append(run)
        return found

    def last(self, channel: int | None, at: datetime) -> CheckReading | None:
        """Return the newest check reading of a channel at a moment."""
        before = [one for one in self.readings.get(channel or 0, []) if one.at <= at]
        return before[-1] if before else None

    def same_day(
        self, instrument: Instrument, at: datetime, warm: Quantity, band: Quantity, model: int
    ) -> Beside | None:
        """Return what the check cell of a day read beside cells of its model in a tester, as warm as they were."""
        for one in reversed(self.beside.get(instrument.pk, [])):
            apart = abs(warm.m_as("degC") - of(Measure.TEMPERATURE, one.temperature_mdegc or 0).m_as("degC"))
            alike = one.check_cell.cell.lot.cell_model_id == model and round(apart, DIGITS) <= band.m_as("delta_degC")
            if alike and timezone.localdate(one.at) == timezone.localdate(at):
                return Beside(of(Measure.CAPACITY, one.check_cell.capacity_mah), of(Measure.CAPACITY, one.capacity_mah))
        return None

    def against(self, instrument: Instrument, at: datetime, cell: int | None = None, conditions: str = "") -> str:
        """Say why a tester's readings do not count at a moment; of all its channels where it is not known which it was.

        ``conditions`` may name the channel. Nothing where the book knows no channel of it.
        """
        was_in = self._named(instrument.pk, conditions) or self._channel(instrument.pk, at, cell)
        asked = [one for one in self.channels.get(instrument.pk, []) if was_in in (None, one.pk)]
        said = ((one, overdue(one, self.last(one.pk, at), at)) for one in asked)
        doubts = "; ".join(f"channel {channel.name}: {words}" for channel, words in said if words)
        unsaid = was_in is None and cell is not None and len(asked) > 1
        return f"in which channel it was is not on record, and {doubts}" if doubts and unsaid else doubts

    def _named(self, instrument: int, conditions: str) -> int | None:
        named = (one.pk for one in self.channels.get(instrument, []) if conditions.endswith(f"{IN_CHANNEL}{one.name}"))
        return next(named, None)

    def _channel(self, instrument: int, at: datetime, cell: int | None) -> int | None:
        names = {one.pk for one in self.channels.get(instrument, [])}
        before = [
            run
            for run in self.runs.get(cell or 0, [])
            if run.channel_id in names and run.began_at and run.began_at <= at
        ]
        return before[-1].channel_id if before else None
