"""What ``advisor whatif`` is asked and answers, with the row and the direction that every lesson needs.

A row is a dict whose keys carry the unit; a value is a number, a (low, high) pair, a text or ``None``.
"""

from __future__ import annotations

from dataclasses import field

from advisor import units
from advisor.directions import bearing
from advisor.flight.demand import Demand, Pair, WindRange
from advisor.records import dataclass

Value = float | Pair | str | None
Row = dict[str, Value]
#: A field of half a mile square flown half a mile outside its edges (source key ``afh-3b-ch6``: 1/2 to 3/4). [ft]
DEFAULT_SIDES_FT = (1.5 * units.FT_PER_SM, 1.5 * units.FT_PER_SM)


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked, in plain numbers. ``surface`` is (from, mean, peak); the direction is None when variable.

    ``radius_ft`` None takes the smallest that holds ``bank_deg``. Directions are degrees true.
    """

    lesson: str
    wind: WindRange
    tas_kt: float
    height_ft_agl: float
    bank_deg: float
    exit_bank_deg: float
    turn: int
    radius_ft: float | None = None
    line_deg_true: float | None = None
    runway_deg_true: float | None = None
    surface: tuple[float | None, float, float] | None = None
    sides_ft: tuple[float, float] = DEFAULT_SIDES_FT
    pylon_gap_ft: float | None = None
    variation_deg: float | None = None


@dataclass(slots=True)
class Answer:
    """Tables in the order printed, sentences, and what was assumed on the way."""

    tables: list[tuple[str, list[Row]]] = field(default_factory=list)
    says: list[str] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)


def demand_row(q: Question, d: Demand, **more: Value) -> Row:
    """One place or leg as a row; headings only where the wind has a direction."""
    known = q.wind.directed
    anywhere = not known and q.lesson == "turns-around-a-point"  # its places move with the wind
    row: Row = {"place": d.name, "course_deg_true": None if anywhere else d.course_deg_true}
    row["heading_deg_true"] = d.heading_arc_deg_true if known else None
    if q.variation_deg is not None:
        low, high = ((h - q.variation_deg) % 360.0 for h in d.heading_arc_deg_true)
        row["heading_deg_magnetic"] = (low, high) if known else None
    row["crab_deg"] = d.crab_deg
    row["groundspeed_kt"] = d.groundspeed_kt
    if d.bank_deg is not None:
        row["bank_deg"] = d.bank_deg
    if d.seconds is not None:
        row["time_s"] = d.seconds
    return {**row, **more}


def line_deg_true(q: Question, out: Answer, what: str, off_wind_deg: float) -> float:
    """Direction of the road or pylon line: as given, else laid to the wind as the lesson wants it."""
    if q.line_deg_true is not None:
        return q.line_deg_true % 360.0
    line = (q.wind.from_middle_deg_true + off_wind_deg) % 360.0
    if not q.wind.directed:
        out.assumed.append(f"No direction given and the wind has none: the {what} is taken {bearing(line)} true.")
        return line
    lies = "square to" if off_wind_deg else "along"
    out.assumed.append(f"No direction given: the {what} is taken {lies} the wind, {bearing(line)} true.")
    return line
