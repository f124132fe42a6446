"""What the forms of the account pages hold."""

from __future__ import annotations

from django import forms

from setwright.workbench.accounts.models import Role


class LogInForm(forms.Form):
    """Name and password."""

    name = forms.CharField(max_length=150)
    password = forms.CharField(max_length=4096, strip=False)


class PasswordForm(forms.Form):
    """A new password, and the present one of whoever sets it."""

    present = forms.CharField(max_length=4096, strip=False)
    password = forms.CharField(max_length=4096, strip=False)


class AccountForm(forms.Form):
    """A new account."""

    name = forms.CharField(max_length=150)
    password = forms.CharField(max_length=4096, strip=False)
    role = forms.ChoiceField(choices=Role.choices)


class RoleForm(forms.Form):
    """A role, in general or in the family named; "" lets the general one hold there."""

    family = forms.CharField(max_length=200, required=False)
    role = forms.ChoiceField(choices=[("", "as in general"), *Role.choices], required=False)
