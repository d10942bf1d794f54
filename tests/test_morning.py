"""The desk's morning: blocks and words against the engine, runways, wind and areas, many fields at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from advisor.advice import PracticeDay, bare_days
from advisor.clock import OpeningHours
from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.lessons import lesson_keys, lessons
from advisor.limits import stage_setup
from advisor.morning import COLUMNS, MorningSummary, StationMorning
from advisor.morning.blocks import spans_of
from advisor.morning.field import _into_wind
from advisor.morning.model import RunwayWind
from advisor.morning.summary import _aloft
from advisor.present.morning_json import morning_json
from advisor.present.morning_text import morning_text
from advisor.rules.registry import Suitability
from tests.day_case import TRAINER
from tests.fields import given
from tests.morning_posts import field, post, told


@pytest.fixture(scope="module")
def demo() -> MorningSummary:
    return post()


# -- against the engine, cell by cell ------------------------------------------------------------------------


def cells_within(day: PracticeDay, start: datetime, end: datetime) -> list[int]:
    conditions = day.ratings.conditions
    a, b = (int(t.timestamp() // 60) for t in (start, end))
    part = day.station.cells
    return [
        i for i in range(part.start, part.stop) if conditions.cell_start_min[i] < b and conditions.cell_end_min[i] > a
    ]


def capping_codes(s: StationMorning, stage: str, key: str, cells: list[int]) -> set[str]:
    ratings = s.day.ratings
    at = [x.stage for x in ratings.limits.setups].index(stage)
    return {c.code for c in ratings.cautions(at, lesson_keys().index(key), cells) if not c.is_note}


@pytest.mark.parametrize("now", ["2026-04-25T13:10:00Z", "2026-04-25T19:40:00Z"])
def test_a_hold_lists_the_rules_of_its_own_block_also_where_two_blocks_share_a_row(now: str):
    """Blocks of 50 minutes begin and end inside cells of time."""
    for s in post(block_min=50, now_text=now).stations:
        for b in s.blocks:
            cells = cells_within(s.day, b.start, b.end)
            for cell in b.cells.values():
                if cell.lesson is None and cell.code:
                    keys = [x.key for x in lessons() if x.taught(cell.stage)]
                    assert set(cell.codes) in [capping_codes(s, cell.stage, key, cells) for key in keys]


@pytest.mark.parametrize("block_min", [50, 60, 120, 180])
def test_every_word_and_reason_is_the_engine_s_own(block_min: int):
    """The table-wide way is held to asking the ratings for one cell after another."""
    summary = post(block_min=block_min)
    seen = 0
    for s in summary.stations:
        ratings = s.day.ratings
        stages = [x.stage for x in ratings.limits.setups]
        for b in s.blocks:
            cells = cells_within(s.day, b.start, b.end)
            assert cells
            for column, (whose, at_height) in COLUMNS.items():
                cell = b.cells[column]
                words = {
                    (stage, x.key): ratings.lowest(stages.index(stage), i, cells)
                    for stage in whose
                    for i, x in enumerate(lessons())
                    if x.at_height is at_height and x.taught(stage)
                }
                assert cell.suitability == max(words.values())
                if cell.lesson is None:
                    continue
                assert words[cell.stage, cell.lesson] == cell.suitability
                if cell.suitability is Suitability.SUITED:
                    assert not cell.code
                    continue
                found = ratings.cautions(stages.index(cell.stage), lesson_keys().index(cell.lesson), cells)
                capping = [c for c in found if not c.is_note]
                assert cell.code == capping[0].code
                assert cell.reason.endswith(capping[0].message)
                assert cell.group == capping[0].group
                assert cell.layer == capping[0].layer
                assert set(cell.codes) == {c.code for c in capping}
                seen += 1
    assert seen > 10


def test_holds_name_their_rule_too(demo: MorningSummary):
    for s in demo.stations:
        for b in s.blocks:
            for cell in b.cells.values():
                if cell.suitability is Suitability.HOLD:
                    assert cell.code
                    assert cell.lesson is None


def test_many_fields_at_once_say_what_each_says_alone(demo: MorningSummary):
    together = {s["station"]: s for s in morning_json(demo)["stations"]}
    for station in ("XBRK", "XHLW", "XSND"):
        alone = morning_json(post(station))["stations"][0]
        assert alone == together[station]


def test_the_day_tells_its_story(demo: MorningSummary):
    """What an instructor would expect of the three made-up days (common practice, no source)."""
    assert [s.station for s in demo.stations] == ["XHLW", "XBRK", "XSND"]  # worst first
    storm, fog, building = field(demo, "XBRK"), field(demo, "XHLW"), field(demo, "XSND")
    assert storm.hazards[0].family == "thunder"
    assert fog.hazards[0].family == "fog"
    assert all(c.suitability is Suitability.HOLD for c in storm.blocks[-1].cells.values())
    assert all(c.suitability is Suitability.HOLD for c in fog.blocks[0].cells.values())
    solo = [b.cells["solo"].suitability for b in building.blocks]
    assert solo[0] is Suitability.SUITED
    assert Suitability.HOLD in solo
    assert [r.name for r in building.runways] == ["17", "35"]  # 12/30 is closed by the school's notice
    assert "mean wind up 5 kt" in building.trend_words


# -- blocks --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now", "block_min", "first", "last"),
    [
        ("2026-04-25T13:10:00Z", 120, "08:10-09:00", "17:00-19:30"),
        ("2026-04-25T13:45:00Z", 120, "08:45-11:00", "17:00-19:30"),  # 15 minutes go with the next block
        ("2026-04-25T10:30:00Z", 120, "07:00-09:00", "17:00-19:30"),  # before sunrise and opening
        ("2026-04-25T13:00:00Z", 60, "08:00-09:00", "18:00-19:30"),
        ("2026-04-25T23:40:00Z", 120, "18:40-19:30", "18:40-19:30"),
        ("2026-04-26T00:20:00Z", 120, "07:00-09:00", "17:00-19:20"),  # ten minutes to closing: tomorrow
    ],
)
def test_blocks_follow_the_school_s_clock(now: str, block_min: int, first: str, last: str):
    s = field(post("XSND", now_text=now, block_min=block_min), "XSND")
    shown = [f"{b.start.astimezone(s.day.zone):%H:%M}-{b.end.astimezone(s.day.zone):%H:%M}" for b in s.blocks]
    assert (shown[0], shown[-1]) == (first, last)
    for a, b in zip(s.blocks, s.blocks[1:], strict=False):
        assert a.end == b.start


@pytest.mark.parametrize(
    ("now", "opens", "closes", "shown"),
    [
        ("12:00", time(7, 45), time(17, 20), "0745-0945 0945-1145 1145-1345 1345-1545 1545-1720"),
        ("12:00", time(8), time(17), "0800-1000 1000-1200 1200-1400 1400-1600 1600-1700"),
        # an hour is a lesson: what is left of the day's end goes with the block before it
        ("12:00", time(7, 45), time(16, 44), "0745-0945 0945-1145 1145-1345 1345-1644"),
        ("12:00", time(7, 45), time(16, 45), "0745-0945 0945-1145 1145-1345 1345-1545 1545-1645"),
        # half an hour is half a lesson: a shorter rest goes with the block after it
        ("14:15", time(7, 45), time(13, 45), "0915-0945 0945-1145 1145-1345"),
        ("14:16", time(7, 45), time(13, 45), "0916-1145 1145-1345"),
        ("18:15", time(7, 45), time(13, 45), "1315-1345"),
        # and less than that is no block at all: the next day's, as far as the 24 hours of the page reach
        ("18:16", time(7, 45), time(13, 45), "0745-0945 0945-1145 1145-1316"),
        # without doors from the full hour, to sunset at 20:19
        ("22:10", None, None, "1710-1900 1900-2019"),
    ],
)
def test_blocks_are_counted_from_opening_and_hold_a_lesson(
    now: str, opens: time | None, closes: time | None, shown: str
):
    source = given("22008KT 10SM CLR 15/05 A3000", "2512/2618 22008KT P6SM SKC", at="11:53", now=now)
    doors = None if opens is None or closes is None else OpeningHours(opens, closes)
    (day,) = bare_days([source], (stage_setup("pre-solo"),), TRAINER, opening=doors)
    spans = spans_of(day, 120)
    words = [f"{s.start.astimezone(day.zone):%H%M}-{s.end.astimezone(day.zone):%H%M}" for s in spans]
    assert " ".join(words) == shown
    starts, ends = day.ratings.conditions.cell_start_min, day.ratings.conditions.cell_end_min
    for s in spans:
        a, b = (int(t.timestamp()) // 60 for t in (s.start, s.end))
        assert starts[s.first] <= a < ends[s.first]
        assert starts[s.after - 1] < b <= ends[s.after - 1]


def test_blocks_without_opening_hours_end_with_the_daylight(tmp_path: Path):
    text = "METAR KBDU 251753Z 22008KT 10SM CLR 15/05 A3000\nTAF KBDU 251730Z 2518/2618 22008KT P6SM SKC"
    s = told(tmp_path, text, "KBDU").stations[0]
    assert s.blocks[0].start == datetime(2026, 4, 25, 18, tzinfo=UTC)
    assert s.blocks[-1].end == s.sunset


def test_a_tempo_holds_down_its_whole_block():
    block = next(b for b in field(post("XBRK"), "XBRK").blocks if b.slot.hour == 20)
    assert {c.code for c in block.cells.values()} == {"TS01"}
    assert all("TEMPO" in c.group for c in block.cells.values())


# -- runways, wind, areas -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wind", "head", "cross", "peak", "side"),
    [
        # runway 22 of XBRK is 223 true; components by hand from the triangle
        ("22310KT", 10.0, 0.0, 0.0, "none"),
        ("31310KT", 0.0, 10.0, 10.0, "right"),
        ("13310G20KT", 0.0, 10.0, 20.0, "left"),
        ("25320KT", 17.3, 10.0, 10.0, "right"),
        ("22614KT", 14.0, 0.8, 0.8, "right"),  # half a knot across has a side
        ("21914KT", 14.0, 0.9, 0.9, "left"),
        ("VRB04KT", None, 4.0, 4.0, "either"),
        ("00000KT", 0.0, 0.0, 0.0, "none"),
    ],
)
def test_components_now(tmp_path: Path, wind: str, head: float | None, cross: float, peak: float, side: str):
    s = told(tmp_path, f"METAR XBRK 251753Z {wind} 10SM CLR 15/05 A3000", "XBRK").stations[0]
    r = next(r for r in s.runways if r.name == "22")
    assert r.side == side
    assert (r.head_kt is None) == (head is None)
    if head is not None:
        assert r.head_kt == pytest.approx(head, abs=0.3)
    assert r.cross_kt == pytest.approx(cross, abs=0.3)
    assert r.cross_peak_kt == pytest.approx(peak, abs=0.3)


@pytest.mark.parametrize(
    ("wind", "best"),
    [("22002KT", "22"), ("04002KT", "04"), ("31002KT", "31"), ("13002KT", "13"), ("22008KT", "22"), ("00000KT", None)],
)
def test_the_best_end_faces_the_wind_also_where_a_tailwind_would_do(tmp_path: Path, wind: str, best: str | None):
    """2 kt behind is inside every limit and the crosswind is alike from both sides: an instructor lands into wind."""
    s = told(tmp_path, f"METAR XBRK 251753Z {wind} 10SM CLR 15/05 A3000", "XBRK").stations[0]
    assert [r.name for r in s.runways if r.best] == ([best] if best else [])
    assert best is None or s.runways[0].name == best


def test_a_report_too_old_for_the_school_is_not_how_it_is_now(tmp_path: Path):
    """The report of 70 minutes ago is past the school's own 60: the forecast in force speaks instead."""
    text = (
        "METAR XBRK 251650Z 22008KT 10SM CLR 15/05 A3000\n"
        "TAF XBRK 251730Z 2518/2618 31014KT P6SM SKC FM252000 09020KT P6SM SKC"
    )
    school = tmp_path / "school.toml"
    place = """name = "A"
        [[stations]]
        station = "XBRK"
        name = "made up"
        latitude_deg = 41.0
        longitude_deg = -97.0
        elevation_ft = 1200
        time_zone = "America/Chicago"
        """
    strict = "[limits.pre-solo]\nreport_age_min = { care = 45, stop = 60 }\n"
    for limits, now in (("", ("report", 220.0, 8.0)), (strict, ("forecast", 310.0, 14.0))):
        school.write_text(place + limits)
        s = told(tmp_path, text, "XBRK", school_file=str(school)).stations[0]
        assert (s.now_from, s.wind_now.from_deg_true, s.wind_now.mean_kt) == now


