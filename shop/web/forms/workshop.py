"""Forms of the workshop itself."""

from typing import Any
from zoneinfo import available_timezones

from babel import Locale, UnknownLocaleError
from django import forms
from django.contrib.auth.password_validation import validate_password

from packs.terms import InMobility, Role
from shop.models import Jurisdiction, Paper

from .base import ShopForm, TermField, TermsField
from .possible import PossibleField


class SettingsForm(ShopForm):
    """The workshop's settings."""

    name = forms.CharField(label="Name of the workshop", max_length=120)
    address = forms.CharField(label="Address on papers", max_length=200, required=False)
    emergency_number = forms.CharField(label="Emergency number", max_length=20)
    jurisdiction = TermField(Jurisdiction, label="Where the shop stands")
    currency = forms.RegexField(r"^[A-Z]{3}$", label="Currency", help_text="three letters, such as EUR")
    time_zone = forms.CharField(label="Time zone", help_text="such as Europe/Vienna")
    paper = TermField(Paper, label="Paper")
    number_locale = forms.CharField(
        label="Number format", help_text="a language code: en writes a decimal point, de a decimal comma"
    )

    reclaimed_in_mobility = TermField(
        InMobility,
        label="Reclaimed cells in electric bicycles and the like",
        required=False,
        help_text="what the rules of the place say; until it is known none goes into one",
    )
    other_universal_waste_mg = PossibleField.stated(
        "other_universal_waste_mg",
        required=False,
        label="Other universal waste on the site",
        help_text="Lamps, mercury, pesticides and whatever else counts with the batteries here.",
    )

    def __init__(self, *args: Any, other_mg: int | None, **kwargs: Any) -> None:
        """Ask for other universal waste where the place knows it; elsewhere what was stated (``other_mg``) stays."""
        super().__init__(*args, **kwargs)
        self.other_mg = other_mg
        if other_mg is not None:
            del self.fields["other_universal_waste_mg"]

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        other = self.cleaned_data.get("other_universal_waste_mg") or self.other_mg or 0
        return self.values() | {"other_universal_waste_mg": other}

    def clean_reclaimed_in_mobility(self) -> InMobility:
        """What was not said is not known."""
        return self.cleaned_data["reclaimed_in_mobility"] or InMobility.UNKNOWN

    def clean_time_zone(self) -> str:
        """Refuse a zone nobody knows."""
        zone: str = self.cleaned_data["time_zone"]
        if zone not in available_timezones():
            raise forms.ValidationError("No such time zone. Write it as Europe/Vienna or America/Chicago.")
        return zone

    def clean_number_locale(self) -> str:
        """Refuse a language nobody knows."""
        code: str = self.cleaned_data["number_locale"]
        try:
            Locale.parse(code, sep="-" if "-" in code else "_")
        except (UnknownLocaleError, ValueError) as error:
            raise forms.ValidationError("No such language code. Write en, de, fr, en-GB ...") from error
        return code


class PersonForm(ShopForm):
    """A person who works here."""

    name = forms.CharField(label="Name", max_length=120)
    username = forms.CharField(
        label="Name to sign in with", max_length=40, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    password = forms.CharField(
        label="First password", widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )
    roles = TermsField(Role, label="May work as", required=True)

    def clean_password(self) -> str:
        """Refuse a password that is too easy."""
        password: str = self.cleaned_data["password"]
        validate_password(password)
        return password


class InstrumentForm(ShopForm):
    """A meter and how far it may be off."""

    name = forms.CharField(label="Name or number of the meter", max_length=80)
    error_ppm = PossibleField.stated("error_ppm", label="Error, share of the reading", help_text="such as 0.5 %")
    error_uv = PossibleField.stated("error_uv", label="Error, fixed part", help_text="such as 2 mV")
    calibrated_on = forms.DateField(
        label="Calibrated on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    calibrated_every_d = PossibleField.stated(
        "calibrated_every_d",
        required=False,
        label="Calibrated every",
        help_text="such as 365 d; once overdue, nothing it measures is graded or ends a final test",
    )
