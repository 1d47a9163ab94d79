"""Forms about the people who work here: passwords and roles."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password

from packs.terms import Role
from shop.models import User

from .base import ShopForm, TermsField

NEW = {"autocomplete": "new-password"}


class RolesForm(ShopForm):
    """What somebody may do."""

    roles = TermsField(Role, label="May work as", required=True)


class OncePasswordForm(ShopForm):
    """A password that opens the door once."""

    password = forms.CharField(
        label="One-time password",
        widget=forms.PasswordInput(attrs=NEW),
        help_text="Tell it in person. At the next sign-in it has to be changed.",
    )

    def clean_password(self) -> str:
        """Refuse a password that is too easy."""
        password: str = self.cleaned_data["password"]
        validate_password(password)
        return password


class OwnPasswordForm(ShopForm):
    """A new password of one's own, with the one that counts until now."""

    old = forms.CharField(
        label="Password until now", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    password = forms.CharField(label="New password", widget=forms.PasswordInput(attrs=NEW))
    again = forms.CharField(label="New password again", widget=forms.PasswordInput(attrs=NEW))

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_old(self) -> str:
        """Whoever sits at a page left open does not know it."""
        old: str = self.cleaned_data["old"]
        if not self.person.check_password(old):
            raise forms.ValidationError("This is not the password that counts until now.")
        return old

    def clean_password(self) -> str:
        """Refuse a password that is too easy."""
        password: str = self.cleaned_data["password"]
        validate_password(password, self.person)
        return password

    def clean(self) -> dict[str, Any]:
        """Both new ones are the same, and not the old one."""
        cleaned = super().clean() or self.cleaned_data
        new = cleaned.get("password")
        if new and cleaned.get("again") and new != cleaned["again"]:
            self.add_error("again", "The two new passwords differ.")
        if new and new == cleaned.get("old"):
            self.add_error("password", "This is the password until now.")
        return cleaned
