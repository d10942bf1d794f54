"""The student's day as plain text: twenty seconds for the top, everything behind it below.

No colour, no drawing characters beyond ASCII: it reads the same on a terminal, in a pipe and in an e-mail.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from datetime import datetime

from advisor.advice import HourAdvice, PracticeDay, StageDay
from advisor.clock import other_day
from advisor.lessons import lesson as find_lesson
from advisor.lessons import lesson_keys, lessons
from advisor.present.questions import questions
from advisor.present.standing import local_span, made_line, source_lines, standing_lines
from advisor.present.words import US, demand_lines, rating_words
from advisor.ratings import Caution
from advisor.rules.registry import Suitability
from advisor.segments import from_minutes
from advisor.windows import Window

WIDTH = 96


def _wrap(text: str, width: int, indent: str = "", first: str | None = None) -> str:
    return textwrap.fill(
        text, width, initial_indent=indent if first is None else first, subsequent_indent=indent,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def heading(day: PracticeDay) -> str:
    """Station, name and date."""
    site = day.station.source.site
    when = day.made_at.astimezone(day.zone)
    return f"{site.station.station} {site.station.name}, {when:%A} {when.day} {when:%B %Y}"


def window_words(day: PracticeDay, window: Window, stage: StageDay) -> str:
    """Lesson, hours, rating, teaching value."""
    span = local_span(day, from_minutes(window.start_min), from_minutes(window.end_min))
    title = lessons()[window.lesson].title
    return f"{title}, {span}: {rating_words(window.suitability, stage.setup)}, teaching value {window.teaching.words}"


def slot_words(day: PracticeDay, stage: StageDay) -> str:
    """The hour of the best window that teaches most."""
    if stage.slot is None:
        return ""
    return local_span(day, from_minutes(stage.slot.start_min), from_minutes(stage.slot.end_min))


def caution_words(caution: Caution) -> str:
    """One caution: code, what was found, the cap it puts, the group it cites."""
    cap = "" if caution.is_note else f" Caps at: {caution.caps_at.words}."
    return f"{caution.code} {caution.name}: {caution.message}.{cap} [{caution.layer}: {short_group(caution.group)}]"


def short_group(group: str, most: int = 70) -> str:
    """A cited group on one line, cut where it gets long."""
    flat = " ".join(group.split())
    return flat if len(flat) <= most else f"{flat[: most - 4]} ..."


def _runs(hours: Iterable[HourAdvice], key: str) -> list[tuple[datetime, datetime, Suitability, str]]:
    out: list[tuple[datetime, datetime, Suitability, str]] = []
    for hour in hours:
        suit = hour.suitability[key]
        teach = hour.teaching[key].words if suit > Suitability.NOT_RATED else ""
        if out and out[-1][2] == suit and out[-1][3] == teach and out[-1][1] == hour.start:
            out[-1] = (out[-1][0], hour.end, suit, teach)
        else:
            out.append((hour.start, hour.end, suit, teach))
    return out


def shown_hours(stage: StageDay) -> tuple[HourAdvice, ...]:
    """Hours worth printing: the first daylight with open doors, or the hour at hand when there is none."""
    out: list[HourAdvice] = []
    for hour in stage.hours:
        if hour.daylight and hour.open:
            out.append(hour)
        elif out and not hour.daylight:
            break
    return tuple(out or stage.hours[:1])


def hours_day(day: PracticeDay, stage: StageDay) -> str:
    """ ", tomorrow" where the hours shown are not the page's day; else nothing."""
    hours = shown_hours(stage)
    on = other_day(hours[0].start, day.made_at, day.zone).strip() if hours else ""
    return f", {on}" if on else ""


def lessons_by_hour(day: PracticeDay, stage: StageDay, width: int) -> list[str]:
    """For each lesson the stretches of the day with one rating; lessons of the same hours together."""
    hours = shown_hours(stage)
    groups: dict[tuple[str, ...], list[str]] = {}
    for index, key in enumerate(lesson_keys()):
        lesson = lessons()[index]
        note = lesson.stage_note.get(stage.setup.stage)
        name = f"{key} [{note}]" if note and lesson.taught(stage.setup.stage) else key
        if not lesson.taught(stage.setup.stage):
            groups.setdefault((Suitability.NOT_TAUGHT.words,), []).append(name)
            continue
        parts = []
        for start, end, suit, teach in _runs(hours, key):
            a, b = start.astimezone(day.zone), end.astimezone(day.zone)
            clock = f"{a:%H:%M}-{b:%H:%M} ({start:%H%M}-{end:%H%M}Z)"
            parts.append(f"{clock} {rating_words(suit, stage.setup)}" + (f", {teach}" if teach else ""))
        groups.setdefault(tuple(parts), []).append(name)
    out = []
    for lines, names in groups.items():
        out.append(_wrap(f"{', '.join(names)}:", width, "  ", "  "))
        out += [_wrap(line, width, "        ", "      ") for line in lines]
    return out


