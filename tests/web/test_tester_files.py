"""A tester file on the pages of its cell: uploaded, looked at, stated, accepted; and what must not come in."""

import re
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs import traces
from packs.terms import Measure, Role
from shop import models
from shop.operations import cell_testing
from shop.web import uploads
from tests.factories import CellFactory, SettingsFactory
from tests.operations import tester_files
from tests.packs.traces.made import lines, packed, sound
from tests.web.desk import errors, send, sign_in, words

pytestmark = pytest.mark.django_db

FOR_T1 = "/stock/tester-files/for/T1/"
# The names come again in the middle: read, and told for ever.
REPAIRED = lines(lambda each: [*each[:900], each[0], *each[900:]])
# No names at all, decimal commas, current in mA with discharge positive: only a stated layout reads it.
BARE = "".join(
    f"{t:.1f};{-1000 * i:.1f};{v:.4f}\n".replace(".", ",")
    for t, i, v in zip(sound().time, sound().current, sound().voltage, strict=True)
).encode()
WRITTEN = {
    "delimiter": "semicolon",
    "decimal": ",",
    "encoding": "utf-8",
    "lines_before": "0",
    "header_lines": "0",
    "lines_after": "0",
}
COLUMNS = {
    "time_s_column": "1",
    "time_s_unit": "s",
    "current_a_column": "2",
    "current_a_unit": "mA",
    "voltage_v_column": "3",
    "voltage_v_unit": "V",
    "sign": "discharge_positive",
}


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path / "uploads")
    settings.DATA_DIR = tmp_path


@pytest.fixture
def bench(client: Client) -> Client:
    SettingsFactory()
    tester_files.cell()
    sign_in(client, Role.TECHNICIAN)
    return client


def upload(client: Client, content: bytes, name: str = "run 7.csv") -> Any:
    return send(client, FOR_T1, file=SimpleUploadedFile(name, content))


def looked_at(client: Client, content: bytes, **more: str) -> Any:
    return client.get(f"{FOR_T1}?{urlencode({'file': uploads.keep(content), 'name': 'run 7.csv', **more})}")


def accept(client: Client, content: bytes, *measures: Measure) -> Any:
    address = f"{FOR_T1}?{urlencode({'file': uploads.keep(content), 'name': 'run 7.csv'})}"
    return send(client, address, measures=[measure.value for measure in measures])


def of_files() -> list[str]:
    return list(models.Reading.objects.filter(trace__isnull=False).values_list("measure", flat=True))


class TestLook:
    def test_nothing_is_kept_by_looking(self, bench: Client) -> None:
        answer = bench.get(upload(bench, tester_files.CONTENT)["Location"])
        text = words(answer)
        assert "1800, in 5 steps" in text
        assert "Nothing is kept yet." in text
        assert not models.TraceFile.objects.exists()

    def test_figures_stand_with_their_conditions(self, bench: Client) -> None:
        """1 A for 3590 s is 997 mAh: arithmetic; a rated capacity of 1 Ah makes that 100 % in an hour."""
        text = words(looked_at(bench, tester_files.CONTENT))
        assert re.search(r"Capacity 997 mAh from full at 4\.\d+ V , down to 3\.\d+ V , with 1\.000 A", text), text
        assert re.search(r"at 1\.00 C", text)
        assert "Rest voltage" in text

    def test_repairs_and_warnings_stand_in_words(self, bench: Client) -> None:
        text = words(looked_at(bench, REPAIRED))
        assert "The line of column names comes again between the rows" in text

    @pytest.mark.parametrize("curve", ["voltage", "current", "temperature"])
    def test_each_curve_is_an_image_that_cannot_run_anything(self, bench: Client, curve: str) -> None:
        page = looked_at(bench, tester_files.CONTENT).content.decode()
        address = re.search(rf'src="([^"]*/{curve}\.svg[^"]*)"', page)
        assert address
        answer = bench.get(address[1].replace("&amp;", "&"))
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
        assert answer["Content-Security-Policy"].startswith("default-src 'none'")
        assert b"<script" not in answer.content

    def test_a_file_that_waited_too_long_is_asked_for_again(self, bench: Client) -> None:
        assert "upload it again" in words(bench.get(f"{FOR_T1}?file={'0' * 64}"))


