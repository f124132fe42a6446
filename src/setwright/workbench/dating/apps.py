"""Django's name for this folder."""

from django.apps import AppConfig


class DatingConfig(AppConfig):
    """The dating part of the site."""

    name = "setwright.workbench.dating"
    label = "dating"
