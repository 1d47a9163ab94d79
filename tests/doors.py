"""Every operation by its two doors: the form a page sends, and the JSON the API takes, made from the same arguments."""

import dataclasses
import uuid
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.core import signing
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db.models import Model
from django.test import Client
from django.urls import reverse
from rest_framework.test import APIClient

from packs.terms import Stage, Term
from shop import models
from shop.bridge.grading import BOUNDS
from shop.bridge.rules import HOUSING_RULES
from shop.web import uploads
from shop.web.forms.match import AcceptForm
from shop.web.forms.replacing import SALT
from shop.web.forms.sharing import signed_packs
from tests import line
from tests.operations import tester_files
from tests.web.test_importing import choice

Arguments = dict[str, Any]


class Way(NamedTuple):
    """An address, what is sent to it, and which answers say that it was done."""

    address: str
    sent: Arguments
    done: tuple[int, ...] = (302,)


class Api(NamedTuple):
    """The name of an address of the API, and how it is asked."""

    name: str
    way: Callable[[Arguments], Way]


class Doors(NamedTuple):
    """How an operation is asked for by its page and by the API; None where a door does not have it."""

    page: Callable[[Client, Arguments], Way]
    api: Api | None


# --- the page


def of_job(more: str, form: Callable[[Arguments], Arguments]) -> Callable[[Client, Arguments], Way]:
    return lambda _, given: Way(f"/jobs/{given['job'].number}/{more}", form(given))


def step(stage: Stage, form: Callable[[Arguments], Arguments], more: str = "") -> Callable[[Client, Arguments], Way]:
    return of_job(f"steps/{stage.value}/{more}", form)


def plain(address: str, *names: str, **more: Any) -> Callable[[Client, Arguments], Way]:
    return lambda _, given: Way(address, {name: field(given[name]) for name in names} | more)


def waiting(page: str, given: Arguments, content: bytes = tester_files.CONTENT) -> str:
    """The address of a page of a tester file that was uploaded and waits to be kept."""
    code = given["cell"].code if "cell" in given else tester_files.cell().code
    return f"/stock/tester-files/{page}/{code}/?{urlencode({'file': uploads.keep(content), 'name': 'run 7.csv'})}"


def tester_file(given: Arguments) -> Way:
    file = SimpleUploadedFile(given["name"], given["content"])
    return Way(reverse("api-tester-files", args=[given["cell"].code]), {"file": file}, (201,))


def sent(given: Arguments) -> SimpleUploadedFile:
    """The photograph as a telephone sends it; what was kept of it comes in as well."""
    return SimpleUploadedFile("IMG_0001.jpg", given["picture"].content, content_type="image/jpeg")


def bench(name: str, given: Arguments, *words: str, **more: Any) -> Way:
    """What the API is sent of a cell at the test bench."""
    return Way(reverse(name), {word: given[word] for word in words} | {"cell": given["cell"].code} | more, (201,))


def prepared(given: Arguments) -> Arguments:
    """What was done to cells, as text."""
    return {name: value for name, value in given.items() if name not in ("cells", "by")}


def stated_layout(client: Client, given: Arguments) -> Way:
    """What the page proposes for the file, sent under a name."""
    address = waiting("layout", given)
    shown = client.get(address)
    form = shown.context["form"] if shown.status_code == 200 else None
    stated = {name: form[name].value() for name in form.fields} if form else {}
    return Way(address, {k: v for k, v in stated.items() if v is not None} | {"save": "1", "name": given["name"]})


def person(do: str, *names: str) -> Callable[[Client, Arguments], Way]:
    """What the owner does on the page of a person."""
    return lambda _, given: Way(
        f"/settings/people/{given['person'].pk}/", {"do": do} | {name: given[name] for name in names}
    )


def own_password(client: Client, given: Arguments) -> Way:
    """Whoever is signed in gets a password first, since people of the tests have none."""
    user = models.User.objects.get(pk=client.session["_auth_user_id"])
    user.set_password("the one until now")
    user.save()
    client.force_login(user)
    new = given["password"]
    return Way("/password/", {"old": "the one until now", "password": new, "again": new})


def field(value: Any) -> Any:
    return value.pk if isinstance(value, Model) else str(value)


def signed(given: Arguments) -> Arguments:
    plan = given["job"].plans.get(state="stated")
    return {"groups": AcceptForm.signed(plan, [tuple(group) for group in given["groups"]], Decimal(0))}


def shared(given: Arguments) -> str:
    return signed_packs([(pack.job, pack.job.plans.latest("pk"), pack.groups, None) for pack in given["packs"]])


def changed(given: Arguments) -> Arguments:
    plan = given["job"].plans.exclude(state="abandoned").first()
    shown = {"plan": [plan.pk, plan.version] if plan else [0, 0], "code": given["code"], "goes_in": given["goes_in"]}
    return {"change": signing.dumps(shown, salt=SALT), "reason": given["reason"], "condition": given["condition"].value}