class TestAccept:
    def test_chosen_figures_become_readings_and_their_repairs_stay_on_the_cells_page(self, bench: Client) -> None:
        answer = accept(bench, REPAIRED, Measure.CAPACITY, Measure.REST_VOLTAGE)
        assert answer["Location"] == "/stock/cells/T1/#tester-files"
        kept = models.TraceFile.objects.get()
        assert set(kept.readings.values_list("measure", flat=True)) == {"capacity_mah", "rest_voltage_mv"}
        text = words(bench.get("/stock/cells/T1/"))
        # once under each of the two readings, once under the file
        assert text.count("The line of column names comes again between the rows") == 3
        assert "run 7.csv" in text

    def test_a_figure_left_out_can_be_accepted_later_and_only_once(self, bench: Client) -> None:
        accept(bench, tester_files.CONTENT, Measure.REST_VOLTAGE)
        kept = models.TraceFile.objects.get()
        page = f"/stock/tester-files/{kept.pk}/"
        offered = [offer.measure for offer, _ in bench.get(page).context["form"].lines]
        assert Measure.CAPACITY in offered
        assert Measure.REST_VOLTAGE not in offered
        send(bench, page, measures=["capacity_mah"])
        answer = send(bench, page, measures=["capacity_mah"])
        assert "measures" in errors(answer)
        assert kept.readings.filter(measure="capacity_mah").count() == 1

    def test_a_file_can_be_kept_without_a_reading(self, bench: Client) -> None:
        accept(bench, tester_files.CONTENT)
        assert models.TraceFile.objects.count() == 1
        assert not of_files()

    def test_a_file_whose_bytes_are_gone_still_tells_what_was_repaired(self, bench: Client) -> None:
        accept(bench, REPAIRED, Measure.CAPACITY)
        kept = models.TraceFile.objects.get()
        cell_testing.bytes_of(kept.sha256).unlink()
        text = words(bench.get(f"/stock/tester-files/{kept.pk}/"))
        assert "are not in the shop's data folder" in text
        assert "The line of column names comes again" in text

    def test_the_counter_looks_and_does_not_accept(self, bench: Client, client: Client) -> None:
        accept(bench, tester_files.CONTENT)
        kept = models.TraceFile.objects.get()
        sign_in(client, Role.COUNTER)
        assert client.get(FOR_T1).status_code == 403
        page = f"/stock/tester-files/{kept.pk}/"
        assert client.get(page).status_code == 200
        send(client, page, measures=["capacity_mah"])
        assert not of_files()


class TestWrongCell:
    def test_a_file_is_put_to_the_right_cell_and_both_cells_say_so(self, bench: Client) -> None:
        accept(bench, tester_files.CONTENT, Measure.CAPACITY)
        kept = models.TraceFile.objects.get()
        CellFactory(code="T2", lot=kept.cell.lot)
        page = f"/stock/tester-files/{kept.pk}/move/"
        assert "reason" in errors(send(bench, page, cell="T2"))
        assert "There is no cell of this code" in errors(send(bench, page, cell="T9", reason="wrong line"))["cell"][0]
        answer = send(bench, page, cell="T2", reason="wrong line of the list")
        right = bench.get(answer["Location"])
        assert [offer.measure for offer, _ in right.context["form"].lines if offer.measure is Measure.CAPACITY]
        assert "It was kept for cell T1 before: wrong line of the list" in words(right)
        old = words(bench.get("/stock/cells/T1/"))
        assert "put to T2 : wrong line of the list" in old
        assert re.search(r"Withdrawn .* wrong line of the list", old)
        assert not bench.get(f"/stock/tester-files/{kept.pk}/").context["may_add"]

    def test_a_reading_is_withdrawn_on_its_page(self, bench: Client) -> None:
        accept(bench, tester_files.CONTENT, Measure.CAPACITY)
        reading = models.Reading.objects.get(trace__isnull=False)
        page = f"/stock/readings/{reading.pk}/withdraw/"
        assert page in bench.get("/stock/cells/T1/").content.decode()
        assert "reason" in errors(send(bench, page))
        assert send(bench, page, reason="of the cell beside it")["Location"] == "/stock/cells/T1/"
        assert page not in bench.get("/stock/cells/T1/").content.decode()


