"""Airport records of the data service: runways and variation, read with nothing taken on trust.

Source of the field forms: the service's own schema and recorded answers. ``alignment`` is degrees true: it is
the runway's number in magnetic plus the variation in every record seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.errors import FetchError
from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.answers import number, quote
from advisor.reports.identity import clean

_FT_PER_M = 1 / 0.3048  # exact
_VARIATION = pattern(r"(\d{1,3})([EW])")
_RUNWAY = pattern(r"(\d{1,2}[LRC]?)/(\d{1,2}[LRC]?)")
_SIZE = pattern(r"(\d{2,5})x(\d{1,4})")


@dataclass(frozen=True, slots=True)
class RunwayRecord:
    """One runway: its two ends as printed, the true direction of the first, and its size; ``None``
    unknown."""

    ends: tuple[str, str]
    true_deg: float | None
    length_ft: int | None
    width_ft: int | None
    surface: str


@dataclass(frozen=True, slots=True)
class AirportRecord:
    """One airport. ``variation_deg`` is east positive: magnetic = true - variation. ``None`` is unknown."""

    station: str
    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_ft: float | None
    variation_deg: float | None
    runways: tuple[RunwayRecord, ...]


def airport_record(record: Mapping[str, Any]) -> AirportRecord:
    """Read one object of the service's airport or station answer.

    Helipads and runways without two numbered ends are left out. Raises FetchError without a usable position.
    """
    latitude, longitude = number(record.get("lat")), number(record.get("lon"))
    station = clean(str(record.get("icaoId")))[:8]
    if latitude is None or longitude is None or abs(latitude) > 90 or abs(longitude) > 180:
        raise FetchError(
            f"The service's record of {station} has no usable position ({quote(record.get('lat'))}, "
            f"{quote(record.get('lon'))}). Describe the field in the school file instead."
        )
    elevation_m = number(record.get("elev"))
    runways = record.get("runways")
    read = [_runway(r) for r in runways if isinstance(r, dict)] if isinstance(runways, list) else []
    return AirportRecord(
        station,
        clean(str(record.get("name") or record.get("site") or ""))[:80],
        latitude,
        longitude,
        None if elevation_m is None else elevation_m * _FT_PER_M,
        _variation(record.get("magdec")),
        tuple(r for r in read if r is not None),
    )


def _variation(value: Any) -> float | None:
    match = _VARIATION.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None or int(match[1]) > 180:
        return None
    return float(match[1]) if match[2] == "E" else -float(match[1])


def _runway(record: Mapping[str, Any]) -> RunwayRecord | None:
    ends = _RUNWAY.fullmatch(str(record.get("id")))
    if ends is None or not all(1 <= int(e.rstrip("LRC")) <= 36 for e in ends.groups()):
        return None
    true_deg = number(record.get("alignment"))
    size = _SIZE.fullmatch(str(record.get("dimension")))
    return RunwayRecord(
        (ends[1].zfill(2 + (not ends[1][-1].isdigit())), ends[2].zfill(2 + (not ends[2][-1].isdigit()))),
        true_deg if true_deg is not None and 0 <= true_deg <= 360 else None,
        int(size[1]) if size else None,
        int(size[2]) if size else None,
        clean(str(record.get("surface") or ""))[:20],
    )
