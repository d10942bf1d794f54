"""Day cases as data: build the reports, ask the engine, hold the answer to the constraints."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.advice import PracticeDay, practice_days
from advisor.aircraft import Aircraft
from advisor.conditions import StationInput
from advisor.lessons import lesson_keys, lessons
from advisor.limits import Changes, stage_setup
from advisor.places import RunwayEnd, Station
from advisor.present.day_text import day_text
from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.rules.registry import Suitability
from advisor.segments import to_minutes
from advisor.site import Site
from advisor.teaching import Teaching

CASES = Path(__file__).parent.parent / "fixtures" / "cases" / "day_cases.toml"
STAGES = {"P": "pre-solo", "S": "solo", "A": "post-solo", "C": "commercial"}
WORDS = {s.words: s for s in Suitability}
TEACH = {t.words: t for t in Teaching}
VARIATION_DEG = 2.7  # about 3 E; WMM2025 gives 2.7
FIELD = Station("XBRK", "made-up field", 41.0, -97.0, 1200.0, "America/Chicago", "US", "made up")
TRAINER = Aircraft("trainer", 90.0, 48.0, 12.0)
MAGNETIC = {"04": 40, "22": 220, "13": 130, "31": 310}
CIRCLE = ("s-turns", "turns-around-a-point", "eights-along-a-road", "eights-across-a-road")


def load_cases(path: Path = CASES) -> list[dict[str, Any]]:
    """Every case of a file."""
    return list(tomllib.loads(path.read_text("utf-8"))["case"])


def clock(text: str, month: int) -> datetime:
    """ "25:30" is half past one in the night after the 25th."""
    hours, minutes = (int(x) for x in text.split(":"))
    return datetime(2026, month, 25, tzinfo=UTC) + timedelta(hours=hours, minutes=minutes)


def site_of(case: dict[str, Any]) -> Site:
    """The made-up field of a case."""
    ends = tuple(
        RunwayEnd(n, MAGNETIC[n] + VARIATION_DEG, 3000, "asphalt") for n in case.get("runways", list(MAGNETIC))
    )
    station = replace(FIELD, elevation_ft=float(case.get("elevation_ft", 1200)))
    return Site(station, ends, None, case.get("runway"), case.get("pattern"), made_up=True)


def case_input(case: dict[str, Any]) -> StationInput:
    """Decoded reports of a case."""
    month = case.get("month", 4)
    now = clock(case.get("now", "18:00"), month)
    metar = f"METAR XBRK {case.get('metar_time', '251753')}Z {case['metar']}"
    given = StationInput(site_of(case), now, (decode_metar(metar, now),))
    if "taf" in case:
        given.taf = decode_taf(f"TAF XBRK 251130Z {case['taf']}", now)
    if "lender" in case:
        lender = case["lender"]
        given.taf = decode_taf(f"TAF {lender['station']} 251730Z {lender['taf']}", now)
        given.forecast_from = (
            f"Forecast borrowed from {lender['station']}, {lender['distance_nm']} NM NE, {lender['lower_ft']} ft lower."
        )
        given.borrowed_far = lender["distance_nm"] > 15 or lender["lower_ft"] > 500
    return given


@lru_cache(maxsize=512)
def _day(key: str, stage: str, changes: Any = None) -> PracticeDay:
    case = next(c for c in load_cases() if c["id"] == key)
    return practice_days([case_input(case)], (stage_setup(stage),), TRAINER)[0]


def day_of(case: dict[str, Any], stage: str, changes: Changes | None = None) -> PracticeDay:
    """The day of a case for one stage."""
    if changes is None:
        return _day(case["id"], stage)
    return practice_days([case_input(case)], (stage_setup(stage),), TRAINER, changes=changes)[0]


def _lessons_of(expect: dict[str, Any], stage: str) -> list[str]:
    wanted = expect["lessons"]
    taught = [x.key for x in lessons() if x.taught(stage)]
    if wanted == "taught":
        return taught
    if wanted == "height":
        return [k for k in taught if k != "crosswind-pattern"]
    if wanted == "circle":
        return [k for k in taught if k in CIRCLE]
    return [k for k in wanted if k in taught]


def _cells(case: dict[str, Any], expect: dict[str, Any], day: PracticeDay) -> list[int]:
    month = case.get("month", 4)
    starts = day.ratings.conditions.cell_start_min[day.station.cells]
    if "hours" not in expect:
        return [0]
    a, b = (to_minutes(clock(x, month)) for x in expect["hours"])
    return [int(i) for i in np.flatnonzero((starts >= a) & (starts < b))]


def _numbers(day: PracticeDay, lesson: int, cells: list[int]) -> dict[str, float | None]:
    demand = day.demand(0, lesson, cells)
    assert demand is not None, "no demand could be worked out"
    out: dict[str, float | None] = {
        "crab_low_deg": demand.crab_deg[0],
        "crab_high_deg": demand.crab_deg[1],
        "pivotal_handbook_low_ft": demand.pivotal_handbook_ft[0] if demand.pivotal_handbook_ft else None,
        "pivotal_exact_low_ft": demand.pivotal_exact_ft[0] if demand.pivotal_exact_ft else None,
    }
    for name in ("wind_low_kt", "wind_high_kt", "tas_kt", "density_altitude_ft", "base_tailwind_kt", "crosswind_kt"):
        out[name] = getattr(demand, name)
    return out


def check(case: dict[str, Any], changes: Changes | None = None) -> list[str]:
    """Everything about a case that is not as expected; empty when it is met."""
    faults: list[str] = []
    for expect in case["expect"]:
        letters = "PSAC" if expect["stages"] == "any" else expect["stages"]
        for letter in letters:
            stage = STAGES[letter]
            faults += _check_stage(case, expect, stage, day_of(case, stage, changes), letter)
    return faults


def _check_stage(case: dict[str, Any], expect: dict[str, Any], stage: str, day: PracticeDay, letter: str) -> list[str]:
    faults = []
    cells = _cells(case, expect, day)
    keys = lesson_keys()
    assert cells, f"case {case['id']}: no cells in {expect.get('hours')}"
    for name in _lessons_of(expect, stage):
        lesson = keys.index(name)
        where = f"case {case['id']} {letter} {name} {expect.get('hours', 'now')}"
        for cell in cells:
            got = Suitability(int(day.ratings.suitability[0, lesson, cell]))
            if "is" in expect and got.words != expect["is"]:
                faults.append(f"{where}: {got.words}, wanted {expect['is']} (cell {cell})")
            if "at_most" in expect and not got <= WORDS[expect["at_most"]]:
                faults.append(f"{where}: {got.words}, wanted not above {expect['at_most']}")
            if "at_least" in expect and not WORDS[expect["at_least"]] <= got <= Suitability.SUITED:
                faults.append(f"{where}: {got.words}, wanted not below {expect['at_least']}")
            teach = Teaching(int(day.ratings.teaching[0, lesson, cell]))
            if "teaching" in expect and teach.words != expect["teaching"]:
                faults.append(f"{where}: teaching {teach.words}, wanted {expect['teaching']}")
            if "teaching_at_most" in expect and teach > TEACH[expect["teaching_at_most"]]:
                faults.append(f"{where}: teaching {teach.words}, wanted not above {expect['teaching_at_most']}")
        found = {c.code: c for c in day.cautions(0, lesson, cells)}
        faults += [
            f"{where}: {code} not named, got {sorted(found)}" for code in expect.get("rules", ()) if code not in found
        ]
        faults += [
            f"{where}: {code} named: {found[code].message}" for code in expect.get("not_rules", ()) if code in found
        ]
        for code, words in expect.get("message", {}).items():
            if code not in found or words not in found[code].message:
                faults.append(f"{where}: {code} does not say {words!r}")
        for number, (low, high) in expect.get("numbers", {}).items():
            value = _numbers(day, lesson, cells)[number]
            if value is None or not low <= value <= high:
                faults.append(f"{where}: {number} is {value}, wanted {low} to {high}")
    page = " ".join(day_text(day).split())
    page += " " + " ".join(c.message for n in _lessons_of(expect, stage) for c in day.cautions(0, keys.index(n), cells))
    if "numbers" in expect or "text" in expect:
        from advisor.present.words import demand_lines

        for n in _lessons_of(expect, stage):
            demand = day.demand(0, keys.index(n), cells)
            page += " " + " ".join(demand_lines(demand)) if demand is not None else ""
    faults += [f"case {case['id']} {letter}: page lacks {t!r}" for t in expect.get("text", ()) if t not in page]
    faults += [f"case {case['id']} {letter}: page says {t!r}" for t in expect.get("no_text", ()) if t in page]
    return faults
