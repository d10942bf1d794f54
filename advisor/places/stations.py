"""Stations and runways by identifier, by distance and by the school's own word.

A school's own fields are passed in as ``fields`` and come before the packed file (``packed_file``).
"""

from __future__ import annotations

import string
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np

from advisor.errors import UnknownStation, printable
from advisor.places.geodesy import bearing_deg_true, distance_nm
from advisor.places.packed_file import Field, RunwayEnd, Station, packed

#: Said wherever runway data from the packed file is shown.
CHECK_NOTE = "check the chart supplement before use"


def data_note() -> str:
    """One line for a page: date and origin of the stations and runways. Raises DataFileError."""
    places = packed()
    return f"stations and runways of {places.date} ({places.made_from}); {CHECK_NOTE}"


def _own(station: str, fields: Iterable[Field]) -> Field | None:
    return next((f for f in fields if f.station.station == station), None)


@lru_cache(maxsize=4096)  # a posting asks for each of its fields four times
def _resolve(station: str) -> int | None:
    """Record number of an identifier or of an American local identifier (BDU for KBDU)."""
    places = packed()
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
    places = packed()
    ranked: list[tuple[bool, int, int, str]] = []
    for spelling, slip in slips.items():
        index = places.index_of(spelling)
        if index is not None and spelling != text:
            longest_ft = max((end.length_ft for end in places.runway_ends(index)), default=0)
            ranked.append((not places.station(index).reports_weather, slip, -longest_ft, spelling))
    return (found + [c for *_, c in sorted(ranked) if c not in found])[:limit]


@lru_cache(maxsize=4096)
def _station(index: int) -> Station:
    return packed().station(index)


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
    near = near_spellings(text, fields) if 3 <= len(text) <= 5 and text.isascii() else []
    hint = f" Near spellings: {', '.join(near)}." if near else ""
    raise UnknownStation(
        f"No station '{printable(station.strip(), 12)}' is known.{hint} Give a four-letter identifier as your weather briefing "
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
    return () if index is None else packed().runway_ends(index)


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
    places = packed()
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
