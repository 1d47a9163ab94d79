"""Forms of the steps up to the joined pack: what is read is typed with its unit, its limit beside the field."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from django import forms

from packs.terms import CellEnd, Condition, JointMethod, Measure, Peeled, Specimen
from shop.bridge import rules
from shop.models import PackAsFound
from shop.operations.joints import StripJoined

from .base import QuantityField, ShopForm, TermField
from .readings import AgainForm, PaperForm, PointsForm, due

NAMED = {
    rules.QUALIFIED: ("qualified", "Who is qualified for this voltage"),
    rules.SECOND: ("second", "Who stands by"),
}
"""Rules of the dismantling that are answered with a name."""

EQUAL_CHARGE = "Every cell was filled by itself, gave the same charge, and rested"
WELD_SPOTS = 4
"""Spots on one joint that a form starts with; common practice, no source."""


class RemoveCellForm(ShopForm):
    """One cell, or several alike, leaving the old pack."""

    asks_back = True
    recorded = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput())
    rest_voltage = due(
        QuantityField.of(
            Measure.REST_VOLTAGE, required=False, label="Voltage at its ends", help_text="0 V is a finding too"
        )
    )
    not_measured = forms.BooleanField(
        required=False,
        label="Nobody measured it",
        help_text="as with one that heats or leaks; it goes into no pack without a voltage",
    )
    condition = TermField(
        Condition,
        label="What it looks like",
        initial=None,
        widget=forms.RadioSelect(),
        error_messages={"required": "Look at it and say which."},
    )
    count = forms.IntegerField(min_value=1, initial=1, label="How many alike")
    code = forms.CharField(
        required=False,
        max_length=40,
        label="Its code",
        help_text="empty: the next in the order of positions",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean(self) -> dict[str, Any]:
        """A cell is in the book for good: an empty voltage is said on purpose, and so is what it looks like."""
        cleaned = super().clean() or self.cleaned_data
        reacts = cleaned.get("condition") is Condition.REACTIVE
        if "rest_voltage" in cleaned and cleaned["rest_voltage"] is None and not (cleaned["not_measured"] or reacts):
            self.add_error(
                "rest_voltage", "No voltage is typed. Measure it (0 V is a finding), or tick that nobody did."
            )
        if cleaned.get("rest_voltage") is not None and cleaned["not_measured"]:
            self.add_error("not_measured", "A voltage is typed: take one of the two away.")
        return cleaned


class BeforeCuttingForm(PointsForm):
    """What is confirmed before the old pack is cut; people by name above 60 V DC, voltages where the charge is not known."""

    def __init__(self, *args: Any, found: PackAsFound, charge_open: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ticks = []
        for rule in rules.opening_questions(found):
            if rule in NAMED:
                self.fields[NAMED[rule][0]] = due(forms.CharField(required=False, max_length=80, label=NAMED[rule][1]))
            else:
                self.ticks.append(rule)
                self.fields[rule] = forms.BooleanField(required=False, label=rules.opening_words(found, rule))
        self.add_points("group", [""] * (found.series if charge_open else 0), Measure.REST_VOLTAGE)
        if not charge_open:
            del self.fields["instrument"], self.fields["measured_at"]

    def confirmed(self) -> dict[str, bool]:
        """Return what was ticked, by rule."""
        return {rule: self.cleaned_data[rule] for rule in self.ticks}

    def name(self, field: str) -> str:
        """Return who was named, nothing where nobody is asked for."""
        return str(self.cleaned_data.get(field, ""))

    def tick_rows(self) -> Iterator[forms.BoundField]:
        """Yield the ticks in their order."""
        return (self[rule] for rule in self.ticks)

    def name_rows(self) -> Iterator[forms.BoundField]:
        """Yield the fields for names."""
        return (self[name] for name, _ in NAMED.values() if name in self.fields)


def weld_key(weld: rules.Weld) -> str:
    """Return a welder's setting as a form sends it."""
    return f"{weld.machine}|{weld.schedule}|{weld.pulse.normalize():f}"


