"""The wind at its corners: from, true, 360 for north; calm, variable, missing and damaged stay apart."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from advisor.wind import CALM, MISSING, Wind, WindState


def steady(from_deg_true: int = 220, speed_kt: int = 12, **more: object) -> Wind:
    return Wind(WindState.STEADY, from_deg_true=from_deg_true, speed_kt=speed_kt, **more)  # type: ignore[arg-type]


VARIABLE = Wind(WindState.VARIABLE, speed_kt=3, raw="VRB03KT")
DAMAGED = Wind(WindState.NOT_UNDERSTOOD, raw="22012G8KT")
ONE_OF_EACH = {
    "calm": CALM,
    "steady": steady(),
    "variable": VARIABLE,
    "missing": MISSING,
    "not_understood": DAMAGED,
}


def test_every_state_has_an_example():
    assert set(ONE_OF_EACH) == {str(state) for state in WindState}
    assert all(wind.state == name for name, wind in ONE_OF_EACH.items())


@pytest.mark.parametrize(("a", "b"), list(itertools.combinations(ONE_OF_EACH, 2)))
def test_no_two_states_are_the_same_wind(a: str, b: str):
    assert ONE_OF_EACH[a] != ONE_OF_EACH[b]


@pytest.mark.parametrize(
    ("state", "known", "speed_kt", "peak_kt", "spread_kt", "swing_deg", "from_deg_true"),
    [
        ("calm", True, 0, 0, None, 0, None),
        ("steady", True, 12, 12, None, 0, 220),
        ("variable", True, 3, 3, None, 360, None),
        ("missing", False, None, None, None, 0, None),
        ("not_understood", False, None, None, None, 0, None),
    ],
)
def test_what_each_state_answers(state, known, speed_kt, peak_kt, spread_kt, swing_deg, from_deg_true):
    wind = ONE_OF_EACH[state]
    answered = (wind.known, wind.speed_kt, wind.peak_kt, wind.spread_kt, wind.swing_deg, wind.from_deg_true)
    assert answered == (known, speed_kt, peak_kt, spread_kt, swing_deg, from_deg_true)


def test_calm_is_a_speed_of_nought_and_no_direction():
    assert CALM.known
    assert CALM.speed_kt == 0
    assert CALM.from_deg_true is None


def test_north_is_360_and_never_0():
    assert steady(360).from_deg_true == 360
    with pytest.raises(ValueError, match="from_deg_true must be 1 to 360, got 0"):
        steady(0)


@pytest.mark.parametrize("bad", [0, -10, 361, 370, None])
def test_a_direction_off_the_compass_is_refused(bad):
    with pytest.raises(ValueError, match=f"from_deg_true must be 1 to 360, got {bad}"):
        steady(bad)


def test_a_negative_speed_is_refused_with_the_cure():
    with pytest.raises(ValueError, match="speed_kt must be 0 or more, got -3; a missing wind has its own state"):
        steady(speed_kt=-3)


@pytest.mark.parametrize("state", [WindState.CALM, WindState.STEADY, WindState.VARIABLE])
def test_a_known_state_needs_a_speed(state):
    with pytest.raises(ValueError, match="speed_kt must be 0 or more, got None"):
        Wind(state, from_deg_true=220)


@pytest.mark.parametrize("state", [WindState.MISSING, WindState.NOT_UNDERSTOOD])
@pytest.mark.parametrize("number", [{"speed_kt": 0}, {"from_deg_true": 220}, {"gust_kt": 20}])
def test_an_unknown_wind_carries_no_numbers(state, number):
    with pytest.raises(ValueError, match="carries no numbers"):
        Wind(state, **number)


@pytest.mark.parametrize(
    ("speed_kt", "gust_kt", "peak_kt", "spread_kt"),
    [
        (12, None, 12, None),  # no G: no spread is known, which is not a spread of nought
        (14, 18, 18, 4),  # KMEM 18014G18KT: a printed spread under 10 is real (published report)
        (22, 30, 30, 8),
        (12, 12, 12, 0),
    ],
)
def test_peak_and_spread(speed_kt, gust_kt, peak_kt, spread_kt):
    wind = steady(speed_kt=speed_kt, gust_kt=gust_kt)
    assert (wind.peak_kt, wind.spread_kt) == (peak_kt, spread_kt)


@pytest.mark.parametrize(
    ("varying_from_deg", "varying_to_deg", "swing_deg"),
    [
        (330, 30, 60),  # 36012KT 330V030, NWS observer training guide: an arc of 60 through north
        (320, 20, 60),  # 35012KT 320V020, same source
        (180, 240, 60),  # 21016G24KT 180V240, METAR decode key
        (320, 40, 80),
        (30, 330, 300),  # clockwise, so the long way round
        (None, None, 0),
        (330, None, 0),
    ],
)
def test_swing_is_read_clockwise(varying_from_deg, varying_to_deg, swing_deg):
    wind = steady(360, varying_from_deg=varying_from_deg, varying_to_deg=varying_to_deg)
    assert wind.swing_deg == swing_deg


def test_a_wind_cannot_be_changed_behind_a_readers_back():
    with pytest.raises(dataclasses.FrozenInstanceError):
        CALM.speed_kt = 5  # type: ignore[misc]


def test_a_gust_of_slashes_is_not_no_gust():
    assert steady(gust_missing=True) != steady()
