"""What the forms of the bench share: readings taken with one meter, each with its limit beside it."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from django import forms

from packs.terms import Measure
from shop.models import Instrument
from shop.operations.since import LONGEST

from .base import QuantityField, ShopForm


def due(field: forms.Field, limit: str = "") -> forms.Field:
    """Mark a field that a step waits for, though what is there is kept without it; its limit stands beside it."""
    field.due, field.limit = True, limit  # type: ignore[attr-defined]
    return field


class PaperForm(ShopForm):
    """A form whose readings may have stood on paper first."""

    measured_at = forms.DateTimeField(
        required=False,
        label="Measured at",
        help_text="leave empty where you type them as you read them",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )


class ReadingsForm(PaperForm):
    """A form whose readings are taken with one meter."""

    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Meter", empty_label="no meter named"
    )

    def add_reading(self, key: str, measure: Measure, label: str, *, limit: str = "", required: bool = False) -> None:
        """Add a field for one reading."""
        field = QuantityField.of(measure, required=required, label=label)
        field.numbers = self.numbers
        self.fields[key] = due(field, limit)


class AgainForm(ReadingsForm):
    """A form of a step that may be done again after a stop: then it says what was found and done since."""

    since = due(
        forms.CharField(
            required=False,
            max_length=LONGEST,
            label="What was found and done since the try before",
            help_text="or what was measured or typed wrongly then; it is kept with this try and printed",
        )
    )

    def __init__(self, *args: Any, ask_since: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not ask_since:
            del self.fields["since"]

    def told_since(self) -> str:
        """Return what was said of it; nothing where it is not asked."""
        return str(self.cleaned_data.get("since", ""))


class PointsForm(AgainForm):
    """One voltage per numbered point: taps or groups."""

    def add_points(self, word: str, limits: Sequence[str], measure: Measure = Measure.VOLTAGE) -> None:
        """Add one field per point, named by the word and its number."""
        self.points = [f"{word}_{number}" for number in range(1, len(limits) + 1)]
        for number, (key, limit) in enumerate(zip(self.points, limits, strict=True), start=1):
            self.add_reading(key, measure, f"{word.capitalize()} {number}", limit=limit)

    def point_values(self) -> list[Decimal | None]:
        """Return what was typed, in order, None where nothing was."""
        return [self.cleaned_data[key] for key in self.points]

    def rows(self) -> Iterator[forms.BoundField]:
        """Yield the point fields in order."""
        return (self[key] for key in self.points)

    def name_of(self, field: str) -> str:
        """Return the key of a point, which operations call by its words: "group 2"."""
        return field.replace(" ", "_")
