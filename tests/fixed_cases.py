"""Cases for the numbers that no rule compares by itself: minutes, distances, floors, wind at height, the page's life.

Each function returns every case that is not met under the data as it is now, so that a test can hold them all and
the sensitivity check can change one number and ask again.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from advisor.advice import practice_days
from advisor.aloft import height_wind
from advisor.card.build import lesson_card
from advisor.conditions import PilotWind, StationInput, build_conditions
from advisor.errors import AdvisorError
from advisor.lessons import lesson
from advisor.limits import Changes, make_limits, stage_setup
from advisor.places import Station
from advisor.places.packed_file import Field
from advisor.prepare import prepare
from advisor.reports.gathered import Gathered, StationReports, StoredReport
from advisor.rules.registry import Suitability
from advisor.school import School
from advisor.table import Table, WindKind
from tests.day_case import FIELD, TRAINER, clock
from tests.fields import FAIR, cell_at, given, ratings, rows_at
from tests.rule_cases import FOLDER

TIMES = tomllib.loads((FOLDER / "times.toml").read_text("utf-8"))
NOW = clock("18:00", 4)


def _inputs(case: dict[str, Any]) -> StationInput:
    out: StationInput = case.get("_input") or given(
        case.get("report"), case.get("taf"), at=case.get("at", "17:53"), now=case.get("now", "18:00")
    )
    if "pilot_kt" in case:
        out.pilot_wind = PilotWind(240.0, float(case["pilot_kt"]), out.now)
    case["_input"] = out  # decoded once; what the numbers do to it is worked out anew
    return out


def time_faults() -> list[str]:
    """Columns of the table a minute before and at each boundary."""
    out = []
    for case in TIMES["time"]:
        c = build_conditions([_inputs(case)])
        for when, wanted in case["at_time"].items():
            rows = rows_at(c, when)
            got = [float(rows.n)] if case["column"] == "rows" else [float(x) for x in getattr(rows, case["column"])]
            if not got or not all(x == wanted or (x != x and wanted != wanted) for x in got):
                out.append(f"{case['about']} at {when}: {got}, wanted {wanted}")
    return out


def height_faults() -> list[str]:
    """High ends and veer of the wind at lesson height."""
    out = []
    for case in TIMES["height"]:
        mean = np.array(case["high"]["mean_kt"], dtype=float)
        n = len(mean)
        columns = {
            "ceiling_ft": np.inf,
            "from_deg_true": 220.0,
            "arc_start_deg": 220.0,
            **case.get("set", {}),
        }
        columns["gust_state"] = 0 if "gust_kt" in columns else 1
        kind = np.where(mean == 0, int(WindKind.CALM), int(WindKind.STEADY))
        found = height_wind(Table(n, mean_kt=mean, wind_kind=kind, **columns))
        if not np.allclose(found.high_kt, case["high"]["wanted"], rtol=0, atol=1e-9):
            out.append(f"{case['about']}: high {found.high_kt.tolist()}, wanted {case['high']['wanted']}")
        if not np.array_equal(found.low_kt, mean):
            out.append(f"{case['about']}: low {found.low_kt.tolist()}")
        if "veer" in case and (found.veer_low_deg[-1], found.veer_high_deg[-1]) != tuple(case["veer"]):
            out.append(f"{case['about']}: veer {found.veer_low_deg[-1]}, {found.veer_high_deg[-1]}")
    return out


def family_faults() -> list[str]:
    """Two families of care keep their own cap, three cap at ask first; carburettor ice is not counted."""
    cases = {
        # for a pre-solo lesson with an instructor
        "22008KT 5SM CLR 15/05 A3000": Suitability.WITH_CARE,  # visibility
        "22008KT 5SM BKN025 15/05 A3000": Suitability.WITH_CARE,  # and ceiling
        "22008KT 5SM BKN025 15/05 A3000 RMK AO2 WSHFT 1715": Suitability.ASK_FIRST,  # and an unsteady wind
        "22008KT 10SM CLR 15/05 A3000 RMK AO2 WSHFT 1715 TSNO": Suitability.WITH_CARE,  # and a doubt of the source
        "22008KT 5SM CLR 15/05 A3000 RMK AO2 WSHFT 1715 TSNO": Suitability.ASK_FIRST,  # and visibility
        "22008KT 5SM BKN025 16/14 A3000": Suitability.WITH_CARE,  # carburettor ice is no family
        "22018KT 5SM BKN025 15/05 A3000": Suitability.ASK_FIRST,  # wind and demand besides
    }
    out = []
    for text, wanted in cases.items():
        found = ratings(given(text), stage_setup("pre-solo"))
        got = Suitability(int(found.suitability[0, 0, cell_at(found, "18:00")]))
        if got != wanted:
            out.append(f"families in {text}: {got.words}, wanted {wanted.words}")
    return out


def _lender(north_nm: float, higher_ft: float) -> tuple[StationInput | None, str]:
    away = Station(
        "XHLW",
        "made-up lender",
        41.0 + north_nm / 60.0,
        -97.0,
        1200.0 + higher_ft,
        "America/Chicago",
        "US",
        "made up",
    )
    raw = "TAF XHLW 251730Z 2518/2618 22008KT P6SM SKC"
    report = StoredReport("XHLW", "taf", raw, datetime(2026, 4, 25, 17, 30, tzinfo=UTC), NOW, NOW, "text")
    school = School("made up", stations=(Field(FIELD), Field(away)))
    try:
        found = prepare(
            "XBRK",
            Gathered("text", NOW, {"XHLW": StationReports("XHLW", (), report)}),
            now=NOW,
            school=school,
        )
    except AdvisorError as error:
        return None, str(error)
    return found, ""


def borrow_faults() -> list[str]:
    """Nearer than a limit, past it, past the last one: by distance (a minute of latitude is a mile) and by height."""
    cases = [
        (14.4, 0, "near"),
        (15.6, 0, "far"),
        (29.4, 0, "far"),
        (30.6, 0, "none"),
        (2, 500, "near"),
        (2, -501, "far"),
        (2, 1000, "far"),
        (2, -1001, "none"),
    ]
    out = []
    for miles, feet, wanted in cases:
        found, _ = _lender(miles, feet)
        got = "none" if found is None else "far" if found.borrowed_far else "near"
        if got != wanted:
            out.append(f"borrowing from {miles} NM, {feet} ft: {got}, wanted {wanted}")
    return out


def expiry_faults() -> list[str]:
    """The page's life: 60 minutes, or ten past the next routine report."""
    out = []
    for now, wanted in (("18:00", "19:00"), ("18:10", "19:03")):
        day = practice_days(
            [given(f"22012KT {FAIR}", "2512/2612 22012KT P6SM SKC", now=now)],
            (stage_setup("post-solo"),),
            TRAINER,
        )[0]
        if day.expires_at != clock(wanted, 4):
            out.append(f"a page made at {now} ends at {day.expires_at:%H:%M}, wanted {wanted}")
    return out


