"""Attempts to get past each rule that stops: what is sent to the operation and the API, and what is typed into the page.

Values are invented; each lies beyond the limit of the rule that it attacks and of no other, as far as that is possible.
"""

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from packs.terms import (
    CellFormat,
    Chemistry,
    Compression,
    DeviceClass,
    DocumentKind,
    InMobility,
    LotOrigin,
    Measure,
    Peeled,
    Place,
    Stage,
    Travels,
)
from shop import models
from shop.bridge.rules import COOLED, FLAT_CELLS, HOUSING_RULES, MadeAgain
from shop.operations import documents, photographs, stock
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, LotFactory, SettingsFactory
from tests.operations import calls

Changes = Mapping[str, Any]
LOOK = vars(calls.CHARGE_LINE)


@dataclass(frozen=True)
class Attack:
    """One attempt: at which stage, on what, with which arguments instead of good ones.

    ``typed`` is the same for the page; None leaves a field out. ``code`` is what refuses it where no finding does.
    """

    rule: str
    stage: Stage
    name: str
    given: Callable[[models.Job], Changes] = lambda _: {}
    typed: Callable[[models.Job], Changes] = lambda _: {}
    prepare: Callable[[models.Job], Any] | None = None
    code: str = ""
    also: tuple[str, ...] = field(default=())


def target(rule: str, typed: Changes, **changed: Any) -> Attack:
    return Attack(
        rule,
        Stage.TARGET,
        "planning.state_target",
        lambda _: {"target": line.target(**changed)},
        lambda _: typed,
    )


BOARD = {
    "board_groups": 4,
    "board_chemistry": Chemistry.NMC,
    "board_overcharge_mv": 4225,
    "board_tolerance_mv": 25,
    "board_undervoltage_mv": 3000,
}
FUSE = {
    "fuse_current_ma": 10_000,
    "fuse_voltage_mv": 32_000,
    "fuse_breaking_ma": 1_000_000,
    "fuse_melting": [[20_000, 150_000], [60_000, 20_000]],
    "fuse_clearing": [[20_000, 5_000_000], [60_000, 100_000]],
}
TRIP = {"board_trip_ma": 20_000, "board_trip_us": 151_000}


def _typed(stated: Changes) -> Changes:
    """What a target says, as it is typed: volts and amperes with their units."""
    units = {"_mv": "V", "_ma": "A", "_us": "ms"}
    curves = {
        name: "; ".join(f"{ma / 1000} A {us / 1000} ms" for ma, us in value)
        for name, value in stated.items()
        if isinstance(value, list)
    }
    return curves | {
        name: f"{value / 1000} {units[name[-3:]]}" if name[-3:] in units else getattr(value, "value", str(value))
        for name, value in stated.items()
        if name not in curves
    }


def stated_board(rule: str, **changed: Any) -> Attack:
    return target(rule, _typed(BOARD | changed), **BOARD | changed)


def fuse(rule: str, **changed: Any) -> Attack:
    """The short circuit is reckoned with the resistance of a cell in stock."""
    return dataclasses.replace(target(rule, _typed(FUSE | changed), **FUSE | changed), prepare=_a_cell_in_stock)


def _a_cell_in_stock(_: models.Job) -> None:
    CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40_000})


def _still_full(job: models.Job) -> None:
    """Somebody wrote down 4.0 V in every group just before it is to be cut."""
    prepare = calls.function("opening_pack.prepare_dismantling")
    prepare(job=job, confirmed={}, groups_mv=[Decimal(4000)] * 4, by=line.technician())


def _unknown() -> models.CellModel:
    return CellModelFactory(name="Round unknown", chemistry=Chemistry.UNKNOWN.value)


def _flat() -> models.CellModel:
    flat = {"cell_format": CellFormat.PRISMATIC.value, "width_um": 70_000, "compression": Compression.UNKNOWN.value}
    return CellModelFactory(name="Flat", **flat)