def removed(way: Callable[[Arguments], str]) -> Callable[[Client, Arguments], Way]:
    def form(given: Arguments) -> Arguments:
        condition = given["cells"][0].condition
        typed = {"condition": condition, f"{condition}-way": way(given), "which": "all"}
        return typed | {f"{condition}-insulated": "on", f"{condition}-packed_alone": "on"}

    return of_job("removed/", form)


def emergency(_: Client, given: Arguments) -> Way:
    kind = "cell" if isinstance(given["thing"], models.Cell) else "item"
    address = f"/jobs/{given['job'].number}/removed/{kind}/{given['thing'].pk}/"
    return Way(address, {"receiver": given["receiver"]})


def table(client: Client, given: Arguments) -> Way:
    """Upload the table, look at it, and return the import of just that."""
    file = SimpleUploadedFile("cells.csv", ("code\n" + "\n".join(row.code for row in given["rows"])).encode())
    sent = client.post("/stock/import/", {"form_token": str(uuid.uuid4()), "table": file})
    if sent.status_code != 302:
        return Way("/stock/import/", {})
    typed = choice(given["lot"])
    looked = client.post(sent["Location"], typed)
    return Way(sent["Location"], typed | {"looked_at": looked.context["preview"].sign, "import": "1"})


TARGET = {
    "arrangement": "4s2p",
    "continuous_current_ma": "6 A",
    "charger_voltage_mv": "16.8 V",
    "joint_method": "spot_weld",
    "strip_material": "nickel_200",
    "strip_thickness_um": "0.15",
    "strip_width_um": "8",
}
CELL_MODEL = {
    "name": "Round 3.0",
    "chemistry": "nmc",
    "cell_format": "round",
    "terminals": "opposite_ends",
    "rated_capacity_mah": "3000",
    "nominal_voltage_mv": "3.6",
    "charge_limit_mv": "4.2",
    "end_of_discharge_mv": "2.5",
}
TAKE_IN = {
    "kind": "rebuild",
    "looked": "on",
    "customer_name": "Otto Brand",
    "model": "Garden pump GP-3",
    "device_class": "tool",
    "removed_owner": "shop",
}
STRIPS = {"weld": line.WELD_KEY, "second_look": "on", "second_look_by": "Jon Adler"} | {
    f"{name}_{number}": text
    for number in range(1, 6)
    for name, text in (("done", "on"), ("spots", "4"), ("failed", "0"))
}
BOARD = {"suits": "on", "overcharge_trip": "4.225", "undervoltage_trip": "3.0"}
CHARGE = {
    "supervised_by": "Technician",
    "charger_voltage": "16.79",
    **{f"minutes_{n}": f"{30 * (n - 1)}" for n in range(1, 4)},
    **{f"pack_{n}": "15.2" for n in range(1, 4)},
    **{f"current_{n}": "1" for n in range(1, 4)},
    **{f"hottest_{n}": "24" for n in range(1, 4)},
    **{f"mid-charge_group_{n}": "3.9" for n in range(1, 5)},
    **{f"group_{n}": "4.18" for n in range(1, 5)},
}
FINAL = {
    "conditions": line.AS_THE_CELLS,
    "capacity": "5080",
    "pack_rest": "16.56",
    "final.board_cutoff": "on",
    "held_hours": "24",
    "load_current": "5",
    "load_pack": "16.06",
    "load_joint": "1 mV",
    "load_hottest": "31",
    **{f"held_{n}": "4.136" for n in range(1, 5)},
    **{f"group_{n}": "4.14" for n in range(1, 5)},
}
PRICES = {
    "consumables": "0",
    "strip_metre": "0",
    "wire_metre": "0",
    "waste_fee": "0",
    "examination_fee": "25",
    "valid_days": "14",
}
SETTINGS = {
    "name": "Lindenhof Cell Works",
    "emergency_number": "112",
    "jurisdiction": "eu",
    "currency": "EUR",
    "time_zone": "UTC",
    "paper": "A4",
    "number_locale": "en",
}


def examined(given: Arguments) -> Arguments:
    return {"arrangement": "4s2p", "cell_model": given["cell_model"].pk, "joint_method": "spot_weld"}


def probed(given: Arguments) -> Arguments:
    pairs = ",".join(f"{probe.low}~{probe.high}" for probe in given["probes"])
    values = {f"value_{n}": f"{probe.value_mv / 1000}" for n, probe in enumerate(given["probes"])}
    return {"set_up": f"{given['circumstance'].value}:{pairs}"} | values


