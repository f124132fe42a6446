"""For migrations: records from before there was a history get their first entry."""

from __future__ import annotations

from typing import Any

from setwright.workbench.records.models import packed

CARRIED = "Taken over from before changes were kept"


def make_first_entries(apps: Any, app: str, model: str, kind: str) -> None:
    """Entry 1 of every record of a model that has none, made from what is there."""
    revisions = apps.get_model("records", "Revision")
    for record in apps.get_model(app, model)._base_manager.iterator(chunk_size=50):
        revisions.objects.create(
            kind=kind,
            key=record.key,
            number=1,
            text_zip=packed(record.text),
            digest=record.digest,
            by_name="you",
            at=record.changed_at,
            what=CARRIED,
        )
