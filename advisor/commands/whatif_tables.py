"""Numbers of ``advisor whatif``: a wind and a lesson in, tables and sentences out. No reports, no clock.

A row is a dict whose keys carry the unit; a value is a number, a (low, high) pair, a text or ``None``.
"""

from __future__ import annotations

from dataclasses import field

from advisor import units
from advisor.errors import GeometryError
from advisor.flight import astray, pylons
from advisor.flight.circle import constant_bank_drift
from advisor.flight.demand import Corner, Demand, Pair, WindRange
from advisor.flight.eights import Eight, across_a_road, along_a_road, around_pylons
from advisor.flight.loops import around_a_point
from advisor.flight.pattern import final_turn, pattern_legs, runway_components
from advisor.flight.radius import RadiusAdvice, radius_advice
from advisor.flight.rectangle import rectangle
from advisor.flight.s_turns import s_turns
from advisor.flight.sight_picture import sight_picture
from advisor.flight.tracking import track_road
from advisor.flight.turns import load_factor, stall_factor
from advisor.present.words import pair
from advisor.records import dataclass

Value = float | Pair | str | None
Row = dict[str, Value]

#: Clock positions with the wind from 12 o'clock, in the order flown.
LEFT_CLOCK = ("9:00", "7:30", "6:00", "4:30", "3:00", "1:30", "12:00", "10:30")
RIGHT_CLOCK = ("3:00", "4:30", "6:00", "7:30", "9:00", "10:30", "12:00", "1:30")
#: A field of half a mile square flown half a mile outside its edges (source key ``afh-3b-ch6``: 1/2 to 3/4). [ft]
DEFAULT_SIDES_FT = (1.5 * units.FT_PER_SM, 1.5 * units.FT_PER_SM)
#: A road tracked for this long shows what no correction does. [s]
NO_CRAB_SECONDS = 60.0


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


def answer(q: Question) -> Answer:
    """Tables and sentences for one lesson.

    Parameters
    ----------
    q : Question
        The wind at height, the speed and what is flown.

    Returns
    -------
    Answer
        Exact over the whole range of wind.

    Raises
    ------
    GeometryError
        For lengths, banks or speeds that make no sense, or a pattern without a runway.
    ImpossibleTriangle
        When the wind reaches the airspeed.
    """
    out = Answer()
    if q.lesson == "tracking":
        _tracking(q, out)
    elif q.lesson == "rectangular-course":
        _rectangle(q, out)
    elif q.lesson == "s-turns":
        _s_turns(q, out)
    elif q.lesson == "turns-around-a-point":
        _point(q, out)
    elif q.lesson == "eights-on-pylons":
        _on_pylons(q, out)
    elif q.lesson == "crosswind-pattern":
        _pattern(q, out)
    else:
        _eight(q, out)
    return out


def _demand_row(q: Question, d: Demand, **more: Value) -> Row:
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


def _corner_row(c: Corner) -> Row:
    return {
        "corner": c.name,
        "turn_deg": c.turn_deg,
        "bank_entering_deg": c.bank_entering_deg,
        "bank_leaving_deg": c.bank_leaving_deg,
        "bank": c.words or "not known: the wind has no direction",
    }


def _line(q: Question, out: Answer, what: str, off_wind_deg: float) -> float:
    """Direction of the road or pylon line: as given, else laid to the wind as the lesson wants it."""
    if q.line_deg_true is not None:
        return q.line_deg_true % 360.0
    line = (q.wind.from_middle_deg_true + off_wind_deg) % 360.0
    if not q.wind.directed:
        out.assumed.append(
            f"No direction given and the wind has none: the {what} is taken {line:03.0f} true."
        )
        return line
    lies = "square to" if off_wind_deg else "along"
    out.assumed.append(f"No direction given: the {what} is taken {lies} the wind, {line:03.0f} true.")
    return line