def floor_faults() -> list[str]:
    """A school's stop on the regulation's floor is taken, a unit looser is refused."""
    out = []
    for quantity, care, floor in (
        ("ceiling_area_ft", 2500.0, 1500.0),
        ("ceiling_pattern_ft", 2000.0, 1500.0),
        ("visibility_sm", 5.0, 3.0),
    ):
        for stop, taken in ((floor, True), (floor - 1.0, False)):
            try:
                make_limits((stage_setup("solo"),), Changes(school={quantity: {"solo": (care, stop)}}))
                got = True
            except AdvisorError:
                got = False
            if got is not taken:
                out.append(f"{quantity} stop {stop:g}: {'taken' if got else 'refused'}")
    return out


def card_faults() -> list[str]:
    """Banks a card is drawn for: planned by stage, 30 in the pattern; left at 45, at 40 on pylons."""
    out = []
    for stage, name, planned, left_at in (
        ("pre-solo", "s-turns", 30.0, 45.0),
        ("commercial", "turns-around-a-point", 35.0, 45.0),
        ("commercial", "eights-on-pylons", 35.0, 40.0),
        ("commercial", "crosswind-pattern", 30.0, 45.0),
    ):
        day = practice_days([given(f"22010KT {FAIR}")], (stage_setup(stage),), TRAINER)[0]
        card = lesson_card(day, stage, lesson(name), NOW + timedelta(minutes=5))
        if (card.planned_bank_deg, card.exit_bank_deg) != (planned, left_at):
            out.append(f"card of {name}: {card.planned_bank_deg}, {card.exit_bank_deg}")
        standard = dict(card.briefing).get("Standard:", "")
        if lesson(name).shape in ("line", "circle") and standard != "height ±100 ft, airspeed ±10 kt.":
            out.append(f"card of {name}: {standard}")
    return out


#: Checks by the section of the limits file that can change them, quickest first.
CHECKS: dict[str, tuple[Callable[[], list[str]], ...]] = {
    "height_wind": (height_faults,),
    "fixed": (time_faults, family_faults, borrow_faults, expiry_faults, card_faults),
    "stage": (card_faults,),
    "floor": (floor_faults,),
}
