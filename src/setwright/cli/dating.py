"""From the files that `setwright date` names to the dating answer."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from setwright.cli.progress import Progress

if TYPE_CHECKING:
    from setwright.chronology import DateAnswer, Fitted, Trust
    from setwright.files import Register, SetFile
    from setwright.identity import Answer, BenchSet, Family


@dataclass(frozen=True)
class Dated:
    """What was read, and the answer to it; trust is None where it was not asked for or too few sets are stamped."""

    family: Family
    bench: BenchSet
    answer: DateAnswer
    trust: Trust | None


def dated(
    family_file: Path, set_path: Path, survivors: Path | None, level: float, *, cut_ins: bool, check: bool
) -> Dated:
    """Read the files and date the set; identity is asked where the serial is not known in full, or for cut-ins.

    Raises FileProblems for files with problems, NothingDated where nothing has a date.
    """
    with Progress() as progress:
        progress("Reading the files", 0.0)

        from setwright.chronology import date_set, fit, leave_one_out
        from setwright.files.dating import beliefs_of, cut_in_beliefs, dating_case

        family, set_file, register = _read(family_file, set_path, survivors)
        case = dating_case(family, set_file, register)
        fitted = fit(
            case.production,
            case.survivors,
            also=case.bench.evidence,
            progress=lambda text, share: progress(text, 0.5 * share),
        )
        identity = None
        if cut_ins or (case.bench.position is None and set_file.set.observations):
            progress("Asking what the features say", 0.5)
            identity = _identity(family, set_file.set, register, fitted)
        answer = date_set(
            fitted,
            case.bench,
            family=family.id,
            belief=() if identity is None else beliefs_of(identity),
            cut_ins=cut_in_beliefs(identity) if cut_ins and identity is not None else {},
            serials=case.serials,
            level=level,
            today=datetime.date.today(),
        )
        trust = leave_one_out(fitted, level) if check else None
    if register is not None:
        answer = replace(answer, warnings=(*register.warnings, *answer.warnings))
    return Dated(family, set_file.set, answer, trust)


def _read(family_file: Path, set_path: Path, survivors: Path | None) -> tuple[Family, SetFile, Register | None]:
    """The files; the problems of set and survivors in one answer."""
    from setwright.files import FileProblems, read_family, read_set, read_survivors

    family = read_family(family_file).family
    problems: list[FileProblems] = []
    set_file = register = None
    try:
        set_file = read_set(set_path, family)
    except FileProblems as failure:
        problems.append(failure)
    if survivors is not None:
        try:
            register = read_survivors(survivors, family, bench=None if set_file is None else set_file.set)
        except FileProblems as failure:
            problems.append(failure)
    if set_file is None or problems:
        raise FileProblems(tuple(p for f in problems for p in f.problems), sum(f.left_out for f in problems))
    return family, set_file, register


def _identity(family: Family, bench: BenchSet, register: Register | None, fitted: Fitted) -> Answer:
    """What identity says, with cut-ins that are documented by a date bounded as the survivors date them."""
    from setwright.files.dating import with_dated_cut_ins
    from setwright.identity import identify, no_survivors

    known = no_survivors() if register is None else register.survivors
    # Sums item by item are quick, and dating needs no more than the place in the run.
    return identify(with_dated_cut_ins(family, fitted), bench, known, exact=True)
