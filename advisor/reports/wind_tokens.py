"""Grammar of the wind groups shared by the METAR and TAF decoders: ``24015G25KT`` and ``210V270``.

As in ``tokens``, patterns are anchored and hold no nested quantifier, nothing raises, and a group that leaves
its grammar is not understood, never guessed. Sources: those of ``tokens``.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from advisor.patterns import pattern
from advisor.reports.tokens import AT_LEAST, LONGEST_TOKEN
from advisor.wind import CALM, MISSING, Wind, WindState

# units.py holds the same constants but imports numpy, which a single decode must not wait for.
_KT_PER = {"KT": 1.0, "KTS": 1.0, "MPS": 3600.0 / 1852.0, "KMH": 1000.0 / 1852.0}
#: Strongest wind taken at face value, kt; above it the group is taken for a misprint.
MAX_WIND_KT = 199
#: P means "more than the code can hold": P49MPS, P99KT; with a small figure it is a slip.
LEAST_P = 49

_WIND = pattern(r"(\d{3}|VRB|///)(P?\d{2,3}|///?)(?:G(P?\d{2,3}|///?))?(KTS?|MPS|KMH)", re.ASCII)
# Anything a reader would take for an attempt at a wind group.
_WIND_LIKE = pattern(
    r"[A-Z0-9/.]*[0-9/](?:KTS?|MPS|KMH|MPH)|(?:VRB|\d{3})\d\d(?:K[A-Z]?|T[A-Z]?)"
    r"|(?:VRB|\d{3})\d{2,3}G\d{2,3}[A-Z]{0,3}|G\d{2}(?:\d?(?:KTS?|MPS|KMH))?|CALM[A-Z]*|VRB\d{0,3}[A-Z]{0,3}",
    re.ASCII,
)
_VARYING = pattern(r"(\d{3}|///)V(\d{3}|///)", re.ASCII)


@lru_cache(maxsize=8192)
def parse_wind(token: str) -> Wind:
    """Wind of one group such as ``24015G25KT``.

    Parameters
    ----------
    token : str
        One group, upper case, without blanks, in KT, MPS or KMH; the last two become whole knots, nearest.

    Returns
    -------
    Wind
        ``MISSING`` state for slashes in place of the speed or the direction (of ///28KT the speed is kept apart),
        ``NOT_UNDERSTOOD`` for a group outside the grammar, without a unit, or one that contradicts itself
        (gust below mean, direction over 360, 000 with a speed, 024012KT, a gust of 100 kt or more over a mean
        below a quarter of it). Never raises.
    """
    match = _WIND.fullmatch(token) if len(token) <= LONGEST_TOKEN else None
    wind = None if match is None else _sound_wind(token, match)
    return Wind(WindState.NOT_UNDERSTOOD, raw=token[:LONGEST_TOKEN]) if wind is None else wind


def _sound_wind(token: str, match: re.Match[str]) -> Wind | None:
    """The wind, or ``None`` when the figures make no sense."""
    direction, speed_text, gust_text, unit = match.groups()
    if speed_text[0] == "/":
        # 270//KT and /////KT both leave nothing to reckon with; a gust alone would be nonsense.
        return None if gust_text and gust_text[0] != "/" else replace(MISSING, raw=token)
    if direction == "///":
        half = parse_wind(f"VRB{token[3:]}")
        if not half.known:
            return None
        missing = replace(MISSING, raw=token, gust_missing=half.gust_missing)
        return replace(missing, undirected_kt=half.speed_kt, undirected_gust_kt=half.gust_kt)
    factor = _KT_PER[unit]
    if (speed_text[0] == "P" and int(speed_text[1:]) < LEAST_P) or (
        gust_text and gust_text[0] == "P" and int(gust_text[1:]) < LEAST_P
    ):
        return None
    speed_kt, speed_bound = _knots(speed_text, factor)
    gust_kt: int | None = None
    gust_bound: str | None = None
    gust_missing = False
    if gust_text:
        if gust_text[0] == "/":
            gust_missing = True
        else:
            gust_kt, gust_bound = _knots(gust_text, factor)
            if gust_kt < speed_kt or gust_kt > MAX_WIND_KT or (gust_kt >= 100 and speed_kt * 4 < gust_kt):
                return None
    if speed_kt > MAX_WIND_KT:
        return None
    if direction == "VRB":
        state, from_deg = WindState.VARIABLE, None
    else:
        state, from_deg = WindState.STEADY, int(direction)
        if from_deg > 360:
            return None
        # three figures are for 100 kt and more: in 024012KT it is the direction that got a nought too many
        shifted = from_deg % 10 != 0 and len(speed_text) == 3 and speed_text[0] == "0"
        if shifted or (from_deg == 0 and (speed_kt or gust_kt or speed_bound)):
            # so does 00022KT contradict itself; the strength is not forgotten
            state = WindState.NOT_UNDERSTOOD
            return Wind(state, raw=token, undirected_kt=speed_kt, undirected_gust_kt=gust_kt)
        if from_deg == 0:
            return replace(CALM, raw=token, gust_missing=gust_missing)
    return Wind(
        state,
        from_deg_true=from_deg,
        speed_kt=speed_kt,
        gust_kt=gust_kt,
        speed_bound=speed_bound,
        gust_bound=gust_bound,
        gust_missing=gust_missing,
        raw=token,
    )


def _knots(text: str, factor: float) -> tuple[int, str | None]:
    if text[0] == "P":
        return int(int(text[1:]) * factor + 0.5), AT_LEAST
    return int(int(text) * factor + 0.5), None


def is_wind(token: str) -> bool:
    """True when the group has the shape of a wind group, whether or not its numbers make sense."""
    return len(token) <= LONGEST_TOKEN and _WIND.fullmatch(token) is not None


def looks_like_wind(token: str) -> bool:
    """True when a reader would take the group for an attempt at a wind (``1508G20KT``, ``E20011KT``)."""
    return len(token) <= LONGEST_TOKEN and _WIND_LIKE.fullmatch(token) is not None


def is_varying(token: str) -> bool:
    """True for the dddVddd group that may follow a wind, slashes included."""
    return len(token) == 7 and _VARYING.fullmatch(token) is not None


def with_varying(wind: Wind, token: str) -> Wind | None:
    """``wind`` with the ends of dddVddd added.

    ``///V///`` and a wind without numbers give the wind back unchanged; ``None`` means the group is not
    understood (an end over 360). Never raises.
    """
    match = _VARYING.fullmatch(token) if len(token) == 7 else None
    if match is None:
        return None
    if "/" in token or not wind.known:
        return wind
    first, last = int(match.group(1)), int(match.group(2))
    if first > 360 or last > 360:
        return None
    return replace(wind, varying_from_deg=first or 360, varying_to_deg=last or 360, raw=f"{wind.raw} {token}")
