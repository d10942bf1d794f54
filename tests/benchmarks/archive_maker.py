"""Archives for the benchmarks: hourly reports of real stations with made-up weather, in the mix of real US ones.

Shares of remarks and of gusts are near those counted in 11,654 real US reports; bodies are drawn from a pool. With
``--reports DIR`` the bodies are real reports, moved to the station and hour they stand for.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

STATIONS = """
KABQ KATL KBDU KBNA KBOI KBOS KBUF KCLE KCLT KCOS KDEN KDFW KDSM KELP KEWR KFAR KGRB KGTF KICT KIND KJAX KJFK KLAS
KLAX KLGA KLIT KLNK KMCI KMKE KMSP KMSY KOKC KOMA KORD KPDX KPHX KPIT KRDU KSEA KSFO
""".split()  # noqa: SIM905
#: Different bodies of an archive; making each hour its own would cost more than rating it.
POOL = 200_000
FIRST = datetime(1996, 1, 1, tzinfo=UTC)


def body(rng: random.Random) -> str:
    """Everything after the time of one made-up report."""
    speed = max(0, int(rng.gauss(8, 5)))
    gust = f"G{speed + rng.randint(8, 15):02d}" if speed > 8 and rng.random() < 0.35 else ""
    wind = "00000KT" if speed == 0 else f"{rng.randint(1, 36) * 10:03d}{speed:02d}{gust}KT"
    if 0 < speed < 6 and rng.random() < 0.1:
        wind = f"VRB{speed:02d}KT"
    seen = rng.choices(["10SM", f"{rng.randint(3, 9)}SM", "1 1/2SM", "1/4SM"], [85, 11, 2, 2])[0]
    weather = rng.choices(["", "-RA ", "BR ", "-SN ", "TSRA ", "HZ "], [86, 4, 5, 2, 1, 2])[0]
    base = rng.randint(3, 120)
    sky = rng.choices(
        ["CLR", f"FEW{base:03d}", f"SCT{base:03d} BKN{base + 30:03d}", f"OVC{base:03d}"], [40, 15, 25, 20]
    )[0]
    air = rng.gauss(14, 11)
    dew = air - abs(rng.gauss(8, 6))
    t, d = round(air), round(dew)
    remarks = [f"SLP{rng.randint(0, 999):03d}"]
    if gust and rng.random() < 0.25:
        remarks.insert(0, f"PK WND {rng.randint(1, 36) * 10:03d}{speed + 18:02d}/{rng.randint(0, 52):02d}")
    if "TS" in weather:
        remarks.insert(0, f"LTG DSNT {rng.choice(['N', 'SW AND W', 'ALQDS'])} TSB{rng.randint(0, 50):02d}")
    remarks.append(f"T{air < 0:d}{abs(round(air * 10)):03d}{dew < 0:d}{abs(round(dew * 10)):03d}")
    remarks += rng.choices([[], [f"5{rng.randint(0, 8)}{rng.randint(0, 60):03d}"], ["$"], ["TSNO"]], [55, 30, 12, 3])[0]
    pressure = f"A{round(rng.gauss(3000, 25)):04d}"
    return f"AUTO {wind} {seen} {weather}{sky} {_c(t)}/{_c(d)} {pressure} RMK AO2 {' '.join(remarks)}"


def _c(value: int) -> str:
    return f"M{-value:02d}" if value < 0 else f"{value:02d}"


def real_bodies(folder: Path) -> list[str]:
    """What stands after the time in the real US reports of a folder."""
    with (folder / "metar_sample.tsv").open(encoding="utf-8", newline="") as handle:
        raws = [row["raw"].split() for row in csv.DictReader(handle, delimiter="\t")]
    return [" ".join(g[2:]) for g in raws if g[0][0] == "K" and len(g) > 4 and g[1].endswith("Z")]


def hours(count: int, bodies: list[str] | None = None, seed: int = 1) -> Iterator[tuple[str, datetime, str]]:
    """Reports sorted by station and time."""
    rng = random.Random(seed)
    bodies = bodies or [body(rng) for _ in range(min(count, POOL))]
    share = -(-count // len(STATIONS))
    made = 0
    for station in STATIONS:
        when = FIRST - timedelta(minutes=7)
        for _ in range(share):
            if made >= count:
                return
            when += timedelta(hours=1)
            text = bodies[int(rng.random() * len(bodies))]
            yield station, when, f"{station} {when.day:02d}{when.hour:02d}{when.minute:02d}Z {text}"
            made += 1


def write(path: Path, count: int, bodies: list[str] | None = None) -> Path:
    """The same as CSV ``station,time,raw``."""
    with path.open("w", encoding="utf-8", newline="") as handle:
        handle.write("station,time,raw\n")
        for station, when, raw in hours(count, bodies):
            handle.write(f"{station},{when.isoformat()[:19]}Z,{raw}\n")
    return path
