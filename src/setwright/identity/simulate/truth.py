"""Which entry of the verdict is right for a set of a drawn production."""

from __future__ import annotations

from setwright.identity.simulate.production import Production


def true_entry(production: Production, line: str, position: int) -> str | tuple[str, str]:
    """The version, or the two versions between which a set at a position of a line stands.

    By the cut-ins alone: old stock in an item makes no other set of it.
    """
    stages = [stage.version for stage in production.line_history(line).stages]
    stage = 0
    for number, block in enumerate(production.blocks(line)):
        made = [position >= production.cut_ins[change.id] for change in block]
        if all(made):
            stage = number + 1
        elif any(made):
            return stages[number], stages[number + 1]
    return stages[stage]
