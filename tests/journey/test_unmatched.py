"""An impossible wish is made possible by what the page says, in a real browser. Invented cells."""

import pytest

from packs.terms import Stage
from shop import models
from tests import line
from tests.journey.bench import Bench

pytestmark = pytest.mark.browser


def test_an_impossible_wish_is_made_possible_by_following_the_page(bench: Bench) -> None:
    """98 % of 2600 mAh is 2548: six of the eight cells that a 4s2p takes. The least of all has 2530, which is 97.3 %."""
    job = line.job_at(Stage.MATCH)
    line.stock()
    bench.go(f"/jobs/{job.number}/match/")
    bench.fill({"Least capacity of a cell": "98 %"})
    bench.press("Propose again")
    bench.says("This stock cannot fill the pack", "What would do", "is proven not to do")
    bench.press("Propose with this")
    bench.says("Proposed groups", "No arrangement of these cells can beat a weakest group of 5130 mAh.")
    bench.press("Reserve these 8 cells")
    assert models.PlanPosition.objects.filter(plan__job=job, open=True).count() == 8
