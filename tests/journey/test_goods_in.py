"""From goods in over three tester files to graded, labelled cells in stock, in the browser. Cells and files are made up."""

import subprocess
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image

from packs.grading import DEFAULT
from packs.terms import CellFormat, CellProtection, Chemistry, LotOrigin, Measure, Terminals
from shop.bridge.grading import facts_of
from shop.management import worker
from shop.models import CellModel, Lot, User
from shop.operations import grading, stock
from tests.journey.bench import Bench
from tests.packs.traces.made import edited

pytestmark = pytest.mark.browser

CODES = ("G1", "G2", "G3")
METHOD = "DC pulse 10 s"
SEND = """async () => {
    const answer = await fetch(location.href, {method: 'POST', body: new FormData(document.querySelector('main form'))})
    return Array.from(new Uint8Array(await answer.arrayBuffer()))
}"""


def a_lot(by: User) -> Lot:
    """Three bought cells of 1 Ah, with what was read of them as they came; graded at 1 C, since their files are of that."""
    model: CellModel = stock.add_cell_model(
        name="Round 1.0",
        chemistry=Chemistry.NMC,
        cell_format=CellFormat.ROUND,
        terminals=Terminals.OPPOSITE_ENDS,
        rated_capacity_mah=Decimal(1000),
        nominal_voltage_mv=3600,
        charge_limit_mv=4150,
        end_of_discharge_mv=3250,
        mass_mg=30_000,
        sure=True,
        by=by,
    )
    lot = stock.add_lot(code="G-1", cell_model=model, origin=LotOrigin.BOUGHT, received_on=date(2026, 11, 2), by=by)
    read = {Measure.DC_RESISTANCE: Decimal(50_000), Measure.REST_VOLTAGE: Decimal(3620)}
    rows = [stock.CellRow(line=number, code=code, readings=read) for number, code in enumerate(CODES, start=2)]
    stock.import_cells(lot=lot, rows=rows, methods={Measure.DC_RESISTANCE: METHOD}, conditions="26 °C", by=by)
    new = {"method": METHOD, "temperature_mdegc": 26_000, "source": "invented data sheet"}
    grading.state_new_cell(cell_model=model, dc_resistance_uohm=50_000, protection=CellProtection.NONE, **new, by=by)
    criteria = facts_of(DEFAULT) | {"rate_per_hour": Decimal(1), "temperature_mdegc": Decimal(26_000)}
    grading.set_criteria(values=criteria, reason="our files are of 1 C", by=by)
    return lot


def three_files(folder: Path) -> list[Path]:
    paths = [folder / f"{code}__run 1.csv" for code in CODES]
    for number, path in enumerate(paths):
        path.write_bytes(edited("voltage", 0, 3.3 + number / 1000))
    return paths


def codes_on(made: bytes, folder: Path) -> list[str]:
    """Read the codes of a rendered sheet back with a library that had no part in making them."""
    import zxingcpp

    (folder / "labels.pdf").write_bytes(made)
    command = ["pdftoppm", "-r", "200", "-gray", "-png", str(folder / "labels.pdf"), str(folder / "sheet")]
    subprocess.run(command, check=True)
    (sheet,) = folder.glob("sheet*.png")
    return sorted(found.text for found in zxingcpp.read_barcodes(Image.open(sheet)))


def test_goods_in_to_labelled_cells(bench: Bench, owner: User, tmp_path: Path) -> None:
    """997.2 of 1000 mAh and 50 of 50 mΩ are grade 1, for now: nobody watched the cells at rest yet."""
    lot = a_lot(owner)
    bench.go(f"/stock/lots/{lot.code}/")
    bench.press("Check the goods in")
    bench.fill({"Invoice": "4711", "Date code": "2611", "Which cells were measured": "1 of 3"})
    bench.fill({"Mass, the most unlike one": "30.1 g"})
    bench.press("Write it down")
    bench.says("nothing against it", "Invoice 4711.", "not tested enough")

    bench.go("/stock/bench/")
    bench.press("Read tester files")
    bench.page.get_by_label("Tester files").set_input_files(three_files(tmp_path))
    bench.press("Read them")
    bench.says("waits for its turn", "3 still to be read")
    assert worker.run_next() is not None
    bench.page.get_by_text("3 kept").wait_for()  # the page asks again by itself

    bench.go(f"/stock/lots/{lot.code}/")
    assert bench.text.count("grade 1") == len(CODES)
    bench.says("997 mAh")
    bench.press("Print labels")
    made = bytes(bench.page.evaluate(SEND))
    assert codes_on(made, tmp_path) == list(CODES)
