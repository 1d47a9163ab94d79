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
(Exclusion(code='E', reason='capacity 1900 mAh, at least 2000 mAh asked', filter=<Filter.CAPACITY: 'capacity'>),)
>>> verify(cells, Question(series=2, parallel=2, min_capacity_mah=2000), answer).weakest_tenths
48500

Interface, in full
------------------
``CellTable.of(codes, capacity_mah, *, rated_mah, dcir_uohm, ocv_mv, self_discharge_mv_per_day, lot, donor, model,
chemistry, resistance_method, test_conditions, history, charged_on, reserved, quarantined)``: one column each; a word
stands for a whole column, a column left out is not known.

``Question(series, parallel, ...)``:

- which cells: ``min_capacity_mah, max_capacity_mah, min_health, max_health, max_self_discharge_mv_per_day,
  refused_histories, max_drift_mv = 10 mV, must_use, must_not_use``; reserved and quarantined cells never take part;
- what one pack may mix: ``allow_mixed_models, allow_mixed_lots = True, allow_mixed_conditions,
  allow_mixed_chemistries``; never two methods of measuring resistance;
- limits within a group: ``max_resistance_ratio, capacity_window = 5 % of the group's mean, ocv_window_mv, together``
  (a group holds cells of one lot, or of one donor, only);
- what is better: ``objective`` (``Objective.MOST_CAPACITY``, or ``Objective.USE_UP_WEAKER`` with ``required_mah``);
- figures: ``level_within_mv = 10 mV, repeatability = 0.5 %``.

``answers(table, question, *, seed, iterations, deadline, clock)`` yields proposals, each with better groups or a
better bound than the last; it ends when the answer is proven best, the budget of iterations is used up, ``clock()``
reaches ``deadline``, or the caller stops asking. ``propose(table, question, *, seed, iterations)`` is its last answer
for a budget alone. The first answer comes before any bound under limits, so that a deadline is never missed by much.

``Proposal``: ``groups, group_capacity_mah, group_resistance_uohm, weakest_mah, spread_mah, resistance_spread_uohm,
bound_mah, gap_mah, gap_percent, used_mah, least_used_mah, pack_capacity_mah, pack_capacity_p5_mah, worst_share,
levelling, limiting, excluded, excluded_by``. ``verify(table, question, proposal)`` recomputes it.

``advise(table, question)`` says, where nothing was found, why and what would do (``Advice``): ``usable, needed, groups,
found, most`` (the number of groups that no arrangement exceeds), ``binding`` (the smallest set of limits that together
forbid the pack), ``relaxations`` (the least change of each thing asked), ``levelling`` (cells to level and measure
again) and ``purchases`` (cells to buy). ``price_of_ratio(table, question, ratios)`` is the weakest group against the
resistance ratio.

Rooms: `table` cells, `question` what is asked, `answer` what is answered, `filters` who may take part, `bound` what
nothing can exceed, `windows` and `program` the bound under limits, `rounding` groups out of it, `construct` and `first`
first deals, `deal` groups under limits, `moves` and `improve` local search, `limited` and `kind_search` its phases,
`transport`, `fitting`, `levers` and `advice` what would do where nothing fits, `price` what a limit costs,
`search` the entry, `report` the figures, `verify` the independent check. Errors: `packs.errors.Infeasible` where no
groups were found, `packs.errors.ImpossibleValue` for values out of range.

The method rests on number partitioning (balanced largest differencing), local search and integer programming; references stand with each
function.
"""

from packs.matching.advice import Advice, Purchase, Relaxation, ToLevel, advise
from packs.matching.answer import CurrentShare, Exclusion, Filter, Levelling, LevelTo, Proposal
from packs.matching.bound import weakest_group_bound
from packs.matching.effort import DEFAULT_ITERATIONS
from packs.matching.price import Price, price_of_ratio
from packs.matching.question import Objective, Question, Together
from packs.matching.search import answers, propose
from packs.matching.table import CellTable
from packs.matching.verify import Verified, verify

__all__ = [
    "DEFAULT_ITERATIONS",
    "Advice",
    "CellTable",
    "CurrentShare",
    "Exclusion",
    "Filter",
    "LevelTo",
    "Levelling",
    "Objective",
    "Price",
    "Proposal",
    "Purchase",
    "Question",
    "Relaxation",
    "ToLevel",
    "Together",
    "Verified",
    "advise",
    "answers",
    "price_of_ratio",
    "propose",
    "verify",
    "weakest_group_bound",
]
