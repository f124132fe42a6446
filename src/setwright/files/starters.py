"""Starter files: a family to edit and a set to fill in, every key explained in the words of the bench."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from setwright.files.partslists.proposals import quoted_toml
from setwright.identity.cautions import cautions_for
from setwright.identity.model import ACCESSES, PERMANENCES, Family, Feature

_WEIGHT = {
    "stamped": "stamped: the strongest evidence, almost never altered",
    "riveted": "riveted: strong evidence",
    "soldered": "soldered: good evidence where the joints are the factory's",
    "plugged": "plugged in: weak evidence, easily exchanged",
    "consumable": "a consumable: the weakest evidence, replaced as a matter of course",
}
_WHERE = {
    "outside": "OUTSIDE: look before anything is opened",
    "back off": "BACK OFF",
    "chassis out": "CHASSIS OUT",
    "underside": "UNDERSIDE",
    "powered": "POWERED: only a set that has been judged safe to run",
    "lead lifted": "LEAD LIFTED: only if nothing else decides",
}
_WIDTH = 118


def family_starter() -> str:
    """A small invented family that passes the check as it stands, to be edited into a real one."""
    return _FAMILY


def set_starter(family: Family | None = None) -> str:
    """A set to fill in.

    With a family, its features stand in it as commented observations, the easiest looks first; without one it belongs
    to the family of `family_starter` and holds a few of its observations.
    """
    if family is None:
        return _SET_HEAD.format(family='"example-five"') + _SET_EXAMPLE + _SET_TAIL
    head = _SET_HEAD.format(family=quoted_toml(family.id))
    return head + "".join(_features_of(family)) + _SET_TAIL


def _features_of(family: Family) -> Iterable[str]:
    yield (
        "\n# What to look for, the easiest first, and of these the strongest. Take the # away from the three lines\n"
        "# of what you have seen, put the state between the quotes, and leave the rest as it is: not looked at yet.\n"
    )
    said: set[str] = set()
    for access in ACCESSES:
        features = [feature for feature in family.features if feature.access == access]
        features.sort(key=lambda feature: PERMANENCES.index(feature.permanence))
        if not features:
            continue
        yield f"\n# ==== {_WHERE[access]} ".ljust(_WIDTH, "=") + "\n"
        cautions = [caution for caution in cautions_for(access, family.kind) if caution not in said]
        said.update(cautions)
        yield "".join(_comment(f"CAUTION: {caution}") for caution in cautions)
        yield "".join(_observation(feature) for feature in features)


def _observation(feature: Feature) -> str:
    states = ", ".join(quoted_toml(state) for state in feature.all_states)
    only = f" Only in: {', '.join(feature.lines)}." if feature.lines else ""
    return (
        "\n"
        + _comment(f"{feature.label} ({_WEIGHT[feature.permanence]}).{only}")
        + _comment(f"States: {states}")
        + f'# [[observation]]\n# feature = {quoted_toml(feature.id)}\n# state = ""\n'
    )


def _comment(text: str) -> str:
    """Text as comment lines; line breaks in it could otherwise end the comment."""
    lines = textwrap.wrap(" ".join(text.split()), _WIDTH - 4, break_long_words=False, break_on_hyphens=False)
    return "".join(f"# {'  ' if number else ''}{line}\n" for number, line in enumerate(lines))


_FAMILY = """\
# A family: one chassis family or model line, with what its service literature says about it.
# Everything below is an invented example. Change it into your family, then try:  setwright check THIS-FILE
# Text stands in quotes, numbers do not; a # makes the rest of a line a remark.

format = "setwright-family/1"
id = "example-five"               # a short name without spaces; set files refer to it
name = "Example Five, five-tube table radio"
kind = "radio"                    # radio | television | test gear | amplifier | other

# Serials. Leave a line out (put # before it) where you do not know it.
first_serial = 1
last_serial = 30000               # the largest serial thought possible
# introduced = "1948-03"          # year, month, week (1948-W31) or day
# discontinued = "1950-06"

# Serials with letters, or that begin anew, need one block for each run; otherwise leave this out.
# [[serial_block]]
# prefix = "B"                    # "B 1204" and "b1204" are the same serial
# first = 1
# last = 20000

# SOURCES: what the statements below come from.
[[source]]
id = "first-printing"
title = "Service data, first printing"
page = "2"

[[source]]
id = "second-printing"
title = "Service data, second printing"

# FEATURES: what can be seen on a set and differs between versions. Two parts lists? `setwright compare` writes these.
#
# access      how far in you must go to see it:
#             outside | back off | chassis out | underside | powered | lead lifted
# permanence  how likely it is to be still as the factory left it. What is hard to change is strong evidence:
#             stamped     a number, label or legend stamped, printed or glued on    the strongest
#             riveted     sockets, cans, transformers, holes in the chassis         strong
#             soldered    resistors, coils, the way a lead is run                   good
#             plugged     tubes, lamps, knobs: exchanged in a minute                weak
#             consumable  paper and electrolytic capacitors, pilot lamps            the weakest
#             Ten tubes say less than one stamping: look for the stamped, riveted and wired things first.
# states      everything a set may show, the earliest first; "absent" where the part may be missing.
# unit        only for values: F, ohm, V, A, H, W. Values are written as on the part: ".05 mfd", "470k", "2.2 meg".
#             "470M" is refused, because on old drawings M means thousand: write 470k, or 470 meg.