def test_of_two_ends_with_the_same_crosswind_the_one_into_wind_is_meant():
    """Ends whose bearings are not quite opposite: a tenth of a knot of crosswind is no reason to land downwind."""
    behind = RunwayWind("04", 43.0, -2.0, 0.05, 0.05, 2.0, "none", True, False)
    into = RunwayWind("22", 221.0, 2.0, 0.1, 0.1, 0.0, "none", False, False)
    across = RunwayWind("13", 133.0, 0.1, 2.0, 2.0, 0.0, "right", False, False)
    assert [(r.name, r.best) for r in _into_wind([behind, into, across])] == [
        ("22", True),
        ("04", False),
        ("13", False),
    ]
    worse = replace(into, cross_kt=0.2, cross_peak_kt=0.2)
    assert [r.name for r in _into_wind([behind, worse, across]) if r.best] == ["04"]


@pytest.mark.parametrize(("air", "fog"), [("06/02", True), ("06/01", False)])
def test_a_hazard_for_a_student_alone_only_is_posted_too(tmp_path: Path, air: str, fog: bool):
    """Calm at dawn: a spread of 4 C is care alone and 3 C with the instructor (limits table)."""
    text = f"METAR XBRK 251153Z 00000KT 10SM CLR {air} A3000"
    s = told(tmp_path, text, "XBRK", now_text="2026-04-25T12:00:00Z").stations[0]
    assert ("FG01" in {h.code for h in s.hazards}) is fog


