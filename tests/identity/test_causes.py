"""What would explain a set that no documented history explains."""

from test_explain import FAMILY

from setwright.identity.answer import Difference, MisfitDriver, Sister, VerdictEntry
from setwright.identity.causes import causes


def leading(version):
    return VerdictEntry(version, "main", version, None, 0.9, {}, {})


def ask(drivers, version="one", sisters=(), without=None):
    return " ".join(causes(FAMILY, leading(version), [MisfitDriver(f, s, 9.0) for f, s in drivers], sisters, without))


def test_a_wrong_serial_is_named_where_the_set_would_fit_without():
    assert "wrong serial" in ask([], without=0.4)
    assert "serial" not in ask([], without=0.001)
    assert "serial" not in ask([])


def test_states_of_later_and_earlier_versions_are_told_apart():
    versions = {v.id: v.states for v in FAMILY.versions}
    feature = next(f for f in versions["one"] if versions["one"][f] != versions[FAMILY.versions[-1].id][f])
    later = versions[FAMILY.versions[-1].id][feature]
    assert "as on later sets" in ask([(feature, later)])
    earlier = versions["one"][feature]
    assert "as on earlier sets" in ask([(feature, earlier)], version=FAMILY.versions[-1].id)


def test_what_the_nearest_sets_share_left_the_factory():
    feature = FAMILY.features[0]
    difference = Difference(feature.id, "odd", "odd", 3.0)
    sisters = [Sister(f"K-{n}", 0.1, 1.0, 3.0, (difference,)) for n in range(3)]
    text = ask([(feature.id, "odd")], sisters=sisters)
    assert "undocumented version" in text
    assert f"{feature.label} (odd) on 3 of 3" in text


def test_several_unlisted_states_point_to_an_undocumented_version():
    first, second = FAMILY.features[:2]
    assert "show what no version lists" in ask([(first.id, "odd"), (second.id, "odder")])
    assert ask([(first.id, "odd")]) == ""
