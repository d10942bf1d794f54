"""Lines every page carries, in one place: when, how old, what was not looked at, who decides."""

from __future__ import annotations

from datetime import datetime

from advisor.advice import PracticeDay
from advisor.clock import age_words, both, both_with_day, local, other_day

DECIDES = "Your instructor decides; the school's limits and local rules come before anything printed here."
DESK_DECIDES = "The duty instructor decides; the school's limits and local rules come before anything printed here."
NOT_LOOKED_AT = (
    "Not looked at: SIGMET and AIRMET, pilot reports, radar, NOTAM, flight restrictions, terrain and obstacles."
)
US_FIGURES = "Limits and figures are US practice; your authority's rules apply elsewhere."
MADE_UP = "MADE-UP DEMO: fields, reports, school and people are invented. Not for any flight."
EXTRAPOLATED = (
    "Wind at lesson height is an estimate: the law behind it is published to about 650 ft, so 1,000 ft is extrapolated."
)
EXEMPT = "A thunderstorm sensor not mentioned or a missing temperature does not lower a rating; the page says so."


def made_line(day: PracticeDay) -> str:
    """When the page was made and when it must not be used any more. Never raises."""
    return f"Made {both(day.made_at, day.zone)}, do not use after {both(day.expires_at, day.zone)}."


def source_lines(day: PracticeDay) -> list[str]:
    """Report and forecast with age and origin. Never raises."""
    source = day.station.source
    out = []
    observation = day.station.observation
    if observation is None:
        out.append("Report: none that can be used.")
    else:
        out.append(
            f"Report: {observation.station} {both(observation.observed_at, day.zone)}, "
            f"{age_words(day.station.age_min)} old. {observation.raw}"
        )
    taf = source.taf
    if taf is None:
        out.append("Forecast: none that can be used.")
    else:
        out.append(
            f"Forecast: {taf.station}, issued {both(taf.issued_at, day.zone)}, until {both_with_day(taf.valid_to, day.zone)}. "
            f"{' '.join(taf.raw.split())}"
        )
    out += [s for s in (source.observation_from, source.forecast_from) if s]
    return out


def standing_lines(day: PracticeDay, *, desk: bool = False) -> list[str]:
    """The lines of every page but its sources, in order. Never raises.

    Parameters
    ----------
    day : PracticeDay
        The page's advice.
    desk : bool
        True for the dispatch desk's page, where the duty instructor decides.
    """
    lines = [MADE_UP] if day.station.source.site.made_up else []
    lines += [f"SCHOOL LIMITS: {x}." for x in day.limits.loosened]
    lines += [
        f"{made_line(day).removesuffix('.')}, because {day.expires_because}.",
        DESK_DECIDES if desk else DECIDES,
        NOT_LOOKED_AT,
        US_FIGURES,
        EXTRAPOLATED,
        EXEMPT,
    ]
    return lines


def local_span(day: PracticeDay, start: datetime, end: datetime) -> str:
    """ "08:10 to 11:00 CDT (1310Z to 1600Z)", the day before it when it is not the page's. Never raises."""
    a, b = start.astimezone(day.zone), end.astimezone(day.zone)
    on = other_day(start, day.made_at, day.zone)
    return f"{on}{a:%H:%M} to {local(b, day.zone)} ({start:%H%M}Z to {end:%H%M}Z)"
