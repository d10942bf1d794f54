"""The made-up and the published forecasts of the tests, and short ways to decode and compare them."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from advisor.reports.decode_taf import decode_taf
from advisor.reports.types import Taf
from advisor.wind import Wind, WindState

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 4, 25, 12, 0, tzinfo=UTC)
PUBLISHED = json.loads((ROOT / "fixtures/taf/published.json").read_text())
MADE_UP = json.loads((ROOT / "fixtures/taf/made_up.json").read_text())


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def stamp(text: str) -> datetime:
    return datetime.strptime(text, "%Y%m%d %H%M").replace(tzinfo=UTC)


def decode(text: str, now: datetime = NOW) -> Taf:
    return decode_taf(text, now)


def body(groups: str) -> Taf:
    """A made-up forecast for XBRK, valid 25 April 2026 1200Z for 24 hours."""
    return decode(f"TAF XBRK 251120Z 2512/2612 {groups}")


def numbers(wind: Wind | None) -> list[Any] | None:
    if wind is None:
        return None
    direction = "VRB" if wind.state is WindState.VARIABLE else wind.from_deg_true
    return [direction, wind.speed_kt, wind.gust_kt]
