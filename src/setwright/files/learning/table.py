"""A table of survivors as columns of cells, whatever the columns are called."""

from __future__ import annotations

from setwright.files.problems import quoted, refuse
from setwright.files.shapes import RESERVED
from setwright.files.source_text import SURVIVORS_LIMIT, SourceBytes, check_size
from setwright.files.survivors.columns import known_names
from setwright.files.survivors.csv_text import open_csv
from setwright.files.survivors.spreadsheet import clean
from setwright.files.survivors.table import MOST_ROWS
from setwright.files.survivors.workbook import is_workbook, workbook_as_csv
from setwright.identity.model import Family

MOST_COLUMNS = 500


def columns_of(content: bytes, name: str, family: Family | None = None) -> dict[str, list[str]]:
    """The cells of a table by column name, all of one length; columns without a name are left out.

    content : CSV, XLSX or pasted text. family : helps to tell the separator.
    Raises FileProblems where it is no table, or two columns have one name.
    """
    if is_workbook(content):
        content, _ = workbook_as_csv(content, name)
    check_size(name, len(content), SURVIVORS_LIMIT // 10, "survivors")
    text = open_csv(SourceBytes(name, content), known_names(family) if family else RESERVED)
    records = text.records()
    header = next(records, None)
    names = [] if header is None else [clean(cell) for cell in header.cells]
    if sum(map(bool, names)) < 2:
        raise refuse(name, "no table was found; it begins with a row of column names, such as id, serial, converter")
    if len(names) > MOST_COLUMNS:
        raise refuse(name, f"the table has {len(names):,} columns; at most {MOST_COLUMNS} are looked at")
    twice = next((one for one in names if one and names.count(one) > 1), None)
    if twice is not None:
        raise refuse(name, f"the column {quoted(twice)} stands twice; give each its own name", where="row 1")
    columns: dict[str, list[str]] = {one: [] for one in names if one}
    for count, record in enumerate(records):
        if count == MOST_ROWS:
            raise refuse(name, f"the table has over {MOST_ROWS:,} rows; split it", line=record.line)
        cells = record.cells + [""] * (len(names) - len(record.cells))
        for one, cell in zip(names, cells, strict=False):
            if one:
                columns[one].append(cell)
    return columns