def _stage_block(day: PracticeDay, stage: StageDay, width: int, units: str) -> list[str]:
    lines = [_wrap(f"{stage.setup.stage} ({stage.setup.title}): {stage.sentence}", width), made_line(day)]
    if stage.best is not None:
        lines.append("")
        lines.append(_wrap(f"Best: {window_words(day, stage.best, stage)}.", width, "      "))
        lines.append(_wrap(f"ends: {stage.end_reason}.", width, "      ", "      "))
        if stage.alternative is not None:
            lines.append(_wrap(f"Or:   {window_words(day, stage.alternative, stage)}.", width, "      "))
    if stage.demand is not None:
        title = "Expect" if stage.best is not None else "Numbers for the board"
        when = f", {slot_words(day, stage)}" if stage.slot is not None else ""
        shown = find_lesson(stage.demand.lesson) if stage.best is None else lessons()[stage.best.lesson]
        lines += ["", f"{title} ({shown.title}{when}):"]
        lines += [_wrap(x, width, "    ", "  - ") for x in demand_lines(stage.demand, units)]
    for swap in stage.swaps:
        lines += ["", _wrap(f"Swap: {swap.text}", width, "      ")]
    if stage.ground_activity is not None:
        lines += ["", _wrap(stage.ground_activity, width, "  ")]
    lines += ["", "Ask your instructor:"]
    lines += [_wrap(q, width, "     ", f"  {n}. ") for n, q in enumerate(questions(stage), 1)]
    hours = f"Lessons by hour{hours_day(day, stage)} (local, Z beside; rating, teaching value):"
    lines += ["", hours, *lessons_by_hour(day, stage, width)]
    cautions = [c for c in stage.cautions if not c.is_note]
    notes = [c for c in stage.cautions if c.is_note]
    about = lessons()[stage.best.lesson].title if stage.best is not None else "the day"
    lines += ["", f"Cautions for {about} (advisor rules CODE explains one):"]
    lines += [_wrap(caution_words(c), width, "    ", "  - ") for c in cautions] or ["  none"]
    if notes:
        lines += ["Worth knowing:", *(_wrap(caution_words(c), width, "    ", "  - ") for c in notes)]
    return lines


def _compact_block(day: PracticeDay, stage: StageDay, width: int, units: str) -> list[str]:
    lines = [_wrap(f"{stage.setup.stage} ({stage.setup.title}): {stage.sentence}", width, "  ", "")]
    if stage.best is not None:
        lines.append(_wrap(f"Best: {window_words(day, stage.best, stage)}.", width, "    ", "  "))
        if stage.alternative is not None:
            lines.append(_wrap(f"Or: {window_words(day, stage.alternative, stage)}.", width, "    ", "  "))
        if stage.demand is not None:
            expect = f"Expect, {slot_words(day, stage)}: {' '.join(demand_lines(stage.demand, units))}"
            lines.append(_wrap(expect, width, "    ", "  "))
    elif stage.ground_activity is not None:
        lines.append(_wrap(stage.ground_activity, width, "    ", "  "))
    lines += [_wrap(f"Swap: {s.text}", width, "    ", "  ") for s in stage.swaps]
    stops = [c for c in stage.cautions if not c.is_note]
    if stops:
        lines.append(_wrap(f"Rules: {'; '.join(f'{c.code} {c.name}' for c in stops)}.", width, "    ", "  "))
    return lines


def day_text(day: PracticeDay, *, width: int = WIDTH, units: str = US) -> str:
    """The whole page.

    Parameters
    ----------
    day : PracticeDay
        One field's advice; one stage is printed in full, several compactly.
    width : int
        Columns.
    units : str
        ``us`` or ``metric`` for heights and radii.

    Returns
    -------
    str
        Text with a closing newline. Never raises.
    """
    site = day.station.source.site
    lines = [heading(day)]
    if site.made_up:
        lines.append("MADE-UP DEMO: fields, reports, school and people are invented. Not for any flight.")
    lines.append("")
    if len(day.stages) == 1:
        lines += _stage_block(day, day.stages[0], width, units)
    else:
        lines += [made_line(day), ""]
        for stage in day.stages:
            lines += [*_compact_block(day, stage, width, units), ""]
        lines.append("One stage in full: add --stage pre-solo, solo, post-solo or commercial.")
    notices = day.station.source.notices
    if notices:
        lines += ["", "School notices:", *(_wrap(n, width, "    ", "  - ") for n in notices)]
    lines += ["", "Reports:", *(_wrap(x, width, "    ", "  ") for x in source_lines(day))]
    if day.station.source.notes:
        lines += ["Notes:", *(_wrap(x, width, "    ", "  - ") for x in day.station.source.notes)]
    lines += ["Assumed:", *(_wrap(x, width, "    ", "  - ") for x in day.assumptions)]
    lines += ["", *(_wrap(x, width) for x in standing_lines(day))]
    return "\n".join(lines) + "\n"
