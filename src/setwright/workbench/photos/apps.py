"""Django's name for this folder."""

from django.apps import AppConfig


class PhotosConfig(AppConfig):
    """The photos part of the site."""

    name = "setwright.workbench.photos"
    label = "photos"
