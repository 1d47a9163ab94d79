"""Feed the reader of tester files with bytes that look for new ways through it; run by hand.

``pip install atheris``, then ``python tests/benchmarks/fuzz_traces.py -max_total_time=600`` from the root of the
repository. Anything but a series or a refusal of our own stops it and leaves the bytes in ``crash-*``.
"""

import sys
import tempfile
from pathlib import Path

import atheris

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

with atheris.instrument_imports(include=["packs.traces"]):
    from packs.traces import TraceRefused, figures, read

from tests.packs.traces.made import parquet, sound, with_column, workbook


def one_file(content: bytes) -> None:
    """Read to the figures; only our own refusal may come of it."""
    try:
        found = figures(read(content, largest=1 << 22))
    except TraceRefused:
        return
    for step in found.steps:
        if not 0 <= step.capacity_ah < float("inf"):
            raise AssertionError(step)


def seeds(folder: Path) -> None:
    """Short sound files of every kind to begin from."""
    import polars as pl

    lines = sound().text(end="").split("\n")
    short = "\n".join([lines[0], *lines[355:370], *lines[1075:1090], ""])
    typed = "\n".join(with_column("Step Type", ["rest"] * 1800).decode().split("\n")[:12])
    made = {
        "plain": short.encode(),
        "commas": short.replace(",", ";").replace(".", ",").encode(),
        "typed": typed.encode(),
        "utf16": short.encode("utf-16"),
        "workbook": workbook({"Data": [line.split(",") for line in short.split("\n")]}),
        "parquet": parquet(pl.read_csv(short.encode())),
    }
    for name, content in made.items():
        (folder / name).write_bytes(content)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as corpus:
        seeds(Path(corpus))
        atheris.Setup([*sys.argv, corpus], one_file)
        atheris.Fuzz()