def _radius(q: Question, out: Answer, *, corners: bool = False) -> float:
    """Radius: as given, else advised; says what it asks for and, round a point, where that is seen."""
    advice = radius_advice(q.tas_kt, q.wind, q.bank_deg, exit_bank_deg=q.exit_bank_deg)
    if q.radius_ft is not None:
        advice = _at_radius(q, advice)
    elif not corners or not advice.holds_planned:
        middle = "the road at the farthest" if q.lesson == "s-turns" else "the point"
        out.says.append(advice.says.replace("the point", middle))
    radius = advice.radius_ft
    steep, shallow = advice.steepest_bank_deg, advice.shallowest_bank_deg
    if q.radius_ft is not None and steep[1] > q.exit_bank_deg:
        out.says.append(
            f"At {radius:,.0f} ft the high wind asks for {steep[1]:.0f} degrees of bank, past"
            f" {q.exit_bank_deg:.0f}: go farther out."
        )
    out.says.append(
        f"At {radius:,.0f} ft ({radius / units.FT_PER_NM:.2f} NM): steepest bank {pair(*steep)}"
        f" degrees flying downwind, shallowest {pair(min(shallow), max(shallow))} flying into wind;"
        f" one circle takes {pair(*advice.seconds, 's')}."
    )
    out.says.append(
        f"At {steep[1]:.0f} degrees of bank: load factor {float(load_factor(steep[1])):.2f} g, stall speed"
        f" {float(stall_factor(steep[1])):.2f} times that with wings level."
    )
    if corners:
        return radius
    sight = sight_picture(q.height_ft_agl, radius)
    out.says.append(
        f"Sight picture at {q.height_ft_agl:,.0f} ft above the reference: it lies"
        f" {float(sight.below_horizon_deg):.0f} degrees below the horizon."
    )
    return radius


def _at_radius(q: Question, advice: RadiusAdvice) -> RadiusAdvice:
    """The advice's numbers at the radius that was asked for."""
    asked = q.radius_ft or 0.0
    if not asked > 0.0:
        raise GeometryError(f"A circle of {asked:g} ft cannot be flown. Give --radius above 0 ft.")
    # offered as the largest practical radius for a bank that no circle keeps, it is taken as it stands
    return radius_advice(
        q.tas_kt, q.wind, 1e-3, exit_bank_deg=q.exit_bank_deg, max_radius_ft=asked, runway_ft=advice.runway_ft
    )


def _tracking(q: Question, out: Answer) -> None:
    road = track_road(q.tas_kt, q.wind, _line(q, out, "road", 90.0))
    out.tables.append(("Along the road", [_demand_row(q, d) for d in (road.there, road.back)]))
    out.says.append(f"Crosswind on the road: {road.crosswind_kt[0]:.0f} to {road.crosswind_kt[1]:.0f} kt.")
    if not q.wind.directed:
        return
    off = []
    for wind_kt in (q.wind.low_kt, q.wind.high_kt):
        flown = astray.no_crab_along_a_line(
            q.tas_kt, q.wind.from_middle_deg_true, wind_kt, road.bearing_deg_true, NO_CRAB_SECONDS
        )
        off.append(abs(float(astray.off_line_ft(flown, road.bearing_deg_true)[-1])))
    out.says.append(
        f"With the nose along the road and no crab, one minute leaves you {off[0]:,.0f} to {off[1]:,.0f} ft"
        " off it (flown forward at the middle direction)."
    )


def _rectangle(q: Question, out: Answer) -> None:
    radius = _radius(q, out, corners=True)
    course = q.line_deg_true
    if course is None:
        course = (q.wind.from_middle_deg_true + 180.0) % 360.0
        out.assumed.append(
            f"No direction given: the downwind leg is taken straight downwind, {course:03.0f} true."
        )
    laid = rectangle(q.tas_kt, q.wind, course, q.turn, radius, q.sides_ft)
    out.assumed.append(
        f"Rectangle flown: {q.sides_ft[0]:,.0f} ft along the downwind leg by {q.sides_ft[1]:,.0f} ft, corners of"
        f" {radius:,.0f} ft radius; times are of the straight part of each leg."
    )
    out.tables.append(("Legs", [_demand_row(q, d) for d in laid.legs]))
    out.tables.append(("Corners", [_corner_row(c) for c in laid.corners]))


