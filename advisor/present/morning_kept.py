"""What the next posting is compared with: a posting's JSON with only the keys that ``advisor.morning.changes`` reads.

The whole posting of hundreds of fields is ten megabytes, and to read it back takes longer than to decode every report.
"""

from __future__ import annotations

from typing import Any

from advisor.morning import MorningSummary, StationMorning
from advisor.morning.changes import SCHEMA
from advisor.present.day_json import iso, plain
from advisor.present.morning_json import encode


def kept_json(summary: MorningSummary, of_bytes: int | None = None) -> dict[str, Any]:
    """The posting as far as it is compared; ``of_bytes`` is the size of the whole one it stands beside. Never raises."""
    return {
        "schema": SCHEMA,
        "made_at": iso(summary.made_at),
        "of_bytes": of_bytes,
        "stations": [_station(s) for s in summary.stations],
    }


def kept_text(summary: MorningSummary, of_bytes: int | None = None) -> str:
    """:func:`kept_json` written out, with a closing newline."""
    return encode(kept_json(summary, of_bytes)) + "\n"


def _station(s: StationMorning) -> dict[str, Any]:
    wind = s.wind_now
    return {
        "station": s.station,
        "now": {
            "wind": {
                "from_deg_true": plain(wind.from_deg_true),
                "mean_kt": plain(wind.mean_kt),
                "gust_kt": plain(wind.gust_kt),
            }
        },
        "best_runway": s.best_runway.name if s.best_runway is not None else None,
        "hazards": [{"code": h.code, "name": h.name} for h in s.hazards],
        "blocks": [
            {
                "slot": iso(b.slot),
                "columns": {name: {"suitability": c.suitability.words} for name, c in b.cells.items()},
            }
            for b in s.blocks
        ],
    }
