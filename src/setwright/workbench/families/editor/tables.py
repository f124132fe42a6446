"""What the editor asks for each table of a family file: its keys, in the order of a form, with a word of help."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from setwright.files import FamilyFile
from setwright.files.shapes import KINDS
from setwright.identity import places
from setwright.identity.model import ACCESSES, MAIN_GROUP, MAIN_LINE, PERMANENCES
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.site.words import ACCESS_WORDS, PERMANENCE_WORDS, line_words

FieldKind = Literal["text", "whole", "figure", "choice", "several", "lines", "tick"]
Choices = Callable[[FamilyFile], Sequence[tuple[str, str]]]
Told = Callable[[FamilyFile, Mapping[str, Any]], str]
"""A sentence about one table of the file, by its keys; "" where there is nothing to say."""

UNIT_WORDS = {
    "F": "capacitance (F)",
    "ohm": "resistance (ohm)",
    "V": "volts",
    "A": "amperes",
    "H": "henries",
    "W": "watts",
}


@dataclass(frozen=True, slots=True)
class Field:
    """One key of a table.

    default : what the format takes where the key is missing. fixed : it can be given once only. choices : what may be
    chosen; for text, what is offered. folded : seldom needed, so it stands at the end behind a fold. wide : long words
    are to be expected. told : what more to say, by what stands in the file.
    """

    key: str
    label: str
    kind: FieldKind = "text"
    help: str = ""
    default: object = None
    required: bool = False
    fixed: bool = False
    choices: Choices | None = None
    folded: bool = False
    wide: bool = False
    told: Told | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of table. `kind` is its name in the file, `slug` in addresses; `noun` and `many` in sentences."""

    kind: str
    slug: str
    noun: str
    many: str
    says: str
    fields: tuple[Field, ...]

    @property
    def has_ids(self) -> bool:
        """Whether its tables are named by an id, or only by their number."""
        return any(field.key == "id" for field in self.fields)


def _lines(file: FamilyFile) -> list[tuple[str, str]]:
    return [(line, line_words(line)) for line in file.family.line_ids]


def _sources(file: FamilyFile) -> list[tuple[str, str]]:
    return [(one.id, f"{one.title}, page {one.page}" if one.page else one.title) for one in file.family.sources]


def _versions(file: FamilyFile) -> list[tuple[str, str]]:
    return [(one.id, one.label) for one in file.family.versions]


def _changes(file: FamilyFile) -> list[tuple[str, str]]:
    return [(one.id, one.label) for one in file.family.features if one.role == "change"]


def _states(file: FamilyFile) -> list[tuple[str, str]]:
    return [(state, state) for state in dict.fromkeys(state for one in file.family.features for state in one.states)]


def _shelf(file: FamilyFile) -> list[tuple[str, str]]:
    return list(LiteratureRecord.objects.values_list("key", "title"))


def _as_serial(key: str) -> Told:
    """What a place on a line's axis is as a serial, where serials are no plain numbers."""

    def told(file: FamilyFile, keys: Mapping[str, Any]) -> str:
        family = file.family
        if not family.serial_blocks:
            return ""
        line, place = keys.get("line") or family.line_ids[0], keys.get(key)
        if not isinstance(place, int) or line not in family.line_ids:
            return "Counted along its line, through all runs of serials."
        return f"Counted along its line: {place} is {places.describe(family, line, place)}."

    return told


def _groups(file: FamilyFile) -> list[tuple[str, str]]:
    known = dict.fromkeys([MAIN_GROUP, "cabinet", "tuner", *(one.group for one in file.family.features)])
    return [(group, group) for group in known]


ID_HELP = "Short, without spaces; files and addresses use it. Left empty it is made from the name."

FEATURE = Table(
    "feature",
    "features",
    "feature",
    "features",
    "Something that can be seen on a set and differs between versions.",
    (
        Field("label", "Name", required=True, help="As you say it: Converter tube."),
        Field("id", "Id", help=ID_HELP, fixed=True),
        Field(
            "states",
            "States",
            "lines",
            required=True,
            help="One a line, the earliest first; absent where the part may be missing. A line that is only respelled "
            "is respelled in versions and bounds too.",
        ),
        Field(
            "access",
            "How far in",
            "choice",
            required=True,
            default="",
            choices=lambda file: [(access, ACCESS_WORDS[access]) for access in ACCESSES],
        ),
        Field(
            "permanence",
            "How lasting",
            "choice",
            required=True,
            default="",
            help="What is hard to alter is strong evidence.",
            choices=lambda file: [(one, PERMANENCE_WORDS[one]) for one in PERMANENCES],
        ),
        Field(
            "role",
            "Changes during production",
            "choice",
            default="change",
            required=True,
            choices=lambda file: [("change", "yes, at a cut-in"), ("variant", "no, made side by side (cabinet, trim)")],
        ),
        Field(
            "unit",
            "Values",
            "choice",
            help="For a feature whose states are values, such as .02 mfd or 470k.",
            choices=lambda file: [("", "none, the states are words"), *UNIT_WORDS.items()],
        ),
        Field("tolerance", "Tolerance", "figure", default=0.2, help="Of values: 0.2 is 20 %. States may not overlap."),
        Field("part", "Part", help="Its reference on the diagram, such as C40."),
        Field(
            "group",
            "Belongs to",
            default=MAIN_GROUP,
            choices=_groups,
            folded=True,
            help="What would move with it if chassis and cabinet of two sets were joined.",
        ),
        Field("minutes", "Minutes to look", "figure", default=1.0, folded=True, help="Once the set is open so far."),
        Field(
            "altered",
            "Altered since",
            "figure",
            folded=True,
            help="The share of sets in which it has been altered, such as 0.05, where you know better than the usual.",
        ),
        Field(
            "overlap",
            "Old stock",
            "whole",
            default=0,
            folded=True,
            help="For so many serials around the cut-in both states occur.",
        ),
        Field(
            "lines",
            "Only in these lines",
            "several",
            folded=True,
            choices=_lines,
            help="None ticked: sets of every line have it.",
        ),
    ),
)