def of_model(rule: str, model: Callable[[], models.CellModel], *also: str) -> Attack:
    return Attack(
        rule,
        Stage.TARGET,
        "planning.state_target",
        lambda _: {"target": line.target(cell_model=model())},
        lambda _: {"cell_model": model().pk},
        also=also,
    )


def _matched(job: models.Job, **cell: Any) -> Changes:
    """Eight cells in stock, the first as one asks for it."""
    first = models.Cell.objects.filter(code="A1").first() or CellFactory(code="A1", **cell)
    rest = [models.Cell.objects.filter(code=f"A{n}").first() or CellFactory(code=f"A{n}") for n in range(2, 9)]
    codes = [row.code for row in (first, *rest)]
    return {"groups": [[codes[n], codes[n + 4]] for n in range(4)]}


def _signed(device_class: DeviceClass = DeviceClass.POWER_BANK) -> models.Lot:
    lot = LotFactory(code="D1", origin=LotOrigin.DONOR.value)
    line.sign(lot, device_class)
    return lot


def _vehicle(job: models.Job) -> None:
    """The rules of the place forbid reclaimed cells in an electric bicycle."""
    SettingsFactory(reclaimed_in_mobility=InMobility.FORBIDDEN.value)
    models.Device.objects.filter(pk=job.device_id).update(device_class=DeviceClass.LIGHT_VEHICLE.value)


def _out_of_a_donor(job: models.Job) -> None:
    """The lot of the placed cells turns out to be of a donor; a lead signs it, and nobody prepared the cells."""
    lot = job.plans.get().positions.get(group=1, place=1).cell.lot
    models.Lot.objects.filter(pk=lot.pk).update(origin=LotOrigin.DONOR.value)
    line.sign(lot)


def _of_another_type(job: models.Job) -> None:
    _medical(job)
    line.order(models.Job.objects.get(pk=job.pk))
    models.PackAsFound.objects.filter(job=job).update(cell_model=CellModelFactory(name="Round of old"))


def _medical(job: models.Job) -> None:
    models.Device.objects.filter(pk=job.device_id).update(device_class=DeviceClass.MEDICAL.value)


def reads(measure: Measure, value: int) -> Callable[[models.Job], None]:
    """Write a reading of the cell in position 1.1, past every check."""

    def write(job: models.Job) -> None:
        cell = job.plans.get().positions.get(group=1, place=1).cell
        by = line.technician()
        cell.readings.create(measure=measure.value, value=Decimal(value), measured_at=MORNING, by=by)

    return write


def _charged_up_again(job: models.Job) -> None:
    """A reserved cell was read too low, and now rests as the others do."""
    cell = job.plans.get().positions.get(group=1, place=1).cell
    for mv in (1900, 3620):
        stock.record_reading(cell=cell, measure=Measure.REST_VOLTAGE, value=Decimal(mv), by=line.technician())


def first_cell(job: models.Job) -> Changes:
    return {"code": job.plans.get().positions.get(group=1, place=1).cell.code}


def rests(rule: str, also: tuple[str, ...] = (), **changed: int | None) -> Attack:
    """Rest voltages in millivolts, by position as ``p1_1``; None is not measured."""

    def voltages(_: models.Job) -> Changes:
        mv = dict.fromkeys(line.names(), 3620) | {name[1:].replace("_", "."): mv for name, mv in changed.items()}
        return {"rest_voltages_mv": {name: Decimal(value) for name, value in mv.items() if value is not None}}

    typed = {f"v_{name[1:]}": None if mv is None else f"{mv / 1000}" for name, mv in changed.items()}
    return Attack(rule, Stage.MEASURE, "rebuild.measure_before_joining", voltages, lambda _: typed, also=also)


def _of_lfp(_: models.Job) -> None:
    models.CellModel.objects.update(chemistry=Chemistry.LFP.value)


