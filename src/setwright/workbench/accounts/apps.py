"""Django's name for this folder."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """The accounts of a shared site."""

    name = "setwright.workbench.accounts"
    label = "accounts"
