"""Drives one job along the line through the operations, to any stage."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from packs.terms import (
    STEPS,
    CellEnd,
    Condition,
    DangerLevel,
    DeviceClass,
    DocumentKind,
    JobKind,
    JointMethod,
    Measure,
    Owner,
    Peeled,
    RemovedWay,
    Role,
    Specimen,
    Stage,
    StripMaterial,
)
from shop import models
from shop.bridge import pictures
from shop.bridge.rules import METAL, BoardTried, RestHold, UnderLoad, Weld
from shop.bridge.worth import Offer
from shop.operations import (
    closeout,
    consignments,
    disposal,
    documents,
    examination,
    exceptions,
    for_stock,
    health,
    histories,
    incidents,
    intake,
    limits,
    parking,
    photographs,
    planning,
    proving,
    quoting,
    rebuild,
    returns,
    voiding,
    welding,
)
from shop.operations import containers as waste_containers

from . import remembered
from .factories import MORNING, CellFactory, CellModelFactory, SettingsFactory, UserFactory
from .pictures import photograph

SERIES, PARALLEL = 4, 2
CAPACITIES = (2600, 2590, 2580, 2570, 2560, 2550, 2540, 2530)


def technician() -> models.User:
    return UserFactory(username="technician", roles=(Role.TECHNICIAN,))


def lead() -> models.User:
    return UserFactory(username="lead", roles=(Role.LEAD,))


def job_at(stage: Stage, **options: Any) -> models.Job:
    """Return a job whose next stage is the given one: a 4s2p tool pack, eight tested cells in stock."""
    return remembered.job(f"{stage} {sorted(options.items())}", lambda: _walk_to(stage, **options))


def _walk_to(stage: Stage, **options: Any) -> models.Job:
    if not models.WorkshopSettings.objects.exists():
        SettingsFactory()
    job = begin(options.pop("kind", KIND_WITH.get(stage, JobKind.REBUILD)), **options)
    if job.danger_level == DangerLevel.RED:
        assert stage is Stage.REMOVED
        return job
    return on(job, stage)


def on(job: models.Job, stage: Stage) -> models.Job:
    """Walk a job on to a stage."""
    job.refresh_from_db()
    while job.stage != stage:
        was = job.stage
        WAY[Stage(was)](job)
        job.refresh_from_db()
        assert job.stage != was, f"{job} did not get past {was}"
    return job


def begin(kind: JobKind, **options: Any) -> models.Job:
    """Open a job of a kind: a return comes from a job that was walked to its end."""
    if kind is JobKind.FOR_STOCK:
        return for_stock.build_for_stock(
            model="Lamp pack 14.4 V", device_class=DeviceClass.OTHER, by=technician(), **options
        )
    if kind is JobKind.WARRANTY:
        given = {"signs": [], "removed_owner": Owner.SHOP, "complaint": "dead again"} | options
        return returns.take_in_return(returned=handed_over(), by=technician(), **given)
    return take_in(kind=kind, **options)


def handed_over() -> models.Job:
    """Return a closed job whose rebuilt pack is with its owner."""
    job = job_at(Stage.HAND_OVER)
    hand_over(job)
    job.refresh_from_db()
    return job


def to_the_end(job: models.Job) -> models.Job:
    """Walk a job from where it stands until it is closed."""
    while job.closed_at is None:
        WAY[Stage(job.stage)](job)
        job.refresh_from_db()
    return job


def built_of(series: int, parallel: int, **changed: Any) -> models.Job:
    """Return a job whose cells of 40 mΩ lie in an arrangement of one's own, and are measured next."""
    job = job_at(Stage.TARGET)
    planning.state_target(job=job, target=target(series=series, parallel=parallel, **changed), by=technician())
    job.refresh_from_db()
    cells = [CellFactory(code=f"T{number:03d}") for number in range(1, series * parallel + 1)]
    codes = [cell.code for cell in cells]
    groups = [codes[start : start + parallel] for start in range(0, len(codes), parallel)]
    planning.accept(job=job, groups=groups, by=technician())
    for go_on in (dismantle, place):
        job.refresh_from_db()
        go_on(job)
    job.refresh_from_db()
    return job


