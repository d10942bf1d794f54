"""Limits by stage: the shipped table read as published, a school's changes, a student's own limits."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.errors import DataFileError
from advisor.lessons import lessons
from advisor.limits import (
    STAGES,
    Changes,
    make_limits,
    quantities,
    sense,
    shipped_pair,
    source_of,
    stage_setup,
    table,
    unit_of,
    words_of,
)
from advisor.sources import sources
from tests.fixed_cases import floor_faults

SOLO = (stage_setup("solo"),)
EARLY = (stage_setup("solo", early_solo=True),)
PRE = (stage_setup("pre-solo"),)


def test_every_number_has_a_unit_and_a_source_that_resolves() -> None:
    known = sources()
    for name in (*quantities(), *table()["fixed"]):
        assert source_of(name) in known, name
        assert isinstance(unit_of(name), str)
    for name, row in table()["own_cap"].items():
        assert row["source"] in known, name
    for lesson in lessons():
        assert lesson.source in known, lesson.key


def test_care_lies_inside_stop_and_solo_is_never_wider_than_with_an_instructor() -> None:
    for name in quantities():
        limits = make_limits(tuple(stage_setup(s) for s in STAGES) + EARLY)
        care, stop = limits.care[name][:, 0], limits.stop[name][:, 0]
        if sense(name) == "max":
            assert (care <= stop).all() or name == "crosswind_after_kt" or np.isinf(care).any(), name
            assert care[1] <= care[0] or np.isinf(care[1]), name
            assert stop[1] <= stop[0], name
            assert stop[4] <= stop[1], name
        else:
            assert (care >= stop).all() or np.isinf(care).any(), name
            assert care[1] >= care[0], name
            assert stop[1] >= stop[0], name
        assert stop[2] == stop[3], f"{name}: post-solo and commercial share the limits of the day"


def test_early_solo_falls_back_to_solo_where_it_has_no_pair_of_its_own() -> None:
    assert shipped_pair("mean_wind_kt", "solo", early_solo=True) == (8, 10)
    assert shipped_pair("visibility_sm", "solo", early_solo=True) == shipped_pair("visibility_sm", "solo")
    assert shipped_pair("mean_wind_kt", "post-solo", early_solo=True) == (20, 25)


def test_no_shipped_stop_is_looser_than_the_floor() -> None:
    for name, row in table()["limit"].items():
        if "floor" in row:
            assert all(shipped_pair(name, s)[1] >= row["floor"] for s in STAGES), name


def test_a_school_may_loosen_and_it_is_said() -> None:
    limits = make_limits(SOLO, Changes(school={"mean_wind_kt": {"solo": (14, 18)}}))
    assert limits.pair("mean_wind_kt", 0) == (14.0, 18.0)
    assert any(
        x == "mean wind for solo: care 14, stop 18 kt (looser than the shipped care 12, stop 15)"
        for x in limits.loosened
    )


@pytest.mark.parametrize(
    ("quantity", "pair"),
    [
        ("mean_wind_kt", (12, 16)),
        ("mean_wind_kt", (13, 15)),
        ("visibility_sm", (6, 4)),
        ("ceiling_area_ft", (3400, 3000)),
        ("peak_wind_kt", (15, 18)),  # any reported gust was care
        ("unsteady_wind_kt", (5, 9)),
    ],
)
def test_looser_in_either_value_is_flagged(quantity: str, pair: tuple[float, float]) -> None:
    assert make_limits(SOLO, Changes(school={quantity: {"solo": pair}})).loosened


def test_replacing_the_aircrafts_own_figure_is_flagged() -> None:
    limits = make_limits(PRE, Changes(school={"crosswind_after_kt": {"pre-solo": (15, 15)}}))
    assert any("crosswind for the landing after a lesson" in x for x in limits.loosened)


@pytest.mark.parametrize(
    ("quantity", "pair"), [("mean_wind_kt", (10, 12)), ("visibility_sm", (8, 6)), ("mean_wind_kt", (12, 15))]
)
def test_a_schools_tighter_or_equal_limit_is_not_called_looser(quantity: str, pair: tuple[float, float]) -> None:
    limits = make_limits(SOLO, Changes(school={quantity: {"solo": pair}}))
    assert not limits.loosened
    own = f"the school's own care {pair[0]}, stop {pair[1]}"
    said = pair != (12, 15)  # as shipped: nothing is tightened
    assert [own in x and x.startswith(words_of(quantity)) for x in limits.tightened] == [True] * said
    assert limits.pair(quantity, 0) == tuple(float(x) for x in pair)


def test_a_schools_solo_limit_never_widens_the_first_three_solos() -> None:
    changes = Changes(school={"mean_wind_kt": {"solo": (14, 18)}})
    assert make_limits(EARLY, changes).pair("mean_wind_kt", 0) == (8.0, 10.0)
    tighter = Changes(school={"mean_wind_kt": {"solo": (6, 9)}})
    assert make_limits(EARLY, tighter).pair("mean_wind_kt", 0) == (6.0, 9.0)


def test_looser_than_the_regulation_is_refused_with_what_to_do() -> None:
    assert floor_faults() == []
    with pytest.raises(DataFileError, match=r"limits\.solo\.visibility_sm.*floor of 3 SM; set 3 or more"):
        make_limits(SOLO, Changes(school={"visibility_sm": {"solo": (5, 2)}}))


def test_every_fault_of_the_changes_is_listed() -> None:
    changes = Changes(
        school={
            "visibility_sm": {"solo": (5, 2)},
            "mean_wind_kt": {"solo": (20, 10)},
            "no_such_kt": {"solo": (1, 2)},
        }
    )
    with pytest.raises(DataFileError) as caught:
        make_limits(SOLO, changes)
    text = str(caught.value)
    assert "floor" in text
    assert "care 20 must lie at or below stop 10" in text
    assert "no_such_kt" in text


@pytest.mark.parametrize("quantity", quantities())
def test_own_limits_tighten_and_never_loosen(quantity: str) -> None:
    setups = tuple(stage_setup(s) for s in STAGES)
    shipped = make_limits(setups)
    high = sense(quantity) == "max"
    for value in (0.1, 7.0, 1e5):
        mine = make_limits(setups, Changes(own={quantity: (None, value)}))
        care, stop = mine.care[quantity], mine.stop[quantity]
        before = shipped.care[quantity], shipped.stop[quantity]
        moved = (care != before[0]) | (stop != before[1])
        if high:
            assert (care <= before[0]).all()
            assert (stop == np.minimum(before[1], value)).all()
            assert (care <= stop)[moved].all()
        else:
            assert (care >= before[0]).all()
            assert (stop == np.maximum(before[1], value)).all()
            assert (care >= stop)[moved].all()
        assert bool(mine.tightened) == bool(moved.any())
        assert not mine.loosened


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"stage": "expert"}, "No stage is called"),
        ({"stage": "post-solo", "alone": True}, "--stage solo"),
        ({"stage": "pre-solo", "alone": True, "certificated": True}, "nobody flies alone"),
        ({"stage": "commercial", "early_solo": True}, "--stage solo"),
    ],
)
def test_options_that_do_not_fit_are_refused(options: dict[str, bool], says: str) -> None:
    with pytest.raises(DataFileError, match=says):
        stage_setup(**options)  # type: ignore[arg-type]


def test_every_limit_has_words_for_a_page() -> None:
    said = [words_of(q) for q in quantities()]
    assert len(set(said)) == len(said)
    assert not any("_" in x or x != x.strip() or not x for x in said)


def test_what_a_limit_does_not_have_is_not_said() -> None:
    (only,) = make_limits(
        PRE, Changes(school={"density_altitude_above_field_ft": {"pre-solo": (2000, None)}})
    ).tightened
    assert only == "density altitude above the field for pre-solo: the school's own care 2,000 ft"
    (gust,) = make_limits(SOLO, Changes(school={"gust_spread_kt": {"solo": (4, 6)}})).loosened
    assert gust == "gust spread for solo: care 4, stop 6 kt (looser than the shipped care from any reported gust)"


@pytest.mark.parametrize(
    ("own", "says"),
    [
        ((None, 40.0), ("Your own limit of 40 kt for mean wind changes nothing: tighter ones stand.",)),
        ((None, 8.0), ("Tightened: mean wind: your own limit of 8 kt applies.",)),
        ((5.0, None), ("Tightened: mean wind: your own care limit of 5 kt applies.",)),
        ((None, 15.0), ()),  # the shipped stop of a student alone, to the knot
    ],
)
def test_a_limit_of_ones_own_is_told_whether_it_tightens_or_not(
    own: tuple[float | None, float | None], says: tuple[str, ...]
) -> None:
    """A student alone: care 12, stop 15 kt (limits of the shipped table); taken in silence, 40 kt would seem to hold."""
    assert make_limits(SOLO, Changes(own={"mean_wind_kt": own})).told == says


@pytest.mark.parametrize(
    ("quantity", "value", "says"),
    [
        # no care limit is shipped (peak wind: any reported gust), and the stop is tighter than one's own
        ("peak_wind_kt", 40.0, "Your own limit of 40 kt for peak wind changes nothing: tighter ones stand."),
        (
            "pivotal_height_ft",
            300.0,
            "Your own limit of 300 ft for pivotal height changes nothing: tighter ones stand.",
        ),
        ("wind_to_airspeed", 0.5, "Tightened: wind at height over true airspeed: your own limit of 0.5 applies."),
        ("stall_margin", 1.0, "Your own limit of 1 for margin over the stall changes nothing: tighter ones stand."),
        ("ceiling_area_ft", 4500.0, "Tightened: ceiling over the practice area: your own limit of 4,500 ft applies."),
    ],
)
def test_of_a_limit_of_ones_own_one_thing_is_told(quantity: str, value: float, says: str) -> None:
    """--my-gust 40 was told to change nothing, and beside it that one's own care limit of 18 kt, the shipped stop, applies."""
    assert make_limits(SOLO, Changes(own={quantity: (None, value)})).told == (says,)
