"""A made-up archive of the demonstration's fields, for the tests of seasons."""

from __future__ import annotations

import csv
import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from advisor.archive.season import Settings
from advisor.archive.source import Rows
from advisor.demo import load_demo
from advisor.segments import to_minutes

SETTINGS = Settings(fields=load_demo().school.stations)
START = datetime(2025, 3, 1, tzinfo=UTC)
WINDS = (
    "00000KT",
    "VRB04KT",
    "22006KT",
    "22012KT",
    "22012G19KT",
    "31018G28KT",
    "18009KT 140V220KT",
    "/////KT",
)
SKIES = ("CLR", "FEW050", "SCT035 BKN090", "OVC018", "BKN008", "VV002", "")
WEATHER = ("", "", "", "BR", "-RA", "TSRA", "-SN", "FG")
SEEN = ("10SM", "10SM", "6SM", "3SM", "1/2SM", "")
AIR = ("15/05", "31/22", "M04/M05", "01/01", "")
REMARKS = (
    "RMK AO2",
    "RMK AO2 $",
    "RMK AO2 PK WND 22031/{past}",
    "RMK AO2 LTG DSNT W",
    "RMK AO2 TSNO WSHFT {past}",
    "",
)


def report(station: str, when: datetime, rng: random.Random) -> str:
    """One made-up report."""
    past = f"{max(when.minute - 5, 0):02d}"
    parts = (
        rng.choice(WINDS),
        rng.choice(SEEN),
        rng.choice(WEATHER),
        rng.choice(SKIES),
        rng.choice(AIR),
        "A2992",
    )
    text = " ".join(part for part in parts if part)
    return f"{station} {when:%d%H%M}Z AUTO {text} {rng.choice(REMARKS).format(past=past)}".strip()


def archive(days: int = 12, seed: int = 1, step_days: int = 29) -> list[tuple[str, datetime, str]]:
    """Some days of hourly reports and specials over a year, sorted by station and time."""
    rng = random.Random(seed)
    rows = []
    for station in ("XBRK", "XHLW"):
        for day in range(days):
            for hour in range(24):
                when = START + timedelta(days=day * step_days, hours=hour, minutes=53)
                if rng.random() < 0.2:
                    special = when - timedelta(minutes=rng.randrange(1, 50))
                    rows.append((station, special, report(station, special, rng)))
                rows.append((station, when, report(station, when, rng)))
    return rows


def as_rows(rows: list[tuple[str, datetime, str]]) -> Rows:
    """The same as ``rate_partition`` takes them."""
    return Rows(
        np.array([row[0] for row in rows], dtype=object),
        np.array([to_minutes(row[1]) for row in rows], dtype=np.int64),
        np.array([row[2] for row in rows], dtype=object),
    )


def write_csv(path: Path, rows: list[tuple[str, datetime, str]], header: str = "station,time,raw") -> Path:
    """The same as a file."""
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle)
        writer.writerow(header.split(","))
        writer.writerows((station, f"{when:%Y-%m-%dT%H:%M:%SZ}", raw) for station, when, raw in rows)
    return path