def test_a_hazard_of_the_report_alone_is_posted_until_the_forecast_replaces_it(tmp_path: Path):
    """33 kt is over the stop of 30 (limits table); the FM of 1830Z ends the report."""
    text = (
        "METAR XBRK 251753Z 22022G33KT 10SM CLR 15/05 A3000\n"
        "TAF XBRK 251730Z 2518/2618 22008KT P6SM SKC FM251830 22009KT P6SM SKC"
    )
    s = told(tmp_path, text, "XBRK").stations[0]
    (peak,) = [h for h in s.hazards if h.code == "GU01"]
    assert [f"{t:%H%M}" for t in (peak.start, peak.end)] == ["1800", "1830"]


def test_only_the_winds_aloft_of_the_days_blocks_are_shown():
    s = field(post("XBRK"), "XBRK")
    begin, end = (int(x.timestamp()) // 60 for x in (s.blocks[0].start, s.blocks[-1].end))
    periods = [(begin - 60, begin), (begin - 60, begin + 1), (begin + 60, end + 600), (end + 1, end + 60)]
    day = SimpleNamespace(
        station=SimpleNamespace(source=SimpleNamespace(aloft=[(*p, 25.0, 1800.0, 20.0) for p in periods]))
    )
    shown = _aloft(day, s.blocks)  # type: ignore[arg-type]
    assert [(int(a.timestamp()) // 60, int(b.timestamp()) // 60) for a, b, _, _ in shown] == periods[1:3]


def test_ceiling_is_told_above_the_ground_of_the_area(tmp_path: Path):
    """XBRK lies at 1,205 ft, its area's ground at 1,420: a ceiling of 3,000 leaves 2,785."""
    s = told(tmp_path, "METAR XBRK 251753Z 22008KT 10SM OVC030 15/05 A3000", "XBRK").stations[0]
    (area,) = s.areas
    assert area.ceiling_now_ft == pytest.approx(2785)
    assert area.gaps  # no forecast: the afternoon is not known
    taf = "TAF XBRK 251730Z 2518/{0} 22008KT P6SM OVC030"
    for until, gaps in (("2521", True), ("2618", False)):
        text = f"METAR XBRK 251753Z 22008KT 10SM OVC030 15/05 A3000\n{taf.format(until)}"
        assert told(tmp_path, text, "XBRK").stations[0].areas[0].gaps is gaps, until
    assert "not all day" in morning_text(told(tmp_path, "METAR XBRK 251753Z 22008KT 10SM OVC030 15/05 A3000", "XBRK"))


def test_a_block_and_a_hazard_show_the_worst_figure_of_those_that_cap_alike(tmp_path: Path):
    """ "Worst credible case of each": 2,000 ft now and 1,600 forecast both hold; the area lies 215 ft above the field."""
    text = "METAR XBRK 251753Z 09008KT 2SM RA OVC020 09/07 A2990\nTAF XBRK 251730Z 2518/2618 09008KT 1SM RA OVC016"
    s = told(tmp_path, text, "XBRK").stations[0]
    hazards = {h.code: h.message for h in s.hazards}
    assert hazards["CE01"].startswith("ceiling 1,385 ft above the practice-area ground")
    assert hazards["VS01"].startswith("visibility 1 SM")
    assert {k: c.reason.split(" (")[0] for k, c in s.blocks[0].cells.items()} == {
        "solo": "ceiling 1,385 ft above the practice-area ground",
        "dual": "ceiling 1,385 ft above the practice-area ground",
        "pattern": "visibility 1 SM",
        "area": "ceiling 1,385 ft above the practice-area ground",
    }


# -- ends -----------------------------------------------------------------------------------------------------


def test_the_posting_ends_with_its_first_field(demo: MorningSummary):
    assert demo.expires_at == min(s.day.expires_at for s in demo.stations)
    assert demo.expires_at <= demo.made_at + timedelta(minutes=60)
    assert all(s.next_update <= s.day.expires_at for s in demo.stations)


def test_repeating_brings_the_next_update_forward():
    chosen = Choices(demo=True)
    summary, _ = posting(Wanted(("XSND",), chosen, "", 120, 10))
    assert summary.stations[0].next_update == summary.made_at + timedelta(minutes=10)
