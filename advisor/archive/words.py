"""Groups of archived reports, each distinct one read once and then looked up by its bytes.

An archive of ten million reports is made of some ten thousand distinct groups. A group of up to 24 characters is three
machine words; a hash table of them, probed for a whole chunk at a time, gives each group a small number, and
columns indexed by that number hold what the one-at-a-time decoder says of it. So the two cannot disagree on a
group; ``decode`` decides which reports are no more than the sum of their groups.
"""

from __future__ import annotations

from datetime import UTC, datetime
from enum import IntFlag
from typing import Any

import numpy as np

from advisor.archive.hashing import WordTable
from advisor.errors import AdvisorError
from advisor.records import dataclass
from advisor.reports import metar_groups as g
from advisor.reports.decode_metar import decode_metar
from advisor.reports.remarks import parse_remarks
from advisor.reports.types import Metar, Remarks, SkyLayer
from advisor.segments import observation_segment
from advisor.table import Array, WindKind
from advisor.weather import Wx, weather_flags

WORD_BYTES = 24
_NEAR = datetime(2026, 1, 1, 12, tzinfo=UTC)
NO_REMARKS = Remarks()
NAN = float("nan")
INF = float("inf")

# What a sky group does to the ceiling.
NO_SKY, TOLD, CEILING, HEIGHTLESS, AMOUNTLESS = range(5)


class Remark(IntFlag):
    """What a group does when it stands in the remarks."""

    TSNO = 1
    MAINTENANCE = 2
    LIGHTNING = 4  # its distance is in the groups that follow
    THUNDER = 8  # TS, VCTS: where is in the groups that follow
    PEAK = 16
    SHIFT = 32
    WIND = 64
    VISIBILITY = 128
    CEILING = 256
    UNSURE = 512  # sets something by itself that is not looked up here
    PLACE = 1024  # OHD, VC, DSNT, N-NE ...
    DISTANT = 2048
    CLOSE = 4096  # VC, OHD
    WND_WORD = 8192


#: Groups that begin a remark of several groups.
_STARTS = {
    "PK": Remark.PEAK,
    "WSHFT": Remark.SHIFT,
    "WND": Remark.WIND | Remark.WND_WORD,
    "WIND": Remark.WIND,
    "WNDS": Remark.WIND,
    "WINDS": Remark.WIND,
    "VIS": Remark.VISIBILITY,
    "CIG": Remark.CEILING,
    "TS": Remark.THUNDER,
    "VCTS": Remark.THUNDER,
}
STARTS = Remark.LIGHTNING | Remark.THUNDER | Remark.PEAK | Remark.SHIFT | Remark.WIND
STARTS |= Remark.VISIBILITY | Remark.CEILING

_COLUMNS: dict[str, tuple[str, Any]] = {
    "body_known": ("?", False),
    "remark_known": ("?", False),
    "kind": ("u1", g.UNKNOWN),
    "sure": ("?", False),  # the group alone decides what it does in a body
    "wind_kind": ("u1", int(WindKind.MISSING)),
    "gust_state": ("u1", 1),
    "mean_kt": ("f8", NAN),
    "gust_kt": ("f8", NAN),
    "from_deg_true": ("f8", NAN),
    "arc_start_deg": ("f8", NAN),
    "arc_width_deg": ("f8", 0.0),
    "estimated": ("?", False),
    "undecoded": ("?", False),
    "swing_from_deg": ("f8", NAN),
    "swing_deg": ("f8", 0.0),
    "visibility_sm": ("f8", NAN),
    "sky": ("u1", NO_SKY),
    "base_ft": ("f8", INF),
    "amountless_cloud": ("?", False),  # ///CB: names a cloud, hides no layer
    "weather": ("u4", 0),
    "temperature_c": ("f8", NAN),
    "dewpoint_c": ("f8", NAN),
    "altimeter_inhg": ("f8", NAN),
    "exact_inhg": ("f8", NAN),
    "letter_a": ("?", False),
    "slashes": ("u1", 0),
    "remark": ("u2", 0),
    "remark_weather": ("u4", 0),
}


