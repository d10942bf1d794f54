"""Winds and runways of ``advisor whatif`` as typed: read, checked, taken up to lesson height, put in words."""

from __future__ import annotations

import re

import numpy as np

from advisor.aloft import AirClass, height_wind
from advisor.directions import bearing
from advisor.errors import GeometryError
from advisor.flight.demand import WindRange
from advisor.table import State, Table, WindKind

_WIND = re.compile(
    r"(?P<dir>\d{3}|VRB)(?P<to>-\d{3})?/?(?P<mean>\d{1,3})(?P<high>-\d{1,3})?(?:G(?P<gust>\d{1,3}))?(?:KT)?",
)
_SWING = re.compile(r"(\d{3})V(\d{3})")
_VEER = re.compile(r"(-?\d{1,3})(?:(?:-|to)(-?\d{1,3}))?")

#: Direction (None when variable or calm), mean, peak, swing.
Surface = tuple[float | None, float, float, tuple[float, float] | None]


def parse_wind(text: str) -> Surface:
    """``250/15G22``, ``25015G22KT``, ``250/15 220V280``, ``VRB/05`` or ``calm``: direction, mean, peak, swing.

    Raises
    ------
    GeometryError
        With the forms that are understood.
    """
    first, _, rest = " ".join(text.upper().split()).partition(" ")
    if first in ("CALM", "00000KT", "000/00", "00000") and not rest:
        return None, 0.0, 0.0, None
    found, swing = _WIND.fullmatch(first), _SWING.fullmatch(rest)
    if found is None or found["to"] or found["high"] or (rest and swing is None):
        raise GeometryError(
            f"--wind {text!r} is not understood. Write degrees true and knots: 250/15, 250/15G22, VRB/05 or calm."
        )
    mean = float(found["mean"])
    peak = mean if found["gust"] is None else float(found["gust"])
    direction = None if found["dir"] == "VRB" else float(found["dir"])
    arc = None if swing is None else (float(swing[1]), float(swing[2]))
    if peak > 150.0:
        raise GeometryError(f"--wind {text!r} is beyond any briefing: give at most 150 kt.")
    if peak < mean or max(direction or 0.0, *(arc or (0.0,))) > 360.0:
        raise GeometryError(
            f"--wind {text!r} contradicts itself: a gust is not below the mean, and a direction not above 360."
        )
    return direction, mean, peak, arc


def parse_height_wind(text: str) -> WindRange:
    """``260/22``, ``260/18-24``, ``250-270/18-24`` or ``VRB/10``: wind at lesson height.

    Raises
    ------
    GeometryError
        With the forms that are understood.
    """
    found = _WIND.fullmatch(text.strip().upper())
    if found is None:
        raise GeometryError(
            f"--wind-at-height {text!r} is not understood. Write 260/22, 260/18-24 or 250-270/18-24 (degrees true, kt)."
        )
    low = float(found["mean"])
    high = float((found["high"] or found["gust"] or found["mean"]).lstrip("-"))
    if found["dir"] == "VRB":
        return WindRange(low, high, 0.0, 360.0)
    start = float(found["dir"])
    stop = float(found["to"].lstrip("-")) if found["to"] else start
    if max(start, stop) > 360.0:
        raise GeometryError(f"--wind-at-height {text!r}: a direction is not above 360 degrees.")
    return WindRange(low, high, start % 360.0, (stop - start) % 360.0)