def join(rule: str, given: Changes, typed: Changes, prepare: Callable[[models.Job], Any] | None = None) -> Attack:
    return Attack(rule, Stage.JOIN, "rebuild.join", lambda _: given, lambda _: typed, prepare)


def burnt(rule: str, again: MadeAgain, typed: Changes) -> Attack:
    """One joint of the second strip had to be made again."""
    strips = [dataclasses.replace(one, failed=int(one.strip == 2)) for one in calls.STRIPS]
    return join(rule, {"strips": strips, "again": again}, {"failed_2": "1"} | typed)


def taps(rule: str, **off: int) -> Attack:
    """Taps in millivolts, by number as ``t2``."""
    mv = {number: off.get(f"t{number}", 3620 * number) for number in range(1, 5)}
    return Attack(
        rule,
        Stage.LADDER,
        "rebuild.check_taps",
        lambda _: {"taps_mv": [Decimal(value) for value in mv.values()]},
        lambda _: {f"tap_{number}": f"{value / 1000}" for number, value in mv.items()},
    )


def _loose_above(job: models.Job) -> None:
    """A sample of today came off at a higher pulse."""
    line.peel(job, Peeled.LOOSE, dataclasses.replace(line.WELD, pulse=Decimal(15)))


def _measured_yesterday(job: models.Job) -> None:
    """Readings do not change; the ones of this step are replaced by older ones, past every check."""
    line.measured_again(job, timezone.now() - timedelta(hours=13))


def board(rule: str, typed: Changes, **changed: Any) -> Attack:
    """The board as it was tried on the bench ladder."""
    given = {"board": dataclasses.replace(line.BOARD_TRIED, **changed)}
    return Attack(rule, Stage.LADDER, "rebuild.check_taps", lambda _: given, lambda _: typed)


def parked(rule: str, stage: Stage, given: Changes, typed: Changes) -> Attack:
    return Attack(rule, stage, "parking.park", lambda _: given, lambda _: typed)


def housing(rule: str) -> Attack:
    left = [name for name in HOUSING_RULES if name != rule]
    return Attack(
        rule,
        Stage.HOUSING,
        "proving.close_housing",
        lambda _: {"confirmed": dict.fromkeys(left, True)},
        lambda _: {rule: None},
    )


def _no_photograph(job: models.Job) -> None:
    for photograph in job.photographs.standing():
        photographs.withdraw_photograph(job=job, photograph=photograph, reason="another pack", by=line.lead())
    job.refresh_from_db()


def _flat_pack(job: models.Job) -> None:
    models.CellModel.objects.update(cell_format=CellFormat.PRISMATIC.value)


def charge(rule: str, given: Changes, typed: Changes) -> Attack:
    return Attack(rule, Stage.FIRST_CHARGE, "proving.first_charge", lambda _: given, lambda _: typed)


def look(rule: str, typed: Changes, **changed: int) -> Attack:
    """The first of three looks is beyond a limit."""
    numbers = LOOK | {name: Decimal(value) for name, value in changed.items()}
    return charge(rule, {"lines": [type(calls.CHARGE_LINE)(**numbers), *line.looks_at()[1:]]}, typed)


def looked_at(rule: str, *minutes: int, also: tuple[str, ...] = ()) -> Attack:
    """Looks at other times."""
    typed = {f"minutes_{n}": str(at) for n, at in enumerate(minutes, start=1)}
    left_out = {
        f"{name}_{n}": None for n in range(len(minutes) + 1, 4) for name in ("minutes", "pack", "current", "hottest")
    }
    attack = charge(rule, {"lines": line.looks_at(*minutes)}, typed | left_out)
    return dataclasses.replace(attack, also=also)


def middle(rule: str, mv: int) -> Attack:
    """The second group at mid-charge."""
    groups = [Decimal(3900), Decimal(mv), Decimal(3900), Decimal(3900)]
    return charge(rule, {"mid_groups_mv": groups}, {"mid-charge_group_2": f"{mv / 1000}"})


