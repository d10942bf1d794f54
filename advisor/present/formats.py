"""How numbers are written on cards and pages: ranges, sides, directions, distances."""

from __future__ import annotations

from advisor import units
from advisor.card.model import LessonCard, Pair
from advisor.present.words import METRIC, bearing


def whole(low: float, high: float) -> str:
    """``76–82``, or one number when both round to the same."""
    a, b = round(low), round(high)
    return f"{a}" if a == b else f"{a}–{b}"


def whole_pair(found: Pair) -> str:
    """As :func:`whole`, for a pair."""
    return whole(*found)


def crab_words(found: Pair) -> str:
    """``7–11 right``, ``3 left to 9 right``, ``0``: the side is always said."""
    low, high = round(found[0]), round(found[1])
    if low == 0 and high == 0:
        return "0"
    if low >= 0:
        return f"{whole(low, high)} right"
    if high <= 0:
        return f"{whole(-high, -low)} left"
    return f"{-low} left to {high} right"


def crab_short(found: Pair) -> str:
    """As :func:`crab_words` with L and R, for tables whose head says so."""
    return crab_words(found).replace(" left", " L").replace(" right", " R")


def bearings(found: Pair) -> str:
    """``309–313``, clockwise."""
    a, b = bearing(found[0]), bearing(found[1])
    return a if a == b else f"{a}–{b}"


def magnetic_bearings(card: LessonCard, found: Pair) -> str:
    """Magnetic directions of a pair of true ones; true ones marked T where the variation is not known."""
    low, high = card.magnetic(found[0]), card.magnetic(found[1])
    if low is None or high is None:
        return f"{bearings(found)} T"
    return bearings((low, high))


def distance(ft: float, system: str = "us") -> str:
    """``1,930 ft (0.32 NM)`` or ``590 m``."""
    if system == METRIC:
        return f"{round(ft * units.M_PER_FT, -1):,.0f} m"
    return f"{round(ft, -1):,.0f} ft ({ft / units.FT_PER_NM:.2f} NM)"
