"""The command as a whole: help, and what its edge does with errors."""

from __future__ import annotations

import subprocess
import sys

import pytest
import typer
from typer.testing import CliRunner

from setwright.cli import PlainErrors, app, explanation
from setwright.files import FileProblems, Problem
from setwright.identity import ImpossibleHistory
from setwright.notation import NotationError

COMMANDS = [
    *(command.callback.__name__ for command in app.registered_commands if command.callback),
    *(group.name for group in app.registered_groups if group.name),
]


def app_that_raises(error: Exception) -> typer.Typer:
    failing = typer.Typer(cls=PlainErrors)

    @failing.command()
    def fail() -> None:
        raise error

    @failing.command()
    def other() -> None: ...

    return failing


@pytest.mark.parametrize("arguments", [[], *([name] for name in COMMANDS)], ids=lambda arguments: " ".join(arguments))
def test_help_is_plain_and_tells_the_job(arguments: list[str]) -> None:
    result = CliRunner().invoke(app, [*arguments, "--help"])
    assert result.exit_code == 0
    assert "Usage:" in result.output
    assert "╭" not in result.output


def test_the_list_of_commands_is_not_cut_short() -> None:
    listed = CliRunner(env={"COLUMNS": "80"}).invoke(app, ["--help"]).output.split("Commands:")[1]
    assert [line.split()[0] for line in listed.strip().splitlines()] == COMMANDS
    assert "..." not in listed


def test_help_imports_nothing_heavy() -> None:
    heavy = ("numpy", "scipy", "django", "pyarrow", "pydantic", "tomlkit", "waitress")
    code = (
        "import sys\nfrom setwright.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {heavy} if name in sys.modules], file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code, "--help"], capture_output=True, text=True, check=True)
    assert run.stderr.strip() == "[]"


@pytest.mark.parametrize(
    ("error", "lines"),
    [
        (
            FileProblems((Problem("a.toml", "key id", 3, "is missing"), Problem("a.toml", "", None, "is empty"))),
            ["a.toml, line 3, key id: is missing.", "a.toml: is empty."],
        ),
        (ImpossibleHistory("two sheets contradict each other"), ["two sheets contradict each other"]),
        (NotationError("470M can be read in two ways"), ["470M can be read in two ways"]),
        (OSError(28, "No space left on device"), ["The output cannot be written: no space left on device."]),
        (FileNotFoundError(2, "No such file or directory", "x.csv"), ["x.csv: no such file or directory"]),
    ],
)
def test_what_a_person_can_mend_is_told_plainly(error: Exception, lines: list[str]) -> None:
    result = CliRunner().invoke(app_that_raises(error), ["fail"])
    assert result.exit_code == 1
    assert result.stderr.splitlines() == lines
    assert result.stdout == ""


def test_a_fault_of_the_program_is_not_hidden() -> None:
    error = ZeroDivisionError("x")
    assert explanation(error) is None
    assert CliRunner().invoke(app_that_raises(error), ["fail"]).exception is error