class TestLayout:
    def test_what_is_proposed_can_be_looked_over(self, bench: Client) -> None:
        name = uploads.keep(tester_files.CONTENT)
        form = bench.get(f"/stock/tester-files/layout/T1/?file={name}").context["form"]
        assert (form["voltage_v_column"].initial, form["voltage_v_unit"].initial) == ("3", "V")

    def test_a_file_without_names_is_refused_until_its_layout_is_stated(self, bench: Client) -> None:
        assert "the columns have no names" in words(looked_at(bench, BARE)).lower()
        page = f"/stock/tester-files/layout/T1/?{urlencode({'file': uploads.keep(BARE), **WRITTEN})}"
        answer = send(bench, page, look="1", **COLUMNS)
        # The first row of the charge: 1 A in, as 1000 mA with the other sign in the file.
        assert answer.context["rows"] == 1800
        assert [float(value) for value in answer.context["values"][0]] == pytest.approx(
            [0.0, -sound().current[0], sound().voltage[0]], abs=1e-3
        )
        assert not models.FileLayout.objects.exists()
        saved = send(bench, page, save="1", name="Rack 2", **COLUMNS)
        assert "layout=Rack+2" in saved["Location"]
        page_of_file = bench.get(saved["Location"])
        capacity = next(o for o in page_of_file.context["understood"].offers if o.measure is Measure.CAPACITY)
        # 1 A from the first row to the last of 360 at 10 s: 3590 s are 997.2 mAh.
        assert float(capacity.value) == pytest.approx(997.2, abs=0.3)

    def test_a_layout_needs_a_name_of_its_own(self, bench: Client) -> None:
        tester_files.layout()
        page = f"/stock/tester-files/layout/T1/?{urlencode({'file': uploads.keep(BARE), **WRITTEN})}"
        assert "name" in errors(send(bench, page, save="1", **COLUMNS))
        assert "name" in errors(send(bench, page, save="1", name="Tester 4", **COLUMNS))
        assert models.FileLayout.objects.count() == 1

    @pytest.mark.parametrize(
        ("changed", "field"),
        [
            ({"voltage_v_column": "2"}, "voltage_v_column"),
            ({"current_a_unit": ""}, "current_a_unit"),
            ({"voltage_v_column": "9"}, "voltage_v_column"),
            ({"voltage_v_column": ""}, "__all__"),
            ({"sign": "sideways"}, "sign"),
        ],
    )
    def test_what_cannot_be_is_said_beside_its_field(self, bench: Client, changed: dict[str, str], field: str) -> None:
        page = f"/stock/tester-files/layout/T1/?{urlencode({'file': uploads.keep(BARE), **WRITTEN})}"
        answer = send(bench, page, save="1", name="Rack 2", **COLUMNS | changed)
        assert field in errors(answer)
        assert not models.FileLayout.objects.exists()


# Headings that say little, below a program of some lines: only a stated layout knows the columns.
PROGRAM = "bench 4\nprogram: 1C\n"
NAMED = (
    PROGRAM
    + "a,b,c,d,e\n"
    + "".join(
        f"{t:.1f},{1000 * i:.1f},{v:.4f},{d:.1f},0\n"
        for t, i, v, d in zip(sound().time, sound().current, sound().voltage, sound().degrees, strict=True)
    )
)
NAMED_COLUMNS = COLUMNS | {"sign": "charge_positive", "temperature_degc_column": "4", "temperature_degc_unit": "°C"}
WRITTEN_NAMED = WRITTEN | {"delimiter": "comma", "decimal": ".", "lines_before": "2", "header_lines": "1"}


def state_layout(client: Client, content: str, **more: str) -> Any:
    page = f"/stock/tester-files/layout/T1/?{urlencode({'file': uploads.keep(content.encode()), **WRITTEN_NAMED})}"
    return send(client, page, **NAMED_COLUMNS | more)