def offered(given: Arguments) -> Arguments:
    offer = given["offer"]
    names = ("cell_cost", "labour_minutes", "test_minutes", "life_years", "stays")
    typed = {name: str(getattr(offer, name)) for name in names}
    return typed | {"arrangement": "4s2p", "cell_model": offer.cell_model.pk, "removed": offer.removed.value}


def parked(given: Arguments) -> Arguments:
    typed = {name: given[name] for name in ("place", "supervised_by") if name in given}
    ticks = {name: "on" for name in ("insulated", "supply_off") if given.get(name)}
    return typed | ticks | {f"group_{n}": f"{mv / 1000}" for n, mv in enumerate(given.get("groups_mv", ()), 1)}


def rest_voltages(given: Arguments) -> Arguments:
    return {f"v_{name.replace('.', '_')}": f"{mv / 1000}" for name, mv in given["rest_voltages_mv"].items()}


# --- the API


def as_json(value: Any) -> Any:
    """Return an argument of an operation as the API takes it."""
    if isinstance(value, Term):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Model):
        return next((getattr(value, name) for name in ("code", "name") if hasattr(value, name)), value.pk)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return as_json(vars(value))
    if isinstance(value, dict):
        return {str(key): as_json(one) for key, one in value.items() if one is not None}
    return [as_json(one) for one in value] if isinstance(value, (list, tuple)) else value


def job_json(verb: str, *, flat: str = "") -> Api:
    def way(given: Arguments) -> Way:
        body = as_json({name: value for name, value in given.items() if name not in ("job", "thing")})
        if flat:
            body |= body.pop(flat)
        if "thing" in given:
            body["cell" if isinstance(given["thing"], models.Cell) else "item"] = as_json(given["thing"])
        return Way(reverse(f"job-{verb}", args=[given["job"].number]), body, (200,))

    return Api(f"job-{verb}", way)


def with_job(given: Arguments) -> Arguments:
    """Arguments as JSON with the number of their job, where they have one."""
    job = given.get("job")
    return as_json(
        {name: value for name, value in given.items() if name != "job"} | ({"job": job.number} if job else {})
    )


def json_to(name: str, *left_out: str) -> Api:
    def way(given: Arguments) -> Way:
        return Way(reverse(name), as_json({key: value for key, value in given.items() if key not in left_out}), (201,))

    return Api(name, way)


def of_cell(name: str, status: int) -> Api:
    def way(given: Arguments) -> Way:
        body = as_json({key: value for key, value in given.items() if key != "cell"})
        return Way(reverse(f"api-{name}", args=[given["cell"].code]), body, (status,))

    return Api(f"api-{name}", way)


def rows(given: Arguments) -> Way:
    body = {"lot": given["lot"].code, "rows": [{"code": row.code, "readings": {}} for row in given["rows"]]}
    return Way(reverse("api-cells-import"), body, (201,))


def correction(given: Arguments) -> Way:
    body = {"value": str(given["value"]), "reason": given["reason"]}
    return Way(reverse("api-correction", args=[given["reading"].pk]), body, (201,))


def withdrawal(given: Arguments) -> Way:
    return Way(reverse("api-withdrawal", args=[given["reading"].pk]), {"reason": given["reason"]}, (201,))


def returned(given: Arguments) -> Way:
    body = as_json({name: value for name, value in given.items() if name != "returned"})
    return Way(reverse("api-returns", args=[given["returned"].number]), body, (201,))


def of_container(name: str, *names: str) -> Api:
    """An address of one container, and what is sent to it."""
    return Api(
        name, lambda given: Way(reverse(name, args=[given["container"].code]), {n: given[n] for n in names}, (200,))
    )


def of_paper(what: str) -> Doors:
    """What is done to a paper, with a reason."""
    body = ("reason",)
    return Doors(
        lambda _, given: Way(f"/documents/{given['document'].code}/{what}/", {name: given[name] for name in body}),
        Api(
            f"api-{what}",
            lambda given: Way(
                reverse(f"api-{what}", args=[given["document"].code]), {name: given[name] for name in body}, (200,)
            ),
        ),
    )


def consignment(given: Arguments) -> Way:
    body = {name: given[name] for name in ("carrier", "receiver", "taken_by")}
    codes = [container.code for container in given["containers"]]
    return Way(reverse("api-consignments"), body | {"containers": codes}, (201,))


def confirmation(given: Arguments) -> Way:
    body = {"confirmed_on": given["confirmed_on"].isoformat(), "confirmed_by": given["confirmed_by"]}
    return Way(reverse("api-confirmation", args=[given["consignment"].number]), body, (200,))


def consigned(given: Arguments) -> Arguments:
    names = {name: given[name] for name in ("carrier", "receiver", "taken_by")}
    return names | {"handed_over_by": "Jon Adler", "mode": "road"}


