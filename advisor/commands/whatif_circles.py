"""Numbers of ``advisor whatif`` for lessons with a circle: corners, S-turns, points and pylons."""

from __future__ import annotations

from advisor import units
from advisor.commands.whatif_model import Answer, Question, Row, demand_row, line_deg_true
from advisor.directions import bearing
from advisor.errors import GeometryError
from advisor.flight import pylons
from advisor.flight.circle import constant_bank_drift
from advisor.flight.demand import Corner, check_flyable
from advisor.flight.eights import Eight, across_a_road, along_a_road, around_pylons
from advisor.flight.loops import around_a_point
from advisor.flight.radius import RadiusAdvice, radius_advice
from advisor.flight.rectangle import rectangle
from advisor.flight.s_turns import s_turns
from advisor.flight.sight_picture import sight_picture
from advisor.flight.turns import load_factor, stall_factor
from advisor.present.words import pair

#: Clock positions with the wind from 12 o'clock, in the order flown.
LEFT_CLOCK = ("9:00", "7:30", "6:00", "4:30", "3:00", "1:30", "12:00", "10:30")
RIGHT_CLOCK = ("3:00", "4:30", "6:00", "7:30", "9:00", "10:30", "12:00", "1:30")


def _corner_row(c: Corner) -> Row:
    return {
        "corner": c.name,
        "turn_deg": c.turn_deg,
        "bank_entering_deg": c.bank_entering_deg,
        "bank_leaving_deg": c.bank_leaving_deg,
        "bank": c.words or "not known: the wind has no direction",
    }


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


def rectangle_tables(q: Question, out: Answer) -> None:
    """Legs and corners of the rectangle."""
    radius = _radius(q, out, corners=True)
    course = q.line_deg_true
    if course is None:
        course = (q.wind.from_middle_deg_true + 180.0) % 360.0
        out.assumed.append(f"No direction given: the downwind leg is taken straight downwind, {bearing(course)} true.")
    laid = rectangle(q.tas_kt, q.wind, course, q.turn, radius, q.sides_ft)
    out.assumed.append(
        f"Rectangle flown: {q.sides_ft[0]:,.0f} ft along the downwind leg by {q.sides_ft[1]:,.0f} ft, corners of"
        f" {radius:,.0f} ft radius; times are of the straight part of each leg."
    )
    out.tables.append(("Legs", [demand_row(q, d) for d in laid.legs]))
    out.tables.append(("Corners", [_corner_row(c) for c in laid.corners]))


def s_turns_tables(q: Question, out: Answer) -> None:
    """Both halves of an S-turn across the road."""
    road = line_deg_true(q, out, "road", 90.0)
    radius = _radius(q, out)
    laid = s_turns(q.tas_kt, q.wind, radius, road, q.turn)
    for half in (laid.first, laid.second):
        side = "left" if half.turn < 0 else "right"
        title = f"{half.name[0].upper()}{half.name[1:]}, turning {side}: {half.runs}"
        if not q.wind.directed:
            title = f"{half.name.partition(',')[0].capitalize()}, turning {side}"
        out.tables.append((title, [demand_row(q, d) for d in half.places]))
    if q.wind.directed:
        out.says.append(f"The road lies {laid.off_square_deg:.0f} degrees off square to the wind.")
    out.says.append(f"Each half takes {pair(*laid.first.seconds, 's')}, both the same in one wind.")


def point_tables(q: Question, out: Answer) -> None:
    """The eight places round a point, and the drift of one bank held."""
    radius = _radius(q, out)
    clock = LEFT_CLOCK if q.turn < 0 else RIGHT_CLOCK
    places = around_a_point(q.tas_kt, q.wind, radius, q.turn)
    rows = [demand_row(q, d, clock=c) for d, c in zip(places, clock, strict=True)]
    side = "left" if q.turn < 0 else "right"
    out.tables.append((f"Turn around a point, {side}, in the order flown (wind from 12 o'clock)", rows))
    kept = [constant_bank_drift(q.tas_kt, w, q.bank_deg) for w in (q.wind.low_kt, q.wind.high_kt)]
    out.says.append(
        f"With {q.bank_deg:.0f} degrees of bank held all the way round, each turn ends"
        f" {float(kept[0].drift_ft):,.0f} to {float(kept[1].drift_ft):,.0f} ft downwind of where it began."
    )


def eight_tables(q: Question, out: Answer) -> None:
    """Loops of an eight along or across a road, or round two pylons with its straight legs."""
    radius_first = q.lesson == "eights-around-pylons"
    line = line_deg_true(q, out, "pylon line" if radius_first else "road", 90.0 if radius_first else 0.0)
    radius = _radius(q, out)
    laid: Eight
    if q.lesson == "eights-around-pylons":
        gap = q.pylon_gap_ft
        if gap is None:
            gap = max(units.FT_PER_SM, 2.0 * radius)
            out.assumed.append(f"Pylons taken {gap:,.0f} ft apart.")
        laid = around_pylons(q.tas_kt, q.wind, radius, line, gap)
        out.tables.append(("Straight legs between the pylons", [demand_row(q, d) for d in laid.legs]))
        out.says.append(
            f"Each straight leg is {laid.leg_ft:,.0f} ft long, {laid.leg_to_line_deg:.0f} degrees off the pylon line."
        )
    else:
        lay = along_a_road if q.lesson == "eights-along-a-road" else across_a_road
        laid = lay(q.tas_kt, q.wind, radius, line, q.turn)
    for part in laid.loops:
        side = "left" if part.turn < 0 else "right"
        title = f"{part.name[0].upper()}{part.name[1:]}" + ("" if side in part.name else f", {side}")
        out.tables.append((f"{title}, {part.sweep_deg:.0f} degrees", [demand_row(q, d) for d in part.places]))
    if q.wind.directed:
        out.says.append(f"Begin on {bearing(laid.entry_course_deg_true)} true.")


def on_pylons_tables(q: Question, out: Answer) -> None:
    """Pivotal heights by the handbook and exactly."""
    check_flyable(q.tas_kt, q.wind, "Eights on pylons", circle=True)
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
