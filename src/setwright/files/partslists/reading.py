"""Parts lists of service documents, as tables or as pasted lines, read into references with values and words.

A table has a header row that names a reference column ("Ref", "Symbol", "Schematic location" …); commas, semicolons,
tabs or | separate its cells. Pasted lines begin with their reference: `C12 .05 mfd 400 V paper`, `R7 470K 1/2 watt`,
`V3 6BE6 converter`, with a part number before or behind. Nothing is dropped in silence: every line that is not
understood is kept with its number and the reason.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from setwright.files.partslists.lines import ListedPart, UnreadLine, read_part_line, without_price
from setwright.files.problems import refuse
from setwright.files.source_text import MEGABYTE, SourceBytes, load, refuse_other_kinds

PARTS_LIST_LIMIT = 1 * MEGABYTE
MOST_LINES = 5000
_LONGEST_LINE = 1000
_SEARCHED_FOR_HEADER = 15
_DELIMITERS = "\t;|,"

_COLUMNS = {
    "reference": "ref refs reference references symbol designation designator circuitref circuitsymbol partref key "
    "schematicsymbol schematiclocation schemlocation schemloc schematicref diagramref diagramno diagramsymbol refno "
    "referenceno referencenumber refdes item itemno",
    "number": "part partno partnumber partnum stockno stocknumber stock catno catalogno catalognumber orderno "
    "makersnumber pn",
    "value": "value val capacity capacitance resistance inductance",
    "volts": "volts voltage ratedvolts workingvolts workingvoltage wv vdcw ratedvoltage v",
    "watts": "watts wattage ratedwatts w power",
    "tolerance": "tolerance tol",
    "words": "description desc name type function use kind construction material remarks remark note notes rating "
    "ratings tube tubetype partname specification spec circuit",
    "mfd": "mfd mf uf",
    "mmf": "mmf mmfd uuf pf",
    "ohms": "ohms ohm",
}
_MEANING = {name: column for column, names in _COLUMNS.items() for name in names.split()}
_UNIT_OF_COLUMN = {"volts": "V", "watts": "W", "tolerance": "%", "mfd": "mfd", "mmf": "mmf", "ohms": "ohms"}
_HEADING_WORDS = (
    "parts part list lists of the and or for replacement capacitors capacitor condensers condenser resistors resistor "
    "coils coil transformers transformer tubes tube chokes choke speaker speakers switches switch miscellaneous misc "
    "ref reference no number description value rating symbol name electrical mechanical components component page "
    "chassis cabinet controls control rectifiers lamps fuses stock item schematic location fixed variable price prices "
    "net each qty quantity used"
)


@dataclass(frozen=True, slots=True)
class PartsList:
    """One printing's parts list.

    label : what its version is called. parts : by reference, in the order of the list.
    unread : lines that were not understood; a reference they name is in the set, but nothing is known of it.
    passed_over : headings and columns that say nothing about parts. named : the references of unread lines.
    omitted : references of which the list says that there is no such part.
    """

    label: str
    name: str
    parts: Mapping[str, ListedPart]
    unread: tuple[UnreadLine, ...] = ()
    passed_over: tuple[str, ...] = ()
    named: Mapping[str, ListedPart] = field(default_factory=dict)
    omitted: frozenset[str] = frozenset()

    def part(self, reference: str) -> ListedPart | None:
        """What the list says of a reference; None where it does not name it at all."""
        return self.parts.get(reference) or self.named.get(reference)


@dataclass
class _Reader:
    """Collects the parts of one list."""

    m_means_thousand: bool
    parts: dict[str, ListedPart] = field(default_factory=dict)
    omitted: dict[str, ListedPart] = field(default_factory=dict)
    unread: list[UnreadLine] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)
    prices: bool = False

    def take(self, line: int, text: str, *, priced: bool = True) -> None:
        """Read one line; `priced` where it may end in a price."""
        text = "".join(character if character.isprintable() else " " for character in text)
        if len(text) > _LONGEST_LINE:
            why = f"it is {len(text):,} characters long; a line of a parts list has at most {_LONGEST_LINE:,}"
            self.unread.append(UnreadLine(line, f"{text[:60]}…", why))
            return
        if is_heading(text):
            self.passed_over.append(f'line {line}: heading "{" ".join(text.split())}"')
            return
        found = (priced and self._without_price(line, text)) or self._read(line, text)
        if isinstance(found, UnreadLine):
            self.unread.append(found)
            return
        for part in found:
            before = self.parts.get(part.reference) or self.omitted.get(part.reference)
            if before is None:
                (self.omitted if part.omitted else self.parts)[part.reference] = part
            elif before.said == part.said and before.omitted == part.omitted:
                self.passed_over.append(f"line {line}: {part.reference} again, as on line {before.line}")
            else:
                why = f"{part.reference} stands on line {before.line} already, with something else; keep one of them"
                self.unread.append(UnreadLine(line, text.strip(), why))

    def _read(self, line: int, text: str) -> list[ListedPart] | UnreadLine:
        return read_part_line(line, text, m_means_thousand=self.m_means_thousand)

    def _without_price(self, line: int, text: str) -> list[ListedPart] | None:
        """The parts of a line that ends in a price; None where it has none, or where the price may be the value."""
        plain = without_price(text)
        found = self._read(line, plain) if plain != text else None
        if not isinstance(found, list) or any(part.kind.has_value and not part.says_enough for part in found):
            return None
        self.prices = True
        return found


def is_heading(text: str) -> bool:
    """Whether a line holds only words that head a list or a part of it.

    >>> is_heading("CAPACITORS"), is_heading("Ref. No.  Part No.  Description"), is_heading("C12 paper")
    (True, True, False)
    """
    words = re.findall(r"[a-z]+", text.casefold())
    return bool(words) and not re.search(r"\d", text) and set(words) <= set(_HEADING_WORDS.split())


def read_parts_list(
    path_or_bytes: str | Path | bytes,
    label: str | None = None,
    *,
    name: str | None = None,
    m_means_thousand: bool = False,
) -> PartsList:
    """Read a parts list from a file or from bytes.

    label : the version's name; the file's name without its ending where none is given.
    m_means_thousand : "470M" on this list means 470,000 ohms.

    Raises FileProblems where the file cannot be read as text or holds not one part.
    """
    source = load(path_or_bytes, name, PARTS_LIST_LIMIT, "parts list")
    text = _decoded(source)
    label = label or Path(source.name).stem.replace("_", " ").replace("-", " ")
    reader = _Reader(m_means_thousand)
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise refuse(
            source.name,
            f"the file has {len(lines):,} lines; the parts list of one set has a few hundred, at most {MOST_LINES:,} "
            "are compared. Check that this is the right file",
        )
    header = _find_header(lines)
    if header is None:
        _read_lines(reader, lines)
    else:
        _read_table(reader, lines, *header)
    if reader.prices:
        reader.passed_over.append("the prices at the ends of lines are not compared")
    if not reader.parts and not reader.omitted:
        first = reader.unread[0] if reader.unread else None
        why = f'; line {first.line} "{first.text[:60]}": {first.why}' if first else ""
        raise refuse(
            source.name,
            "no part was found; a parts list is a table with a reference column, or lines such as "
            f'"C12 .05 mfd 400 V"{why}',
        )
    named = {part.reference: part for unread in reader.unread for part in unread.named_parts()}
    return PartsList(
        label,
        source.name,
        reader.parts,
        tuple(reader.unread),
        tuple(reader.passed_over),
        named,
        frozenset(reader.omitted),
    )


def _decoded(source: SourceBytes) -> str:
    """UTF-8 or UTF-16 where the bytes are that, else the Western encoding of older machines, which fits any bytes."""
    refuse_other_kinds(source, "a parts list as plain text or CSV")
    encoding = "utf-16" if source.data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
    try:
        text = source.data.decode(encoding)
    except UnicodeDecodeError:
        text = source.data.decode("cp1252", errors="replace")
    if "\0" in text:
        raise refuse(source.name, "the file is not plain text; save the parts list as text or CSV")
    return text


def _read_lines(reader: _Reader, lines: list[str]) -> None:
    for number, text in enumerate(lines, start=1):
        if text.strip() and not text.lstrip().startswith("#"):
            reader.take(number, text.replace("|", "  ").replace(";", "  ").replace("\t", "  "))


def _find_header(lines: list[str]) -> tuple[int, str, list[str | None]] | None:
    """Index, separator and column meanings of the header row; None where there is none."""
    for index, line in enumerate(lines[:_SEARCHED_FOR_HEADER]):
        for delimiter in _DELIMITERS:
            cells = next(csv.reader([line], delimiter=delimiter), [])
            meanings = [_MEANING.get(re.sub(r"[^a-z]", "", cell.casefold())) for cell in cells]
            if len(cells) > 1 and "reference" in meanings and len(set(meanings) - {None, "reference"}) > 0:
                return index, delimiter, meanings
    return None


def _read_table(reader: _Reader, lines: list[str], header: int, delimiter: str, meanings: list[str | None]) -> None:
    _read_lines_before(reader, lines[:header])
    titles = next(csv.reader([lines[header]], delimiter=delimiter))
    reader.passed_over.extend(
        f'column "{title}" is not compared'
        for title, meaning in zip(titles, meanings, strict=True)
        if meaning is None and title.strip()
    )
    for line, cells in _rows(lines, header, delimiter):
        if not any(cell.strip() for cell in cells) or cells[0].startswith("#"):
            continue
        if len(cells) > len(meanings) and any(cell.strip() for cell in cells[len(meanings) :]):
            why = f"{len(cells)} cells stand under {len(meanings)} columns; put cells that hold a comma in quotes"
            reader.unread.append(UnreadLine(line, delimiter.join(cells), why))
            continue
        reader.take(line, _as_line(cells, meanings), priced=False)


def _read_lines_before(reader: _Reader, lines: list[str]) -> None:
    reader.passed_over.extend(
        f'line {number}: "{text.strip()}" before the header row' for number, text in enumerate(lines, 1) if text.strip()
    )


def _rows(lines: list[str], header: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """The rows behind the header with the line on which each begins."""
    rows = csv.reader((line + "\n" for line in lines[header + 1 :]), delimiter=delimiter)
    first = header + 2
    for cells in rows:
        yield first, cells
        first = header + 2 + rows.line_num


def _as_line(cells: list[str], meanings: list[str | None]) -> str:
    """The row as a pasted line: reference, value and ratings, words, part number."""
    by_meaning: dict[str, list[str]] = {}
    for cell, meaning in zip(cells, meanings, strict=False):
        text = " ".join(cell.split())
        if meaning and text:
            by_meaning.setdefault(meaning, []).append(_with_unit(text, meaning))
    order = ("reference", "value", "mfd", "mmf", "ohms", "volts", "watts", "tolerance", "words")
    words = [text for meaning in order for text in by_meaning.get(meaning, [])]
    numbers = [f"part no. {number}" for number in by_meaning.get("number", [])]
    return "  ".join([*words, *numbers])


def _with_unit(text: str, meaning: str) -> str:
    """A bare number gets the unit its column is headed with."""
    unit = _UNIT_OF_COLUMN.get(meaning)
    return f"{text} {unit}" if unit and re.fullmatch(r"[\d.,/ ½¼]+", text) else text