def to_be_cut(series: int = SERIES, groups: list[int] | None = None, **changed: Any) -> models.Job:
    """Return a job whose pack, as found, is to be taken apart next; target and cells play no part there."""
    SettingsFactory()
    job = take_in()
    given = {"cell_model": CellModelFactory(), "parallel": 1, "joint_method": JointMethod.SPOT_WELD} | changed
    voltages = [Decimal(mv) for mv in groups or []]
    examination.examine(job=job, series=series, group_voltages_mv=voltages, by=technician(), **given)
    models.Job.objects.filter(pk=job.pk).update(stage=Stage.DISMANTLE.value)
    job.refresh_from_db()
    return job


def with_metal(job: models.Job) -> None:
    """The case was found to have metal when it was closed."""
    step = job.steps.get(stage=Stage.HOUSING.value)
    step.confirmed |= {METAL: True}
    step.save()


def take_in(**options: Any) -> models.Job:
    given = {"signs": [], "removed_owner": Owner.SHOP, "customer_name": "Ida Moor", "complaint": "runs five minutes"}
    device_class = options.pop("device_class", DeviceClass.TOOL)
    job = intake.take_in(
        nameplate=intake.Nameplate(model="Garden pump GP-3", device_class=device_class, serial="GP3-118"),
        **({"by": technician(), "now": MORNING} | given | options),
    )
    if device_class is DeviceClass.MEDICAL:
        order(job)
    return job


def order(job: models.Job) -> None:
    """The facility that uses a medical device orders the work in writing."""
    said = {"facility": "Oberau Clinic", "reference": "order 118 of 2 Nov 2026", "ordered_cells": "Round 2.6"}
    histories.state_order(job=job, **said, by=technician())


def sign(lot: models.Lot, *classes: DeviceClass) -> models.LotSignature:
    """A lead signs that the used cells of a lot may serve classes of device, all but medical ones where none is named."""
    may = classes or tuple(one for one in DeviceClass if one is not DeviceClass.MEDICAL)
    return histories.sign_lot(lot=lot, device_classes=may, reason="bench lamps of one fleet", by=lead())


def take_in_with(nameplate: intake.Nameplate) -> models.Job:
    return intake.take_in(
        nameplate=nameplate, signs=[], removed_owner=Owner.SHOP, customer_name="Ida Moor", by=technician(), now=MORNING
    )


def examine(job: models.Job) -> None:
    examination.examine(
        job=job,
        cell_model=CellModelFactory(),
        series=SERIES,
        parallel=PARALLEL,
        joint_method=JointMethod.SPOT_WELD,
        pack_voltage_mv=Decimal(13200),
        group_voltages_mv=[Decimal(3310), Decimal(3290), Decimal(3300), Decimal(3300)],
        by=technician(),
    )


def target(**changed: Any) -> planning.Target:
    stated = {
        "cell_model": CellModelFactory(),
        "series": SERIES,
        "parallel": PARALLEL,
        "joint_method": JointMethod.SPOT_WELD,
        "strip_material": StripMaterial.NICKEL_200,
        "strip_width_um": 8000,
        "strip_thickness_um": 150,
        "continuous_current_ma": 6000,
        "charger_voltage_mv": 4200 * changed.get("series", SERIES),
    }
    return planning.Target(**(stated | changed))


REPLACED = (2,)
"""The group that a repair on the line replaces: it failed, groups 1, 3 and 4 stay."""


def state_target(job: models.Job, **given: Any) -> None:
    replaced = given.pop("replaced", REPLACED if job.part_stays else ())
    planning.state_target(job=job, target=target(replaced=replaced), by=technician(), **given)


def stock() -> list[models.Cell]:
    """Bring in eight tested cells, S001 to S008; the next job's begin at S009."""
    first = models.Cell.objects.filter(code__startswith="S").count() + 1
    return [
        CellFactory(
            code=f"S{number:03d}",
            readings={Measure.CAPACITY: mah, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620},
        )
        for number, mah in enumerate(CAPACITIES, start=first)
    ]


def accept(job: models.Job) -> None:
    """The heaviest beside the lightest: every group holds 5130 mAh."""
    codes = [cell.code for cell in stock()]
    wanted = len(job.plans.get(state="stated").open_groups)
    accept_old_beside_new(job)
    planning.accept(job=job, groups=[[codes[n], codes[-1 - n]] for n in range(wanted)], by=technician())


def accept_old_beside_new(job: models.Job) -> None:
    """In a repair a lead accepts in writing that new groups stand beside old ones; elsewhere nobody has to."""
    if job.part_stays and not job.exceptions.standing().filter(rule_id="target.old_beside_new").exists():
        accept_in_writing(job, "target.old_beside_new")


