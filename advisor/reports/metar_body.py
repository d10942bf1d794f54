"""The body of a METAR, one pass: each group judged on its own and put in its place."""

from __future__ import annotations

import re
from collections.abc import Sequence

from advisor.errors import DecodeError
from advisor.patterns import pattern
from advisor.reports import metar_groups as g
from advisor.reports.metar_header import ABSENT_REPORT, STATION, TIME, Header, nil_report
from advisor.reports.named import named_cloud, named_weather
from advisor.reports.remarks import storm_phrase
from advisor.reports.tokens import AT_LEAST, UNREADABLE_SKY, looks_like_sky, parse_visibility
from advisor.reports.types import SkyLayer, Visibility

#: No real body has near this many groups; what has more holds several reports or none.
MAX_BODY_GROUPS = 60
_WIND_SHEAR_WORD = pattern(r"R(?:WY)?\d\d[LCR]{0,2}|ALL|RWY|TKOF|LDG|\d\d[LCR]?", re.ASCII)
#: A damaged temperature pair or runway group: whatever it was, it was no layer.
_NO_LAYER = pattern(r"[M\d][A-Z\d]{0,3}/[A-Z\d]{0,4}|R\d\d?.{0,2}/.*")
_LAYER_LETTER = pattern(r"[FSBOVCN].{4}")
_LAYER_LIKE = pattern(r"FEW|SCT|BKN|OVC|VV")
#: 03/A2979 and 20/M17A3002: the blank before the pressure is lost, often where there is no dew point.
_GLUED = pattern(r"((?:M?\d\d|//)/(?:M?\d\d|//)?)([AQ]\d{4})", re.ASCII)
#: A second visibility that cannot be read: it may be the lower one. A solidus near the front is a runway's range.
_SECOND_VISIBILITY = pattern(r"(?!.{2,4}/)[,.]?(?:[\dO]{2,}.*|\d)")
_CLASSIFY = g.classify


