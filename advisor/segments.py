"""What a report or a forecast group says, as one segment of time with plain values.

A segment is the row before it is cut into cells. Values are copied out of the typed reports once, with the
state of each kept, so that a table of any length can be built from lists.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.types import CeilingState, Metar, Sky, Visibility
from advisor.table import Layer, State, WindKind
from advisor.units import visibility_words
from advisor.weather import Wx, weather_flags
from advisor.wind import Wind, WindState

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
NAN = float("nan")
INF = float("inf")
#: A figure printed "at least" lies above its number, one printed "less than" below it, by this much.
BOUND_STEP_SM = 0.01

#: The words and times that frame a change of a trend.
_TREND_FRAME = pattern(r"TEMPO|BECMG|INTER|PROB\d\d|(?:FM|TL|AT)\d{4,6}Z?|\d{4}/\d{4}", re.ASCII)

_KIND = {
    WindState.CALM: WindKind.CALM,
    WindState.STEADY: WindKind.STEADY,
    WindState.VARIABLE: WindKind.VARIABLE,
    WindState.MISSING: WindKind.MISSING,
    WindState.NOT_UNDERSTOOD: WindKind.NOT_UNDERSTOOD,
}


def to_minutes(when: datetime) -> int:
    """Whole UTC minutes since 1970 of an aware time."""
    return int(when.timestamp() // 60)


@lru_cache(maxsize=8192)  # the same few hundred times stand in all fields of a posting
def from_minutes(minutes: int) -> datetime:
    """Aware UTC time of whole minutes since 1970."""
    return _EPOCH + timedelta(minutes=int(minutes))


@dataclass(slots=True)
class Segment:
    """One group in force from ``start_min`` to ``end_min`` (UTC minutes since 1970)."""

    start_min: int
    end_min: int
    layer: Layer
    group: str
    wind_kind: int = WindKind.MISSING
    gust_state: int = State.NONE
    mean_kt: float = NAN
    gust_kt: float = NAN
    from_deg_true: float = NAN
    arc_start_deg: float = NAN
    arc_width_deg: float = 0.0
    visibility_sm: float = NAN
    ceiling_ft: float = NAN
    weather: int = 0
    temperature_c: float = NAN
    dewpoint_c: float = NAN
    altimeter_inhg: float = NAN
    carried: bool = False
    shear: bool = False
    peak_remark_kt: float = NAN
    wind_shift: bool = False
    wind_estimated: bool = False
    no_thunder_sensor: bool = False
    automatic: bool = False
    maintenance: bool = False
    undecoded: bool = False
    disagrees: bool = False


#: Fields of a segment that become columns of the same name.
SEGMENT_COLUMNS = tuple(name for name in Segment.__slots__ if name not in ("start_min", "end_min", "layer", "group"))


def wind_values(wind: Wind) -> dict[str, float | int]:
    """Wind columns of one group."""
    out: dict[str, float | int] = {"wind_kind": int(_KIND[wind.state])}
    if wind.speed_kt is None:
        # From nowhere known: no wind to plan by, but a stop for its strength holds from any direction.
        if wind.undirected_kt is not None:
            out["mean_kt"] = float(wind.undirected_kt)
        if wind.undirected_gust_kt is not None:
            out["gust_kt"], out["gust_state"] = float(wind.undirected_gust_kt), int(State.VALUE)
        return out
    out["mean_kt"] = float(wind.speed_kt)
    if wind.gust_kt is not None:
        out["gust_kt"] = float(wind.gust_kt)
        out["gust_state"] = int(State.VALUE)
    elif wind.gust_missing:
        out["gust_state"] = int(State.MISSING)
    if wind.state is WindState.VARIABLE or wind.state is WindState.CALM:
        out["arc_start_deg"], out["arc_width_deg"] = 0.0, 360.0
    else:
        out["from_deg_true"] = float(wind.from_deg_true or 0)
        swing = wind.swing_deg
        if swing and wind.varying_from_deg is not None:
            out["arc_start_deg"], out["arc_width_deg"] = float(wind.varying_from_deg % 360), float(swing)
        else:
            out["arc_start_deg"] = float((wind.from_deg_true or 0) % 360)
    return out


def visibility_value(visibility: Visibility | None) -> float:
    """Statute miles for comparing with a limit; NaN when missing."""
    if visibility is None or visibility.miles is None:
        return NAN
    if visibility.bound == "at_least":
        return visibility.miles + BOUND_STEP_SM
    if visibility.bound == "less_than":
        return max(0.0, visibility.miles - BOUND_STEP_SM)
    return float(visibility.miles)


def visibility_said(sm: float, limits: Sequence[float]) -> str:
    """A visibility of the table in words: P6SM and M1/4SM stand a step beside their figure, and nobody reported that.

    Parameters
    ----------
    sm : float
        As :func:`visibility_value` gives it.
    limits : sequence of float
        Limits it is compared with. [SM]

    Returns
    -------
    str
        ``more than 6``, ``less than 0.25``, ``2.98``; without its unit. Never raises.
    """
    for words, step in (("more than ", BOUND_STEP_SM), ("less than ", -BOUND_STEP_SM)):
        sixteenths = (sm - step) * 16.0
        if abs(sixteenths - round(sixteenths)) < 1e-6:
            return words + visibility_words(round(sixteenths) / 16.0)
    return visibility_words(sm, limits)


def ceiling_value(sky: Sky | None) -> float:
    """Feet above the field; +inf when reported and none, NaN when unknown."""
    if sky is None or sky.ceiling_state is CeilingState.UNKNOWN:
        return NAN
    if sky.ceiling_state is CeilingState.NONE:
        return INF
    return float(sky.ceiling_ft_agl) if sky.ceiling_ft_agl is not None else NAN


def _lowest(first: float, second: float | None) -> float:
    return first if second is None or first != first else min(first, float(second))


def observation_segment(metar: Metar, end_min: int, peak_within_min: float) -> Segment:
    """The segment of one observation, from its own time to ``end_min``.

    Variable visibility and ceiling remarks lower the value; a peak-wind remark counts when it is no older
    than ``peak_within_min`` at the time of the report.
    """
    remarks = metar.remarks
    peak = NAN
    if remarks.peak_wind_kt is not None:
        at = remarks.peak_wind_at or metar.observed_at
        if timedelta(0) <= metar.observed_at - at <= timedelta(minutes=peak_within_min):
            peak = float(remarks.peak_wind_kt)
    return Segment(
        start_min=to_minutes(metar.observed_at),
        end_min=end_min,
        layer=Layer.PERSISTING,
        group=metar.raw,
        visibility_sm=_lowest(visibility_value(metar.visibility), remarks.visibility_min_sm),
        ceiling_ft=_lowest(ceiling_value(metar.sky), remarks.ceiling_min_ft_agl),
        weather=int(weather_flags(metar.weather, metar.sky, remarks, metar.recent_weather)),
        temperature_c=NAN if metar.temperature_c is None else metar.temperature_c,
        dewpoint_c=NAN if metar.dewpoint_c is None else metar.dewpoint_c,
        altimeter_inhg=NAN if metar.altimeter_inhg is None else metar.altimeter_inhg,
        shear=bool(metar.wind_shear),
        peak_remark_kt=peak,
        wind_shift=remarks.wind_shift_at is not None,
        wind_estimated=remarks.wind_estimated,
        no_thunder_sensor=remarks.no_thunder_sensor,
        automatic=metar.automatic,
        maintenance=remarks.maintenance_needed,
        undecoded=bool(metar.not_understood),
        **wind_values(metar.wind),  # type: ignore[arg-type]
    )


def trend_segments(metar: Metar, observed: Segment, end_min: int) -> list[Segment]:
    """The landing forecast that some countries print after a report, each change as *possible* to ``end_min``.

    What a change does not restate is the report's, as in a forecast; a wind restated without G has no gust. Its own
    times (FM, TL, AT) are not used: the change may come at any time the report stands for, and never betters it.

    Parameters
    ----------
    metar : Metar
        The report; NOSIG says no change and gives no segment.
    observed : Segment
        The report's own segment.
    end_min : int
        To when the trend counts, UTC minutes.

    Returns
    -------
    list of Segment
        Never raises.
    """
    out = []
    for change in metar.trend:
        words = [w for w in change.split() if not _TREND_FRAME.fullmatch(w)]
        if not words or change.startswith("NOSIG"):  # some print the runway's state after it
            continue
        from advisor.reports.decode_taf_groups import read_elements  # few stations print a trend

        found = read_elements([w for w in words if w != "NSW"])
        inherits = found.weather is None and "NSW" not in words
        out.append(
            Segment(
                start_min=observed.start_min,
                end_min=end_min,
                layer=Layer.POSSIBLE,
                group=change,
                visibility_sm=observed.visibility_sm
                if found.visibility is None
                else visibility_value(found.visibility),
                ceiling_ft=observed.ceiling_ft if found.sky is None else ceiling_value(found.sky),
                weather=int(weather_flags(metar.weather if inherits else found.weather or (), found.sky)),
                temperature_c=observed.temperature_c,
                dewpoint_c=observed.dewpoint_c,
                altimeter_inhg=observed.altimeter_inhg,
                carried=True,
                shear=found.wind_shear is not None,
                undecoded=bool(found.not_understood),
                **wind_values(metar.wind if found.wind is None else found.wind),  # type: ignore[arg-type]
            )
        )
    return out


def disagreement(observed: Segment, forecast: Segment, fixed: dict[str, float]) -> bool:
    """True when a report and the forecast for the same time tell two stories.

    Mean or peak apart by ``disagree_speed_kt`` / ``disagree_gust_kt``, direction by ``disagree_direction_deg``
    with either mean at ``disagree_direction_wind_kt`` or more (the amendment criteria of US forecasts), or
    weather in the one that stops lessons and is not in the other.
    """
    if observed.mean_kt == observed.mean_kt and forecast.mean_kt == forecast.mean_kt:
        if abs(observed.mean_kt - forecast.mean_kt) >= fixed["disagree_speed_kt"]:
            return True
        peaks = [s.gust_kt if s.gust_kt == s.gust_kt else s.mean_kt for s in (observed, forecast)]
        if abs(peaks[0] - peaks[1]) >= fixed["disagree_gust_kt"]:
            return True
        both_from = (observed.from_deg_true, forecast.from_deg_true)
        if all(d == d for d in both_from):
            apart = abs((both_from[0] - both_from[1] + 180.0) % 360.0 - 180.0)
            strong = max(observed.mean_kt, forecast.mean_kt) >= fixed["disagree_direction_wind_kt"]
            if strong and apart >= fixed["disagree_direction_deg"]:
                return True
    storms = int(Wx.THUNDER | Wx.FREEZING | Wx.SQUALL | Wx.FUNNEL)
    return bool(observed.weather & storms) and not forecast.weather & storms
