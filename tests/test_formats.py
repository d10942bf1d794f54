"""How a card writes ranges, sides and distances; expected by rounding by hand."""

from __future__ import annotations

import pytest

from advisor.present.formats import bearings, crab_short, crab_words, distance, whole


@pytest.mark.parametrize(
    ("low", "high", "words"), [(75.6, 82.4, "76–82"), (26.6, 27.4, "27"), (0.0, 0.4, "0"), (0.0, 0.6, "0–1")]
)
def test_a_range_is_one_number_where_both_ends_round_to_it(low: float, high: float, words: str) -> None:
    assert whole(low, high) == words


@pytest.mark.parametrize(
    ("crab", "words"),
    [
        ((6.6, 11.2), "7–11 right"),
        ((-9.2, -4.4), "4–9 left"),
        ((-3.2, 8.6), "3 left to 9 right"),
        ((-0.4, 0.4), "0"),
        ((0.4, 7.0), "0–7 right"),
        ((-7.0, -0.4), "0–7 left"),
    ],
)
def test_the_side_of_a_crab_is_always_said(crab: tuple[float, float], words: str) -> None:
    """Degrees to the right of the course count up, to the left down; the smaller one comes first."""
    assert crab_words(crab) == words
    assert crab_short(crab) == words.replace("right", "R").replace("left", "L")


@pytest.mark.parametrize(
    ("found", "words"),
    [((308.6, 313.2), "309–313"), ((355.0, 5.0), "355–005"), ((359.8, 0.3), "360"), ((42.0, 42.4), "042")],
)
def test_directions_go_clockwise_and_north_is_360(found: tuple[float, float], words: str) -> None:
    assert bearings(found) == words


def test_a_distance_over_the_ground_is_in_feet_and_miles_or_in_metres() -> None:
    """A foot is 0.3048 m and a nautical mile 1,852 m, exactly: 1,930 ft are 588 m and 0.318 NM."""
    assert distance(1930.0) == "1,930 ft (0.32 NM)"
    assert distance(1930.0, "metric") == "590 m"