[[feature]]
id = "chassis-stamp"
label = "Letter stamped on the chassis rear"
access = "back off"
permanence = "stamped"
states = ["A", "B"]

[[feature]]
id = "rectifier-socket"
label = "Rectifier socket"
access = "underside"
permanence = "riveted"
states = ["wafer", "moulded"]

[[feature]]
id = "avc-resistor"
label = "AVC resistor"
access = "underside"
permanence = "soldered"
part = "R5"                       # the reference in the parts list
unit = "ohm"
states = ["2.2 meg", "1 meg"]

[[feature]]
id = "converter"
label = "Converter tube"
access = "back off"
permanence = "plugged"
part = "V1"
states = ["12SA7", "12BE6"]

[[feature]]
id = "tone-capacitor"
label = "Tone capacitor"
access = "underside"
permanence = "consumable"
part = "C12"
unit = "F"
# tolerance = 0.2                 # how far a value may be off and still count as that state
states = ["absent", ".02 mfd"]

[[feature]]
id = "cabinet"
label = "Cabinet"
role = "variant"                  # made side by side: no change from one to the other during production
group = "cabinet"                 # what would move together if cabinet and chassis were married
access = "outside"
permanence = "stamped"
states = ["brown", "ivory"]

# VERSIONS: the documented states, in the order of production. A feature left out: the document is silent about it.
[[version]]
id = "early"
label = "Early production"
sources = ["first-printing"]

[version.states]
chassis-stamp = "A"
rectifier-socket = "wafer"
avc-resistor = "2.2 meg"
converter = "12SA7"
tone-capacitor = "absent"

[[version]]
id = "late"
label = "Late production"
based_on = "early"                # as that version, except:
sources = ["second-printing"]

[version.states]
chassis-stamp = "B"
rectifier-socket = "moulded"
avc-resistor = "1 meg"
converter = "12BE6"
tone-capacitor = ".02 mfd"

# BOUNDS on a change, where a document gives a serial. Leave them out where none does.
# [[cutin]]
# feature = "converter"
# to = "12BE6"
# after = 9000                    # in no set up to this serial
# before = 14000                  # in every set from this serial on
# source = "second-printing"
"""

_SET_HEAD = """\
# One set, and what was seen on it before anything in it was replaced.
# Fill it in as you look; what you have not looked at is simply not here. Then:  setwright identify FAMILY THIS-FILE

format = "setwright-set/1"
id = "bench-1"                    # your own name for the set, without spaces
family = {family}
# serial = "B 71?08"              # as read: ? for each character that cannot be read, * for any number of them
# line = "main"                   # only where you know it
open_to = "outside"               # how far the set is open now: outside | back off | chassis out | underside | powered;
                                  # raise it as you open the set, so that the next looks cost what they really do

# What else can stand in an observation:
#   sure = "likely"               # certain (if left out) | likely | guess
#   how = "measured"              # values only: marked on the part (if left out) | measured with a meter
#   serviced = true               # looks altered (fresh solder, modern part): counts for originality, not for identity
#   cannot_tell = true            # instead of state: looked, and it cannot be decided
#   note = "..."                  # anything
# A state that is not among those listed is written as seen; it counts as "something else".
"""

_SET_EXAMPLE = """
[[observation]]
feature = "cabinet"
state = "ivory"

[[observation]]
feature = "chassis-stamp"
state = "B"
sure = "likely"
note = "half under the dial cord bracket"

[[observation]]
feature = "converter"
state = "12SA7"
"""

_SET_TAIL = """
# Dates found on the set, for its age:
# [[date_evidence]]
# kind = "stamp"                  # stamp: when the set was finished | document: an invoice or the like (not after)
# date = "1948-08"                # year, month, week (1948-W31) or day
# [[date_evidence]]
# kind = "part"                   # a dated part: the set is not older
# part = "speaker"
# code = "8?1"                    # as read, ? for an illegible figure; or date = "..." where it is plain

# What else belongs to the set, all of it optional:
# [intake]
# on = "1999-05"                  # when it came in: year, month or day
# from = "estate sale"            # from whom; also place, price, by
# provenance = "..."              # what is known of its past
# missing = ["rear cover"]        # and came_with = ["service sheet"]
# [[condition]]
# area = "cabinet"                # cabinet | finish | dial and glass | chassis | underside | tubes | picture tube |
#                                 # cords | other
# text = "veneer lifting at the left foot"
# [[note]]
# text = "..."                    # about = "converter" says which feature it is about
# [[want]]
# what = "power transformer"      # something that is looked for; found = true once it is there
"""
