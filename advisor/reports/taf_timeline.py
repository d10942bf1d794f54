"""A forecast laid out in time: what prevails, what it is becoming, and what is possible besides.

Rules (NWS/FAA key to METAR and TAF; AIM 7-1; NWS training on TAF):

- BASE or FM prevails, every element of it, until the next FM.
- BECMG: the old values prevail to the END of the transition; over the transition the new values are a
  ``becoming`` layer; from its end they prevail, element by element, until the next FM.
- A BECMG printed before an FM and starting after it is out of order: ``possible`` for as long as that FM prevails.
- TEMPO, INTER and PROB are ``possible`` layers. What they do not restate is taken from what prevails in
  each part of their hours. A wind restated without G has no gust; NSW and CAVOK clear the weather.
- Wind shear persists until the next FM and is no part of a ``possible`` layer unless printed in it.
- A change group whose time is damaged leaves its widest hours without a known prevailing wind, visibility
  or sky; what was forecast and what the damaged group prints are both ``possible`` there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from advisor.errors import TimeError
from advisor.records import dataclass
from advisor.reports.types import Sky, Taf, TafPeriod, Visibility, WindShear
from advisor.wind import MISSING, Wind, WindState

PREVAILING = "prevailing"
BECOMING = "becoming"
POSSIBLE = "possible"
_ORDER = {PREVAILING: 0, BECOMING: 1, POSSIBLE: 2}


@dataclass(frozen=True, slots=True)
class Effective:
    """Weather of one layer over one stretch of time, with everything inherited filled in.

    ``start`` and ``end`` are aware UTC, end not included. ``layer`` is prevailing, becoming or possible;
    ``change`` is the change word as in ``TafPeriod``. ``group_raw`` is the text of the change group the
    segment came from, ``base_raw`` that of the BASE or FM group underneath. The ``*_group`` fields name the
    group that printed that element, to be cited. ``reliable`` is False where a group with a damaged time
    may apply.
    """

    start: datetime
    end: datetime
    layer: str
    change: str
    probability: int | None
    wind: Wind
    visibility: Visibility
    sky: Sky
    weather: tuple[str, ...]
    wind_shear: WindShear | None
    group_raw: str
    base_raw: str
    wind_group: str
    visibility_group: str
    sky_group: str
    weather_group: str
    not_understood: tuple[str, ...] = ()
    reliable: bool = True


@dataclass(frozen=True, slots=True)
class TafState:
    """The forecast for one moment. ``prevailing`` is None outside its validity or when there is none."""

    time: datetime
    prevailing: Effective | None
    becoming: tuple[Effective, ...] = ()
    possible: tuple[Effective, ...] = ()


def taf_at(taf: Taf, time: datetime) -> TafState:
    """Layers of the forecast in force at one moment.

    Parameters
    ----------
    taf : Taf
        A decoded forecast.
    time : datetime
        Aware.

    Returns
    -------
    TafState

    Raises
    ------
    TimeError
        ``time`` has no time zone.
    """
    if time.tzinfo is None:
        raise TimeError("A forecast is asked for a time without a time zone; give it in UTC.")
    layers: dict[str, list[Effective]] = {PREVAILING: [], BECOMING: [], POSSIBLE: []}
    for segment in timeline(taf):
        if segment.start <= time < segment.end:
            layers[segment.layer].append(segment)
    prevailing = layers[PREVAILING]
    return TafState(time, prevailing[0] if prevailing else None, tuple(layers[BECOMING]), tuple(layers[POSSIBLE]))


def timeline(taf: Taf) -> tuple[Effective, ...]:
    """Every segment of a forecast, ordered by start, then prevailing, becoming, possible.

    Parameters
    ----------
    taf : Taf
        A decoded forecast. Cancelled and empty ones have no segments.

    Returns
    -------
    tuple of Effective
        Prevailing segments cover the validity without gap or overlap. Never raises.
    """
    if taf.cancelled or taf.nil or not taf.periods:
        return ()
    homes = _homes(taf.periods)
    spans = _prevailing(taf, homes)
    out: list[Effective] = list(spans)
    for period, home in zip(taf.periods, homes, strict=True):
        if period.change == "BECMG" and period.start >= home.end:
            # printed before an FM that had replaced its group: it may warn, but it may not better that FM
            bases = (base for base in taf.periods if base.change in ("BASE", "FM"))
            until = next((base.end for base in bases if base.start <= period.start < base.end), period.end)
            out.extend(_overlay(spans, period, period.start, max(until, period.end), POSSIBLE))
        elif period.change == "BECMG":
            out.extend(_overlay(spans, period, period.start, min(period.end, home.end), BECOMING))
        elif period.change in ("TEMPO", "PROB"):
            out.extend(_overlay(spans, period, period.start, period.end, POSSIBLE))
    for damaged in taf.unreliable:
        out = _doubted(out, damaged)
        out.extend(
            replace(segment, reliable=False)
            for segment in _overlay(spans, damaged, damaged.start, damaged.end, POSSIBLE)
        )
    out.sort(key=lambda segment: (segment.start, _ORDER[segment.layer]))
    return tuple(out)


def _homes(periods: Sequence[TafPeriod]) -> list[TafPeriod]:
    """For each period the BASE or FM it belongs to: the one printed before it, or in force when it starts."""
    bases = [period for period in periods if period.change in ("BASE", "FM")]
    homes: list[TafPeriod] = []
    home = bases[0]
    for period in periods:
        if period.change in ("BASE", "FM"):
            home = period
        if period.start < home.start:
            earlier = [base for base in bases if base.start <= period.start]
            homes.append(earlier[-1] if earlier else bases[0])
        else:
            homes.append(home)
    return homes


def _prevailing(taf: Taf, homes: Sequence[TafPeriod]) -> list[Effective]:
    spans: list[Effective] = []
    for base in taf.periods:
        if base.change not in ("BASE", "FM") or base.end <= base.start:
            continue
        current = _effective_base(base)
        changes = [
            period
            for period, home in zip(taf.periods, homes, strict=True)
            if home is base and period.change == "BECMG" and period.end < base.end
        ]
        changes.sort(key=lambda period: period.end)  # stable: equal ends keep the printed order
        for change in changes:
            at = max(change.end, current.start)
            after = _merged(current, change, at, base.end, PREVAILING)
            if at > current.start:
                spans.append(replace(current, end=at))
            current = after
        spans.append(current)
    return spans


def _effective_base(base: TafPeriod) -> Effective:
    raw = base.raw
    return Effective(
        start=base.start,
        end=base.end,
        layer=PREVAILING,
        change=base.change,
        probability=None,
        wind=MISSING if base.wind is None else base.wind,
        visibility=Visibility() if base.visibility is None else base.visibility,
        sky=Sky() if base.sky is None else base.sky,
        weather=base.weather or (),
        wind_shear=base.wind_shear,
        group_raw=raw,
        base_raw=raw,
        wind_group=raw,
        visibility_group=raw,
        sky_group=raw,
        weather_group=raw,
        not_understood=base.not_understood,
    )


def _merged(under: Effective, period: TafPeriod, start: datetime, end: datetime, layer: str) -> Effective:
    """``period`` laid over ``under``, element by element."""
    raw = period.raw
    wind, wind_group = (under.wind, under.wind_group) if period.wind is None else (period.wind, raw)
    visibility, visibility_group = under.visibility, under.visibility_group
    if period.visibility is not None:
        visibility, visibility_group = period.visibility, raw
    sky, sky_group = (under.sky, under.sky_group) if period.sky is None else (period.sky, raw)
    weather, weather_group = under.weather, under.weather_group
    if period.weather is not None:
        weather, weather_group = period.weather, raw
    elif period.no_significant_weather or (period.visibility is not None and visibility.raw == "CAVOK"):
        weather, weather_group = (), raw
    shear = period.wind_shear
    if shear is None and layer != POSSIBLE:
        shear = under.wind_shear
    unread = period.not_understood
    if layer != POSSIBLE:
        unread = (*under.not_understood, *unread)
    return Effective(
        start=start,
        end=end,
        layer=layer,
        change=period.change,
        probability=period.probability,
        wind=wind,
        visibility=visibility,
        sky=sky,
        weather=weather,
        wind_shear=shear,
        group_raw=raw,
        base_raw=under.base_raw,
        wind_group=wind_group,
        visibility_group=visibility_group,
        sky_group=sky_group,
        weather_group=weather_group,
        not_understood=unread,
    )


def _overlay(
    spans: Sequence[Effective], period: TafPeriod, start: datetime, end: datetime, layer: str
) -> list[Effective]:
    """``period`` over each prevailing span it meets between ``start`` and ``end``."""
    out: list[Effective] = []
    for span in spans:
        first, last = max(span.start, start), min(span.end, end)
        if first < last:
            out.append(_merged(span, period, first, last, layer))
    return out


def _doubted(segments: Sequence[Effective], damaged: TafPeriod) -> list[Effective]:
    """Prevailing segments under a damaged FM or BECMG become unknown there, their old values possible."""
    if damaged.change not in ("FM", "BECMG", "BASE"):
        return list(segments)
    out: list[Effective] = []
    for segment in segments:
        first, last = max(segment.start, damaged.start), min(segment.end, damaged.end)
        if segment.layer != PREVAILING or first >= last:
            out.append(segment)
            continue
        if segment.start < first:
            out.append(replace(segment, end=first))
        out.append(_unknown(segment, damaged, first, last))
        if segment.reliable:  # a second damaged group must not copy the unknown
            out.append(replace(segment, start=first, end=last, layer=POSSIBLE, reliable=False))
        if last < segment.end:
            out.append(replace(segment, start=last))
    return out


def _unknown(segment: Effective, damaged: TafPeriod, start: datetime, end: datetime) -> Effective:
    raw = damaged.raw
    return replace(
        segment,
        start=start,
        end=end,
        wind=Wind(WindState.NOT_UNDERSTOOD, raw=raw[:60]),
        visibility=Visibility(raw=raw[:60]),
        sky=Sky(),
        group_raw=raw,
        wind_group=raw,
        visibility_group=raw,
        sky_group=raw,
        not_understood=(*segment.not_understood, raw),
        reliable=False,
    )
