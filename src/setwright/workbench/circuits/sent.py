"""Files and texts that a form sends, and what is wrong with them at its line."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest

from setwright.files import FileProblems
from setwright.files.problems import refuse

MOST_BYTES = 5_000_000


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong: where, what, and the line as it stands; `line` is "" where it is about the whole."""

    where: str
    message: str
    line: str


def sent_text(request: HttpRequest, name: str) -> tuple[str, str]:
    """The text that was sent and what it is called: of the file if one was chosen, else of the text field.

    name : what a text without a file is called. Raises FileProblems for what is too large or is no text.
    """
    upload = request.FILES.get("file")
    if upload is None:
        return request.POST.get("text", "").replace("\r\n", "\n"), name
    given = upload.name or name
    if upload.size is not None and upload.size > MOST_BYTES:
        raise refuse(given, f"the file has {upload.size / 1e6:.0f} MB; {MOST_BYTES / 1e6:.0f} MB are taken")
    try:
        return upload.read().decode("utf-8-sig").replace("\r\n", "\n"), given
    except UnicodeDecodeError as error:
        message = f"byte {error.start + 1} is no UTF-8; save the file as text in UTF-8 and send it again"
        raise refuse(given, message) from error


def mistakes_of(failure: FileProblems, text: str) -> tuple[Mistake, ...]:
    """The problems of a file with the lines that they are about."""
    lines = text.split("\n")
    found = []
    for problem in failure.problems:
        number = problem.line
        hint = f' Did you mean "{problem.suggestion}"?' if problem.suggestion else ""
        where = ", ".join(part for part in (f"line {number}" if number else "", problem.where) if part)
        line = lines[number - 1].strip() if number and 0 < number <= len(lines) else ""
        found.append(Mistake(where, f"{problem.message}{hint}", line[:200]))
    return tuple(found)
