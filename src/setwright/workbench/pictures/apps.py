"""Django's name for this folder."""

from django.apps import AppConfig


class PicturesConfig(AppConfig):
    """The pictures part of the site."""

    name = "setwright.workbench.pictures"
    label = "pictures"
