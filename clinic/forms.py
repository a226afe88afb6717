"""What staff fill in outside a recovery: which practice they work at, and their first password."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import password_validators_help_text_html, validate_password
from django.utils.translation import gettext_lazy as _

from clinic.models import Membership, Staff


class LogInForm(AuthenticationForm):
    """E-mail and password. One sentence for every way to be wrong: it does not tell whether somebody works here."""

    error_messages = {
        "invalid_login": _(
            "This e-mail and password do not belong together. Passwords tell capital and small letters apart."
        ),
        "inactive": _("This e-mail and password do not belong together."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Staff know their login as their e-mail."""
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("E-mail")
        self.fields["username"].widget = forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})

    def clean_username(self) -> str:
        """In small letters, so that no other spelling of one e-mail gets ten tries of its own."""
        return str(self.cleaned_data["username"]).strip().lower()


class PracticeForm(forms.Form):
    """Which of one's practices."""

    def __init__(self, *args: Any, among: list[Membership], **kwargs: Any) -> None:
        """Only practices where whoever asks works."""
        super().__init__(*args, **kwargs)
        self.fields["practice"] = forms.TypedChoiceField(
            label=_("Practice"),
            coerce=int,
            choices=[(each.practice_id, f"{each.practice.name}, {each.get_role_display()}") for each in among],
            error_messages={
                "required": _("Choose a practice."),
                "invalid_choice": _("You do not work at that practice. Choose one of these."),
            },
            widget=forms.RadioSelect,
        )


class FirstPasswordForm(forms.Form):
    """A password of one's own, written twice."""

    password = forms.CharField(
        label=_("New password"),
        strip=False,
        help_text=password_validators_help_text_html(),
        error_messages={"required": _("Write a password.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label=_("The same password again"),
        strip=False,
        error_messages={"required": _("Write the password a second time.")},
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, staff: Staff, **kwargs: Any) -> None:
        """A password must not be one's own name or e-mail."""
        super().__init__(*args, **kwargs)
        self.staff = staff

    def clean_password(self) -> str:
        """A password that is hard enough. Raises ValidationError."""
        password: str = self.cleaned_data["password"]
        validate_password(password, self.staff)
        return password

    def clean(self) -> dict[str, Any]:
        """Both say the same."""
        found = super().clean() or {}
        if "password" in found and "again" in found and found["password"] != found["again"]:
            self.add_error("again", _("The two passwords differ. Write the same one twice."))
        return found
