"""Every operation with arguments that it accepts, so that what holds for all of them is asked of all of them."""

import importlib
import inspect
import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from packs.grading import DEFAULT
from packs.terms import (
    AMBER_SIGNS,
    STEPS,
    Area,
    CellEnd,
    CellFormat,
    Chemistry,
    Circumstance,
    Condition,
    DangerSign,
    DeviceClass,
    DocumentKind,
    Heard,
    JointMethod,
    LotOrigin,
    Measure,
    OldTabs,
    Opening,
    Owner,
    Peeled,
    Role,
    Specimen,
    Stage,
    Stubs,
    Terminals,
    Wrap,
)
from shop import models, operations
from shop.bridge import pictures
from shop.bridge.grading import facts_of
from shop.bridge.rules import HOUSING_RULES
from shop.operations import (
    cell_testing,
    details,
    disposal,
    documents,
    fault_finding,
    health,
    intake,
    many_files,
    pack_notes,
    photographs,
    planning,
    proving,
    rebuild,
    stock,
)
from shop.operations.base import VERBS
from tests import line, rows
from tests.factories import MORNING, CellFactory, CellModelFactory, LotFactory, SettingsFactory, UserFactory
from tests.operations import tester_files
from tests.pictures import photograph

for module in pkgutil.iter_modules(operations.__path__):
    importlib.import_module(f"shop.operations.{module.name}")

Arguments = dict[str, Any]
EXAMINED = (Stage.EXAMINE, Stage.TARGET, Stage.MATCH)
AMBER = {"signs": sorted(AMBER_SIGNS)}


def meter() -> models.Instrument:
    return models.Instrument.objects.get_or_create(name="bench meter 9")[0]


def channel() -> models.Channel:
    return models.Channel.objects.get_or_create(instrument=meter(), name="2")[0]


def check_cell() -> models.CheckCell:
    known = {"capacity_mah": Decimal(2500), "conditions": "mean of 3 tests", "at": MORNING, "by": line.technician()}
    return models.CheckCell.objects.filter(cell__code="K2").first() or models.CheckCell.objects.create(
        cell=CellFactory(code="K2"), **known
    )


def waiting_run() -> models.ChannelRun:
    waiting = models.ChannelRun.objects.filter(cell__code="Q2").first()
    return waiting or models.ChannelRun.objects.create(
        cell=CellFactory(code="Q2"), queued_at=MORNING, by=line.technician()
    )


def issued_token() -> models.TesterToken:
    lead = UserFactory(username="lead", roles=(Role.LEAD,))
    return models.TesterToken.objects.get_or_create(
        name="rack 2",
        defaults={"instrument": meter(), "key_sha256": "0" * 64, "issued_by": lead, "issued_at": MORNING},
    )[0]


@dataclass(frozen=True)
class Call:
    """One operation: the stages it is for (none: any stage), its arguments, and how its job came in."""

    arguments: Callable[[models.Job], Arguments]
    stages: tuple[Stage, ...] = ()
    taken_in: Arguments | None = None
    prepare: Callable[[models.Job], Any] | None = None


def function(name: str) -> Callable[..., Any]:
    module, verb = name.split(".")
    found: Callable[..., Any] = getattr(importlib.import_module(f"shop.operations.{module}"), verb)
    return found


def takes(name: str, parameter: str) -> bool:
    return parameter in inspect.signature(function(name)).parameters


def job_for(name: str) -> models.Job | None:
    """Return a job at which the operation is in order."""
    if not models.WorkshopSettings.objects.exists():
        SettingsFactory()
    if not takes(name, "job"):
        return None
    call = CALLS[name]
    job = line.job_at(*call.stages[:1] or (Stage.REMOVED,), **call.taken_in or {})
    if call.prepare:
        call.prepare(job)
    job.refresh_from_db()
    return job


def run(name: str, job: models.Job | None, **given: Any) -> Any:
    return function(name)(**arguments(name, job) | {"by": line.technician()} | given)


def arguments(name: str, job: models.Job | None) -> Arguments:
    return ({"job": job} if job else {}) | CALLS[name].arguments(job)  # type: ignore[arg-type]


def removed(job: models.Job, condition: Condition) -> list[models.Cell]:
    return list(models.Cell.objects.filter(lot__donor_job=job, condition=condition.value))


