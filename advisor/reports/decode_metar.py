"""METAR and SPECI, decoded through a gate around the ``metar`` package.

The package is good on well-formed bodies and misleads, silently, on damaged ones: a missing visibility
becomes 10 km, a wind without a unit becomes metres per second, a stray group becomes the wind, a hostile
remark hangs it. So each group is first read by our own anchored grammar; the wind and the
visibility that passed, and never the remarks, are handed to the package; and what the two do not agree on
is not understood. This is the only module that imports it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple

from metar.Metar import Metar as PackageMetar

from advisor.errors import DecodeError, TimeError
from advisor.patterns import pattern
from advisor.reports.metar_body import Body
from advisor.reports.metar_header import Header, nearest
from advisor.reports.named import contradicts_fog
from advisor.reports.remarks import parse_remarks
from advisor.reports.tokens import AT_LEAST, sky_from_groups
from advisor.reports.types import Metar, Sky, SkyLayer, Visibility
from advisor.reports.wind_tokens import parse_wind, with_varying
from advisor.wind import MISSING, Wind, WindState

_BARE_WIND = pattern(r"(?:\d{3}|VRB)\d{2}(?:G\d{2,3})?", re.ASCII)
_NO_WIND = "/////KT"
#: What a copy from a page may hold in place of a blank: no-break and thin spaces, the byte-order mark.
_BLANKS = dict.fromkeys((0xA0, *range(0x2000, 0x200C), 0x202F, 0x3000, 0xFEFF), " ")


def decode_metar(text: str, now: datetime, observed_near: datetime | None = None) -> Metar:
    """Decode one METAR or SPECI.

    Parameters
    ----------
    text : str
        One report, with or without ``METAR``/``SPECI``, line breaks and a closing ``=``; a leading
        ``YYYY/MM/DD HH:MM`` line is taken as the date.
    now : datetime
        Present time, aware UTC. A report names only a day of the month; the date nearest to this is meant.
    observed_near : datetime, optional
        A better date to be near to, when the source gave one.

    Returns
    -------
    Metar
        Each group read on its own: a bad one is kept verbatim in ``not_understood`` and never takes a
        well-formed neighbour with it. Absent stays ``None``.

    Raises
    ------
    TimeError
        When the time to date it by has no time zone.
    DecodeError
        When there is no report: no station or time, NIL, a TAF, two reports run together, characters that
        are not ASCII, or no single group that can be read.

    Source: the NWS/FAA key to METAR, WMO No. 306 FM 15.
    """
    groups = _clean(text)
    head = Header(groups, text)
    near = observed_near or head.date_hint or now
    if near.tzinfo is None:
        raise TimeError("The time to date a report by has no time zone. Give it in UTC, with Z.")
    observed_at = nearest(head.day, head.hour, head.minute, near.year, near.month, near.day)
    if observed_at is None:
        raise TimeError(f"No date near {near:%Y-%m-%d} fits day {head.day}. Check the clock.")
    body = Body(groups, head, text)
    if not body.understood:
        raise DecodeError(
            f"Nothing after the time of this {head.kind} could be read. Check that the text is complete.",
            text,
            " ".join(body.bad)[:80],
        )
    return _assemble(head, body, observed_at, groups)


def _clean(text: str) -> list[str]:
    if not isinstance(text, str):
        raise DecodeError(f"A report must be text, not {type(text).__name__}. Pass it as a string.")
    if not text.isascii():
        text = text.translate(_BLANKS)
    if not text.isascii():
        odd = next(c for c in text if not c.isascii())
        raise DecodeError(
            f"The report holds the character U+{ord(odd):04X}, which no report code uses. Copy it again as plain text.",
            text,
        )
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    if "=" in text:
        text, _, after = text.partition("=")
        if after.strip("= "):
            raise DecodeError("The text holds more than one report (a group follows '='). Pass one at a time.", text)
    groups = text.upper().split()
    if not groups:
        raise DecodeError("The report is empty. Give the text of one METAR.", text)
    return groups


def _assemble(head: Header, body: Body, observed_at: datetime, groups: Sequence[str]) -> Metar:
    wind, estimated = _wind(body)
    visibility = _visibility(body, wind)
    inches = _altimeter(body)
    wind, visibility = _cross_check(wind, visibility)
    if contradicts_fog(visibility, body.weather):
        visibility = Visibility(raw=visibility.raw)
    bad = body.bad
    half = wind.state is WindState.MISSING and any(c.isdigit() for c in wind.raw)
    if (half or wind.state is WindState.NOT_UNDERSTOOD) and wind.raw not in bad:
        # Half a wind (///28KT) is no wind to plan by, but what is printed is shown.
        bad = (wind.raw, *bad)
    if visibility.miles is None and visibility.raw.strip("/SMNDV") and visibility.raw not in bad:
        bad += (visibility.raw,)
    temperature, dewpoint = body.temperature or (None, None)
    remarks = parse_remarks([*body.plain, *body.remarks] if body.plain else body.remarks, observed_at)
    if estimated:
        remarks = replace(remarks, wind_estimated=True)
    return Metar(
        station=head.station,
        observed_at=observed_at,
        raw=" ".join(groups[head.start :] if head.start else groups),
        kind=head.kind,
        automatic=body.automatic,
        corrected=head.corrected or body.corrected,
        wind=wind,
        visibility=visibility,
        sky=_sky(body.sky),
        weather=body.weather,
        recent_weather=body.recent,
        runway_visual_range=body.rvr,
        wind_shear=body.shear,
        temperature_c=_with_tenths(temperature, remarks.temperature_c),
        dewpoint_c=_with_tenths(dewpoint, remarks.dewpoint_c),
        altimeter_inhg=inches,
        remarks=remarks,
        trend=body.trend,
        not_understood=bad,
    )


@lru_cache(maxsize=4096)
def _sky(groups: tuple[str | SkyLayer, ...]) -> Sky:
    return sky_from_groups(groups)


def _wind(body: Body) -> tuple[Wind, bool]:
    """The one wind group of the body, and whether it is marked as estimated (E20011KT)."""
    if len(body.winds) == 1:
        group = body.winds[0]
        wind = parse_wind(group)
        estimated = False
        if wind.state is WindState.NOT_UNDERSTOOD and group[0] == "E" and parse_wind(group[1:]).known:
            wind, estimated = parse_wind(group[1:]), True
        if body.varying is not None:
            varied = with_varying(wind, body.varying)
            if varied is None:
                body.bad += (body.varying,)
            else:
                wind = varied
        return wind, estimated
    if body.winds:
        # Two wind groups: nothing says which one is meant.
        return Wind(WindState.NOT_UNDERSTOOD, raw=" ".join(body.winds)), False
    bare = next((group for group in body.bad if _BARE_WIND.fullmatch(group)), None)
    suspect = bare or next(iter(body.suspects), None)
    return (MISSING if suspect is None else Wind(WindState.NOT_UNDERSTOOD, raw=suspect)), False


def _visibility(body: Body, wind: Wind) -> Visibility:
    if body.visibility is not None:
        return body.visibility
    candidates = body.after_wind if body.winds else body.suspects
    suspect = next((group for group in candidates if group != wind.raw), None)
    return Visibility() if suspect is None else Visibility(raw=suspect)


def _altimeter(body: Body) -> float | None:
    """The setting, inHg; when both A and Q are printed the finer one, if they agree."""
    if not body.pressures:
        return None
    group, value = body.pressures[0]
    for other_group, other in body.pressures[1:]:
        if abs(other - value) > 0.06:
            body.bad += (f"{group} {other_group}",)
            return None
        if other_group[0] == "A":
            value = other
    return round(value, 2)


def _with_tenths(whole: int | None, tenths: float | None) -> float | None:
    """Tenths of the T group when they agree with the body; a sign slipped there must not win."""
    if whole is None:
        return None
    if tenths is not None and -1.0 <= tenths - whole <= 1.0:
        return tenths
    return float(whole)


def _cross_check(wind: Wind, visibility: Visibility) -> tuple[Wind, Visibility]:
    """Hand the groups that passed to the package; keep of them only what it reads the same way."""
    # The slashes hold the place of a wind that is not there: else the package takes the next digits for it.
    groups = _NO_WIND if wind.speed_kt is None else wind.raw
    miles = visibility.miles
    if miles is not None:
        raw = visibility.raw
        groups = f"{groups} {raw if raw[-3:] != ' SM' else raw[:-3] + 'SM'}"
    read = _package_reading(groups)
    if read is None or not _same_wind(wind, read):
        wind = Wind(WindState.NOT_UNDERSTOOD, raw=wind.raw or "wind")
    if miles is not None:
        least = None if read is None else read.least_miles
        above = visibility.bound == AT_LEAST and least is not None and least > miles
        if least is None or not (above or -0.02 < least - miles < 0.02):
            visibility = Visibility(raw=visibility.raw)
    return wind, visibility


class _Reading(NamedTuple):
    """What the package made of the groups; speeds in knots, not rounded."""

    from_deg: float | None
    speed_kt: float | None
    gust_kt: float | None
    least_miles: float | None


@lru_cache(maxsize=8192)
def _package_reading(groups: str) -> _Reading | None:
    """The package's reading of a wind and a visibility group, or ``None`` when it fails.

    With the unit printed (our grammar asks for it) its reading depends on nothing else, so groups met before
    need not be read again; station and time are fillers. Strict: it never warns.
    """
    try:
        read = PackageMetar(f"XXXX 010000Z {groups}", month=1, year=2000)
        speed, gust, direction = read.wind_speed, read.wind_gust, read.wind_dir
        miles = [figure.value("SM") for figure in (read.vis, read.max_vis) if figure is not None]
        return _Reading(
            None if direction is None else direction.value(),
            None if speed is None else speed.value("KT"),
            None if gust is None else gust.value("KT"),
            min(miles, default=None),
        )
    except Exception:  # its handlers may raise anything: then nothing is confirmed
        return None


def _same_wind(wind: Wind, read: _Reading) -> bool:
    return (
        _close(read.speed_kt, wind.speed_kt)
        and _close(read.gust_kt, wind.gust_kt)
        and (wind.speed_kt is None or _close(read.from_deg, 0 if wind.speed_kt == 0 else wind.from_deg_true))
    )


def _close(theirs: float | None, ours: int | None) -> bool:
    """Equal but for the rounding to whole figures, or both absent."""
    if theirs is None or ours is None:
        return theirs is None and ours is None
    return -0.6 < theirs - ours < 0.6
