"""Pages that tell what a cell is worth: dismantling, removed items, the cell's own, and the two that change it."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from packs.terms import Condition, Measure, Place, Role, Stage
from shop import models
from shop.operations import conditions, rebuild
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.web.desk import at, errors, primary, said, send, sign_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def told(answer: Any) -> str:
    return words(answer).replace("\u202f", " ").replace("\u2009", " ")


class TestDismantling:
    """Two cells out: one that rests at 1.999 V (8-1 of a cell specification rejects below 2.0 V), one not measured."""

    @pytest.fixture
    def job(self, technician: Client) -> models.Job:
        job = line.job_at(Stage.DISMANTLE)
        for volts in ("2.000", "1.999", ""):
            typed = {"rest_voltage": volts, "condition": "intact", "count": "1"}
            typed |= {} if volts else {"not_measured": "on"}
            assert send(technician, at(job, Stage.DISMANTLE, "cell/"), **typed).status_code == 302
        return job

    def test_the_limit_stands_beside_the_voltage_and_is_asked(self, job: models.Job, technician: Client) -> None:
        page = technician.get(at(job, Stage.DISMANTLE))
        shown = re.search(r'class="field-limit" id="id_rest_voltage_limit">([^<]*)<', page.content.decode())
        assert shown is not None
        assert shown[1].replace("\u202f", " ") == "2.000 V to 4.250 V to be used again"
        cells = models.Cell.objects.filter(lot__donor_job=job).order_by("code").values_list("condition", flat=True)
        assert list(cells) == ["intact", "damaged", "intact"]

    def test_each_cell_is_told_by_what_it_is_worth(self, job: models.Job, technician: Client) -> None:
        book = told(technician.get(at(job, Stage.DISMANTLE))).partition("In the book")[2]
        assert "J0001-R03 not known not measured J0001-R02 1.999 V rejected J0001-R01 2.000 V intact" in book

    def test_it_says_so_at_once(self, technician: Client) -> None:
        job = line.job_at(Stage.DISMANTLE)
        for volts, words_due in (
            ("0", "Rejected: with this voltage it is not used again"),
            ("", "Not measured: back to stock only"),
        ):
            typed = {"rest_voltage": volts, "condition": "intact", "count": "2"}
            typed |= {"sure": "on"} if volts else {"not_measured": "on"}
            send(technician, at(job, Stage.DISMANTLE, "cell/"), **typed)
            assert words_due in said(technician.get(at(job, Stage.DISMANTLE)))[0]


class TestRemoved:
    @pytest.fixture
    def job(self, technician: Client) -> models.Job:
        """Whole cells at 3.30 V, one at 0.5 V, and one that nobody measured."""
        job = line.job_at(Stage.DISMANTLE)
        for mv, count in ((3300, 6), (500, 1), (None, 1)):
            volts = None if mv is None else Decimal(mv)
            rebuild.record_removed(
                job=job, condition=Condition.INTACT, rest_voltage_mv=volts, count=count, by=line.technician()
            )
        rebuild.finish_dismantling(job=job, by=line.technician())
        models.Job.objects.update(stage=Stage.REMOVED.value)
        first = models.Cell.objects.get(code="J0001-R01")
        by, when = line.technician(), models.Movement.objects.latest("at").at
        first.readings.create(measure=Measure.DC_RESISTANCE.value, value=41_300, measured_at=when, by=by)
        line.containers()
        return job

    def page(self, job: models.Job, technician: Client) -> Any:
        return technician.get(f"/jobs/{job.number}/removed/")

    def test_voltage_and_resistance_stand_beside_the_condition(self, job: models.Job, technician: Client) -> None:
        seen = told(self.page(job, technician))
        assert "J0001-R01 3.300 V 41.3 mΩ intact" in seen
        assert "J0001-R07 0.500 V not known rejected" in seen
        assert "J0001-R08 not known not known not measured" in seen

    def test_only_measured_ones_are_offered_back_to_stock(self, job: models.Job, technician: Client) -> None:
        page = self.page(job, technician)
        ways = {heap.key: [way for way, _ in form.fields["way"].choices] for heap, form in page.context["waiting"]}
        intact, damaged = line.containers()
        assert ways == {
            "damaged": ["", f"container-{damaged.pk}"],
            "intact": ["", f"container-{intact.pk}", "stock"],
            "intact-unmeasured": ["", f"container-{intact.pk}"],
        }
        assert "1 not measured, intact to look at" in told(page)

    def test_one_that_is_measured_on_its_page_joins_the_others(self, job: models.Job, technician: Client) -> None:
        send(technician, "/stock/cells/J0001-R08/", measure="rest_voltage_mv", value="3.29 V")
        page = self.page(job, technician)
        assert "intact-unmeasured" not in page.content.decode()
        typed = {"condition": "intact", "intact-way": "stock", "which": "all"}
        send(technician, f"/jobs/{job.number}/removed/", **typed)
        assert models.Cell.objects.filter(lot__donor_job=job, place=Place.STOCK.value).count() == 7

    def test_what_went_is_told_with_its_voltage(self, job: models.Job, technician: Client) -> None:
        typed = {"condition": "damaged", "damaged-way": f"container-{line.containers()[1].pk}", "which": "all"}
        send(
            technician,
            f"/jobs/{job.number}/removed/",
            **typed,
            **{"damaged-insulated": "on", "damaged-packed_alone": "on"},
        )
        gone = told(self.page(job, technician)).partition("Where they went")[2]
        assert "J0001-R07 0.500 V not known rejected" in gone


class TestCell:
    @pytest.fixture
    def cell(self, technician: Client) -> models.Cell:
        line.containers()
        return CellFactory(code="R1")

    def test_a_condition_is_lowered_with_its_reason_and_the_history_tells_it(
        self, cell: models.Cell, technician: Client
    ) -> None:
        assert "It is worse" in told(technician.get("/stock/cells/R1/"))
        typed = {"condition": "damaged", "reason": "dented at the positive end"}
        assert send(technician, "/stock/condition/R1/", **typed).url == "/stock/cells/R1/"
        page = told(technician.get("/stock/cells/R1/"))
        assert "Intact to damaged or defective dented at the positive end" in page
        assert "free" not in told(technician.get("/stock/?q=R1"))

    def test_only_what_is_worse_is_offered(self, cell: models.Cell, technician: Client) -> None:
        conditions.lower_condition(cell=cell, condition=Condition.DAMAGED, reason="dented", by=line.technician())
        form = technician.get("/stock/condition/R1/").context["form"]
        assert [value for value, _ in form.fields["condition"].choices] == ["reactive"]
        assert set(errors(send(technician, "/stock/condition/R1/", condition="intact", reason="fine"))) == {"condition"}
        assert set(errors(send(technician, "/stock/condition/R1/", condition="reactive"))) == {"reason"}

    def test_into_a_container_from_its_page(self, cell: models.Cell, technician: Client) -> None:
        assert "Put it into a waste container" in told(technician.get("/stock/cells/R1/"))
        intact, damaged = line.containers()
        refused = send(technician, "/stock/discard/R1/", container=intact.pk)
        assert set(errors(refused)) == {"insulated"}
        assert set(errors(send(technician, "/stock/discard/R1/", container=damaged.pk, insulated="on"))) == {
            "container"
        }
        assert send(technician, "/stock/discard/R1/", container=intact.pk, insulated="on").url == "/stock/cells/R1/"
        page = told(technician.get("/stock/cells/R1/"))
        assert "In a waste container W-INTACT" in page
        assert "Put it into a waste container" not in page

    def test_without_a_container_for_it_one_is_opened(self, technician: Client) -> None:
        CellFactory(code="R1")
        answer = technician.get("/stock/discard/R1/")
        assert "No container for what is intact is open." in told(answer)
        assert primary(answer) == ["Open a container"]

    def test_what_may_react_is_handed_to_the_emergency_service(self, cell: models.Cell, technician: Client) -> None:
        conditions.lower_condition(cell=cell, condition=Condition.REACTIVE, reason="hot", by=line.technician())
        assert "Say who took it" in told(technician.get("/stock/cells/R1/"))
        assert "No cell can be worse" in told(technician.get("/stock/condition/R1/"))
        assert send(technician, "/stock/discard/R1/", receiver="Oberau fire brigade").url == "/stock/cells/R1/"
        cell.refresh_from_db()
        assert cell.place == Place.CONSIGNED

    def test_a_cell_that_a_plan_holds_offers_neither(self, technician: Client) -> None:
        line.job_at(Stage.PLACE)
        page = told(technician.get("/stock/cells/S001/"))
        assert "It is worse" not in page
        assert "Put it into a waste container" not in page
        refused = send(technician, "/stock/condition/S001/", condition="damaged", reason="dented")
        assert "Cell S001 is held for position 1.1 of job J0001." in told(refused)

    def test_the_counter_only_looks(self, client: Client) -> None:
        SettingsFactory()
        CellFactory(code="R1")
        sign_in(client, Role.COUNTER)
        assert "It is worse" not in told(client.get("/stock/cells/R1/"))
