"""The instructor's lesson card as figures, tables and lines: everything the templates print."""

from __future__ import annotations

from advisor.card.model import LessonCard, Mark
from advisor.clock import age_words, both, both_with_day
from advisor.present.figures import astray_figure, bank_figure, height_figure, plan_figure
from advisor.present.formats import (
    crab_short,
    crab_words,
    magnetic_bearings,
    whole,
    whole_pair,
)
from advisor.present.standing import MADE_UP, made_line, standing_lines
from advisor.present.words import METRIC, bearing
from advisor.present.words import rating_words as reads
from advisor.records import dataclass

#: Letters of cautions that fit on a card with short names; those left over are named by their codes.
CAUTION_LETTERS = 240
#: Letters of the other sentences up to which that holds; beyond it cautions give way, then the other lessons.
BODY_LETTERS = 1560
#: More of them fit under the short table of a lesson flown in legs.
FEW_ROWS_LETTERS = 140
CAUTIONS_AT_LEAST = 60
#: Letters of the school's hours and notices on the printed side; the rest is counted, in so many letters of them.
SCHOOL_LETTERS, MORE_LETTERS = 260, 45


@dataclass(frozen=True, slots=True)
class TableText:
    """A table as words: a caption for screen readers, the head and the rows."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def rating_words(card: LessonCard) -> str:
    """The rating for the card's hour; a student alone is reminded who releases. Never raises."""
    words = reads(card.suitability, card.setup)
    if words == card.suitability.words:
        words = words.upper()
    return f"{words}, teaching value {card.teaching.words}"


def figures(card: LessonCard, *, units: str = "us") -> dict[str, str]:
    """Every figure of a card by name: ``plan``, ``bank``, ``astray``; only those that can be drawn. Never raises."""
    metric = units == METRIC
    out: dict[str, str] = {}
    if card.plan is not None and card.wind is not None:
        low, high = round(card.wind.low_kt), round(card.wind.high_kt)
        middle = card.wind.from_deg_true or 0.0
        magnetic = card.magnetic(middle)
        out["plan"] = plan_figure(
            card.plan,
            card.wind,
            title=f"{card.lesson.title} from above, wind from {bearing(middle)} degrees true, {low} to {high} knots",
            description=_plan_description(card),
            wind_words=(
                f"{low}–{high} kt",
                f"{bearing(middle)}°T" + (f" {bearing(magnetic)}°M" if magnetic is not None else ""),
            ),
            labels={m.number: _labels(card, m) for m in card.plan.marks},
            metric=metric,
            name=f"plan-{card.lesson.key}",
        )
    if card.bank_curve is not None:
        curve = card.bank_curve
        out["bank"] = bank_figure(
            curve,
            title=f"Bank round the circle, planned limit {curve.planned_deg:.0f} degrees",
            description=(
                f"Flying downwind {whole(curve.low_deg[0], curve.high_deg[0])} degrees, the steepest; into wind "
                f"{whole(min(curve.low_deg), min(curve.high_deg))} degrees, the shallowest. Leave the lesson at "
                f"{curve.exit_deg:.0f} degrees. The band is the range of the wind at height."
            ),
            name=f"bank-{card.lesson.key}",
        )
    if card.plan is not None and card.lesson.shape == "pylon":
        out["height"] = height_figure(
            card.plan.marks,
            title="Pivotal height round the pylon",
            description="; ".join(
                f"{m.name}: handbook {_tens(m.pivotal_handbook_ft)} ft, exact {_tens(m.pivotal_exact_ft)} ft"
                for m in card.plan.marks
            ),
            name=f"height-{card.lesson.key}",
        )
    if card.astray is not None and card.wind is not None:
        out["astray"] = astray_figure(
            card.astray, card.wind, description=card.astray.says, metric=metric, name=f"astray-{card.lesson.key}"
        )
    return out


def _labels(card: LessonCard, mark: Mark) -> tuple[str, ...]:
    magnetic = card.magnetic(mark.drawn_heading_deg_true)
    head = f"{bearing(mark.drawn_heading_deg_true)}°T" if magnetic is None else f"{bearing(magnetic)}°M"
    lines = [head]
    if card.plan is not None and card.lesson.shape == "circle" and mark.bank_deg is not None:
        banks = [m.bank_deg[1] for m in card.plan.marks if m.bank_deg is not None]
        if mark.bank_deg[1] == max(banks):
            lines.append("steepest")
        elif mark.bank_deg[1] == min(banks):
            lines.append("shallowest")
    if card.plan is not None and card.plan.entry is None and mark.number == 1 and card.lesson.shape != "line":
        lines.append("enter here")
    return tuple(lines)


def _plan_description(card: LessonCard) -> str:
    if card.plan is None:
        return ""
    parts = [
        f"{m.number}, {m.name}: heading {magnetic_bearings(card, m.heading_deg_true)} magnetic, crab "
        f"{crab_words(m.crab_deg)} degrees, groundspeed {whole_pair(m.groundspeed_kt)} knots"
        for m in card.plan.marks
    ]
    return f"North up. Aircraft drawn at its heading in {card.plan.drawn_kt:.0f} knots of wind. {'; '.join(parts)}."


