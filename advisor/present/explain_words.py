"""Words of the groups a decoded report is made of: wind, visibility, weather, sky, temperature, pressure."""

from __future__ import annotations

from advisor.reports.types import AloftLevel, CeilingState, Sky, SkyLayer, Visibility
from advisor.wind import Wind, WindState

_COVER = {
    "FEW": "few clouds (1-2 eighths)",
    "SCT": "scattered cloud (3-4 eighths)",
    "BKN": "broken cloud (5-7 eighths)",
    "OVC": "overcast (8 eighths)",
    "VV": "sky hidden; vertical visibility",
    "///": "cloud of unknown amount",
}
_TYPE = {"CB": ", cumulonimbus (thunderstorm cloud)", "TCU": ", towering cumulus"}
_CLEAR = {
    "CLR": "no cloud detected below 12,000 ft (automatic station)",
    "SKC": "sky clear",
    "NSC": "no significant cloud (none below 5,000 ft, no thunderstorm cloud); higher cloud may be there",
    "NCD": "no cloud detected (automatic station)",
    "CAVOK": "no cloud below 5,000 ft, no thunderstorm cloud, no significant weather",
}
_WEATHER = {
    "MI": "shallow",
    "PR": "partial",
    "BC": "patches of",
    "DR": "low drifting",
    "BL": "blowing",
    "SH": "showers of",
    "TS": "thunderstorm with",
    "FZ": "freezing",
    "DZ": "drizzle",
    "RA": "rain",
    "SN": "snow",
    "SG": "snow grains",
    "IC": "ice crystals",
    "PL": "ice pellets",
    "GR": "hail",
    "GS": "small hail",
    "UP": "unknown precipitation",
    "BR": "mist",
    "FG": "fog",
    "FU": "smoke",
    "VA": "volcanic ash",
    "DU": "dust",
    "SA": "sand",
    "HZ": "haze",
    "PY": "spray",
    "PO": "dust whirls",
    "SQ": "squalls",
    "FC": "funnel cloud",
    "SS": "sandstorm",
    "DS": "duststorm",
}
_DESCRIPTORS = frozenset({"MI", "PR", "BC", "DR", "BL", "SH", "TS", "FZ"})
#: A label as printed and the words for it.
Line = tuple[str, str]


def wind_words(wind: Wind) -> str:
    """One wind group in words. Never raises."""
    if wind.state is WindState.NOT_UNDERSTOOD:
        return "wind not understood; no wind is taken from it"
    if wind.undirected_kt is not None:
        gusts = "" if wind.undirected_gust_kt is None else f", gusts to {wind.undirected_gust_kt} kt"
        return f"wind {wind.undirected_kt} kt{gusts}, its direction missing: no wind to plan by"
    if wind.state is WindState.MISSING:
        return "wind missing: not reported, which is not calm"
    if wind.state is WindState.CALM:
        return "calm"
    where = (
        "wind variable in direction"
        if wind.state is WindState.VARIABLE
        else (f"wind from {wind.from_deg_true:03d} true")
    )
    text = f"{where} at {_bounded(wind.speed_kt, wind.speed_bound)} kt"
    if wind.gust_kt is not None:
        text += f", gusts to {_bounded(wind.gust_kt, wind.gust_bound)} kt"
    elif wind.gust_missing:
        text += ", gust printed as missing"
    if wind.varying_from_deg is not None and wind.varying_to_deg is not None:
        text += f", swinging from {wind.varying_from_deg:03d} to {wind.varying_to_deg:03d} true"
    return text


def _bounded(value: int | None, bound: str | None) -> str:
    return f"{value} or more" if bound == "at_least" else str(value)


