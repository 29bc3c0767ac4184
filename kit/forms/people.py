"""People and their roles: what is asked before any of it changes."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils.translation import gettext_lazy

from kit.forms.item import LineField
from kit.roles import ROLE_SAID

WHY = gettext_lazy("The ledger keeps it: who may do what is part of every proof.")


class ReasonForm(forms.Form):
    why = LineField(label=gettext_lazy("Why"), max_length=300, help_text=WHY)


class GiveRoleForm(ReasonForm):
    role = forms.ChoiceField(label=gettext_lazy("Role"))
    field_order = ["role", "why"]

    def __init__(self, *args: Any, held: Collection[str] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["role"].choices = [(role, said) for role, said in ROLE_SAID.items() if role not in held]


class NewPersonForm(GiveRoleForm):
    username = LineField(
        label=gettext_lazy("Name to sign in with"),
        max_length=150,
        validators=[UnicodeUsernameValidator()],
        help_text=gettext_lazy(
            "It stands in the ledger beside all that they do, and cannot be changed later."
        ),
    )
    first_name = LineField(label=gettext_lazy("First name"), max_length=150, required=False)
    last_name = LineField(label=gettext_lazy("Last name"), max_length=150, required=False)
    field_order = ["username", "first_name", "last_name", "role", "why"]

    def clean_username(self) -> str:
        return User.normalize_username(self.cleaned_data["username"])