@dataclass(frozen=True, slots=True)
class Groups:
    """Bytes of groups as machine words, zero beyond their ends.

    ``first`` is the whole group where it has up to eight characters, and 0 where it is longer; those stand in
    ``long``, shape ``(3, longer groups)``, at the positions ``long_at``.
    """

    first: Array
    long_at: Array
    long: Array


class Words:
    """A growing dictionary of groups; number 0 is a group too long to be any."""

    def __init__(self) -> None:
        self.size = 1
        self._texts = [""]
        self.columns: dict[str, Array] = {
            name: np.full(1 << 10, default, dtype=dtype) for name, (dtype, default) in _COLUMNS.items()
        }
        self._short, self._long = WordTable(1), WordTable(3)

    def __getattr__(self, name: str) -> Array:
        try:
            return self.__dict__["columns"][name]  # type: ignore[no-any-return]
        except KeyError:
            raise AttributeError(name) from None

    def numbers(self, groups: Groups, part: str = "body") -> Array:
        """Number of each group.

        Parameters
        ----------
        groups : Groups
            Bytes of the groups, upper case.
        part : str
            ``body`` or ``remark``: where the groups stand, and which columns will be asked for.

        Returns
        -------
        int32, shape ``(groups,)``
            Index into the columns of this dictionary. Never raises.
        """
        found = self._find(self._short, groups.first[None, :])
        if groups.long_at.size:
            found[groups.long_at] = self._find(self._long, groups.long)
        known = self.columns[f"{part}_known"]
        fresh = found[~known[found]]
        if fresh.size:
            self._describe(np.unique(fresh), part)
        return found

    def _find(self, table: WordTable, words: Array) -> Array:
        found, lost = table.probe(words)
        while lost.size:  # again only where two new groups share a hash
            missing = words[:, lost]
            _, fresh = np.unique(table.mixed(missing), return_index=True)
            for k in fresh.tolist():
                table.place(missing[:, k], self._add(missing[:, k]))
            found[lost], left = table.probe(missing)
            lost = lost[left]
        return found

    def _describe(self, numbers: Array, part: str) -> None:
        read = _in_body if part == "body" else _in_remarks
        for number in numbers.tolist():
            self.columns[f"{part}_known"][number] = True
            if number:  # 0 is too long to be read
                for name, value in read(self._texts[number]).items():
                    self.columns[name][number] = value

    def _add(self, row: Array) -> int:
        number = self.size
        self.size += 1
        if number >= len(self.columns["kind"]):
            for name, (dtype, default) in _COLUMNS.items():
                old = self.columns[name]
                new = np.full(2 * len(old), default, dtype=dtype)
                new[: len(old)] = old
                self.columns[name] = new
        self._texts.append(row.tobytes().rstrip(b"\0").decode("ascii", "replace"))
        return number


def read_body(groups: str) -> Metar | None:
    """A made-up report around some groups of a body, decoded; ``None`` when it is refused."""
    try:
        return decode_metar(f"XBRK 011200Z {groups}", _NEAR)
    except AdvisorError:
        return None


def _in_body(text: str) -> dict[str, Any]:
    """What one group does in a body."""
    kind, value = g.classify(text)
    out: dict[str, Any] = {"kind": kind}
    if kind == g.WIND:
        _wind(text, out)
    elif kind == g.VARYING:
        _varying(text, out)
    elif kind == g.VISIBILITY:
        _visibility(text, out)
    elif kind == g.SKY:
        out.update(_sky(value), sure=True, weather=_cloud(value))
    elif kind == g.WEATHER:
        out.update(sure=True, weather=int(weather_flags(text.split("/"))))
    elif kind == g.RECENT:
        out.update(sure=True, weather=0 if text == "RE//" else int(weather_flags([], recent=[text])))
    elif kind == g.TEMPERATURE:
        out["sure"] = all(part is None or -90 <= part <= 60 for part in value)
        out["temperature_c"], out["dewpoint_c"] = (NAN if part is None else float(part) for part in value)
    elif kind == g.PRESSURE:
        out["sure"] = value is None or isinstance(value, float)
        if isinstance(value, float):
            out.update(altimeter_inhg=round(value, 2), exact_inhg=value, letter_a=text[0] == "A")
    elif kind == g.SLASHES:
        out.update(sure=True, slashes=min(len(text), 10))
    elif kind in (g.AUTO, g.COR, g.RVR, g.OTHER, g.ABSENT):
        out["sure"] = True
    return out