def container() -> models.Container:
    return line.containers()[1]


def filled_container() -> models.Container:
    job = line.job_at(Stage.REMOVED)
    disposal.to_container(
        job=job,
        container=container(),
        insulated=True,
        packed_alone=True,
        cells=removed(job, Condition.DAMAGED),
        by=line.technician(),
    )
    return container()


def read_once(job: models.Job) -> None:
    rows.searched(job)
    rows.probes(job, 1)


def picture(shade: int) -> pictures.Picture:
    return photographs.look_at(photograph("JPEG", shade))


def photographed(job: models.Job) -> models.Photograph:
    return photographs.keep_photograph(job=job, picture=picture(2), shows="the shut case", by=line.technician())


def incident() -> models.Incident:
    by = UserFactory(username="technician")
    told = {"kind": "heat", "happened": "a charger smelled", "happened_at": MORNING, "at": MORNING}
    return models.Incident.objects.create(by=by, **told)


def issued() -> models.IssuedDocument:
    return documents.issue(job=line.job_at(Stage.REMOVED), kind=DocumentKind.HAND_OVER, by=line.technician())


def reading() -> models.Reading:
    CellFactory(code="R1")
    return models.Reading.objects.get(cell__code="R1", measure=Measure.CAPACITY.value)


def take_all_out(job: models.Job) -> None:
    rebuild.record_removed(job=job, condition=Condition.DAMAGED, count=8, by=line.technician())


def first_placed(job: models.Job) -> str:
    """Return the cell in the first position; before there is one, any other."""
    position = models.PlanPosition.objects.filter(plan__job=job).order_by("group", "place").first()
    return position.cell.code if position else "S001"


TAKE_IN = {
    "customer_name": "Ida Moor",
    "nameplate": intake.Nameplate(model="Garden pump GP-3", device_class=DeviceClass.TOOL),
    "signs": [],
    "removed_owner": Owner.SHOP,
}
CELL_MODEL = {
    "name": "Round 3.0",
    "chemistry": Chemistry.NMC.value,
    "cell_format": CellFormat.ROUND.value,
    "terminals": Terminals.OPPOSITE_ENDS.value,
    "rated_capacity_mah": Decimal(3000),
    "nominal_voltage_mv": 3600,
    "charge_limit_mv": 4200,
    "end_of_discharge_mv": 2500,
}
CHARGE_LINE = proving.ChargeLine(
    minutes=0, pack_voltage_mv=Decimal(15200), current_ma=Decimal(1000), hottest_mdegc=Decimal(24000)
)
FOUND = {"series": 4, "parallel": 2, "joint_method": JointMethod.SPOT_WELD}
PROBES = [fault_finding.Probe(low="group_2_negative", high="group_2_positive", value_mv=Decimal(3700))]
ANSWER = {"name": "Ida Moor", "heard": Heard.SIGNED}
STRIPS = [rebuild.StripJoined(strip=number, spots=4) for number in range(1, 6)]


def _figures() -> dict[str, Any]:
    kept = tester_files.kept()
    return {"trace": kept, "understood": cell_testing.again(kept), "measures": [Measure.CAPACITY]}


def _moved() -> dict[str, Any]:
    kept = tester_files.kept()
    right = CellFactory(code="T2", lot=kept.cell.lot)
    return {"trace": kept, "cell": right, "understood": cell_testing.again(kept), "reason": "the wrong line was opened"}


def _layout() -> dict[str, Any]:
    """A layout is stated on the page of a cell, so there is one."""
    tester_files.cell()
    return {"name": "Tester 4", "facts": tester_files.stated()}


