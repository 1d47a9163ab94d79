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
- what is better: ``objective`` (``Objective.MOST_CAPACITY``; ``Objective.ASSURED_CAPACITY``, what the pack holds in
  nineteen cases of twenty by the repeatability of the tests; or ``Objective.USE_UP_WEAKER`` with ``required_mah``);
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

``by_hand(table, question, groups, bound_mah)`` gives the figures of groups that somebody dealt, and which limit they do
not keep.

``Proposal`` also bounds what is sure: ``pack_capacity_p5_bound_mah, p5_gap_mah`` ("at most 4 mAh more is possible"),
beside ``weakest_repeats_mah`` ("your tests repeat to 13 mAh") and ``finer_than_tests``.

``propose_together(table, questions, *, shares, seed, iterations)`` builds several packs out of one stock:
``Shares.FAIR``, the weakest pack as good as can be, then the next weakest, or ``Shares.BY_PRIORITY``, one after the
other. ``SharedStock``: ``proposals, levels, bounds, order, alone_mah, gap``. Packs of equal parallel count compare by
the capacity of their weakest group, others by the share of what each would have alone. Check: ``verify_together``.

``propose_uneven(table, question, parallels, *, seed, iterations)`` is a ``Proposal`` whose group k has
``parallels[k]`` cells; ``question.parallel`` is the largest. Check: ``verify_uneven``.

>>> both = propose_together(cells, [Question(1, 2), Question(1, 2)])
>>> [proposal.weakest_mah for proposal in both.proposals], both.levels, both.gap
([4850.0, 4850.0], (4850.0, 4850.0), 0.0)
>>> [len(group) for group in propose_uneven(cells, Question(2, 3, capacity_window=None), [2, 3]).groups]
[2, 3]

``replace_cell(table, question, groups, code, *, joined, tries)`` takes one cell out of a plan, given as codes place by
place: fewest changed places first, then the weakest group, then the spread; cells in ``joined`` stay. ``Replacement``:
``changes`` (``PlaceChange(group, out, into)``), ``groups, group_capacity_mah, weakest_mah, weakest_before_mah,
spread_mah, bound_mah, gap_mah, proven, levelling``. Check: ``verify_replacement``.

>>> replace_cell(cells, Question(1, 2), [["A", "D"]], "D", joined=["A"]).changes
(PlaceChange(group=1, out='D', into='C'),)

``propose_repair(table, question, standing, *, seed, iterations)`` builds new groups beside those that stay, each known
as a whole (``StandingGroup(capacity_mah, resistance_uohm, rest_mv)``). ``Repair``: ``proposal`` with its levelling to
the groups that stay, ``asked_mah, falls_short, pack_weakest_mah, pack_bound_mah, resistance_target_uohm,
resistance_off_uohm, level_to, level_mv, standing_to_level, unmeasured``. Check: ``verify_repair``.

>>> repair = propose_repair(cells, Question(1, 2), [StandingGroup(4700.0, rest_mv=3650.0)])
>>> repair.proposal.weakest_mah, repair.asked_mah, repair.falls_short, repair.level_mv
(4750.0, 4700.0, False, 3650.0)

Rooms: `table` cells, `question` what is asked, `answer`, `shared`, `replacement` and `repaired` what is answered,
`filters` who may take part, `bound` what nothing can exceed, `windows` and `program` the bound under limits, `rounding`
groups out of it, `construct` and `first` first deals, `deal` groups under limits, `moves` and `improve` local search,
`limited` and `kind_search` its phases, `search` the entry, `report` the figures, `sure` and `assured` what the tests
leave open; `parts` groups of several kinds, `joint_bound` and `joint_program` their bounds, `exhaustive` small
questions, `mixed`, `mixed_search` and `leftover` their search, `joint` its phases, `together` and `uneven` the entries;
`exchange` and `replace_one` one cell replaced; `near` and `repair` new groups beside old ones; `verify` and its like
the independent checks; `transport`, `fitting`, `levers` and `advice` what would do where nothing fits, `price` what a
limit costs, `by_hand` somebody's own groups. Errors: `packs.errors.Infeasible` where no groups were found, `packs.errors.ImpossibleValue`
for values out of range.

The method rests on number partitioning (balanced largest differencing), local search and integer programming; references stand with each
function.
"""

from packs.matching.advice import Advice, Relaxation, ToLevel, advise
from packs.matching.answer import CurrentShare, Exclusion, Filter, Levelling, LevelTo, Proposal
from packs.matching.bound import weakest_group_bound
from packs.matching.by_hand import by_hand
from packs.matching.effort import DEFAULT_ITERATIONS
from packs.matching.kind_search import ProvenInfeasible
from packs.matching.levelling import to_level
from packs.matching.price import Price, price_of_ratio
from packs.matching.purchases import Purchase
from packs.matching.question import Objective, Question, Together
from packs.matching.repair import propose_repair
from packs.matching.repaired import Repair, StandingGroup
from packs.matching.replace_one import replace_cell
from packs.matching.replacement import PlaceChange, Replacement
from packs.matching.search import answers, propose
from packs.matching.shared import SharedStock, Shares
from packs.matching.table import CellTable
from packs.matching.together import propose_together
from packs.matching.uneven import propose_uneven
from packs.matching.verify import Verified, verify
from packs.matching.verify_repair import verify_repair
from packs.matching.verify_replacement import verify_replacement
from packs.matching.verify_shared import verify_together, verify_uneven

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
    "PlaceChange",
    "Price",
    "Proposal",
    "ProvenInfeasible",
    "Purchase",
    "Question",
    "Relaxation",
    "Repair",
    "Replacement",
    "SharedStock",
    "Shares",
    "StandingGroup",
    "ToLevel",
    "Together",
    "Verified",
    "advise",
    "answers",
    "by_hand",
    "price_of_ratio",
    "propose",
    "propose_repair",
    "propose_together",
    "propose_uneven",
    "replace_cell",
    "to_level",
    "verify",
    "verify_repair",
    "verify_replacement",
    "verify_together",
    "verify_uneven",
    "weakest_group_bound",
]
