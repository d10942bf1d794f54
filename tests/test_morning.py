"""The desk's morning: blocks and words against the engine, the text's form, faults, changes, many fields."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from advisor.advice import PracticeDay
from advisor.cli import run
from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.lessons import lesson_keys, lessons
from advisor.morning import COLUMNS, DEFINITIONS, MorningSummary, StationMorning, Unserved
from advisor.present.morning_json import (
    morning_csv,
    morning_frame,
    morning_json,
    morning_rows,
    station_json,
    station_json_text,
)
from advisor.present.morning_page import morning_html
from advisor.present.morning_text import WIDTH, ascii_text, morning_text, wrap
from advisor.rules.registry import Suitability
from advisor.words import find_approval_words

ROOT = Path(__file__).resolve().parent.parent
EXPECTED = ROOT / "fixtures" / "expected"
NOW = "2026-04-25T18:00:00Z"
GOOD = "22008KT 10SM CLR 15/05 A3000"
WORDS = {"hold", "ask first", "with care", "suited", "not rated"}


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


@pytest.fixture(scope="module")
def demo() -> MorningSummary:
    return post()


# -- against the engine, cell by cell ------------------------------------------------------------------------


def cells_within(day: PracticeDay, start: datetime, end: datetime) -> list[int]:
    conditions = day.ratings.conditions
    a, b = (int(t.timestamp() // 60) for t in (start, end))
    part = day.station.cells
    return [
        i
        for i in range(part.start, part.stop)
        if conditions.cell_start_min[i] < b and conditions.cell_end_min[i] > a
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


def test_ceiling_is_told_above_the_ground_of_the_area(tmp_path: Path):
    """XBRK lies at 1,205 ft, its area's ground at 1,420: a ceiling of 3,000 leaves 2,785."""
    s = told(tmp_path, "METAR XBRK 251753Z 22008KT 10SM OVC030 15/05 A3000", "XBRK").stations[0]
    (area,) = s.areas
    assert area.ceiling_now_ft == pytest.approx(2785)
    assert area.gaps  # no forecast: the afternoon is not known
    assert "not all day" in morning_text(told(tmp_path, "METAR XBRK 251753Z 22008KT 10SM OVC030 15/05 A3000", "XBRK"))


# -- the text -------------------------------------------------------------------------------------------------


def every_text(demo: MorningSummary) -> list[str]:
    return [morning_text(demo), morning_text(demo, units="metric")]


def test_text_survives_mail_and_chat(demo: MorningSummary):
    for text in every_text(demo):
        assert text.isascii()
        assert "\t" not in text
        assert max(len(x) for x in text.splitlines()) <= WIDTH
        assert text.endswith("\n")
        assert not any(x != x.rstrip() for x in text.splitlines())
        # nothing is lined up inside a line: it reads alike in a proportional font
        assert "  " not in "\n".join(x.lstrip() for x in text.splitlines())


def test_hazards_come_first_and_the_desk_decides(demo: MorningSummary):
    text = morning_text(demo)
    part = text[text.index("XBRK BRACKEN") : text.index("XSND SAND")]
    heads = ("HAZARDS", "NOW", "LAST REPORTS", "LESSON BLOCKS", "WIND NOW", "RUNWAYS", "PRACTICE", "RESTRICTIONS", "DAYLIGHT")
    order = [part.index(x) for x in heads]
    assert order == sorted(order)
    flat = " ".join(text.split())
    assert "The duty instructor decides" in flat
    assert "Posted by: ____" in flat
    assert "MADE-UP DEMO" in flat
    assert "do not use after 09:03 CDT (1403Z)" in flat
    assert "17 minutes old" in flat
    assert "Next update by" in flat
    assert "Runway 13/31 soft after rain" in flat
    for meaning in DEFINITIONS.values():
        assert meaning in flat
    assert not find_approval_words(text)


@pytest.mark.parametrize("text", ["x" * 200, "a " * 100, "word " + "y" * 90 + " end", "", "  "])
def test_wrap_keeps_every_letter_and_the_width(text: str):
    out = wrap(text, "    ", "  - ")
    assert all(len(x) <= WIDTH for x in out.splitlines())
    assert "".join(out.split()).removeprefix("-") == "".join(text.split())


