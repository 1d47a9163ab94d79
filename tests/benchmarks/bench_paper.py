"""How long job cards take to print, beside a bare run of the same library over equally many pages of plain text.

``python -m pytest tests/benchmarks/bench_paper.py -s`` from the root of the repository, on a machine that does nothing
else. The figures to beat: 0.4 s for a card of 10s4p; 2 s and 8 pages for one of 14s80p; 300 MB for each process.
"""

import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from packs.terms import DocumentKind
from shop.bridge import documents
from tests import line, packed

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[2]
SIZES = ((4, 2), (10, 4), (13, 5), (14, 80))

PRINTED = """
import json, resource, sys, time
import django
django.setup()
from io import BytesIO
import pypdf, weasyprint
from shop import printing

def best(do):
    took = []
    do()
    for _ in range(5):
        wall, cpu = time.perf_counter(), time.process_time()
        made = do()
        took.append((time.perf_counter() - wall, time.process_time() - cpu))
    return min(took), made

content = json.load(open(sys.argv[1]))
(wall, cpu), made = best(lambda: printing.pdf(content))
memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
pages = len(pypdf.PdfReader(BytesIO(made)).pages)
words = "Lorem ipsum dolor sit amet, consectetur adipiscing elit. " * 60
plain = "<html lang='en'><title>x</title>" + f"<p style='break-after: page'>{words}</p>" * (pages - 1) + f"<p>{words}</p>"
(bare, bare_cpu), _ = best(lambda: weasyprint.HTML(string=plain).write_pdf(pdf_tags=True))
print(f"{pages} pages, {wall:.2f} s ({cpu:.2f} s computing), {memory:.0f} MB, {len(made)} bytes;"
      f" bare library: {bare:.2f} s ({bare_cpu:.2f} s computing)")
"""


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}s{size[1]}p")
def test_a_job_card(size: tuple[int, int], tmp_path: Path) -> None:
    job = packed.reserved(*size, prefix=f"B26{size[0]:02d}")
    at = datetime(2026, 11, 25, 12, tzinfo=UTC)
    content = documents.build(job, DocumentKind.JOB_CARD, number=1, by=line.technician(), at=at)
    (tmp_path / "card.json").write_text(json.dumps(content))
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONPATH": str(ROOT)}
    run = [sys.executable, "-c", PRINTED, str(tmp_path / "card.json")]
    said = subprocess.run(run, env=environment, capture_output=True, check=True, text=True, cwd=ROOT).stdout
    sys.stdout.write(f"\n{size[0]}s{size[1]}p: {said}")
