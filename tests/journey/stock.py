"""Stock comes in: a cell model, a lot, and a table of tested cells through the import."""

from pathlib import Path

from tests.journey.arithmetic import Measured, mah, mohm, volts
from tests.journey.bench import Bench

MODEL = "Round 2.1"
AGES_OF_D3 = 6
"""Rows of one physical cell in the table, D3-100 to D3-600, as its README tells."""


def bring_in(bench: Bench, table: Path, cells: dict[str, Measured]) -> None:
    bench.go("/stock/import/")
    bench.go_on("/stock/lots/new/")
    bench.go_on("/stock/models/new/")
    add_model(bench)
    bench.fill({"Code of the lot": "NMC-1", "From whom": "Brook Trading", "Came in on": "2026-07-01"})
    bench.choose({"Cell model": MODEL})
    bench.press("Add the lot")
    bench.go_on("/stock/import/")
    bench.page.get_by_label("Table of tested cells").set_input_files(table)
    bench.press("Upload the table")
    say_what_columns_mean(bench)
    two_ages_of_one_cell_are_refused(bench)
    import_the_last_age(bench, cells)


def add_model(bench: Bench) -> None:
    bench.fill({"Name of the model": MODEL, "Data sheet": "invented data sheet"})
    bench.choose(
        {
            "Chemistry": "lithium nickel manganese cobalt oxide (NMC)",
            "Form": "round",
            "Terminals": "on opposite ends",
        }
    )
    bench.fill(
        {
            "Rated capacity": "2.1 Ah",
            "Nominal voltage": "3.6",
            "Charge limit": "4.2 V",
            "End of discharge": "3000 mV",
            "Largest charge current": "1.05 A",
            "Largest continuous discharge current": "4200 mA",
            "Diameter or thickness": "18.3 mm",
            "Height": "65.2",
            "Mass": "45 g",
        }
    )
    bench.press("Add the cell model")


def say_what_columns_mean(bench: Bench) -> None:
    bench.choose(
        {
            "Lot they belong to": f"NMC-1, {MODEL}",
            "Code of the cell": "id",
            "Capacity": "q_ah",
            "DC resistance": "r5s_dis_1c_soc50_mohm",
            "Rest voltage": "ocv50_v",
            "Column of filter 1": "batch",
        }
    )
    bench.fill(
        {
            "Keep only the part before": "-",
            "Word of filter 1": "NMC2.1",
            "How the DC resistance was measured": "DC pulse 5 s at 1 C",
            "Resistance read at what charge": "50 %",
        }
    )


def two_ages_of_one_cell_are_refused(bench: Bench) -> None:
    """D3-100 and D3-600 are the same cell: both together would put it into a pack twice."""
    bench.press("Look at what will come in")
    bench.says("67 faults in 67 rows", f"cell D3 stands in the table {AGES_OF_D3} times")
    assert bench.page.get_by_role("button", name="Import").count() == 0


def import_the_last_age(bench: Bench, cells: dict[str, Measured]) -> None:
    bench.choose({"Column of filter 2": "id", "How, filter 2": "ends with"})
    bench.fill({"Word of filter 2": "-600"})
    bench.press("Look again")
    bench.press("Import 12 cells")
    assert len(cells) == 12
    bench.says("12 cells came in.")
    for code, cell in cells.items():
        bench.says(f"{code} {mah(cell.mah)} {mohm(cell.mohm)} {volts(cell.mv)} not tested enough free")
