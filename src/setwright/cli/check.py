"""`setwright check`: is a file sound, and if not, everything that is wrong with it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from setwright.cli.check_words import (
    casebook_notes,
    casebook_words,
    circuit_words,
    family_notes,
    family_words,
    literature_words,
    readings_words,
    register_words,
    set_words,
)
from setwright.cli.words import count

if TYPE_CHECKING:
    from setwright.circuits import Circuit
    from setwright.files import FileProblems
    from setwright.identity import Family


def check(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...",
            help="Families, sets, circuits, literature (TOML); survivors, readings (CSV); casebooks (zip).",
        ),
    ],
    family: Annotated[
        Path | None,
        typer.Option(
            metavar="FAMILY.toml",
            help="The family that sets and survivors belong to (default: one among the files, else one beside them).",
        ),
    ] = None,
    circuit: Annotated[
        Path | None,
        typer.Option(
            metavar="CIRCUIT.toml",
            help="The circuit that readings were taken in (default: one among the files, else one beside them).",
        ),
    ] = None,
) -> None:
    """Check files and tell what they hold, or everything that is wrong with them.

    Sets and survivors are checked against their family, readings against their circuit, a circuit against its family
    where that is at hand. Exit status 1 if anything is wrong.
    """
    checker = _Checker(files, family, circuit)
    for path in files:
        for line in checker.lines(path):
            print(line)
    if checker.wrong:
        raise typer.Exit(1)


class _Checker:
    """Checks the files of one call, families first, because the others need them."""

    def __init__(self, files: list[Path], family: Path | None, circuit: Path | None) -> None:
        from setwright.files import FileProblems
        from setwright.files.recognition import kind_of

        self.wrong = False
        self.option = family
        self.circuit_option = circuit
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
        from setwright.files.casebook import open_casebook
        from setwright.files.literature import read_literature
        from setwright.files.readings import read_readings
        from setwright.files.sets import family_id_of

        match self.kinds[path]:
            case "family":
                return family_words(self.families[path]), family_notes(self.families[path])
            case "set":
                return set_words(read_set(path, self._found(path, family_id_of(path)))), ()
            case "circuit":
                drawn, notes = self._circuit(path)
                return circuit_words(drawn), notes
            case "readings":
                drawn, notes = self._circuit_of(path)
                read = read_readings(path, drawn)
                return readings_words(read, drawn), (*read.warnings, *notes)
            case "literature":
                return literature_words(read_literature(path).entry), ()
            case "casebook":
                with open_casebook(path) as book:
                    return casebook_words(book), casebook_notes(book)
        family = self._found(path, self._named_by(path))
        register = read_survivors(path, family)
        return register_words(register, family), register.warnings

    def _circuit(self, path: Path) -> tuple[Circuit, tuple[str, ...]]:
        """A circuit, and a note where its family was not at hand."""
        from setwright.files.circuits.reading import family_named_by, read_circuit

        named = family_named_by(path)
        where = self._family_file(path, named) if named else None
        if where is None and named:
            note = f'its family "{named}" is not at hand; the features that its parts name were not looked up.'
            return read_circuit(path).circuit, (note,)
        return read_circuit(path, self._sound(path, where) if where else None).circuit, ()

    def _circuit_of(self, path: Path) -> tuple[Circuit, tuple[str, ...]]:
        """The circuit of readings: named, given in the same call, or lying beside the file; and its note."""
        from setwright.files import FileProblems
        from setwright.files.problems import refuse
        from setwright.files.recognition import circuits_beside

        given = self._only([p for p, kind in self.kinds.items() if kind == "circuit"])
        where = self.circuit_option or given or self._only(list(circuits_beside(path)))
        if where is None:
            raise refuse(
                str(path), "its circuit is needed to check it; name the circuit file with --circuit CIRCUIT.toml"
            )
        try:
            return self._circuit(where)
        except FileProblems as failure:
            message = f"cannot be checked before its circuit file {where} is sound"
            raise refuse(str(path), message) from failure

    def _found(self, path: Path, family_id: str | None) -> Family:
        """The family of a set or of survivors: named, given in the same call, or lying beside the file."""
        from setwright.files.problems import refuse

        where = self._family_file(path, family_id)
        if where is None:
            named = f' "{family_id}"' if family_id else ""
            raise refuse(
                str(path),
                f"its family{named} is needed to check it; name the family file with --family FAMILY.toml"
                + ("" if family_id else ", or call the survivors' file FAMILY.survivors.csv after the family's id"),
            )
        return self._sound(path, where)

    def _family_file(self, path: Path, family_id: str | None) -> Path | None:
        from setwright.files.recognition import families_beside

        where = self.option or self._only([p for p in self.given if family_id in (None, self.ids[p])])
        # Survivors name their family by their file's name or not at all: then nothing beside them can decide.
        if where is None and (family_id is not None or not self.given):
            beside = families_beside(path)
            where = self._only([p for p, name in beside.items() if family_id in (None, name)])
        return where

    def _sound(self, path: Path, where: Path) -> Family:
        """The family in a file, for what is checked against it."""
        from setwright.files.problems import refuse

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
    lines = [str(line).removeprefix(str(path)).lstrip(":, ") for line in failure.lines]
    found = count(len(failure.problems) + failure.left_out, "problem")
    return [f"{path}: {found}.", *(f"  {line}" for line in lines)]
