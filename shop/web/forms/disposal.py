"""Forms of what leaves the shop."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet

from packs.terms import Condition, FeeState, Travels
from shop.bridge.fees import Fee
from shop.bridge.possible import MOST_CELLS, MOST_MINUTES
from shop.models import Cell, Container, CountBasis, Item, ItemKind
from shop.operations.opening import CellCount

from .base import ShopForm, TermField
from .possible import PossibleField
from .readings import due

Thing = Cell | Item


class WasteItemForm(ShopForm):
    """Something else of a job that is waste."""

    KINDS = (ItemKind.PACK, ItemKind.BOARD, ItemKind.OTHER, ItemKind.CONTAMINATED)
    kind = TermField(ItemKind, only=KINDS, label="What it is")
    description = forms.CharField(label="Description", max_length=160, help_text="As it is found again.")
    condition = TermField(Condition, initial=Condition.DAMAGED.value, label="Its condition")
    cells = forms.IntegerField(label="Cells inside", min_value=1, max_value=MOST_CELLS, required=False)
    basis = TermField(CountBasis, initial=CountBasis.UNKNOWN.value, label="The number of cells is")
    rated_energy_mwh = PossibleField.stated(
        "rated_energy_mwh", required=False, label="Rated energy", help_text="As printed on it. Never a measured one."
    )
    mass_mg = PossibleField.stated("item_mass_mg", required=False, label="Mass")

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        given = self.cleaned_data
        return {
            **self.values("kind", "description", "condition", "rated_energy_mwh", "mass_mg"),
            "count": CellCount(cells=given["cells"], basis=given["basis"]),
        }


class ReadyForm(ShopForm):
    """What is confirmed before anything goes into a container."""

    CONFIRMED = ("insulated", "packed_alone", "casings_closed")

    insulated = forms.BooleanField(
        required=False,
        label="Every terminal is insulated",
        help_text="Tape or caps on every terminal before anything goes into a container or to its owner.",
    )
    packed_alone = forms.BooleanField(
        required=False,
        label="Each is alone in an inner packaging",
        help_text="Not of metal, closed all around, with cushioning that neither burns nor conducts and takes up what leaks.",
    )
    casings_closed = forms.BooleanField(
        required=False,
        label="No casing is breached, none leaks",
        help_text="Leave it empty where you cannot tell.",
    )

    def ask(self, *, batteries: bool, damaged: bool) -> None:
        """Leave out what this kind of waste does not need."""
        wanted = {
            "insulated": batteries,
            "packed_alone": batteries and damaged,
            "casings_closed": batteries and damaged,
        }
        for name in (name for name in self.CONFIRMED if not wanted[name]):
            del self.fields[name]

    def confirmed(self) -> dict[str, bool]:
        """Return what is confirmed before anything goes into a container."""
        return {name: bool(self.cleaned_data.get(name)) for name in self.CONFIRMED}


class RemovedForm(ReadyForm):
    """Things of one condition: which of them, and where they go. What is liable to react never comes into it."""

    TO_STOCK, TO_CUSTOMER = "stock", "customer"
    ALL, TICKED = "all", "ticked"

    way = forms.ChoiceField(label="Where they go")
    things = forms.MultipleChoiceField(label="Which", required=False, widget=forms.CheckboxSelectMultiple())

    def __init__(
        self,
        *args: Any,
        things: Sequence[Thing],
        ways: Sequence[tuple[str, str]],
        batteries: bool = True,
        damaged: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.ask(batteries=batteries, damaged=damaged)
        if "insulated" in self.fields and things and all(isinstance(thing, Item) for thing in things):
            self.fields["way"].label = "Where it goes"
            self.fields["insulated"].label = "Every contact that can be touched from outside is covered"
            self.fields["insulated"].help_text = "Tape or caps on terminals, plugs and leads; nothing is opened for it."
        self.known = {_key(thing): thing for thing in things}
        self.fields["things"].choices = [(key, str(thing)) for key, thing in self.known.items()]  # type: ignore[attr-defined]
        self.fields["way"].choices = [("", "choose"), *ways]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Take all of them where the button says so, otherwise what is ticked."""
        cleaned = super().clean() or self.cleaned_data
        if self.data.get("which") != self.TICKED:
            cleaned["things"] = list(self.known)
        elif not cleaned.get("things") and "things" not in self.errors:
            self.add_error("things", "Tick what goes there.")
        return cleaned

    def cells(self) -> list[Cell]:
        """Return the chosen cells."""
        return [thing for thing in self._chosen() if isinstance(thing, Cell)]

    def items(self) -> list[Item]:
        """Return the chosen items."""
        return [thing for thing in self._chosen() if isinstance(thing, Item)]

    def _chosen(self) -> list[Thing]:
        return [self.known[key] for key in self.cleaned_data["things"]]

    def container(self) -> Container | None:
        """Return the container chosen, or None for another way."""
        way = self.cleaned_data["way"]
        return Container.objects.get(pk=int(way.split("-")[1])) if way.startswith("container-") else None

    def name_of(self, field: str) -> str:
        """A container is one of the ways."""
        return "way" if field == "container" else field


def _key(thing: Thing) -> str:
    return f"{'cell' if isinstance(thing, Cell) else 'item'}-{thing.pk}"


class EmergencyForm(ShopForm):
    """Who took what is liable to react."""

    receiver = forms.CharField(label="Who took it", max_length=120)


class ConditionForm(ShopForm):
    """What a cell turned out to be, and what was seen."""

    reason = forms.CharField(label="What was seen", max_length=200, help_text="such as dented at the positive end")

    def __init__(self, *args: Any, worse: Sequence[Condition], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        condition = TermField(Condition, only=worse, label="It is", widget=forms.RadioSelect(), initial=worse[:1])
        self.fields = {"condition": condition, **self.fields}


class DiscardForm(ReadyForm):
    """Where a cell of the stock goes that is not used any more."""

    container = forms.ModelChoiceField(Container.objects.none(), label="Into container", empty_label="choose")

    def __init__(self, *args: Any, containers: QuerySet[Container], damaged: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask(batteries=True, damaged=damaged)
        self.fields["container"].queryset = containers  # type: ignore[attr-defined]


class HandOverForm(ShopForm):
    """Who takes the device."""

    received_by = due(forms.CharField(label="Who takes the device", max_length=120, required=False))
    travels = TermField(Travels, required=False, initial=Travels.TAKEN.value, label="How the pack travels")
    transport_tests = forms.CharField(
        label="If it is sent: its transport tests (UN 38.3)",
        max_length=160,
        required=False,
        help_text="who judged in writing that they hold, and where that is kept; without it a pack is collected in person",
    )

    def __init__(self, *args: Any, fee: Fee | None = None, ask_time: bool = False, **kwargs: Any) -> None:
        """Ask for the fee of an examination only where one is due, and for the labour only where nobody noted it."""
        super().__init__(*args, **kwargs)
        if ask_time:
            self.fields["minutes"] = forms.IntegerField(
                label="Minutes of work it truly took",
                required=False,
                min_value=1,
                max_value=MOST_MINUTES,
                help_text="from opening the case to the last test, without waiting; the next quote starts from it",
            )
        if fee:
            label = f"The fee for the examination, {fee} with tax, is"
            self.fields["fee"] = due(TermField(FeeState, required=False, label=label))

    def clean_travels(self) -> Travels:
        """What was not said is taken along."""
        return self.cleaned_data["travels"] or Travels.TAKEN


class IntoStockForm(ShopForm):
    """A built pack goes into stock; nothing has to be typed."""
