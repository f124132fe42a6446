"""How an observation is put into words."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.identity.model import Feature, Observation
from setwright.workbench.site.words import SURE_WORDS


def feature_label(feature: Feature) -> str:
    """A feature with its reference in parts lists, as a look sheet has it."""
    return f"{feature.label} ({feature.part})" if feature.part else feature.label


def seen_words(observation: Observation) -> str:
    """What was seen, how sure, and whether it looks serviced.

    >>> seen_words(Observation("converter", "6BE6", sure="likely", serviced=True, written="6BE6"))
    '6BE6, likely, looks serviced'
    >>> seen_words(Observation("converter", None, cannot_tell=True))
    'cannot tell'
    """
    state = (observation.written or observation.state or "").removeprefix("other: ")
    return _words(state, observation.cannot_tell, observation.sure, observation.serviced)


def written_words(table: Mapping[str, object]) -> str:
    """The same of an observation as a file writes it.

    >>> written_words({"feature": "converter", "state": "6BE6", "sure": "likely"})
    '6BE6, likely'
    """
    state = str(table.get("state") or "").removeprefix("other: ")
    sure = str(table.get("sure") or "certain")
    return _words(state, bool(table.get("cannot_tell")), sure, bool(table.get("serviced")))


def _words(state: str, cannot_tell: bool, sure: str, serviced: bool) -> str:
    parts = ["cannot tell"] if cannot_tell else [state] if state else []
    if state and SURE_WORDS[sure]:
        parts.append(SURE_WORDS[sure])
    if serviced:
        parts.append("looks serviced")
    return ", ".join(parts)
