"""Getting a set's record for a page, and the account that asks."""

from __future__ import annotations

from typing import cast

from django.contrib.auth.models import AbstractBaseUser
from django.db.models import QuerySet
from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from setwright.workbench.sets.models import SetRecord, ShelfLine


def set_records() -> QuerySet[SetRecord]:
    """Sets with their family, its register and their line on the shelf.

    The texts stay in the database until something is read anew: what was read or computed before is remembered.
    """
    records = SetRecord.objects.select_related("family__register", "shelf_line")
    return records.defer("text", "family__text", "family__register__text")


def shelf_records() -> QuerySet[SetRecord]:
    """The same with only what the shelf shows, and what tells whether a line is out of date."""
    own = ("key", "name", "serial", "digest", "file_name")
    family = ("family__key", "family__name", "family__digest", "family__file_name")
    register = ("family__register__digest", "family__register__removed_at", "family__register__file_name")
    line = (f"shelf_line__{field.name}" for field in ShelfLine._meta.fields)
    return SetRecord.objects.select_related("family__register", "shelf_line").only(*own, *family, *register, *line)


def set_record(key: str) -> SetRecord:
    """The set of that key; 404 where there is none."""
    return get_object_or_404(set_records(), key=key)


def user_of(request: HttpRequest) -> AbstractBaseUser:
    """The account that asks; every view's rule sees to it that there is one."""
    return cast(AbstractBaseUser, request.user)
