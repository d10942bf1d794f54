"""Numbers of ``advisor whatif`` for lessons along a line: tracking a road, the pattern on a runway."""

from __future__ import annotations

from advisor.commands.whatif_model import Answer, Question, Row, demand_row, line_deg_true
from advisor.directions import bearing
from advisor.errors import GeometryError
from advisor.flight import astray
from advisor.flight.pattern import final_turn, pattern_legs, runway_components
from advisor.flight.tracking import track_road

#: A road tracked for this long shows what no correction does. [s]
NO_CRAB_SECONDS = 60.0


def tracking_tables(q: Question, out: Answer) -> None:
    """Crab along a road both ways, and what a minute without it does."""
    road = track_road(q.tas_kt, q.wind, line_deg_true(q, out, "road", 90.0))
    out.tables.append(("Along the road", [demand_row(q, d) for d in (road.there, road.back)]))
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


def pattern_tables(q: Question, out: Answer) -> None:
    """Wind on the runway, the legs, and the turn from base to final in each wind known."""
    if q.runway_deg_true is None:
        raise GeometryError("A crosswind pattern needs a runway. Give --runway, such as 22 or 223 (degrees true).")
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
                "wind": f"{name}, {bearing(from_deg)} true {kt:.0f} kt",
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
        out.tables.append((f"Wind on the runway, {bearing(runway)} true", rows))
    else:
        out.says.append("The wind has no direction or none was given for the field: take all of it as crosswind.")
    out.tables.append(("Legs", [demand_row(q, d) for d in pattern_legs(q.tas_kt, q.wind, runway, q.turn)]))
    if turns:
        out.tables.append((f"Base to final at {q.bank_deg:.0f} degrees of bank, begun as on a calm day", turns))
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
