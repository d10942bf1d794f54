"""What pages print of an answer: numbers, lists, units and errors, alike in every form."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from advisor.advice import practice_days
from advisor.cli import run
from advisor.clock import local
from advisor.lessons import lesson_keys
from advisor.limits import stage_setup
from advisor.present.card import header_lines
from advisor.present.day_csv import day_rows
from advisor.present.day_json import day_json
from advisor.present.day_text import day_text
from advisor.present.questions import questions
from advisor.present.words import demand_lines
from advisor.rules.context import number
from advisor.units import visibility_words
from tests.day_case import TRAINER
from tests.fields import FAIR, given, one_day

# -- numbers and lists -------------------------------------------------------------------------------------


def test_sunset_cuts_its_hour_so_that_the_light_that_is_left_is_shown() -> None:
    day, stage = one_day(f"22010KT {FAIR}", at="24:53", now="25:00")  # 20:00 local, sunset 20:19
    assert [(h.daylight, f"{h.start:%H%M}", f"{h.end:%H%M}") for h in stage.hours[:2]] == [
        (True, "0100", "0119"),
        (False, "0119", "0200"),
    ]
    assert "20:00-20:19 (0100-0119Z)" in day_text(day)


def test_stretches_that_read_alike_are_one_stretch() -> None:
    day, stage = one_day(f"22008KT {FAIR}", taf="2512/2522 22030G45KT P6SM SKC FM252000 10030G45KT P6SM SKC")
    assert stage.best is None
    for line in day_text(day).splitlines():
        assert line.count(" hold") <= 1 or "; " not in line, line


def test_a_value_over_two_limits_shows_on_which_side_of_both_it_lies() -> None:
    assert number(15.04, 12.0) == "15"
    assert number(15.04, 15.0, 12.0) == "15.04"
    assert number(7.1, 7.0, 5.0) == "7.1"
    assert number(2500.0, 2000.0) == "2,500"


def test_visibility_reads_as_reported_or_rounded_from_metres() -> None:
    assert [visibility_words(x) for x in (0.25, 0.0625, 5.0, 2.5, 3800 / 1609.344)] == [
        "0.25",
        "0.0625",
        "5",
        "2.5",
        "2.4",
    ]
    assert visibility_words(4800 / 1609.344, (5.0, 3.0)) == "2.98"


def test_calm_has_no_crosswind_and_a_wind_down_the_runway_none_to_speak_of() -> None:
    words_of = {"00000KT": "Runway: calm, so none has a crosswind.", "22008KT": "Runway 22: hardly any crosswind."}
    for report, words in words_of.items():
        stage = one_day(f"{report} {FAIR}")[1]
        assert stage.demand is not None
        assert words in demand_lines(stage.demand), demand_lines(stage.demand)


@pytest.mark.parametrize(
    ("air", "base"),
    [("25/15", "4,000 ft"), ("02/M01", "1,200 ft")],  # handbook's 400 ft a degree: 10 and 3 degrees of spread
)
def test_cloud_base_by_the_spread_is_said_by_day_and_in_stirred_air_only(air: str, base: str) -> None:
    stage = one_day(f"22008KT 10SM CLR {air} A3000")[1]
    assert stage.demand is not None
    words = f"By the spread, cloud that grows in the sun would have its base about {base} above the field."
    assert words in demand_lines(stage.demand)
    for unknown in (
        one_day("22008KT 10SM CLR A3000")[1],  # no temperature
        one_day(f"22008KT 10SM OVC060 {air} A3000")[1],  # the sun does not reach the ground
        one_day(f"22008KT 10SM CLR {air} A3000", at="11:53", now="12:00")[1],  # dawn
    ):
        assert unknown.demand is not None
        assert unknown.demand.cloud_base_from_spread_ft is None


def test_corners_are_said_of_lessons_that_have_them() -> None:
    day, _ = one_day(f"22008KT {FAIR}")
    for name, said in (("tracking", False), ("rectangular-course", True)):
        demand = day.demand(0, lesson_keys().index(name), [0])
        assert demand is not None
        assert any("in the corners" in line for line in demand_lines(demand)) is said, name


def test_a_caution_says_where_the_group_it_cites_comes_from() -> None:
    taf = "2512/2612 22010KT P6SM SCT045 TEMPO 2520/2523 VRB20G35KT 2SM TSRA BKN030CB"
    day, stage = one_day("22010KT 10SM SCT045 19/14 A2995", "solo", taf, at="13:53", now="14:00")
    today = next(c for c in stage.cautions if c.code == "TS06")
    assert (today.layer, today.group[:5]) == ("forecast, possible", "TEMPO")
    later = [c for c in day.cautions(0, 0, day.cells_at(day.made_at.replace(hour=18))) if c.code == "IC03"]
    assert [c.layer for c in later] == ["carried, not forecast"]


def test_a_card_for_an_hour_past_its_own_page_asks_to_be_made_anew() -> None:
    from advisor.card import lesson_card
    from advisor.lessons import lesson

    day, _ = one_day(f"22010KT {FAIR}", taf="2512/2612 22010KT P6SM SKC")
    early = lesson_card(day, "pre-solo", lesson("tracking"), day.made_at)
    late = lesson_card(day, "pre-solo", lesson("tracking"), day.made_at.replace(hour=21))
    assert "a plan" not in header_lines(early)[2]
    assert header_lines(late)[2].endswith("): a plan, to be made anew.")


def test_the_expiry_is_one_sentence() -> None:
    text = " ".join(day_text(one_day(f"22010KT {FAIR}")[0]).split())
    assert "(because" not in text
    assert ", because " in text


def test_questions_begin_with_the_reason_named_and_fit_their_rule() -> None:
    assert "(WI04: " in questions(one_day(f"26O08KT {FAIR}")[1])[0]
    silent = one_day("22008KT 10SM CLR 15/05 A3000 RMK AO2 TSNO", "solo")[1]
    assert questions(silent)[0].startswith("How would we learn of a storm that this station cannot see? (TS07")


def test_a_zone_without_letters_reads_as_utc_and_hours() -> None:
    when = datetime(2026, 4, 25, 18, tzinfo=UTC)
    names = ("America/Chicago", "Asia/Ulaanbaatar", "Asia/Kathmandu", "Atlantic/Azores", "America/Sao_Paulo")
    assert [local(when, ZoneInfo(x)).split()[1] for x in names] == ["CDT", "UTC+8", "UTC+5:45", "UTC", "UTC-3"]


@pytest.mark.parametrize("style", ["text", "html"])
def test_metric_cards_give_distances_over_the_ground_in_metres_and_heights_in_feet(
    style: str, capsys: pytest.CaptureFixture[str]
) -> None:
    args = ["lesson", "s-turns", "XBRK", "--at", "10:00", "--format", style]
    texts = {}
    for units in ("us", "metric"):
        assert run([*args, "--units", units]) == 0
        texts[units] = " ".join(capsys.readouterr().out.split())
    feet = re.search(r"Radius ([\d,]+) ft \(", texts["us"])
    metres = re.search(r"Radius ([\d,]+) m \(", texts["metric"])
    assert feet is not None
    assert metres is not None
    assert float(metres[1].replace(",", "")) == round(float(feet[1].replace(",", "")) * 0.3048, -1)
    assert re.search(r"carried [\d,]+0 m downwind", texts["metric"])
    assert "Radius" not in re.findall(r"Radius [\d,]+ ft", texts["metric"])
    assert "1,000 ft" in texts["metric"]  # as the altimeter shows


def test_help_of_the_card_names_every_lesson(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lesson", "--help"]) == 0
    out = " ".join(capsys.readouterr().out.replace("-\n", "-").split())
    for key in lesson_keys():
        assert key in out, key


# -- errors ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["rules", "gust"], "Did you mean one of: GU01 peak-wind"),
        (["rules", "XX99"], "Known: AG01"),
        (["lesson", "eights-on-pylons", "XBRK", "--stage", "solo"], "taught at: post-solo, commercial"),
        (["day", "XBRK", "--my-wind", "-3"], "-3.0 is not in the range"),
    ],
)
def test_an_error_says_what_to_do_next(arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(arguments) != 0
    assert words in " ".join(capsys.readouterr().err.split())


def test_rules_and_why_print_the_stops_of_a_lesson(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["rules", "WI02"]) == 0
    out = capsys.readouterr().out
    assert "s-turns (mean, stop, kt): pre-solo 18; solo 12; post-solo 20; commercial 20" in out
    assert "\n\nWhy it matters\n" in out
    assert run(["why", "s-turns", "XBRK", "--stage", "solo", "--at", "14:00"]) == 0
    why = " ".join(capsys.readouterr().out.split())
    assert "limit s-turns (mean, stop, kt): pre-solo 18; solo 12" in why
    assert "turns-around-a-point (mean" not in why
    assert "peak_with_spread (both at once): peak 25 kt, spread 8 kt" in why


def test_csv_gives_the_ratings_and_teaching_values_of_json() -> None:
    # the forecast ends with the day's light left: some hours are rated and some are not
    taf = "2518/2522 22009KT P6SM SKC"
    (day,) = practice_days([given(f"22009KT {FAIR}", taf)], (stage_setup("solo"),), TRAINER)
    in_json = {
        (hour["from"], lesson): (found["suitability"], found["teaching"] or "")
        for hour in day_json(day)["stages"][0]["hours"]
        for lesson, found in hour["lessons"].items()
        if found["suitability"] != "not taught at this stage"
    }
    in_csv = {(r["from"], r["lesson"]): (r["suitability"], r["teaching"]) for r in day_rows(day)}
    assert in_csv == in_json
    assert {suit for suit, _ in in_csv.values()} > {"not rated"}


@pytest.mark.parametrize("hour", ["18:00", "18:20"])  # the air is stable from 18:48: the end of the hour rates it
def test_why_explains_the_hour_that_the_day_page_rates(hour: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["day", "XHLW", "--stage", "solo", "--format", "json"]) == 0
    hours = json.loads(capsys.readouterr().out)["stages"][0]["hours"]
    (rated,) = [h["lessons"]["tracking"] for h in hours if h["from"] == "2026-04-25T23:00Z"]
    assert rated["suitability"] == "ask first"
    assert run(["why", "tracking", "XHLW", "--stage", "solo", "--at", hour, "--format", "json"]) == 0
    why = json.loads(capsys.readouterr().out)
    assert (why["suitability"], why["teaching"]) == (rated["suitability"], rated["teaching"])
    assert (why["from"], why["to"]) == ("2026-04-25T23:00Z", "2026-04-26T00:00Z")
    assert "DE01" in {c["code"] for c in why["cautions"]}
    assert run(["why", "tracking", "XHLW", "--stage", "solo", "--at", hour]) == 0
    assert "18:00 to 19:00 CDT (2300Z to 0000Z): ask first;" in " ".join(capsys.readouterr().out.split())


def test_the_desks_blocks_of_tomorrow_say_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "reports.txt"
    taf = "TAF KBDU 252320Z 2600/2624 26008KT P6SM SKC FM262000 27018G28KT P6SM SKC"
    path.write_text(f"METAR KBDU 260135Z 26008KT 10SM CLR 15/05 A3000\n{taf}\n", "utf-8")
    site = tmp_path / "site"
    # 20:10 on the 25th at the field, the 26th in Z
    args = ["morning", "KBDU", "--from-file", str(path), "--now", "2026-04-26T02:10Z"]
    assert run(args) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Saturday 25 April 2026, made 20:10 MDT" in text
    assert "Status: tomorrow 06:" in text
    assert "tomorrow 08:00 to 10:00 MDT (1400Z to 1600Z)" in text
    assert "(GU04), tomorrow 14:00 to" in text
    assert run([*args, "--out", str(site), "--no-cards"]) == 0
    capsys.readouterr()
    assert "tomorrow 06:" in (site / "index.html").read_text("utf-8")
    assert "tomorrow 08:00 to 10:00" in (site / "KBDU.html").read_text("utf-8")
    # 18:10 on the 25th at the field: the evening is today's although Z has turned
    path.write_text(f"METAR KBDU 252353Z 26008KT 10SM CLR 15/05 A3000\n{taf}\n", "utf-8")
    assert run([*args[:-1], "2026-04-26T00:10Z"]) == 0
    assert "Status: 18:10-" in capsys.readouterr().out


def test_an_hour_that_is_over_says_how_to_write_tomorrows(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lesson", "s-turns", "XBRK", "--at", "03:00"]) == 1
    assert "a day later is 2026-04-26T03:00." in capsys.readouterr().err
    assert run(["why", "s-turns", "XBRK", "--stage", "solo", "--at", "2026-04-27T15:00"]) == 1
    assert "With its date: --at 2026-04-25T20:10." in capsys.readouterr().err
    assert run(["why", "s-turns", "XBRK", "--stage", "solo", "--at", "03:00"]) == 1
    assert "With its date: --at 2026-04-26T03:00." in capsys.readouterr().err


@pytest.mark.parametrize(
    "args", [["--stage", "solo"], [], ["--stage", "solo", "--format", "html"], ["--format", "html"]]
)
def test_metric_reaches_every_form_of_the_day_page(args: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["day", "XBRK", "--units", "metric", *args]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert re.search(r"at a radius of [\d,]+ m:", page)
    assert not re.search(r"at a radius of [\d,]+ ft", page)


@pytest.mark.parametrize("mean_kt", [7, 9, 11, 13])  # 1.5 times an odd mean ends in a half
def test_five_knots_more_and_less_add_up_as_printed(mean_kt: int) -> None:
    from advisor.card import lesson_card
    from advisor.lessons import lesson

    day, _ = one_day(f"220{mean_kt:02d}KT {FAIR}")
    card = lesson_card(day, "pre-solo", lesson("s-turns"), day.made_at)
    drawn, more, less = (int(s.label.split()[-2]) for s in card.sensitivity[:3])
    assert (more - drawn, drawn - less) == (5, 5)
