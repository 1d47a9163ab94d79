"""Forms of the matching: what a proposal must keep to, its acceptance, and giving a plan up."""

import re
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core import signing
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.formats import date_format

from packs.units import Kind
from shop.bridge.accepting import Shown
from shop.bridge.matching import Limits
from shop.models import Cell, Job, Plan

from .base import QuantityField, ShopForm

DEFAULTS = {"health": "60", "window": "5", "aim": "most"}
AIMS = [
    ("most", "most capacity, as tested"),
    ("assured", "most assured capacity: what the pack gives in nineteen cases of twenty"),
    ("weaker", "use up weaker cells: the weakest that hold what is asked below"),
]
SALT = "groups shown"
MOST_VOLTS_MV = 5000
MOST_MAH = 10_000_000
CODE_INPUT = forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"})
_BETWEEN_CODES = re.compile(r"[,;\r\n]+")


class RatioField(forms.CharField):
    """A bare number of at least 1 with at most four decimals, such as 1.15."""

    def clean(self, value: Any) -> Decimal | None:
        """Return the ratio, or None where nothing was typed."""
        text = super().clean(value)
        if not text:
            return None
        try:
            ratio = Decimal(text.replace(",", "."))
        except InvalidOperation as error:
            raise forms.ValidationError("Write a number such as 1.15.") from error
        if not ratio.is_finite() or not 1 <= ratio <= 1000 or ratio != round(ratio, 4):
            raise forms.ValidationError("Write a number of at least 1, such as 1.15.")
        return ratio


