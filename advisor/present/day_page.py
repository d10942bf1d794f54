"""The student's page: phone first, one file, readable without script, meaning in words and ladders."""

from __future__ import annotations

from datetime import UTC
from typing import Any

from advisor.advice import PracticeDay, StageDay
from advisor.answer import hour_reason
from advisor.clock import zone_name
from advisor.demand import DemandSummary
from advisor.lessons import lesson_keys, lessons
from advisor.present.day_text import heading, hours_day, short_group, shown_hours, slot_words, window_words
from advisor.present.figures import ladder
from advisor.present.html import markup, render
from advisor.present.questions import questions
from advisor.present.standing import DECIDES, local_span, made_line, source_lines, standing_lines
from advisor.present.words import US, demand_lines, pair, rating_words
from advisor.ratings import Caution
from advisor.records import dataclass
from advisor.rules.registry import RELEASE, Suitability
from advisor.segments import from_minutes
from advisor.sources import sources
from advisor.windows import Window

VARIES = "Nobody can say from these reports: the direction is not settled. Fly a road both ways and compare."


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of the strip: the field's clock, Z, the ladder and its word."""

    local: str
    zulu: str
    picture: Any
    words: str
    teaching: str
    why: str  # what holds it down, where that is not what the hour before says


@dataclass(frozen=True, slots=True)
class CautionRow:
    """One caution with everything it cites."""

    code: str
    name: str
    message: str
    cap: str
    cites: str
    source: str


@dataclass(frozen=True, slots=True)
class StageView:
    """Everything the page shows about one stage, as words."""

    key: str
    title: str
    sentence: str
    best: str
    until: str
    alternative: str
    hours_title: str
    hours: tuple[HourRow, ...]
    expect_title: str
    expect: tuple[str, ...]
    guesses: tuple[tuple[str, str], ...]
    questions: tuple[str, ...]
    swaps: tuple[str, ...]
    ground: str
    cautions_title: str
    cautions: tuple[CautionRow, ...]
    notes: tuple[CautionRow, ...]
    grid_head: tuple[str, ...]
    grid: tuple[tuple[str, tuple[str, ...]], ...]
    release: str  # under the grid of a student alone, whose cells are short


def caution_row(caution: Caution) -> CautionRow:
    """A caution for the page; an unknown source key is printed as it is. Never raises."""
    known = sources()
    names = [known[key].title if key in known else key for key in caution.sources]
    return CautionRow(
        caution.code,
        caution.name.replace("-", " "),
        caution.message,
        "" if caution.is_note else caution.caps_at.words,
        f"{caution.layer}: {short_group(caution.group, 110)}",
        "; ".join(names),
    )


def guesses(stage: StageDay) -> tuple[tuple[str, str], ...]:
    """Questions to guess before looking, with today's answers; none without a usable wind. Never raises."""
    demand = stage.demand
    if demand is None or demand.beyond_airspeed:
        return ()
    return (
        ("Where will the bank be steepest?", _steepest(demand)),
        ("Which way will you crab?", _crab(demand)),
    )


def _steepest(d: DemandSummary) -> str:
    if d.steepest_bank_deg is not None and d.shallowest_bank_deg is not None:
        return (
            f"Flying downwind, where the ground goes by fastest: {pair(*d.steepest_bank_deg, 'degrees')}. Shallowest flying "
            f"into wind: {pair(*d.shallowest_bank_deg, 'degrees')}."
        )
    if d.pivotal_exact_ft is not None:
        return "Flying downwind, nearest to the pylon; there the pivotal height is greatest too."
    if d.lesson == "tracking":
        return "Nowhere on the line: wings level, one heading. In the turns at its ends, flying downwind."
    return "In the corner that begins flying downwind, where the ground goes by fastest."


def _crab(d: DemandSummary) -> str:
    if d.variable or (d.from_arc_deg_true is None and d.wind_high_kt > 0):
        return VARIES
    return (
        "Into the wind: with the wind from your right the nose points right of the course, from your left, left of it. "
        f"Straight across the wind {pair(*d.crab_deg, 'degrees')}; flying straight downwind or into wind, none."
    )