def _s_turns(q: Question, out: Answer) -> None:
    road = _line(q, out, "road", 90.0)
    radius = _radius(q, out)
    laid = s_turns(q.tas_kt, q.wind, radius, road, q.turn)
    for half in (laid.first, laid.second):
        side = "left" if half.turn < 0 else "right"
        title = f"{half.name[0].upper()}{half.name[1:]}, turning {side}: {half.runs}"
        if not q.wind.directed:
            title = f"{half.name.partition(',')[0].capitalize()}, turning {side}"
        out.tables.append((title, [_demand_row(q, d) for d in half.places]))
    if q.wind.directed:
        out.says.append(f"The road lies {laid.off_square_deg:.0f} degrees off square to the wind.")
    out.says.append(
        f"Each half takes {pair(*laid.first.seconds, 's')}, both the same in one wind."
    )


def _point(q: Question, out: Answer) -> None:
    radius = _radius(q, out)
    clock = LEFT_CLOCK if q.turn < 0 else RIGHT_CLOCK
    places = around_a_point(q.tas_kt, q.wind, radius, q.turn)
    rows = [_demand_row(q, d, clock=c) for d, c in zip(places, clock, strict=True)]
    side = "left" if q.turn < 0 else "right"
    out.tables.append((f"Turn around a point, {side}, in the order flown (wind from 12 o'clock)", rows))
    kept = [constant_bank_drift(q.tas_kt, w, q.bank_deg) for w in (q.wind.low_kt, q.wind.high_kt)]
    out.says.append(
        f"With {q.bank_deg:.0f} degrees of bank held all the way round, each turn ends"
        f" {float(kept[0].drift_ft):,.0f} to {float(kept[1].drift_ft):,.0f} ft downwind of where it began."
    )


def _eight(q: Question, out: Answer) -> None:
    radius_first = q.lesson == "eights-around-pylons"
    line = _line(q, out, "pylon line" if radius_first else "road", 90.0 if radius_first else 0.0)
    radius = _radius(q, out)
    laid: Eight
    if q.lesson == "eights-around-pylons":
        gap = q.pylon_gap_ft
        if gap is None:
            gap = max(units.FT_PER_SM, 2.0 * radius)
            out.assumed.append(f"Pylons taken {gap:,.0f} ft apart.")
        laid = around_pylons(q.tas_kt, q.wind, radius, line, gap)
        out.tables.append(("Straight legs between the pylons", [_demand_row(q, d) for d in laid.legs]))
        out.says.append(
            f"Each straight leg is {laid.leg_ft:,.0f} ft long, {laid.leg_to_line_deg:.0f} degrees off the pylon line."
        )
    else:
        lay = along_a_road if q.lesson == "eights-along-a-road" else across_a_road
        laid = lay(q.tas_kt, q.wind, radius, line, q.turn)
    for part in laid.loops:
        side = "left" if part.turn < 0 else "right"
        title = f"{part.name[0].upper()}{part.name[1:]}" + ("" if side in part.name else f", {side}")
        out.tables.append(
            (f"{title}, {part.sweep_deg:.0f} degrees", [_demand_row(q, d) for d in part.places])
        )
    if q.wind.directed:
        out.says.append(f"Begin on {laid.entry_course_deg_true:03.0f} true.")


def _on_pylons(q: Question, out: Answer) -> None:
    rows: list[Row] = []
    for place, a in (
        ("flying downwind", 0.0),
        ("heading straight across", 90.0),
        ("flying into wind", 180.0),
    ):
        exact = [float(pylons.exact_pivotal_ft(q.tas_kt, w, a)) for w in (q.wind.low_kt, q.wind.high_kt)]
        # heading square to the wind the ground goes by at the hypotenuse of both speeds
        sign = float(units.cos_deg(a))
        speeds = [
            q.tas_kt + sign * w if abs(sign) > 0.5 else (q.tas_kt**2 + w**2) ** 0.5
            for w in (q.wind.low_kt, q.wind.high_kt)
        ]
        rule = [float(pylons.handbook_pivotal_ft(g)) for g in speeds]
        rows.append(
            {
                "place": place,
                "groundspeed_kt": (min(speeds), max(speeds)),
                "handbook_height_ft": (min(rule), max(rule)),
                "exact_height_ft": (min(exact), max(exact)),
            }
        )
    out.tables.append(("Pivotal height above the pylons", rows))
    band = pylons.height_band(q.tas_kt, q.wind.high_kt)
    out.says.append(
        f"Handbook rule at the high wind: {float(band.handbook_low_ft):,.0f} to"
        f" {float(band.handbook_high_ft):,.0f} ft. Exact at constant airspeed: {float(band.exact_low_ft):,.0f} to"
        f" {float(band.exact_high_ft):,.0f} ft, about half the swing. Calm: {float(band.calm_ft):,.0f} ft."
    )
    near = float(band.exact_high_ft) / float(units.tan_deg(q.bank_deg))
    out.says.append(
        f"At {q.bank_deg:.0f} degrees of bank flying downwind, the steepest, the pylon is {near:,.0f} ft away; never"
        f" above {q.exit_bank_deg:.0f} degrees."
    )
    lowest = min(float(band.handbook_low_ft), float(band.exact_low_ft))
    if lowest < 500.0:
        out.says.append(
            f"Caution: flying into wind a pivotal height comes down to {lowest:,.0f} ft, below 500 ft above the ground."
        )
    out.says.append("Pylon ahead of the wing: descend. Pylon behind it: climb. Never rudder.")