CLOSED = {"gross_mass_mg": "2 kg", "secured": "on", "lid_vents": "on", "approved_packaging": "on"}
CLOSING = ("gross_mass_mg", "secured", "lid_vents", "approved_packaging")


# --- every operation

DOORS: dict[str, Doors] = {
    "intake.take_in": Doors(plain("/jobs/new/", **TAKE_IN), json_to("api-jobs")),
    "returns.take_in_return": Doors(
        lambda _, given: Way(
            f"/jobs/{given['returned'].number}/return/",
            {"looked": "on", "complaint": given["complaint"], "removed_owner": "shop"},
        ),
        Api("api-returns", returned),
    ),
    "for_stock.build_for_stock": Doors(
        plain("/jobs/new/for-stock/", "model", "device_class"), json_to("api-jobs-for-stock")
    ),
    "for_stock.into_stock": Doors(of_job("into-stock/", lambda _: {}), job_json("into-stock")),
    "giving_up.give_up": Doors(of_job("give-up/", lambda given: {"reason": given["reason"]}), job_json("give-up")),
    "health.record_pack_test": Doors(step(Stage.TEST_PACK, lambda _: {"pack_rest": "13.2"}), job_json("pack-test")),
    "intake.condemn": Doors(
        of_job("findings/", lambda given: {"findings": given["findings"], "condemn": "1"}), job_json("condemn")
    ),
    "intake.clear_amber": Doors(of_job("findings/", lambda given: {"findings": given["findings"]}), job_json("clear")),
    "completing.complete_intake": Doors(
        of_job(
            "complete/",
            lambda given: {
                "recall_source": given["recall"].source,
                "recall_checked_on": given["recall"].checked_on.isoformat(),
                "recall_result": given["recall"].result,
            },
        ),
        job_json("complete-intake"),
    ),
    "intake.report_danger": Doors(of_job("danger/", lambda _: {"signs": ["swelling"]}), job_json("report-danger")),
    "intake.decline": Doors(of_job("decline/", lambda given: {"reason": given["reason"]}), job_json("decline")),
    "examination.examine": Doors(of_job("examine/", examined), job_json("examine")),
    "details.describe": Doors(
        of_job("examine/details/", lambda _: {"opens": "screws", "sealing": "unknown", "metal": "yes"}),
        job_json("pack-details", flat="details"),
    ),
    "photographs.keep_photograph": Doors(
        of_job(
            "photographs/",
            lambda given: {"photographs": sent(given), "shows": given["shows"], "stage": given["job"].stage},
        ),
        Api(
            "api-photographs",
            lambda given: Way(
                reverse("api-photographs", args=[given["job"].number]),
                {"file": sent(given), "shows": given["shows"]},
                (201,),
            ),
        ),
    ),
    "photographs.withdraw_photograph": Doors(
        lambda _, given: Way(
            f"/jobs/{given['job'].number}/photographs/{given['photograph'].pk}/withdraw/", {"reason": given["reason"]}
        ),
        job_json("withdraw-photograph"),
    ),
    "fault_finding.state_pack": Doors(
        of_job(
            "faults/pack/", lambda _: {"series": "4", "chemistry": "nmc", "switch": "unknown", "examined_as": "unused"}
        ),
        job_json("fault-pack", flat="pack"),
    ),
    "fault_finding.record_probes": Doors(of_job("faults/", probed), job_json("probes")),
    "fault_finding.take_back_probe": Doors(
        lambda _, given: Way(
            f"/jobs/{given['job'].number}/faults/{given['probe'].pk}/take-back/", {"reason": given["reason"]}
        ),
        job_json("take-back-probe"),
    ),
    "fault_finding.search_anew": Doors(
        of_job("faults/anew/", lambda given: {"repaired": given["repaired"]}), job_json("search-anew")
    ),
    "pack_notes.write_notes": Doors(
        of_job("pack-notes/", lambda given: {"opens": given["learnt"].opens.value, "usual_fault": "weak group 3"}),
        job_json("pack-notes", flat="learnt"),
    ),
    "pack_notes.note_time": Doors(
        of_job("labour-time/", lambda given: {"minutes": str(given["minutes"])}), job_json("labour-time")
    ),
    "quoting.change_prices": Doors(
        plain("/settings/prices/", "labour_rate", "margin_percent", "tax_percent", **PRICES), None
    ),
    "quoting.issue_quote": Doors(of_job("quote/", offered), job_json("quote", flat="offer")),
    "quoting.approve_quote": Doors(
        of_job("quote/answer/", lambda given: {"name": given["name"], "heard": "signed", "answer": "approved"}),
        job_json("approve-quote"),
    ),
    "quoting.decline_quote": Doors(
        of_job("quote/answer/", lambda given: {"name": given["name"], "heard": "signed", "answer": "declined"}),
        job_json("decline-quote"),
    ),
    "planning.state_target": Doors(
        of_job("target/", lambda given: TARGET | {"cell_model": given["target"].cell_model.pk}),
        job_json("target", flat="target"),
    ),
    "planning.accept": Doors(of_job("match/", signed), job_json("accept")),
    "planning.accept_together": Doors(lambda _, given: Way("/match/together/", {"packs": shared(given)}), None),
    "tasks.search_longer": Doors(
        of_job("match/search/", lambda given: {"seconds": str(given["asked"]["seconds"])}), None
    ),
    "tasks.stop": Doors(lambda _, given: Way(f"/jobs/{given['task'].job.number}/match/search/", {}), None),
    "planning.release": Doors(of_job("release/", lambda given: {"reason": given["reason"]}), job_json("release")),
    "exceptions.write_exception": Doors(
        of_job("exceptions/", lambda given: {name: given[name] for name in ("rule_id", "reason")}),
        job_json("write-exception"),
    ),
    "exceptions.withdraw_exception": Doors(
        lambda _, given: Way(
            f"/jobs/{given['job'].number}/exceptions/{given['exception'].pk}/withdraw/", {"reason": given["reason"]}
        ),
        job_json("withdraw-exception"),
    ),
    "limits.set_limit": Doors(
        lambda _, given: Way(
            f"/settings/limits/{given['rule_id']}/",
            {"value": f"{given['value']} mV", "reason": given["reason"]},
        ),
        json_to("api-limits"),
    ),
    "goods_in.check_lot": Doors(
        lambda _, given: Way(
            f"/stock/goods-in/{given['lot'].code}/",
            {"invoice": given["invoice"], "mass_mg": f"{given['mass_mg'] / 1000} g"},
        ),
        Api(
            "api-goods-in",
            lambda given: Way(
                reverse("api-goods-in", args=[given["lot"].code]),
                {name: given[name] for name in ("invoice", "mass_mg")},
                (201,),
            ),
        ),
    ),
    "many_files.read_files": Doors(
        lambda _, given: Way(
            "/stock/bench/tester-files/", {"sent": SimpleUploadedFile(given["sent"][0].name, given["sent"][0].content)}
        ),
        Api(
            "api-many-files",
            lambda given: Way(
                reverse("api-many-files"),
                {"file": [SimpleUploadedFile(one.name, one.content) for one in given["sent"]]},
                (201,),
            ),
        ),
    ),
    "channels.add_channel": Doors(
        plain("/stock/bench/channels/new/", "instrument", "name", check_every_d="7"),
        Api(
            "api-channels",
            lambda given: Way(
                reverse("api-channels"), {"instrument": given["instrument"].name, "name": given["name"]}, (201,)
            ),
        ),
    ),
    "channels.keep_check_cell": Doors(
        lambda _, given: Way(
            "/stock/bench/check-cells/new/",
            {"code": given["cell"].code, "capacity_mah": "2500 mAh", "conditions": given["conditions"]},
        ),
        Api("api-check-cells", lambda given: bench("api-check-cells", given, "conditions", capacity_mah="2500")),
    ),
    "channels.read_check_cell": Doors(
        lambda _, given: Way(
            f"/stock/bench/channels/{given['channel'].pk}/check/",
            {"code": given["cell"].code, "capacity_mah": "2490 mAh"},
        ),
        Api(
            "api-check-readings",
            lambda given: bench("api-check-readings", given, capacity_mah="2490", channel=given["channel"].pk),
        ),
    ),
    "channels.queue_cells": Doors(
        lambda _, given: Way("/stock/bench/queue/", {"codes": given["cells"][0].code}),
        Api("api-queue", lambda given: Way(reverse("api-queue"), {"cells": [given["cells"][0].code]}, (201,))),
    ),
    "channels.begin_run": Doors(
        lambda _, given: Way(
            f"/stock/bench/runs/{given['run'].pk}/begin/", {"channel": given["channel"].pk, "hours": "9 h"}
        ),
        Api(
            "api-begin-run",
            lambda given: Way(
                reverse("api-begin-run"),
                {"run": given["run"].pk, "channel": given["channel"].pk, "hours": "9"},
                (201,),
            ),
        ),
    ),
    "channels.end_run": Doors(
        lambda _, given: Way(f"/stock/bench/runs/{given['run'].pk}/end/", {"state": given["state"].value}),
        Api(
            "api-end-run",
            lambda given: Way(reverse("api-end-run"), {"run": given["run"].pk, "state": given["state"].value}, (201,)),
        ),
    ),
    "channels.promise": Doors(
        of_job("promise/", lambda given: {"promised_on": given["promised_on"].isoformat()}), job_json("promise")
    ),
    "preparing.prepare_cells": Doors(
        lambda _, given: Way("/stock/prepare/", prepared(given) | {"codes": given["cells"][0].code}),
        Api(
            "api-cells-prepare",
            lambda given: Way(
                reverse("api-cells-prepare"), prepared(given) | {"cells": [given["cells"][0].code]}, (201,)
            ),
        ),
    ),
    "histories.state_history": Doors(
        lambda _, given: Way(
            f"/stock/histories/{given['lot'].code}/", {name: given[name] for name in ("donor_pack", "cycle_count")}
        ),
        Api(
            "api-lot-history",
            lambda given: Way(
                reverse("api-lot-history", args=[given["lot"].code]),
                {name: given[name] for name in ("donor_pack", "cycle_count")},
                (201,),
            ),
        ),
    ),
    "histories.sign_lot": Doors(
        lambda _, given: Way(
            f"/stock/histories/{given['lot'].code}/sign/",
            {"device_classes": [one.value for one in given["device_classes"]], "reason": given["reason"]},
        ),
        Api(
            "api-lot-signature",
            lambda given: Way(
                reverse("api-lot-signature", args=[given["lot"].code]),
                {"device_classes": [one.value for one in given["device_classes"]], "reason": given["reason"]},
                (201,),
            ),
        ),
    ),
    "histories.state_order": Doors(
        of_job(
            "facility-order/",
            lambda given: {name: given[name] for name in ("facility", "reference", "ordered_cells")},
        ),
        job_json("facility-order"),
    ),
    "goods_in.release_lot": Doors(
        lambda _, given: Way(f"/stock/goods-in/{given['lot'].code}/release/", {"reason": given["reason"]}),
        Api(
            "api-release-lot",
            lambda given: Way(
                reverse("api-release-lot", args=[given["lot"].code]), {"reason": given["reason"]}, (201,)
            ),
        ),
    ),
    "grading.set_criteria": Doors(
        lambda _, given: Way(
            "/settings/criteria/",
            {name: BOUNDS[name][1].shown(value) for name, value in given["values"].items()}
            | {"reason": given["reason"]},
        ),
        json_to("api-criteria"),
    ),
    "grading.state_new_cell": Doors(
        lambda _, given: Way(
            f"/stock/models/{given['cell_model'].pk}/new-cell/",
            {
                "dc_resistance_uohm": f"{given['dc_resistance_uohm']} µΩ",
                "method": given["method"],
                "temperature_mdegc": f"{given['temperature_mdegc'] / 1000} °C",
                "protection": "unknown",
                "source": given["source"],
            },
        ),
        json_to("api-new-cells"),
    ),
    "opening_pack.prepare_dismantling": Doors(
        step(
            Stage.DISMANTLE,
            lambda given: {f"group_{n}": f"{mv / 1000}" for n, mv in enumerate(given["groups_mv"], 1)},
            "before/",
        ),
        job_json("prepare-dismantling"),
    ),
    "incidents.report_incident": Doors(
        of_job("incident/", lambda given: {"kind": given["kind"].value, "happened": given["happened"]}),
        Api("api-incidents", lambda given: Way(reverse("api-incidents"), with_job(given), (201,))),
    ),
    "incidents.release_incident": Doors(
        lambda _, given: Way(f"/incidents/{given['incident'].pk}/release/", {"findings": given["findings"]}),
        Api(
            "api-incident-release",
            lambda given: Way(
                reverse("api-incident-release", args=[given["incident"].pk]), {"findings": given["findings"]}, (201,)
            ),
        ),
    ),
    "incidents.write_emergency_text": Doors(plain("/emergency/", "text"), json_to("api-emergency-text")),
    "areas.set_area_limit": Doors(
        lambda _, given: Way(
            f"/settings/places/{given['area'].value}/",
            {"energy_mwh": f"{given['energy_mwh'] / 1_000_000} kWh", "said_by": given["said_by"]},
        ),
        json_to("api-places"),
    ),
    "breached.replace_breached": Doors(
        of_job(
            "breached/",
            lambda given: {name: given[name] for name in ("code", "instead", "happened")} | {"isolated": "on"},
        ),
        job_json("breached-cell"),
    ),
    "replacing.replace_cell": Doors(of_job("replace/", changed), job_json("replace-cell")),
    "parking.park": Doors(of_job("park/", parked), job_json("park")),
    "parking.resume": Doors(of_job("resume/", parked), job_json("resume")),
    "rebuild.record_removed": Doors(
        step(Stage.DISMANTLE, lambda _: {"condition": "intact", "count": "1", "rest_voltage": "3.3"}, "cell/"),
        job_json("removed-cells"),
    ),
    "rebuild.finish_dismantling": Doors(step(Stage.DISMANTLE, lambda _: {}), job_json("finish-dismantling")),
    "rebuild.place_cell": Doors(
        step(Stage.PLACE, lambda given: {"code": given["code"]}, "cell/"), job_json("place-cell")
    ),
    "rebuild.measure_before_joining": Doors(step(Stage.MEASURE, rest_voltages), job_json("rest-voltages")),
    "welding.record_samples": Doors(
        step(
            Stage.JOIN,
            lambda given: (
                {name: str(value) for name, value in vars(given["weld"]).items()}
                | {end.value: peeled.value for end, peeled in given["peeled"].items()}
                | {"specimen": given["specimen"].value}
            ),
            "peel-samples/",
        ),
        job_json("peel-samples"),
    ),
    "rebuild.join": Doors(step(Stage.JOIN, lambda _: STRIPS), job_json("join")),
    "rebuild.check_taps": Doors(
        step(
            Stage.LADDER, lambda given: {f"tap_{n}": f"{mv / 1000}" for n, mv in enumerate(given["taps_mv"], 1)} | BOARD
        ),
        job_json("taps"),
    ),
    "proving.close_housing": Doors(
        step(Stage.HOUSING, lambda _: dict.fromkeys(HOUSING_RULES, "on")), job_json("housing")
    ),
    "proving.first_charge": Doors(step(Stage.FIRST_CHARGE, lambda _: CHARGE), job_json("first-charge")),
    "proving.final_test": Doors(step(Stage.FINAL_TEST, lambda _: FINAL), job_json("final-test")),
    "containers.open_container": Doors(
        plain("/containers/new/", "code", "condition", "started_on"), json_to("api-containers")
    ),
    "disposal.to_stock": Doors(removed(lambda _: "stock"), job_json("to-stock")),
    "disposal.to_customer": Doors(removed(lambda _: "customer"), job_json("to-customer")),
    "disposal.to_container": Doors(
        removed(lambda given: f"container-{given['container'].pk}"), job_json("to-container")
    ),
    "disposal.to_emergency_route": Doors(emergency, job_json("emergency-route")),
    "disposal.discard": Doors(
        lambda _, given: Way(
            f"/stock/discard/{given['cell'].code}/", {"container": given["container"].pk, "insulated": "on"}
        ),
        of_cell("discard", 200),
    ),
    "conditions.lower_condition": Doors(
        lambda _, given: Way(
            f"/stock/condition/{given['cell'].code}/",
            {"condition": given["condition"].value, "reason": given["reason"]},
        ),
        of_cell("conditions", 201),
    ),
    "disposal.finish_removed": Doors(of_job("removed/finish/", lambda _: {}), job_json("finish-removed")),
    "disposal.add_item": Doors(
        of_job(
            "removed/new/",
            lambda given: {
                "kind": given["kind"].value,
                "description": given["description"],
                "condition": given["condition"].value,
                "basis": "unknown",
            },
        ),
        job_json("waste-items"),
    ),
    "containers.close_container": Doors(
        lambda _, given: Way(f"/containers/{given['container'].code}/", CLOSED), of_container("api-closing", *CLOSING)
    ),
    "containers.reopen_container": Doors(
        lambda _, given: Way(f"/waste/containers/{given['container'].pk}/reopen/", {}), of_container("api-reopening")
    ),
    "consignments.consign": Doors(
        lambda _, given: Way(f"/containers/{given['containers'][0].code}/", consigned(given)),
        Api("api-consignments", consignment),
    ),
    "consignments.confirm_consignment": Doors(
        lambda _, given: Way(
            f"/consignments/{given['consignment'].number}/",
            {"confirmed_on": given["confirmed_on"].isoformat(), "confirmed_by": given["confirmed_by"]},
        ),
        Api("api-confirmation", confirmation),
    ),
    "documents.issue_label": Doors(
        lambda _, given: Way(f"/waste/containers/{given['container'].pk}/label/", {}), of_container("api-label")
    ),
    "documents.issue_consignment_note": Doors(
        lambda _, given: Way(f"/consignments/{given['consignment'].number}/note/", {}),
        Api(
            "api-consignment-note",
            lambda given: Way(reverse("api-consignment-note", args=[given["consignment"].number]), {}, (200,)),
        ),
    ),
    "closeout.hand_over": Doors(
        of_job("hand-over/", lambda given: {"received_by": given["received_by"]}), job_json("hand-over")
    ),
    "documents.issue": Doors(
        lambda _, given: Way(f"/jobs/{given['job'].number}/issue/{given['kind']}/", {}), job_json("documents")
    ),
    "voiding.reissue": of_paper("reissue"),
    "voiding.void": of_paper("void"),
    "documents.keep_bytes": Doors(lambda _, given: Way(f"/documents/{given['document'].code}/", {}), None),
    "stock.add_cell_model": Doors(plain("/stock/models/new/", **CELL_MODEL), json_to("api-cell-models")),
    "stock.add_lot": Doors(
        plain("/stock/lots/new/", "code", "cell_model", "origin", "received_on", owner="shop"),
        json_to("api-lots", "now"),
    ),
    "stock.import_cells": Doors(table, Api("api-cells-import", rows)),
    "stock.record_reading": Doors(
        lambda _, given: Way(
            f"/stock/cells/{given['cell'].code}/", {"measure": given["measure"].value, "value": str(given["value"])}
        ),
        json_to("api-readings"),
    ),
    "stock.correct_reading": Doors(
        lambda _, given: Way(
            f"/stock/readings/{given['reading'].pk}/correct/",
            {"value": str(given["value"]), "reason": given["reason"]},
        ),
        Api("api-correction", correction),
    ),
    "withdrawing.withdraw_reading": Doors(
        lambda _, given: Way(f"/stock/readings/{given['reading'].pk}/withdraw/", {"reason": given["reason"]}),
        Api("api-withdrawal", withdrawal),
    ),
    "withdrawing.put_to_cell": Doors(
        lambda _, given: Way(
            f"/stock/tester-files/{given['trace'].pk}/move/", {"cell": given["cell"].code, "reason": given["reason"]}
        ),
        None,
    ),
    "amending.correct_cell_model": Doors(
        lambda _, given: Way(f"/stock/models/{given['cell_model'].pk}/correct/", CELL_MODEL | {"name": given["name"]}),
        None,
    ),
    "amending.bar_cell_model": Doors(
        lambda _, given: Way(f"/stock/models/{given['cell_model'].pk}/", {"reason": given["reason"]}), None
    ),
    "amending.allow_cell_model": Doors(
        lambda _, given: Way(f"/stock/models/{given['cell_model'].pk}/", {"allow": "1"}), None
    ),
    "amending.correct_lot": Doors(
        lambda _, given: Way(
            f"/stock/correct-lot/{given['lot'].pk}/",
            {"received_on": str(given["received_on"]), "supplier": given["supplier"]},
        ),
        None,
    ),
    "amending.correct_instrument": Doors(
        lambda _, given: Way(
            f"/settings/meters/{given['instrument'].pk}/",
            {"error_ppm": "0.05", "error_uv": "1", "calibrated_on": str(given["calibrated_on"])},
        ),
        None,
    ),
    "people.change_password": Doors(own_password, None),
    "people.reset_password": Doors(person("password", "password"), None),
    "people.change_roles": Doors(
        lambda _, given: Way(f"/settings/people/{given['person'].pk}/", {"do": "roles", "roles": ["counter"]}), None
    ),
    "people.bar_person": Doors(person("bar"), None),
    "people.let_in": Doors(person("let_in"), None),
    "testers.issue_token": Doors(
        lambda _, given: Way(
            "/settings/testers/", {"name": given["name"], "instrument": given["instrument"].pk}, (200,)
        ),
        None,
    ),
    "cell_testing.keep_trace": Doors(
        lambda _, given: Way(waiting("for", given), {"measures": []}), Api("api-tester-files", tester_file)
    ),
    "cell_testing.accept_trace": Doors(
        lambda _, given: Way(
            f"/stock/tester-files/{given['trace'].pk}/", {"measures": [one.value for one in given["measures"]]}
        ),
        None,
    ),
    "cell_testing.add_layout": Doors(stated_layout, None),
    "testers.revoke_token": Doors(lambda _, given: Way(f"/settings/testers/{given['token'].pk}/withdraw/", {}), None),
    "workshop.add_person": Doors(
        lambda _, given: Way(
            "/settings/people/",
            {name: given[name] for name in ("username", "password", "name")} | {"roles": ["counter"]},
        ),
        None,
    ),
    "workshop.change_settings": Doors(plain("/settings/", **SETTINGS), None),
    "workshop.add_instrument": Doors(
        plain("/settings/meters/new/", name="bench meter 2", error_ppm="0.05", error_uv="1"), json_to("api-instruments")
    ),
}
"""What the owner settles and leads hand out stays with the pages: no key and no program adds people or keys."""


# --- asking


def by_page(client: Client, name: str, given: Arguments) -> tuple[Way, Any]:
    """Ask for an operation by its page."""
    way = DOORS[name].page(client, given)
    return way, client.post(way.address, {"form_token": str(uuid.uuid4())} | way.sent)


def by_api(client: APIClient, name: str, given: Arguments) -> tuple[Way, Any]:
    """Ask for an operation by the API."""
    door = DOORS[name].api
    assert door is not None
    way = door.way(given)
    kind = "multipart" if "file" in way.sent else "json"
    return way, client.post(way.address, way.sent, format=kind, headers={"Idempotency-Key": uuid.uuid4().hex})