@pytest.mark.parametrize(
    ("given", "plain"), [("Zoë – café", "Zoe - cafe"), ("220° true", "220 degrees true"), ("風", "?"), ("a\tb", "a b")]
)
def test_any_name_becomes_ascii(given: str, plain: str):
    assert ascii_text(given) == plain


SNAPSHOTS = {
    "morning_all.txt": ["morning", "--demo", "--posted-by", "A. Desk"],
    "morning_one_metric.txt": ["morning", "XSND", "--units", "metric", "--blocks", "3h"],
}


@pytest.mark.parametrize("name", SNAPSHOTS)
def test_the_text_is_as_kept(name: str, capsys: pytest.CaptureFixture[str], request: pytest.FixtureRequest):
    """Our own output, kept so that a change is seen; nothing outside is checked by it."""
    assert run(SNAPSHOTS[name]) == 0
    assert capsys.readouterr().out == (EXPECTED / name).read_text("utf-8")


# -- JSON, CSV, DataFrame -------------------------------------------------------------------------------------


def test_json_has_its_schema_and_no_number_that_is_not_one(demo: MorningSummary):
    text = json.dumps(morning_json(demo), allow_nan=False)
    data = json.loads(text)
    assert data["schema"] == "morning/1"
    assert data["made_at"] == "2026-04-25T13:10Z"
    assert set(data["columns"]) == set(COLUMNS)
    for s in data["stations"]:
        for b in s["blocks"]:
            assert set(b["columns"]) == set(COLUMNS)
            assert {c["suitability"] for c in b["columns"].values()} <= WORDS
    assert not find_approval_words(text)


NASTY = 'METAR XBRK 251753Z 22020G35KT 3SM CLR 15/05 A3000 RMK "columns": null, <b>&amp; {x} \\" 7'


def test_json_and_csv_written_in_parts_are_the_texts_of_the_whole(tmp_path: Path, demo: MorningSummary):
    for summary in (demo, told(tmp_path, NASTY, "XBRK")):
        for s in summary.stations:
            assert '"columns": null' not in station_json_text(s)
            assert station_json_text(s) == json.dumps(station_json(s), ensure_ascii=False)
        whole = io.StringIO()
        writer = csv.writer(whole, lineterminator="\n")
        writer.writerow(morning_rows(summary)[0])
        writer.writerows(row.values() for row in morning_rows(summary))
        assert morning_csv(summary) == whole.getvalue()


def test_a_field_nothing_is_known_of_has_its_line_in_the_csv():
    summary = replace_unserved(post(), 'no "report", none\nat all')
    read = list(csv.DictReader(io.StringIO(morning_csv(summary))))
    assert read[0]["reason"] == 'no "report", none\nat all'
    assert len(read) == len(morning_rows(summary))


def replace_unserved(summary: MorningSummary, sentence: str) -> MorningSummary:
    summary.unserved = (Unserved("XXXX", sentence),)
    return summary


def test_csv_and_frame_hold_the_same_rows(demo: MorningSummary, capsys: pytest.CaptureFixture[str]):
    rows = morning_rows(demo)
    assert len(rows) == sum(len(s.blocks) for s in demo.stations) * len(COLUMNS)
    frame = morning_frame(demo)
    assert len(frame) == len(rows)
    assert list(frame["suitability"]) == [r["suitability"] for r in rows]
    assert run(["morning", "--demo", "--format", "csv"]) == 0
    read = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [r["reason"] for r in read] == [r["reason"] or "" for r in rows]


# -- faults ---------------------------------------------------------------------------------------------------

