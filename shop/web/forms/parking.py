"""Forms of a half-built pack that is parked and taken up again."""

from typing import Any

from django import forms

from packs.terms import Measure
from shop.bridge import rules

from .readings import PointsForm, due


class ParkedForm(PointsForm):
    """What the groups have, where cells are joined already."""

    def __init__(self, *args: Any, groups: int, charging: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_points("group", [""] * groups, Measure.REST_VOLTAGE)
        del self.fields["measured_at"]  # who parks a pack stands beside it
        if not groups:
            del self.fields["instrument"]
        if not charging:
            del self.fields[self.only_charging]

    only_charging = ""


class ParkForm(ParkedForm):
    """Where the pack is left, and that it can be left."""

    place = due(
        forms.CharField(required=False, max_length=80, label="Where it lies", help_text="such as shelf 3, metal box")
    )
    insulated = forms.BooleanField(required=False, label=rules.words_of("park.ends_insulated"))
    supply_off = forms.BooleanField(required=False, label=rules.words_of("park.supply_off"))
    only_charging = "supply_off"


class ResumeForm(ParkedForm):
    """What the groups have before work goes on, and who stays beside a pack that charges."""

    supervised_by = due(forms.CharField(required=False, max_length=100, label="Who stays beside it now"))
    only_charging = "supervised_by"
