"""The register as a table: which rows are asked for, in which order; by columns, so that 20,000 rows are quick."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlencode

import numpy as np

from setwright.identity.model import LOOKS_SERVICED, NOT_SEEN, SURENESSES, Family, Feature, Survivors
from setwright.workbench.survivors.reading import agreement_counts

SORTS = {
    "file": "the register",
    "name": "their names",
    "serial": "their serials",
    "seen": "features seen",
    "closest": "the versions they are most like",
    "state": "the states of the feature",
}
"""The orders that may be asked for, in words."""

ANY, UNSEEN, SERVICED, OTHER = "*seen", "*unseen", "*serviced", "*other"
"""What may be asked of a feature besides a listed state; no state can begin so in a query, see `read_query`."""

STATE_WORDS = {ANY: "seen at all", UNSEEN: "not seen", SERVICED: "looks serviced", OTHER: "something not listed"}

LONGEST_WORDS = 200


@dataclass(frozen=True, slots=True)
class Query:
    """What is asked for. Empty means any. serial : "full", "part" or "none"."""

    words: str = ""
    feature: str = ""
    state: str = ""
    line: str = ""
    serial: str = ""
    sort: str = "file"
    backwards: bool = False

    @property
    def narrows(self) -> bool:
        """Whether some rows may be left out."""
        return bool(self.words or (self.feature and self.state) or self.line or self.serial)

    def parameters(self, **changes: object) -> str:
        """The query as the end of an address, with some of it changed."""
        query = replace(self, **changes)  # type: ignore[arg-type]
        plain = {
            "q": query.words,
            "feature": query.feature,
            "state": query.state if query.feature else "",
            "line": query.line,
            "serial": query.serial,
            "sort": "" if query.sort == "file" else query.sort,
            "back": "1" if query.backwards else "",
        }
        return urlencode({key: value for key, value in plain.items() if value})


def read_query(given: Mapping[str, str], family: Family) -> Query:
    """The query of an address; what the family does not know is taken for "any"."""
    feature = next((one for one in family.features if one.id == given.get("feature")), None)
    state = given.get("state", "")
    known = feature is not None and (state in feature.all_states or state in STATE_WORDS)
    line, serial, sort = given.get("line", ""), given.get("serial", ""), given.get("sort", "file")
    return Query(
        words=" ".join(given.get("q", "")[:LONGEST_WORDS].split()),
        feature=feature.id if feature else "",
        state=state if known else "",
        line=line if line in family.line_ids else "",
        serial=serial if serial in ("full", "part", "none") else "",
        sort=sort if sort in SORTS and (sort != "state" or feature) else "file",
        backwards=given.get("back") == "1",
    )


def selected(family: Family, survivors: Survivors, query: Query, rows: Mapping[str, Mapping[str, str]]) -> np.ndarray:
    """(m,) the numbers of the rows asked for, in the order asked for.

    rows : the cells of each survivor by its id and column; looked at only where words are searched.
    """
    wanted = np.ones(len(survivors), dtype=bool)
    if query.line:
        wanted &= survivors.line == family.line_ids.index(query.line)
    if query.serial:
        wanted &= _serial_is(survivors, query.serial)
    if query.feature and query.state:
        wanted &= _shows(survivors, family.feature(query.feature), query.state)
    if query.words:
        wanted &= _holds(survivors, query.words, rows, wanted)
    numbers = np.flatnonzero(wanted)
    if query.sort != "file":
        numbers = numbers[_order(family, survivors, query, numbers)]
    return numbers[::-1] if query.backwards else numbers


def _serial_is(survivors: Survivors, serial: str) -> np.ndarray:
    full = survivors.position >= 0
    part = np.zeros(len(survivors), dtype=bool)
    part[list(survivors.serial)] = True
    return np.asarray({"full": full, "part": part & ~full, "none": ~full & ~part}[serial])


def _codes(survivors: Survivors, feature: Feature) -> np.ndarray:
    found = survivors.seen.get(feature.id)
    return np.full(len(survivors), NOT_SEEN, dtype=np.int16) if found is None else found


def _shows(survivors: Survivors, feature: Feature, state: str) -> np.ndarray:
    codes, states = _codes(survivors, feature), feature.all_states
    if state == ANY:
        return np.asarray(codes != NOT_SEEN)
    if state == UNSEEN:
        return np.asarray(codes == NOT_SEEN)
    if state == SERVICED:
        return np.asarray(codes == LOOKS_SERVICED)
    number = len(states) if state == OTHER else states.index(state)
    return np.asarray((codes >= 0) & (codes // len(SURENESSES) == number))


def _holds(survivors: Survivors, words: str, rows: Mapping[str, Mapping[str, str]], among: np.ndarray) -> np.ndarray:
    """(n,) whether every word stands somewhere in the row, among those still wanted."""
    sought = [word.casefold() for word in words.split()]
    found = np.zeros(len(survivors), dtype=bool)
    for number in np.flatnonzero(among):
        name = survivors.ids[int(number)]
        text = "\n".join((name, *rows.get(name, {}).values())).casefold()
        found[number] = all(word in text for word in sought)
    return found


def _order(family: Family, survivors: Survivors, query: Query, numbers: np.ndarray) -> np.ndarray:
    """The places of `numbers` in the order asked for; rows that are alike stay in the order of the register."""
    match query.sort:
        case "name":
            names = [natural(survivors.ids[int(number)]) for number in numbers]
            return np.array(sorted(range(len(names)), key=names.__getitem__), dtype=np.int64)
        case "serial":
            position = survivors.position[numbers].astype(np.int64)
            unknown = position < 0
            return np.lexsort((position, survivors.line[numbers], unknown))
        case "seen":
            return np.argsort(-features_seen(family, survivors)[numbers], kind="stable")
        case "closest":
            return np.argsort(closest_version(family, survivors)[numbers], kind="stable")
    feature = family.feature(query.feature)
    codes = _codes(survivors, feature)[numbers].astype(np.int64)
    return np.argsort(np.where(codes < 0, np.iinfo(np.int64).max + codes, codes), kind="stable")


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key by which names sort as people do it: K-9 before K-10.

    >>> sorted(["K-10", "K-9", "k-1"], key=natural)
    ['k-1', 'K-9', 'K-10']
    """
    parts = re.findall(r"\d{1,18}|\D+|\d+", text.casefold())
    return tuple((0, int(part), "") if part.isdecimal() and len(part) <= 18 else (1, 0, part) for part in parts)


def features_seen(family: Family, survivors: Survivors) -> np.ndarray:
    """(n,) how many features of each survivor were seen."""
    seen = np.zeros(len(survivors), dtype=np.int64)
    for feature in family.features:
        seen += _codes(survivors, feature) != NOT_SEEN
    return seen


def closest_version(family: Family, survivors: Survivors) -> np.ndarray:
    """(n,) the number of the version that agrees in most features; that of all versions where none does."""
    if not family.versions:
        return np.zeros(len(survivors), dtype=np.int64)
    counts = [agreement_counts(family, survivors, version) for version in family.versions]
    agreeing = np.stack([np.where(comparable > 0, agree, -1) for agree, comparable in counts])
    closest = agreeing.argmax(axis=0)
    return np.where(agreeing.max(axis=0) < 0, len(family.versions), closest)
