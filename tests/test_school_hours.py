"""Weekdays of a school's hours and its own wind stops of single lessons: read, refused, applied, said."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, time
from pathlib import Path

import pytest
import time_machine

from advisor.advice import StageDay, practice_days
from advisor.card import lesson_card
from advisor.cli import run
from advisor.clock import OpeningHours
from advisor.errors import DataFileError
from advisor.lessons import lesson, lesson_keys
from advisor.limits import Changes, stage_setup
from advisor.morning.blocks import spans_of
from advisor.present.day_csv import day_csv
from advisor.present.day_json import day_json
from advisor.present.day_text import day_text, shown_hours
from advisor.rules.registry import Suitability
from advisor.school import parse_school
from tests.day_case import TRAINER
from tests.fields import FAIR, given

TAF = "2512/2618 22012KT P6SM SKC"
SATURDAY, SUNDAY = date(2026, 4, 25), date(2026, 4, 26)
HOURS = """name = "A"
[hours]
opens = "08:00"
closes = "18:00"
closed = ["monday"]
saturday = { opens = "09:30", closes = "15:30" }
"""


def stage(opening: OpeningHours | None, wind: str = "22012KT", who: str = "post-solo", **more: object) -> StageDay:
    (day,) = practice_days([given(f"{wind} {FAIR}", TAF)], (stage_setup(who),), TRAINER, opening=opening, **more)  # type: ignore[arg-type]
    return day.stages[0]


# -- hours -------------------------------------------------------------------------------------------------


def test_weekdays_are_read_and_the_others_keep_the_common_hours() -> None:
    hours = parse_school(HOURS).opening_hours
    assert hours is not None
    assert hours.on(SATURDAY) == (time(9, 30), time(15, 30))
    assert hours.on(SUNDAY) == (time(8), time(18))
    assert hours.on(date(2026, 4, 27)) is None  # a Monday


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('closed = ["someday"]', "hours.closed.0: must be one of 'monday'"),
        ('closed = ["saturday"]', "hours: saturday is closed and has hours; keep one"),
        ('sunday = { opens = "18:00", closes = "09:00" }', "hours.sunday: closes must be later than opens"),
        ('sunday = { opens = "9" }', "hours.sunday.opens: write the local time as"),
    ],
)
def test_hours_that_cannot_be_are_refused_by_name(line: str, fault: str) -> None:
    text = HOURS.replace('closed = ["monday"]', line)
    with pytest.raises(DataFileError, match=r"school file has") as caught:
        parse_school(text)
    assert fault in str(caught.value)


def test_a_window_ends_when_the_doors_close_to_the_minute() -> None:
    found = stage(OpeningHours(time(8), time(15, 30)))
    assert "13:00 to 15:30 CDT" in found.sentence
    assert found.end_reason == "closing time"


def test_a_closed_day_is_passed_and_said() -> None:
    found = stage(OpeningHours(time(8), time(18), ((SATURDAY.weekday(), None),)))
    assert "tomorrow 08:00 to 13:00 CDT" in found.sentence  # the forecast ends at 1800Z
    assert {f"{h.start:%d}" for h in shown_hours(found)} == {"26"}
    (day,) = practice_days(
        [given(f"22012KT {FAIR}")], (stage_setup("solo"),), TRAINER,
        opening=OpeningHours(time(8), time(18), ((SATURDAY.weekday(), None),)),
    )  # fmt: skip
    assert day.stages[0].sentence.startswith("The school is closed now. From tomorrow 08:00 CDT (1300Z): not rated")
    assert [f"{s.start:%d}" for s in spans_of(day, 120)][:1] == ["26"]


def test_hours_outside_the_doors_are_not_listed() -> None:
    (day,) = practice_days(
        [given(f"22012KT {FAIR}", TAF)], (stage_setup("solo"),), TRAINER, opening=OpeningHours(time(8), time(15, 30))
    )
    assert "15:30 (1800-2030Z)" in day_text(day)
    assert "16:00" not in day_text(day).split("Lessons by hour")[1].split("Cautions")[0]


def test_each_hour_of_json_and_csv_says_whether_the_doors_are_open() -> None:
    """A suited hour after closing must not be booked by whoever reads the figures alone."""
    (day,) = practice_days(
        [given(f"22012KT {FAIR}", TAF)], (stage_setup("solo"),), TRAINER, opening=OpeningHours(time(8), time(15, 30))
    )
    hours = day_json(day)["stages"][0]["hours"]
    told = {(h["from"], h["to"]): h["open"] for h in hours}
    assert told["2026-04-25T20:00Z", "2026-04-25T20:30Z"] is True
    assert told["2026-04-25T20:30Z", "2026-04-25T21:00Z"] is False
    rows = [(r["from"], r["to"], r["open"]) for r in csv.DictReader(io.StringIO(day_csv(day)))]
    assert set(rows) == {(start, end, str(is_open)) for (start, end), is_open in told.items()}


def test_all_shut_says_so() -> None:
    shut = OpeningHours(time(8), time(18), ((5, None), (6, None)))
    assert stage(shut).sentence == "No opening hours are left to fly these lessons in."


# -- stops of single lessons -------------------------------------------------------------------------------

STOPS = """name = "A"
[lesson_stops.solo]
s-turns = { mean_wind_kt = 9 }
[lesson_stops.pre-solo]
tracking = { gust_spread_kt = 11 }
"""


def rating(who: str, key: str, wind: str, changes: Changes | None) -> Suitability:
    (day,) = practice_days([given(f"{wind} {FAIR}")], (stage_setup(who),), TRAINER, changes=changes)
    found = day.stages[0]
    return found.hours[0].suitability[key]


def test_a_schools_own_stop_holds_that_lesson_and_no_other() -> None:
    stops = parse_school(STOPS).lesson_stops
    assert stops == {"solo": {"s-turns": {"mean_wind_kt": 9.0}}, "pre-solo": {"tracking": {"gust_spread_kt": 11.0}}}
    changes = Changes(lesson_stops=stops)
    assert rating("solo", "s-turns", "22010KT", None) is Suitability.SUITED
    assert rating("solo", "s-turns", "22010KT", changes) is Suitability.HOLD
    assert rating("solo", "s-turns", "22009KT", changes) is Suitability.SUITED  # on the stop is inside it
    assert rating("solo", "turns-around-a-point", "22010KT", changes) is Suitability.SUITED
    assert rating("post-solo", "s-turns", "22010KT", changes) is Suitability.SUITED


def test_a_looser_stop_is_marked_on_every_page_and_a_stricter_one_is_said() -> None:
    changes = Changes(lesson_stops=parse_school(STOPS).lesson_stops)
    (day,) = practice_days([given(f"22010KT {FAIR}", TAF)], (stage_setup("pre-solo"),), TRAINER, changes=changes)
    assert "SCHOOL LIMITS: gust spread of tracking for pre-solo: the school's own stop of 11 kt (looser" in " ".join(
        day_text(day).split()
    )
    (solo,) = practice_days([given(f"22010KT {FAIR}", TAF)], (stage_setup("solo"),), TRAINER, changes=changes)
    text = " ".join(day_text(solo).split())
    assert "Tightened: mean wind of s-turns for solo: the school's own stop of 9 kt applies." in text
    assert "SCHOOL LIMITS" not in text


def test_the_card_swaps_at_the_schools_own_stop() -> None:
    changes = Changes(lesson_stops=parse_school(STOPS).lesson_stops)
    (day,) = practice_days([given(f"22008KT {FAIR}", TAF)], (stage_setup("solo"),), TRAINER, changes=changes)
    card = lesson_card(day, "solo", lesson("s-turns"), day.made_at)
    assert dict(card.if_wind)["rises"].startswith("past 9 kt mean at the field: hold; swap to")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[lesson_stops.student]\nx = 1", "lesson_stops.student: write it by stage"),
        ("[lesson_stops.solo]\nstalls = { mean_wind_kt = 9 }", "lesson_stops.solo.stalls: no such lesson"),
        ("[lesson_stops.solo]\neights-on-pylons = { mean_wind_kt = 9 }", "is not taught at this stage"),
        ("[lesson_stops.solo]\ns-turns = { mean = 9 }", "lesson_stops.solo.s-turns.mean: is not a known name"),
        ("[lesson_stops.solo]\ns-turns = { mean_wind_kt = -1 }", "must be at least 0"),
        ("[lesson_stops.solo]\ns-turns = {}", "give mean_wind_kt, gust_spread_kt or both"),
        ("lesson_stops = 3", "lesson_stops: write it by stage"),
    ],
)
def test_a_stop_that_cannot_be_is_refused_by_name(text: str, fault: str) -> None:
    with pytest.raises(DataFileError) as caught:
        parse_school(f'name = "A"\n{text}\n' if not text.startswith("lesson_stops =") else f'{text}\nname = "A"\n')
    assert fault in str(caught.value)


def test_check_says_hours_and_stops_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "s.toml"
    path.write_text(HOURS + STOPS.partition("\n")[2], "utf-8")
    assert run(["school", "check", str(path)]) == 0
    out = capsys.readouterr().out
    assert "Hours: 08:00 to 18:00 local; Monday closed; Saturday 09:30 to 15:30" in out
    assert "No limits of your own.\nStops of single lessons:\n" in out
    assert "solo s-turns mean_wind_kt: stop 9 kt" in out
    assert "Marked on every page: gust spread of tracking" in out


def test_the_demo_reads_a_schools_bearings_by_its_own_clock(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "s.toml"
    path.write_text(
        'name = "A"\n[[stations]]\nstation = "XBRK"\nname = "B"\nlatitude_deg = 60.0\nlongitude_deg = -140.0\n'
        'elevation_ft = 1240\ntime_zone = "America/Chicago"\n[[stations.runways]]\nname = "04/22"\n'
        "bearing_deg_magnetic = 40.0\nlength_ft = 3000\n",
        "utf-8",
    )
    said = []
    for year in (2026, 2029):
        with time_machine.travel(datetime(year, 4, 25, 13, 10, tzinfo=UTC)):
            assert run(["lesson", "crosswind-pattern", "XBRK", "--school", str(path), "--format", "json"]) == 0
            said.append(capsys.readouterr().out)
    assert said[0] == said[1]


def test_every_lesson_may_be_given_a_stop() -> None:
    for key in lesson_keys():
        text = f'name = "A"\n[lesson_stops.commercial]\n{key} = {{ mean_wind_kt = 5 }}\n'
        assert parse_school(text).lesson_stops["commercial"][key] == {"mean_wind_kt": 5.0}
