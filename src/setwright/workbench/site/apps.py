"""Django's name for this folder."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """The site part of the site."""

    name = "setwright.workbench.site"
    label = "site"
