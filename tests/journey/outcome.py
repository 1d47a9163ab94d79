"""What stands in the books when the pack has left, whichever door it went through."""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal

from shop.models import Cell, IssuedDocument, Job, Joint, PlanPosition, Reading
from shop.selectors import audit
from tests.journey.arithmetic import Measured, taps
from tests.journey.building import LEAST_SHARE
from tests.journey.planning import PARALLEL, SERIES, Groups, capacities


def books_balance(cells: dict[str, Measured], groups: Groups) -> None:
    """Twelve cells came in bought and eight came out of the old pack; each of the twenty stands in one place."""
    placed = {cell.code for group in groups for cell in group}
    left_over = set(cells) - placed
    assert list(audit.differences()) == []
    assert Job.objects.get().closed_at is not None
    assert Joint.objects.filter(state="made").count() == 2 * SERIES * PARALLEL
    assert codes("customer") == placed
    assert codes("stock") == left_over | {f"J0001-R{number:02d}" for number in range(1, 8)}
    assert codes("container") == {"J0001-R08"}
    assert Cell.objects.count() == 20
    positions = {(seat.group, seat.place): seat.cell.code for seat in PlanPosition.objects.select_related("cell")}
    assert positions == {(g, p): c.code for g, group in enumerate(groups, 1) for p, c in enumerate(group, 1)}
    kinds = set(IssuedDocument.objects.values_list("kind", flat=True))
    assert {"job_card", "test_report", "disposal_note"} <= kinds


def readings_stand(groups: Groups) -> None:
    """The last reading of every point of a step, as the data and the plan of the walk give it."""
    assert last("measure") == {
        f"{g}.{p} rest_voltage_mv": stored(cell.mv)
        for g, group in enumerate(groups, 1)
        for p, cell in enumerate(group, 1)
    }
    due = taps([[cell.mv for cell in group] for group in groups])
    trips = {"overcharge trip voltage_mv": Decimal(4225), "undervoltage trip voltage_mv": Decimal(3000)}
    assert last("ladder") == trips | {f"tap {n} voltage_mv": tap_mv(n, mv) for n, mv in enumerate(due, start=1)}
    charged = last("first_charge")
    assert charged["charger voltage_mv"] == 16790
    assert [charged[f"group {n} voltage_mv"] for n in range(1, SERIES + 1)] == [4190, 4200, 4190, 4190]
    final = last("final_test")
    assert final["pack capacity_mah"] == delivered(groups)
    assert final["pack rest_voltage_mv"] == 16620


def bolted_pack_stands(mah: Mapping[str, Decimal], groups: Sequence[Sequence[str]]) -> None:
    """56 flat cells came in and 32 came out of the old pack: 32 left in the new one, each place and reading as it was read."""
    placed = {(g, p): code for g, group in enumerate(groups, 1) for p, code in enumerate(group, 1)}
    assert list(audit.differences()) == []
    assert Job.objects.get().closed_at is not None
    assert Joint.objects.filter(state="made", method="bolted").count() == 2 * len(placed) == 64
    assert {(seat.group, seat.place): seat.cell.code for seat in PlanPosition.objects.select_related("cell")} == placed
    assert codes("customer") == set(placed.values())
    assert codes("stock") == set(mah) - set(placed.values()) | {f"J0001-R{number:02d}" for number in range(1, 33)}
    bars, series = range(1, 18), range(1, 17)
    assert last("measure") == {f"{g}.{p} rest_voltage_mv": 3300 for g, p in placed}
    torque, contact = ({f"bar {bar} {what}": value for bar in bars} for what, value in BOLTED)
    assert last("join") == torque | contact
    trips = {"overcharge trip voltage_mv": Decimal(3780), "undervoltage trip voltage_mv": Decimal(2600)}
    assert last("ladder") == trips | {f"tap {n} voltage_mv": 3300 * n for n in series}
    charged, final = last("first_charge"), last("final_test")
    assert [charged["charger voltage_mv"], *(charged[f"group {n} voltage_mv"] for n in series)] == [58400] + 16 * [3600]
    weakest = min(sum(mah[code] for code in group) for group in groups)
    assert final["pack capacity_mah"] == (weakest * Decimal("0.98")).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    assert final["pack rest_voltage_mv"] == 16 * 3340
    assert [final[f"group {n} rest_voltage_mv"] for n in series] == 16 * [3340]
    assert set(IssuedDocument.objects.values_list("kind", flat=True)) >= {"job_card", "test_report"}


BOLTED = (("torque_mnm", Decimal(6000)), ("contact_resistance_uohm", Decimal(60)))
"""What every bar of the bolted pack was left with."""


def stored(value: Decimal) -> Decimal:
    """Return a number as it is kept: to a thousandth of its unit."""
    return value.quantize(Decimal("0.001"), ROUND_HALF_EVEN)


def tap_mv(number: int, due: Decimal) -> Decimal:
    """Return what was read at a tap: the second was measured twice, to a millivolt like the others."""
    return Decimal(f"{due / 1000:.3f}") * 1000 if number == 2 else due.to_integral_value()


def delivered(groups: Groups) -> Decimal:
    """Return what the finished pack gave: a milliampere-hour more than it must."""
    return Decimal(f"{min(capacities(groups)) * LEAST_SHARE + 1:.1f}")


def last(stage: str) -> dict[str, Decimal]:
    rows = Reading.objects.filter(stage=stage).order_by("pk")
    return {f"{row.point} {row.measure}": row.value for row in rows}


def codes(place: str) -> set[str]:
    return set(Cell.objects.filter(place=place).values_list("code", flat=True))
