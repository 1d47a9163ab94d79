"""Forms of several packs out of one stock: which jobs in which order, and the groups as they were shown."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.core import signing

from shop.bridge.accepting import Shown
from shop.bridge.sharing import MOST_PACKS
from shop.models import Job, Plan

from .base import ShopForm

SALT = "packs shown"


class ShareForm(ShopForm):
    """How the stock is shared, and the place of each job; one with no place is left out."""

    shares = forms.ChoiceField(
        label="How the stock is shared",
        choices=[
            ("fair", "fair: the weakest pack as good as can be"),
            ("priority", "in order: the first place as good as can be, then the second; jobs of one place alike"),
        ],
        initial="fair",
    )

    def __init__(self, *args: Any, plans: Sequence[Plan], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plans = plans
        places = [("", "not now"), *((str(n), str(n)) for n in range(1, min(len(plans), MOST_PACKS) + 1))]
        for place, plan in enumerate(plans, start=1):
            self.fields[self._name(plan)] = forms.ChoiceField(
                label=f"{plan.job.code} {plan.job.device}, {plan.series}s{plan.parallel}p",
                choices=places,
                required=False,
                initial=str(place) if place <= MOST_PACKS else "",
            )

    @staticmethod
    def _name(plan: Plan) -> str:
        return f"job_{plan.job.number}"

    def clean(self) -> dict[str, Any]:
        """Refuse fewer than two packs, and more than one page can share out."""
        cleaned = super().clean() or self.cleaned_data
        chosen = [plan for plan in self.plans if cleaned.get(self._name(plan))]
        if not 2 <= len(chosen) <= MOST_PACKS:
            raise forms.ValidationError(f"Give a place to at least two jobs, and to {MOST_PACKS} at most.")
        cleaned["chosen"] = sorted(chosen, key=lambda plan: (int(cleaned[self._name(plan)]), plan.job.number))
        return cleaned

    @property
    def places(self) -> list[int] | None:
        """The place of each chosen job; None where all are alike."""
        if self.cleaned_data["shares"] == "fair":
            return None
        return [int(self.cleaned_data[self._name(plan)]) for plan in self.cleaned_data["chosen"]]

    @property
    def alike(self) -> list[list[Plan]]:
        """Chosen jobs that were given one place where the order counts."""
        by_place: dict[int, list[Plan]] = {}
        for place, plan in zip(self.places or (), self.cleaned_data.get("chosen", ()), strict=False):
            by_place.setdefault(place, []).append(plan)
        return [plans for plans in by_place.values() if len(plans) > 1]


def signed_packs(packs: Iterable[tuple[Job, Plan, Sequence[Sequence[str]], Shown | None]]) -> str:
    """Return packs as the form carries them: job with its version, plan with its version, groups, how they were shown."""
    shown = [
        {
            "job": [job.pk, job.version],
            "plan": [plan.pk, plan.version],
            "groups": [list(codes) for codes in groups],
            "as": None if how is None else how.written(),
        }
        for job, plan, groups, how in packs
    ]
    return signing.dumps(shown, salt=SALT, compress=True)


class AcceptTogetherForm(ShopForm):
    """The packs as they were shown, signed: nothing else can be reserved through this page."""

    packs = forms.CharField(
        widget=forms.HiddenInput(), error_messages={"required": "There were no packs to reserve for. Look again."}
    )

    def clean_packs(self) -> list[dict[str, Any]]:
        """Return jobs with their versions and groups, if they were shown for the targets that stand."""
        try:
            shown: list[dict[str, Any]] = signing.loads(self.cleaned_data["packs"], salt=SALT)
        except signing.BadSignature as error:
            raise forms.ValidationError("These are not packs that were shown. Look again.") from error
        for one in shown:
            pk, version = one["plan"]
            if not Plan.objects.filter(pk=pk, version=version, accepted_at=None).exists():
                raise forms.ValidationError("A target pack was changed since this was shown. Look again.")
        return shown