PRICES = {
    "labour_rate": Decimal(66),
    "margin_percent": Decimal(15),
    "tax_percent": Decimal(20),
    "consumables": Decimal("2.10"),
    "waste_fee": Decimal(4),
    "examination_fee": Decimal(25),
}


def state_prices(_: models.Job | None = None, **changed: Any) -> models.Prices:
    return quoting.change_prices(by=UserFactory(username="owner", roles=(Role.OWNER,)), **(PRICES | changed))


def offer(**changed: Any) -> Offer:
    stated = {
        "cell_model": CellModelFactory(),
        "series": SERIES,
        "parallel": PARALLEL,
        "cell_cost": Decimal("3.45"),
        "labour_minutes": 75,
        "test_minutes": 20,
        "life_years": Decimal(4),
        "removed": RemovedWay.TAKEN_OVER,
    }
    return Offer(**(stated | changed))


def quote(job: models.Job, **changed: Any) -> models.Quote:
    """Issue a quote for the pack of the line: 190.01 with tax."""
    if not models.Prices.objects.exists():
        state_prices()
    return quoting.issue_quote(job=job, offer=offer(**changed), by=technician())


def dismantle(job: models.Job) -> None:
    whole = models.cells_due_out(job) - 1
    rebuild.record_removed(
        job=job, condition=Condition.INTACT, rest_voltage_mv=Decimal(3300), count=whole, by=technician()
    )
    rebuild.record_removed(job=job, condition=Condition.DAMAGED, by=technician())
    rebuild.finish_dismantling(job=job, by=technician())


def place(job: models.Job) -> None:
    for position in job.plans.get(state="accepted").positions.select_related("cell"):
        rebuild.place_cell(job=job, code=position.cell.code, by=technician())


def names() -> list[str]:
    return [f"{group}.{place}" for group in range(1, SERIES + 1) for place in range(1, PARALLEL + 1)]


def since(job: models.Job, stage: Stage) -> str:
    """What is said after a try that was stopped; nothing at the first one."""
    return "seen to, and measured again" if job.steps.filter(stage=stage.value).exists() else ""


def measure(job: models.Job) -> None:
    """With the peel sample of the day beside it."""
    peel(job)
    plan = job.plans.get(state="accepted")
    measured = [*(position.name for position in plan.positions.all()), *(f"group {n}" for n in plan.standing_groups)]
    rests = dict.fromkeys(measured, Decimal(3620))
    said = since(job, Stage.MEASURE)
    rebuild.measure_before_joining(job=job, rest_voltages_mv=rests, since=said, by=technician())


def measured_again(job: models.Job, at: datetime) -> None:
    """Measure every cell again as it was, at another moment."""
    names = [position.name for position in job.plans.get(state="accepted").positions.all()]
    rebuild.measure_before_joining(
        job=job,
        rest_voltages_mv=dict.fromkeys(names, Decimal(3620)),
        since=since(job, Stage.MEASURE),
        by=technician(),
        now=at,
    )


def strips_of(job: models.Job) -> list[int]:
    """Group g lies between strips g and g + 1."""
    groups = job.plans.get(state="accepted").open_groups
    return sorted({*groups, *(group + 1 for group in groups)})


WELD = Weld(machine="bench welder", schedule="two pulses, ms", pulse=Decimal(14))
BOARD_TRIED = BoardTried(suits=True, overcharge_mv=Decimal(4225), undervoltage_mv=Decimal(3000))
CUTOFF = {"final.board_cutoff": True}
WELD_KEY = "bench welder|two pulses, ms|14"


def peel(job: models.Job, peeled: Peeled = Peeled.HELD, weld: Weld = WELD, **given: Any) -> None:
    """A sample at both poles with one setting."""
    welding.record_samples(
        job=job, weld=weld, specimen=Specimen.SCRAP_CAN, peeled=dict.fromkeys(CellEnd, peeled), by=technician(), **given
    )


def join(job: models.Job) -> None:
    rebuild.join(
        job=job,
        strips=[rebuild.StripJoined(strip=number, spots=4) for number in strips_of(job)],
        weld=WELD,
        second_look=True,
        second_look_by="Ada Lund",
        by=technician(),
    )


def check_taps(job: models.Job) -> None:
    taps = [Decimal(3620 * n) for n in range(1, SERIES + 1)]
    said = since(job, Stage.LADDER)
    rebuild.check_taps(job=job, taps_mv=taps, board=BOARD_TRIED, since=said, by=technician())
    photograph_the_open_case(job)


