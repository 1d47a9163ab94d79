"""The import of tested cells: a file, what its columns mean, what will come in, all or nothing."""

import csv
import io
import re
import uuid
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import openpyxl
import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from django.utils.html import strip_tags

from packs.terms import Measure, Role
from packs.units import ureg
from shop import models
from shop.bridge import figures
from shop.bridge import said as said_in_words
from shop.web import uploads
from shop.web.forms.importing import FILTERS, LARGEST_FILE, UNITS
from tests import line
from tests.factories import CellFactory, LotFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db

TABLE = "code;Q [mAh];R [mΩ];OCV [V];m/g\n0012;2540,5;21,4;3,6125;46,1\n1E5;2560;21,9;3,61;\n"


@pytest.fixture(autouse=True)
def kept_apart(settings: LazySettings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def lot() -> models.Lot:
    SettingsFactory()
    return LotFactory(code="P1")


@pytest.fixture
def bench(client: Client, lot: models.Lot) -> Client:
    client.force_login(line.technician())
    return client


def upload(client: Client, content: str | bytes, name: str = "cells.csv") -> str:
    """Upload a table and return the address of the page that asks what its columns mean."""
    data = content.encode() if isinstance(content, str) else content
    answer = client.post("/stock/import/?lot=P1", {"form_token": token(), "table": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, answer.context["form"].errors
    return answer["Location"]


def token() -> str:
    return str(uuid.uuid4())


def choice(lot: models.Lot, **said: Any) -> dict[str, Any]:
    """What the page of columns sends when nothing but the lot and the first column is chosen."""
    nothing = {f"{measure.value}_{part}": "-" for measure in UNITS for part in ("column", "unit")}
    for n in range(FILTERS):
        nothing |= {f"filter{n}_column": "-", f"filter{n}_comparison": "is", f"filter{n}_word": ""}
    given = {"form_token": token(), "lot": lot.pk, "code": "0", "decimal": ",", "cut_at": "", "method": ""}
    return nothing | given | said


ALL = {
    "capacity_mah_column": "1",
    "dc_resistance_uohm_column": "2",
    "rest_voltage_mv_column": "3",
    "mass_mg_column": "4",
    "method": "DC pulse 5 s",
}


def look(client: Client, address: str, said: dict[str, Any]) -> Any:
    answer = client.post(address, said)
    assert answer.status_code == 200
    assert not answer.context["form"].errors, answer.context["form"].errors
    return answer


def import_it(client: Client, address: str, said: dict[str, Any]) -> Any:
    """Look at what will come in, then send the import of just that."""
    sign = look(client, address, said).context["preview"].sign
    return client.post(address, said | {"looked_at": sign, "import": "1", "form_token": token()})


def words(answer: Any) -> str:
    return " ".join(strip_tags(answer.content.decode().replace("<td", " <td").replace("<span", " <span")).split())


class TestUpload:
    def test_the_table_waits_under_its_hash_and_nothing_has_come_in(self, bench: Client) -> None:
        address = upload(bench, TABLE)
        name = parse_qs(urlsplit(address).query)["table"][0]
        assert re.fullmatch("[0-9a-f]{64}", name)
        assert uploads.kept(name) == TABLE.encode()
        page = words(bench.get(address))
        assert "cells.csv: 2 rows, 5 columns" in page
        assert "0012" in page
        assert not models.Cell.objects.exists()

    @pytest.mark.parametrize(
        ("content", "said"),
        [
            (b"PK\x03\x04\x14", "workbook"),
            (b"", "empty"),
            (b"code,q\n", "no table"),
            (b"\x00\x01\x02\n\x03", "not a text file"),
            (b'code,q\n"A1,2\n', "Line 2"),
        ],
    )
    def test_what_is_no_table_is_refused(self, bench: Client, content: bytes, said: str) -> None:
        answer = bench.post("/stock/import/", {"form_token": token(), "table": SimpleUploadedFile("x.csv", content)})
        assert said in " ".join(answer.context["form"].errors["table"])

    def test_a_table_is_no_larger_than_the_page_says(self, bench: Client) -> None:
        content = b"code\n" + b"A\n" * (LARGEST_FILE // 2)
        answer = bench.post("/stock/import/", {"form_token": token(), "table": SimpleUploadedFile("x.csv", content)})
        assert "5 MB" in " ".join(answer.context["form"].errors["table"])

    @pytest.mark.parametrize("name", ["0" * 64, "../../shop.env", "", "ab"])
    def test_a_table_that_is_not_kept_is_asked_for_again(self, bench: Client, name: str) -> None:
        answer = bench.get("/stock/import/", {"table": name})
        assert ("upload it again" in words(answer)) == bool(name)
        assert "Upload the table" in words(answer)

    def test_a_table_waits_a_week(self, bench: Client, monkeypatch: pytest.MonkeyPatch) -> None:
        old = parse_qs(urlsplit(upload(bench, TABLE)).query)["table"][0]
        later = timezone.now() + timedelta(days=7, minutes=1)
        monkeypatch.setattr(timezone, "now", lambda: later)
        uploads.keep(b"code\nA\n")
        assert uploads.kept(old) is None

    def test_without_a_lot_the_lot_comes_first(self, client: Client) -> None:
        SettingsFactory()
        client.force_login(line.technician())
        assert "First the lot" in words(client.get("/stock/import/"))

    def test_the_counter_does_not_import(self, client: Client, lot: models.Lot) -> None:
        client.force_login(UserFactory(username="front", roles=(Role.COUNTER,)))
        assert client.get("/stock/import/").status_code == 403


class TestColumns:
    def test_cells_come_in_as_they_stand_in_the_table(self, bench: Client, lot: models.Lot) -> None:
        more = {"charge": "50 %", "rate": "0.2", "temperature": "23", "measured_on": "2026-01-15"}
        said = choice(lot, **ALL, **more, mass_mg_unit="g")
        answer = import_it(bench, upload(bench, TABLE), said)
        assert (answer.status_code, answer["Location"]) == (302, "/stock/lots/P1/")
        first, second = models.Cell.objects.order_by("code")
        assert (first.code, second.code) == ("0012", "1E5")
        known = figures.of_cells([first, second])
        assert known[first.pk] == {
            Measure.CAPACITY: Decimal("2540.5"),
            Measure.DC_RESISTANCE: Decimal(21_400),
            Measure.REST_VOLTAGE: Decimal("3612.5"),
            Measure.MASS: Decimal(46_100),
        }
        assert Measure.MASS not in known[second.pk], "an empty field was not measured"
        resistance = first.readings.get(measure="dc_resistance_uohm")
        assert (resistance.method, resistance.conditions) == ("DC pulse 5 s", "at 50 % charge, 23 °C")
        assert timezone.localtime(resistance.measured_at).date().isoformat() == "2026-01-15"
        capacity = first.readings.get(measure="capacity_mah").conditions
        assert said_in_words.rate(capacity) == ureg.Quantity(0.2, "1/hour"), "without it nothing is graded for health"
        assert said_in_words.temperature(capacity) == ureg.Quantity(23.0, "degC")
        assert "charge" not in capacity, "a charge is of the resistance alone"
        assert first.readings.get(measure="rest_voltage_mv").conditions == "at 23 °C"

    @pytest.mark.parametrize("typed", ["0", "25", "-1"])
    def test_a_current_of_the_test_that_cannot_be_is_refused(self, bench: Client, lot: models.Lot, typed: str) -> None:
        """Invented."""
        answer = bench.post(upload(bench, TABLE), choice(lot, **ALL, rate=typed))
        assert "rate" in answer.context["form"].errors

    @pytest.mark.parametrize(
        ("unit", "uohm"), [("-", 21_400), ("mΩ", 21_400), ("µΩ", Decimal("21.4")), ("Ω", 21_400_000)]
    )
    def test_a_chosen_unit_goes_before_the_headings(
        self, bench: Client, lot: models.Lot, unit: str, uohm: Decimal
    ) -> None:
        said = choice(
            lot, dc_resistance_uohm_column="2", dc_resistance_uohm_unit=unit, method="DC pulse 5 s", sure="on"
        )
        import_it(bench, upload(bench, TABLE), said)
        assert models.Reading.objects.get(cell__code="0012").value == uohm

    def test_what_hardly_any_cell_has_is_named_first_and_comes_in_once_it_is_said_to_be_true(
        self, bench: Client, lot: models.Lot
    ) -> None:
        """Invented: one decimal comma among thousands. Lot P1 is of cells rated 2600 mAh."""
        table = "code;Q [mAh]\n" + "".join(f"C{n};2540\n" for n in range(60)) + "C60;2,507\nC61;0\n"
        address, said = upload(bench, table), choice(lot, capacity_mah_column="1")
        looked = look(bench, address, said)
        asked = "Line 62 capacity: 2.507 mAh is far from the 2600 mAh that one Round 2.6 is rated at."
        assert f"{asked} Did you mean 2507 mAh, which is 2.507 Ah?" in words(looked)
        assert len(looked.context["preview"].odd) == 1, "nothing at all is a true reading of a dead cell"
        assert "1 to 50 of 62" in words(looked)
        assert "51 to 62 of 62" in words(look(bench, address, said | {"page_rows": "2"}))
        import_it(bench, address, said)
        assert not models.Cell.objects.exists()
        import_it(bench, address, said | {"sure": "on"})
        assert models.Cell.objects.count() == 62

    def test_a_heading_without_a_unit_asks_for_it(self, bench: Client, lot: models.Lot) -> None:
        answer = bench.post(upload(bench, "code,q\nA,2500\n"), choice(lot, capacity_mah_column="1"))
        assert "names no unit" in " ".join(answer.context["form"].errors["capacity_mah_unit"])

    def test_a_resistance_says_how_it_was_measured(self, bench: Client, lot: models.Lot) -> None:
        answer = bench.post(upload(bench, TABLE), choice(lot, **ALL | {"method": ""}))
        assert list(answer.context["form"].errors) == ["method"]

    def test_how_it_was_measured_is_asked_for_with_a_dc_resistance_alone(self, bench: Client, lot: models.Lot) -> None:
        address = upload(bench, TABLE)
        page = words(bench.get(address))
        assert "How the DC resistance was measured needed where a DC resistance comes in" in page
        look(bench, address, choice(lot, **ALL | {"method": "", "dc_resistance_uohm_column": "-"}))

    def test_a_column_means_one_thing(self, bench: Client, lot: models.Lot) -> None:
        twice = choice(lot, **ALL, ac_resistance_uohm_column="2")
        answer = bench.post(upload(bench, TABLE), twice)
        assert list(answer.context["form"].errors) == ["ac_resistance_uohm_column"]

    @pytest.mark.parametrize(
        ("content", "mark"),
        [("code;q\nA;1,5\n", ","), ("code;q\nA;1.5\n", "."), ("code;q\nA;1.234\n", "."), ("code;q\nA;x\n", ".")],
    )
    def test_the_decimal_mark_is_read_from_the_table(self, bench: Client, content: str, mark: str) -> None:
        assert bench.get(upload(bench, content)).context["form"]["decimal"].value() == mark

    def test_a_point_with_three_digits_is_no_thousand_in_a_table_with_points(
        self, bench: Client, lot: models.Lot
    ) -> None:
        """The shop writes 20.381 for twenty thousand; the tester does not."""
        SettingsFactory(number_locale="de")
        said = choice(lot, dc_resistance_uohm_column="1", method="DC pulse 5 s", decimal=".")
        import_it(bench, upload(bench, "code,r_mohm\nA,20.381\n"), said)
        assert models.Reading.objects.get().value == 20_381

    @pytest.mark.parametrize(
        ("comparison", "word", "left"),
        [
            ("is", "A-1", ["A-1"]),
            ("is", "a-1", []),
            ("is_not", "A-1", ["A-12", "B-12"]),
            ("is_not", "a-1", ["A-1", "A-12", "B-12"]),
            ("starts_with", "A", ["A-1", "A-12"]),
            ("ends_with", "2", ["A-12", "B-12"]),
            ("contains", "-1", ["A-1", "A-12", "B-12"]),
        ],
    )
    def test_filters(self, bench: Client, lot: models.Lot, comparison: str, word: str, left: list[str]) -> None:
        said = choice(lot, filter0_column="0", filter0_comparison=comparison, filter0_word=word)
        answer = look(bench, upload(bench, "code\nA-1\nA-12\nB-12\n"), said)
        assert [row.code for row in answer.context["preview"].rows] == left
        assert ("No row is left" in words(answer)) == (not left)

    def test_every_filter_has_to_hold(self, bench: Client, lot: models.Lot) -> None:
        filters = {"filter0_column": "0", "filter0_comparison": "starts_with", "filter0_word": "A"}
        filters |= {"filter1_column": "0", "filter1_comparison": "ends_with", "filter1_word": "2"}
        answer = look(bench, upload(bench, "code\nA-1\nA-12\nB-12\n"), choice(lot, **filters))
        assert [row.code for row in answer.context["preview"].rows] == ["A-12"]

    @pytest.mark.parametrize("half", [{"filter1_column": "0"}, {"filter1_word": "A"}])
    def test_half_a_filter_is_no_filter(self, bench: Client, lot: models.Lot, half: dict[str, str]) -> None:
        answer = bench.post(upload(bench, TABLE), choice(lot, **half))
        assert list(answer.context["form"].errors) == ["filter1_word"]

    def test_cells_never_come_in_with_what_left_a_customers_pack(self, bench: Client, lot: models.Lot) -> None:
        donor = LotFactory(code="D1", donor_job=line.take_in())
        answer = bench.post(upload(bench, TABLE), choice(donor))
        assert list(answer.context["form"].errors) == ["lot"]


FAULTS = [
    ("A,abc", "not one number"),
    ("A,nan", "not one number"),
    ("A,2500 mΩ", "belongs to a resistance"),
    ("A,-5", "below zero"),
    ('A,"1,500"', "1500 or as 1.5"),
    ("A,99999999", "Check the number and its unit"),
    ("A", "1 instead of 2 fields"),
    ("A,1,5", "3 instead of 2 fields"),
    (f"{'A' * 41},2500", "longer than 40"),
    (",2500", "no cell code"),
    ("OLD,2500", "in the book already"),
    ("GOOD,2500", "stands in the table 2 times"),
]


class TestNothingComesIn:
    @pytest.mark.parametrize(("row", "said"), FAULTS)
    def test_a_row_that_cannot_come_in_is_named_and_keeps_all_out(
        self, bench: Client, lot: models.Lot, row: str, said: str
    ) -> None:
        CellFactory(code="OLD", lot=lot)
        address = upload(bench, f"code,q_mah\nGOOD,2500\n\n{row}\n")
        answer = import_it(bench, address, choice(lot, capacity_mah_column="1", decimal="."))
        assert answer.status_code == 200
        faults = dict(answer.context["preview"].faults)
        assert said in faults[4]
        assert " ".join(f"Line 4 {faults[4]}".split()) in words(answer)
        assert [cell.code for cell in models.Cell.objects.all()] == ["OLD"]

    def test_what_was_not_looked_at(self, bench: Client, lot: models.Lot) -> None:
        address = upload(bench, TABLE)
        answer = bench.post(address, choice(lot, **ALL) | {"import": "1"})
        assert answer.context["preview"].rows
        assert not models.Cell.objects.exists()

    def test_another_choice_than_was_looked_at(self, bench: Client, lot: models.Lot) -> None:
        address = upload(bench, TABLE)
        said = choice(lot, **ALL)
        sign = look(bench, address, said).context["preview"].sign
        changed = said | {"dc_resistance_uohm_unit": "Ω", "looked_at": sign, "import": "1"}
        answer = bench.post(address, changed)
        assert "changed after it was looked at" in words(answer)
        assert not models.Cell.objects.exists()

    def test_the_same_import_sent_twice_counts_once(self, bench: Client, lot: models.Lot) -> None:
        address, said = upload(bench, TABLE), choice(lot, **ALL)
        said |= {"looked_at": look(bench, address, said).context["preview"].sign, "import": "1"}
        answers = [bench.post(address, said) for _ in range(2)]
        assert {answer["Location"] for answer in answers} == {"/stock/lots/P1/"}
        assert models.Cell.objects.count() == 2


# Published cell states: Nature Communications 2024, doi:10.1038/s41467-024-54454-0, table pulsebat_cells.csv.
CODE, BATCH, CAPACITY, OCV, RESISTANCE = "2", "0", "4", "8", "9"
PUBLISHED = {
    "code": CODE,
    "decimal": ".",
    "capacity_mah_column": CAPACITY,
    "dc_resistance_uohm_column": RESISTANCE,
    "rest_voltage_mv_column": OCV,
    "method": "DC pulse 5 s",
    "filter0_column": BATCH,
    "filter0_word": "NMC2.1",
}
AT_600 = {"filter1_column": CODE, "filter1_comparison": "ends_with", "filter1_word": "-600"}


@pytest.mark.data
class TestPublishedCells:
    @pytest.fixture
    def table(self, shared_data: Path) -> Path:
        return shared_data / "pulsebat" / "pulsebat_cells.csv"

    def test_twelve_cells_at_one_age_come_in(self, bench: Client, lot: models.Lot, table: Path) -> None:
        """The set has 12 physical cells; the last age of each is in the rows whose id ends with -600."""
        answer = import_it(bench, upload(bench, table.read_bytes()), choice(lot, **PUBLISHED | AT_600))
        assert answer.status_code == 302
        cells = list(models.Cell.objects.order_by("code"))
        assert len(cells) == 12
        known = figures.of_cells(cells)
        with table.open(encoding="utf-8") as file:
            published = {row["id"]: row for row in csv.DictReader(file)}
        for cell in cells:
            row = published[cell.code]
            assert known[cell.pk] == {
                Measure.CAPACITY: Decimal(row["q_ah"]) * 1000,
                Measure.DC_RESISTANCE: Decimal(row["r5s_dis_1c_soc50_mohm"]) * 1000,
                Measure.REST_VOLTAGE: Decimal(row["ocv50_v"]) * 1000,
            }

    def test_one_cell_at_several_ages_stays_out(self, bench: Client, lot: models.Lot, table: Path) -> None:
        """67 rows are 12 cells: cut at the hyphen, every one of them stands there more than once."""
        answer = import_it(bench, upload(bench, table.read_bytes()), choice(lot, **PUBLISHED, cut_at="-"))
        assert answer.status_code == 200
        faults = answer.context["preview"].faults
        assert [number for number, _ in faults] == list(range(2, 69))
        assert "Nothing was imported. line 2: cell D3 stands in the table 6 times" in words(answer)
        assert not models.Cell.objects.exists()

    def test_all_codes_of_the_set_are_text(self, bench: Client, lot: models.Lot, table: Path) -> None:
        """Codes such as 9号 of the other batch need UTF-8."""
        other = PUBLISHED | {"filter0_word": "LFP35"}
        answer = look(bench, upload(bench, table.read_bytes()), choice(lot, **other))
        assert "9号" in [row.code for row in answer.context["preview"].rows]


class TestWorkbook:
    """A workbook goes the same way as a text file; its numbers need no decimal mark, its codes stay what they are."""

    def test_it_comes_in_with_codes_as_they_are_seen(self, bench: Client, lot: models.Lot) -> None:
        address = upload(bench, book(["0012", 2540.5, "B"], [7, 2560, "A"]), "cells.xlsx")
        page = bench.get(address)
        assert "cells.xlsx, sheet “Tested”: 2 rows" in words(page)
        assert [value for value, _ in page.context["form"].fields["decimal"].choices] == ["."]
        answer = import_it(bench, address, choice(lot, decimal=".", capacity_mah_column="1"))
        assert answer.status_code == 302
        cells = {cell.code: figures.of_cells([cell])[cell.pk] for cell in models.Cell.objects.all()}
        assert cells == {"0012": {Measure.CAPACITY: Decimal("2540.5")}, "0007": {Measure.CAPACITY: Decimal(2560)}}

    def test_nothing_comes_in_while_one_row_is_bad_and_each_is_named(self, bench: Client, lot: models.Lot) -> None:
        CellFactory(code="A9")
        rows = (["A1", 2540.5, ""], ["A1", 2560, ""], ["A9", 2500, ""], ["A4", "#N/A", ""], ["A5", "2,571", ""])
        address = upload(bench, book(*rows), "cells.xlsx")
        preview = look(bench, address, choice(lot, decimal=".", capacity_mah_column="1")).context["preview"]
        assert [row for row, _ in preview.faults] == [2, 3, 4, 5, 6]
        bench.post(address, choice(lot, decimal=".", capacity_mah_column="1") | {"import": "1"})
        assert set(models.Cell.objects.values_list("code", flat=True)) == {"A9"}

    def test_nothing_is_said_about_the_decimal_mark_of_numbers(self, bench: Client, lot: models.Lot) -> None:
        """2.571 on the sheet is a number; only text can be read in two ways."""
        address = upload(bench, book(["A1", 2.571, ""], head="Q [Ah]"), "cells.xlsx")
        answer = bench.post(address, choice(lot, decimal=",", capacity_mah_column="1"))
        assert "decimal" in answer.context["form"].errors


def book(*rows: list[Any], head: str = "Q [mAh]") -> bytes:
    made = openpyxl.Workbook()
    made.active.title = "Tested"
    for row in (["code", head, "bin"], *rows):
        made.active.append(row)
    for cell in made.active["A"][1:]:
        cell.number_format = "0000"
    file = io.BytesIO()
    made.save(file)
    return file.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252"])
def test_semicolons_and_decimal_commas_come_in_from_either_encoding(
    bench: Client, lot: models.Lot, encoding: str
) -> None:
    """As office programs write CSV where the comma is the decimal mark: common practice, no source."""
    address = upload(bench, "Zelle;Q [mAh];geprüft bei\n0012;2540,5;23 °C\n".encode(encoding))
    assert import_it(bench, address, choice(lot, capacity_mah_column="1")).status_code == 302
    cell = models.Cell.objects.get()
    assert (cell.code, figures.of_cells([cell])[cell.pk]) == ("0012", {Measure.CAPACITY: Decimal("2540.5")})
