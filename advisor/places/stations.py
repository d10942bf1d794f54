"""Stations and runways from one packed text file, found by halving: no table is ever loaded to look one up.

The file (``advisor/data/places.txt``) is made by ``tests/tools/build_places.py``, which describes its layout. A
school's own fields are passed in as ``fields`` and come before the file.
"""

from __future__ import annotations

import mmap
import string
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.errors import DataFileError, UnknownStation
from advisor.places.geodesy import bearing_deg_true, distance_nm
from advisor.records import dataclass

DATA_FILE = Path(__file__).resolve().parent.parent / "data" / "places.txt"
#: Said wherever runway data from the packed file is shown.
CHECK_NOTE = "check the chart supplement before use"

_SURFACE = {
    "A": "asphalt", "C": "concrete", "T": "turf", "D": "dirt", "G": "gravel", "S": "sand", "O": "constructed",
    "-": "not known",
}  # fmt: skip
_SOURCE = {"A": "airport list", "W": "weather station list; time zone from the nearest airport"}
_COLUMNS = (
    ("station", 0, 4), ("latitude", 4, 12), ("longitude", 12, 21), ("elevation", 21, 27), ("zone", 27, 30),
    ("country", 30, 32), ("reports", 32, 33), ("source", 33, 34), ("text", 34, 41),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Station:
    """A place with a weather identifier.

    ``elevation_ft`` is above sea level; ``time_zone`` an IANA name; ``country`` two letters; ``source`` says
    where the record came from. ``reports_weather`` is what the station list says, not a promise. ``note``
    holds a doubt about the record that a page should print, or is empty.
    """

    station: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float
    time_zone: str
    country: str
    source: str
    reports_weather: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class RunwayEnd:
    """One end of a runway, named by its painted number (the way it is flown: 04 is flown north-east).

    ``bearing_deg_true`` is the direction of take-off and landing; ``bearing_estimated`` marks one worked out
    from the painted number (nine in ten are within 7 degrees).
    ``pattern_side`` is ``left`` unless a school says so.
    """

    name: str
    bearing_deg_true: float
    length_ft: int
    surface: str
    closed: bool = False
    pattern_side: str = "left"
    bearing_estimated: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """A school's own record of a field: it stands in for the packed file's.

    ``runway_ends`` ``None`` keeps the file's runways; an empty tuple says there are none.
    """

    station: Station
    runway_ends: tuple[RunwayEnd, ...] | None = None


class _Places:
    """The packed file, mapped into memory."""

    def __init__(self, path: Path) -> None:
        try:
            with path.open("rb") as handle:
                self._map = mmap.mmap(handle.fileno(), 0, access=mmap.ACCESS_READ)
            self._aliases_at = self._map.find(b"\n") + 1
            words = self._map[: self._aliases_at].decode("ascii").rstrip("\n").split("\t")
            header = dict(zip(words[::2], words[1::2], strict=False))  # name and value in turn
            self.count = int(header["count"])
            self.width = int(header["record_bytes"])
            self.zones = header["zones"].split(" ")
            self.date = header["date"]
            self.made_from = header["made_from"]
            self._records_at = self._map.find(b"\n", self._aliases_at) + 1
            self._text_at = self._records_at + self.count * self.width
            if self.width != _COLUMNS[-1][2] + 1 or self._text_at >= len(self._map):
                raise ValueError("the file is cut short or of another format")
        except (OSError, ValueError, KeyError) as error:
            raise DataFileError(
                f"The station file {path.name} cannot be read ({error}); install the package again."
            ) from error

    @cached_property
    def aliases(self) -> dict[str, str]:
        words = self._map[self._aliases_at : self._records_at].decode("ascii").split()
        return dict(zip(words[::2], words[1::2], strict=True))

    def index_of(self, station: str) -> int | None:
        """Record number of an identifier, or ``None``."""
        if len(station) != 4 or not station.isascii():
            return None
        wanted = station.encode("ascii")
        data, at, width = self._map, self._records_at, self.width
        low, high = 0, self.count
        while low < high:
            middle = (low + high) // 2
            start = at + middle * width
            found = data[start : start + 4]
            if found == wanted:
                return middle
            if found < wanted:
                low = middle + 1
            else:
                high = middle
        return None

    def _text(self, offset: int) -> tuple[str, str]:
        start = self._text_at + offset
        name, _, packed = self._map[start : self._map.find(b"\n", start)].decode("utf-8").partition("\t")
        return name, packed

    def _columns(self, index: int) -> dict[str, str]:
        start = self._records_at + index * self.width
        record = self._map[start : start + self.width].decode("ascii")
        return {name: record[a:b] for name, a, b in _COLUMNS}

    def station(self, index: int) -> Station:
        c = self._columns(index)
        elevation_ft = float(c["elevation"])
        note = ""
        if elevation_ft == 0.0 and c["country"] == "US":
            note = "elevation is recorded as 0 ft; check it"
        return Station(
            station=c["station"],
            name=self._text(int(c["text"]))[0],
            latitude_deg=float(c["latitude"]),
            longitude_deg=float(c["longitude"]),
            elevation_ft=elevation_ft,
            time_zone=self.zones[int(c["zone"])],
            country=c["country"],
            source=f"{_SOURCE.get(c['source'], 'list')}, {self.date}",
            reports_weather=c["reports"] == "r",
            note=note,
        )

    def runway_ends(self, index: int) -> tuple[RunwayEnd, ...]:
        packed = self._text(int(self._columns(index)["text"]))[1]
        ends: list[RunwayEnd] = []
        for item in packed.split(";") if packed else ():
            names, bearing, length, surface = item.split(" ")
            estimated = bearing.startswith("~")
            bearing_deg = int(bearing.lstrip("~")) / 10.0
            for i, name in enumerate(names.split("/")):
                if name:
                    ends.append(
                        RunwayEnd(
                            name, (bearing_deg + 180.0 * i) % 360.0, int(length), _SURFACE[surface],
                            bearing_estimated=estimated,
                        )
                    )  # fmt: skip
        return tuple(ends)

    @cached_property
    def positions(self) -> tuple[Any, Any]:
        """Latitudes and longitudes of every record, degrees, shape (count,)."""
        raw = np.frombuffer(self._map, dtype=np.uint8, count=self.count * self.width, offset=self._records_at)
        table = raw.reshape(self.count, self.width)
        return tuple(
            np.ascontiguousarray(table[:, a:b]).view(f"S{b - a}").ravel().astype(np.float64)
            for _, a, b in _COLUMNS[1:3]
        )  # type: ignore[return-value]


@lru_cache(maxsize=4)
def _places(path: Path = DATA_FILE) -> _Places:
    return _Places(path)


def data_note() -> str:
    """One line for a page: date and origin of the stations and runways. Raises DataFileError."""
    places = _places()
    return f"stations and runways of {places.date} ({places.made_from}); {CHECK_NOTE}"


def _own(station: str, fields: Iterable[Field]) -> Field | None:
    return next((f for f in fields if f.station.station == station), None)


@lru_cache(maxsize=4096)  # a posting asks for each of its fields four times
def _resolve(station: str) -> int | None:
    """Record number of an identifier or of an American local identifier (BDU for KBDU)."""
    places = _places()
    index = places.index_of(station)
    if index is None and 3 <= len(station) <= 4:
        if len(station) == 3:
            index = places.index_of("K" + station)
        if index is None and station in places.aliases:
            index = places.index_of(places.aliases[station])
        if index is None and len(station) == 4 and station[0] == "K":
            # K + a local identifier of Alaska, Hawaii or a territory is a common slip.
            index = places.index_of(places.aliases.get(station[1:], ""))
    return index


_KEYS = ("1234567890", "QWERTYUIOP", "ASDFGHJKL", "ZXCVBNM")


def _beside(a: str, b: str) -> bool:
    """True for neighbours in a row of the keyboard."""
    return any(a + b in row or b + a in row for row in _KEYS)


def near_spellings(station: str, fields: Iterable[Field] = (), limit: int = 4) -> list[str]:
    """Known identifiers one slip away, likeliest first: the school's own, those that report weather, swapped
    letters, a key beside the right one, the longer runway."""
    text = station.strip().upper()
    slips: dict[str, int] = {}  # spelling -> how unlikely the slip
    for i in range(len(text)):
        for c in string.ascii_uppercase + string.digits:
            slips[text[:i] + c + text[i + 1 :]] = 1 if _beside(c, text[i]) else 2
    for i in range(len(text) - 1):
        slips[text[:i] + text[i + 1] + text[i] + text[i + 2 :]] = 0
    if len(text) == 5:
        slips |= {text[:i] + text[i + 1 :]: 0 for i in range(5)}
    found = [f.station.station for f in fields if f.station.station in slips]
    places = _places()
    ranked: list[tuple[bool, int, int, str]] = []
    for spelling, slip in slips.items():
        index = places.index_of(spelling)
        if index is not None and spelling != text:
            longest_ft = max((end.length_ft for end in places.runway_ends(index)), default=0)
            ranked.append((not places.station(index).reports_weather, slip, -longest_ft, spelling))
    return (found + [c for *_, c in sorted(ranked) if c not in found])[:limit]


@lru_cache(maxsize=4096)
def _station(index: int) -> Station:
    return _places().station(index)


def find_station(station: str, fields: Sequence[Field] = ()) -> Station:
    """The station of an identifier.

    Parameters
    ----------
    station : str
        Four characters (KBDU), or an American local identifier (BDU, 1W1); case and outer spaces do not
        matter.
    fields : sequence of Field
        A school's own records, which come first.

    Returns
    -------
    Station

    Raises
    ------
    UnknownStation
        With a sentence naming near spellings.
    """
    text = station.strip().upper()
    own = _own(text, fields)
    if own is not None:
        return own.station
    index = _resolve(text)
    if index is not None:
        return _station(index)
    shown = "".join(c if c.isprintable() else "?" for c in station.strip())[:12]
    near = near_spellings(text, fields) if 3 <= len(text) <= 5 and text.isascii() else []
    hint = f" Near spellings: {', '.join(near)}." if near else ""
    raise UnknownStation(
        f"No station '{shown}' is known.{hint} Give a four-letter identifier as your weather briefing "
        "prints it, or describe the field in a school file."
    )


def runways(station: str, fields: Sequence[Field] = ()) -> tuple[RunwayEnd, ...]:
    """Both ends of every known land runway; empty when none is known. Never raises for an unknown station.

    Parameters
    ----------
    station : str
        As for :func:`find_station`.
    fields : sequence of Field
        A school's own records, which come first.

    Bearings are true, from the public-domain runway list, to a tenth of a degree.
    """
    text = station.strip().upper()
    own = _own(text, fields)
    if own is not None and own.runway_ends is not None:
        return own.runway_ends
    index = _resolve(text)
    return () if index is None else _places().runway_ends(index)


def nearest(
    latitude_deg: float,
    longitude_deg: float,
    within_nm: float,
    among: Iterable[str] | None = None,
    fields: Sequence[Field] = (),
) -> list[tuple[Station, float, float]]:
    """Stations within a distance, nearest first.

    Parameters
    ----------
    latitude_deg, longitude_deg : float, degrees
    within_nm : float
        Inclusive.
    among : iterable of str, optional
        Only these identifiers; unknown ones are skipped. Default: every station that reports weather.
    fields : sequence of Field
        A school's own records.

    Returns
    -------
    list of (Station, distance in NM, bearing from here in degrees true). Never raises.
    """
    places = _places()
    candidates: list[Station] = []
    if among is None:
        lat, lon = places.positions
        away = distance_nm(latitude_deg, longitude_deg, lat, lon)
        candidates = [places.station(int(i)) for i in np.flatnonzero(away <= within_nm)]
        candidates = [c for c in candidates if c.reports_weather]
        own = {f.station.station for f in fields}
        candidates = [c for c in candidates if c.station not in own] + [f.station for f in fields]
    else:
        for ident in dict.fromkeys(among):
            try:
                candidates.append(find_station(ident, fields))
            except UnknownStation:
                continue
    found = []
    for c in candidates:
        here = (latitude_deg, longitude_deg, c.latitude_deg, c.longitude_deg)
        distance = float(distance_nm(*here))
        if distance <= within_nm:
            found.append((c, distance, float(bearing_deg_true(*here))))
    return sorted(found, key=lambda item: (item[1], item[0].station))
