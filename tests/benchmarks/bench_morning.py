"""The desk's morning for 500 fields: ``python -m tests.benchmarks.bench_morning [--fields N] [--rounds N] [--profile]``.

From a store with one METAR and one TAF of each field to a finished site (index, a page a field, text, JSON, CSV),
against the bare decoders (the ``metar`` package and our TAF decoder) on the same texts in the same run. Rounds are
interleaved, medians compared; every memory of what reports say is emptied before each, so that a round is a posting
of its own. Aim: at most 2.5. Then where the time goes, stage by stage, and the floor: the same bytes written into as
many files and nothing else. They are written below TMPDIR: on a slow disk the floor alone can be several times bare.
Texts are made up from templates; the fields are real identifiers, so that runways and time zones are looked up.
Last, whole processes in pairs, from start to exit: ``advisor morning --offline`` against a process that imports the
bare decoders and reads the same texts; and the same command cut off at the ratings, before a word is written.
"""

from __future__ import annotations

import argparse
import cProfile
import gc
import os
import pstats
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any

from metar import Metar as package

from advisor import advice
from advisor.cli import GC_THRESHOLD
from advisor.commands import common
from advisor.commands import morning as command
from advisor.commands.common import Choices
from advisor.commands.morning import Wanted
from advisor.places.packed_file import packed
from advisor.present import site as site_writer
from advisor.present.site import write_site
from advisor.reports.decode_taf import decode_taf
from advisor.reports.store import Store

NOW = datetime(2026, 4, 25, 13, 10, tzinfo=UTC)
SKIES = ("CLR", "FEW045", "SCT035 BKN100", "BKN018", "OVC009", "FEW040 BKN120", "SCT250")
#: Stages of a posting, in order: name, where the function is looked up, its names.
STAGES: tuple[tuple[str, ModuleType, tuple[str, ...]], ...] = (
    ("find the fields", command, ("_known_fields",)),
    ("read the store", command, ("open_desk",)),
    ("describe and decode", common, ("prepare",)),
    ("conditions", advice, ("build_conditions",)),
    ("rules", advice, ("Ratings",)),
    ("blocks and hazards", command, ("summarise",)),
    ("sentences", site_writer, ("lines_of",)),
    ("text", site_writer, ("station_text", "head_text")),
    ("JSON", site_writer, ("station_json_text",)),
    ("CSV", site_writer, ("morning_csv",)),
    ("pages", site_writer, ("station_html", "index_html")),
    ("write the files", site_writer, ("_write",)),
)
SEEN = ("10SM", "10SM", "10SM", "6SM HZ", "3SM BR", "1/2SM FG", "4SM -RA BR")


def identifiers(count: int) -> list[str]:
    """Fields of the packed list that report weather, have runways and lie in the contiguous US."""
    places = packed()
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


@contextmanager
def timed(spent: dict[str, float]) -> Iterator[None]:
    """Seconds of each stage added to ``spent`` while inside."""

    def watched(stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **given: Any) -> Any:
            begun = time.perf_counter()
            try:
                return function(*args, **given)
            finally:
                spent[stage] = spent.get(stage, 0.0) + time.perf_counter() - begun

        return run

    before = [(where, name, getattr(where, name)) for _, where, names in STAGES for name in names]
    for stage, where, names in STAGES:
        for name in names:
            setattr(where, name, watched(stage, getattr(where, name)))
    try:
        yield
    finally:
        for where, name, function in before:
            setattr(where, name, function)


