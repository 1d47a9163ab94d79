"""What the demo shop's technician does with a job, stage by stage."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from packs.terms import (
    CellEnd,
    Condition,
    DangerLevel,
    DocumentKind,
    JointMethod,
    Measure,
    Owner,
    Peeled,
    RemovedWay,
    Specimen,
    Stage,
    StripMaterial,
)
from shop.bridge import figures, matching, rules
from shop.bridge.worth import Offer
from shop.demo import notes, scene
from shop.demo.counter import Visit
from shop.models import Cell, CellModel, Container, Job, Plan, User
from shop.operations import (
    closeout,
    containers,
    details,
    disposal,
    documents,
    examination,
    health,
    joints,
    opening_pack,
    pack_notes,
    photographs,
    planning,
    proving,
    quoting,
    rebuild,
    welding,
)

HOURS = {Stage.FIRST_CHARGE: 3, Stage.FINAL_TEST: 31}
"""What takes longer than an hour: 150 minutes on charge; a discharge of five hours and a day of rest after it."""


@dataclass
class Bench:
    """The bench with its people; a stage takes an hour of the demo's clock, a charge and a final test as long as they do."""

    technician: User
    lead: User
    at: datetime = field(init=False)

    def bring_to(self, job: Job, visit: Visit, at: datetime) -> None:
        """Do what was done on a job, up to the stage at which it waits today."""
        self.at = at
        while job.closed_at is None and Stage(job.stage) is not visit.until and job.danger_level != DangerLevel.RED:
            self.at += timedelta(hours=HOURS.get(Stage(job.stage), 1))
            self._do(job, visit)
            job.refresh_from_db()
        if visit.quoted:
            quoting.issue_quote(job=job, offer=self._offer(visit), by=self.technician, now=self.at)

    def _offer(self, visit: Visit) -> Offer:
        return Offer(
            cell_model=CellModel.objects.get(name=visit.cells),
            series=visit.series,
            parallel=visit.parallel,
            cell_cost=Decimal("3.10"),
            labour_minutes=80,
            test_minutes=25,
            life_years=Decimal(4),
            removed=RemovedWay.TAKEN_OVER,
            strip_um=640_000,
            replacement_price=Decimal(189),
            replacement_years=Decimal(4),
            limits_of_use="at most 20 A, not below 0 °C",
            board_unknown=True,
        )

    def _do(self, job: Job, visit: Visit) -> None:
        ways: dict[Stage, Callable[[Job, Visit], object]] = {
            Stage.EXAMINE: self._examine,
            Stage.TEST_PACK: self._test,
            Stage.TARGET: self._state_target,
            Stage.MATCH: self._match,
            Stage.DISMANTLE: self._dismantle,
            Stage.PLACE: self._place,
            Stage.MEASURE: self._measure,
            Stage.JOIN: self._join,
            Stage.LADDER: self._check_taps,
            Stage.HOUSING: self._close_housing,
            Stage.FIRST_CHARGE: self._first_charge,
            Stage.FINAL_TEST: self._final_test,
            Stage.REMOVED: self._clear_bench,
            Stage.HAND_OVER: self._hand_over,
        }
        ways[Stage(job.stage)](job, visit)

    def _examine(self, job: Job, visit: Visit) -> None:
        groups = [Decimal(3310 - 15 * (n % 3)) for n in range(visit.series)]
        examination.examine(
            job=job,
            cell_model=CellModel.objects.get(name=visit.cells),
            series=visit.series,
            parallel=visit.parallel,
            joint_method=JointMethod.SPOT_WELD,
            housing="four screws and a clip",
            board="protects against over- and undervoltage, balances near full; one sensor",
            pack_voltage_mv=sum(groups, Decimal()),
            group_voltages_mv=groups,
            by=self.technician,
            now=self.at,
        )
        details.describe(job=job, details=notes.SEEN, by=self.technician, now=self.at)
        if learnt := notes.LEARNT.get(visit.device):
            model = CellModel.objects.get(name=visit.cells)
            known = {**learnt, "series": visit.series, "parallel": visit.parallel, "cell_model": model}
            pack_notes.write_notes(job=job, learnt=pack_notes.Learnt(**known), by=self.technician, now=self.at)

    def _test(self, job: Job, visit: Visit) -> None:
        rated = CellModel.objects.get(name=visit.cells).rated_capacity_mah * visit.parallel
        groups = [Decimal(4138 - 38 * (n == 2)) for n in range(visit.series)]
        health.record_pack_test(
            job=job,
            discharge=health.Discharge(
                capacity_mah=(rated * Decimal("0.78")).quantize(Decimal(1)),
                current_ma=(rated / 5).quantize(Decimal(1)),
                end_mv=Decimal(visit.series * 3000),
                temperature_mdegc=Decimal(21_500),
            ),
            pack_rest_mv=sum(groups, Decimal()) + 3,
            groups_mv=groups,
            by=self.technician,
            now=self.at,
        )

    def _state_target(self, job: Job, visit: Visit) -> None:
        target = planning.Target(
            cell_model=CellModel.objects.get(name=visit.cells),
            series=visit.series,
            parallel=visit.parallel,
            joint_method=JointMethod.SPOT_WELD,
            strip_material=StripMaterial.NICKEL_200,
            strip_width_um=8000,
            strip_thickness_um=150,
            continuous_current_ma=6000,
            charger_voltage_mv=visit.series * 4200,
        )
        planning.state_target(job=job, target=target, by=self.technician, now=self.at)

    def _match(self, job: Job, visit: Visit) -> None:
        proposal = matching.propose(self._plan(job))
        groups = [group.codes for group in proposal.groups]
        planning.accept(job=job, groups=groups, by=self.technician, now=self.at)
        documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=self.technician, now=self.at)

    def _dismantle(self, job: Job, visit: Visit) -> None:
        left = visit.series * visit.parallel
        confirmed = dict.fromkeys(rules.opening_questions(job.as_found), True)
        opening_pack.prepare_dismantling(job=job, confirmed=confirmed, by=self.technician, now=self.at)
        rebuild.record_removed(
            job=job, condition=Condition.DAMAGED, rest_voltage_mv=Decimal(2480), by=self.technician, now=self.at
        )
        rebuild.record_removed(
            job=job,
            condition=Condition.INTACT,
            rest_voltage_mv=Decimal(3305),
            count=left - 1,
            by=self.technician,
            now=self.at,
        )
        rebuild.finish_dismantling(job=job, by=self.technician, now=self.at)

    def _place(self, job: Job, visit: Visit) -> None:
        for position in self._plan(job).positions.select_related("cell"):
            rebuild.place_cell(job=job, code=position.cell.code, by=self.technician, now=self.at)

    def _measure(self, job: Job, visit: Visit) -> None:
        positions = list(self._plan(job).positions.select_related("cell"))
        known = figures.of_cells([position.cell for position in positions])
        voltages = {position.name: known[position.cell_id][Measure.REST_VOLTAGE] for position in positions}
        rebuild.measure_before_joining(job=job, rest_voltages_mv=voltages, by=self.technician, now=self.at)

    def _join(self, job: Job, visit: Visit) -> None:
        strips = [joints.StripJoined(strip=n, spots=4, failed=int(n == 2)) for n in range(1, visit.series + 2)]
        weld = rules.Weld(machine="bench welder", schedule="two pulses, ms", pulse=Decimal(14))
        held = dict.fromkeys(CellEnd, Peeled.HELD)
        specimen = Specimen.SCRAP_CAN
        welding.record_samples(job=job, weld=weld, specimen=specimen, peeled=held, by=self.technician, now=self.at)
        rebuild.join(
            job=job,
            strips=strips,
            weld=weld,
            second_look=True,
            second_look_by=self.lead.first_name,
            again=rules.MadeAgain(tries=2, cooled=True),
            by=self.technician,
            now=self.at,
        )

    def _check_taps(self, job: Job, visit: Visit) -> None:
        taps = [due.quantize(Decimal(1)) for due in rules.expected_taps_mv(self._plan(job))]
        board = rules.BoardTried(suits=True, overcharge_mv=Decimal(4225), undervoltage_mv=Decimal(3010))
        rebuild.check_taps(job=job, taps_mv=taps, board=board, by=self.technician, now=self.at)

    def _close_housing(self, job: Job, visit: Visit) -> None:
        confirmed = dict.fromkeys(rules.HOUSING_RULES, True)
        photographs.keep_photograph(
            job=job, picture=scene.open_case(), shows="the open case, wires taped", by=self.technician, now=self.at
        )
        proving.close_housing(job=job, confirmed=confirmed, by=self.technician, now=self.at)

    def _first_charge(self, job: Job, visit: Visit) -> None:
        looks = ((0, 3650, 1250, 22_500), (60, 3950, 1250, 26_000), (110, 4120, 700, 25_500), (150, 4170, 300, 24_500))
        proving.first_charge(
            job=job,
            supervised_by=self.technician.first_name,
            charger_voltage_mv=Decimal(visit.series * 4200 - 40),
            lines=[
                proving.ChargeLine(
                    minutes=minutes,
                    pack_voltage_mv=Decimal(mv * visit.series),
                    current_ma=Decimal(ma),
                    hottest_mdegc=Decimal(mdegc),
                )
                for minutes, mv, ma, mdegc in looks
            ],
            mid_groups_mv=[Decimal(3948 + n % 3) for n in range(visit.series)],
            groups_mv=[Decimal(4170 + n % 2) for n in range(visit.series)],
            by=self.technician,
            now=self.at,
        )

    def _final_test(self, job: Job, visit: Visit) -> None:
        forecast = rules.forecast_mah(self._plan(job)) or Decimal()
        groups = [Decimal(4142 + n % 3) for n in range(visit.series)]
        proving.final_test(
            job=job,
            capacity_mah=(forecast * Decimal("0.985")).quantize(Decimal(1)),
            pack_rest_mv=sum(groups, Decimal()) + 4,
            groups_mv=groups,
            conditions="0.2 C down to 3.0 V per cell, 22 °C",
            confirmed=dict.fromkeys(rules.final_questions(self._plan(job)), True),
            hold=rules.RestHold(hours=Decimal(24), groups_mv=[mv - 2 for mv in groups]),
            load=self._loaded(job, sum(groups, Decimal()) + 4),
            by=self.technician,
            now=self.at,
        )

    def _loaded(self, job: Job, rest_mv: Decimal) -> rules.UnderLoad:
        """Five amperes; leads and board add a fifth to what the cells have."""
        forecast = rules.resistance_forecast(self._plan(job))
        fall = Decimal(0) if forecast is None else Decimal(round(forecast.m_as("milliohm") * 5 * 1.2))
        return rules.UnderLoad(
            current_ma=Decimal(5000), pack_mv=rest_mv - fall, joint_mv=Decimal("0.9"), hottest_mdegc=Decimal(31_500)
        )

    def _clear_bench(self, job: Job, visit: Visit) -> None:
        removed = Cell.objects.on_bench_of(job)
        intact = list(removed.filter(condition=Condition.INTACT.value))
        damaged = list(removed.filter(condition=Condition.DAMAGED.value))
        disposal.to_container(
            job=job,
            container=self._container(Condition.DAMAGED),
            cells=damaged,
            insulated=True,
            packed_alone=True,
            by=self.technician,
            now=self.at,
        )
        if visit.removed_owner == Owner.SHOP:
            container = self._container(Condition.INTACT)
            disposal.to_container(
                job=job, container=container, cells=intact, insulated=True, by=self.technician, now=self.at
            )
        else:
            disposal.to_customer(job=job, cells=intact, insulated=True, by=self.technician, now=self.at)
        disposal.finish_removed(job=job, by=self.technician, now=self.at)

    def _hand_over(self, job: Job, visit: Visit) -> None:
        last = (DocumentKind.TEST_REPORT, DocumentKind.DISPOSAL_NOTE, DocumentKind.PACK_LABEL, DocumentKind.HAND_OVER)
        for kind in last:
            documents.issue(job=job, kind=kind, by=self.technician, now=self.at)
        if minutes := notes.MINUTES.get(visit.device):
            pack_notes.note_time(job=job, minutes=minutes, by=self.technician, now=self.at)
        closeout.hand_over(job=job, received_by=visit.customer, by=self.technician, now=self.at)

    def _container(self, condition: Condition) -> Container:
        code = f"W-{condition.value.upper()}-1"
        found = Container.objects.filter(code=code).first()
        return found or containers.open_container(
            code=code, condition=condition, started_on=self.at.date(), by=self.technician, now=self.at
        )

    def _plan(self, job: Job) -> Plan:
        return job.plans.exclude(state="abandoned").select_related("cell_model", "job__device").get()