def estimate_at_height(surface: Surface, air: str, veer: str | None, south: bool) -> tuple[WindRange, list[str]]:
    """Wind at lesson height from the wind at the field, as every page estimates it.

    Raises
    ------
    GeometryError
        For a veer that is not understood.
    """
    direction, mean, peak, swing = surface
    kind = WindKind.CALM if peak == 0.0 else WindKind.VARIABLE if direction is None else WindKind.STEADY
    gusty = peak > mean
    low_cloud = 3000.0 if air == "overcast" else np.inf  # any height below that of the overcast row
    row = Table(
        1,
        wind_kind=int(kind),
        mean_kt=mean,
        gust_kt=peak if gusty else np.nan,
        gust_state=int(State.VALUE if gusty else State.NONE),
        ceiling_ft=low_cloud,
        dark=air == "stable",
        northern=not south,
    )
    estimate = height_wind(row)
    low, high = float(estimate.low_kt[0]), float(estimate.high_kt[0])
    turns = float(estimate.veer_low_deg[0]), float(estimate.veer_high_deg[0])
    if veer is not None:
        match = _VEER.fullmatch(veer.strip())
        if match is None:
            raise GeometryError(f"--veer {veer!r} is not understood. Write degrees clockwise, such as 15 or 0-20.")
        turns = float(match[1]), float(match[2] if match[2] is not None else match[1])
        if turns[0] > turns[1] or max(abs(t) for t in turns) > 180.0:
            raise GeometryError(f"--veer {veer!r}: give the smaller turn first, within 180 degrees.")
    words = [
        f"Wind at height estimated from the field's ({AirClass(int(estimate.air_class[0])).name.lower()} air): at"
        " least the mean, at most a power-law band or the gust; the law is published to about 650 ft, so 1,000 ft"
        " is extrapolated.",
    ]
    if direction is None:
        return WindRange(low, high, 0.0, 360.0), words
    start, stop = swing if swing is not None else (direction, direction)
    width = (stop - start) % 360.0 + turns[1] - turns[0]
    words.append(f"The wind turns {turns[0]:g} to {turns[1]:g} degrees clockwise from the field to lesson height.")
    return WindRange(low, high, (start + turns[0]) % 360.0, min(width, 360.0)), words


def parse_runway(text: str, variation_deg: float | None) -> tuple[float, list[str]]:
    """``22``, ``22L`` (magnetic, tens of degrees) or ``223`` (degrees true) as a true direction.

    Raises
    ------
    GeometryError
        When it is neither.
    """
    name = text.strip().upper()
    if re.fullmatch(r"\d{3}", name) and 0 <= int(name) <= 360:
        return float(name) % 360.0, []
    end = re.fullmatch(r"(0?[1-9]|[12]\d|3[0-6])[LCR]?", name)
    if end is None:
        raise GeometryError(f"--runway {text!r} is no runway. Write an end such as 22, or 223 for degrees true.")
    magnetic = int(end[1]) * 10.0
    if variation_deg is None:
        return magnetic % 360.0, [
            f"Runway {name} taken as {bearing(magnetic)} degrees true: the number is magnetic and rounded to 10 degrees,"
            " and no --variation was given."
        ]
    true = (magnetic + variation_deg) % 360.0
    return true, [f"Runway {name} taken as {bearing(magnetic)} magnetic, {bearing(true)} true: the number is rounded."]


def surface_words(surface: Surface) -> str:
    """A wind at the field in words."""
    direction, mean, peak, swing = surface
    if peak == 0.0:
        return "calm"
    words = f"{'variable' if direction is None else f'from {bearing(direction)} true'} {mean:.0f} kt"
    if peak > mean:
        words += f", gusts {peak:.0f} kt"
    return words + (f", swinging {bearing(swing[0])} to {bearing(swing[1])}" if swing is not None else "")


def height_words(wind: WindRange) -> str:
    """A range of wind at height in words."""
    speed = f"{wind.low_kt:.0f} kt" if wind.low_kt == wind.high_kt else f"{wind.low_kt:.0f} to {wind.high_kt:.0f} kt"
    if not wind.directed:
        return f"{speed} from any direction"
    last = (wind.from_start_deg_true + wind.width_deg) % 360.0
    if wind.width_deg < 0.5:
        return f"{speed} from {bearing(wind.from_start_deg_true)} true"
    return f"{speed} from {bearing(wind.from_start_deg_true)} to {bearing(last)} true"
