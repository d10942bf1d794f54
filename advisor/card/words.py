"""Sentences of a card that carry numbers: radius, sight picture, stall margin, what if the wind changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor import units
from advisor.card.field_wind import direction_words
from advisor.card.legs import nearer
from advisor.card.model import LessonCard
from advisor.directions import bearing
from advisor.flight.circle_ranges import half_circle_seconds_range, seconds_per_circle_range
from advisor.flight.sight_picture import below_horizon_deg
from advisor.flight.turns import load_factor, stall_factor
from advisor.lessons import lessons, own_stops_kt
from advisor.limits import table as limits_table

if TYPE_CHECKING:
    from advisor.demand import DemandSummary
    from advisor.places import Variation
    from advisor.school import School

EXIT_RULE = (
    "If more bank is needed:",
    "roll out, climb away, start again wider. Never tighten with rudder or pull.",
)


def ground_ft(distance_ft: float) -> str:
    """``1,930 ft (0.32 NM)``: distances a circle is planned by, rounded to 10 ft."""
    return f"{round(distance_ft, -1):,.0f} ft ({distance_ft / units.FT_PER_NM:.2f} NM)"


def variation_words(variation: Variation) -> str:
    """Variation with its model, or that it is not known."""
    if variation.value_deg is None:
        return f"variation not known, {variation.epoch_note}"
    side = "E" if variation.value_deg >= 0 else "W"
    return f"variation {abs(variation.value_deg):.1f}° {side}, {variation.epoch_note}"


#: Behind a closure that begins during the lesson; an hour is rated by its worst part, so the rating knows of it.
BEFORE_IT = "; the runway winds are those before it"


def school_words(card: LessonCard, school: School | None) -> tuple[str, ...]:
    """What the school's file says of the lesson's time: that it is outside its hours, and notices in force. Never raises."""
    day = card.day
    start, end = card.at.astimezone(day.zone), card.until.astimezone(day.zone)
    shut = day.opening.outside(start, end) if day.opening is not None else ""
    station = day.station.source.site.station.station
    counted = {r.name for r in card.runways}  # what is closed from the start is not among them
    told = [
        n.words(day.zone, card.at) + (BEFORE_IT if counted.intersection(n.closed_ends) else "")
        for n in sorted(school.notices if school is not None else (), key=lambda n: n.kind != "closure")
        if n.station in (None, station) and n.until > card.at and (n.since is None or n.since < card.until)
    ]
    return (*([shut] if shut else ()), *told)


def height_words(card: LessonCard, variable: bool) -> str:
    """The wind at lesson height in one sentence."""
    wind = card.wind
    if wind is None:
        return ""
    speed = f"At {card.height_ft_agl:,.0f} ft above ground: {wind.low_kt:.0f} to {wind.high_kt:.0f} kt"
    if variable:
        return f"{speed}, direction variable."
    if wind.from_deg_true is None:
        return f"{speed}, direction not known."
    a = wind.from_deg_true - wind.half_width_deg
    b = wind.from_deg_true + wind.half_width_deg
    if wind.half_width_deg < 0.5:
        return f"{speed} from {direction_words(card, wind.from_deg_true)}."
    true = f"{bearing(a)}° to {bearing(b)}° true"
    low, high = card.magnetic(a), card.magnetic(b)
    if low is None or high is None:
        return f"{speed} from {true}."
    return f"{speed} from {true} ({bearing(low)}° to {bearing(high)}° magnetic)."


def stall_words(card: LessonCard, demand: DemandSummary) -> str:
    """Stall speed and load factor at the planned and the exit bank, and what gusts leave of the practice speed."""
    aircraft = card.day.aircraft
    bank = card.planned_bank_deg
    spread = 0.0
    if demand.surface_gust_kt is not None:
        spread = max(0.0, demand.surface_gust_kt - demand.surface_mean_kt)
    at_planned = aircraft.stall_kcas * float(stall_factor(bank))
    at_exit = aircraft.stall_kcas * float(stall_factor(card.exit_bank_deg))
    less = f" less {spread:.0f} kt of gust spread" if spread else ""
    load, exit_load = float(load_factor(bank)), float(load_factor(card.exit_bank_deg))
    return (
        f"Stall {aircraft.stall_kcas:g} KCAS level, {at_planned:.0f} at {bank:.0f}° ({load:.2f} g), {at_exit:.0f} at "
        f"{card.exit_bank_deg:.0f}° ({exit_load:.2f} g); {card.kias:g} KIAS{less} is "
        f"{(card.kias - spread) / at_planned:.2f} times the stall at {bank:.0f}°."
    )


def radius_words(card: LessonCard, seconds: str) -> str:
    """Radius with its bank and its time (a clause of the two functions below), or that it is too wide to be practical."""
    if card.radius_ft is None or card.wind is None:
        return ""
    most = float(card.day.limits.fixed["practical_radius_ft"])
    text = f"Radius {ground_ft(card.radius_ft)}: steepest {card.planned_bank_deg:.0f}° in {card.wind.high_kt:.0f} kt{seconds}."
    if card.radius_ft > most:
        text += f" Wider than the {most:,.0f} ft that is practical: expect to use more bank, or another lesson."
    return text


def circle_seconds(card: LessonCard) -> str:
    """How long one circle takes, for lessons whose circles are whole."""
    if card.radius_ft is None or card.wind is None or card.tas_kt is None:
        return ""
    found = seconds_per_circle_range(card.tas_kt, card.wind.low_kt, card.wind.high_kt, card.radius_ft)
    return f", one circle in {_seconds(float(found.low), float(found.high))}"


def half_seconds(card: LessonCard, road_deg: float) -> str:
    """How long each half of an S-turn takes; both take the same in one wind."""
    if card.radius_ft is None or card.wind is None or card.tas_kt is None:
        return ""
    wind = card.wind
    course = nearer(road_deg + 90.0, (wind.from_deg_true or 0.0) + 180.0)
    found = half_circle_seconds_range(
        card.tas_kt, wind.low_kt, wind.high_kt, *wind.arc_deg, course, card.radius_ft, -1 if card.left else 1
    )
    return f", each half in {_seconds(float(found.low), float(found.high))}"


def _seconds(low: float, high: float) -> str:
    return f"{low:.0f} s" if round(low) == round(high) else f"{low:.0f}–{high:.0f} s"


def corner_words(card: LessonCard) -> str:
    """Corner radius of a rectangle or a pattern."""
    if card.radius_ft is None or card.wind is None:
        return ""
    return (
        f"Corners of {ground_ft(card.radius_ft)} radius: no more than {card.planned_bank_deg:.0f}° in "
        f"{card.wind.high_kt:.0f} kt."
    )


def pylon_words(card: LessonCard, nearest_ft: float) -> str:
    """Distance from the pylon where it is nearest."""
    return (
        f"Nearest to the pylon {ground_ft(nearest_ft)}, flying downwind, for {card.planned_bank_deg:.0f}° of bank. "
        "Heights above the pylon: handbook rule and exact; the real change is nearer the exact one."
    )


def sight_words(card: LessonCard, distance_ft: float) -> str:
    """Angle of the reference below the horizon at the planned height and distance."""
    below = float(below_horizon_deg(card.height_ft_agl, distance_ft))
    return (
        f"At {card.height_ft_agl:,.0f} ft that far off the reference lies {below:.0f}° below the horizon, wings level."
    )


def no_reference(card: LessonCard) -> str:
    """Said where the school entered nothing that serves the lesson."""
    what = "field" if card.lesson.key == "rectangular-course" else "road" if "road" in card.lesson.key else "reference"
    if card.lesson.key in ("tracking", "s-turns"):
        what = "road"
    return (
        f"No {what} of a practice area is known here: drawn for an ideal one. A school file with roads, fields and "
        "points puts in your own."
    )


def if_wind(card: LessonCard) -> tuple[tuple[str, str], ...]:
    """What to swap to if the wind rises, falls or gusts, from the limits in use. Never raises."""
    stage = card.setup.stage
    changes = card.day.limits.changes
    here, spread = own_stops_kt(card.lesson, stage, changes)
    day_stop = card.day.limits.pair("mean_wind_kt", next(s.index for s in card.day.stages if s.setup == card.setup))[1]
    stop = min(here, day_stop)
    longer = [
        x
        for x in lessons()
        if x.key != card.lesson.key and x.taught(stage) and min(own_stops_kt(x, stage, changes)[0], day_stop) > stop
    ]
    rises = f"past {stop:g} kt mean at the field: hold; "
    if longer:
        other = max(longer, key=lambda x: (x.shape == "line", own_stops_kt(x, stage, changes)[0]))
        rises += f"swap to {other.title.lower()} (to {min(own_stops_kt(other, stage, changes)[0], day_stop):g} kt)."
    else:
        rises += "land, and chalk-fly it with these numbers."
    little = float(limits_table()["teaching"]["crab_little_deg"])
    tas = card.tas_kt
    instead = f"{'first ' if stage == 'pre-solo' else ''}landings, stalls, slow flight, steep turns"
    falls = f"calm teaches little: swap to {instead}."
    if card.lesson.shape == "pylon" and card.lesson.key == "eights-on-pylons":
        falls = "calm leaves one pivotal height all the way round: useful as an introduction, little more."
    if tas is not None and card.lesson.shape in ("line", "circle"):
        kt = tas * float(units.sin_deg(little))
        falls = f"under about {kt:.0f} kt at height (crab below {little:g}°) swap to {instead}."
    if card.setup.alone and spread == float("inf"):
        gusts = "any reported gust is a question for the instructor before launch; land while it is still steady."
    elif spread == float("inf"):
        gusts = "climb away from the bumps and land while it is still steady."
    else:
        swap = "" if card.lesson.shape == "pattern" else ", or crosswind circuits inside their limits"
        gusts = f"spread past {spread:g} kt: hold; higher air{swap}."
    return (("rises", rises), ("falls", falls), ("gusts", gusts))


def _standard(card: LessonCard) -> tuple[tuple[str, str], ...]:
    """What the test standard asks to be held; it gives no figure for pylons nor for the pattern."""
    if card.lesson.shape in ("pylon", "pattern"):
        return ()
    height, speed = (card.day.limits.fixed[f"standard_{what}"] for what in ("height_ft", "speed_kt"))
    return (("Standard:", f"height ±{height:g} ft, airspeed ±{speed:g} kt."),)


def briefing(card: LessonCard) -> tuple[tuple[str, str], ...]:
    """Entry, look-out, what to see, errors, and the way out, each with its lead word. Never raises."""
    lesson = card.lesson
    turns = ""
    if lesson.shape == "pattern":  # every turn of a pattern is to the runway's own side
        turns = f" All turns {'left' if card.left else 'right'}."
    elif lesson.key != "tracking":
        turns = " Left first, then right." if card.left else " Right first, then left."
    return (
        ("Entry:", f"{lesson.entry}.{turns}"),
        ("Look-out:", "clearing turns, lights, area frequency; eyes up every turn."),
        *_standard(card),
        ("See:", f"{lesson.look_for}."),
        ("Errors:", f"{'; '.join(lesson.errors)}."),
        EXIT_RULE,
    )