def looks(rule: str, *read: tuple[int, int, int]) -> Attack:
    """Looks at a charge: minutes, millivolts of the pack, milliamperes."""
    lines = [
        dataclasses.replace(
            calls.CHARGE_LINE, minutes=minutes, pack_voltage_mv=Decimal(mv), current_ma=Decimal(current)
        )
        for minutes, mv, current in read
    ]
    typed = {}
    for n, (minutes, mv, current) in enumerate(read, start=1):
        typed |= {f"minutes_{n}": str(minutes), f"pack_{n}": f"{mv / 1000}", f"current_{n}": f"{current / 1000}"}
        typed[f"hottest_{n}"] = "24"
    return charge(rule, {"lines": lines}, typed)


def final(rule: str, given: Changes, typed: Changes, prepare: Callable[[models.Job], Any] | None = None) -> Attack:
    return Attack(rule, Stage.FINAL_TEST, "proving.final_test", lambda _: given, lambda _: typed, prepare)


def under_load(rule: str, typed: Changes, **changed: Any) -> Attack:
    load = dataclasses.replace(line.LOADED, **{name: Decimal(str(value)) for name, value in changed.items()})
    return final(rule, {"load": load}, typed)


def _with_outlet(job: models.Job) -> None:
    job.plans.update(outlet_voltage_mv=5000, dropout_mv=300)


def _back_on_the_bench(job: models.Job) -> None:
    line.issue_papers(job)
    cell = models.Cell.objects.filter(lot__donor_job=job).first()
    models.Cell.objects.filter(pk=cell.pk).update(place=Place.BENCH.value, container=None, job=job)


def _without_the_note(job: models.Job) -> None:
    line.issue_report(job)
    line.issue_label(job)


def _without_the_label(job: models.Job) -> None:
    line.issue_report(job)
    documents.issue(job=job, kind=DocumentKind.DISPOSAL_NOTE, by=line.technician())


def hand_over(rule: str, prepare: Callable[[models.Job], Any] | None = None, also: tuple[str, ...] = ()) -> Attack:
    return Attack(rule, Stage.HAND_OVER, "closeout.hand_over", prepare=prepare, also=also)


def _strips(many: int) -> Changes:
    return {"strips": calls.STRIPS[:many]}