def _hours(day: PracticeDay, stage: StageDay) -> tuple[str, tuple[HourRow, ...]]:
    key = lesson_keys()[stage.best.lesson] if stage.best is not None else None
    title = (
        f"Hours for: {stage.lesson(stage.best).title}" if stage.best is not None else "Hours, whatever the lesson"
    ) + hours_day(day, stage)
    rows: list[HourRow] = []
    before: tuple[str, Suitability] | None = None
    for hour in shown_hours(stage):
        taught = {k: s for k, s in hour.suitability.items() if s is not Suitability.NOT_TAUGHT}
        shown = key if key is not None else max(taught, key=lambda k: taught[k])
        rated = hour.suitability[shown]
        teaching = hour.teaching[key].words if key is not None and rated > Suitability.NOT_RATED else ""
        reason, part = hour_reason(day, stage, lesson_keys().index(shown), hour)
        # said once: an hour held down as the one before says at most for how long
        why = part if (reason, rated) == before else ": ".join(x for x in (part, reason) if x)
        a, b = hour.start.astimezone(day.zone), hour.end.astimezone(day.zone)
        rows.append(
            HourRow(
                f"{a:%H:%M}–{b:%H:%M}",
                f"{hour.start.astimezone(UTC):%H%M}–{hour.end.astimezone(UTC):%H%M}Z",
                markup(ladder(rated)),
                rating_words(rated, stage.setup),
                teaching,
                why,
            )
        )
        before = (reason, rated)
    return title, tuple(rows)


def _grid(day: PracticeDay, stage: StageDay) -> tuple[tuple[str, ...], tuple[tuple[str, tuple[str, ...]], ...]]:
    hours = shown_hours(stage)
    head = tuple(f"{h.start.astimezone(day.zone):%H:%M}" for h in hours)
    rows = tuple(
        (x.title, tuple(rating_words(h.suitability[x.key], stage.setup, short=True) for h in hours))
        for x in lessons()
        if x.taught(stage.setup.stage)
    )
    return head, rows


def _span_words(day: PracticeDay, window: Window) -> str:
    return local_span(day, from_minutes(window.start_min), from_minutes(window.end_min))


def stage_view(day: PracticeDay, stage: StageDay, units: str = US) -> StageView:
    """One stage as words, ready for the template. Never raises."""
    hours_title, hours = _hours(day, stage)
    grid_head, grid = _grid(day, stage)
    expect = tuple(demand_lines(stage.demand, units)) if stage.demand is not None else ()
    return StageView(
        stage.setup.stage,
        stage.setup.title,
        stage.sentence,
        window_words(day, stage.best, stage) if stage.best is not None else "",
        stage.end_reason,
        window_words(day, stage.alternative, stage) if stage.alternative is not None else "",
        hours_title,
        hours,
        f"What to expect, {slot_words(day, stage)}" if stage.slot is not None else "Numbers for the board",
        expect,
        guesses(stage),
        questions(stage),
        tuple(s.text for s in stage.swaps),
        stage.ground_activity or "",
        "Cautions" + (f", {_span_words(day, stage.best)}" if stage.best is not None else ""),
        tuple(caution_row(c) for c in stage.cautions if not c.is_note),
        tuple(caution_row(c) for c in stage.cautions if c.is_note),
        grid_head,
        grid,
        f"{RELEASE[0].upper()}{RELEASE[1:]} before any of them." if stage.setup.stage == "solo" else "",
    )


def day_html(day: PracticeDay, stage: StageDay | None = None, *, units: str = US) -> str:
    """The page as one HTML document.

    Parameters
    ----------
    day : PracticeDay
        One field's advice.
    stage : StageDay or None
        The stage shown; ``None`` shows every stage of the day.
    units : str
        ``us`` or ``metric`` for heights and radii.

    Returns
    -------
    str
        Needs nothing from outside and no script: script only covers it once it is out of date. The made-up
        demonstration, whose clock stands still, is not covered. Never raises.
    """
    made_up = day.station.source.site.made_up
    shown = (stage,) if stage is not None else day.stages
    return render(
        "day.html",
        heading=heading(day),
        zone=zone_name(day.made_at.astimezone(day.zone)),
        made=made_line(day),
        expires_iso="" if made_up else f"{day.expires_at.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}",
        made_up=made_up,
        stages=tuple(stage_view(day, s, units) for s in shown),
        decides=DECIDES,
        notices=tuple(day.station.source.notices),
        sources=source_lines(day),
        notes=tuple(day.station.source.notes),
        assumptions=day.assumptions,
        standing=[x for x in standing_lines(day) if not x.startswith("MADE-UP")],
    )