VERSION = Table(
    "version",
    "versions",
    "version",
    "versions",
    "A documented state of the product: a printing, a bulletin, a label suffix.",
    (
        Field("label", "Name", required=True, help="As you say it: Late production."),
        Field("id", "Id", help=ID_HELP, fixed=True),
        Field("line", "Line", default=MAIN_LINE, choices=_lines, help="A new name begins a line of its own."),
        Field(
            "based_on",
            "Based on",
            "choice",
            help="As that version, except for what is written here.",
            choices=lambda file: [("", "none, it stands alone"), *_versions(file)],
        ),
        Field("sources", "Sources", "several", choices=_sources, help="No source yet? Add one below the grid first."),
    ),
)

SOURCE = Table(
    "source",
    "sources",
    "source",
    "sources",
    "A document that says what is written here.",
    (
        Field("title", "Title", required=True, wide=True),
        Field("id", "Id", help=ID_HELP, fixed=True),
        Field("page", "Page", default=""),
        Field(
            "literature",
            "On the shelf as",
            choices=_shelf,
            help="The id of its entry on the literature shelf, if it stands there.",
        ),
    ),
)

LINE = Table(
    "line",
    "lines",
    "line",
    "lines",
    "A production line or trim that ran beside another. Lines that versions or serials name need no entry here.",
    (
        Field("id", "Name", required=True, fixed=True, help="Short, without spaces: export."),
        Field(
            "shares_cutins_with",
            "Cut-ins",
            "choice",
            choices=lambda file: [
                ("", "of its own"),
                *((line, f"those of the {words}") for line, words in _lines(file)),
            ],
        ),
    ),
)

BLOCK = Table(
    "serial_block",
    "serials",
    "run of serials",
    "runs of serials",
    "Serials with letters, of another plant, or that began anew. Without any, serials are plain numbers.",
    (
        Field("prefix", "Letters before the number", default="", help="B for B 1204; empty for none."),
        Field("line", "Line", default=MAIN_LINE, choices=_lines),
        Field("first", "First number", "whole", required=True),
        Field("last", "Last number", "whole", required=True),
        Field(
            "starts_at",
            "Begins at place",
            "whole",
            help="Where on the line's axis its first serial stands; empty: behind the run before it.",
        ),
    ),
)

BOUND = Table(
    "cutin",
    "bounds",
    "cut-in bound",
    "cut-in bounds",
    "What a document says about when a change came in.",
    (
        Field("feature", "Feature", "choice", required=True, choices=_changes, wide=True),
        Field("from", "From", choices=_states, help="The two states; needed where the feature changes more than once."),
        Field("to", "To", choices=_states),
        Field(
            "after",
            "In no set up to",
            "whole",
            help="The last serial that is documented without the change.",
            told=_as_serial("after"),
        ),
        Field(
            "before",
            "In every set from",
            "whole",
            help="The first serial from which all sets have it.",
            told=_as_serial("before"),
        ),
        Field("about", "Made about", help="Where a document dates it: 1949, 1949-10 or 1949-W44."),
        Field("line", "Line", "choice", choices=lambda file: [("", "the only one with this change"), *_lines(file)]),
        Field("source", "Source", "choice", choices=lambda file: [("", "none given"), *_sources(file)], wide=True),
    ),
)

TABLES = {table.slug: table for table in (FEATURE, VERSION, SOURCE, LINE, BLOCK, BOUND)}
"""By the word in addresses."""


def minutes_key(access: str) -> str:
    """The form's name for what opening to an access costs; names in forms have no spaces.

    >>> minutes_key("back off")
    'access_minutes.back_off'
    """
    return f"access_minutes.{access.replace(' ', '_')}"


_MINUTES = {"back off": 5, "chassis out": 25, "underside": 5, "powered": 15}
"""What opening costs where the family does not say (common practice, no source)."""

TOP = Table(
    "",
    "family",
    "family",
    "families",
    "",
    (
        Field("name", "Name", required=True, wide=True),
        Field("first_serial", "First serial", "whole", help="Empty: the first there can be."),
        Field(
            "last_serial", "Last serial", "whole", help="The largest thought possible; empty: inferred from survivors."
        ),
        Field("introduced", "Introduced", help="1948, 1948-03, 1948-W31 or 1948-03-09."),
        Field("discontinued", "Discontinued", help="Written in the same way."),
        Field("kind", "Kind", "choice", required=True, default="", choices=lambda file: [(one, one) for one in KINDS]),
        Field("m_means_thousand", "On its drawings 470M means 470,000 ohms", "tick", default=False, wide=True),
        *(
            Field(
                minutes_key(access),
                f"Minutes to {words}",
                "figure",
                folded=True,
                help=f"Usually {_MINUTES[access]}.",
            )
            for access, words in (
                ("back off", "take the back off"),
                ("chassis out", "take the chassis out, then"),
                ("underside", "turn it over, then"),
                ("powered", "bring it up to power"),
            )
        ),
    ),
)
