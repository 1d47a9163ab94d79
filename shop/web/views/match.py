"""Matching: cells from stock for the target pack, as good as this stock allows, and the way back."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any
from urllib.parse import parse_qsl, urlencode

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.utils.safestring import SafeString

from packs.errors import Infeasible, PacksError
from packs.terms import Condition, DocumentKind, Measure, Stage
from packs.units import amount, of
from shop.bridge import accepting, cautions, chosen, figures, layouts, matching, rules, standing
from shop.bridge.matching import MatchedGroup, MatchedPack
from shop.models import Cell, Job, Plan, Task
from shop.operations import consent, planning
from shop.selectors import due, sheet
from shop.web.forms.match import DEFAULTS, AcceptForm, MatchForm, ReleaseForm, SwapForm, WhyForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import action_url, get_plan, words
from shop.web.unmatched import asked, limits_told, remedies

EXCLUDED_SHOWN = 200
RELEASABLE = (Stage.DISMANTLE, Stage.PLACE)
Groups = list[tuple[MatchedGroup, list[tuple[str, figures.Figures]]]]


@dataclass(frozen=True)
class LeftOut:
    """The cells that could not take part, with their reasons."""

    cells: tuple[matching.Exclusion, ...]

    @property
    def named(self) -> tuple[matching.Exclusion, ...]:
        """As many of them as a page names."""
        return self.cells[:EXCLUDED_SHOWN]

    @property
    def unnamed(self) -> int:
        """How many more there are."""
        return len(self.cells) - len(self.named)


@dataclass(frozen=True)
class Shown:
    """A proposal as the page tells it: groups with each cell's figures, and the drawing."""

    pack: MatchedPack
    groups: Groups
    picture: SafeString
    signed: str
    broken: str = ""
    """Which limit groups that were dealt by hand do not keep."""
    before: MatchedPack | None = None
    """The groups before two cells changed places by hand."""

    taken: str = ""
    """Why groups that are not as asked cannot be reserved whatever is ticked; nothing where they can."""

    since: tuple[str, ...] = ()
    """What of its cells reads otherwise than when a longer search found them."""

    asked: tuple[tuple[str, str], ...] = ()
    """The limits, name and text, as the form brings them."""

    @property
    def query(self) -> str:
        """These groups, as they stand in the address of a picture."""
        return urlencode({"groups": self.signed})

    @property
    def do(self) -> str:
        """What accepting it does."""
        return f"Reserve these {sum(len(group.codes) for group in self.pack.groups)} cells"

    @property
    def even(self) -> bool:
        """Whether every group holds the same, so that none is the weakest."""
        return not self.pack.spread.magnitude

    @property
    def proven(self) -> bool:
        """Whether no arrangement can do better, as far as the stock is still what was searched."""
        return not self.pack.gap.magnitude and not self.since and not self.broken

    @property
    def may_be_better(self) -> bool:
        """Whether a longer search may find what was asked to be better."""
        if self.pack.required is not None:
            return bool(self.pack.spared and self.pack.spared.magnitude)
        return bool(self.pack.assured_gap.magnitude) if self.pack.assured else not self.proven

    @property
    def limited_by(self) -> str:
        """What kept the weakest group from being stronger, the strictest first; of given groups nobody asked that."""
        return " and ".join(one for one in self.pack.limiting if one != "dealt by hand")

    @property
    def spare(self) -> int:
        """How many cells could have taken part and stay in stock."""
        return self.pack.considered - len(self.pack.excluded) - sum(len(group.codes) for group in self.pack.groups)


@page(*sheet.BENCH)
def match(request: HttpRequest, number: int) -> HttpResponse:
    """Propose groups for the target pack; accepting them reserves their cells."""
    job = get_job(number)
    if request.method == "POST":
        return _accept(request, job)
    return _propose(request, job, get_plan(job)) if _due(job) else _told(request, job)


