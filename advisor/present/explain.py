"""Decoded reports in plain words, group by group: what was printed on the left, what it says on the right."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from advisor.present.explain_words import (
    Line,
    altimeter_words,
    level_words,
    sky_lines,
    temperature_words,
    visibility_words,
    weather_words,
    wind_words,
)
from advisor.reports.types import (
    Metar,
    Remarks,
    Taf,
    TafPeriod,
    WindsAloft,
)

_CHANGE = {
    "BASE": "Forecast",
    "FM": "From then on",
    "BECMG": "Changing gradually to",
    "TEMPO": "At times (each under an hour)",
    "PROB": "Possibly",
}
_FLAGS = (
    ("no_thunder_sensor", "TSNO", "no thunderstorm sensor: silence does not mean no storm"),
    ("no_present_weather_sensor", "PWINO", "no sensor for rain, snow or fog: silence does not mean dry"),
    ("no_freezing_rain_sensor", "FZRANO", "no freezing-rain sensor: silence does not mean no ice"),
    ("maintenance_needed", "$", "the station asks for maintenance"),
    ("virga", "VIRGA", "rain that dries up before the ground; sudden gusts below it"),
    ("wind_estimated", "WND ESTMD", "the wind is estimated, not measured"),
)
_LABEL_WIDTH = 20


def explain_metar(metar: Metar) -> str:
    """One METAR in words, a line a group, plain ASCII-safe text. Never raises."""
    kind = "routine report" if metar.kind == "METAR" else "special report"
    how = ", automatic" if metar.automatic else ""
    how += ", corrected" if metar.corrected else ""
    lines: list[Line] = [(metar.wind.raw or "wind", wind_words(metar.wind))]
    lines.append((metar.visibility.raw or "visibility", visibility_words(metar.visibility)))
    lines += [(group, "runway visual range") for group in metar.runway_visual_range]
    lines += [(group, weather_words(group)) for group in metar.weather]
    lines += sky_lines(metar.sky)
    lines.append(("temperature", temperature_words(metar.temperature_c, metar.dewpoint_c)))
    lines.append(("altimeter", altimeter_words(metar.altimeter_inhg)))
    lines += [(group, "recent " + weather_words(group[2:])) for group in metar.recent_weather]
    lines += [(group, "wind shear reported") for group in metar.wind_shear]
    lines += _remark_lines(metar.remarks)
    lines += [
        (_shorten(change), "landing forecast, next two hours; not part of the observation") for change in metar.trend
    ]
    lines += _not_understood(metar.not_understood)
    head = f"{metar.station}  {kind}{how}, observed {_time(metar.observed_at)}"
    return _page(head, lines)


def _remark_lines(remarks: Remarks) -> list[Line]:
    lines: list[Line] = []
    if remarks.peak_wind_kt is not None:
        source = f"from {remarks.peak_wind_from_deg_true:03d} true{_clock(remarks.peak_wind_at)}"
        lines.append(
            (
                "PK WND",
                f"strongest gust {remarks.peak_wind_kt} kt {source}",
            )
        )
    if remarks.wind_shift_at is not None:
        front = ", a front went through" if remarks.wind_shift_front else ""
        lines.append(("WSHFT", f"the wind shifted{_clock(remarks.wind_shift_at)}{front}"))
    lines += [(label, words) for name, label, words in _FLAGS if getattr(remarks, name)]
    lines += [(_shorten(group), "lightning") for group in remarks.lightning]
    lines += [
        (_shorten(group), "thunderstorm: where it is, where it moves, or when it began and ended")
        for group in remarks.thunder_location
    ]
    lines += [(_shorten(group), "thunderstorm or towering cloud in sight") for group in remarks.cb_or_tcu]
    lines += [(_shorten(group), "funnel cloud within the hour") for group in remarks.funnel_cloud]
    least, most = remarks.visibility_min_sm, remarks.visibility_max_sm
    if least is not None and most is not None:
        lines.append(
            (
                "VIS",
                f"visibility varies from {least:.4g} to {most:.4g} SM",
            )
        )
    low, high = remarks.ceiling_min_ft_agl, remarks.ceiling_max_ft_agl
    if low is not None and high is not None:
        lines.append(("CIG", f"ceiling varies from {low:,} to {high:,} ft above the field"))
    elif low is not None:
        lines.append(("V BKN", f"a layer that is at times a ceiling: {low:,} ft above the field"))
    if remarks.sea_level_pressure_hpa is not None:
        lines.append(("SLP", f"sea-level pressure {remarks.sea_level_pressure_hpa:.1f} hPa"))
    if remarks.density_altitude_ft is not None:
        lines.append(("DENSITY ALT", f"density altitude {remarks.density_altitude_ft:,} ft"))
    if remarks.other:
        lines.append(("other remarks", " ".join(remarks.other)))
    return lines


def explain_taf(taf: Taf) -> str:
    """One forecast in words, change by change. Never raises."""
    marks = [word for word, on in (("amended", taf.amended), ("corrected", taf.corrected)) if on]
    how = "".join(f", {word}" for word in marks)
    head = (
        f"{taf.station}  aerodrome forecast{how}, issued {_time(taf.issued_at)}, "
        f"valid {_time(taf.valid_from)} to {_time(taf.valid_to)}"
    )
    lines: list[Line] = []
    if taf.nil:
        lines.append(("NIL", "no forecast was made"))
    if taf.cancelled:
        lines.append(("CNL", "the forecast is cancelled: nothing below counts"))
    for period in taf.periods:
        lines += _period_lines(period)
    for period in taf.unreliable:
        lines.append((_shorten(period.raw), "the time of this change cannot be trusted"))
    for name, values in (("TX", taf.max_temperatures), ("TN", taf.min_temperatures)):
        word = "highest" if name == "TX" else "lowest"
        lines += [(name, f"{word} temperature {value:g} C at {_time(at)}") for value, at in values]
    if taf.limits_note:
        lines.append((_shorten(taf.limits_note), "when the forecast is kept up to date"))
    lines += _not_understood(taf.not_understood)
    return _page(head, lines)


def _period_lines(period: TafPeriod) -> list[Line]:
    chance = f", probability {period.probability} %" if period.probability is not None else ""
    label = period.change if period.probability is None else f"{period.change} {period.probability}"
    span = f"{_time(period.start)} to {_time(period.end)}"
    lines: list[Line] = [(label, f"{_CHANGE.get(period.change, period.change)}{chance}, {span}:")]
    inner: list[Line] = []
    if period.wind is not None:
        inner.append((period.wind.raw or "wind", wind_words(period.wind)))
    if period.visibility is not None:
        inner.append((period.visibility.raw or "visibility", visibility_words(period.visibility)))
    inner += [(group, weather_words(group)) for group in period.weather or ()]
    if period.no_significant_weather:
        inner.append(("NSW", "the significant weather ends"))
    if period.sky is not None:
        inner += sky_lines(period.sky)
    if period.wind_shear is not None:
        shear = period.wind_shear
        top = f"{shear.from_deg_true:03d} true at {shear.speed_kt} kt, {shear.height_ft_agl:,} ft up"
        inner.append(("WS", f"wind shear: {top}"))
    inner += [(group, "icing forecast") for group in period.icing]
    inner += [(group, "turbulence forecast") for group in period.turbulence]
    if period.altimeter_inhg is not None:
        inner.append(("altimeter", f"lowest {period.altimeter_inhg:.2f} inHg"))
    inner += _not_understood(period.not_understood)
    return lines + [("  " + label, words) for label, words in inner]


def explain_aloft(aloft: WindsAloft) -> str:
    """Winds aloft over one reporting point, a line a height. Never raises."""
    head = (
        f"{aloft.station}  winds aloft, valid {_time(aloft.valid_at)}, "
        f"for use {_time(aloft.use_from)} to {_time(aloft.use_to)}"
    )
    lines = [(f"{level.height_ft_msl:,} ft MSL", level_words(level)) for level in aloft.levels]
    return _page(head, lines + _not_understood(aloft.not_understood))


def _not_understood(groups: Iterable[str]) -> list[Line]:
    return [(_shorten(group), "NOT UNDERSTOOD: read it yourself") for group in groups]


def _time(when: datetime) -> str:
    return f"{when.day} {when:%b %H:%M}Z"


def _clock(when: datetime | None) -> str:
    return "" if when is None else f" at {when:%H:%M}Z"


def _shorten(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."


def _page(head: str, lines: Iterable[Line]) -> str:
    out = [head]
    for label, words in lines:
        if len(label) > _LABEL_WIDTH:
            out.append(f"  {label}")
            label = ""
        out.append(f"  {label:<{_LABEL_WIDTH}}  {words}")
    return "\n".join(out)
