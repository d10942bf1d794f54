"""Postings of made-up fields: short ways to have one and to look into it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.morning import MorningSummary, StationMorning

NOW = "2026-04-25T18:00:00Z"
GOOD = "22008KT 10SM CLR 15/05 A3000"


def post(*stations: str, previous: dict[str, Any] | None = None, block_min: int = 120, **given: Any) -> MorningSummary:
    """A posting of made-up fields; ``text`` stands for a file."""
    chosen = Choices(**{"demo": "from_file" not in given, **given})
    summary, _ = posting(Wanted(stations or ("XBRK", "XHLW", "XSND"), chosen, "", block_min, None), previous)
    return summary


def told(tmp_path: Path, text: str, *stations: str, **more: Any) -> MorningSummary:
    file = tmp_path / "reports.txt"
    file.write_text(text, "utf-8")
    return post(*stations, from_file=str(file), now_text=more.pop("now_text", NOW), **more)


def field(summary: MorningSummary, station: str) -> StationMorning:
    return next(s for s in summary.stations if s.station == station)