def forget() -> None:
    """Empty every memory of many values; those of a few are files read once, which a posting finds read."""
    for module_name, module in list(sys.modules.items()):
        if not module_name.startswith("advisor."):
            continue
        for thing in list(vars(module).values()):
            if hasattr(thing, "cache_parameters") and (thing.cache_parameters()["maxsize"] or 0) > 64:
                thing.cache_clear()


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--fields", type=int, default=500)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--profile", action="store_true")
    args = asked.parse_args()
    gc.set_threshold(GC_THRESHOLD)  # as the command does
    dice = random.Random(17)
    idents = identifiers(args.fields)
    metars = [report(i, dice) for i in idents]
    tafs = [forecast(i, dice) for i in idents]
    folder = Path(tempfile.mkdtemp(prefix="bench-morning-"))
    try:
        os.environ["ADVISOR_STORE"] = str(folder / "store")
        kept = Store(folder / "store").put([(x, None) for x in (*metars, *tafs)], now=NOW, source="text")
        _run(args, idents, metars, tafs, folder, kept)
        if not args.profile:
            _whole_processes(args.rounds, idents, metars, tafs, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(
    args: argparse.Namespace, idents: list[str], metars: list[str], tafs: list[str], folder: Path, kept: int
) -> None:
    wanted = Wanted(tuple(idents), Choices(offline=True, now_text=NOW.isoformat()), "", 120, None)

    def bare() -> None:
        for text in metars:
            package.Metar(text, month=4, year=2026)
        for text in tafs:
            decode_taf(text, NOW)

    def post() -> None:
        command.posting(wanted)

    def site() -> None:
        summary, desk = command.posting(wanted)
        written = write_site(folder / "site", summary, cards=False, school=desk.school if desk else None)
        if written.pages != len(idents) + 1:
            raise SystemExit(f"{written.pages} pages instead of {len(idents) + 1}: {summary.unserved[:3]}")

    site()  # imports, compiled templates and the packed places are met once
    if args.profile:
        forget()
        profile = cProfile.Profile()
        profile.runcall(site)
        pstats.Stats(profile).sort_stats("tottime").print_stats(45)
        return
    same_bytes = [(p.name, p.read_bytes()) for p in sorted((folder / "site").iterdir())]

    def floor() -> None:
        (folder / "floor").mkdir()
        for name, data in same_bytes:
            with open(folder / "floor" / name, "wb") as handle:
                handle.write(data)

    spent: dict[str, list[float]] = {name: [] for name, *_ in STAGES}

    def staged() -> None:
        once: dict[str, float] = {}
        with timed(once):
            site()
        for name in spent:
            spent[name].append(once.get(name, 0.0))

    runners: dict[str, Callable[[], None]] = {
        "bare decoders": bare,
        "store to summary": post,
        "store to finished site": site,
        "the site's stages": staged,
        "floor: writing alone": floor,
    }
    seconds: dict[str, list[float]] = {name: [] for name in runners}
    for _ in range(args.rounds):
        for name, run in runners.items():
            shutil.rmtree(folder / "floor", ignore_errors=True)
            forget()
            begun = time.perf_counter()
            run()
            seconds[name].append(time.perf_counter() - begun)
    base = statistics.median(seconds["bare decoders"])
    size_mb = sum(len(data) for _, data in same_bytes) / 1e6
    print(f"{len(idents)} fields, {kept} reports, median of {args.rounds} interleaved rounds")
    for name, times in seconds.items():
        if name != "the site's stages":
            _show(name, statistics.median(times), base, len(idents))
    print(f"where the time goes ({len(same_bytes)} files, {size_mb:.1f} MB):")
    for name, times in spent.items():
        _show(f"  {name}", statistics.median(times), base, len(idents))
    rest = [whole - sum(parts) for whole, *parts in zip(seconds["the site's stages"], *spent.values(), strict=True)]
    _show("  all the rest", statistics.median(rest), base, len(idents))


BARE_PROCESS = f"""
import sys
from datetime import datetime
from metar import Metar
from advisor.reports.decode_taf import decode_taf
now = datetime.fromisoformat({NOW.isoformat()!r})
for text in sys.stdin.read().splitlines():
    decode_taf(text, now) if text.startswith("TAF") else Metar.Metar(text, month=now.month, year=now.year)
"""


#: ``advisor morning`` cut off at the ratings: nothing summed up, no word written.
RATED_PROCESS = """
import os, sys
from advisor import cli
os.environ.setdefault(*cli.ONE_THREAD)
from advisor.commands import morning
morning.summarise = lambda *_, **__: os._exit(0)
sys.argv[0] = "advisor"
cli.main()
"""


def _whole_processes(rounds: int, idents: list[str], metars: list[str], tafs: list[str], folder: Path) -> None:
    texts = "\n".join((*metars, *tafs))
    morning = [sys.executable, "-m", "advisor", "morning", *idents, "--offline", "--now", NOW.isoformat()]
    commands = {
        "bare decoders": [sys.executable, "-c", BARE_PROCESS],
        "up to the ratings": [sys.executable, "-c", RATED_PROCESS, *morning[3:]],
        "advisor morning": morning,
        "advisor morning --out": [*morning, "--out", str(folder / "whole"), "--no-cards"],
    }
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    seconds: dict[str, list[float]] = {name: [] for name in commands}
    for turn in range(rounds + 1):
        for name, line in commands.items():
            begun = time.perf_counter()
            subprocess.run(line, input=texts, capture_output=True, text=True, check=True, env=environment)
            if turn:  # the first writes byte code
                seconds[name].append(time.perf_counter() - begun)
    print(f"whole processes, medians of {rounds} rounds, ratios of pairs:")
    base = seconds["bare decoders"]
    for name, times in seconds.items():
        ratio = statistics.median(b / a for a, b in zip(base, times, strict=True))
        print(f"  {name:24} {statistics.median(times) * 1000:6.0f} ms  {ratio:5.2f} times bare (aim 2.5)")


def _show(name: str, seconds: float, base: float, fields: int) -> None:
    ms = seconds * 1000
    print(f"{name:24} {ms:8.1f} ms  {ms / fields:6.2f} ms a field  {seconds / base:5.2f} times bare")


if __name__ == "__main__":
    main()
