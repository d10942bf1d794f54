"""A posting from bad input, and what moved since the last one."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from advisor.cli import run
from advisor.present.morning_json import (
    morning_json,
)
from advisor.present.morning_page import morning_html
from advisor.present.morning_text import morning_text
from advisor.words import find_approval_words
from tests.morning_posts import GOOD, NOW, field, told

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
        ["--demo", "--blocks", "\u00b2h"],
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
    ("gusts grow", "22010G17KT", "22010G22KT", "gusts 17 to 22 kt"),
    ("gusts grow by less", "22010G17KT", "22010G21KT", ""),
    ("a hazard comes", "22010KT", "22010G33KT", "new: peak-wind (GU01)"),
    ("a hazard stays", "22010G33KT", "22010G34KT", ""),
    ("a hazard goes", "22010G33KT", "22010KT", "no longer: peak-wind (GU01)"),
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


@pytest.mark.parametrize(
    ("then", "now", "words"),
    [
        (
            "22008KT 10SM CLR 15/05", "22012KT 10SM CLR 16/03",
            "mean wind up 4 kt, temperature and dew point parting, 10.0 to 13.0 C apart",
        ),
        (
            "22008KT 10SM CLR 15/05", "22008G18KT 5SM CLR 14/06",
            "mean wind steady, gusts are new, temperature and dew point closing, 10.0 to 8.0 C apart, visibility 10 to 5 SM",
        ),
        # no number is made up from one report alone
        ("22008KT 10SM CLR 15/", "22008KT 10SM CLR 15/05", "mean wind steady"),
        ("22008KT 10SM CLR 15/05", "22008KT 10SM CLR 15/", "mean wind steady"),
        ("/////KT 10SM CLR 15/05", "22008KT 10SM CLR 15/05", "wind: no trend, a report lacks it"),
        ("22008KT 10SM CLR 15/05", "/////KT 10SM CLR 15/05", "wind: no trend, a report lacks it"),
    ],
)  # fmt: skip
def test_what_moved_from_the_oldest_report_to_the_newest(tmp_path: Path, then: str, now: str, words: str):
    text = f"METAR XBRK 251653Z {then} A3000\nMETAR XBRK 251753Z {now} A3000"
    (s,) = told(tmp_path, text, "XBRK").stations
    assert ", ".join(s.trend_words) == f"{words}, pressure steady, over 60 minutes"


@pytest.mark.parametrize(("tenths", "moved"), [("T01550050", True), ("T01540050", False)])
def test_half_a_degree_of_spread_is_a_move_and_less_is_not(tmp_path: Path, tenths: str, moved: bool):
    """10.0 C apart an hour ago, 10.5 or 10.4 now."""
    then, now = (f"METAR XBRK 25{t}Z 22008KT 10SM CLR 15/05 A3000" for t in ("1653", "1753"))
    (s,) = told(tmp_path, f"{then}\n{now} RMK {tenths}", "XBRK").stations
    assert any("parting, 10.0 to 10.5 C apart" in words for words in s.trend_words) is moved
    assert any("apart" in words for words in s.trend_words) is moved


BAD_PAST: list[tuple[str, Any, str]] = [
    (
        "another form",
        {"schema": "morning/9", "made_at": "2026-04-25T17:30Z", "stations": []},
        "not one of this form",
    ),
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


def test_a_field_that_was_not_in_the_last_posting_says_so_and_its_blocks_are_not_compared(tmp_path: Path):
    alone = json.loads(json.dumps(morning_json(told(tmp_path, f"METAR XHLW 251716Z {GOOD}", "XHLW", now_text=BEFORE))))
    (s,) = told(tmp_path, f"METAR XBRK 251753Z {GOOD}", "XBRK", previous=alone).stations
    assert s.changes == ("not in the last posting",)
    # of blocks cut otherwise, none can be held against another
    other = json.loads(json.dumps(morning_json(told(tmp_path, f"METAR XBRK 251716Z {GOOD}", "XBRK", now_text=BEFORE))))
    for block in other["stations"][0]["blocks"]:
        block["slot"] = block["slot"].replace(":", ".")
    (s,) = told(tmp_path, f"METAR XBRK 251753Z 22026KT {GOOD[8:]}", "XBRK", previous=other).stations
    assert not [c for c in s.changes if c.startswith("block ")]
    assert "wind 8 to 26 kt" in s.changes


def test_a_damaged_field_of_a_past_posting_does_not_sink_the_page(tmp_path: Path):
    past = {
        "schema": "morning/1",
        "made_at": "2026-04-25T17:30Z",
        "stations": [{"station": "XBRK", "blocks": 7}],
    }
    (s,) = told(tmp_path, f"METAR XBRK 251753Z {GOOD}", "XBRK", previous=past).stations
    assert "could not be read" in s.changes[0]
