"""Dating one set: what its serial, its parts and its neighbours say, and what contradicts what."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from invented_runs import at, dated_part, finished, iso_week, production, register, run, speaker, stamped

from setwright.chronology import (
    DatedSet,
    Evidence,
    NothingDated,
    Place,
    PlaceBelief,
    Production,
    cut_in_range,
    date_set,
    fit,
    leave_one_out,
    positions_by,
)
from setwright.chronology.picture import picture_of
from setwright.notation import parse_date


@pytest.fixture(scope="module")
def fitted():
    return fit(production(), register())


def days_off(answer, position):
    return abs((answer.date.median - finished(position)).days)


def test_a_serial_among_stamped_survivors_dates_the_set(fitted):
    answer = date_set(fitted, at(9000))
    assert days_off(answer, 9000) < 35
    assert answer.date.low <= answer.half.low <= answer.date.median <= answer.half.high <= answer.date.high
    assert answer.date.low <= finished(9000) <= answer.date.high
    assert answer.findings == ()


def test_a_stamp_dates_it_to_the_week(fitted):
    answer = date_set(fitted, at(9000, Evidence("stamp", parse_date(iso_week(finished(9000))))))
    assert days_off(answer, 9000) <= 4
    assert answer.date.days <= 14


def test_a_dated_part_narrows_the_date_and_its_decade_is_told(fitted):
    plain = date_set(fitted, at(9000))
    answer = date_set(fitted, at(9000, speaker(finished(9000))))
    (part,) = answer.parts
    assert answer.date.days < plain.date.days
    assert part.dates[0].date == iso_week(finished(9000) - timedelta(weeks=6))
    assert part.dates[0].probability > 0.9
    assert sum(found.probability for found in part.dates) == pytest.approx(1.0)
    assert part.later_replacement_probability < 0.05
    low, median, high = part.lag_weeks
    assert low <= median <= high
    assert 4 <= median <= 8


def test_a_later_part_is_found_out(fitted):
    late = speaker(finished(9000) + timedelta(weeks=120))
    answer = date_set(fitted, at(9000, speaker(finished(9000), part="control"), late))
    assert days_off(answer, 9000) < 30
    control, told = answer.parts
    assert told.later_replacement_probability > 0.9
    assert control.later_replacement_probability < 0.1
    (finding,) = answer.findings
    assert (finding.kind, finding.item) == ("part", "speaker")
    assert "later replacement" in finding.text


def test_several_later_parts_are_found_out_beside_what_is_the_factorys(fitted):
    """However improbable each of them is, what the others say is not lost."""
    day = finished(9000)
    later = [
        Evidence("part", parse_date(iso_week(day + timedelta(weeks=weeks))), part=name)
        for name, weeks in (("filter-capacitor", 300), ("volume-control", 220), ("output-transformer", 120))
    ]
    alone = date_set(fitted, at(9000, speaker(day)))
    answer = date_set(fitted, at(9000, speaker(day), *later))
    assert [part.later_replacement_probability > 0.9 for part in answer.parts] == [False, True, True, True]
    assert [found.item for found in answer.findings] == ["filter-capacitor", "volume-control", "output-transformer"]
    assert abs((answer.date.median - alone.date.median).days) <= 14


def test_all_parts_later_is_one_finding(fitted):
    late = [dated_part(finished(5000) + timedelta(weeks=w), name) for w, name in ((150, "speaker"), (160, "control"))]
    answer = date_set(fitted, at(5000, *late))
    assert [finding.kind for finding in answer.findings] == ["part"]
    assert "All dated parts are later" in answer.findings[0].text


@pytest.mark.parametrize(
    ("text", "said"),
    [("1946-05", "before the introduction"), ("1952-W10", "after the end of production"), ("1949-W45", "contradicts")],
)
def test_a_stamp_that_cannot_be_is_a_finding(fitted, text, said):
    answer = date_set(fitted, at(3000, Evidence("stamp", parse_date(text))))
    (finding,) = answer.findings
    assert finding.kind == "stamp"
    assert said in finding.text
    assert finding.probability > 0.5
    assert days_off(answer, 3000) < 60


def test_a_document_says_not_after(fitted):
    invoice = Evidence("document", parse_date(finished(9000).isoformat()))
    answer = date_set(fitted, at(9000, invoice))
    assert answer.date.high <= finished(9000) + timedelta(days=7)


def test_dates_in_the_future_and_codes_that_are_none(fitted):
    future = Evidence("document", parse_date("2031-05-01"))
    odd = Evidence("part", code="861", scheme="year-week", part="speaker")
    unread = Evidence("part", code="AB", part="choke")
    answer = date_set(fitted, at(9000, future, odd, unread), today=date(2026, 1, 1))
    kinds = [finding.kind for finding in answer.findings]
    assert kinds.count("document") == 1
    assert kinds.count("code") == 2
    assert "future" in next(f.text for f in answer.findings if f.kind == "document")
    assert answer.parts[1].dates == ()


def test_a_survivor_out_of_order_is_named():
    sets = [*register(), stamped(10_100, day=finished(17_000))]
    fitted = fit(production(), sets)
    answer = date_set(fitted, at(9000))
    assert [finding.item for finding in answer.findings if finding.kind == "survivor"] == ["s-10100"]
    assert days_off(answer, 9000) < 40
    assert [mark.set for mark in answer.picture.marks if mark.odd] == ["s-10100"]


def test_wrong_years_of_production_are_blamed_and_not_the_survivors():
    fitted = fit(production(introduced="1950-01", discontinued="1951-12"), register())
    assert [finding.kind for finding in date_set(fitted, at(9000)).findings] == ["documents"]


def test_without_survivors_the_years_of_production_speak():
    answer = date_set(fit(production()), at(10_000))
    assert date(1948, 8, 1) < answer.date.median < date(1949, 6, 1)
    assert any("years of production" in sentence for sentence in answer.explanations)


def test_without_any_date_there_is_no_answer():
    with pytest.raises(NothingDated, match="introduced"):
        fit(production(introduced=None, discontinued=None), [DatedSet("a", (Place("main", 5, 5),))])


def test_codes_of_one_figure_alone_are_dated_to_decades():
    bench = at(9000, Evidence("part", code="831", scheme="year-week", part="speaker"))
    bare = Production((run(),))
    fitted = fit(bare, also=bench.evidence)
    assert fitted.weeks.first_day.year < 1928
    assert fitted.weeks.last_day.year > 1988
    assert len(date_set(fitted, bench).parts[0].dates) > 5


def test_where_the_serial_is_gone_features_say_where(fitted):
    lost = DatedSet("bench", (Place("main", 1, 20_000),))
    edges = np.array([0, 8000, 9000, 20_000])
    belief = PlaceBelief("main", 1.0, edges, np.array([0.02, 0.96, 0.02]))
    wide, narrow = date_set(fitted, lost), date_set(fitted, lost, belief=[belief])
    assert narrow.date.days < wide.date.days / 2
    assert narrow.date.low <= finished(8500) <= narrow.date.high
    assert any("serial, read in full" in item.text for item in wide.narrowing)


def test_a_partly_legible_serial_stands_where_it_can(fitted):
    places = tuple(Place("main", p, p) for p in (2123, 12_123))
    early = speaker(finished(2123))
    answer = date_set(fitted, DatedSet("bench", places, (early,)))
    assert answer.date.low <= finished(2123) <= answer.date.high
    assert answer.date.high < finished(9000)


def test_what_would_narrow_it_most_comes_first(fitted):
    answer = date_set(fitted, at(9000))
    less = [item.days_less for item in answer.narrowing]
    assert less == sorted(less, reverse=True)
    assert answer.narrowing[0].what == "stamp"
    assert {item.what for item in answer.narrowing} >= {"stamp", "part"}
    illegible = at(9000, Evidence("part", code="8??", scheme="year-week", part="speaker"))
    assert any(item.what == "code" for item in date_set(fitted, illegible).narrowing)


def test_cut_ins_in_serials_become_dates_and_the_other_way(fitted):
    place = PlaceBelief("main", 1.0, np.array([0, 9900, 10_100, 20_000]), np.array([0.0, 1.0, 0.0]))
    span = cut_in_range(fitted, place, 0.9)
    assert span.low <= finished(10_000) <= span.high
    month = parse_date(f"{finished(10_000):%Y-%m}")
    after, before = positions_by(fitted, "main", month)
    assert after < 10_000 < before
    assert before - after < 8000
    assert positions_by(fitted, "main", parse_date("1948-01"))[0] is None


def test_leaving_one_out_tells_how_far_to_trust_it(fitted):
    trust = leave_one_out(fitted)
    assert len(trust.sets) == 16
    assert trust.median_days < 30
    assert trust.median_days <= trust.alone_median_days + 5
    assert 0.8 <= trust.covered <= 1.0
    assert leave_one_out(fit(production(), register(3))) is None


def test_a_set_left_out_is_dated_as_if_it_were_not_there():
    sets = register(6, seed=4)
    left_out = fit(production(), sets)
    without = fit(production(), [*sets[:2], *sets[3:]], also=sets[2].evidence)
    _, position = sets[2].position
    cavity, fresh = left_out.cavity(2), without.finished("main", position)
    # Stock lags and the weights of the clumping still know of it.
    assert 0.5 * np.abs(cavity - fresh).sum() < 0.1


def test_sets_on_one_serial_share_a_node():
    sets = [stamped(9000), stamped(9000), stamped(15_000)]
    fitted = fit(production(), sets)
    assert len(set(fitted.lines["main"].node_of.values())) == 2


def test_many_survivors_share_nodes_and_the_answer_says_so():
    sets = register(80, seed=2)
    full, shared = fit(production(), sets), fit(production(), sets, nodes=40)
    for place in (3000, 9000, 16_000):
        whole, cut = (date_set(one, at(place)).date for one in (full, shared))
        assert abs((whole.median - cut.median).days) <= 14
    assert any("share" in w or "same week" in w for w in date_set(shared, at(9000)).warnings)


def test_the_picture_has_what_is_drawn(fitted):
    answer = date_set(fitted, at(9000, speaker(finished(9000))))
    picture = answer.picture
    (curve,) = picture.curves
    assert picture.mass.sum() == pytest.approx(1.0)
    assert (np.diff(curve.median) >= 0).all()
    assert (curve.low <= curve.median).all()
    assert (curve.median <= curve.high).all()
    # 20,000 sets over 104 weeks.
    assert np.median(curve.pace) == pytest.approx(193, rel=0.3)
    assert len(picture.parts) == 1
    assert len(picture.marks) == 16
    assert picture.place == {"main": ((9000, 9000),)}
    assert picture_of(fitted, at(9000), picture.mass, 0.9).parts == ()


def test_progress_is_told_and_can_cancel():
    told = []
    fit(production(), register(5), progress=lambda text, share: told.append(share))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(text, share):
        raise InterruptedError

    with pytest.raises(InterruptedError):
        fit(production(), register(5), progress=stop)


@pytest.mark.slow
def test_ranges_hold_as_often_as_they_say():
    """Sets of simulated productions whose pace goes up and down, one survivor in four stamped at random."""
    inside, count = 0, 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        pace = np.repeat(np.exp(rng.normal(0.0, 0.6, 8)), 2500)
        elapsed = np.cumsum(1.0 / pace)
        days = 700 * elapsed / elapsed[-1]
        positions = np.sort(rng.choice(20_000, 14, replace=False))

        def day(position, days=days, rng=rng):
            return date(1948, 1, 12) + timedelta(days=float(days[position]) + rng.normal(0, 5))

        sets = [stamped(int(p) + 1, day=day(p)) for p in positions]
        fitted = fit(production(), sets)
        for position in rng.choice(20_000, 5, replace=False):
            answer = date_set(fitted, at(int(position) + 1))
            inside += answer.date.low <= day(position) <= answer.date.high
            count += 1
    assert 0.83 <= inside / count <= 0.99
