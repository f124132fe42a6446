"""The app."""

from __future__ import annotations

from django.apps import AppConfig


class BackupConfig(AppConfig):
    """Backups; it keeps no records."""

    name = "setwright.workbench.backup"
    label = "backup"
