"""What a reference on a parts list stands for, how far in one must go to see it, and how lasting it is.

All of it is common practice without a source; a proposal made from it is there to be read over and corrected.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

_PAPER_FROM = 1e-9  # farads: below, mica and ceramic; from here up, paper
_ELECTROLYTIC_FROM = 1e-6


@dataclass(frozen=True, slots=True)
class PartKind:
    """A kind of part.

    unit : of its value, None where a part of this kind is told by its name (a tube, a transformer).
    has_value : whether a line of a parts list should give a value.
    access, permanence, group : as in the family file.
    stamped_number : whether the maker's part number is usually marked on the part itself.
    """

    name: str
    access: str
    permanence: str
    unit: str | None = None
    has_value: bool = False
    group: str = "chassis"
    stamped_number: bool = False


_CAPACITOR = PartKind("capacitor", "underside", "consumable", unit="F", has_value=True)
_RESISTOR = PartKind("resistor", "underside", "soldered", unit="ohm", has_value=True)
_COIL = PartKind("coil", "underside", "soldered", unit="H", stamped_number=True)
_TRANSFORMER = PartKind("transformer", "chassis out", "riveted", stamped_number=True)
_TUBE = PartKind("tube", "back off", "plugged")
_SPEAKER = PartKind("speaker", "back off", "riveted", stamped_number=True)
_LAMP = PartKind("lamp", "back off", "consumable")
_FUSE = PartKind("fuse", "back off", "consumable")
_SWITCH = PartKind("switch", "chassis out", "soldered", stamped_number=True)
_CONNECTOR = PartKind("connector", "chassis out", "riveted")
_RECTIFIER = PartKind("rectifier", "underside", "soldered", stamped_number=True)
_OTHER = PartKind("part", "underside", "soldered", stamped_number=True)
_LABEL = PartKind("label", "outside", "stamped")
_CABINET_PART = PartKind("cabinet part", "outside", "plugged", group="cabinet")

_BY_LETTERS = {
    **dict.fromkeys(("C", "VC", "TC", "CT", "CV"), _CAPACITOR),
    **dict.fromkeys(("R", "VR", "RV"), _RESISTOR),
    **dict.fromkeys(("L", "CH", "RFC", "LC"), _COIL),
    **dict.fromkeys(("T", "TR", "IF", "IFT", "PT", "OT"), _TRANSFORMER),
    **dict.fromkeys(("V", "VT", "TU"), _TUBE),
    **dict.fromkeys(("S", "SW"), _SWITCH),
    **dict.fromkeys(("LS", "SP", "SPK"), _SPEAKER),
    **dict.fromkeys(("I", "PL", "DL", "LP", "DS"), _LAMP),
    **dict.fromkeys(("F", "FU"), _FUSE),
    **dict.fromkeys(("J", "P", "X", "SO", "PG", "TB", "TS"), _CONNECTOR),
    **dict.fromkeys(("D", "CR", "SR", "RX", "RECT"), _RECTIFIER),
    **dict.fromkeys(("AN", "ANT", "BT", "FL", "HS", "JK", "KN", "LB", "MP", "MT", "OSC", "RY", "TP", "VB"), _OTHER),
}

_LABEL_WORDS = re.compile(r"\b(?:label|decal|name\s?plate|tag|stamp(?:ed|ing)?|tube chart|tube layout)\b")
_CABINET_WORDS = re.compile(r"\b(?:knob|escutcheon|dial (?:scale|glass|plate)|grille?|cabinet|handle|back cover)\b")
_VARIABLE_WORDS = re.compile(r"\b(?:trimm\w*|padd\w*|gang|variable|tuning)\b")
_CONTROL_WORDS = re.compile(r"\b(?:control|pot|potentiometer|rheostat)\b")
_CONSTRUCTIONS = (
    (r"electrolytic|elect|lytic|elec", "electrolytic"),
    (r"silver(?:ed)?[\s-]?mica", "silver mica"),
    (r"mica", "mica"),
    (r"ceramic|cer|disc|disk", "ceramic"),
    (r"oil[\s-]?(?:filled|paper)", "oil-filled paper"),
    (r"paper|pap", "paper"),
    (r"film|polyester|polystyrene", "film"),
    (r"wire[\s-]?wound|w\.?w", "wirewound"),
    (r"carbon|comp(?:osition)?", "carbon"),
    (r"selenium", "selenium"),
    (r"silicon", "silicon"),
)
_WORN = ("paper", "oil-filled paper", "electrolytic")


def is_reference_letters(letters: str) -> bool:
    """Whether these capitals can begin a reference: any single letter, and the usual groups of two to four."""
    return len(letters) == 1 or letters in _BY_LETTERS


def kind_by_letters(letters: str) -> PartKind:
    """The kind of part a reference names, before its description is read."""
    return _BY_LETTERS.get(letters, _OTHER)


def construction(description: str) -> str | None:
    """How a part is made, where the description says so.

    >>> construction("tubular paper, screen bypass"), construction("silver-mica"), construction("bypass")
    ('paper', 'silver mica', None)
    """
    for words, name in _CONSTRUCTIONS:
        if re.search(rf"\b(?:{words})\b", description.casefold()):
            return name
    return None


def is_variable(description: str) -> bool:
    """Whether a capacitor is a trimmer or tuning gang, which lists often give no value."""
    return _VARIABLE_WORDS.search(description.casefold()) is not None


def kind_of(letters: str, description: str, value: float | None = None, sections: int = 1) -> PartKind:
    """The kind of part a line describes, with access and permanence.

    letters : the reference's capitals, "C" of C12. value : in SI units, where the line gives one.
    sections : of a capacitor can.

    >>> kind_of("C", "mica", 5e-10).permanence, kind_of("C", "", 5e-8).permanence, kind_of("V", "").access
    ('soldered', 'consumable', 'back off')
    """
    kind, words = kind_by_letters(letters), description.casefold()
    if kind.unit is None and _LABEL_WORDS.search(words):
        return _LABEL
    if kind.unit is None and _CABINET_WORDS.search(words):
        return _CABINET_PART
    if kind is _CAPACITOR:
        return _capacitor(words, value, sections)
    if kind is _RESISTOR and _CONTROL_WORDS.search(words):
        return replace(kind, name="control", access="chassis out")
    if kind is _COIL and (letters == "CH" or re.search(r"\bchoke\b", words)) and letters != "RFC":
        return replace(kind, name="choke", access="chassis out", permanence="riveted")
    if kind is _RECTIFIER and construction(words) == "selenium":
        return replace(kind, permanence="consumable")
    return kind


def _capacitor(words: str, value: float | None, sections: int) -> PartKind:
    """Paper and electrolytic capacitors wear out and are replaced first; mica and ceramic ones stay."""
    if _VARIABLE_WORDS.search(words):
        return replace(_CAPACITOR, name="trimmer or tuning capacitor", access="chassis out", permanence="riveted")
    if sections > 1:
        return replace(_CAPACITOR, name="capacitor can", access="chassis out")
    made = construction(words)
    if made is None and value is not None:
        made = "electrolytic" if value >= _ELECTROLYTIC_FROM else "paper" if value >= _PAPER_FROM else "mica"
    if made is None or made in _WORN:
        return replace(_CAPACITOR, name="electrolytic capacitor" if made == "electrolytic" else "capacitor")
    return replace(_CAPACITOR, permanence="soldered")