def _propose(request: HttpRequest, job: Job, plan: Plan, *, refused: AcceptForm | None = None) -> HttpResponse:
    form = MatchForm(request.GET if "health" in request.GET else DEFAULTS, job=job, numbers=numbers(request))
    swap = SwapForm(request.GET if "out" in request.GET else None, plan=plan)
    proposal, missing, excluded, do_instead = None, "", LeftOut(()), None
    if form.is_valid():
        limits = form.limits(plan)
        try:
            proposal = (
                _swapped(request, plan, swap, limits)
                or _searched(request, plan, limits)
                or _shown(request, plan, matching.propose(plan, limits), limits)
            )
            excluded = LeftOut(proposal.pack.excluded)
        except Infeasible as error:
            excluded, do_instead = LeftOut(matching.left_out(plan, limits)), remedies(request, plan, form)
            # What the remedies proved is sharper: two numbers for one thing would only confuse.
            missing = "" if do_instead.found.says_more_than(error) else str(error)
        except PacksError as error:
            missing = str(error)
    why = WhyForm(request.GET if "why" in request.GET else None)
    return show(
        request,
        "match/page.html",
        why=why,
        because=_because(why, plan, proposal, excluded),
        asked=tuple(parse_qsl(asked(request), keep_blank_values=True)),
        job=job,
        plan=plan,
        form=form,
        accept=refused or AcceptForm(plan=plan, as_asked=not (proposal and proposal.broken)),
        swap=swap,
        proposal=proposal,
        query=asked(request),
        missing=missing,
        remedies=do_instead,
        owed=consent.owed(job, plan),
        excluded=excluded,
        lead_decides=bool(rules.stopping(rules.old_beside_new(plan))),
        cautions=cautions.for_stage(Stage.MATCH),
    )


def _because(why: WhyForm, plan: Plan, proposal: Shown | None, excluded: LeftOut) -> str:
    """Return why a cell is not in the groups, or that it is; nothing where nobody asked."""
    text = why.cleaned_data["why"].strip() if why.is_valid() else ""
    cell = Cell.objects.coded(text) if text else None
    if cell is None:
        return f"There is no cell {text}." if text else ""
    if cell.lot.cell_model_id != plan.cell_model_id:
        return f"{cell.code} is of another model: {cell.lot.cell_model}."
    if Condition(cell.condition) is not Condition.INTACT:
        return f"{cell.code} is {cell.get_condition_display()}: it is used in no pack."
    if (reason := next((one.reason for one in excluded.cells if one.code == cell.code), None)) is not None:
        return f"{cell.code}: {reason}."
    if proposal is None:
        return f"{cell.code} is usable; what forbids the groups stands above."
    home = {code: group.number for group in proposal.pack.groups for code in group.codes}
    if cell.code in home:
        return f"{cell.code} is in group {home[cell.code]}."
    if cell.code not in proposal.pack.table.codes:
        return f"{cell.code} is not in the stock that this pack may use: {cell.get_place_display()}, lot {cell.lot}."
    return (
        f"{cell.code} could have been used; the groups above have no need of it. Change two cells to see what it does."
    )


def _accept(request: HttpRequest, job: Job) -> HttpResponse:
    plan = sheet.standing_plan(job)
    if plan is None:
        return _told(request, job)
    form = AcceptForm(request.POST, plan=plan, numbers=numbers(request))
    if form.is_valid() and (answer := submit(request, form, lambda: _accepted(request, job, form))):
        return answer
    return _propose(request, job, plan, refused=form) if _due(job) else _told(request, job, refused=form)


def _accepted(request: HttpRequest, job: Job, form: AcceptForm) -> str:
    groups = form.cleaned_data["groups"]
    planning.accept(job=job, groups=groups, shown=form.shown, by=person(request), version=version(request))
    say(request, f"{sum(map(len, groups))} cells are reserved for {job.code}.")
    return reverse("job", args=[job.number])


def _due(job: Job) -> bool:
    return Stage(job.stage) is Stage.MATCH and not job.held and job.closed_at is None


def _shown(request: HttpRequest, plan: Plan, pack: MatchedPack, limits: matching.Limits, broken: str = "") -> Shown:
    codes = [code for group in pack.groups for code in group.codes]
    cells = {cell.code: cell for cell in Cell.objects.filter(code__in=codes)}
    known = figures.of_cells(cells.values())
    groups = [(group, [(code, known.get(cells[code].pk, {})) for code in group.codes]) for group in pack.groups]
    most = str(amount(pack.bound, "mAh"))
    shown_as = accepting.Shown(limits, accepting.read_of(pack.table, pack.rows), broken, most)
    signed = AcceptForm.signed(plan, [group.codes for group in pack.groups], amount(pack.bound, "mAh"), shown_as)
    typed = tuple(parse_qsl(asked(request), keep_blank_values=True))
    taken = _taken(plan, cells) if broken else ""
    return Shown(pack, groups, _picture(request, plan, pack, groups), signed, broken, taken=taken, asked=typed)


