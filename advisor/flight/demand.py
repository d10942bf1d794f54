"""Small types that every lesson speaks: the range of wind it is flown in, and what that asks for at a place.

Directions are degrees true, clockwise; pairs are low and high over the whole range of wind. Whoever prints
them adds magnetic where the variation is known.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Any

from advisor.errors import GeometryError, ImpossibleTriangle
from advisor.flight.arcs import Arc, Range
from advisor.records import dataclass

Pair = tuple[float, float]

LEFT, RIGHT = -1, 1


class BankWord(StrEnum):
    """The handbook's words for a bank, by where the course lies between downwind and into wind."""

    STEEP = "steep"
    MEDIUM = "medium"
    SHALLOW = "shallow"


@dataclass(frozen=True, slots=True)
class WindRange:
    """Every speed from ``low_kt`` to ``high_kt`` from every direction of an arc.

    ``from_start_deg_true`` is where the arc starts and ``width_deg`` how far it runs clockwise; 360 is a
    variable wind, and also what to give in a calm. Raises ``GeometryError`` for anything that is not a range.
    """

    low_kt: float
    high_kt: float
    from_start_deg_true: float
    width_deg: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.low_kt <= self.high_kt < 250.0:
            raise GeometryError(
                f"A wind from {self.low_kt:g} to {self.high_kt:g} kt is no range. Give the low end first,"
                " 0 or more and below 250 kt."
            )
        if not (0.0 <= self.width_deg <= 360.0 and -720.0 <= self.from_start_deg_true <= 720.0):
            raise GeometryError(
                f"An arc from {self.from_start_deg_true:g} through {self.width_deg:g} degrees is no arc of"
                " directions. Give a start of 0 to 360 and a width of 0 to 360 degrees."
            )

    @property
    def from_middle_deg_true(self) -> float:
        """Middle of the arc, 0 up to 360."""
        return (self.from_start_deg_true + self.width_deg / 2.0) % 360.0

    @property
    def directed(self) -> bool:
        """False when the wind may blow from anywhere: then no heading can be planned."""
        return self.width_deg < 360.0

    def box(self) -> tuple[float, float, float, float]:
        """Low and high speed, start and width: the order in which the range functions take them."""
        return self.low_kt, self.high_kt, self.from_start_deg_true, self.width_deg

    def steady(self) -> WindRange:
        """One wind out of the range, the middle of speed and direction: what a sketch is drawn for."""
        middle = (self.low_kt + self.high_kt) / 2.0
        return WindRange(middle, middle, self.from_middle_deg_true)


@dataclass(frozen=True, slots=True)
class Demand:
    """What the wind asks for on one leg or at one place.

    ``heading_arc_deg_true`` is (first, last) clockwise. ``bank_deg`` is ``None`` on a straight leg, and
    ``seconds`` is ``None`` where no length was given.
    """

    name: str
    course_deg_true: float
    heading_arc_deg_true: Pair
    crab_deg: Pair
    groundspeed_kt: Pair
    bank_deg: Pair | None = None
    seconds: Pair | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Corner:
    """What the wind asks for in the turn between two legs.

    ``turn_deg`` is the change of heading. Banks are for ``radius_ft`` over the ground: where the turn begins,
    where it ends, and its least and greatest on the way. ``words`` say how the bank runs at the middle wind.
    """

    name: str
    turn_deg: Pair
    radius_ft: float
    bank_entering_deg: Pair
    bank_leaving_deg: Pair
    bank_deg: Pair
    words: str


def pair(values: Range | tuple[Any, Any]) -> Pair:
    """A range as two plain numbers.

    Parameters
    ----------
    values : Range
        Scalars or arrays of shape ``()``.

    Returns
    -------
    tuple of float
        Low and high.

    Notes
    -----
    Never raises for scalars.

    References
    ----------
    Source key ``derived``.
    """
    return float(values[0]), float(values[1])


def arc_pair(arc: Arc) -> Pair:
    """An arc as its first and last direction.

    Parameters
    ----------
    arc : Arc
        Scalars or arrays of shape ``()``.

    Returns
    -------
    tuple of float
        Each in [0, 360), clockwise from the first to the last.

    Notes
    -----
    Never raises for scalars.

    References
    ----------
    Source key ``derived``.
    """
    return float(arc.start_deg) % 360.0, float(arc.start_deg + arc.width_deg) % 360.0


def check_flyable(tas_kt: float, wind: WindRange, what: str, *, circle: bool = False) -> None:
    """Refuse a wind that is as strong as the airspeed.

    Parameters
    ----------
    tas_kt : float
        True airspeed. [kt]
    wind : WindRange
        Range of wind.
    what : str
        What is to be flown, for the sentence.
    circle : bool
        A circle flies into the wind as well; a straight line may not.

    Returns
    -------
    None

    Raises
    ------
    GeometryError
        For an airspeed that is not positive.
    ImpossibleTriangle
        When the high end of the wind reaches the airspeed.

    References
    ----------
    Source key ``derived``.
    """
    if not tas_kt > 0.0:
        raise GeometryError(f"A true airspeed of {tas_kt:g} kt cannot be flown. Give a speed above 0.")
    if wind.high_kt >= tas_kt:
        shape = "no circle closes over the ground" if circle else "it may not be held, or be flown backwards"
        raise ImpossibleTriangle(
            f"{what}: with {wind.high_kt:.0f} kt of wind and {tas_kt:.0f} kt of true airspeed {shape}."
            " Check both speeds."
        )
