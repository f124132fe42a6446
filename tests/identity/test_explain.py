"""The sentences of an answer say what was computed, and no more."""

from dataclasses import replace

import pytest

from setwright.identity import BenchSet, Family, Observation, identify
from setwright.identity.answer import ObservationAnswer, VerdictEntry
from setwright.identity.explain import explain
from setwright.identity.misfit import Misfit
from setwright.identity.model import Feature, Line, Version

FEATURES = (
    Feature("stamp", "Stamp", ("A", "B"), permanence="stamped"),
    Feature("bracket", "Bracket", ("flat", "ribbed"), permanence="riveted"),
    Feature("knob", "Knob", ("plain", "spun"), permanence="plugged"),
    Feature("cloth", "Cloth", ("tan", "gold", "brown"), role="variant"),
)
OLD = {"stamp": "A", "bracket": "flat", "knob": "plain"}
NEW = {"stamp": "B", "bracket": "ribbed", "knob": "plain"}
NEWEST = {"stamp": "B", "bracket": "ribbed", "knob": "spun"}
FAMILY = Family(
    "f",
    "Family",
    FEATURES,
    (Version("one", "One", states=OLD), Version("two", "Two", states=NEW), Version("three", "Three", states=NEWEST)),
)
UNTOUCHED = {"untouched": 0.95, "repaired": 0.04, "heavily rebuilt": 0.01}


def entry(version, between, probability, stamp, bracket, knob, states=OLD):
    applied = {"main:stamp:1": stamp, "main:bracket:1": bracket, "main:knob:1": knob}
    label = version or f"between {between[0]} and {between[1]}"
    return VerdictEntry(label, "main", version, between, probability, applied, states)


def sentences(verdict, observations=(), latest=None, built=None, condition=UNTOUCHED, looks=(), p_value=0.5):
    return explain(
        FAMILY,
        tuple(verdict),
        tuple(observations),
        latest or {},
        built or {},
        condition,
        looks,
        (),
        Misfit(p_value, ()),
    )


def test_a_line_without_documents_is_not_called_a_version():
    nothing = replace(FAMILY, versions=())
    alone = identify(nothing, BenchSet("b", "f"))
    assert alone.explanations[0] == "No version of the family is documented, so none can be named."
    assert alone.explanations[-1].startswith("Best next look")  # what left the factory is unknown all the same
    two = replace(FAMILY, lines=(Line("main"), Line("export")))
    told = identify(two, BenchSet("b", "f", line="export")).explanations[0]
    assert told.startswith("The set is one of the export line, of which no version is documented (")


def test_a_transitional_set_is_told_change_by_change():
    """Also those that are as good as certain; changes of other steps are not the question."""
    text = " ".join(
        sentences(
            [
                entry(None, ("one", "two"), 0.97, 1.0, 0.0, 0.0, {**OLD, "stamp": "B"}),
                entry("two", None, 0.02, 1.0, 1.0, 0.0),
                entry("one", None, 0.01, 0.0, 0.0, 0.0),
                entry("three", None, 0.0, 1.0, 1.0, 1.0),
            ]
        )
    )
    assert "already has: Stamp (B)." in text
    assert "does not have yet: Bracket (still flat)." in text
    assert "Knob" not in text


@pytest.mark.parametrize(
    ("built", "ending"),
    [
        ({"tan": 0.2, "gold": 0.7, "brown": 0.1}, "; the factory state was probably gold (70 %)."),
        ({"tan": 0.3, "gold": 0.15, "brown": 0.55}, "(80 %)."),
        (
            {"tan": 0.9, "gold": 0.05, "brown": 0.05},
            "it shows the factory state, so a part of the same kind would have replaced it.",
        ),
    ],
)
def test_a_factory_state_is_named_only_where_it_is_probable(built, ending):
    seen = ObservationAnswer("cloth", "tan", 0.0, 0.8, 0.1)
    told = sentences(
        [entry("one", None, 1.0, 0.0, 0.0, 0.0)],
        [seen],
        {"cloth": Observation("cloth", "tan")},
        {"cloth": built},
    )
    (about,) = [sentence for sentence in told if sentence.startswith("Cloth")]
    assert about.endswith(ending)


def test_the_condition_is_named_as_surely_as_it_is_known():
    verdict = [entry("one", None, 1.0, 0.0, 0.0, 0.0)]
    seen = [ObservationAnswer("stamp", "A", 5.0, 0.1, 0.1)]

    def told(untouched, repaired, rebuilt):
        condition = {"untouched": untouched, "repaired": repaired, "heavily rebuilt": rebuilt}
        latest, built = {"stamp": Observation("stamp", "A")}, {"stamp": {"A": 1.0, "B": 0.0}}
        return sentences(verdict, seen, latest, built, condition)[-2]

    assert told(0.95, 0.04, 0.01) == "As a whole the set looks untouched (95 %)."
    assert told(0.1, 0.3, 0.6) == "As a whole the set looks most probably heavily rebuilt (60 %)."
    assert told(0.45, 0.40, 0.15).endswith("not settled: untouched 45 %, repaired 40 %, heavily rebuilt 15 %.")


def test_what_only_a_lifted_lead_would_show_is_not_called_nothing():
    seen = tuple(Observation(f.id, f.states[0]) for f in FEATURES)
    done = identify(FAMILY, BenchSet("b", "f", observations=seen))
    assert done.explanations[-1] == "Nothing is left to look at."
    lead = Feature("lead", "Lead", ("left", "right"), access="lead lifted")
    versions = tuple(replace(v, states={**v.states, "lead": "left"}) for v in FAMILY.versions)
    more = replace(FAMILY, features=(*FEATURES, lead), versions=versions)
    left = identify(more, BenchSet("b", "f", observations=seen))
    assert left.explanations[-1] == "Nothing is left to look at without lifting a lead."


@pytest.mark.parametrize(("p_value", "share"), [(0.0, "under 1 %"), (0.002, "under 1 %"), (0.008, "1 %")])
def test_a_misfit_is_said_in_one_sentence_with_its_figure(p_value, share):
    """No replicate among some thousands is no proof that there would be none."""
    verdict = [entry("one", None, 1.0, 0.0, 0.0, 0.0)]
    (told,) = [s for s in sentences(verdict, p_value=p_value) if s.startswith("No documented history")]
    assert f", {share} would look as odd" in told
    assert not any(s.startswith("No documented history") for s in sentences(verdict, p_value=0.02))
