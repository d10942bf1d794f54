"""The posting as text, JSON and CSV: all say the same, and every letter survives."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest

from advisor.cli import run
from advisor.morning import COLUMNS, DEFINITIONS, MorningSummary, Unserved
from advisor.present.morning_json import (
    morning_csv,
    morning_frame,
    morning_json,
    morning_json_text,
    morning_rows,
    station_json,
)
from advisor.present.morning_page import morning_html
from advisor.present.morning_text import WIDTH, ascii_text, morning_text, wrap
from advisor.present.morning_words import status_line
from advisor.words import find_approval_words
from tests.morning_posts import post, told

EXPECTED = Path(__file__).resolve().parent.parent / "fixtures" / "expected"
WORDS = {"hold", "ask first", "with care", "suited", "not rated"}


@pytest.fixture(scope="module")
def demo() -> MorningSummary:
    return post()


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
    heads = (
        "HAZARDS",
        "NOW",
        "LAST REPORTS",
        "LESSON BLOCKS",
        "WIND NOW",
        "RUNWAYS",
        "PRACTICE",
        "RESTRICTIONS",
        "DAYLIGHT",
    )
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


@pytest.mark.parametrize("text", ["two words", " two words", "two words ", "two  words", "two\nwords", "two\twords"])
def test_wrap_leaves_one_blank_between_words_and_none_at_the_ends(text: str):
    assert wrap(text, "  ") == "  two words"


@pytest.mark.parametrize(
    ("given", "plain"),
    [("Zoë – café", "Zoe - cafe"), ("220° true", "220 degrees true"), ("風", "?"), ("a\tb", "a b")],
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


def test_a_suited_hour_of_a_student_alone_is_never_the_bare_word(demo: MorningSummary) -> None:
    text = morning_text(demo)
    assert "solo: INSIDE THE DEFAULT LIMITS; YOUR INSTRUCTOR MUST RELEASE YOU." in " ".join(text.split())
    page = morning_html(demo)
    assert 'inside the default limits; <span class="release">your instructor must release you</span>' in page
    for shown in (text.lower(), page.lower()):
        assert not re.search(r"\bsolo(</p>)?:? ?(<b>)?suited", shown)
    assert re.search(r"dual(</p>)?:? ?(<b>)?suited", page.lower())  # with an instructor aboard the word stands


def test_a_field_in_one_line_gives_its_times_on_both_clocks(demo: MorningSummary) -> None:
    line = status_line(next(s for s in demo.stations if s.station == "XSND"))
    assert line.startswith("08:10-09:00 CDT (1310Z-1400Z) solo inside the default limits, dual suited")
    assert line.endswith("strong gusts from 16:00 CDT (2100Z) (GU04)")


def test_a_field_without_a_hazard_says_what_holds_it_down(tmp_path: Path) -> None:
    """16 kt is over the stop of 15 for a student alone and no hazard to the others (limits: mean wind)."""
    summary = told(tmp_path, "METAR XBRK 251753Z 22016KT 10SM CLR 15/05 A3000", "XBRK")
    said = "solo: mean wind 16 kt at the field (care 12, stop 15 kt) (WI01)"
    assert status_line(summary.stations[0]).endswith(f"; {said}")
    assert f"<strong>S{said[1:]}.</strong>" in morning_html(summary)
    good = told(tmp_path, "METAR XBRK 251753Z 22006KT 10SM CLR 15/M05 A3000", "XBRK", block_min=60)
    assert status_line(good.stations[0]).endswith("area suited")


def test_a_blocks_wind_tells_what_is_only_possible(demo: MorningSummary) -> None:
    """The made-up storm is TEMPO VRB25G40KT over a prevailing 20017G27KT; the posting of its block said 27 kt at most."""
    lines = " ".join(morning_text(demo).split())
    assert lines.count("17 kt gusting 27 kt at its strongest, 40 kt possible;") == 2
    assert lines.count(" possible;") == 2  # nothing is added where no group says more
    told = [b["wind"]["possible_peak_kt"] for s in map(station_json, demo.stations) for b in s["blocks"]]
    assert [x for x in told if x is not None] == [40.0, 40.0]


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


def test_json_and_csv_read_back_are_what_was_written(tmp_path: Path, demo: MorningSummary):
    for summary in (demo, told(tmp_path, NASTY, "XBRK")):
        assert json.loads(morning_json_text(summary)) == morning_json(summary)
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


def test_json_says_when_the_report_was_made_or_that_there_is_none(tmp_path: Path):
    metar, taf = "METAR XBRK 251753Z 22008KT 10SM CLR 15/05 A3000", "TAF XBRK 251730Z 2518/2618 22008KT P6SM SKC"
    for text, stamp in ((metar, ("METAR", "2026-04-25T17:53Z", 7)), (taf, (None, None, None))):
        (field,) = morning_json(told(tmp_path, text, "XBRK"))["stations"]
        assert (field["report_kind"], field["report_at"], field["report_age_min"]) == stamp


@pytest.mark.parametrize(
    ("wind", "code", "reason"),
    [("22022G33KT", "GU01", "gusts to 33 kt (care 25, stop 30 kt)"), ("22008KT", None, None)],
)
def test_json_and_csv_give_the_rule_that_holds_a_block_down_or_nothing(
    tmp_path: Path, wind: str, code: str | None, reason: str | None
):
    """33 kt is over the stop of the limits table; 8 kt in clear air are under every care."""
    text = f"METAR XBRK 251753Z {wind} 10SM CLR 15/05 A3000\nTAF XBRK 251730Z 2518/2618 {wind} P6SM SKC"
    summary = told(tmp_path, text, "XBRK")
    dual = morning_json(summary)["stations"][0]["blocks"][0]["columns"]["dual"]
    row = next(x for x in morning_rows(summary) if x["column"] == "dual")
    for found in (dual, row):
        assert (found["code"], found["reason"]) == (code, reason)


def replace_unserved(summary: MorningSummary, sentence: str) -> MorningSummary:
    summary.unserved = (Unserved("XXXX", sentence),)
    return summary


def test_csv_and_frame_hold_the_same_rows(demo: MorningSummary, capsys: pytest.CaptureFixture[str]):
    rows = morning_rows(demo)
    assert len(rows) == sum(len(s.blocks) for s in demo.stations) * len(COLUMNS)
    # a line is soon apart from its posting: each says until when, whether it is made up, and how old its report was
    stamps = {(row["do_not_use_after"], row["made_up_demo"], row["report_age_min"]) for row in rows}
    assert stamps == {("2026-04-25T14:03Z", True, 17.0)}
    frame = morning_frame(demo)
    assert len(frame) == len(rows)
    assert list(frame["suitability"]) == [r["suitability"] for r in rows]
    assert run(["morning", "--demo", "--format", "csv"]) == 0
    read = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {r["made_up_demo"] for r in read} == {"True"}
    assert [r["reason"] for r in read] == [r["reason"] or "" for r in rows]