class MatchForm(ShopForm):
    """What a proposal must keep to."""

    health = QuantityField(
        Kind.FRACTION,
        "percent",
        typed_unit="%",
        label="Least capacity of a cell",
        help_text="share of the rated capacity",
        required=False,
    )
    window = QuantityField(
        Kind.FRACTION,
        "percent",
        typed_unit="%",
        label="Capacity window",
        help_text="how far a cell may be from the mean of its group",
        required=False,
    )
    ratio = RatioField(
        label="Largest resistance ratio",
        required=False,
        help_text="largest over smallest within a group, such as 1.15",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    volts = QuantityField(
        Kind.VOLTAGE,
        "mV",
        typed_unit="mV",
        label="Rest voltage window",
        help_text="largest minus smallest within a group; empty: cells are levelled instead",
        required=False,
    )
    aim = forms.ChoiceField(label="What is better", choices=AIMS, required=False)
    leave_out = forms.CharField(
        label="Cells not to use",
        required=False,
        help_text="codes, with spaces, commas or new lines between",
        widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off", "spellcheck": "false"}),
    )

    use = forms.CharField(
        label="Cells to use",
        required=False,
        help_text="each of them goes into this pack",
        widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off", "spellcheck": "false"}),
    )
    holds = QuantityField(
        Kind.CAPACITY,
        "mAh",
        typed_unit="mAh",
        label="What every group holds at least",
        help_text="a limit whatever is better; needed where weaker cells are to be used up",
        required=False,
    )
    fall = QuantityField(
        Kind.SELF_DISCHARGE,
        "mV/day",
        typed_unit="mV/day",
        label="Largest self-discharge",
        help_text="a cell of which it is not known is left out then",
        required=False,
    )
    history = forms.BooleanField(label="Only cells of lots whose history is stated", required=False)
    mixed = forms.BooleanField(label="Also cells whose capacity was measured otherwise", required=False)

    def __init__(self, *args: Any, job: Job | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.job = job
        if job is not None and job.part_stays:
            # Beside groups that stay the weakest cells that can are best; nothing else is asked.
            self.fields.pop("aim", None)
            self.fields.pop("holds", None)

    def clean_health(self) -> Decimal | None:
        """Refuse what no cell can have."""
        return _percent(self.cleaned_data["health"], 200)

    def clean_window(self) -> Decimal | None:
        """Refuse a window that lets everything through."""
        return _percent(self.cleaned_data["window"], 99)

    def clean_leave_out(self) -> list[str]:
        """Return the codes; each has to be a cell in stock."""
        return self._codes("leave_out")

    def clean_use(self) -> list[str]:
        """Return the codes; each has to be a cell in stock."""
        return self._codes("use")

    def _codes(self, name: str) -> list[str]:
        parts = [part.strip() for part in _BETWEEN_CODES.split(self.cleaned_data[name])]
        known = _in_stock({*parts, *(word for part in parts for word in part.split())}, self.job)
        # A code may hold a space itself: what is one in stock stays whole.
        typed = (code for part in parts for code in ([part] if part in known else part.split()))
        codes = list(dict.fromkeys(known.get(code, code) for code in typed))
        if unknown := [code for code in codes if code not in known.values()]:
            raise forms.ValidationError(f"No such cell in stock: {', '.join(unknown)}.")
        return codes

    def clean_holds(self) -> Decimal | None:
        """Refuse what is no capacity of a group."""
        holds: Decimal | None = self.cleaned_data["holds"]
        if holds is None or 0 < holds <= MOST_MAH:
            return holds
        raise forms.ValidationError("Write a capacity above zero, such as 5000 mAh.")

    def clean_fall(self) -> Decimal | None:
        """Refuse a self-discharge below zero, and one that every cell keeps."""
        fall: Decimal | None = self.cleaned_data["fall"]
        if fall is None or 0 <= fall <= MOST_VOLTS_MV:
            return fall
        raise forms.ValidationError("Write a self-discharge such as 0.7 mV/day.")

    def clean(self) -> dict[str, Any]:
        """Who uses weaker cells up says what every group holds; no cell is both to be used and not to be."""
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("aim") == "weaker" and cleaned.get("holds") is None and "holds" not in self.errors:
            self.add_error("holds", "Say what every group holds at least.")
        if both := sorted(set(cleaned.get("use") or ()) & set(cleaned.get("leave_out") or ())):
            self.add_error("use", f"{both[0]} stands among the cells not to use too.")
        return cleaned

    @property
    def more(self) -> bool:
        """Whether something that seldom counts is asked, or wrong."""
        names = ("use", "holds", "fall", "history", "mixed")
        return any(name in self.errors or self.data.get(name) for name in names)

    def clean_volts(self) -> Decimal | None:
        """Refuse a window that is none."""
        volts: Decimal | None = self.cleaned_data["volts"]
        if volts is None or 0 <= volts <= MOST_VOLTS_MV:
            return volts
        raise forms.ValidationError(f"Write a voltage up to {MOST_VOLTS_MV} mV, such as 50 mV.")

    def limits(self, plan: Plan) -> Limits:
        """Return what the matching takes."""
        health, window = self.cleaned_data["health"], self.cleaned_data["window"]
        return Limits(
            min_capacity_mah=None if health is None else plan.cell_model.rated_capacity_mah * health / 100,
            capacity_window=None if window is None else window / 100,
            max_resistance_ratio=self.cleaned_data["ratio"],
            ocv_window_mv=self.cleaned_data["volts"],
            must_not_use=self.cleaned_data["leave_out"],
            must_use=self.cleaned_data.get("use", []),
            assured=self.cleaned_data.get("aim") == "assured",
            required_mah=self.cleaned_data.get("holds"),
            weaker=self.cleaned_data.get("aim") == "weaker",
            max_self_discharge_mv_per_day=self.cleaned_data["fall"],
            known_history=self.cleaned_data["history"],
            allow_mixed_conditions=self.cleaned_data["mixed"],
        )


class LimitsForm(MatchForm):
    """What changed or shared groups must keep to; they hold as much as they can."""

    aim = None  # type: ignore[assignment]  # Django leaves the field out
    use = None  # type: ignore[assignment]
    holds = None  # type: ignore[assignment]


class AcceptForm(ShopForm):
    """The groups as they were shown, signed: nothing else can be reserved through this page."""

    groups = forms.CharField(
        widget=forms.HiddenInput(), error_messages={"required": "There were no groups to reserve. Propose again."}
    )
    all_the_same = forms.BooleanField(label="Reserve them all the same, although they are not as asked", required=False)

    def __init__(self, *args: Any, plan: Plan, as_asked: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plan = plan
        self.shown: Shown | None = None
        if as_asked:
            del self.fields["all_the_same"]

    def clean_groups(self) -> list[list[str]]:
        """Return the cell codes of each group, if they were shown for this plan."""
        shown = read_signed(self.cleaned_data["groups"])
        if shown["plan"] != [self.plan.pk, self.plan.version]:
            if (at := self.plan.accepted_at) is not None:
                day = date_format(timezone.localtime(at), "j M Y, H:i")
                raise forms.ValidationError(f"The cells of this pack are reserved already, since {day}.")
            raise forms.ValidationError("The target pack was changed since these groups were shown. Propose again.")
        self.shown = Shown.of(shown["as"]) if "as" in shown else None
        groups: list[list[str]] = shown["groups"]
        return groups

    def clean(self) -> dict[str, Any]:
        """Groups that do not keep a limit are not reserved in passing."""
        cleaned = super().clean() or self.cleaned_data
        if self.shown is not None and self.shown.broken and not cleaned.get("all_the_same"):
            self.add_error(
                "all_the_same", f"These groups are not as asked: {self.shown.broken} Tick this, or ask anew."
            )
        return cleaned

    @staticmethod
    def signed(plan: Plan, groups: Sequence[Sequence[str]], bound_mah: Decimal, shown_as: Shown | None = None) -> str:
        """Return groups as the form carries them, with what no arrangement can beat and how they were shown."""
        shown: dict[str, Any] = {"plan": [plan.pk, plan.version], "groups": groups, "bound": str(bound_mah)}
        if shown_as is not None:
            shown["as"] = shown_as.written()
        return signing.dumps(shown, salt=SALT, compress=True)


def read_signed(text: str) -> dict[str, Any]:
    """Return groups as they were shown: the ``plan`` with its version, the ``groups`` and their ``bound`` [mAh]."""
    try:
        shown: dict[str, Any] = signing.loads(text, salt=SALT)
    except signing.BadSignature as error:
        raise forms.ValidationError("These are not groups that were shown. Propose again.") from error
    return shown


class SwapForm(ShopForm):
    """Two cells that change places by hand: one of a group, and one of another group or free in stock."""

    groups = forms.CharField(widget=forms.HiddenInput())
    out = forms.CharField(label="Cell in a group", max_length=40, widget=CODE_INPUT)
    into = forms.CharField(label="Cell in its stead", max_length=40, widget=CODE_INPUT)

    def __init__(self, *args: Any, plan: Plan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plan = plan
        self.bound = Decimal(0)

    def clean_groups(self) -> list[list[str]]:
        """Return the groups before the change."""
        shown = read_signed(self.cleaned_data["groups"])
        if shown["plan"] != [self.plan.pk, self.plan.version]:
            raise forms.ValidationError("The target pack was changed since these groups were shown. Propose again.")
        self.bound = Decimal(shown["bound"])
        groups: list[list[str]] = shown["groups"]
        return groups

    def clean(self) -> dict[str, Any]:
        """Refuse a cell that is in no group, and one that is not in stock."""
        cleaned = super().clean() or self.cleaned_data
        typed = {name: cleaned[name].strip() for name in ("out", "into") if cleaned.get(name)}
        known = _in_stock(set(typed.values()), self.plan.job)
        for name, text in typed.items():
            if text not in known:
                self.add_error(name, f"No such cell in stock: {text}.")
            cleaned[name] = known.get(text, text)
        held = {code for group in cleaned.get("groups", []) for code in group}
        if "out" in typed and "groups" in cleaned and not self.errors and cleaned["out"] not in held:
            self.add_error("out", f"{cleaned['out']} is in none of these groups.")
        if len(typed) == 2 and not self.errors and cleaned["out"] == cleaned["into"]:
            self.add_error("into", "Name two different cells.")
        return cleaned

    def swapped(self) -> list[list[str]]:
        """Return the groups after the change."""
        change = {self.cleaned_data["out"]: self.cleaned_data["into"]}
        change |= {new: old for old, new in change.items()}
        return [[change.get(code, code) for code in group] for group in self.cleaned_data["groups"]]


class WhyForm(ShopForm):
    """A cell of which somebody asks why it is not in the groups."""

    why = forms.CharField(
        label="Why not this cell?",
        max_length=40,
        widget=CODE_INPUT,
        error_messages={"required": "Write the code of a cell, such as one of those above."},
    )


class LongerForm(ShopForm):
    """How long a search may go on."""

    seconds = forms.TypedChoiceField(
        label="Search for",
        choices=[(30, "half a minute"), (120, "2 minutes"), (600, "10 minutes")],
        coerce=int,
        initial=30,
    )


class ReleaseForm(ShopForm):
    """Why a plan is given up."""

    reason = forms.CharField(label="Why the plan is given up", max_length=200)


def _in_stock(typed: set[str], job: Job | None) -> dict[str, str]:
    """Return by what was typed the code of the cell in stock that it names, letter case aside where that is clear."""
    folded = {code.casefold() for code in typed}
    lower = Cell.objects.in_stock(job).annotate(folded=Lower("code")).filter(Q(folded__in=folded) | Q(code__in=typed))
    by_folded: dict[str, list[str]] = {}
    for code in lower.values_list("code", flat=True):
        by_folded.setdefault(code.casefold(), []).append(code)
    found = ((text, by_folded.get(text.casefold(), [])) for text in typed)
    return {text: text if text in codes else codes[0] for text, codes in found if text in codes or len(codes) == 1}


def _percent(value: Decimal | None, most: int) -> Decimal | None:
    if value is None or (0 < value <= most and value == round(value, 2)):
        return value
    raise forms.ValidationError(f"Write a percentage above 0 up to {most} %, such as 5 %.")