def photograph_the_cells(job: models.Job) -> None:
    """In their places, before anything is joined."""
    job.refresh_from_db()
    picture = pictures.develop(photograph())
    if photographs.known_already(job, picture) is None:
        photographs.keep_photograph(job=job, picture=picture, shows="polarity of every group", by=technician())
        job.refresh_from_db()


def photograph_the_open_case(job: models.Job) -> None:
    """As soon as there is an open case to be shut."""
    job.refresh_from_db()
    picture = pictures.develop(photograph())
    if job.stage == Stage.HOUSING and photographs.known_already(job, picture) is None:
        photographs.keep_photograph(job=job, picture=picture, shows="the open case", by=technician())


def groups_of(job: models.Job) -> dict[str, Any]:
    """What the groups have, where cells are joined."""
    joined = models.Joint.objects.filter(position__plan__job=job, state="made").exists()
    return {"groups_mv": [Decimal(3620)] * SERIES} if joined else {}


def parked(job: models.Job) -> dict[str, Any]:
    return {"place": "shelf 3, metal box", "insulated": True, "supply_off": True} | groups_of(job)


def taken_up(job: models.Job) -> dict[str, Any]:
    return {"supervised_by": "Nell"} | groups_of(job)


def park(job: models.Job) -> None:
    parking.park(job=job, by=technician(), **parked(job))


def try_out(job: models.Job) -> None:
    """4160 mAh of 5200 mAh rated: 80 %."""
    health.record_pack_test(
        job=job,
        discharge=health.Discharge(
            capacity_mah=Decimal(4160),
            current_ma=Decimal(1040),
            end_mv=Decimal(12000),
            temperature_mdegc=Decimal(22000),
        ),
        pack_rest_mv=Decimal(16480),
        groups_mv=[Decimal(4130), Decimal(4090), Decimal(4130), Decimal(4130)],
        resistance_uohm=Decimal(182000),
        resistance_method="DC pulse 10 s at the leads",
        by=technician(),
    )


def close_housing(job: models.Job) -> None:
    from shop.bridge.rules import HOUSING_RULES

    proving.close_housing(job=job, confirmed=dict.fromkeys(HOUSING_RULES, True), by=technician())


def looks_at(*minutes: int, **read: Any) -> list[proving.ChargeLine]:
    """Looks at a pack that charges as it should: at the start, in the middle and at the end, or at other times."""
    given = {"pack_voltage_mv": 15200, "current_ma": 1000, "hottest_mdegc": 24000} | read
    values = {name: Decimal(str(value)) for name, value in given.items()}
    return [proving.ChargeLine(minutes=at, **values) for at in minutes or (0, 30, 60)]


HOLD = RestHold(hours=Decimal(24), groups_mv=[Decimal(4136)] * SERIES)
LOADED = UnderLoad(
    current_ma=Decimal(5000), pack_mv=Decimal(16_060), joint_mv=Decimal(1), hottest_mdegc=Decimal(31_000)
)
"""100 mΩ for groups of 4 × 20 mΩ with leads and board, and 0.2 mΩ at the worst joint; invented."""


def proof(**given: Any) -> dict[str, Any]:
    """What a final test is asked beside its capacity and its groups."""
    return {"confirmed": CUTOFF, "hold": HOLD, "load": LOADED} | given


def first_charge(job: models.Job) -> None:
    proving.first_charge(
        job=job,
        supervised_by="Technician",
        charger_voltage_mv=Decimal(16790),
        lines=looks_at(),
        mid_groups_mv=[Decimal(3900)] * SERIES,
        groups_mv=[Decimal(4180)] * SERIES,
        since=since(job, Stage.FIRST_CHARGE),
        by=technician(),
    )


AS_THE_CELLS = "0.2 C to 12 V at 22 °C"
"""How the finished pack of the tests is discharged: 3.0 V a cell."""


def final_test(job: models.Job) -> None:
    proving.final_test(
        job=job,
        capacity_mah=Decimal(5080),
        pack_rest_mv=Decimal(16560),
        groups_mv=[Decimal(4140)] * SERIES,
        conditions=AS_THE_CELLS,
        by=technician(),
        **proof(),
    )


def release(job: models.Job) -> None:
    """A lead looked, and work goes on after whatever happened on a job."""
    for incident in models.Incident.objects.freezing().filter(job=job):
        danger = DangerLevel.AMBER if incidents.asks_for_danger(incident, incident.job) else None
        incidents.release_incident(incident=incident, findings="looked at it; nothing warm", danger=danger, by=lead())


