"""From a day's advice to one lesson's card: which wind, which ground, which numbers, what to say."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from advisor import units
from advisor.advice import PracticeDay, find_stage
from advisor.card import circles, lines, words
from advisor.card.choose import choose_reference, road_for
from advisor.card.field_wind import runway_rows, surface_words, worst_row
from advisor.card.model import LessonCard, WindBox
from advisor.card.sensitivity import sensitivity_rows
from advisor.clock import both
from advisor.errors import DataFileError, ImpossibleTriangle, TimeError
from advisor.lessons import Lesson, lesson_keys, lessons
from advisor.limits import STAGES
from advisor.limits import table as limits_table
from advisor.places import variation_deg_east
from advisor.segments import to_minutes
from advisor.teaching import Teaching

if TYPE_CHECKING:
    from advisor.demand import DemandSummary
    from advisor.school import School


def card_cells(day: PracticeDay, at: datetime) -> list[int]:
    """Cells of the field that a lesson from ``at`` touches.

    Raises
    ------
    TimeError
        The lesson begins before the page's clock or ends past its span.
    """
    part = day.station.cells
    starts = day.ratings.conditions.cell_start_min[part]
    ends = day.ratings.conditions.cell_end_min[part]
    begin, finish = to_minutes(at), to_minutes(at) + day.lesson_min
    if not len(starts) or finish <= starts[0]:
        raise TimeError(
            f"{both(at, day.zone)} is over: the clock says {both(day.made_at, day.zone)}. Ask for a later time; "
            f"a day later is {at.astimezone(day.zone) + timedelta(days=1):%Y-%m-%dT%H:%M}."
        )
    if begin >= ends[-1]:
        raise TimeError(
            f"{both(at, day.zone)} lies past the {(int(ends[-1]) - int(starts[0])) // 60} hours looked at from "
            f"{both(day.made_at, day.zone)}. Ask for an earlier time."
        )
    return [int(i) for i in np.flatnonzero((starts < finish) & (ends > begin))]


def wind_box(demand: DemandSummary) -> WindBox:
    """The wind at lesson height as speeds and an arc of directions. Never raises."""
    if demand.from_arc_deg_true is None:
        return WindBox(demand.wind_low_kt, demand.wind_high_kt, None, 180.0)
    start, end = demand.from_arc_deg_true
    width = float(units.wrap_360(end - start))
    return WindBox(demand.wind_low_kt, demand.wind_high_kt, float(units.wrap_360(start + width / 2)), width / 2)


def lesson_card(
    day: PracticeDay,
    stage: str,
    lesson: Lesson,
    at: datetime,
    *,
    left: bool | None = None,
    school: School | None = None,
) -> LessonCard:
    """Everything a card shows.

    Parameters
    ----------
    day : PracticeDay
        Advice for the field.
    stage : str
        One of the day's stages.
    lesson : Lesson
    at : datetime
        Aware; when the lesson begins.
    left : bool or None
        First turns to the left; ``None``: left, and the runway's own side in the pattern.
    school : School or None
        For roads, fields and points of the practice area.

    Returns
    -------
    LessonCard
        Without plan and headings where the direction of the wind is not known.

    Raises
    ------
    TimeError
        The time is not on the page.
    DataFileError
        The lesson is not taught at that stage.
    """
    advice = find_stage(day, stage)
    if not lesson.taught(stage):
        taught = ", ".join(s for s in STAGES if lesson.taught(s))
        raise DataFileError(f"{lesson.title} is not taught at stage {stage}; taught at: {taught}. Pick with --stage.")
    cells = card_cells(day, at)
    index = lesson_keys().index(lesson.key)
    glob = day.global_cells(cells)
    demand = day.demand(advice.index, index, cells)
    site = day.station.source.site
    place = site.station
    variation = variation_deg_east(place.latitude_deg, place.longitude_deg, place.elevation_ft, at)
    row = worst_row(day, advice.index, cells)
    planned_deg, exit_deg = _banks(day, stage, lesson)
    teaching = day.ratings.teaching[advice.index, index, glob]
    card = LessonCard(
        day=day,
        setup=advice.setup,
        lesson=lesson,
        at=at,
        until=at + timedelta(minutes=day.lesson_min),
        suitability=day.ratings.lowest(advice.index, index, glob),
        teaching=Teaching(int(teaching.min())) if len(teaching) else Teaching.UNKNOWN,
        left=True if left is None else left,
        surface_words="",
        height_words="",
        variation_deg=variation.value_deg,
        variation_words=words.variation_words(variation),
        wind=None,
        tas_kt=None,
        kias=day.aircraft.practice_kias,
        height_ft_agl=float(limits_table()["height_wind"]["lesson_height_ft"]),
        planned_bank_deg=planned_deg,
        exit_bank_deg=exit_deg,
        swaps=advice.swaps,
        cautions=tuple(day.cautions(advice.index, index, cells)),
    )
    card.surface_words = surface_words(card, row)
    card.runways = runway_rows(card, row)
    card.others = _others(card, advice.index, glob)
    if lesson.shape == "pattern" and left is None:
        card.left = _own_side(card)
    card.briefing = words.briefing(card)
    if demand is not None:
        card.wind, card.tas_kt = wind_box(demand), demand.tas_kt
    card.if_wind = words.if_wind(card)
    card.school_words = words.school_words(card, school)
    if demand is None:
        card.why_not = (
            "No crab, heading or bank is given: no report or forecast for this hour has a wind that can be used. "
            "A missing wind is not a calm."
        )
    else:
        _fly(card, demand, school)
    return card


def _banks(day: PracticeDay, stage: str, lesson: Lesson) -> tuple[float, float]:
    """The steepest bank planned at this stage, and the bank at which one leaves and begins again, degrees."""
    fixed = day.limits.fixed
    planned = float(limits_table()["stage"][stage]["planned_bank_deg"])
    if lesson.shape == "pattern":
        planned = min(planned, fixed["pattern_bank_deg"])
    return planned, fixed[lesson.exit_bank]


def _fly(card: LessonCard, demand: DemandSummary, school: School | None) -> None:
    """What a known wind asks for: numbers, then headings and a plan where its direction is known too."""
    card.height_words = words.height_words(card, demand.variable)
    card.stall_words = words.stall_words(card, demand)
    if demand.beyond_airspeed:
        card.why_not = demand.beyond_airspeed
        return
    _circle_numbers(card, demand)
    if demand.variable or card.wind is None or card.wind.from_deg_true is None:
        what = "variable" if demand.variable else "calm at the field and from no known direction above it"
        card.why_not = (
            f"No headings and no plan: the wind is {what}, so a heading plan would be an invention. Crab may be up "
            f"to {demand.crab_deg[1]:.0f}° to either side. Find the wind first: fly along a road both ways and "
            "compare."
        )
        return
    try:
        _plan(card, school)
    except ImpossibleTriangle as error:
        card.plan = card.astray = None
        card.why_not = str(error)
        return
    card.sensitivity = sensitivity_rows(card)


def _others(card: LessonCard, stage: int, cells: list[int]) -> tuple[tuple[str, str], ...]:
    """The other lessons of the stage in the same hour, best first: title and words."""
    found = []
    for index, other in enumerate(lessons()):
        if other.key == card.lesson.key or not other.taught(card.setup.stage):
            continue
        rated = card.day.ratings.lowest(stage, index, cells)
        found.append((-int(rated), index, other.title.lower(), rated.words))
    return tuple((title, words) for _, _, title, words in sorted(found))


def _circle_numbers(card: LessonCard, demand: DemandSummary) -> None:
    """Radius and bank curve: they need speeds only, no direction."""
    if card.wind is None or card.tas_kt is None or demand.radius_ft is None:
        return
    card.radius_ft = demand.radius_ft
    card.bank_curve = circles.bank_curve(
        card.wind, card.tas_kt, demand.radius_ft, card.planned_bank_deg, card.exit_bank_deg, card.left
    )
    card.radius_words = words.radius_words(card, words.circle_seconds(card) if card.lesson.key != "s-turns" else "")
    card.sight_words = words.sight_words(card, demand.radius_ft)


def _own_side(card: LessonCard) -> bool:
    """True where the pattern of the best runway is flown to the left, as it is where nothing else is known."""
    site = card.day.station.source.site
    best = next((r.name for r in card.runways if r.best), None)
    end = next((e for e in site.usable_ends if e.name == best), None)
    return (site.pattern_side or (end.pattern_side if end is not None else None)) != "right"


def _plan(card: LessonCard, school: School | None) -> None:
    wind, tas = card.wind, card.tas_kt
    if wind is None or tas is None:
        return
    key = card.lesson.key
    card.reference = choose_reference(card, school)
    ref = card.reference
    if ref is not None:
        card.reference_words = ref.says
    if key == "crosswind-pattern":
        best = next((r for r in card.runways if r.best), None)
        if best is None:
            why = "no runway of this field is known. Give --runway or a school file."
            if card.day.station.source.site.runways:
                why = "no runway that counts is open at this hour."
            card.why_not = f"No pattern is drawn: {why}"
            return
        end = next(e for e in card.day.station.source.site.usable_ends if e.name == best.name)
        card.plan, card.astray, card.radius_ft = lines.pattern_plan(
            wind, tas, end.bearing_deg_true, float(end.length_ft), end.name, card.left, card.planned_bank_deg
        )
        card.radius_words = words.corner_words(card)
        return
    if key == "rectangular-course":
        size = (lines.SECTION_FT, lines.SECTION_FT)
        bearing, name = wind.from_deg_true or 0.0, "field lying with the wind"
        if ref is not None and ref.size_ft is not None and ref.bearing_deg_true is not None:
            size, bearing, name = ref.size_ft, ref.bearing_deg_true, ref.name
        else:
            card.reference_words = words.no_reference(card)
        card.plan, card.astray, card.radius_ft = lines.rectangle_plan(
            wind, tas, bearing, size, name, card.left, card.planned_bank_deg
        )
        card.radius_words = words.corner_words(card)
        return
    road_deg, road_name = road_for(card, ref)
    if ref is None or (ref.kind == "road" and ref.bearing_deg_true is None):
        card.reference_words = words.no_reference(card)
    if key == "tracking":
        card.plan, card.astray = lines.tracking_plan(wind, tas, road_deg, road_name)
        return
    if key == "eights-on-pylons":
        card.plan, nearest = circles.on_pylons_plan(wind, tas, card.left, card.planned_bank_deg)
        card.radius_words = words.pylon_words(card, nearest)
        return
    if card.radius_ft is None:
        return
    if key == "turns-around-a-point":
        name = ref.name if ref is not None else "point"
        card.plan, card.astray = circles.point_plan(wind, tas, card.radius_ft, card.left, name)
    elif key == "s-turns":
        card.plan, card.astray = circles.s_turn_plan(wind, tas, card.radius_ft, card.left, road_deg, road_name)
        card.radius_words = words.radius_words(card, words.half_seconds(card, road_deg))
    elif key == "eights-around-pylons":
        card.plan, card.astray, spacing = circles.around_pylons_plan(wind, tas, card.radius_ft, card.left)
        card.radius_words += f" Pylons {words.ground_ft(spacing)} apart, square to the wind."
    else:
        card.plan, card.astray = circles.eight_plan(
            wind, tas, card.radius_ft, card.left, road_deg, road_name, across=key == "eights-across-a-road"
        )