class TestLayoutIsUsedAgain:
    def test_the_next_file_with_the_same_headings_is_read_by_it_wherever_they_stand(self, bench: Client) -> None:
        assert "/layout/" not in state_layout(bench, NAMED, save="1", name="Bench 4")["Location"]
        longer = "one line more\n" + NAMED.replace("0\n", "1\n")
        answer = looked_at(bench, longer.encode())
        assert "Read by the layout Bench 4" in words(answer)
        trace = answer.context["understood"].trace
        assert len(trace) == 1800
        assert trace.has(traces.Role.TEMPERATURE)
        accept(bench, longer.encode(), Measure.CAPACITY)
        kept = models.TraceFile.objects.get()
        assert (kept.layout_name, kept.layout["lines_before"]) == ("Bench 4", 3)

    def test_another_order_of_the_headings_is_another_tester(self, bench: Client) -> None:
        state_layout(bench, NAMED, save="1", name="Bench 4")
        assert cell_testing.layout_of(NAMED.replace("a,b,c,d,e", "b,a,c,d,e").encode()) is None
        assert cell_testing.layout_of(NAMED.encode()) == models.FileLayout.objects.get()

    def test_what_the_file_itself_shows_can_still_be_asked_for(self, bench: Client) -> None:
        layout = tester_files.layout()
        named = cell_testing.add_layout(
            name="Tester 5", facts=layout.facts | {"headings": sound().header.split(",")}, by=layout.by
        )
        assert cell_testing.layout_of(tester_files.CONTENT) == named
        assert looked_at(bench, tester_files.CONTENT).context["by_layout"] == named
        assert looked_at(bench, tester_files.CONTENT, layout="").context["by_layout"] is None

    def test_a_fault_of_the_file_does_not_keep_its_layout_out(self, bench: Client) -> None:
        """The time of the made-up test falls back by an hour in its middle."""
        head, *rows = NAMED.removeprefix(PROGRAM).splitlines()
        back = [f"{float(row.split(',')[0]) - 3600:.1f},{row.partition(',')[2]}" for row in rows[1000:]]
        broken = PROGRAM + "\n".join([head, *rows[:1000], *back]) + "\n"
        tried = state_layout(bench, broken, look="1")
        assert "the layout can be saved for the next one" in errors(tried)["__all__"][0]
        saved = state_layout(bench, broken, save="1", name="Bench 4")
        assert models.FileLayout.objects.get().name == "Bench 4"
        assert "Time runs backwards" in words(bench.get(saved["Location"]))
        assert len(looked_at(bench, NAMED.encode()).context["understood"].trace) == 1800


class TestHostile:
    @pytest.mark.parametrize(
        ("content", "name", "said"),
        [
            (b"\x89PNG\r\n\x1a\n" + bytes(64), "photo.csv", "neither text nor a table"),
            (b"%PDF-1.7\n" + bytes(64), "run.csv", "neither text nor a table"),
            (b"<html><script>alert(1)</script></html>", "<script>.csv", "No table of numbers"),
            (packed(tester_files.CONTENT)[:500], "run.csv.gz", "damaged or cut off"),
            (b"PK\x03\x04" + bytes(400), "run.xlsx", "not a workbook"),
        ],
    )
    def test_what_is_no_tester_file_is_refused_in_words(
        self, bench: Client, content: bytes, name: str, said: str
    ) -> None:
        answer = bench.get(upload(bench, content, name)["Location"])
        assert answer.status_code == 200
        assert said in words(answer)
        assert b"<script>" not in answer.content
        assert not models.TraceFile.objects.exists()

    def test_an_empty_file(self, bench: Client) -> None:
        assert errors(upload(bench, b"")) == {"file": ["This file is empty."]}

    def test_no_file(self, bench: Client) -> None:
        assert errors(send(bench, FOR_T1)) == {"file": ["Choose a file."]}

    def test_two_hundred_megabytes_are_turned_away_before_they_are_read(self, bench: Client) -> None:
        claimed = str(200 * 1024**2)
        answer = bench.post(FOR_T1, {"file": SimpleUploadedFile("run.csv", b"1,2")}, CONTENT_LENGTH=claimed)
        assert answer.status_code == 413
        assert "It has 200 MB; up to 64 MB come in" in words(answer)

    def test_a_file_just_too_large(self, bench: Client, settings: LazySettings) -> None:
        settings.LARGEST_UPLOAD = 1000
        assert "Pack this one" in errors(upload(bench, tester_files.CONTENT))["file"][0]

    def test_a_packed_file_that_swells_is_refused(self, bench: Client) -> None:
        """600 MB of zeros pack into 600 kB."""
        bomb = packed(bytes(600 * 1024**2))
        assert "unpacks to more than is read" in words(looked_at(bench, bomb))

    def test_the_same_file_again_leads_to_where_it_is_kept(self, bench: Client) -> None:
        accept(bench, tester_files.CONTENT, Measure.CAPACITY)
        kept = models.TraceFile.objects.get()
        CellFactory(code="T2")
        for code, leads_to in (("T1", ""), ("T2", "move/?to=T2")):
            answer = send(
                bench, f"/stock/tester-files/for/{code}/", file=SimpleUploadedFile("b.csv", tester_files.CONTENT)
            )
            assert answer["Location"] == f"/stock/tester-files/{kept.pk}/{leads_to}"
        assert models.TraceFile.objects.count() == 1
        assert len(of_files()) == 1
