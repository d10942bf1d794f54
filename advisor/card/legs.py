"""Marks of straight legs and their corners, over every wind of the box."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor import units
from advisor.card.model import Mark, Pair, WindBox
from advisor.errors import ImpossibleTriangle
from advisor.flight.demand import WindRange
from advisor.flight.ranges import Range, crab_range_deg, groundspeed_range_kt, leg_seconds_range
from advisor.flight.rectangle import corner
from advisor.flight.wind_triangle import solve
from advisor.records import dataclass


def along(east: float, north: float, bearing_deg: float, ft: float) -> tuple[float, float]:
    """The ground position some feet along a bearing from another."""
    return (
        east + ft * float(units.sin_deg(bearing_deg)),
        north + ft * float(units.cos_deg(bearing_deg)),
    )


def nearer(bearing_deg: float, wanted_deg: float) -> float:
    """Of a line's two directions, the one nearer a wanted direction. [deg]"""
    off = float(units.wrap_180(bearing_deg - wanted_deg))
    return float(units.wrap_360(bearing_deg if abs(off) <= 90.0 else bearing_deg + 180.0))


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight leg: from one ground position along a course for a length. [ft, deg true]"""

    name: str
    east_ft: float
    north_ft: float
    course_deg_true: float
    length_ft: float

    def at(self, share: float) -> tuple[float, float]:
        """Ground position part of the way along."""
        way = share * self.length_ft
        return (
            self.east_ft + way * float(units.sin_deg(self.course_deg_true)),
            self.north_ft + way * float(units.cos_deg(self.course_deg_true)),
        )


def pair(found: Range) -> Pair:
    """A range as plain numbers."""
    return float(found.low), float(found.high)


def leg_mark(number: int, leg: Leg, box: WindBox, tas_kt: float, *, share: float = 0.5) -> Mark:
    """What a leg asks over the whole box, the aircraft drawn at the high wind from the middle direction.

    Parameters
    ----------
    number : int
    leg : Leg
    box : WindBox
        With a direction.
    tas_kt : float
        True airspeed. [kt]
    share : float
        Where along the leg the aircraft is drawn.

    Returns
    -------
    Mark

    Raises
    ------
    ImpossibleTriangle
        No heading holds the course in the high wind.
    """
    drawn = solve(tas_kt, box.from_deg_true or 0.0, box.high_kt, leg.course_deg_true)
    start, width = box.arc_deg
    crab = pair(crab_range_deg(tas_kt, box.low_kt, box.high_kt, start, width, leg.course_deg_true))
    ground = pair(groundspeed_range_kt(tas_kt, box.low_kt, box.high_kt, start, width, leg.course_deg_true))
    if crab[0] != crab[0] or ground[0] != ground[0]:
        raise ImpossibleTriangle(
            f"No heading holds the course in the strongest wind of the estimate, {box.high_kt:.0f} kt, at "
            f"{tas_kt:.0f} kt of true airspeed."
        )
    east, north = leg.at(share)
    return Mark(
        number,
        leg.name,
        east,
        north,
        leg.course_deg_true,
        float(drawn.heading_deg),
        (leg.course_deg_true + crab[0], leg.course_deg_true + crab[1]),
        crab,
        ground,
        seconds=pair(
            leg_seconds_range(tas_kt, box.low_kt, box.high_kt, start, width, leg.course_deg_true, leg.length_ft)
        ),
    )


def with_corners(marks: Sequence[Mark], box: WindBox, tas_kt: float, radius_ft: float) -> tuple[Mark, ...]:
    """The same marks with the corner that ends each leg, closed into a ring; banks are over the whole corner and box.

    Parameters
    ----------
    marks : sequence of Mark
        In order of flight.
    box : WindBox
    tas_kt : float
        True airspeed. [kt]
    radius_ft : float
        Corner radius over the ground. [ft]

    Returns
    -------
    tuple of Mark
        Never raises: the triangles were solved before. The wind is the same on both sides of a corner.
    """
    start, width = box.arc_deg
    wind = WindRange(box.low_kt, box.high_kt, start, width)
    out = []
    for here, ahead in zip(marks, [*marks[1:], marks[0]], strict=True):
        turn = corner(tas_kt, wind, ahead.name, here.course_deg_true, ahead.course_deg_true, radius_ft)
        out.append(replace(here, turn_deg=turn.turn_deg, corner_bank_deg=turn.bank_deg, corner_words=turn.words))
    return tuple(out)
