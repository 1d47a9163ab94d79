"""The form that checks the leads of a welder."""

from typing import Any

from packs.units import NumberFormat
from shop.bridge.possible import WELDER
from shop.bridge.welder_leads import TYPED, Asked, Source

from .base import ShopForm
from .possible import PossibleField

SOURCE = ("voltage_mv", "resistance_uohm", "contact_uohm")
IN_FULL = "The current follows from all three of them, or from none."
NO_CURRENT = "Type the current, or state the source below."


def _field(name: str, **said: Any) -> PossibleField:
    return PossibleField(WELDER[name], **said)


class WelderLeadsForm(ShopForm):
    """Leads, pulses, and where it is known what drives them."""

    lead_area_um2 = _field(
        "lead_area_um2", whole=True, label="Size of the leads", help_text="copper, such as AWG 4 or 25 mm²"
    )
    lead_length_um = _field(
        "lead_length_um", whole=True, label="Length of one lead", help_text="such as 4 ft or 1200 mm"
    )
    current_ma = _field(
        "current_ma",
        required=False,
        label="Current of a pulse",
        help_text="what the source drives counts instead, where it is stated",
    )
    pulse_us = _field("pulse_us", label="A pulse lasts", help_text="all of its parts together")
    pulses = _field("pulses", whole=True, label="Pulses without a pause")
    rise_k = _field("rise_k", label="Rise permitted", help_text="of the lead, such as 30 K")
    voltage_mv = _field("voltage_mv", required=False, label="Source, open circuit", help_text="such as 12.6 V")
    resistance_uohm = _field("resistance_uohm", required=False, label="Resistance of the source")
    contact_uohm = _field(
        "contact_uohm", required=False, label="Between the electrodes", help_text="contacts and work together"
    )

    @classmethod
    def of_query(cls, query: Any, *, numbers: NumberFormat) -> "WelderLeadsForm":
        """Return the form as it was sent, or with the lead of common practice to begin with."""
        return cls(query or dict(TYPED), numbers=numbers)

    def clean(self) -> dict[str, Any]:
        """Ask for a current, or for all that it follows from."""
        cleaned = super().clean() or self.cleaned_data
        given = [name for name in SOURCE if cleaned.get(name) is not None or name in self.errors]
        for name in SOURCE if given else ():
            if name not in given:
                self.add_error(name, IN_FULL)
        if not given and cleaned.get("current_ma") is None and "current_ma" not in self.errors:
            self.add_error("current_ma", NO_CURRENT)
        return cleaned

    def source_given(self) -> bool:
        """Whether something of the source is typed."""
        return any(self[name].value() for name in SOURCE)

    def asked(self) -> Asked:
        """Return what is asked."""
        source = None
        if self.cleaned_data["voltage_mv"] is not None:
            named = dict(zip(SOURCE, self.values(*SOURCE).values(), strict=True))
            source = Source(**named)
        stated = self.values("lead_area_um2", "lead_length_um", "current_ma", "rise_k", "pulse_us", "pulses")
        return Asked(**stated, source=source)
