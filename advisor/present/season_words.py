"""Lines and numbers that every form of a season shares."""

from __future__ import annotations

from advisor.archive.report import FEW_HOURS, Season
from advisor.lessons import lessons
from advisor.limits import StageSetup
from advisor.present.standing import US_FIGURES
from advisor.rules.registry import Suitability

PAST = "This describes past reports and is no forecast; your instructor decides on the day."
WORTH = (
    "Worth scheduling: rated suited or with care, and the wind at lesson height teaches some or strong. "
    "Shares are of daylight hours with a report; hours are on the field's own clock."
)
NOT_THERE = (
    "Past reports hold no forecast, no report age and no trend, so rules about those had no say; "
    "dark hours are left out."
)
NONE_BELOW = "No hour was below with care."
FEW = f"A question mark: fewer than {FEW_HOURS} past hours."


def standing_lines() -> list[str]:
    """What stands on every season page. Never raises."""
    return [PAST, WORTH, NOT_THERE, US_FIGURES]


def percent(share: float, hours: int | None = None) -> str:
    """``42``, ``42?`` for few hours, ``-`` for none; no sign, the heading says per cent."""
    if share != share:
        return "-"
    return f"{share * 100:.0f}{'?' if hours is not None and hours < FEW_HOURS else ''}"


def stage_words(setup: StageSetup) -> str:
    """ "pre-solo: instructor aboard"."""
    return f"{setup.stage}: {setup.title}"


def lesson_title(season: Season) -> str:
    """The lesson's title as printed."""
    return lessons()[season.lesson].title


def answer(season: Season) -> str:
    """Which months and hours to schedule, in one sentence. Never raises."""
    best = season.windows()
    title = lesson_title(season)
    if not season.total:
        return f"{title}: no daylight hour was reported."
    if not best:
        return f"{title}: no run of hours was worth scheduling, or too few were reported to say."
    return f"{title}: most often worth scheduling {', '.join(window.words for window in best)}."


def held_down(season: Season) -> str:
    """What held hours below with care, in one sentence. Never raises."""
    found = season.blockers()
    if not found:
        return NONE_BELOW
    return (
        "Held down most by: "
        + "; ".join(f"{words} ({code}, {share:.0%} of hours)" for code, words, share in found)
        + "."
    )


def fit_words(season: Season) -> str:
    """Shares of suitability in one line. Never raises."""
    parts = (
        (Suitability.SUITED, "suited"), (Suitability.WITH_CARE, "with care"), (Suitability.ASK_FIRST, "ask first"),
        (Suitability.HOLD, "hold"), (Suitability.NOT_RATED, "not rated"),
    )  # fmt: skip
    return ", ".join(f"{words} {season.share_of(value):.0%}" for value, words in parts)
