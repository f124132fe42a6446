"""Tables as CSV files."""

from __future__ import annotations

import csv
from collections.abc import Iterable

from django.http import HttpResponse


def csv_response(rows: Iterable[tuple[object, ...]], file_name: str) -> HttpResponse:
    """A CSV download. Text that a spreadsheet would take for a formula is kept as text."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{file_name}"'
    writer = csv.writer(response)
    for row in rows:
        writer.writerow([harmless(cell) for cell in row])
    return response


def harmless(cell: object) -> object:
    """The cell, with an apostrophe before text that begins like a formula.

    >>> harmless("=1+1"), harmless(-2.5), harmless("6BE6")
    ("'=1+1", -2.5, '6BE6')
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r")) else cell
