"""The traffic pattern: runway shares, legs, base tailwind and the turn to final; choice of references."""

from __future__ import annotations

import math

import numpy as np
import pytest

from advisor.errors import ImpossibleTriangle
from advisor.flight import pattern, simulate, turns
from advisor.flight.demand import LEFT, RIGHT, WindRange
from advisor.flight.reference import LOOK_FIRST, WANTED, choose_references
from advisor.lessons import lesson_keys
from advisor.school import Point, PracticeArea, PracticeField, Road

# Knowledge-test questions and worked examples, read: runway, wind -> headwind, crosswind (None: not given)
SHARES = [
    (180, 220, 30, 23, 19),
    (240, 180, 20, None, -17.32),
    (140, 180, 20, None, 12.86),
    (100, 180, 20, None, 19.70),
    (220, 140, 20, None, -20),
    (350, 330, 15, 14, -5),
]


@pytest.mark.parametrize(("runway", "from_deg", "kt", "head", "cross"), SHARES)
def test_published_shares(runway, from_deg, kt, head, cross):
    found = pattern.runway_components(from_deg, kt, runway)
    assert found.crosswind_kt == pytest.approx(cross, abs=0.5 if cross == int(cross) else 0.01)
    if head is not None:
        assert found.headwind_kt == pytest.approx(head, abs=0.5)


def test_true_against_magnetic():
    """290 true with 15 E is 275 magnetic: from the left on runway 28, not the right (worked example, read)."""
    wrong = pattern.runway_components(290, 10, 280)
    right = pattern.runway_components(290, 10, 280 + 15)
    assert wrong.crosswind_kt > 0 > right.crosswind_kt


def test_base_on_both_sides():
    """Runway 33, wind 240/10, TAS 70: left base 80 kt over the ground, right base 60 (worked example, read)."""
    for side, speed, tail in ((LEFT, 80, 10), (RIGHT, 60, -10)):
        legs = {leg.name: leg for leg in pattern.pattern_legs(70, WindRange(10, 10, 240), 330, side)}
        assert legs["base"].groundspeed_kt[0] == pytest.approx(speed, abs=0.01)
        assert pattern.base_tailwind_kt(240, 10, 330, side) == pytest.approx(tail)
        assert legs["final"].crab_deg[0] == pytest.approx(-8.2, abs=0.05)
        assert legs["final"].groundspeed_kt[0] == pytest.approx(69.3, abs=0.05)
    assert [leg.name for leg in pattern.pattern_legs(70, WindRange(1, 2, 0), 0, LEFT)] == [
        "upwind",
        "crosswind",
        "downwind",
        "base",
        "final",
    ]


def test_slower_on_approach():
    legs = pattern.pattern_legs(90, WindRange(10, 10, 90), 0, LEFT, approach_tas_kt=65, downwind_ft=6000, base_ft=4000)
    assert legs[4].crab_deg[0] == pytest.approx(np.degrees(np.arcsin(10 / 65)))
    assert legs[0].seconds is None
    assert legs[2].seconds[0] == pytest.approx(6000 / legs[2].groundspeed_kt[0] / 1.68781, rel=1e-4)
    with pytest.raises(ImpossibleTriangle):
        pattern.pattern_legs(90, WindRange(10, 65, 90), 0, LEFT, approach_tas_kt=65)


def test_calm_turn_to_final():
    turn = pattern.final_turn(70, 0, 0, 0, LEFT, 30)
    assert turn.turn_deg == pytest.approx(90)
    assert turn.overshoot_ft == pytest.approx(0, abs=1e-6)
    assert turn.bank_to_make_it_deg == pytest.approx(30)


@pytest.mark.parametrize("side", [LEFT, RIGHT])
@pytest.mark.parametrize("angle", [-90, -50, 30, 90])
def test_turn_to_final_against_the_integrator(side, angle):
    """Fly the same bank forward in the wind: it ends where the closed form says."""
    tas, kt, runway, bank = 70.0, 15.0, 40.0, 28.0
    found = pattern.final_turn(tas, runway + angle, kt, runway, side, bank)
    base = runway - 90.0 * side
    heading = base + float(np.degrees(np.arcsin(kt / tas * np.sin(np.radians(runway + angle - base)))))
    flown = simulate.fly_bank(lambda _: side * bank, tas, runway + angle, kt, heading, float(found.seconds))
    assert flown.track_deg[-1] == pytest.approx(runway, abs=1e-6)  # rolled out on final
    along_base = flown.east_ft[-1] * np.sin(np.radians(base)) + flown.north_ft[-1] * np.cos(np.radians(base))
    assert along_base - float(turns.radius_ft(tas, bank)) == pytest.approx(float(found.overshoot_ft), abs=0.01)
    if abs(angle) == 90:  # straight across the runway: all of it along base
        overshoots = found.base_tailwind_kt > 0
        assert (found.turn_deg > 90) == overshoots
        assert (found.overshoot_ft > 0) == overshoots
        assert (found.bank_to_make_it_deg > bank) == overshoots


