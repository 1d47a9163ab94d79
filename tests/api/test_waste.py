"""Waste containers and consignments through the API."""

from packs.terms import Condition, Stage
from shop import models
from shop.selectors import audit
from tests import line
from tests.api.conftest import Caller
from tests.operations.calls import removed


def test_a_container_from_the_first_cell_to_the_confirmation(caller: Caller) -> None:
    job = line.job_at(Stage.REMOVED)
    opened = {"code": "W1", "condition": "damaged", "started_on": "2026-11-20"}
    assert caller.post("containers/", opened, expect=201)["contents"] == "cells"
    codes = [cell.code for cell in removed(job, Condition.DAMAGED)]
    into = {"container": "W1", "cells": codes, "insulated": True, "packed_alone": True, "casings_closed": True}
    caller.post(f"jobs/{job.number}/to-container/", into)
    assert models.InnerPackaging.objects.get().casing_closed
    closing = {"gross_mass_mg": 2_000_000, "secured": True, "lid_vents": True}
    refused = caller.post("containers/W1/closing/", closing, expect=409)
    assert refused["code"] == "packaging_not_approved"
    assert caller.post("containers/W1/closing/", closing | {"approved_packaging": True})["closed_at"]
    assert caller.post("containers/W1/reopening/", {})["closed_at"] is None
    caller.post("containers/W1/closing/", closing | {"approved_packaging": True})
    assert caller.post("containers/W1/label/", {})["code"] == "CL0001"
    names = {"carrier": "Vale Haulage", "receiver": "Vale Recycling", "taken_by": "Per Lund"}
    asked = names | {"containers": ["W1"], "mode": "air"}
    assert caller.post("consignments/", asked, expect=409)["code"] == "impossible_value"
    sent = caller.post("consignments/", asked | {"mode": "road"}, expect=201)
    assert (sent["code"], sent["containers"], sent["confirmed_on"]) == ("C0001", ["W1"], None)
    note = caller.post("consignments/1/note/", {})
    assert (note["code"], note["about"], note["job"]) == ("DN0001", "C0001", None)
    today = models.Consignment.objects.get().left_at.date().isoformat()
    back = caller.post("consignments/1/confirmation/", {"confirmed_on": today, "confirmed_by": "Ola Berg"})
    assert back["confirmed_by"] == "Ola Berg"
    (row,) = caller.get("containers/")["results"]
    assert (row["carrier"], row["consignment"]) == ("Vale Haulage", "C0001")
    assert caller.get("consignments/")["results"] == [back]
    assert list(audit.differences()) == []


def test_something_else_is_set_apart(caller: Caller) -> None:
    job = line.job_at(Stage.REMOVED)
    asked = {"kind": "pack", "description": "second pack", "condition": "damaged", "cells": 10, "basis": "estimated"}
    caller.post(f"jobs/{job.number}/waste-items/", asked)
    item = models.Item.objects.get(kind="pack")
    assert (item.cell_count, item.count_basis, item.place) == (10, "estimated", "outside")
    board = {"kind": "board", "description": "old board", "condition": "intact", "cells": 3, "basis": "known"}
    assert caller.post(f"jobs/{job.number}/waste-items/", board, expect=409)["code"] == "no_cells_inside"