ATTACKS: tuple[Attack, ...] = (
    target("target.cell_current", {"continuous_current_ma": "10.5 A"}, continuous_current_ma=10_500),
    target("target.charger_voltage", {"charger_voltage_mv": "17 V"}, charger_voltage_mv=17_000),
    target(
        "target.step_down",
        {"outlet_voltage_mv": "12 V", "dropout_mv": "0.3 V"},
        outlet_voltage_mv=12_000,
        dropout_mv=300,
    ),
    target("target.charger_highest", {"charger_tolerance_mv": "0.3 V"}, charger_tolerance_mv=300),
    stated_board("target.board_groups", board_groups=3),
    stated_board("target.board_chemistry", board_chemistry=Chemistry.LFP),
    stated_board("target.board_overcharge", board_overcharge_mv=4226),
    stated_board("target.board_undervoltage", board_undervoltage_mv=2499),
    target(
        "target.cell_peak",
        {"peak_current_ma": "10.5 A", "peak_time_ms": "60 s"},
        peak_current_ma=10_500,
        peak_time_ms=60_000,
    ),
    target("target.part_current", {"strip_width_um": "1"}, strip_width_um=1000),
    fuse("target.fuse_carries", fuse_current_ma=5999),
    fuse("target.fuse_voltage", fuse_voltage_mv=16_799),
    fuse("target.fuse_breaking", fuse_breaking_ma=50_000),
    fuse("target.fuse_clears", fuse_clearing=[[20_000, 12_000_000], [60_000, 100_000]]),
    fuse("target.board_first", **TRIP),
    of_model("target.chemistry_known", _unknown, "target.charger_voltage"),
    of_model("target.compression_known", _flat),
    Attack(
        "cell.tested",
        Stage.MATCH,
        "planning.accept",
        lambda job: _matched(job, readings={Measure.CAPACITY: 2550, Measure.REST_VOLTAGE: 3620}),
    ),
    Attack(
        "target.reclaimed_in_medical",
        Stage.MATCH,
        "planning.accept",
        lambda job: _matched(job, lot=LotFactory(code="D1", origin=LotOrigin.DONOR.value)),
        prepare=_medical,
        also=("cell.history_signed",),
    ),
    Attack(
        "cell.history_signed",
        Stage.MATCH,
        "planning.accept",
        lambda job: _matched(job, lot=LotFactory(code="D1", origin=LotOrigin.DONOR.value)),
    ),
    Attack("cell.class_allowed", Stage.MATCH, "planning.accept", lambda job: _matched(job, lot=_signed())),
    Attack(
        "target.reclaimed_in_mobility",
        Stage.MATCH,
        "planning.accept",
        lambda job: _matched(job, lot=_signed(DeviceClass.LIGHT_VEHICLE)),
        prepare=_vehicle,
    ),
    Attack("target.facility_order", Stage.TARGET, "planning.state_target", prepare=_medical),
    Attack("target.original_type", Stage.TARGET, "planning.state_target", prepare=_of_another_type),
    Attack("dismantle.charge_low", Stage.DISMANTLE, "rebuild.record_removed", prepare=_still_full),
    Attack("dismantle.all_recorded", Stage.DISMANTLE, "rebuild.finish_dismantling"),
    Attack(
        "cell.recovery_voltage",
        Stage.PLACE,
        "rebuild.place_cell",
        first_cell,
        prepare=reads(Measure.REST_VOLTAGE, 1900),
    ),
    Attack("cell.undamaged", Stage.PLACE, "rebuild.place_cell", first_cell, prepare=_charged_up_again),
    Attack("cell.holds_charge", Stage.PLACE, "rebuild.place_cell", first_cell, prepare=reads(Measure.CAPACITY, 0)),
    Attack(
        "cell.keeps_charge",
        Stage.PLACE,
        "rebuild.place_cell",
        first_cell,
        prepare=reads(Measure.SELF_DISCHARGE, 20_000),
    ),
    Attack("place.right_cell", Stage.PLACE, "rebuild.place_cell", lambda _: {"code": "X999"}, code="wrong_cell"),
    # Nobody can say that all are placed: the next step is out of order until each was.
    Attack(
        "place.all_placed",
        Stage.PLACE,
        "rebuild.measure_before_joining",
        prepare=lambda _: None,
        code="out_of_order",
    ),
    rests(
        "measure.all_measured",
        (
            "measure.joining_current",
            "cell.recovery_voltage",
            "cell.overcharged",
            "measure.charge_for_welding",
            "measure.rest_spread",
            "measure.groups_apart",
        ),
        p2_1=None,
    ),
    rests("measure.joining_current", ("measure.groups_apart", "measure.rest_spread"), p2_1=3200),
    rests("measure.rest_spread", p2_1=3671),
    dataclasses.replace(rests("cell.prepared"), prepare=_out_of_a_donor),
    rests("measure.charge_for_welding", **{f"p{name[0]}_{name[2]}": 4002 for name in line.names()}),
    rests(
        "cell.recovery_voltage", ("measure.joining_current", "measure.groups_apart", "measure.rest_spread"), p2_1=1900
    ),
    rests(
        "cell.overcharged",
        ("measure.joining_current", "measure.charge_for_welding", "measure.groups_apart", "measure.rest_spread"),
        p2_1=4251,
    ),
    rests("measure.groups_apart", p2_1=3671, p2_2=3671),
    dataclasses.replace(
        rests("measure.groups_apart_flat", ("measure.charge_for_welding",), p2_1=3631, p2_2=3631), prepare=_of_lfp
    ),
    dataclasses.replace(
        rests("measure.equal_charge", **{f"p{name[0]}_{name[2]}": 3290 for name in line.names()}), prepare=_of_lfp
    ),
    join("join.measured_lately", {}, {}, _measured_yesterday),
    join("join.peel_sample", {"weld": dataclasses.replace(line.WELD, pulse=Decimal(15))}, {"weld": None}),
    join("join.pulse_window", {}, {}, _loose_above),
    join(
        "join.second_look_pause",
        {"second_look_by": "", "pause_min": 9},
        {"second_look_by": "", "pause_min": "9"},
        line.photograph_the_cells,
    ),
    join(
        "join.second_look_photographs",
        {"second_look_by": "", "pause_min": 10},
        {"second_look_by": "", "pause_min": "10"},
    ),
    burnt("join.attempts", MadeAgain(tries=4, cooled=True), {"tries": "4", COOLED: "on"}),
    burnt("join.cooled", MadeAgain(tries=2, cooled=False), {"tries": "2"}),
    Attack(
        "join.breached_isolated",
        Stage.JOIN,
        "breached.replace_breached",
        lambda _: {"isolated": False},
        lambda _: {"isolated": None},
    ),
    join("join.polarity_second_look", {"second_look": False}, {"second_look": None}),
    join("join.joints", _strips(4), {"done_5": None}),
    taps("ladder.tap", t2=7400),
    taps("ladder.rest_agreement", t4=14600),
    board("ladder.board_suits", {"suits": None}, suits=False),
    board("ladder.overcharge_trip", {"overcharge_trip": "4.251"}, overcharge_mv=Decimal(4251)),
    board("ladder.undervoltage_trip", {"undervoltage_trip": "2.4"}, undervoltage_mv=Decimal(2400)),
    parked("park.ends_insulated", Stage.LADDER, {"insulated": False}, {"insulated": None}),
    parked("park.groups_measured", Stage.LADDER, {"groups_mv": [Decimal(3620)] * 3}, {}),
    parked("park.supply_off", Stage.FIRST_CHARGE, {"supply_off": False}, {"supply_off": None}),
    Attack(
        "park.group_falls_behind",
        Stage.LADDER,
        "parking.resume",
        lambda _: {"groups_mv": [Decimal(mv) for mv in (3620, 3599, 3620, 3620)]},
        prepare=line.park,
    ),
    *(housing(rule) for rule in HOUSING_RULES),
    Attack(FLAT_CELLS, Stage.HOUSING, "proving.close_housing", prepare=_flat_pack),
    charge("first_charge.supervised", {"supervised_by": " "}, {"supervised_by": ""}),
    charge("first_charge.charger_voltage", {"charger_voltage_mv": Decimal(17000)}, {"charger_voltage": "17"}),
    charge(
        "first_charge.group_voltage",
        {"groups_mv": [Decimal(4180), Decimal(4250), Decimal(4180), Decimal(4180)]},
        {"group_2": "4.25"},
    ),
    dataclasses.replace(
        charge(
            "first_charge.overcharged_group",
            {"groups_mv": [Decimal(4180), Decimal(4251), Decimal(4180), Decimal(4180)]},
            {"group_2": "4.251"},
        ),
        also=("first_charge.group_voltage",),
    ),
    look("first_charge.pack_voltage", {"pack_1": "16.9"}, pack_voltage_mv=16_900),
    look("first_charge.current", {"current_1": "5.3"}, current_ma=5300),
    look("first_charge.temperature", {"hottest_1": "41"}, hottest_mdegc=41_000),
    looks("first_charge.precharge_current", (0, 11_000, 521), (30, 15_200, 500), (60, 15_200, 500)),
    looks("first_charge.precharge_time", (0, 11_000, 500), (40, 11_000, 500), (61, 11_000, 500), (120, 15_200, 500)),
    looked_at("first_charge.look_at_start", 11, 40, 70),
    looked_at("first_charge.look_interval", 0, 61, 121),
    looked_at("first_charge.look_at_mid", 0, 14, 60),
    looked_at("first_charge.look_at_mid", 0, also=("first_charge.look_interval",)),
    middle("first_charge.mid_spread", 3951),
    charge("first_charge.completed", {"stopped_because": "group 3 is warm"}, {"stopped_because": "group 3 is warm"}),
    dataclasses.replace(housing("housing.photographs"), prepare=_no_photograph),
    final("final.board_cutoff", {"confirmed": {}}, {"final.board_cutoff": None}),
    final("final.insulation", {"insulation_kohm": Decimal(4999)}, {"insulation": "4.999"}, line.with_metal),
    under_load("final.temperature", {"load_hottest": "60.1"}, hottest_mdegc=60_100),
    under_load("final.resistance", {"load_pack": "15.75"}, pack_mv=15_750),
    under_load("final.joint_drop", {"load_joint": "2.6 mV"}, joint_mv="2.6"),
    final("final.rest_hold", {"hold": None}, dict.fromkeys(("held_hours", "held_1", "held_2", "held_3", "held_4"), "")),
    final("final.rest_hours", {"hold": dataclasses.replace(line.HOLD, hours=Decimal(23))}, {"held_hours": "23"}),
    dataclasses.replace(
        final(
            "final.group_spread",
            {"groups_mv": [Decimal(mv) for mv in (4140, 4089, 4140, 4140)], "pack_rest_mv": Decimal(16_509)},
            {"group_2": "4.089", "pack_rest": "16.509"},
        ),
    ),
    final("final.capacity", {"capacity_mah": Decimal(4000)}, {"capacity": "4000"}),
    final("final.capacity_stated", {"conditions": "0.2 C at 22 °C"}, {"conditions": "0.2 C at 22 °C"}),
    final("final.rest_agreement", {"pack_rest_mv": Decimal(16300)}, {"pack_rest": "16.3"}),
    final("final.outlet", {"outlet_mv": Decimal(5300)}, {"outlet": "5.3"}, _with_outlet),
    Attack("handover.removed_gone", Stage.REMOVED, "disposal.finish_removed"),
    hand_over("handover.report", also=("handover.label", "handover.disposal_note")),
    hand_over("handover.disposal_note", _without_the_note),
    hand_over("handover.label", _without_the_label),
    hand_over("handover.accounted", _back_on_the_bench),
    Attack(
        "handover.air_charge",
        Stage.HAND_OVER,
        "closeout.hand_over",
        lambda _: {"travels": Travels.AIR},
        lambda _: {"travels": Travels.AIR.value},
        prepare=line.issue_papers,
    ),
)
"""What is tried on a rebuild with spot-welded strip; bolted packs, packs tested only and red or amber signs have their own."""

GOOD: dict[Stage, tuple[str, Callable[[models.Job], Any] | None]] = {
    Stage.TARGET: ("planning.state_target", None),
    Stage.MATCH: ("planning.accept", calls.CALLS["planning.accept"].prepare),
    Stage.DISMANTLE: ("rebuild.finish_dismantling", calls.take_all_out),
    Stage.PLACE: ("rebuild.place_cell", None),
    Stage.MEASURE: ("rebuild.measure_before_joining", None),
    Stage.JOIN: ("rebuild.join", None),
    Stage.LADDER: ("rebuild.check_taps", None),
    Stage.HOUSING: ("proving.close_housing", None),
    Stage.FIRST_CHARGE: ("proving.first_charge", None),
    Stage.FINAL_TEST: ("proving.final_test", None),
    Stage.REMOVED: ("disposal.finish_removed", line.sort_removed),
    Stage.HAND_OVER: ("closeout.hand_over", line.issue_papers),
}
"""The request by which a job leaves each stage, or comes nearer to it."""