def test_bank_to_make_it_does_make_it():
    first = pattern.final_turn(70, 130, 12, 40, RIGHT, 25)
    wide = pattern.final_turn(70, 310, 12, 40, RIGHT, 25)
    for found, from_deg in ((first, 130), (wide, 310)):
        again = pattern.final_turn(70, from_deg, 12, 40, RIGHT, found.bank_to_make_it_deg)
        calm = turns.radius_ft(70, 25)
        crossed = again.overshoot_ft + turns.radius_ft(70, found.bank_to_make_it_deg)
        assert crossed == pytest.approx(float(calm))


AREA = PracticeArea(
    "North area",
    41.1,
    -97.05,
    1450.0,
    "XBRK",
    (Road("East-west road", 90.0, 4.0), Road("North-south road", 0.0, 3.0), Road("Short lane", 0.0, 0.3)),
    (
        PracticeField("Square field", 0.0, 5280.0, 2640.0),
        PracticeField("Slanted field", 40.0, 4000.0, 4000.0),
    ),
    (Point("Silo", 41.11, -97.04), Point("Barn", 41.11, -97.052), Point("Far pond", 41.3, -97.04)),
)


@pytest.mark.parametrize(
    ("lesson", "best", "entry"),
    [
        ("tracking", "North-south road", None),
        ("s-turns", "North-south road", 90.0),
        ("eights-along-a-road", "East-west road", 90.0),
        ("eights-across-a-road", "East-west road", None),
        ("rectangular-course", "Square field", 45.0),
        ("turns-around-a-point", "Silo", 90.0),
    ],
)
def test_reference_for_a_west_wind(lesson, best, entry):
    found = choose_references(lesson, [AREA], WindRange(10, 16, 265, 10), airfield=(41.0, -97.0))
    assert found[0].name == best
    if entry is not None:
        assert found[0].entry_deg_true == pytest.approx(entry)
    assert all(c.says.endswith(LOOK_FIRST) for c in found)
    assert 5 < found[0].from_field_nm < 12
    assert 310 < found[0].from_field_deg_true < 360


@pytest.mark.parametrize("wind_from", [0.0, 30.0, 265.0, 350.0])
def test_how_far_a_road_lies_off_what_is_wanted(wind_from):
    """Two lines cross at the angle whose cosine is the size of that of their bearings' difference."""
    roads = tuple(Road(f"{deg}", float(deg), 4.0) for deg in range(0, 180, 20))
    area = PracticeArea("Roads", 41.1, -97.05, 1450.0, roads=roads)
    for lesson, square in (("tracking", True), ("eights-along-a-road", False)):
        for choice in choose_references(lesson, [area], WindRange(10, 16, wind_from)):
            apart = math.degrees(math.acos(abs(math.cos(math.radians(choice.bearing_deg_true - wind_from)))))
            assert choice.misfit == pytest.approx(90.0 - apart if square else apart, abs=1e-6)
    assert {c.misfit for c in choose_references("turns-around-a-point", [AREA], WindRange(10, 16, wind_from))} == {0.0}


def test_left_and_right_join_from_outside():
    """Downwind leg 090: left turns are joined from the right of it on 045, right turns from the left on 135."""
    wind = WindRange(10, 16, 270)
    assert choose_references("rectangular-course", [AREA], wind, turn=LEFT)[0].entry_deg_true == pytest.approx(45)
    assert choose_references("rectangular-course", [AREA], wind, turn=RIGHT)[0].entry_deg_true == pytest.approx(135)


def test_pylons_square_to_the_wind_and_close():
    found = choose_references("eights-around-pylons", [AREA], WindRange(10, 16, 0))
    assert found[0].name == "Silo and Barn"
    assert found[0].entry_deg_true == pytest.approx(180)
    on = choose_references("eights-on-pylons", [AREA], WindRange(10, 16, 0), turn=LEFT)
    assert on[0].entry_deg_true == pytest.approx(135)  # diagonally crosswind, then left into the north wind
    assert "outside the usual half a mile to a mile" in found[-1].says


def test_variable_wind_plans_no_entry():
    for lesson in WANTED:
        for choice in choose_references(lesson, [AREA], WindRange(3, 8, 0, 360)):
            assert choice.entry_deg_true is None
            assert choice.from_field_nm is None


def test_only_the_pattern_needs_no_reference():
    assert set(lesson_keys()) - set(WANTED) == {"crosswind-pattern"}
    assert choose_references("crosswind-pattern", [AREA], WindRange(3, 8, 0)) == ()
