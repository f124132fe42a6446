"""`setwright check`: is a file sound, and if not, everything that is wrong with it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from setwright.files import FileProblems, Register, SetFile
    from setwright.identity import Family


def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Family files, set files (TOML), survivors files (CSV).")
    ],
    family: Annotated[
        Path | None,
        typer.Option(
            metavar="FAMILY.toml",
            help="The family that sets and survivors belong to (default: one among the files, else one beside them).",
        ),
    ] = None,
) -> None:
    """Check files and tell what they hold, or everything that is wrong with them.

    Sets and survivors are checked against their family. Exit status 1 if anything is wrong.
    """
    checker = _Checker(files, family)
    for path in files:
        for line in checker.lines(path):
            print(line)
    if checker.wrong:
        raise typer.Exit(1)


class _Checker:
    """Checks the files of one call, families first, because the others need them."""

    def __init__(self, files: list[Path], family: Path | None) -> None:
        from setwright.files import FileProblems
        from setwright.files.recognition import kind_of

        self.wrong = False
        self.option = family
        self.kinds: dict[Path, str] = {}
        self.failures: dict[Path, FileProblems] = {}
        self.families: dict[Path, Family] = {}
        self.ids: dict[Path, str | None] = {}
        for path in files:
            try:
                self.kinds[path] = kind_of(path)
            except FileProblems as failure:
                self.failures[path] = failure
        self.given = [path for path in files if self.kinds.get(path) == "family"]
        for path in dict.fromkeys([*([family] if family else []), *self.given]):
            self._family(path)

    def _family(self, path: Path) -> None:
        """Read a family once; its failure is kept, for itself and for what depends on it."""
        from setwright.files import FileProblems, read_family
        from setwright.files.recognition import family_id_in

        if path in self.families or path in self.failures:
            return
        self.ids[path] = family_id_in(path)
        try:
            self.families[path] = read_family(path).family
        except FileProblems as failure:
            self.failures[path] = failure

    def lines(self, path: Path) -> list[str]:
        """What is to be said of one file."""
        from setwright.files import FileProblems

        try:
            if path in self.failures:
                raise self.failures[path]
            return _fine(path, *self._content(path))
        except FileProblems as failure:
            self.wrong = True
            return _problem_lines(path, failure)

    def _content(self, path: Path) -> tuple[str, tuple[str, ...]]:
        """What a sound file holds, and warnings about it."""
        from setwright.files import read_set, read_survivors
        from setwright.files.sets import family_id_of

        match self.kinds[path]:
            case "family":
                return _family_words(self.families[path]), _family_notes(self.families[path])
            case "set":
                read = read_set(path, self._found(path, family_id_of(path)))
                return _set_words(read), ()
        family = self._found(path, self._named_by(path))
        register = read_survivors(path, family)
        return _register_words(register, family), register.warnings

    def _found(self, path: Path, family_id: str | None) -> Family:
        """The family of a set or of survivors: named, given in the same call, or lying beside the file."""
        from setwright.files.problems import refuse
        from setwright.files.recognition import families_beside

        where = self.option or self._only([p for p in self.given if family_id in (None, self.ids[p])])
        # Survivors name their family by their file's name or not at all: then nothing beside them can decide.
        if where is None and (family_id is not None or not self.given):
            beside = families_beside(path)
            where = self._only([p for p, name in beside.items() if family_id in (None, name)])
        if where is None:
            named = f' "{family_id}"' if family_id else ""
            raise refuse(
                str(path),
                f"its family{named} is needed to check it; name the family file with --family FAMILY.toml"
                + ("" if family_id else ", or call the survivors' file FAMILY.survivors.csv after the family's id"),
            )
        self._family(where)
        if where not in self.families:
            raise refuse(str(path), f"cannot be checked before its family file {where} is sound")
        return self.families[where]

    def _named_by(self, path: Path) -> str | None:
        """The family that the name of a survivors file gives, where there is such a family."""
        from setwright.files.recognition import families_beside, family_named_by

        named = family_named_by(path)
        return named if named in {*self.ids.values(), *families_beside(path).values()} else None

    @staticmethod
    def _only(paths: list[Path]) -> Path | None:
        return paths[0] if len(paths) == 1 else None


def _fine(path: Path, words: str, warnings: tuple[str, ...]) -> list[str]:
    return [f"{path}: fine. {words}", *(f"  Note: {warning}" for warning in warnings)]


def _problem_lines(path: Path, failure: FileProblems) -> list[str]:
    """The problems under the file's name, which is not repeated on each line."""
    count = len(failure.problems) + failure.left_out
    lines = [str(line).removeprefix(str(path)).lstrip(":, ") for line in failure.lines]
    return [f"{path}: {_count(count, 'problem')}.", *(f"  {line}" for line in lines)]


def _family_words(family: Family) -> str:
    lines = f" in {len(family.lines)} lines ({', '.join(family.line_ids)})" if len(family.lines) > 1 else ""
    parts = [
        _count(len(family.features), "feature"),
        _count(len(family.versions), "version") + lines,
        *([_count(len(family.serial_blocks), "serial block")] if family.serial_blocks else []),
        *([_count(len(family.cut_in_bounds), "documented bound")] if family.cut_in_bounds else []),
    ]
    return f"Family {family.id}, {family.name}: {', '.join(parts)}."


def _family_notes(family: Family) -> tuple[str, ...]:
    """What keeps a sound family from telling anything yet."""
    notes = []
    if not family.features:
        notes.append("it has no feature yet; only features tell versions apart.")
    if not family.versions:
        notes.append("it has no version yet; a set can only be told to be one that is documented.")
    return tuple(notes)


def _set_words(read: SetFile) -> str:
    bench = read.set
    serial = f", serial {bench.serial}" if bench.serial else ", serial not known"
    seen = _count(len(bench.latest), "feature")
    evidence = f", {_count(len(read.date_evidence), 'piece')} of dating evidence" if read.date_evidence else ""
    return f"Set {bench.id} of family {bench.family}{serial}: {seen} looked at{evidence}."


def _register_words(register: Register, family: Family) -> str:
    known = register.survivors
    placed = int(((known.position >= 0) & (known.line >= 0)).sum())
    return (
        f"{_count(len(known), 'survivor')} of family {family.id}, {placed:,} with a full serial and line; "
        f"{_count(len(known.seen), 'feature')} seen on them."
    )


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"