class PeelSampleForm(ShopForm):
    """A sample at each pole with one setting of the welder."""

    machine = forms.CharField(max_length=60, label="Welder")
    schedule = forms.CharField(max_length=60, label="Schedule", help_text="such as two pulses, ms")
    pulse = forms.DecimalField(
        min_value=Decimal("0.01"),
        max_value=Decimal(100_000),
        decimal_places=2,
        label="Pulse",
        help_text="as the machine counts it",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    specimen = TermField(Specimen, label="Welded to", initial=Specimen.SCRAP_CAN.value)
    positive = due(TermField(Peeled, required=False, label="At the positive cap"))
    negative = due(TermField(Peeled, required=False, label="At the negative can"))

    def weld(self) -> rules.Weld:
        """Return what the welder is set to."""
        return rules.Weld(**self.values("machine", "schedule", "pulse"))

    def peeled(self) -> dict[CellEnd, Peeled]:
        """Return what came of the samples, by pole."""
        return {end: self.cleaned_data[end.value] for end in CellEnd if self.cleaned_data[end.value]}


class PlaceForm(ShopForm):
    """A cell's code, typed or scanned."""

    code = forms.CharField(label="Cell code", widget=forms.TextInput(attrs={"autocomplete": "off"}))


@dataclass(frozen=True)
class Position:
    """A position that is measured: its name, its group, and the code of the cell in it.

    A group that stays is measured as a whole.
    """

    name: str
    group: int
    code: str

    @property
    def key(self) -> str:
        """The name of its field."""
        return f"v_{self.name.replace('.', '_').replace(' ', '_')}"

    @property
    def label(self) -> str:
        """What stands beside its field."""
        name = f"{self.name} {self.code}"
        return f"{name[:1].upper()}{name[1:]}"


class RestVoltagesForm(AgainForm):
    """One rest voltage per cell position."""

    def __init__(self, *args: Any, positions: Sequence[Position], by_charge: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.positions = positions
        if by_charge:
            self.fields["equal_charge"] = forms.BooleanField(required=False, label=EQUAL_CHARGE)
        for position in positions:
            self.add_reading(position.key, Measure.REST_VOLTAGE, position.label)

    def equal_charge(self) -> bool | None:
        """Return whether equal charge was confirmed, None where the form does not ask."""
        return bool(self.cleaned_data["equal_charge"]) if "equal_charge" in self.fields else None

    def voltages(self) -> dict[str, Decimal]:
        """Return what was typed, by position."""
        given = ((position.name, self.cleaned_data[position.key]) for position in self.positions)
        return {name: value for name, value in given if value is not None}

    def groups(self) -> dict[int, list[forms.BoundField]]:
        """Return the voltage fields of each group, in the order of the positions."""
        groups: dict[int, list[forms.BoundField]] = {}
        for position in self.positions:
            groups.setdefault(position.group, []).append(self[position.key])
        return groups

    def name_of(self, field: str) -> str:
        """Return the key of a position's field."""
        return next((position.key for position in self.positions if position.name == field), field)


class TapsForm(PointsForm):
    """Every tap from the negative end."""

    def __init__(self, *args: Any, limits: Sequence[str], trips: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_points("tap", limits)
        if trips:
            self.fields["suits"] = forms.BooleanField(required=False, label=rules.words_of("ladder.board_suits"))
            self.fields["another"] = forms.BooleanField(
                required=False, label="Another board goes in than the one that was found"
            )
            self.add_reading("overcharge_trip", Measure.VOLTAGE, "Overcharge trip", limit=trips[0])
            self.add_reading("undervoltage_trip", Measure.VOLTAGE, "Undervoltage trip", limit=trips[1])

    def board(self) -> rules.BoardTried:
        """Return what the board did on the bench ladder; nothing where none is asked for."""
        if "suits" not in self.fields:
            return rules.BoardTried()
        return rules.BoardTried(
            suits=self.cleaned_data["suits"],
            another=self.cleaned_data["another"],
            overcharge_mv=self.cleaned_data["overcharge_trip"],
            undervoltage_mv=self.cleaned_data["undervoltage_trip"],
        )


class JoinForm(PaperForm):
    """The peel sample, the second look, and on each strip its weld spots and the joints that had to be made again."""

    weld = due(forms.ChoiceField(required=False, label="Welder, as set"))
    clean_faces = forms.BooleanField(
        required=False, label="Every terminal and bar face cleaned bright just before it was bolted"
    )
    second_look = forms.BooleanField(
        required=False, label="Polarity and insulators looked at a second time, against the drawing"
    )
    second_look_by = forms.CharField(
        required=False,
        max_length=80,
        label="Looked at by",
        help_text=(
            "another person, printed as named by you and not confirmed; empty where it was you again, after a pause and "
            "with photographs of the cells kept"
        ),
    )
    pause_min = forms.IntegerField(
        required=False, min_value=0, max_value=10_000, label="You again: minutes of pause before it"
    )

    def __init__(
        self,
        *args: Any,
        strips: Mapping[int, str],
        method: JointMethod,
        welds: Mapping[rules.Weld, str] = MappingProxyType({}),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.welds = {weld_key(weld): weld for weld in welds}
        self.strips = strips
        self.welded = method is JointMethod.SPOT_WELD
        self.bolted = method is JointMethod.BOLTED
        if self.welded:
            empty = [] if len(self.welds) == 1 else [("", "choose" if self.welds else "no peel sample of today")]
            good = [key for key, weld in self.welds.items() if not welds[weld]]
            held = [(key, str(self.welds[key])) for key in good]
            doubted = [
                (key, f"not to weld with: {weld} ({welds[weld]})") for key, weld in self.welds.items() if welds[weld]
            ]
            choices = [*empty, *held, *doubted]
            self.fields["weld"].choices = choices  # type: ignore[attr-defined]
            self.fields["weld"].initial = next(iter([*good, *self.welds]), "")  # the newest that holds is what is set
        else:
            del self.fields["weld"]
        if not self.bolted:
            del self.fields["clean_faces"], self.fields["measured_at"]
        self.fields["tries"] = due(
            forms.IntegerField(
                required=False,
                min_value=1,
                max_value=100,
                label="Most tries at one joint",
                help_text="the first one counted",
            )
        )
        self.fields[rules.COOLED] = forms.BooleanField(required=False, label=rules.words_of(rules.COOLED))
        word = method.conductor
        self.fields["all_on"] = forms.BooleanField(required=False, label=f"All {len(strips)} {word}s are on")
        if self.bolted:
            self._add_reading("torque_all", Measure.TORQUE, "Torque of every bar")
            self._add_reading("contact_all", Measure.CONTACT_RESISTANCE, "Worst contact of all bars")
        for number, label in strips.items():
            self._add_strip(number, label)

    def _add_strip(self, number: int, label: str) -> None:
        self.fields[f"done_{number}"] = forms.BooleanField(required=False, label=label)
        if self.welded:
            self.fields[f"spots_{number}"] = forms.IntegerField(
                min_value=1, initial=WELD_SPOTS, label="Spots per joint"
            )
        if self.bolted:
            self._add_reading(f"torque_{number}", Measure.TORQUE, "Torque")
            self._add_reading(f"contact_{number}", Measure.CONTACT_RESISTANCE, "Worst contact")
        self.fields[f"failed_{number}"] = forms.IntegerField(min_value=0, initial=0, label="Made again")

    def _add_reading(self, key: str, measure: Measure, label: str) -> None:
        field = QuantityField.of(measure, required=False, label=label)
        field.numbers = self.numbers
        self.fields[key] = due(field)

    def all_rows(self) -> Iterator[forms.BoundField]:
        """Yield what is said of all strips at once."""
        return (self[name] for name in ("all_on", "torque_all", "contact_all") if name in self.fields)

    def clean(self) -> dict[str, Any]:
        """What is said of all counts where a strip says nothing itself; a count is not lost on one that was not ticked."""
        cleaned = super().clean() or self.cleaned_data
        for number in self.strips:
            cleaned[f"done_{number}"] = cleaned.get(f"done_{number}") or cleaned.get("all_on", False)
            for name in ("torque", "contact"):
                if f"{name}_all" in self.fields and cleaned.get(f"{name}_{number}") is None:
                    cleaned[f"{name}_{number}"] = cleaned.get(f"{name}_all")
        for number in self.strips:
            key = f"failed_{number}"
            if cleaned.get(key) and not cleaned.get(f"done_{number}") and key in self.changed_data:
                self.add_error(f"done_{number}", "Tick this strip if it is on; else its count goes back to 0.")
        return cleaned

    def joined(self) -> list[StripJoined]:
        """Return the strips that are on."""
        return [
            StripJoined(
                strip=number,
                spots=self.cleaned_data.get(f"spots_{number}", 0),
                failed=self.cleaned_data[f"failed_{number}"],
                torque_mnm=self.cleaned_data.get(f"torque_{number}"),
                contact_uohm=self.cleaned_data.get(f"contact_{number}"),
            )
            for number in self.strips
            if self.cleaned_data[f"done_{number}"]
        ]

    def again(self) -> rules.MadeAgain:
        """Return what was said of joints that had to be made again; nothing where none was."""
        if not any(strip.failed for strip in self.joined()):
            return rules.MadeAgain()
        return rules.MadeAgain(tries=self.cleaned_data["tries"], cooled=self.cleaned_data[rules.COOLED])

    def again_rows(self) -> Iterator[forms.BoundField]:
        """Yield what is asked of joints that had to be made again."""
        return (self[name] for name in ("tries", rules.COOLED))

    def chosen_weld(self) -> rules.Weld | None:
        """Return what the welder is set to, None where nothing is welded or nothing was chosen."""
        return self.welds.get(self.cleaned_data.get("weld") or "")

    def confirmed(self, name: str) -> bool | None:
        """Return whether a tick of the form was set, None where the form does not ask."""
        return bool(self.cleaned_data[name]) if name in self.fields else None

    def rows(self) -> Iterator[tuple[forms.BoundField, list[forms.BoundField]]]:
        """Yield for each strip its tick and its numbers."""
        for number in self.strips:
            numbers = [
                self[key]
                for name in ("spots", "torque", "contact", "failed")
                if (key := f"{name}_{number}") in self.fields
            ]
            yield self[f"done_{number}"], numbers