def _pattern(q: Question, out: Answer) -> None:
    if q.runway_deg_true is None:
        raise GeometryError(
            "A crosswind pattern needs a runway. Give --runway, such as 22 or 223 (degrees true)."
        )
    runway = q.runway_deg_true % 360.0
    rows: list[Row] = []
    turns: list[Row] = []
    winds: list[tuple[str, float, float]] = []
    if q.surface is not None and q.surface[0] is not None:
        winds = [("mean at the field", q.surface[0], q.surface[1])]
        if q.surface[2] > q.surface[1]:
            winds.append(("gust at the field", q.surface[0], q.surface[2]))
    for name, from_deg, kt in winds:
        parts = runway_components(from_deg, kt, runway)
        cross, head = float(parts.crosswind_kt), float(parts.headwind_kt)
        rows.append(
            {
                "wind": f"{name}, {from_deg:03.0f} true {kt:.0f} kt",
                "crosswind_kt": abs(cross),
                "from_the": "right" if cross > 0.5 else "left" if cross < -0.5 else "-",
                "headwind_kt": head,
            }
        )
    if q.wind.directed:
        winds.append(("high wind at height", q.wind.from_middle_deg_true, q.wind.high_kt))
    for name, from_deg, kt in winds:
        t = final_turn(q.tas_kt, from_deg, kt, runway, q.turn, q.bank_deg)
        turns.append(
            {
                "wind": name,
                "turn_deg": float(t.turn_deg),
                "base_tailwind_kt": float(t.base_tailwind_kt),
                "past_centreline_ft": float(t.overshoot_ft),
                "bank_to_make_it_deg": float(t.bank_to_make_it_deg),
            }
        )
    if rows:
        out.tables.append((f"Wind on the runway, {runway:03.0f} true", rows))
    else:
        out.says.append(
            "The wind has no direction or none was given for the field: take all of it as crosswind."
        )
    out.tables.append(("Legs", [_demand_row(q, d) for d in pattern_legs(q.tas_kt, q.wind, runway, q.turn)]))
    if turns:
        out.tables.append(
            (f"Base to final at {q.bank_deg:.0f} degrees of bank, begun as on a calm day", turns)
        )
        _say_base(turns, out)
    out.assumed.append("One true airspeed on all legs; slower on base and final the crab is larger.")


def _say_base(turns: list[Row], out: Answer) -> None:
    """A tailwind on base in words, with the widest turn and the farthest overshoot of the winds looked at."""
    tail, turn, past = (
        max(value for row in turns if isinstance(value := row[key], float))
        for key in ("base_tailwind_kt", "turn_deg", "past_centreline_ft")
    )
    if tail < 1.0:
        out.says.append("Below zero: a headwind on base, and a turn that ends that far short of the centreline.")
        return
    says = f"Tailwind on base up to {tail:.0f} kt: a fast base."
    if turn > 90.5:
        says += f" The heading turns through up to {turn:.0f} degrees to final."
    if past > 0.0:
        says += f" Begun where a calm day would have it, the turn ends up to {past:,.0f} ft past the centreline: begin early."
    out.says.append(f"{says} Past the centreline go around, do not tighten the turn.")
