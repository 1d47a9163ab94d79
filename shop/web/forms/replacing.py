"""The form of a cell of a plan that is not fit: the change as it was shown, why, and what the cell is now."""

from typing import Any

from django import forms
from django.core import signing

from packs.terms import Condition
from shop.bridge.replacing import LeastChange
from shop.models import Plan

from .base import ShopForm, TermField

SALT = "change shown"


class ReplaceForm(ShopForm):
    """The change as it was shown, signed: nothing else can be done through this page."""

    change = forms.CharField(
        widget=forms.HiddenInput(), error_messages={"required": "No change was shown. Look again what fits."}
    )
    reason = forms.CharField(label="What is wrong with it", max_length=300)
    condition = TermField(Condition, label="The cell is")

    def __init__(self, *args: Any, plan: Plan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plan = plan

    def clean_change(self) -> dict[str, Any]:
        """Return which cell goes, and what goes in at each position, if it was shown for this plan."""
        try:
            shown: dict[str, Any] = signing.loads(self.cleaned_data["change"], salt=SALT)
        except signing.BadSignature as error:
            raise forms.ValidationError("This is no change that was shown. Look again what fits.") from error
        if shown.pop("plan") != [self.plan.pk, self.plan.version]:
            raise forms.ValidationError("The plan was changed since this was shown. Look again what fits.")
        return shown

    @staticmethod
    def signed(plan: Plan, code: str, least: LeastChange) -> str:
        """Return a change as the form carries it."""
        goes_in = {change.position: change.into for change in least.changes}
        return signing.dumps(
            {"plan": [plan.pk, plan.version], "code": code, "goes_in": goes_in}, salt=SALT, compress=True
        )