def set_limit(rule_id: str, value: float | None) -> models.ShopLimit:
    """Set a limit of the shop, in the unit in which the rule compares."""
    number = None if value is None else Decimal(str(value))
    return limits.set_limit(rule_id=rule_id, value=number, reason="our meters are better", by=lead())


def accept_in_writing(job: models.Job, rule_id: str, reason: str = "the customer knows") -> models.WrittenException:
    job.refresh_from_db()
    return exceptions.write_exception(job=job, rule_id=rule_id, reason=reason, by=lead())


def containers() -> tuple[models.Container, models.Container]:
    made = []
    for code, condition in (("W-INTACT", Condition.INTACT), ("W-DAMAGED", Condition.DAMAGED)):
        row = models.Container.objects.filter(code=code).first()
        made.append(
            row
            or waste_containers.open_container(
                code=code, condition=condition, started_on=MORNING.date(), by=technician()
            )
        )
    return made[0], made[1]


def closed(container: models.Container, gross_mass_mg: int = 2_000_000, **given: Any) -> models.Container:
    """Close a container: two kilograms gross, in UN-approved packaging."""
    confirmed = {"secured": True, "lid_vents": True, "approved_packaging": True, "by": technician()}
    return waste_containers.close_container(container=container, gross_mass_mg=gross_mass_mg, **(confirmed | given))


def consigned(*containers: models.Container, **given: Any) -> models.Consignment:
    """Close containers and hand them to a carrier."""
    names = {"carrier": "Vale Haulage", "receiver": "Vale Recycling", "taken_by": "Per Lund", "by": technician()}
    ready = [row if row.closed_at else closed(row) for row in containers]
    return consignments.consign(containers=ready, **(names | given))


def clear_bench(job: models.Job) -> None:
    sort_removed(job)
    take_out_items(job)
    disposal.finish_removed(job=job, by=technician())


def sort_removed(job: models.Job) -> None:
    """Whole cells go back to stock, damaged ones into their container."""
    _, for_damaged = containers()
    cells = models.Cell.objects.on_bench_of(job)
    if whole := list(cells.filter(condition="intact")):
        disposal.to_stock(job=job, cells=whole, by=technician())
    if damaged := list(cells.filter(condition="damaged")):
        disposal.to_container(
            job=job, container=for_damaged, cells=damaged, insulated=True, packed_alone=True, by=technician()
        )


def take_out_items(job: models.Job) -> None:
    """What was taken back unopened goes into the container for its condition."""
    for item in job.items.waiting():
        container = next(row for row in containers() if row.condition == item.condition)
        disposal.to_container(
            job=job, container=container, items=[item], insulated=True, packed_alone=True, by=technician()
        )


def issue_papers(job: models.Job) -> None:
    issue_report(job)
    issue_label(job)
    if closeout.note_due(job):
        documents.issue(job=job, kind=DocumentKind.DISPOSAL_NOTE, by=technician())


def issue_report(job: models.Job) -> None:
    if (report := closeout.report_due(job)) is None:
        return
    if standing := job.documents.counting().filter(kind=report.value).last():
        voiding.reissue(document=standing, reason="tested again since", by=technician())
    else:
        documents.issue(job=job, kind=report, by=technician())


def issue_label(job: models.Job) -> None:
    if closeout.report_due(job) is DocumentKind.TEST_REPORT:
        documents.issue(job=job, kind=DocumentKind.PACK_LABEL, by=technician())


def hand_over(job: models.Job) -> None:
    issue_papers(job)
    closeout.hand_over(job=job, received_by="Ida Moor", by=technician())


def into_stock(job: models.Job) -> None:
    issue_papers(job)
    for_stock.into_stock(job=job, by=technician())


KIND_WITH = {Stage.TEST_PACK: JobKind.TEST_ONLY, Stage.INTO_STOCK: JobKind.FOR_STOCK}

WAY = {
    Stage.EXAMINE: examine,
    Stage.TEST_PACK: try_out,
    Stage.TARGET: state_target,
    Stage.MATCH: accept,
    **dict(
        zip(
            STEPS,
            (dismantle, place, measure, join, check_taps, close_housing, first_charge, final_test),
            strict=True,
        )
    ),
    Stage.REMOVED: clear_bench,
    Stage.INTO_STOCK: into_stock,
    Stage.HAND_OVER: hand_over,
}