FAULTS = [
    # about, text, words allowed in the first block, a sentence of the posting
    ("not understood", "METAR XBRK 251753Z 22020G15KT 10SM CLR 15/05 A3000", {"not rated"}, "it is not taken as calm"),
    ("wind missing", "METAR XBRK 251753Z /////KT 10SM CLR 15/05 A3000", {"not rated"}, "missing is not calm"),
    ("sky missing", "METAR XBRK 251753Z AUTO 22008KT 10SM 15/05 A3000", {"not rated"}, "that is not a clear sky"),
    ("visibility missing", "METAR XBRK 251753Z 22008KT //// CLR 15/05 A3000", {"not rated"}, "the visibility is missing"),
    ("missing but over a stop", "METAR XBRK 251753Z AUTO 22031KT 10SM 15/05 A3000", {"hold"}, "mean wind 31 kt"),
    ("stale alone", f"METAR XBRK 251550Z {GOOD}", {"not rated"}, "the report is 130 minutes old and no longer counts"),
    ("no forecast", f"METAR XBRK 251753Z {GOOD}", {"suited"}, "No forecast: hours past the report's two are not rated"),
    (
        "contradictory",
        f"METAR XBRK 251753Z {GOOD}\nTAF XBRK 251130Z 2512/2612 04025G35KT P6SM SKC",
        {"hold", "ask first"},
        "(DI01)",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("about", "text", "allowed", "words"), FAULTS, ids=[f[0] for f in FAULTS])
def test_bad_input_gets_its_sentence_and_no_more_than_it_deserves(
    tmp_path: Path, about: str, text: str, allowed: set[str], words: str
):
    summary = told(tmp_path, text, "XBRK")
    (s,) = summary.stations
    first_hour = field(told(tmp_path, text, "XBRK", block_min=60), "XBRK").blocks[0]
    assert {c.suitability.words for c in first_hour.cells.values()} <= allowed
    flat = " ".join(morning_text(summary).split())
    assert words in flat
    page = " ".join(unescape(morning_html(summary)).split())
    assert words in page
    if "\n" not in text:  # no forecast: nothing past the report's two hours is better than not rated
        for b in s.blocks[1:]:
            assert {c.suitability.words for c in b.cells.values()} <= {"not rated", "hold"}


@pytest.mark.parametrize("wind", ["/////KT", "22020G15KT", ""])
def test_no_number_is_made_up_for_a_wind_nobody_knows(tmp_path: Path, wind: str):
    summary = told(tmp_path, f"METAR XBRK 251753Z AUTO {wind} 10SM CLR 15/05 A3000", "XBRK")
    data = morning_json(summary)["stations"][0]
    for record in (data["now"]["wind"], *(b["wind"] for b in data["blocks"])):
        assert [record[k] for k in ("from_deg_true", "mean_kt", "gust_kt", "low_kt", "high_kt")] == [None] * 5
    assert data["runways"] == []
    assert data["best_runway"] is None
    flat = " ".join(morning_text(summary).split())
    assert "No components: the wind now is not known." in flat
    assert "calm at the field" not in flat


def test_one_field_s_fault_never_sinks_the_others(tmp_path: Path):
    text = f"METAR XBRK 251753Z {GOOD}\nMETAR XHLW 251853Z {GOOD}"
    summary = told(tmp_path, text, "XBRK", "XHLW", "XSND", "QQQQ", "not a station")
    assert [s.station for s in summary.stations] == ["XBRK"]
    said = {u.station: u.sentence for u in summary.unserved}
    assert set(said) == {"XHLW", "XSND", "QQQQ", "not a station"}
    assert "in the future" in said["XHLW"]
    assert "no report" in said["XSND"]
    assert "is known" in said["QQQQ"]
    flat = " ".join(morning_text(summary).split())
    assert "NOTHING CAN BE SHOWN FOR" in flat
    assert not any(find_approval_words(x) for x in said.values())


@pytest.mark.parametrize(
    ("text", "status", "words"),
    [
        ("", 1, "it is empty"),
        (f"METAR KBOU 251753Z {GOOD}", 1, "not of XBRK"),
        ("METAR XBRK 251853Z " + GOOD, 1, "in the future"),
    ],
)
def test_nothing_available_is_posted_as_such(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, status: int, words: str
):
    file = tmp_path / "r.txt"
    file.write_text(text, "utf-8")
    assert run(["morning", "XBRK", "--from-file", str(file), "--now", NOW]) == status
    out = " ".join(capsys.readouterr().out.split())
    assert words in out
    assert "The duty instructor decides" in out
    assert "suited," not in out.split("WHAT THE WORDS MEAN")[0]


@pytest.mark.parametrize(
    "args",
    [
        [],
        ["--demo", "--blocks", "10m"],
        ["--demo", "--blocks", "two hours"],
        ["--from-file", "-", "--every", "5", "XBRK"],
    ],
)
def test_wrong_usage_is_said(args: list[str], capsys: pytest.CaptureFixture[str]):
    assert run(["morning", *args]) == 2
    assert "Traceback" not in capsys.readouterr().err


# -- changes --------------------------------------------------------------------------------------------------

BEFORE = "2026-04-25T17:30:00Z"
CHANGES = [
    # about, report before, report now, words wanted (empty: nothing moved)
    ("nothing", "22008KT", "22009KT", ""),
    ("speed", "22008KT", "22013KT", "wind 8 to 13 kt"),
    ("speed one short", "22008KT", "22012KT", ""),
    ("veer", "22010KT", "25010KT", "wind veered 30 degrees, 220 to 250 true"),
    ("back through north", "01010KT", "34010KT", "wind backed 30 degrees, 010 to 340 true"),
    ("turn one short", "22010KT", "24010KT", ""),
    ("light winds turn", "22003KT", "04003KT", "best runway 22 to 04"),
    ("gusts come", "22010KT", "22010G17KT", "gusts to 17 kt now reported"),
    ("gusts go", "22010G17KT", "22010KT", "gusts are gone"),
    ("wind lost", "22010KT", "/////KT", "the wind is no longer known"),
    ("wind found", "/////KT", "22010KT", "the wind is known again"),
    ("words", "22008KT", "22026KT", "dual not rated to hold"),
]


@pytest.mark.parametrize(("about", "then", "now", "words"), CHANGES, ids=[c[0] for c in CHANGES])
def test_what_moved_since_the_last_posting(tmp_path: Path, about: str, then: str, now: str, words: str):
    first = told(tmp_path, f"METAR XBRK 251716Z {then} 10SM CLR 25/05 A3000", "XBRK", now_text=BEFORE)
    kept = json.loads(json.dumps(morning_json(first)))
    second = told(tmp_path, f"METAR XBRK 251753Z {now} 10SM CLR 25/05 A3000", "XBRK", previous=kept)
    (s,) = second.stations
    wind = [c for c in s.changes if not c.startswith("block ")]
    if words:
        assert any(words in c for c in s.changes), s.changes
    else:
        assert wind == []
    assert second.previous_at == datetime(2026, 4, 25, 17, 30, tzinfo=UTC)


BAD_PAST: list[tuple[str, Any, str]] = [
    ("another form", {"schema": "morning/9", "made_at": "2026-04-25T17:30Z", "stations": []}, "not one of this form"),
    ("no time", {"schema": "morning/1", "stations": []}, "not one of this form"),
    ("a list for stations", {"schema": "morning/1", "made_at": "x", "stations": 3}, "not one of this form"),
    ("yesterday", {"schema": "morning/1", "made_at": "2026-04-24T17:30Z", "stations": []}, "too long ago"),
    ("the future", {"schema": "morning/1", "made_at": "2026-04-25T19:30Z", "stations": []}, "after this one"),
]


@pytest.mark.parametrize(("about", "past", "words"), BAD_PAST, ids=[b[0] for b in BAD_PAST])
def test_a_past_posting_that_cannot_be_used_is_said(tmp_path: Path, about: str, past: Any, words: str):
    summary = told(tmp_path, f"METAR XBRK 251753Z {GOOD}", "XBRK", previous=past)
    assert any(words in n for n in summary.notes)
    assert summary.previous_at is None


def test_a_damaged_field_of_a_past_posting_does_not_sink_the_page(tmp_path: Path):
    past = {"schema": "morning/1", "made_at": "2026-04-25T17:30Z", "stations": [{"station": "XBRK", "blocks": 7}]}
    (s,) = told(tmp_path, f"METAR XBRK 251753Z {GOOD}", "XBRK", previous=past).stations
    assert "could not be read" in s.changes[0]


# -- ends -----------------------------------------------------------------------------------------------------


def test_the_posting_ends_with_its_first_field(demo: MorningSummary):
    assert demo.expires_at == min(s.day.expires_at for s in demo.stations)
    assert demo.expires_at <= demo.made_at + timedelta(minutes=60)
    assert all(s.next_update <= s.day.expires_at for s in demo.stations)


def test_repeating_brings_the_next_update_forward():
    chosen = Choices(demo=True)
    summary, _ = posting(Wanted(("XSND",), chosen, "", 120, 10))
    assert summary.stations[0].next_update == summary.made_at + timedelta(minutes=10)
