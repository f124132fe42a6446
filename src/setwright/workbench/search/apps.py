"""Django's name for this folder."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class SearchConfig(AppConfig):
    """Search over everything."""

    name = "setwright.workbench.search"
    label = "search"

    def ready(self) -> None:
        """Keeps the index with the records: at every change, and anew where it was made by an older Setwright."""
        from setwright.workbench.records.keeping import changed
        from setwright.workbench.search import index

        changed.connect(index.follow_change, dispatch_uid="search")
        post_migrate.connect(index.follow_migration, sender=self, dispatch_uid="search")
