"""TAF text to typed periods: the header, the change groups and their elements put together.

Civil, military and ICAO forms: validity as 0918/1018, 160624 or 0909; FM, BECMG, TEMPO, INTER, PROB.
Every token is understood or listed. A change group whose time is damaged is never placed by guessing: it
goes to ``Taf.unreliable`` with the widest hours it may cover, and ``Taf.not_understood`` says from when.
Sources: the NWS/FAA key to METAR and TAF, WMO No. 306 FM 51.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from advisor.errors import DecodeError
from advisor.reports.decode_taf_changes import Group, cut
from advisor.reports.decode_taf_groups import Elements, read_elements
from advisor.reports.decode_taf_header import read_header
from advisor.reports.decode_taf_times import near
from advisor.reports.types import Sky, Taf, TafPeriod, Visibility
from advisor.wind import MISSING

_CONTROL = dict.fromkeys((*range(32), 127), " ")
#: Real forecasts have under twenty; the cap keeps the time for any text in proportion to its length.
_MOST_GROUPS = 100


def decode_taf(text: str, now: datetime) -> Taf:
    """Decode one terminal aerodrome forecast.

    Parameters
    ----------
    text : str
        One forecast, with or without the word TAF, line breaks and a closing ``=``.
    now : datetime
        Aware. Month and year are the latest that put the issue time not more than 72 hours after it.

    Returns
    -------
    Taf
        Periods in printed order. A second forecast in the same text is not decoded but listed.

    Raises
    ------
    DecodeError
        The text is no forecast: no station, no issue time or period that can be read, or hours that
        contradict each other. Nothing else is raised, whatever the text.
    """
    if now.tzinfo is None:
        raise DecodeError("The time to read the forecast by has no time zone; give it in UTC.", text)
    body, _, tail = text.partition("=")
    tokens = body.upper().translate(_CONTROL).split()
    leftover = [word for word in tail.translate(_CONTROL).split() if word != "NNNN"]
    head = read_header(tokens, text, now)
    taf = Taf(
        station=head.station,
        issued_at=head.issued_at,
        valid_from=head.valid_from,
        valid_to=head.valid_to,
        raw=text.strip(),
        amended=head.amended,
        corrected=head.corrected,
    )
    listed = [" ".join(leftover)] if leftover else []
    rest = tokens[head.next_token :]
    first = rest[0] if rest else ""
    if head.missing or first in ("NIL", "CNL"):
        gone = tokens[head.next_token - 1] if head.missing else first
        after = rest if head.missing else rest[1:]
        return replace(
            taf,
            nil=gone == "NIL",
            cancelled=gone == "CNL",
            limits_note=" ".join(after) or None,
            not_understood=tuple(listed),
        )
    groups, notes, second = cut(rest, head)
    if len(groups) > _MOST_GROUPS:
        raise DecodeError(
            f"The forecast for {head.station} has more than {_MOST_GROUPS} change groups, which none has. "
            "Fetch it again.",
            text,
        )
    if second:
        listed.append(" ".join(second))
    if any("FCST NOT AVBL" in note for note in notes) and len(groups) == 1 and not groups[0].tokens:
        return replace(taf, nil=True, limits_note="; ".join(notes), not_understood=tuple(listed))
    return _assemble(taf, groups, notes, listed)


def _assemble(taf: Taf, groups: list[Group], notes: Sequence[str], listed: list[str]) -> Taf:
    _distrust_disorder(groups)
    ends = _next_from(groups, taf.valid_to)
    periods: list[TafPeriod] = []
    unreliable: list[TafPeriod] = []
    hottest: list[tuple[float, datetime]] = []
    coldest: list[tuple[float, datetime]] = []
    parent = reached = taf.valid_from
    for group, until in zip(groups, ends, strict=True):
        elements = read_elements(group.tokens)
        for which, degrees, day, hour in elements.temperatures:
            at = near(day, hour, 0, taf.valid_from)
            if at is None:
                elements.not_understood.append(f"T{which}")
            else:
                (hottest if which == "X" else coldest).append((degrees, at))
        elements.not_understood[:0] = group.bad
        if group.start is None:
            # Groups are printed in order of time; TEMPO and PROB only within their FM.
            since = reached if group.change in ("FM", "BECMG") else parent
            unreliable.append(_period_of(group, elements, since, until))
            listed.append(
                f"{' '.join(group.raw)} (time not understood: "
                f"this forecast is unreliable from {since:%d%H%MZ} to {until:%d%H%MZ})"
            )
            continue
        if group.steers:
            parent = reached = group.start
        elif group.change == "BECMG":
            reached = max(reached, min(group.start, until))
        end = until if group.steers or group.end is None else group.end
        periods.append(_period_of(group, elements, group.start, end))
    return replace(
        taf,
        periods=tuple(periods),
        max_temperatures=tuple(hottest),
        min_temperatures=tuple(coldest),
        limits_note="; ".join(note for note in notes if note) or None,
        not_understood=tuple(listed),
        unreliable=tuple(unreliable),
    )


def _distrust_disorder(groups: list[Group]) -> None:
    """FM groups run forward. Where one steps back, it or one before it is misprinted: none is placed."""
    placed: list[Group] = []
    furthest: datetime | None = None
    for group in groups:
        if group.change != "FM" or group.start is None:
            continue
        start = group.start
        if furthest is not None and start <= furthest:
            doubtful = [group]
            while placed and placed[-1].start is not None and placed[-1].start >= start:
                doubtful.append(placed.pop())
            for each in doubtful:
                each.bad.append(each.raw[0])
                each.start = None
        else:
            placed.append(group)
            furthest = start


def _next_from(groups: Iterable[Group], valid_to: datetime) -> list[datetime]:
    """For each group the start of the next FM that can be trusted, or the end of the forecast."""
    until = valid_to
    ends: list[datetime] = []
    for group in reversed(list(groups)):
        ends.append(until)
        if group.change == "FM" and group.start is not None:
            until = group.start
    ends.reverse()
    return ends


def _period_of(group: Group, elements: Elements, start: datetime, end: datetime) -> TafPeriod:
    wind, visibility, sky, weather = elements.wind, elements.visibility, elements.sky, elements.weather
    if group.steers:
        # BASE and FM state every element: what they leave out is missing, not carried over.
        wind = MISSING if wind is None else wind
        visibility = Visibility() if visibility is None else visibility
        sky = Sky() if sky is None else sky
        weather = () if weather is None else weather
    return TafPeriod(
        change=group.change,
        start=start,
        end=end,
        raw=" ".join(group.raw),
        probability=group.probability,
        wind=wind,
        visibility=visibility,
        sky=sky,
        weather=weather,
        no_significant_weather=elements.no_significant_weather,
        wind_shear=elements.wind_shear,
        altimeter_inhg=elements.altimeter_inhg,
        icing=tuple(elements.icing),
        turbulence=tuple(elements.turbulence),
        not_understood=tuple(elements.not_understood),
    )