def visibility_words(visibility: Visibility) -> str:
    """One visibility group in words, statute miles. Never raises."""
    if visibility.miles is None:
        if visibility.raw.strip("/SMNDV"):
            return "visibility not understood"
        return "visibility missing: not reported"
    miles = visibility.miles
    number = f"{miles:.2f}".rstrip("0").rstrip(".") if miles < 3 else f"{miles:.1f}".removesuffix(".0")
    bound = {"at_least": "or more", "less_than": None}.get(visibility.bound or "", "")
    text = f"less than {number} SM" if bound is None else f"{number} SM {bound}".rstrip()
    return f"visibility {text}"


def weather_words(group: str) -> str:
    """One present-weather group in words: ``+TSRA`` is "heavy thunderstorm with rain". Never raises."""
    body = group.lstrip("+-")
    strength = {"+": "heavy ", "-": "light "}.get(group[:1], "")
    nearby = body.startswith("VC")
    if nearby:
        body = body[2:].lstrip("+-")
    pairs = [body[i : i + 2] for i in range(0, len(body), 2)]
    words = [_WEATHER.get(pair, pair) for pair in pairs]
    if pairs and pairs[-1] in _DESCRIPTORS:
        words[-1] = {"TS": "thunderstorm", "SH": "showers"}.get(pairs[-1], words[-1])
    if "+FC" in group:
        strength, words = "", ["tornado or waterspout"]
    joined: list[str] = []
    for i, word in enumerate(words):
        if i and pairs[i - 1] not in _DESCRIPTORS:
            joined.append("and")
        joined.append(word)
    return strength + " ".join(joined) + (" nearby (within 5 to 10 miles, not at the field)" if nearby else "")


def sky_lines(sky: Sky) -> list[Line]:
    """Clear-sky word, layers and the ceiling they make. Never raises."""
    lines: list[Line] = []
    if sky.token is not None:
        lines.append((sky.token, _CLEAR.get(sky.token, sky.token)))
    lines += [_layer_line(layer) for layer in sky.layers]
    if sky.ceiling_state is CeilingState.AT:
        lines.append(("ceiling", f"{sky.ceiling_ft_agl:,} ft above the field"))
    elif sky.ceiling_state is CeilingState.NONE:
        lines.append(("ceiling", "none: no broken or overcast layer reported"))
    else:
        lines.append(("ceiling", "unknown: the sky was not reported or not understood, which is not clear"))
    return lines


def _layer_line(layer: SkyLayer) -> Line:
    base = "///" if layer.base_ft_agl is None else f"{layer.base_ft_agl // 100:03d}"
    height = "height not reported" if layer.base_ft_agl is None else f"{layer.base_ft_agl:,} ft above the field"
    label = f"{layer.cover}{base}{layer.cloud_type or ''}"
    return label, f"{_COVER.get(layer.cover, layer.cover)}, {height}{_TYPE.get(layer.cloud_type or '', '')}"


def temperature_words(temperature_c: float | None, dewpoint_c: float | None) -> str:
    """Temperature, dew point and their spread. Never raises."""
    if temperature_c is None and dewpoint_c is None:
        return "temperature and dew point missing"
    shown = "missing" if temperature_c is None else f"{temperature_c:g} C"
    dew = "missing" if dewpoint_c is None else f"{dewpoint_c:g} C"
    text = f"{shown}, dew point {dew}"
    if temperature_c is not None and dewpoint_c is not None:
        text += f", spread {temperature_c - dewpoint_c:.1f} C"
    return text


def altimeter_words(inches: float | None) -> str:
    """Altimeter setting. Never raises."""
    return "missing" if inches is None else f"{inches:.2f} inHg"


def level_words(level: AloftLevel) -> str:
    """Wind and temperature of one height of winds aloft. Never raises."""
    if level.light_and_variable:
        text = "light and variable, under 5 kt"
    elif level.speed_kt is None or level.from_deg_true is None:
        text = "no forecast"
    else:
        text = f"from {level.from_deg_true:03d} true at {_bounded(level.speed_kt, level.speed_bound)} kt"
    return text if level.temperature_c is None else f"{text}, {level.temperature_c:g} C"