CALLS: dict[str, Call] = {
    "intake.take_in": Call(lambda _: TAKE_IN),
    "intake.condemn": Call(lambda _: {"findings": "a cell is dented"}, (Stage.EXAMINE,), AMBER),
    "intake.clear_amber": Call(lambda _: {"findings": "dry inside, 3.3 V"}, (Stage.EXAMINE,), AMBER),
    "incidents.report_incident": Call(
        lambda _: {"kind": models.IncidentKind.HEAT, "happened": "it got warm by itself"}
    ),
    "incidents.release_incident": Call(lambda _: {"incident": incident(), "findings": "a loose plug"}),
    "incidents.write_emergency_text": Call(lambda _: {"text": "Meet at the gate."}),
    "areas.set_area_limit": Call(
        lambda _: {"area": Area.STOCK, "energy_mwh": 20_000_000, "said_by": "letter of the insurer"}
    ),
    "completing.complete_intake": Call(
        lambda _: {"recall": intake.Recall(source="maker's page", checked_on=MORNING.date(), result="nothing found")}
    ),
    "intake.report_danger": Call(lambda _: {"signs": [DangerSign.SWELLING]}, (*EXAMINED, Stage.DISMANTLE)),
    "intake.decline": Call(lambda _: {"reason": "board burnt"}, (*EXAMINED, Stage.DISMANTLE)),
    "returns.take_in_return": Call(
        lambda _: {"returned": line.handed_over(), "signs": [], "removed_owner": Owner.SHOP, "complaint": "dead again"}
    ),
    "for_stock.build_for_stock": Call(lambda _: {"model": "lamp pack 14.4 V", "device_class": DeviceClass.OTHER}),
    "for_stock.into_stock": Call(lambda _: {}, (Stage.INTO_STOCK,), prepare=line.issue_papers),
    "giving_up.give_up": Call(lambda _: {"reason": "the case is cracked"}, (Stage.PLACE, *STEPS[2:]), prepare=None),
    "health.record_pack_test": Call(
        lambda _: {"discharge": health.Discharge(), "pack_rest_mv": Decimal(13200), "groups_mv": []}, (Stage.TEST_PACK,)
    ),
    "examination.examine": Call(lambda _: FOUND | {"cell_model": CellModelFactory()}, (Stage.EXAMINE,)),
    "details.describe": Call(lambda _: {"details": details.Details(metal=True)}, details.WHILE_OLD),
    "photographs.keep_photograph": Call(lambda _: {"picture": picture(1), "shows": "the opened case"}),
    "photographs.withdraw_photograph": Call(lambda job: {"photograph": photographed(job), "reason": "another pack"}),
    "fault_finding.state_pack": Call(
        lambda _: {"pack": fault_finding.KnownPack(series=4, chemistry=Chemistry.NMC)}, fault_finding.WHILE_WHOLE
    ),
    "fault_finding.record_probes": Call(
        lambda _: {"circumstance": Circumstance.REST, "probes": PROBES},
        fault_finding.WHILE_WHOLE,
        prepare=rows.searched,
    ),
    "fault_finding.take_back_probe": Call(
        lambda job: {"probe": rows.probes(job, 1)[0], "reason": "wrong group"},
        fault_finding.WHILE_WHOLE,
        prepare=rows.searched,
    ),
    "fault_finding.search_anew": Call(
        lambda _: {"repaired": "joint 2 remade"}, fault_finding.WHILE_WHOLE, prepare=read_once
    ),
    "pack_notes.write_notes": Call(lambda _: {"learnt": pack_notes.Learnt(opens=Opening.SCREWS)}),
    "pack_notes.note_time": Call(lambda _: {"minutes": 95}, (Stage.HAND_OVER,)),
    "quoting.change_prices": Call(lambda _: line.PRICES),
    "quoting.issue_quote": Call(
        lambda _: {"offer": line.offer()}, (Stage.TARGET, Stage.MATCH, *STEPS), prepare=line.state_prices
    ),
    "quoting.approve_quote": Call(lambda _: ANSWER, (Stage.TARGET, Stage.MATCH, *STEPS), prepare=line.quote),
    "quoting.decline_quote": Call(lambda _: ANSWER, (Stage.TARGET, Stage.MATCH, *STEPS), prepare=line.quote),
    "planning.state_target": Call(lambda _: {"target": line.target()}, (Stage.TARGET, Stage.MATCH)),
    "planning.accept": Call(
        lambda _: {"groups": [[f"S{n}", f"S{n + 4}"] for n in range(1, 5)]},
        (Stage.MATCH,),
        prepare=lambda _: [CellFactory(code=f"S{n}") for n in range(1, 9)],
    ),
    "planning.accept_together": Call(
        lambda job: {
            "packs": [
                planning.Accepted(
                    job or line.job_at(Stage.MATCH), [[CellFactory().code, CellFactory().code] for _ in range(4)]
                )
            ]
        },
        (Stage.MATCH,),
    ),
    "tasks.search_longer": Call(lambda _: {"asked": {"seconds": 30}}, (Stage.MATCH,)),
    "tasks.stop": Call(lambda job: {"task": rows.search(job)}),
    "planning.release": Call(lambda _: {"reason": "customer wants 5s2p"}, (Stage.DISMANTLE, Stage.PLACE)),
    "exceptions.write_exception": Call(
        lambda _: {"rule_id": "final.capacity", "reason": "the customer knows"}, (*EXAMINED, *STEPS)
    ),
    "exceptions.withdraw_exception": Call(lambda job: {"exception": rows.accepted(job), "reason": "it holds now"}),
    "limits.set_limit": Call(
        lambda _: {"rule_id": "measure.rest_spread", "value": Decimal(40), "reason": "our meters are better"}
    ),
    "goods_in.check_lot": Call(lambda _: {"lot": LotFactory(), "invoice": "4711", "mass_mg": 46_000}),
    "goods_in.release_lot": Call(
        lambda _: {"lot": LotFactory(code="L7", held_why="too light"), "reason": "the scale was off"}
    ),
    "grading.set_criteria": Call(lambda _: {"values": facts_of(DEFAULT), "reason": "our tester is warmer"}),
    "grading.state_new_cell": Call(
        lambda _: {
            "cell_model": CellModelFactory(),
            "dc_resistance_uohm": 30_000,
            "method": "DC pulse 10 s",
            "temperature_mdegc": 23_000,
            "source": "data sheet",
        }
    ),
    "opening_pack.prepare_dismantling": Call(
        lambda _: {"confirmed": {}, "groups_mv": [Decimal(3300)] * 4}, (Stage.DISMANTLE,)
    ),
    "breached.replace_breached": Call(
        lambda job: {
            "code": first_placed(job),
            "instead": CellFactory(code="X1").code,
            "happened": "electrode slipped",
            "isolated": True,
        },
        (Stage.JOIN, Stage.LADDER),
    ),
    "replacing.replace_cell": Call(
        lambda job: {
            "code": first_placed(job),
            "goes_in": {"1.1": CellFactory().code},
            "reason": "dented",
            "condition": Condition.DAMAGED,
        },
        (Stage.DISMANTLE, Stage.PLACE, Stage.MEASURE, Stage.JOIN),
    ),
    "parking.park": Call(line.parked, STEPS[1:]),
    "parking.resume": Call(line.taken_up, STEPS[1:], prepare=line.park),
    "rebuild.record_removed": Call(lambda _: {"condition": Condition.INTACT}, (Stage.DISMANTLE,)),
    "rebuild.finish_dismantling": Call(lambda _: {}, (Stage.DISMANTLE,), prepare=take_all_out),
    "rebuild.place_cell": Call(lambda job: {"code": first_placed(job)}, (Stage.PLACE,)),
    "rebuild.measure_before_joining": Call(
        lambda _: {"rest_voltages_mv": dict.fromkeys(line.names(), Decimal(3620))}, (Stage.MEASURE,)
    ),
    "welding.record_samples": Call(
        lambda _: {"weld": line.WELD, "specimen": Specimen.SCRAP_CAN, "peeled": dict.fromkeys(CellEnd, Peeled.HELD)},
        (Stage.JOIN, Stage.MEASURE, Stage.PLACE),
    ),
    "rebuild.join": Call(
        lambda _: {"strips": STRIPS, "weld": line.WELD, "second_look": True, "second_look_by": "Jon Adler"},
        (Stage.JOIN,),
    ),
    "rebuild.check_taps": Call(
        lambda _: {"taps_mv": [Decimal(3620 * n) for n in range(1, 5)], "board": line.BOARD_TRIED}, (Stage.LADDER,)
    ),
    "proving.close_housing": Call(lambda _: {"confirmed": dict.fromkeys(HOUSING_RULES, True)}, (Stage.HOUSING,)),
    "proving.first_charge": Call(
        lambda _: {
            "supervised_by": "Technician",
            "charger_voltage_mv": Decimal(16790),
            "lines": line.looks_at(),
            "mid_groups_mv": [Decimal(3900)] * 4,
            "groups_mv": [Decimal(4180)] * 4,
        },
        (Stage.FIRST_CHARGE,),
    ),
    "proving.final_test": Call(
        lambda _: {
            "capacity_mah": Decimal(5080),
            "conditions": line.AS_THE_CELLS,
            "pack_rest_mv": Decimal(16560),
            "groups_mv": [Decimal(4140)] * 4,
            **line.proof(),
        },
        (Stage.FINAL_TEST,),
    ),
    "containers.open_container": Call(
        lambda _: {"code": "W9", "condition": Condition.DAMAGED, "started_on": MORNING.date()}
    ),
    "disposal.to_stock": Call(lambda job: {"cells": removed(job, Condition.INTACT)}),
    "disposal.to_customer": Call(
        lambda job: {"cells": removed(job, Condition.INTACT), "insulated": True},
        taken_in={"removed_owner": Owner.CUSTOMER},
    ),
    "disposal.to_container": Call(
        lambda job: {
            "container": container(),
            "insulated": True,
            "packed_alone": True,
            "cells": removed(job, Condition.DAMAGED),
        }
    ),
    "disposal.to_emergency_route": Call(
        lambda job: {"thing": job.items.get(), "receiver": "Oberau fire brigade"}, taken_in={"signs": [DangerSign.HOT]}
    ),
    "disposal.discard": Call(
        lambda _: {"cell": CellFactory(code="R3"), "container": line.containers()[0], "insulated": True}
    ),
    "conditions.lower_condition": Call(
        lambda _: {"cell": CellFactory(code="R4"), "condition": Condition.DAMAGED, "reason": "dented"}
    ),
    "disposal.finish_removed": Call(lambda _: {}, (Stage.REMOVED,), prepare=line.sort_removed),
    "disposal.add_item": Call(
        lambda _: {"kind": models.ItemKind.BOARD, "description": "old board", "condition": Condition.INTACT},
        (Stage.REMOVED, Stage.HAND_OVER),
    ),
    "containers.close_container": Call(
        lambda _: {
            "container": filled_container(),
            "gross_mass_mg": 2_000_000,
            "secured": True,
            "lid_vents": True,
            "approved_packaging": True,
        }
    ),
    "containers.reopen_container": Call(lambda _: {"container": line.closed(filled_container())}),
    "consignments.consign": Call(
        lambda _: {
            "containers": [line.closed(filled_container())],
            "carrier": "Vale Haulage",
            "receiver": "Vale Recycling",
            "taken_by": "Per Lund",
        }
    ),
    "consignments.confirm_consignment": Call(
        lambda _: {
            "consignment": line.consigned(filled_container(), now=MORNING),
            "confirmed_on": MORNING.date(),
            "confirmed_by": "Vale Recycling",
            "now": MORNING,
        }
    ),
    "closeout.hand_over": Call(lambda _: {"received_by": "Ida Moor"}, (Stage.HAND_OVER,), prepare=line.issue_papers),
    "documents.issue": Call(lambda _: {"kind": DocumentKind.HAND_OVER}),
    "documents.issue_label": Call(lambda _: {"container": filled_container()}),
    "documents.issue_consignment_note": Call(lambda _: {"consignment": line.consigned(filled_container())}),
    "voiding.reissue": Call(lambda _: {"document": issued(), "reason": "the serial number was misread"}),
    "voiding.void": Call(lambda _: {"document": issued(), "reason": "issued for the wrong job"}),
    "documents.keep_bytes": Call(lambda _: {"document": issued(), "pdf": b"%PDF-1.7"}),
    "cell_testing.add_layout": Call(lambda _: _layout()),
    "cell_testing.keep_trace": Call(lambda _: tester_files.to_keep()),
    "cell_testing.accept_trace": Call(lambda _: _figures()),
    "many_files.read_files": Call(lambda _: {"sent": [many_files.Sent("Q7.csv", tester_files.CONTENT)]}),
    "channels.add_channel": Call(lambda _: {"instrument": meter(), "name": "1"}),
    "channels.keep_check_cell": Call(
        lambda _: {"cell": CellFactory(code="K1"), "capacity_mah": Decimal(2500), "conditions": "mean of 3 tests"}
    ),
    "channels.read_check_cell": Call(
        lambda _: {"channel": channel(), "cell": check_cell().cell, "capacity_mah": Decimal(2490)}
    ),
    "channels.queue_cells": Call(lambda _: {"cells": [CellFactory(code="Q1")]}),
    "channels.begin_run": Call(lambda _: {"run": waiting_run(), "channel": channel(), "hours": Decimal(9)}),
    "channels.end_run": Call(lambda _: {"run": waiting_run(), "state": models.RunState.CALLED_OFF}),
    "channels.promise": Call(lambda _: {"promised_on": date(2099, 12, 4)}),
    "preparing.prepare_cells": Call(
        lambda _: {
            "cells": [CellFactory(code="P1")],
            "tabs": OldTabs.REMOVED,
            "stubs": Stubs.GROUND,
            "wrapper": Wrap.REPLACED,
            "insulator": Wrap.INTACT,
            "printed": "Round 2.6, 2011",
            "photographed": True,
        }
    ),
    "histories.state_history": Call(
        lambda _: {"lot": LotFactory(), "donor_pack": "Lamp pack 14.4 V", "cycle_count": 118}
    ),
    "histories.sign_lot": Call(
        lambda _: {"lot": LotFactory(), "device_classes": [DeviceClass.TOOL], "reason": "lamps of one fleet"}
    ),
    "histories.state_order": Call(
        lambda _: {"facility": "Oberau Clinic", "reference": "order 118", "ordered_cells": "Round 2.6"},
        taken_in={"device_class": DeviceClass.MEDICAL},
    ),
    "stock.add_cell_model": Call(lambda _: CELL_MODEL),
    "stock.add_lot": Call(
        lambda _: {
            "code": "L9",
            "cell_model": CellModelFactory(),
            "origin": LotOrigin.BOUGHT,
            "received_on": MORNING.date(),
            "now": MORNING,
        }
    ),
    "stock.import_cells": Call(lambda _: {"lot": LotFactory(), "rows": [stock.CellRow(line=2, code="N1")]}),
    "stock.record_reading": Call(
        lambda _: {"cell": CellFactory(code="R2"), "measure": Measure.CAPACITY, "value": Decimal(2500)}
    ),
    "stock.correct_reading": Call(lambda _: {"reading": reading(), "value": Decimal(2500), "reason": "digits swapped"}),
    "withdrawing.withdraw_reading": Call(lambda _: {"reading": reading(), "reason": "of another cell"}),
    "withdrawing.put_to_cell": Call(lambda _: _moved()),
    "amending.correct_cell_model": Call(
        lambda _: CELL_MODEL | {"cell_model": CellModelFactory(name="Round spare"), "name": "Round 3.1"}
    ),
    "amending.bar_cell_model": Call(lambda _: {"cell_model": CellModelFactory(), "reason": "charge limit wrong"}),
    "amending.allow_cell_model": Call(
        lambda _: {
            "cell_model": CellModelFactory(name="Round barred", barred_at=MORNING, barred_why="charge limit wrong")
        }
    ),
    "amending.correct_lot": Call(lambda _: {"lot": LotFactory(), "received_on": MORNING.date(), "supplier": "Vale"}),
    "amending.correct_instrument": Call(
        lambda _: {
            "instrument": meter(),
            "error_ppm": 500,
            "error_uv": 1000,
            "calibrated_on": MORNING.date(),
        }
    ),
    "people.change_password": Call(lambda _: {"password": "quiet-lathe-42"}),
    "people.reset_password": Call(lambda _: {"person": UserFactory(username="nell"), "password": "quiet-lathe-42"}),
    "people.change_roles": Call(lambda _: {"person": UserFactory(username="nell"), "roles": [Role.COUNTER]}),
    "people.bar_person": Call(lambda _: {"person": UserFactory(username="nell")}),
    "people.let_in": Call(lambda _: {"person": UserFactory(username="nell", is_active=False)}),
    "testers.issue_token": Call(lambda _: {"name": "rack 1", "instrument": meter()}),
    "testers.revoke_token": Call(lambda _: {"token": issued_token()}),
    "workshop.add_person": Call(
        lambda _: {"username": "nell", "password": "a long passphrase", "name": "Nell", "roles": [Role.COUNTER]}
    ),
    "workshop.change_settings": Call(lambda _: {"name": "Lindenhof Cell Works", "jurisdiction": "eu"}),
    "workshop.add_instrument": Call(lambda _: {"name": "bench meter 2", "error_ppm": 500, "error_uv": 1000}),
}

OF_JOBS = [name for name in VERBS if takes(name, "job")]