def _taken(plan: Plan, cells: Mapping[str, Cell]) -> str:
    """Return why these cells cannot be reserved at all: one is held elsewhere, or a rule stops it."""
    free = set(Cell.objects.free(plan.job).filter(code__in=cells).values_list("code", flat=True))
    if held := sorted(set(cells) - free):
        return f"{held[0]} is reserved for another job, or its lot is held."
    stops = rules.stopping(rules.matched(plan, cells.values()))
    return stops[0].message if stops else ""


def _swapped(request: HttpRequest, plan: Plan, swap: SwapForm, limits: matching.Limits) -> Shown | None:
    """Groups after two cells changed places by hand, beside those before; as they were where the two may not.

    None where nobody asked, or the groups are not known.
    """
    if not swap.is_bound or (not swap.is_valid() and "groups" in swap.errors):
        return None
    if not swap.is_valid():
        same, broken = matching.by_hand(plan, swap.cleaned_data["groups"], limits, swap.bound)
        return _shown(request, plan, same, limits, broken)
    before, _ = matching.by_hand(plan, swap.cleaned_data["groups"], limits, swap.bound)
    after, broken = matching.by_hand(plan, swap.swapped(), limits, swap.bound)
    return replace(_shown(request, plan, after, limits, broken), before=before)


def _searched(request: HttpRequest, plan: Plan, limits: matching.Limits) -> Shown | None:
    """Groups that a longer search found, with the figures of the stock as it is now; None where nobody asked."""
    task = Task.objects.filter(job=plan.job, pk=_number(request.GET.get("task", ""))).first()
    if task is None or not task.answer or task.answer["plan"] != [plan.pk, plan.version]:
        return None
    found, broken = matching.by_hand(plan, task.answer["groups"], limits, Decimal(task.answer["bound"]))
    read = accepting.read_of(found.table, found.rows)
    since = accepting.differences(task.answer.get("read", read), read)
    return replace(_shown(request, plan, found, limits, broken), since=tuple(since))


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def _picture(request: HttpRequest, plan: Plan, pack: MatchedPack, groups: Groups) -> SafeString:
    """Draw the proposal with the code and the capacity of every cell."""
    codes: dict[tuple[int, int], str] = {}
    capacities: dict[tuple[int, int], str] = {}
    for group, members in groups:
        for place, (code, read) in enumerate(members, start=1):
            codes[group.number, place] = code
            capacities[group.number, place] = words(request, of(Measure.CAPACITY, read[Measure.CAPACITY]))
    weakest = [group.number for group in pack.groups if group.weakest]
    return layouts.picture(plan, codes, capacities, weakest=weakest)


def _told(request: HttpRequest, job: Job, *, refused: AcceptForm | None = None) -> HttpResponse:
    """Say which cells were accepted, or that this is not what comes next."""
    plan = sheet.standing_plan(job)
    context: dict[str, Any] = {"accept": refused}
    if plan and plan.accepted_at:
        reserved = chosen.of_plan(plan)
        mixed = standing.mixed(plan, rules.group_capacities(plan))
        picture = layouts.picture(plan, reserved.codes, weakest=reserved.weakest_groups)
        context |= {
            "picture": picture,
            "mixed": mixed,
            "reserved": reserved,
            "kept": limits_told(plan, locale(request)),
        }
    action = sheet.next_action(job)
    may = action is not None and person(request).holds(*action.roles)
    context["action_url"] = action_url(job, action) if action and may else ""
    # What is due first lies on top of the job's sheet too, and is done there.
    first = due.of_job(job) if may else None
    return show(request, "match/told.html", job=job, plan=plan, action=action, first=first, **context)


@page(*sheet.BENCH)
def release(request: HttpRequest, number: int) -> HttpResponse:
    """Give the plan up: its cells are free again, and the job goes back to matching."""
    job = get_job(number)
    plan = sheet.standing_plan(job)
    if request.method != "POST" and not (plan and plan.accepted_at and Stage(job.stage) in RELEASABLE):
        return _told(request, job)
    form = ReleaseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            planning.release(job=job, reason=form.cleaned_data["reason"], by=person(request), version=version(request))
            say(request, "The plan is given up; its cells are free again.")
            return reverse("match", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    printed = job.documents.counting().filter(kind=DocumentKind.JOB_CARD.value).exists()
    return show(request, "match/release.html", job=job, form=form, plan=plan, printed=printed)


urlpatterns = [
    path("jobs/<int:number>/match/", match, name="match"),
    path("jobs/<int:number>/release/", release, name="release"),
]
