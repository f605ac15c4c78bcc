"""Forms for getting in and letting in."""

from __future__ import annotations

import secrets
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, BaseUserCreationForm, UsernameField
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils import timezone

from config.accounts import invitations, setup_code
from config.accounts.models import Invitation

if TYPE_CHECKING:
    NewAccountForm = BaseUserCreationForm[User]
else:
    NewAccountForm = BaseUserCreationForm  # Django's forms know no type parameters at run time

WORD_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # typed on a phone: no capitals, nothing misread


class SetupForm(NewAccountForm):
    """The first account; the code is asked for unless the browser runs on the server itself."""

    code = forms.CharField(
        label="Code from the terminal",
        help_text="Printed where the server was started, for example 7K3M-Q9XD.",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
    )
    field_order = ["code", "username", "password1", "password2"]

    class Meta:
        model = User
        fields = ("username",)

    def __init__(self, *args: Any, needs_code: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Your name here"
        self.fields["username"].help_text = "Short is good: you type it on each device. Letters, digits and @ . + - _"
        if not needs_code:
            del self.fields["code"]

    def clean_code(self) -> str:
        """Only the code that the running server printed will do."""
        code: str = self.cleaned_data["code"]
        if not setup_code.fits(code):
            raise forms.ValidationError(
                "That is not the code in the terminal. A restart of the server prints a new one."
            )
        return code


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "Name and password do not fit together. Capitals count in both.",
    }

    def confirm_login_allowed(self, user: User) -> None:
        """A helper gets in up to the last day, that day included."""
        super().confirm_login_allowed(user)
        term = getattr(user, "helper_term", None)
        if term and term.until < timezone.localdate() and not user.is_superuser:
            ended = f"{term.until.day} {term.until:%B %Y}"
            raise forms.ValidationError(f"This helper account ended on {ended}.", code="ended")


def a_password() -> str:
    """A password to say over the phone: three groups of four, 59 bits."""
    return "-".join("".join(secrets.choice(WORD_LETTERS) for _ in range(4)) for _ in range(3))


def in_two_weeks() -> date:
    """A holiday is the usual reason for a helper."""
    return timezone.localdate() + timedelta(days=14)


class HelperForm(forms.Form):
    """Somebody who feeds while the keeper is away."""

    username = UsernameField(label="Name", max_length=150, validators=[UnicodeUsernameValidator()])
    password = forms.CharField(
        label="Password",
        initial=a_password,
        help_text="Tell it to your helper now: it is not shown again.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    until = forms.DateField(
        label="Last day",
        initial=in_two_weeks,
        help_text="After it, this account no longer opens.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def clean_password(self) -> str:
        """The same rules as for a keeper's password."""
        password: str = self.cleaned_data["password"]
        validate_password(password, User(username=self.data.get("username", "")))
        return password

    def clean_until(self) -> date:
        """A last day in the past would admit nobody."""
        return not_passed(self.cleaned_data["until"])


LONGEST_TERM = timedelta(days=100 * 365)  # the end of the session is an instant that must be a date everywhere


def not_passed(day: date) -> date:
    """Today or later, but not for ever; refused otherwise."""
    if day < timezone.localdate():
        raise forms.ValidationError("That day has passed.")
    if day > timezone.localdate() + LONGEST_TERM:
        raise forms.ValidationError("Choose a day of the next hundred years.")
    return day


class InvitationForm(forms.Form):
    """Until when, and for whom if the keeper likes to say."""

    name = UsernameField(
        label="Name",
        max_length=150,
        required=False,
        validators=[UnicodeUsernameValidator()],
        help_text="May stay empty: your helper chooses one. A former helper’s name gives that account back.",
    )
    until = forms.DateField(
        label="Last day",
        initial=in_two_weeks,
        help_text="After it, the account no longer opens.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def clean_name(self) -> str:
        """A keeper needs no invitation."""
        name: str = self.cleaned_data["name"]
        if name and User.objects.filter(username__iexact=name, is_superuser=True).exists():
            raise forms.ValidationError(f"{name} is a keeper, and needs no invitation.")
        return name

    def clean_until(self) -> date:
        """A last day in the past would admit nobody."""
        return not_passed(self.cleaned_data["until"])


class JoinForm(NewAccountForm):
    """A helper's own account, made by following a link."""

    class Meta:
        model = User
        fields = ("username",)

    def __init__(self, *args: Any, invitation: Invitation, **kwargs: Any) -> None:
        super().__init__(*args, initial={"username": invitation.name}, **kwargs)
        self.invitation = invitation
        self.fields["username"].label = "Your name here"
        self.fields["username"].help_text = "What you log stands under it. Letters, digits and @ . + - _"

    def clean_username(self) -> str:
        """A name of one's own: the account of somebody else is not given away with it."""
        username: str = self.cleaned_data["username"]
        if invitations.is_taken(username, self.invitation):
            raise forms.ValidationError("Somebody has this name here already. Choose another.")
        return username

    def validate_unique(self) -> None:
        """Decided above: a former helper takes the own name again."""
