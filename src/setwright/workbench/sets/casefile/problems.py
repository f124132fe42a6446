"""What a file does not take, told at the field of the form that sent it."""

from __future__ import annotations

from django import forms

from setwright.files import FileProblems


def tell(form: forms.Form, failure: FileProblems) -> None:
    """Adds the file's problems to the form: at the field of that key where there is one, else above all fields."""
    for problem in failure.problems:
        key = problem.where.rsplit("key ", 1)[-1] if "key " in problem.where else problem.where
        hint = f" Did you mean “{problem.suggestion}”?" if problem.suggestion else ""
        field = FIELDS.get(key, key)
        form.add_error(field if field in form.fields else None, f"{problem.message}{hint}")


FIELDS = {"from": "from_whom"}
"""Fields that are called otherwise than the key."""
