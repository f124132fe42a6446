"""Django's name for this folder."""

from django.apps import AppConfig


class SurvivorsConfig(AppConfig):
    """The survivors part of the site."""

    name = "setwright.workbench.survivors"
    label = "survivors"
