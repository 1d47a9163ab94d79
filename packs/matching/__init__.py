"""Choose tested cells for a pack and deal them into groups.

Out of the cells of a `CellTable`, `propose` picks series x parallel as a `Question` asks and deals them into groups:
the weakest group's capacity as large as it can, then the spread of the group capacities small, then the spread of
the group resistances. A `Proposal` says how far from the best possible its weakest group can be at most
(`gap_mah`), and names every cell that could not take part with the reason. `verify` recomputes a proposal from the
table and the question alone. Columns of the table carry their unit in the name: mAh, µΩ, mV; NaN is not known.

>>> cells = CellTable.of(["A", "B", "C", "D", "E"], [2500, 2400, 2450, 2350, 1900], model="M", chemistry="nmc")
>>> answer = propose(cells, Question(series=2, parallel=2, min_capacity_mah=2000))
>>> [[cells.codes[row] for row in group] for group in answer.groups], answer.weakest_mah, answer.gap_mah
([['A', 'D'], ['B', 'C']], 4850.0, 0.0)
>>> answer.excluded
(Exclusion(code='E', reason='capacity 1900 mAh, at least 2000 mAh asked'),)
>>> verify(cells, Question(series=2, parallel=2, min_capacity_mah=2000), answer).weakest_tenths
48500

Rooms: `problem` what is asked, `filters` who may take part, `bound` what nothing can exceed, `construct` first deals,
`deal` groups under limits, `moves` and `improve` local search, `search` the entry, `verify` the independent check.
Errors: `packs.errors.Infeasible` where no groups were found, `packs.errors.ImpossibleValue` for values out of range.

The method rests on number partitioning (balanced largest differencing) and local search; references stand with each
function.
"""

from packs.matching.bound import weakest_group_bound
from packs.matching.problem import CellTable, Exclusion, Proposal, Question
from packs.matching.search import DEFAULT_ITERATIONS, propose
from packs.matching.verify import Verified, verify

__all__ = [
    "DEFAULT_ITERATIONS",
    "CellTable",
    "Exclusion",
    "Proposal",
    "Question",
    "Verified",
    "propose",
    "verify",
    "weakest_group_bound",
]
