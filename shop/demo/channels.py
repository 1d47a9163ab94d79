"""The demo shop's test bench: a donor lot, a tester of four channels with a check cell, and what waits for them."""

from datetime import datetime, timedelta
from decimal import Decimal

from packs.terms import DeviceClass, LotOrigin, Measure, OldTabs, Stubs, Wrap
from shop.models import Cell, CellModel, Lot, RunState, User
from shop.operations import channels, histories, preparing, stock, workshop

DONOR = "D2611"
CELLS = 9
KNOWN = Decimal(2410)


def furnish(*, by: User, lead: User, at: datetime) -> None:
    """Bring in a donor lot, sign it, and put its cells to the test."""
    lot = _donor_lot(by, lead, at)
    cells = list(lot.cells.order_by("code"))
    preparing.prepare_cells(
        cells=cells[:4],
        tabs=OldTabs.REMOVED,
        stubs=Stubs.GROUND,
        wrapper=Wrap.REPLACED,
        insulator=Wrap.REPLACED,
        printed="LH-18 2600, date code 2210",
        photographed=True,
        by=by,
        now=at,
    )
    _test(cells, by, at + timedelta(hours=1))


def _donor_lot(by: User, lead: User, at: datetime) -> Lot:
    model = CellModel.objects.get(name="LH-18 2600")
    day = (at - timedelta(days=1)).date()
    lot = stock.add_lot(code=DONOR, cell_model=model, origin=LotOrigin.DONOR, received_on=day, by=by, now=at)
    rows = [
        stock.CellRow(line=n, code=f"{DONOR}-{n:02d}", readings={Measure.REST_VOLTAGE: Decimal(3590 + 4 * n)})
        for n in range(1, CELLS + 1)
    ]
    stock.import_cells(lot=lot, rows=rows, by=by, now=at)
    histories.state_history(
        lot=lot,
        donor_pack="pack of a hand lamp, 3s3p, out of a fleet of twelve",
        date_code="2210",
        cycle_count=143,
        condition="case whole, dry inside, never opened before",
        by=by,
        now=at,
    )
    histories.sign_lot(lot=lot, device_classes=[DeviceClass.POWER_BANK], by=lead, now=at)
    return lot


def _test(cells: list[Cell], by: User, at: datetime) -> None:
    tester = workshop.add_instrument(
        name="Cell tester B", error_ppm=1000, error_uv=1000, calibrated_on=at.date(), by=by, now=at
    )
    racks = [
        channels.add_channel(instrument=tester, name=str(n), hour_cost=Decimal("0.12"), handling_min=4, by=by, now=at)
        for n in range(1, 5)
    ]
    check = cells[0]
    channels.keep_check_cell(
        cell=check, capacity_mah=KNOWN, conditions="mean of 3 tests on tester A, 0.2 C, 23 °C", by=by, now=at
    )
    for rack, read in zip(racks, (2404, 2418, 2331), strict=False):
        channels.read_check_cell(channel=rack, cell=check, capacity_mah=Decimal(read), by=by, now=at)
    runs = channels.queue_cells(cells=cells[1:], by=by, now=at)
    for number, state in enumerate((RunState.PASSED, RunState.PASSED, RunState.REJECTED)):
        begun = at + timedelta(hours=12 * number)
        channels.begin_run(run=runs[number], channel=racks[0], hours=Decimal(11), by=by, now=begun)
        channels.end_run(run=runs[number], state=state, by=by, now=begun + timedelta(hours=10))
    for run, rack in zip(runs[3:5], racks, strict=False):
        channels.begin_run(run=run, channel=rack, hours=Decimal(36), by=by, now=at + timedelta(hours=40))
