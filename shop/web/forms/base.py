"""The one kind of form: text fields that take units as people type them, terms, and refusals beside the field."""

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Any

from django import forms

from packs.errors import ParseError
from packs.terms import Measure, Term
from packs.units import Kind, NumberFormat, amount, measure_kind, measure_unit, parse, stored_unit
from shop.bridge import possible
from shop.errors import ShopError
from shop.operations.possible import CONFIRM, UNLIKELY


class ShopForm(forms.Form):
    """A form of the shop. ``numbers`` is how the shop writes numbers, where that is decided."""

    use_required_attribute = False
    asks_back = False
    """Whether somebody may say of a value that is asked back that it is true."""

    def __init__(self, *args: Any, numbers: NumberFormat | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.numbers = numbers
        if self.asks_back and CONFIRM in self.data:
            self._offer_to_confirm()
        for field in self.fields.values():
            if hasattr(field, "numbers"):
                field.numbers = numbers

    def refuse(self, error: ShopError) -> None:
        """Put an operation's refusal beside the field it is about, or each of several, or above the form."""
        for field, message in error.facts.get("fields", {error.field: error.message}).items():
            name = self.name_of(field)
            self.add_error(name if name in self.fields else None, message)
        if error.code == UNLIKELY and self.asks_back:
            self._offer_to_confirm()

    def also(self, check: Callable[[], object]) -> None:
        """Ask an operation's own check along with the fields, so that all that is wrong is named in one round."""
        try:
            check()
        except ShopError as error:
            named = error.facts.get("fields", {error.field: error.message})
            fresh = {field: message for field, message in named.items() if self.name_of(field) not in self.errors}
            for field, message in fresh.items():
                name = self.name_of(field)
                self.add_error(name if name in self.fields else None, message)

    def said_true(self) -> bool:
        """Return whether somebody said of what was asked back that it is true."""
        return bool(self.cleaned_data.get(CONFIRM))

    def _offer_to_confirm(self) -> None:
        self.fields[CONFIRM] = forms.BooleanField(required=False, label="It is true: take it as it stands")

    def add_error(self, field: str | None, error: Any) -> None:
        """Say beside a refused number how it was read, where its mark could be meant as the other one."""
        super().add_error(field, error)
        if field is None or self.numbers is None:
            return
        for number, text in self.typed_numbers(field):
            doubt = possible.misread(text, number.typed_unit, self.numbers)
            if doubt and doubt not in self.errors[field]:
                super().add_error(field, doubt)

    def understood(self) -> list[str]:
        """Say how those numbers were read that could have meant others."""
        if self.numbers is None:
            return []
        typed = [pair for name in self.fields for pair in self.typed_numbers(name)]
        said = (possible.read_as(text, number.typed_unit, self.numbers) for number, text in typed)
        return [sentence for sentence in said if sentence]

    def typed_numbers(self, name: str) -> "Iterator[tuple[QuantityField, str]]":
        """Yield the numbers typed into a field, each with what reads it."""
        field, text = self.fields[name], self.data.get(self.add_prefix(name))
        if isinstance(field, QuantityField) and isinstance(text, str):
            yield field, text

    def name_of(self, field: str) -> str:
        """Return the name that this form has for the operation's field."""
        return field

    def values(self, *names: str) -> dict[str, Any]:
        """Return the named cleaned values, or all."""
        return {name: self.cleaned_data[name] for name in names or self.fields}


class QuantityField(forms.CharField):
    """A number with its unit as people type it; its value is a Decimal in the unit it is stored in."""

    def __init__(self, kind: Kind, unit: str, *, typed_unit: str, whole: bool = False, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.kind, self.unit, self.typed_unit, self.whole = kind, unit, typed_unit, whole
        self.numbers: NumberFormat | None = None

    @classmethod
    def of(cls, measure: Measure, *, whole: bool = False, **kwargs: Any) -> "QuantityField":
        """Return the field for a measure of readings."""
        return cls(measure_kind(measure), stored_unit(measure), typed_unit=measure_unit(measure), whole=whole, **kwargs)

    def clean(self, value: Any) -> Decimal | int | None:
        """Return the value in the stored unit, or None where an optional field is empty."""
        text = super().clean(value)
        if not text:
            return None
        try:
            quantity = parse(text, self.kind, default_unit=self.typed_unit, numbers=self.numbers)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        stored = amount(quantity, self.unit)
        return int(stored.to_integral_value()) if self.whole else stored


class TermField(forms.TypedChoiceField):
    """One word of a closed list."""

    def __init__(self, terms: type[Term], *, only: Iterable[Term] | None = None, **kwargs: Any) -> None:
        choices = [(term.value, term.label) for term in (only or terms)]
        if not kwargs.get("required", True) or "initial" not in kwargs:
            choices = [("", "choose"), *choices]
        super().__init__(choices=choices, coerce=terms, empty_value=None, **kwargs)


class TermsField(forms.TypedMultipleChoiceField):
    """Several words of a closed list, each a tick."""

    def __init__(self, terms: type[Term], *, only: Iterable[Term] | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("widget", forms.CheckboxSelectMultiple())
        super().__init__(
            choices=[(term.value, term.label) for term in (only or terms)], coerce=terms, empty_value=[], **kwargs
        )
