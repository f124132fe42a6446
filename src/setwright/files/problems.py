"""What is wrong with a file: every problem with its place, all of one file together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

MOST_PROBLEMS = 200
"""So many problems of one file are listed; the rest is counted."""

ANSWER_MARK = "\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong in one place.

    file : the file's name as the caller gave it.
    where : the place in the file's own terms: `feature "converter", key altered` or `row 17, column "serial"`.
    line : line number in the text, from 1, where known.
    message : what is wrong and what would be right.
    suggestion : text that could stand there instead, where there is an obvious candidate.
    """

    file: str
    where: str
    line: int | None
    message: str
    suggestion: str | None = None

    def __str__(self) -> str:
        place = [self.file, "" if self.line is None else f"line {self.line}", self.where]
        hint = f' Did you mean "{self.suggestion}"?' if self.suggestion else ""
        return f"{', '.join(filter(None, place))}: {sentence(self.message)}{hint}"


class FileProblems(Exception):
    """All problems of one file; nothing of the file was taken in."""

    def __init__(self, problems: tuple[Problem, ...], left_out: int = 0) -> None:
        self.problems = problems
        self.left_out = left_out
        """How many further problems are not listed."""
        super().__init__(problems, left_out)

    @property
    def lines(self) -> tuple[str, ...]:
        """One line of text for each problem, and one for those not listed."""
        more = (f"and {self.left_out} more.",) if self.left_out else ()
        return (*(str(problem) for problem in self.problems), *more)

    def __str__(self) -> str:
        return "\n".join(self.lines)


class ProblemList:
    """Collects the problems of one file while it is read."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._problems: list[Problem] = []
        self._left_out = 0

    def __len__(self) -> int:
        return len(self._problems) + self._left_out

    @property
    def is_full(self) -> bool:
        """Whether further problems are only counted, so that nobody need work out what to say about them."""
        return len(self._problems) >= MOST_PROBLEMS

    def count(self, number: int = 1) -> None:
        """Count problems that are not listed any more."""
        self._left_out += number

    def add(self, where: str, message: str, *, line: int | None = None, suggestion: str | None = None) -> None:
        """Note one problem; beyond `MOST_PROBLEMS` they are only counted. The same problem twice is one."""
        self.take(Problem(self.file, where, line, message, suggestion))

    def take(self, problem: Problem) -> None:
        """Note a problem found elsewhere."""
        if self.is_full:
            self.count()
        elif problem not in self._problems:
            self._problems.append(problem)

    def failure(self) -> FileProblems:
        """The exception that carries what was noted, in the order of the lines where all of them are known."""
        if all(problem.line is not None for problem in self._problems):
            self._problems.sort(key=lambda problem: problem.line or 0)
        return FileProblems(tuple(self._problems), self._left_out)

    def raise_if_any(self) -> None:
        """Raise FileProblems if anything was noted."""
        if self._problems:
            raise self.failure()


def refuse(file: str, message: str, *, where: str = "", line: int | None = None) -> FileProblems:
    """The exception for a file that cannot be read at all."""
    return FileProblems((Problem(file, where, line, message),))


def sentence(text: str) -> str:
    """The text with a full stop, unless it ends in a mark already."""
    return text if text.endswith((".", "?", "!", ANSWER_MARK)) else f"{text}."


def quoted(text: object, longest: int = 60) -> str:
    """A value as it is shown in a message: in quotes, control characters visible, cut where it is very long.

    >>> quoted("6BE6"), quoted("x" * 100, 5)
    ('"6BE6"', '"xxxxx…"')
    """
    shown = "".join(c if c.isprintable() else repr(c)[1:-1] for c in str(text)[: longest + 1])
    return f'"{shown[:longest]}{ANSWER_MARK}"' if len(shown) > longest else f'"{shown}"'


def line_words(line: str) -> str:
    """A production line as one says it; files give only its id.

    >>> line_words("main"), line_words("export-line")
    ('main line', 'export line')
    """
    words = line.replace("-", " ").replace("_", " ")
    return words if words.endswith("line") else f"{words} line"


def listing(words: Iterable[object], last: str = "or") -> str:
    """Words in a sentence.

    >>> listing(["a", "b", "c"])
    'a, b or c'
    """
    items = [str(word) for word in words]
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
