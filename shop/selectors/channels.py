"""The test bench as it stands: channels, the queue, and what a passed cell costs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import groupby

from packs.units import Quantity, ureg
from shop.bridge.checking import Checks, TestsDone, cost_of_passed, overdue
from shop.models import Channel, ChannelRun, CheckCell, Job, Prices, RunState

LATELY = timedelta(days=90)
"""Over which time tests are reckoned; our own, no source."""
HOUR = timedelta(hours=1)
NO_DAY = date.max


@dataclass(frozen=True)
class ChannelLine:
    """One channel: what is in it, how many hours are left, and what is wrong with its check cell, if anything."""

    channel: Channel
    run: ChannelRun | None
    left: Quantity | None
    late: bool
    check: str
    next_check: datetime | None


@dataclass(frozen=True)
class Queue:
    """The cells that wait for a channel for one job, or for the stock."""

    job: Job | None
    runs: tuple[ChannelRun, ...]


@dataclass(frozen=True)
class Cost:
    """What testing took lately, and what a passed cell of it cost; None where none passed or no price is known."""

    tested: int
    passed: int
    rejected: int
    hours: Quantity
    each: Decimal | None


def lines(at: datetime) -> list[ChannelLine]:
    """Return every channel, by tester and name, in as many queries for one as for many."""
    checks = Checks.of_cells()
    running = ChannelRun.objects.filter(state=RunState.RUNNING.value).select_related("cell", "job__device")
    there = {run.channel_id: run for run in running}
    return [
        _line(channel, there.get(channel.pk), checks, at)
        for channels in checks.channels.values()
        for channel in channels
    ]


def _line(channel: Channel, run: ChannelRun | None, checks: Checks, at: datetime) -> ChannelLine:
    last = checks.last(channel.pk, at)
    left = None if run is None or run.due_at is None else _hours(run.due_at - at)
    return ChannelLine(
        channel=channel,
        run=run,
        left=None if left is None else ureg.Quantity(float(max(left, Decimal(0))), "hour"),
        late=left is not None and left < 0,
        check=overdue(channel, last, at),
        next_check=last.at + timedelta(days=channel.check_every_d) if last and last.agrees else None,
    )


def queue() -> list[Queue]:
    """Return who waits, by job: the one promised for the earliest day first, then as they came."""
    rows = ChannelRun.objects.filter(state=RunState.WAITING.value).select_related("cell", "job__device__customer")
    ordered = sorted(rows, key=lambda run: (*_promised(run.job), run.queued_at, run.pk))
    return [Queue(group[0].job, tuple(group)) for group in _grouped(ordered)]


def _promised(job: Job | None) -> tuple[date, bool, int]:
    """Jobs with a day come first; the stock and jobs without one last."""
    day = job.promised_on if job is not None else None
    return day or NO_DAY, job is None, job.number if job is not None else 0


def _grouped(runs: Iterable[ChannelRun]) -> list[list[ChannelRun]]:
    return [list(group) for _, group in groupby(runs, key=lambda run: run.job_id)]


def free(at: datetime) -> list[Channel]:
    """Return the channels with nothing in them."""
    return [line.channel for line in lines(at) if line.run is None]


def check_cells() -> list[CheckCell]:
    """Return the check cells, each as it was last stated."""
    newest = {row.cell_id: row for row in CheckCell.objects.select_related("cell__lot__cell_model", "by")}
    return list(newest.values())


def cost(at: datetime) -> Cost:
    """Return what the tests of the last months took, and what a cell that passed cost; rejects are borne by it."""
    over = [RunState.PASSED.value, RunState.REJECTED.value]
    runs = list(ChannelRun.objects.filter(state__in=over, ended_at__gt=at - LATELY).select_related("channel"))
    passed = sum(run.state == RunState.PASSED for run in runs)
    prices = Prices.objects.last()
    hours = [(run.channel, _hours(run.ended_at - run.began_at)) for run in runs if run.ended_at and run.began_at]
    known = [(channel, spent) for channel, spent in hours if channel is not None]
    done = TestsDone(
        tested=len(runs),
        passed=passed,
        channel_cost=sum((spent * channel.hour_cost for channel, spent in known), Decimal()),
        handling=Decimal(sum(channel.handling_min for channel, _ in known)),
        labour=prices.labour_rate if prices else Decimal(),
    )
    total = sum((spent for _, spent in known), Decimal())
    return Cost(
        len(runs),
        passed,
        len(runs) - passed,
        ureg.Quantity(float(total), "hour"),
        cost_of_passed(done) if prices else None,
    )


def _hours(lasting: timedelta) -> Decimal:
    return Decimal(round(lasting / HOUR * 10)) / 10