def mark_table(card: LessonCard) -> TableText | None:
    """Headings, crab, groundspeed and bank at each numbered place. Never raises."""
    if card.plan is None:
        return None
    marks = card.plan.marks
    north = "M" if card.variation_deg is not None else "T"
    if card.lesson.shape == "pylon":
        return TableText(
            "At each numbered place",
            ("No.", "flying", f"hdg °{north}", "drift °L/R", "GS kt", "bank °", "handbook ft", "exact ft"),
            tuple(
                (
                    str(m.number), m.name, magnetic_bearings(card, m.heading_deg_true),
                    crab_short((-m.crab_deg[1], -m.crab_deg[0])), whole_pair(m.groundspeed_kt),
                    "" if m.bank_deg is None else whole_pair(m.bank_deg),
                    _tens(m.pivotal_handbook_ft), _tens(m.pivotal_exact_ft),
                )
                for m in marks
            ),
        )  # fmt: skip
    if card.lesson.shape == "circle":
        return TableText(
            "At each numbered place",
            ("No.", "flying", f"hdg °{north}", "crab °L/R", "GS kt", "bank °"),
            tuple(
                (
                    str(m.number), m.name, magnetic_bearings(card, m.heading_deg_true),
                    crab_short(m.crab_deg), whole_pair(m.groundspeed_kt),
                    "level" if m.bank_deg is None else whole_pair(m.bank_deg),
                )
                for m in marks
            ),
        )  # fmt: skip
    corners = any(m.turn_deg is not None for m in marks)
    head = ("No.", "leg", f"trk °{north}", f"hdg °{north}", "crab °L/R", "GS kt", "seconds")
    rows = [
        (
            str(m.number), m.name, magnetic_bearings(card, (m.course_deg_true, m.course_deg_true)),
            magnetic_bearings(card, m.heading_deg_true), crab_short(m.crab_deg), whole_pair(m.groundspeed_kt),
            "" if m.seconds is None else whole_pair(m.seconds),
            *((f"{whole_pair(m.turn_deg)}",) if m.turn_deg is not None else ()),
            *((f"{whole_pair(m.corner_bank_deg)}",) if m.corner_bank_deg is not None else ()),
        )
        for m in marks
    ]  # fmt: skip
    return TableText("Each leg", (*head, "then turn °", "bank °") if corners else head, tuple(rows))


def _tens(found: tuple[float, float] | None) -> str:
    return "" if found is None else whole(round(found[0], -1), round(found[1], -1))


def corner_lines(card: LessonCard) -> tuple[str, ...]:
    """How the bank runs in each corner, in words. Never raises."""
    if card.plan is None:
        return ()
    marks = card.plan.marks
    out = []
    for here, ahead in zip(marks, [*marks[1:], marks[0]], strict=True):
        if here.turn_deg is not None and here.corner_words:
            out.append(f"{here.number} to {ahead.number}: {here.corner_words}")
    return tuple(out)


def sensitivity_table(card: LessonCard) -> TableText | None:
    """What another wind would ask. Never raises."""
    if not card.sensitivity:
        return None
    rows: list[tuple[str, ...]] = []
    if card.lesson.shape == "pylon":
        for s in card.sensitivity:
            rows.append((s.label, f"{s.slowest_kt:.0f}–{s.fastest_kt:.0f}", _tens(s.heights_ft)))
        return TableText("If the wind at height differs", ("wind", "GS kt", "exact height ft"), tuple(rows))
    banks = any(s.steepest_deg is not None for s in card.sensitivity)
    for s in card.sensitivity:
        row = [s.label, f"{s.crab_deg:.0f}", f"{s.slowest_kt:.0f}–{s.fastest_kt:.0f}"]
        if s.steepest_deg is not None and s.shallowest_deg is not None:
            row.append(f"{s.shallowest_deg:.0f}–{s.steepest_deg:.0f}")
        rows.append(tuple(row))
    head = ("wind", "crab °", "GS kt", *(("bank °",) if banks else ()))
    return TableText("If the wind at height differs", head, tuple(rows))


def runway_lines(card: LessonCard) -> tuple[str, ...]:
    """Crosswind and headwind of the two best runway ends in words, mean to worst. Never raises."""
    out = []
    for r in card.runways[:2]:
        side = f" {r.from_side}" if r.from_side != "none" else ""
        cross = whole(*r.cross_kt) if round(r.cross_kt[1]) != round(r.cross_kt[0]) else f"{r.cross_kt[1]:.0f}"
        along = f", headwind {r.head_kt[1]:.0f} kt" if r.head_kt[1] >= 0 else f", tailwind {-r.head_kt[1]:.0f} kt"
        if r.from_side == "either side":  # a variable wind has no share along the runway that can be told
            along = ""
        magnetic = "" if r.bearing_deg_magnetic is None else f" ({bearing(r.bearing_deg_magnetic)}°M)"
        doubt = ", bearing from the painted number" if r.estimated else ""
        best = ", best" if r.best else ""
        out.append(f"{r.name}{magnetic}{best}: {cross} kt across{side}{along}{doubt}")
    return tuple(out)