def _wind(text: str, out: dict[str, Any]) -> None:
    metar = read_body(f"{text} 9999")
    if metar is None:
        return
    segment = observation_segment(metar, 0, 0.0)
    out.update(
        sure=True,
        wind_kind=int(segment.wind_kind),
        gust_state=int(segment.gust_state),
        mean_kt=segment.mean_kt,
        gust_kt=segment.gust_kt,
        from_deg_true=segment.from_deg_true,
        arc_start_deg=segment.arc_start_deg,
        arc_width_deg=segment.arc_width_deg,
        estimated=segment.wind_estimated,
        undecoded=segment.undecoded,
    )


def _varying(text: str, out: dict[str, Any]) -> None:
    """dddVddd leaves the wind alone when it holds slashes; ends over 360 are for the slow path."""
    if "/" in text:
        out["sure"] = True
        return
    first, last = int(text[:3]), int(text[4:])
    if first <= 360 and last <= 360:
        out.update(sure=True, swing_from_deg=float(first % 360), swing_deg=float((last - first) % 360))


def _visibility(text: str, out: dict[str, Any]) -> None:
    metar = read_body(f"18005KT {text}")
    if metar is None:
        return
    segment = observation_segment(metar, 0, 0.0)
    out.update(sure=True, visibility_sm=segment.visibility_sm, undecoded=segment.undecoded)
    if text == "CAVOK":
        out["sky"] = TOLD


def _sky(group: SkyLayer | str) -> dict[str, Any]:
    if isinstance(group, str) or group.cover in ("FEW", "SCT"):
        return {"sky": TOLD}
    base = NAN if group.base_ft_agl is None else float(group.base_ft_agl)
    if group.cover == "///":
        return {"sky": AMOUNTLESS, "base_ft": base, "amountless_cloud": group.cloud_type is not None}
    return {"sky": HEIGHTLESS} if base != base else {"sky": CEILING, "base_ft": base}


def _cloud(group: SkyLayer | str) -> int:
    cloud = None if isinstance(group, str) else group.cloud_type
    return int(Wx.CB) if cloud == "CB" else int(Wx.TCU) if cloud == "TCU" else 0


def _in_remarks(text: str) -> dict[str, Any]:
    """What one group says alone in the remarks, from the reader of remarks itself."""
    alone = parse_remarks([text], _NEAR)
    bits = _STARTS.get(text, Remark(0))
    if alone.lightning:
        bits |= Remark.LIGHTNING
    if alone.no_thunder_sensor:
        bits |= Remark.TSNO
    if alone.maintenance_needed:
        bits |= Remark.MAINTENANCE
    layer_may_vary = parse_remarks([text, "V", "BKN"], _NEAR).ceiling_min_ft_agl is not None
    if alone.temperature_c is not None or layer_may_vary or text == "ESTIMATED":
        bits |= Remark.UNSURE
    # Beside lightning, a word of place is taken up into its text; nothing else is.
    may_be_place = text.strip(",-").replace("-", "").isalpha()
    placed = parse_remarks(["LTG", text], _NEAR) if may_be_place else NO_REMARKS
    if placed.lightning and placed.lightning[0] == f"LTG {text}":
        bits |= Remark.PLACE
        if text == "DSNT":
            bits |= Remark.DISTANT
        if text in ("VC", "OHD"):
            bits |= Remark.CLOSE
    located = bits & (Remark.LIGHTNING | Remark.THUNDER)
    weather = 0 if located else int(weather_flags([], None, _only_weather(alone)))
    return {"remark": int(bits), "remark_weather": weather}


def _only_weather(alone: Remarks) -> Remarks:
    return Remarks(
        thunder_location=alone.thunder_location,
        cb_or_tcu=alone.cb_or_tcu,
        funnel_cloud=alone.funnel_cloud,
        virga=alone.virga,
        no_present_weather_sensor=alone.no_present_weather_sensor,
        no_freezing_rain_sensor=alone.no_freezing_rain_sensor,
    )
