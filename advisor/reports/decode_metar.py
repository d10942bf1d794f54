"""METAR and SPECI, decoded through a gate around the ``metar`` package.

The package is good on well-formed bodies and misleads, silently, on damaged ones: a missing visibility
becomes 10 km, a wind without a unit becomes metres per second, a stray group becomes the wind, a hostile
remark hangs it. So each group is first read by our own anchored grammar; only groups that passed, in the
standard order and never the remarks, are handed to the package; and what the two do not agree on is not
understood. This is the only module that imports it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from metar.Metar import Metar as PackageMetar

from advisor.errors import DecodeError, TimeError
from advisor.reports import metar_groups as g
from advisor.reports.remarks import parse_remarks
from advisor.reports.tokens import (
    AT_LEAST,
    UNREADABLE_SKY,
    looks_like_sky,
    parse_visibility,
    parse_wind,
    sky_from_groups,
    with_varying,
)
from advisor.reports.types import Metar, SkyLayer, Visibility
from advisor.wind import MISSING, Wind, WindState

#: No real body is near this long; what is longer holds several reports or none.
MAX_BODY_CHARS = 700
_STATION = re.compile(r"[A-Z][A-Z0-9]{3}")
_TIME = re.compile(r"(\d\d)(\d\d)(\d\d)Z?", re.ASCII)
_DATE_LINE = re.compile(r"\d{4}/\d\d/\d\d", re.ASCII)
_TAF_PERIOD = re.compile(r"\d{4}/\d{4}|\d{6}", re.ASCII)
_BARE_WIND = re.compile(r"(?:\d{3}|VRB)\d{2}(?:G\d{2,3})?", re.ASCII)
_TYPES = frozenset({"METAR", "SPECI"})
_WIND_SHEAR_WORD = re.compile(r"R(?:WY)?\d\d[LCR]{0,2}|ALL|RWY|TKOF|LDG|\d\d[LCR]?", re.ASCII)
_ABSENT_REPORT = frozenset({"NIL", "FINO"})


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
    head = _Header(groups, text)
    near = observed_near or head.date_hint or now
    if near.tzinfo is None:
        raise TimeError("The time to date a report by has no time zone. Give it in UTC, with Z.")
    observed_at = _nearest(head, near, text)
    body = _Body(groups, head, text)
    if not body.understood:
        raise DecodeError(
            f"Nothing after the time in this {head.kind} could be read. Check that the text is complete.",
            text,
        )
    return _assemble(head, body, observed_at, groups)


def _clean(text: str) -> list[str]:
    if not isinstance(text, str):
        raise DecodeError(f"A report must be text, not {type(text).__name__}. Pass it as a string.")
    if not text.isascii():
        odd = next(c for c in text if not c.isascii())
        raise DecodeError(
            f"The report holds the character U+{ord(odd):04X}, which no report code uses. "
            "Copy it again as plain text.",
            text,
        )
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    before, mark, after = text.partition("=")
    if mark and after.strip("= "):
        raise DecodeError(
            "The text holds more than one report (a group follows '='). Pass one at a time.", text
        )
    groups = before.upper().split()
    if not groups:
        raise DecodeError("The report is empty. Give the text of one METAR.", text)
    return groups


class _Header:
    """Report type, station, time and the groups that may stand among them."""

    __slots__ = ("corrected", "date_hint", "day", "end", "hour", "kind", "minute", "start", "station")

    def __init__(self, groups: Sequence[str], text: str) -> None:
        self.kind, self.corrected = "METAR", False
        self.date_hint: datetime | None = None
        i = self._skip_date_line(groups)
        self.start = i
        while i < len(groups) and (groups[i] in _TYPES or groups[i] == "COR"):
            if groups[i] == "COR":
                self.corrected = True
            else:
                self.kind = groups[i]
            i += 1
        station = groups[i] if i < len(groups) else ""
        if station == "TAF":
            raise DecodeError(
                "This is a forecast (TAF), not an observation. Decode it with --kind taf.", text
            )
        if not _STATION.fullmatch(station):
            raise DecodeError(
                f"No station identifier (four characters, a letter first): {station[:20]!r} stands there. "
                "Check that the text starts with the station.",
                text,
                station,
            )
        self.station = station
        i += 1
        while i < len(groups) and groups[i] in ("COR", "CCA", "CCB", "RTD"):
            self.corrected = True
            i += 1
        stamp = groups[i] if i < len(groups) else ""
        match = _TIME.fullmatch(stamp)
        day, hour, minute = (int(part) for part in match.groups()) if match else (0, 0, 0)
        if match is None or not (1 <= day <= 31 and hour <= 23 and minute <= 59):
            if stamp.rstrip("=") in _ABSENT_REPORT:
                raise _nil(station, text)
            raise DecodeError(
                f"No time of observation (ddhhmmZ) after {station}: {stamp[:20]!r}. "
                "A report without a time cannot be used: get it again.",
                text,
                stamp,
            )
        self.day, self.hour, self.minute = day, hour, minute
        self.end = i + 1
        following = groups[self.end] if self.end < len(groups) else ""
        if _TAF_PERIOD.fullmatch(following):
            raise DecodeError(
                f"{station} {stamp} {following} is a forecast (TAF), not an observation. "
                "Decode it with --kind taf.",
                text,
                following,
            )

    def _skip_date_line(self, groups: Sequence[str]) -> int:
        if len(groups) < 2 or not _DATE_LINE.fullmatch(groups[0]):
            return 0
        try:
            self.date_hint = datetime.strptime(f"{groups[0]} {groups[1]}", "%Y/%m/%d %H:%M").replace(
                tzinfo=UTC
            )
        except ValueError:
            return 0
        return 2


def _nil(station: str, text: str) -> DecodeError:
    return DecodeError(
        f"{station} sent NIL: there is no report for that time. Use another time or station.", text
    )


def _nearest(head: _Header, near: datetime, text: str) -> datetime:
    """Date with the day of the month of the report that lies nearest to ``near``."""
    best: datetime | None = None
    month = near.year * 12 + near.month - 1
    for offset in (0, -1, 1, -2):
        year, month0 = divmod(month + offset, 12)
        try:
            when = datetime(year, month0 + 1, head.day, head.hour, head.minute, tzinfo=UTC)
        except ValueError:
            continue
        if abs(when - near) <= timedelta(days=13):
            return when
        if best is None or abs(when - near) < abs(best - near):
            best = when
    if best is None:
        raise DecodeError("The year is out of range. Check the clock.", text)
    return best


class _Body:
    """One pass over the groups between the time and the remarks, each judged on its own."""

    __slots__ = (
        "automatic",
        "bad",
        "bad_before_sky",
        "corrected",
        "estimated",
        "head",
        "pressures",
        "recent",
        "remark_groups",
        "rvr",
        "shear",
        "sky",
        "temperature",
        "trend",
        "understood",
        "varying",
        "visibility",
        "weather",
        "winds",
    )

    def __init__(self, groups: Sequence[str], head: _Header, text: str) -> None:
        self.head = head
        self.automatic = self.corrected = self.estimated = False
        self.winds: list[str] = []
        self.varying: str | None = None
        self.visibility: Visibility | None = None
        self.sky: list[SkyLayer | str] = []
        self.weather: list[str] = []
        self.recent: list[str] = []
        self.rvr: list[str] = []
        self.shear: list[str] = []
        self.temperature: tuple[int | None, int | None] | None = None
        self.pressures: list[tuple[str, float]] = []
        self.trend: list[str] = []
        self.remark_groups: Sequence[str] = ()
        self.bad: list[str] = []
        self.bad_before_sky: list[str] = []  # unread groups where a wind or a visibility may have stood
        self.understood = False
        self._walk(groups, head.end, text)

    def _walk(self, groups: Sequence[str], i: int, text: str) -> None:
        classify = g.classify
        length = 0
        n = len(groups)
        while i < n:
            group = groups[i]
            length += len(group) + 1
            if length > MAX_BODY_CHARS:
                raise DecodeError(
                    f"The body is longer than {MAX_BODY_CHARS} characters: several reports, or none. "
                    "Pass one report at a time.",
                    text,
                )
            kind, value = classify(group)
            i += 1
            if kind == g.WIND or kind == g.BAD_WIND:
                self.winds.append(group)
            elif kind == g.VISIBILITY or kind == g.NUMBER:
                i = self._read_visibility(groups, i - 1)
            elif kind == g.SKY:
                self.sky.append(value)
            elif kind == g.TEMPERATURE:
                self._read_temperature(group, value)
            elif kind == g.PRESSURE:
                self._read_pressure(group, value)
            elif kind == g.WEATHER:
                self.weather.append(group)
            elif kind == g.AUTO:
                self.automatic = True
                continue
            elif kind == g.REMARK:
                self.remark_groups = groups[i:] if not value else [value, *groups[i:]]
                return
            elif kind == g.TREND:
                i = self._read_trend(groups, i - 1)
            else:
                i = self._rarer(kind, groups, i - 1, text)
                if i < 0:
                    return
                continue
            self.understood = True

    def _rarer(self, kind: int, groups: Sequence[str], i: int, text: str) -> int:
        group = groups[i]
        if kind == g.VARYING:
            self.varying = group
        elif kind == g.SLASHES:
            self._read_slashes(group)
        elif kind == g.RVR:
            self.rvr.append(group)
        elif kind == g.RECENT:
            if group != "RE//":
                self.recent.append(group)
        elif kind == g.COR:
            self.corrected = True
        elif kind == g.WIND_SHEAR:
            return self._read_wind_shear(groups, i)
        elif kind == g.REMARK_WORD and self._past_sky:
            self.remark_groups = groups[i:]
            return -1
        elif kind == g.ABSENT or kind == g.OTHER:
            pass
        else:
            self._unread(groups, i, text)
        return i + 1

    @property
    def _past_sky(self) -> bool:
        return self.temperature is not None or bool(self.pressures)

    def _unread(self, groups: Sequence[str], i: int, text: str) -> None:
        group = groups[i]
        if group in _ABSENT_REPORT:
            raise _nil(self.head.station, text)
        if i and _TIME.fullmatch(group) and group.endswith("Z") and _STATION.fullmatch(groups[i - 1]):
            raise DecodeError(
                f"Two reports are run together: the second starts at {groups[i - 1]} {group}. "
                "Pass one at a time.",
                text,
                group,
            )
        self.bad.append(group[:80])
        if self._past_sky:
            return
        if not self.winds or (self.visibility is None and not self.sky):
            self.bad_before_sky.append(group[:80])
            if self.visibility is None and g.classify(group)[0] == g.BAD_VISIBILITY:
                return
        if any(c.isdigit() or c == "/" for c in group) or looks_like_sky(group):
            self.sky.append(UNREADABLE_SKY)

    def _read_visibility(self, groups: Sequence[str], i: int) -> int:
        found, used = parse_visibility(groups, i)
        if not used or self._past_sky:
            self._unread(groups, i, "")
            return i + 1
        before = self.visibility
        if before is None:
            self.visibility = found
        elif found.miles is not None and before.miles is not None:
            # A second figure without a sector is the minimum, when lower (Annex 3, fluctuating visibility).
            if found.miles < before.miles:
                self.visibility = replace(found, raw=f"{before.raw} {found.raw}")
            elif found.miles > before.miles and before.bound != AT_LEAST:
                self.bad.append(found.raw)
        elif found.raw.strip("/"):
            self.visibility = Visibility(raw=f"{before.raw} {found.raw}")
        if groups[i] == "CAVOK":
            self.sky.append("CAVOK")
        return i + used

    def _read_temperature(self, group: str, value: tuple[int | None, int | None]) -> None:
        if self.temperature is not None:
            self.bad.append(group)
        elif any(part is not None and not -90 <= part <= 60 for part in value):
            self.bad.append(group)
            self.temperature = (None, None)
        else:
            self.temperature = value

    def _read_pressure(self, group: str, value: float | str | None) -> None:
        if isinstance(value, float):
            self.pressures.append((group, value))
        elif value is not None:
            self.bad.append(group)

    def _read_slashes(self, group: str) -> None:
        if self._past_sky:
            return
        if len(group) == 4 and self.visibility is None:
            self.visibility = Visibility(raw=group)
        elif len(group) in (3, 6, 9):
            self.sky.append(SkyLayer("///", None))

    def _read_wind_shear(self, groups: Sequence[str], i: int) -> int:
        end = i + 1
        while end < len(groups) and end <= i + 3 and _WIND_SHEAR_WORD.fullmatch(groups[end][:8]):
            end += 1
        self.shear.append(" ".join(groups[i:end]))
        return end

    def _read_trend(self, groups: Sequence[str], i: int) -> int:
        """Trend groups as text, one string a change, up to the remarks."""
        start = i
        while i < len(groups):
            kind, _ = g.classify(groups[i])
            if kind == g.REMARK:
                break
            # "PROB30 TEMPO" is one change.
            if kind == g.TREND and i > start and not groups[i - 1].startswith("PROB"):
                self.trend.append(" ".join(groups[start:i]))
                start = i
            i += 1
        self.trend.append(" ".join(groups[start:i]))
        return i


def _assemble(head: _Header, body: _Body, observed_at: datetime, groups: Sequence[str]) -> Metar:
    bad = body.bad
    wind = _wind(body)
    visibility = _visibility(body, wind)
    inches = _altimeter(body)
    temperature, dewpoint = body.temperature or (None, None)
    wind, visibility, sky_groups, inches = _cross_check(head, body, wind, visibility, inches, observed_at)
    if wind.state is WindState.NOT_UNDERSTOOD and wind.raw not in bad:
        bad.insert(0, wind.raw)
    if visibility.miles is None and visibility.raw.strip("/SM") and visibility.raw not in bad:
        bad.append(visibility.raw)
    remarks = parse_remarks(body.remark_groups, observed_at)
    if body.estimated:
        remarks = replace(remarks, wind_estimated=True)
    return Metar(
        station=head.station,
        observed_at=observed_at,
        raw=" ".join(groups[head.start :]),
        kind=head.kind,
        automatic=body.automatic,
        corrected=head.corrected or body.corrected,
        wind=wind,
        visibility=visibility,
        sky=sky_from_groups(sky_groups),
        weather=tuple(body.weather),
        recent_weather=tuple(body.recent),
        runway_visual_range=tuple(body.rvr),
        wind_shear=tuple(body.shear),
        temperature_c=_with_tenths(temperature, remarks.temperature_c),
        dewpoint_c=_with_tenths(dewpoint, remarks.dewpoint_c),
        altimeter_inhg=None if inches is None else round(inches, 2),
        remarks=remarks,
        trend=tuple(body.trend),
        not_understood=tuple(bad),
    )


def _wind(body: _Body) -> Wind:
    if len(body.winds) == 1:
        group = body.winds[0]
        # E20011KT: some observers mark an estimated wind so.
        body.estimated = len(group) > 1 and group[0] == "E" and parse_wind(group[1:]).known
        wind = parse_wind(group[1:] if body.estimated else group)
        if wind.state is WindState.MISSING and wind.raw.strip("/KTMPSH0"):
            body.bad.insert(0, wind.raw)  # half a wind: no use, but the half that is printed is shown
        if body.varying is None:
            return wind
        varied = with_varying(wind, body.varying)
        if varied is None:
            body.bad.append(body.varying)
            return wind
        return varied
    if body.winds:
        # Two wind groups: nothing says which one the sensor meant.
        return Wind(WindState.NOT_UNDERSTOOD, raw=" ".join(body.winds))
    bare = next((group for group in body.bad if _BARE_WIND.fullmatch(group)), None)
    suspect = bare or next(iter(body.bad_before_sky), None)
    if suspect is None:
        return MISSING
    return Wind(WindState.NOT_UNDERSTOOD, raw=suspect)


def _visibility(body: _Body, wind: Wind) -> Visibility:
    if body.visibility is not None:
        return body.visibility
    suspect = next((group for group in body.bad_before_sky if group != wind.raw), None)
    return Visibility() if suspect is None else Visibility(raw=suspect)


def _altimeter(body: _Body) -> float | None:
    """The setting; when both A and Q are printed the finer one, if they agree."""
    if not body.pressures:
        return None
    group, value = body.pressures[0]
    for other_group, other in body.pressures[1:]:
        if abs(other - value) > 0.06:
            body.bad.append(f"{group} {other_group}")
            return None
        if other_group.startswith("A"):
            value = other
    return value


def _with_tenths(whole: int | None, tenths: float | None) -> float | None:
    """Tenths of the T group when they agree with the body; a typed sign error there must not win."""
    if whole is None:
        return None
    if tenths is not None and abs(tenths - whole) <= 1.0:
        return tenths
    return float(whole)


def _cross_check(
    head: _Header,
    body: _Body,
    wind: Wind,
    visibility: Visibility,
    inches: float | None,
    observed_at: datetime,
) -> tuple[Wind, Visibility, Sequence[SkyLayer | str], float | None]:
    """Hand the groups that passed to the package; keep of them only what it reads the same way."""
    # The slashes hold the place of a wind that is not there: else the package takes the next digits for it.
    parts = [
        head.station,
        f"{head.day:02d}{head.hour:02d}{head.minute:02d}Z",
        wind.raw if wind.known else "/////KT",
    ]
    if visibility.miles is not None:
        raw = visibility.raw
        parts.append(raw if not raw.endswith(" SM") else raw.replace(" ", ""))
    parts += [_print_layer(layer) for layer in body.sky if not isinstance(layer, str)]
    if inches is not None:
        parts.append(f"A{round(inches * 100):04d}")
    try:
        read = PackageMetar(" ".join(parts), month=observed_at.month, year=observed_at.year)
    except Exception:  # its handlers raise anything; ours must not
        return Wind(WindState.NOT_UNDERSTOOD, raw=wind.raw or "wind"), visibility, body.sky, inches
    if not _same_wind(wind, read):
        wind = Wind(WindState.NOT_UNDERSTOOD, raw=wind.raw or "wind")
    if visibility.miles is not None and not _same_visibility(visibility, read):
        visibility = Visibility(raw=visibility.raw)
    return wind, visibility, body.sky, inches


def _print_layer(layer: SkyLayer) -> str:
    base = "///" if layer.base_ft_agl is None else f"{layer.base_ft_agl // 100:03d}"
    return f"{layer.cover}{base}{layer.cloud_type or ''}"


def _same_wind(wind: Wind, read: Any) -> bool:
    speed = read.wind_speed
    if not wind.known:
        return speed is None
    if speed is None or abs(speed.value("KT") - wind.speed_kt) > 0.6:
        return False
    gust = read.wind_gust
    if (gust is None) != (wind.gust_kt is None) or (
        gust is not None and abs(gust.value("KT") - wind.gust_kt) > 0.6
    ):
        return False
    direction = read.wind_dir
    if direction is None:
        return wind.from_deg_true is None
    return int(direction.value()) == (wind.from_deg_true or 0)


def _same_visibility(visibility: Visibility, read: Any) -> bool:
    figures = [d.value("SM") for d in (read.vis, read.max_vis) if d is not None]
    if not figures or visibility.miles is None:
        return False
    least = min(figures)
    return abs(least - visibility.miles) < 0.02 or (
        visibility.bound == AT_LEAST and least >= visibility.miles
    )
