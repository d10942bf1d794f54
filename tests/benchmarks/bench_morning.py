"""The desk's morning for 500 fields: ``python -m tests.benchmarks.bench_morning [--fields N] [--rounds N] [--profile]``.

From a store with one METAR and one TAF of each field to a finished site (index, page, text and JSON a field, CSV),
against the bare decoders (the ``metar`` package and our TAF decoder) on the same texts in the same run. Rounds are
interleaved, medians compared; decoders' memories of tokens are emptied before every round. Aim: at most 2.5.
Texts are made up from templates; the fields are real identifiers, so that runways and time zones are looked up.
"""

from __future__ import annotations

import argparse
import cProfile
import os
import pstats
import random
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from metar import Metar as package

from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.places.stations import _places
from advisor.present.site import write_site
from advisor.reports.decode_taf import decode_taf
from advisor.reports.store import Store
from tests.benchmarks.bench_taf import forget

NOW = datetime(2026, 4, 25, 13, 10, tzinfo=UTC)
SKIES = ("CLR", "FEW045", "SCT035 BKN100", "BKN018", "OVC009", "FEW040 BKN120", "SCT250")
SEEN = ("10SM", "10SM", "10SM", "6SM HZ", "3SM BR", "1/2SM FG", "4SM -RA BR")


def identifiers(count: int) -> list[str]:
    """Fields of the packed list that report weather, have runways and lie in the contiguous US."""
    places = _places()
    out = []
    for i in range(places.count):
        s = places.station(i)
        if s.reports_weather and s.station.startswith("K") and s.country == "US" and places.runway_ends(i):
            out.append(s.station)
    return random.Random(4).sample(out, count)


def wind(dice: random.Random, low: int, high: int) -> str:
    speed = dice.randint(low, high)
    if speed < 3:
        return "00000KT"
    if speed < 6 and dice.random() < 0.3:
        return f"VRB{speed:02d}KT"
    gust = f"G{speed + dice.randint(8, 14):02d}" if speed > 10 and dice.random() < 0.5 else ""
    return f"{dice.randint(1, 36) * 10:03d}{speed:02d}{gust}KT"


def report(ident: str, dice: random.Random) -> str:
    t = dice.randint(2, 24)
    dew = t - dice.randint(0, 12)
    seen, sky = dice.choice(SEEN), dice.choice(SKIES)
    signed = f"{t:02d}/{'M' if dew < 0 else ''}{abs(dew):02d}"
    tenths = f"T{t * 10:04d}{1 if dew < 0 else 0}{abs(dew) * 10:03d}"
    return (
        f"METAR {ident} 2512{dice.randint(51, 56)}Z AUTO {wind(dice, 0, 20)} {seen} {sky} {signed} A{dice.randint(2970, 3030)} "
        f"RMK AO2 SLP{dice.randint(50, 250):03d} {tenths}"
    )


def forecast(ident: str, dice: random.Random) -> str:
    storm = "TEMPO 2520/2523 VRB20G35KT 2SM TSRA BKN030CB" if dice.random() < 0.2 else ""
    return (
        f"TAF {ident} 251130Z 2512/2612 {wind(dice, 2, 14)} P6SM {dice.choice(SKIES).replace('CLR', 'SKC')} "
        f"FM251500 {wind(dice, 5, 18)} P6SM SCT045 FM251900 {wind(dice, 6, 24)} P6SM BKN050 {storm} "
        f"FM260100 {wind(dice, 3, 10)} P6SM SKC"
    )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--fields", type=int, default=500)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--profile", action="store_true")
    args = asked.parse_args()
    dice = random.Random(17)
    idents = identifiers(args.fields)
    metars = [report(i, dice) for i in idents]
    tafs = [forecast(i, dice) for i in idents]
    folder = Path(tempfile.mkdtemp(prefix="bench-morning-"))
    try:
        os.environ["ADVISOR_STORE"] = str(folder / "store")
        kept = Store(folder / "store").put([(x, None) for x in (*metars, *tafs)], now=NOW, source="text")
        _run(args, idents, metars, tafs, folder, kept)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(
    args: argparse.Namespace, idents: list[str], metars: list[str], tafs: list[str], folder: Path, kept: int
) -> None:
    chosen = Choices(offline=True, now_text=NOW.isoformat())
    wanted = Wanted(tuple(idents), chosen, "", 120, None)

    def bare() -> None:
        for text in metars:
            package.Metar(text, month=4, year=2026)
        for text in tafs:
            decode_taf(text, NOW)

    def post() -> None:
        posting(wanted)

    def site() -> None:
        summary, desk = posting(wanted)
        written = write_site(folder / "site", summary, cards=False, school=desk.school if desk else None)
        if written.pages != len(idents) + 1:
            raise SystemExit(f"{written.pages} pages instead of {len(idents) + 1}: {summary.unserved[:3]}")

    site()  # imports, compiled templates and the packed places are met once
    if args.profile:
        profile = cProfile.Profile()
        profile.runcall(site)
        pstats.Stats(profile).sort_stats("tottime").print_stats(45)
        return
    runners: dict[str, Callable[[], None]] = {
        "bare decoders": bare,
        "store to summary": post,
        "store to finished site": site,
    }
    seconds: dict[str, list[float]] = {name: [] for name in runners}
    for _ in range(args.rounds):
        for name, run in runners.items():
            forget()
            begun = time.perf_counter()
            run()
            seconds[name].append(time.perf_counter() - begun)
    base = statistics.median(seconds["bare decoders"])
    print(f"{len(idents)} fields, {kept} reports, median of {args.rounds} interleaved rounds")
    for name, times in seconds.items():
        median = statistics.median(times)
        each = median / len(idents) * 1000
        print(f"{name:24} {median * 1000:8.0f} ms  {each:6.2f} ms a field  {median / base:5.2f} times bare")


if __name__ == "__main__":
    main()
