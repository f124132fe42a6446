"""`setwright compare`: parts lists of different printings become features and versions of a family file."""

from __future__ import annotations

import enum
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from setwright.cli.words import count

if TYPE_CHECKING:
    from setwright.files.partslists.comparison import Comparison
    from setwright.files.partslists.reading import PartsList


class FamilyKind(enum.StrEnum):
    """What a family is."""

    RADIO = "radio"
    TELEVISION = "television"
    TEST_GEAR = "test gear"
    AMPLIFIER = "amplifier"
    OTHER = "other"


def compare(
    lists: Annotated[
        list[str],
        typer.Argument(
            metavar="LIST LIST...",
            help="Parts lists, the earliest printing first: tables (CSV with a header row) or pasted lines such as "
            "`C12 .05 mfd 400 V`; - reads one from standard input.",
        ),
    ],
    label: Annotated[
        list[str] | None,
        typer.Option(metavar="TEXT", help="What a list's version is called, one for each list (default: the file)."),
    ] = None,
    changes_only: Annotated[
        list[str] | None,
        typer.Option(
            metavar="LIST", help="A list (file or label) that names only changes; the rest is as in the one before."
        ),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE", help="Write a new family file (default: print it).")
    ] = None,
    into: Annotated[
        Path | None, typer.Option(metavar="FAMILY.toml", help="Extend this family file; all else in it stays as it is.")
    ] = None,
    name: Annotated[str | None, typer.Option(metavar="TEXT", help="The new family's name.")] = None,
    kind: Annotated[FamilyKind, typer.Option(help="The new family's kind.")] = FamilyKind.RADIO,
    line: Annotated[
        str | None, typer.Option(metavar="LINE", help="With --into: the production line of the new versions.")
    ] = None,
    m_means_thousand: Annotated[
        bool, typer.Option("--m-means-thousand", help="On these lists 470M means 470,000 ohms.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace the output file if it exists.")] = False,
) -> None:
    """Compare parts lists of different printings and make a family file of what differs.

    Each reference that differs becomes a proposed feature with its states, unit, access and permanence; each list
    becomes a version. Values that are only written differently (.05 mfd, 50 nF) are the same.
    """
    from setwright.files.partslists.comparison import compare_lists

    _check_use(lists, label, output, into, line)
    parts_lists = _read(lists, label, m_means_thousand)
    comparison = compare_lists(parts_lists, _indices(changes_only, lists, parts_lists))
    report = sys.stdout if output or into else sys.stderr
    _print_report(comparison, report)
    if not comparison.proposals and not into:
        print("No feature was found in which the lists differ; no family file was made.", file=report)
        return
    if into:
        _extend(into, comparison, line, report)
    else:
        _write_new(output, comparison, name, kind, force)


def _check_use(
    lists: list[str], label: list[str] | None, output: Path | None, into: Path | None, line: str | None
) -> None:
    if len(lists) < 2:
        message = "two or more are needed, the earliest printing first; with one, begin with `setwright new family`"
        raise typer.BadParameter(message, param_hint="LIST")
    if lists.count("-") > 1:
        raise typer.BadParameter("only one list can come from standard input", param_hint="LIST")
    if label and len(label) != len(lists):
        raise typer.BadParameter(
            f"{len(label)} given for {len(lists)} lists; give one for each, in their order", param_hint="--label"
        )
    if label and len({one.casefold() for one in label}) < len(label):
        raise typer.BadParameter("each list needs a label of its own", param_hint="--label")
    if output and into:
        raise typer.BadParameter("goes not together with --output; give one of them", param_hint="--into")
    if line and not into:
        raise typer.BadParameter("goes only with --into", param_hint="--line")


def _read(lists: list[str], label: list[str] | None, m_means_thousand: bool) -> list[PartsList]:
    """All lists; every problem of every list in one answer."""
    from setwright.files import FileProblems, Problem
    from setwright.files.partslists.reading import read_parts_list

    found: list[PartsList] = []
    problems: list[Problem] = []
    for index, path in enumerate(lists):
        content = sys.stdin.buffer.read() if path == "-" else Path(path)
        name = "standard input" if path == "-" else path
        one = label[index] if label else None
        try:
            found.append(read_parts_list(content, one, name=name, m_means_thousand=m_means_thousand))
        except FileProblems as error:
            problems.extend(error.problems)
    if problems:
        raise FileProblems(tuple(problems))
    return found


def _indices(changes_only: list[str] | None, lists: list[str], parts_lists: list[PartsList]) -> set[int]:
    """Which lists name only what changed."""
    indices = set()
    for wanted in changes_only or []:
        matches = [index for index, path in enumerate(lists) if wanted in (path, parts_lists[index].label)]
        if not matches:
            labels = ", ".join(parts_list.label for parts_list in parts_lists)
            message = f'there is no list "{wanted}"; the lists are {labels}'
            raise typer.BadParameter(message, param_hint="--changes-only")
        if matches[0] == 0:
            message = "the first list has none before it that it could change"
            raise typer.BadParameter(message, param_hint="--changes-only")
        indices.add(matches[0])
    return indices


def _print_report(comparison: Comparison, stream: TextIO) -> None:
    """The table of differences, what was not understood, and the notes."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("Ref.", *(parts_list.label for parts_list in comparison.lists), "becomes"):
        table.add_column(Text(heading), overflow="fold")
    for difference in comparison.differences:
        table.add_row(*(Text(cell) for cell in (difference.reference, *difference.shown, difference.outcome)))
    if comparison.differences:
        Console(file=stream, highlight=False, markup=False, emoji=False).print(table)
        print(file=stream)
    print(
        f"{count(comparison.references, 'reference')}; {comparison.same} the same in all lists; "
        f"{count(len(comparison.proposals), 'feature')} proposed.",
        file=stream,
    )
    for difference in comparison.differences:
        for note in difference.notes:
            print(f"{difference.reference}: {note}.", file=stream)
    for parts_list in comparison.lists:
        for unread in parts_list.unread:
            print(f'{parts_list.name}, line {unread.line}: not understood: "{unread.text}": {unread.why}.', file=stream)
        for passed in parts_list.passed_over:
            print(f"{parts_list.name}, {passed}: passed over.", file=stream)
    for note in comparison.notes:
        print(note, file=stream)


def _write_new(output: Path | None, comparison: Comparison, name: str | None, kind: str, force: bool) -> None:
    from setwright.files import read_family
    from setwright.files.partslists.proposals import new_family_text, slug
    from setwright.files.writing import write_text

    name = name or (output.stem.replace("-", " ").replace("_", " ").capitalize() if output else "New family")
    text = new_family_text(comparison, slug(name, "family"), name, kind)
    read_family(text.encode(), name=str(output) if output else "the new family")
    if output is None:
        print(text, end="")
        return
    write_text(output, text, overwrite=force)
    print(f"{output} is written. Read it over and add what you know, then: setwright check {output}")


def _extend(into: Path, comparison: Comparison, line: str | None, stream: TextIO) -> None:
    from setwright.files import read_family
    from setwright.files.partslists.extension import extend_family
    from setwright.files.writing import write_text

    extension = extend_family(read_family(into), comparison, line)
    for note in extension.notes:
        print(note, file=stream)
    read_family(extension.text.encode(), name=f"{into} as it would be extended")
    write_text(into, extension.text, overwrite=True)
    print(f"{into} is extended. Read it over, then: setwright check {into}", file=stream)