def caution_lines(card: LessonCard, letters: int | None = CAUTION_LETTERS) -> tuple[str, ...]:
    """Cautions with code and cap, worst first; those past the room are named by code. Never raises."""
    lines: list[str] = []
    left_over: list[str] = []
    used = 0
    for c in card.cautions:
        text = f"{c.code} {c.message}" + ("" if c.is_note else f": {c.caps_at.words}")
        if letters is not None and lines and used + len(text) > letters:
            left_over.append(c.code)
            continue
        used += len(text)
        lines.append(text)
    if left_over:
        lines.append(f"also {', '.join(left_over)}")
    return tuple(lines)


def school_lines(card: LessonCard, letters: int = SCHOOL_LETTERS) -> tuple[str, ...]:
    """What the school says of the hour; of notices past the room their number. Never raises."""
    said: list[str] = []
    room = letters - (MORE_LETTERS if len(card.school_words) > 1 else 0)
    for words in card.school_words:
        if said and sum(map(len, said)) + len(words) > room:
            left = len(card.school_words) - len(said)
            return (*said, f"and {left} more notice{'s' if left != 1 else ''}: read the desk's page")
        said.append(words if said else _shortened(words, room))
    return tuple(said)


def _shortened(words: str, letters: int) -> str:
    """A notice whose own text is cut to the room; until when it holds and who says so stay."""
    end = max(words.rfind(" (from "), words.rfind(" (until "))
    if len(words) <= letters or end < 0:
        return words
    return f"{words[: max(letters - 4 - len(words) + end, 0)].rstrip()} ...{words[end:]}"


def room_for_cautions(card: LessonCard, school: tuple[str, ...]) -> int:
    """Letters of cautions there is room for beside the school's lines; below ``CAUTIONS_AT_LEAST`` something else must go."""
    place = card.day.station.source.site.station
    texts = [
        card.radius_words,
        card.sight_words,
        card.stall_words,
        card.reference_words,
        card.why_not,
        *runway_lines(card),
    ]
    texts += [text for pair in (*card.if_wind, *card.briefing) for text in pair]
    texts += [*school, *corner_lines(card), others_line(card), place.name, card.surface_words, card.height_words]
    if card.astray is not None:
        texts.append(card.astray.says)
    room = BODY_LETTERS + (FEW_ROWS_LETTERS if card.lesson.shape in ("line", "pattern") else 0)
    return min(CAUTION_LETTERS, CAUTION_LETTERS + room - sum(len(t) + 1 for t in texts))


def others_line(card: LessonCard) -> str:
    """The other lessons of the hour, grouped by suitability, best first. Never raises."""
    groups: dict[str, list[str]] = {}
    for title, words in card.others:
        groups.setdefault(words, []).append(title)
    if len(groups) == 1:
        return f"all {next(iter(groups))}"
    # the longest group is named last, as the rest
    longest = max(groups, key=lambda words: len(groups[words]))
    named = [f"{words}: {', '.join(titles)}" for words, titles in groups.items() if words != longest]
    return "; ".join([*named, f"all others {longest}"])


def header_lines(card: LessonCard) -> tuple[str, str, str]:
    """Title, where and when and for whom with the rating, and how long it may be used. Never raises."""
    place = card.day.station.source.site.station
    note = card.lesson.stage_note.get(card.setup.stage)
    who = card.setup.title + (f" ({note})" if note else "")
    when = both_with_day(card.at, card.day.zone)
    made = made_line(card.day)
    if card.at >= card.day.expires_at:  # planned ahead: the card lapses before its own hour
        made = f"{made.removesuffix('.')}: a plan, to be made anew."
    return card.lesson.title, f"{place.station} {place.name} · {when} · {who}", made


def true_words(card: LessonCard) -> str:
    """How to come from magnetic to true on this card. Never raises."""
    if card.variation_deg is None:
        return "Headings are true: the variation is not known"
    sign = "+" if card.variation_deg >= 0 else "−"
    return f"True = magnetic {sign} {abs(card.variation_deg):.1f}°"


def card_standing(card: LessonCard) -> list[str]:
    """Sources and standing lines for the foot of the card; the forecast without its text. Never raises."""
    day = card.day
    observation, taf = day.station.observation, day.station.source.taf
    if observation is None:
        report = "Report: none that can be used."
    else:
        report = (
            f"Report: {observation.station} {both(observation.observed_at, day.zone)}, "
            f"{age_words(day.station.age_min)} old."
        )
    forecast = "Forecast: none that can be used."
    if taf is not None:
        until = both_with_day(taf.valid_to, day.zone)
        forecast = f"Forecast: {taf.station}, issued {both(taf.issued_at, day.zone)}, until {until}."
    borrowed = [s for s in (day.station.source.observation_from, day.station.source.forecast_from) if s]
    model = f"{card.variation_words[:1].upper()}{card.variation_words[1:]}."
    # the head of the card says these already
    rest = [x for x in standing_lines(day) if not x.startswith((MADE_UP, "Made "))]
    return [report, forecast, *borrowed, day.aircraft.assumption(), model, *rest]