class Body:
    """What the groups between the time and the remarks say. Tuples are replaced, never changed in place."""

    automatic = corrected = understood = False
    winds: tuple[str, ...] = ()
    varying: str | None = None
    visibility: Visibility | None = None
    sky: tuple[str | SkyLayer, ...] = ()
    weather: tuple[str, ...] = ()
    recent: tuple[str, ...] = ()
    rvr: tuple[str, ...] = ()
    shear: tuple[str, ...] = ()
    temperature: tuple[int | None, int | None] | None = None
    pressures: tuple[tuple[str, float], ...] = ()
    trend: tuple[str, ...] = ()
    remarks: Sequence[str] = ()
    #: Remarks in plain language that stand before the word RMK: ``CB W``, ``LTG DSNT``.
    plain: tuple[str, ...] = ()
    bad: tuple[str, ...] = ()
    #: Unread groups where a wind or a visibility may have stood.
    suspects: tuple[str, ...] = ()
    after_wind: tuple[str, ...] = ()

    def __init__(self, groups: Sequence[str], head: Header, text: str) -> None:
        self.head = head
        i, n = head.end, len(groups)
        last = i + MAX_BODY_GROUPS
        while i < n:
            group = groups[i]
            kind, value = _CLASSIFY(group)
            i += 1
            if kind == g.SKY:
                self._read_sky(group, value)
            elif kind == g.VISIBILITY:
                i = self._read_visibility(groups, i - 1)
            elif kind == g.WIND:
                self.winds += (group,)
            elif kind == g.TEMPERATURE and i < n and groups[i] == "SM":
                i = self._read_visibility(groups, i - 1)
            elif kind == g.TEMPERATURE:
                self._read_temperature(group, value)
            elif kind == g.PRESSURE:
                self._read_pressure(group, value)
            elif kind == g.REMARK:
                self.remarks = groups[i:] if not value else [value, *groups[i:]]
                return
            elif kind == g.AUTO:
                self.automatic = True
                continue
            elif kind == g.WEATHER:
                self.weather += (group,) if "/" not in group else tuple(group.split("/"))
            else:
                i = self._rarer(kind, groups, i - 1, text)
                if i < 0:
                    return
                continue
            self.understood = True
            if i > last:
                raise DecodeError(
                    f"The body has more than {MAX_BODY_GROUPS} groups: several reports, or none. "
                    "Pass one report at a time.",
                    text,
                )

    @property
    def past_sky(self) -> bool:
        """True once a temperature or a pressure was met: nothing after it is a visibility or a layer."""
        return self.temperature is not None or bool(self.pressures)

    def _rarer(self, kind: int, groups: Sequence[str], i: int, text: str) -> int:
        group = groups[i]
        if kind == g.VARYING:
            self.varying = group
        elif kind == g.TREND:
            self.understood = True
            return self._read_trend(groups, i, text)
        elif kind == g.NUMBER:
            return self._read_visibility(groups, i)
        elif kind == g.BAD_WIND:
            self.winds += (group,)
        elif kind == g.SLASHES:
            self._read_slashes(group)
        elif kind == g.RVR:
            self.rvr += (group,)
        elif kind == g.RECENT:
            if group != "RE//":
                self.recent += (group,)
        elif kind == g.COR:
            self.corrected = True
        elif kind == g.WIND_SHEAR:
            return self._read_wind_shear(groups, i)
        elif kind == g.REMARK_WORD and self.past_sky:
            self.remarks = groups[i:]  # the word RMK was lost
            return -1
        elif kind != g.ABSENT and kind != g.OTHER:
            if (glued := _GLUED.fullmatch(group[:24])) is not None:
                self._read_temperature(glued.group(1), _CLASSIFY(glued.group(1))[1])
                self._read_pressure(glued.group(2), _CLASSIFY(glued.group(2))[1])
                self.understood = True
                return i + 1
            used = storm_phrase(groups, i)
            if used:
                self.plain += tuple(groups[i : i + used])
                return i + used
            self._unread(groups, i, text)
        return i + 1

    def _unread(self, groups: Sequence[str], i: int, text: str) -> None:
        group = groups[i]
        if group in ABSENT_REPORT:
            raise nil_report(self.head.station, text)
        _refuse_second_report(groups, i, text)
        if len(self.bad) >= MAX_BODY_GROUPS:
            raise DecodeError("Most of the text is no report code. Pass one report at a time.", text)
        group = group[:80]
        self.bad += (group,)
        bare = not self.sky and not self.weather
        weather = named_weather(group)
        if weather is not None:
            self.weather += (weather,)
        if self.past_sky:
            if _LAYER_LIKE.match(group):
                self._doubt_sky(group)
            return
        seen = self.visibility
        second = _SECOND_VISIBILITY.fullmatch(group) is not None and not _NO_LAYER.fullmatch(group)
        if seen is not None and bare and second:
            self.visibility = Visibility(raw=f"{seen.raw} {group}")
            return
        # Nothing but a wind or a visibility is due before the visibility.
        due = bare and seen is None
        has_figure = any(c.isdigit() or c == "/" for c in group)
        if due or (has_figure and not self.winds):
            self.suspects += (group,)
            if self.winds:
                self.after_wind += (group,)
        doubtful = has_figure and not _NO_LAYER.fullmatch(group)
        if due:
            doubtful = doubtful and bool(self.winds) and _LAYER_LETTER.match(group) is not None
        if doubtful or looks_like_sky(group):
            self._doubt_sky(group)
        elif has_figure and group.endswith(("CB", "TCU")):
            self.sky += (SkyLayer("///", None, "TCU" if group.endswith("TCU") else "CB"),)

    def _doubt_sky(self, group: str) -> None:
        """It may have been a layer, so no ceiling is promised past it; a CB or TCU it names counts."""
        self.sky += (UNREADABLE_SKY,)
        cloud = named_cloud(group)
        if cloud is not None:
            self.sky += (cloud,)

    def _read_visibility(self, groups: Sequence[str], i: int) -> int:
        found, used = parse_visibility(groups, i)
        if not used or self.past_sky:
            self._unread(groups, i, "")
            return i + 1
        self.understood = True
        before = self.visibility
        if before is None:
            self.visibility = found
        elif found.miles is not None and before.miles is not None:
            # A second figure without a sector is the minimum, when lower (Annex 3, fluctuating visibility).
            if found.miles < before.miles:
                self.visibility = Visibility(found.miles, found.bound, f"{before.raw} {found.raw}")
            elif found.miles > before.miles and before.bound != AT_LEAST:
                self.bad += (found.raw,)
        elif found.raw.strip("/"):
            self.visibility = Visibility(raw=f"{before.raw} {found.raw}")
        if groups[i] == "CAVOK":
            self.sky += ("CAVOK",)
        return i + used

    def _read_sky(self, group: str, value: str | SkyLayer) -> None:
        if not self.past_sky:
            self.sky += (value,)
        elif isinstance(value, str):
            self.bad += (group,)  # a clear-sky word here belongs to something else
        else:
            # A layer out of place may lower the ceiling, never stand in for the sky that was not reported.
            self.sky = (*(self.sky or (UNREADABLE_SKY,)), value)

    def _read_temperature(self, group: str, value: tuple[int | None, int | None]) -> None:
        if self.temperature is not None:
            self.bad += (group,)
            if value != self.temperature:
                # One of them is a slip, or a fraction of a mile that lost its SM.
                self.temperature = (None, None)
        elif any(part is not None and not -90 <= part <= 60 for part in value):
            self.bad += (group,)
            self.temperature = (None, None)
        else:
            self.temperature = value

    def _read_pressure(self, group: str, value: float | str | None) -> None:
        if isinstance(value, float):
            self.pressures += ((group, value),)
        elif value is not None:
            self.bad += (group,)

    def _read_slashes(self, group: str) -> None:
        """Slashes for what is missing; "//" is the weather and "/////" the temperatures."""
        if self.past_sky:
            return
        if len(group) == 4 and self.visibility is None:
            self.visibility = Visibility(raw=group)
        elif len(group) in (3, 6, 9):
            self.sky += (SkyLayer("///", None),)

    def _read_wind_shear(self, groups: Sequence[str], i: int) -> int:
        end = i + 1
        while end < len(groups) and end <= i + 3 and _WIND_SHEAR_WORD.fullmatch(groups[end][:8]):
            end += 1
        self.shear += (" ".join(groups[i:end]),)
        return end

    def _read_trend(self, groups: Sequence[str], i: int, text: str) -> int:
        """Trend groups as text, one string a change, up to the remarks."""
        start = i
        changes = []
        while i < len(groups):
            kind, _ = _CLASSIFY(groups[i])
            if kind == g.REMARK:
                break
            if kind == g.UNKNOWN:
                _refuse_second_report(groups, i, text)
            # "PROB30 TEMPO" is one change.
            if kind == g.TREND and i > start and not groups[i - 1].startswith("PROB"):
                changes.append(" ".join(groups[start:i]))
                start = i
            i += 1
        self.trend += (*changes, " ".join(groups[start:i]))
        return i


def _refuse_second_report(groups: Sequence[str], i: int, text: str) -> None:
    group = groups[i]
    if len(group) == 7 and TIME.fullmatch(group) and STATION.fullmatch(groups[i - 1]):
        raise DecodeError(
            f"Two reports are run together: the second starts at {groups[i - 1]} {group}. Pass one at a time.",
            text,
            group,
        )
