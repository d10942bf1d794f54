"""A service pointed at a server of this machine, and the answers that server gives."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from advisor.reports.fetch import Service

HTTP = Path(__file__).resolve().parent.parent / "fixtures" / "http"
METARS = (HTTP / "metar_since_2025_09.json").read_text("utf-8")
ROWS = json.loads(METARS)
GATEWAY_METAR = (HTTP / "gateway_metar_XBRK.TXT").read_text("utf-8")
SIGN_IN = (HTTP / "sign_in.html").read_text("utf-8")
ROUND = ("XBRK", "XHLW", "XSND")


@dataclass
class Made:
    """A service pointed at a server, and the waits it asked for."""

    service: Service
    waits: list[float]


def made(url: str, **settings: object) -> Made:
    waits: list[float] = []
    settings.setdefault("timeout", (2.0, 2.0))
    return Made(Service(url, url, sleep=waits.append, **settings), waits)  # type: ignore[arg-type]


def body_of(rows: object) -> str:
    return json.dumps(rows)
