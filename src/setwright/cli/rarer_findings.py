"""Parts of the terminal's report that few sets have: each prints nothing where there is nothing to say."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.cli.identity_words import cut_in_words, percent, weight_words
from setwright.cli.paper import Paper
from setwright.files.problems import line_words
from setwright.identity import Answer, Family
from setwright.identity.answer import Sister
from setwright.identity.phrases import WORTH_NAMING, apart_phrase, other_patterns, pattern_phrase, rate_phrase

MOST_SISTERS = 3
MOST_QUESTIONS = 3
LEAST_BITS = 0.005
_UNUSUAL = 0.05


def undocumented(paper: Paper, family: Family, answer: Answer) -> None:
    """Features no document mentions: how they most probably ran through production."""
    line = answer.verdict[0].line
    free = [item for item in answer.free if item.line == line and item.patterns]
    if not free:
        return
    paper.heading("Features that no document mentions, learnt from survivors")
    table = paper.table("feature", "most probably", "", "else", right=[2], fold=[0, 1, 3])
    for item in free:
        first = item.patterns[0]
        words = pattern_phrase(first, item.shares)
        label = family.feature(item.feature).label
        table.add_row(label, words, percent(first.probability), other_patterns(item) or "-")
    paper.show(table)


def what_drives_the_misfit(paper: Paper, family: Family, answer: Answer) -> None:
    """Under the misfit figure: what fits worst. What would explain it is among the answer's own sentences."""
    if answer.misfit_p_value < _UNUSUAL and answer.misfit_drivers:
        words = ", ".join(
            f"{family.feature(item.feature).label} ({item.state}, {item.decibans:.0f} decibans)"
            for item in answer.misfit_drivers
        )
        paper.paragraph(f"What fits worst, by how much less it was expected than is usual: {words}.", 2)


def groups(paper: Paper, family: Family, answer: Answer) -> None:
    """Groups of features that may come from another set: which, how sure, from where."""
    shown = [group for group in answer.groups if group.elsewhere_probability >= WORTH_NAMING]
    if not shown:
        return
    units = {axis.line: axis.unit for axis in answer.axes}
    paper.heading("Groups that do not belong")
    table = paper.table("group", "from another set", "if so, from about", "range", right=[1], fold=[0, 2, 3])
    for group in sorted(shown, key=lambda group: -group.elsewhere_probability):
        median, ends = cut_in_words(family, group.line, units.get(group.line), group.serial)
        where = f", {line_words(group.line)}" if len(family.lines) > 1 else ""
        table.add_row(group.group, percent(group.elsewhere_probability), f"{median}{where}", ends)
    paper.show(table)
    paper.paragraph("Serial, verdict and changes are those of the set without the group that came from elsewhere.", 2)


def sisters(paper: Paper, answer: Answer) -> None:
    """The sets most like this one."""
    if not answer.sisters:
        return
    paper.heading("Sets most like this one")
    sister_table(paper, answer.sisters[:MOST_SISTERS], several_lines=len(answer.axes) > 1)
    paper.paragraph("setwright sisters lists more of them, and compares with one feature by feature (--with).", 2)


def sister_table(paper: Paper, shown: tuple[Sister, ...], *, several_lines: bool) -> None:
    """Sisters in a table, one a row. several_lines : say how probable it is that both are of one line."""
    columns = ("set", "apart", "decibans", "alike in", *(("same line",) if several_lines else ()))
    table = paper.table(*columns, right=[2, 4], fold=[0])
    for sister in shown:
        same = sum(item.state == item.other_state for item in sister.differences)
        table.add_row(
            sister.id,
            apart_phrase(sister.apart).removesuffix(" apart"),
            f"{sister.decibans:+.1f}",
            f"{same} of {len(sister.differences)} features",
            *((percent(sister.same_line_probability),) if several_lines else ()),
        )
    paper.show(table)


def differences_table(paper: Paper, family: Family, sister: Sister, own: str) -> None:
    """One sister, feature by feature."""
    table = paper.table("feature", own, sister.id, "decibans", "made alike?", right=[3], fold=[0, 1, 2, 4])
    for item in sister.differences:
        label = family.feature(item.feature).label
        words = weight_words(item.decibans)
        table.add_row(label, item.state, item.other_state, f"{item.decibans:+.1f}", words)
    paper.show(table)


def questions(paper: Paper, family: Family, answer: Answer) -> None:
    """What other owners could tell."""
    asked = [item for item in answer.ask if item.bits >= LEAST_BITS][:MOST_QUESTIONS]
    if not asked:
        return
    paper.heading("What to ask the owners of other sets")
    table = paper.table("set", "feature", "where", "bits", right=[3], fold=[0, 1])
    for item in asked:
        table.add_row(item.set, family.feature(item.feature).label, item.access, f"{item.bits:.2f}")
    paper.show(table)
    paper.paragraph("setwright ask writes the letter.", 2)


def learnt_rates(paper: Paper, answer: Answer, teachers: Sequence[str] = ()) -> None:
    """Alteration rates re-estimated from the survivors, beside the default ones.

    teachers : names of other families that taught them too.
    """
    if not answer.learned:
        return
    use = "used" if answer.method.learned_rates else "not used; --learned uses them"
    paper.heading(f"Alteration rates learnt from survivors ({use})")
    table = paper.table("", "", fold=[1])
    for rate in answer.learned:
        table.add_row(rate.what, rate_phrase(rate))
    paper.show(table)
    if teachers:
        paper.paragraph(f"Survivors of other families took part: {', '.join(teachers)}.", 2)
