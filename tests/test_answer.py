"""The sentence a reader sees first: the right day, the right reason, and nothing offered that is on hold."""

from __future__ import annotations

import re
from datetime import time

import pytest

from advisor.advice import practice_days
from advisor.clock import OpeningHours
from advisor.limits import stage_setup
from advisor.present.day_page import day_html
from advisor.present.day_text import day_text
from tests.day_case import TRAINER, clock
from tests.fields import FAIR, field, given, one_day

# -- which day ---------------------------------------------------------------------------------------------

EVENING = {"at": "25:53", "now": "26:10"}  # 0210Z is 21:10 local: the sun went down at 0117Z


def test_after_sunset_the_hours_are_tomorrows_and_every_place_says_so() -> None:
    day, stage = one_day(f"22008KT {FAIR}", taf="2600/2624 22012KT P6SM SKC", **EVENING)
    assert stage.best is not None
    assert ", tomorrow 0" in stage.sentence
    text, page = day_text(day), day_html(day)
    assert "Best: Rectangular course, tomorrow 0" in text
    assert "Lessons by hour, tomorrow (" in text
    assert "Hours for: Rectangular course, tomorrow" in page
    assert "tomorrow" not in day_text(one_day(f"22008KT {FAIR}", taf="2512/2612 22012KT P6SM SKC")[0])


def test_in_the_dark_without_a_forecast_the_dark_is_named_first() -> None:
    _, stage = one_day(f"22008KT {FAIR}", **EVENING)
    assert stage.sentence.startswith("Dark now, and these are day lessons (DL01). From tomorrow 0")
    assert "not rated: no report or forecast" in stage.sentence


@pytest.mark.parametrize(("minutes", "dark"), [(-1, True), (0, False), (1, False)])
def test_from_the_minute_of_sunrise_it_is_the_school_that_is_closed(minutes: int, dark: bool) -> None:
    source = given(f"22011G33KT {FAIR}", "2512/2612 22011G33KT P6SM SKC", at="10:53", now="11:00")
    sunrises = practice_days([source], (stage_setup("solo"),), TRAINER)[0].station.sunrise_min
    rise = min(x for x in sunrises if x > source.now.timestamp() // 60)
    at = f"{rise // 60 % 24:02d}:{rise % 60 + minutes:02d}"
    later = given(f"22011G33KT {FAIR}", "2512/2612 22011G33KT P6SM SKC", at="10:53", now=at)
    doors = OpeningHours(time(9), time(18))
    said = practice_days([later], (stage_setup("solo"),), TRAINER, opening=doors)[0].stages[0].sentence
    why = "Dark now, and these are day lessons (DL01)" if dark else "The school is closed now"
    assert said.startswith(f"{why}. From 09:00 CDT (1400Z): every lesson is on hold")


@pytest.mark.parametrize(("before_min", "dark"), [(1, False), (0, True)])
def test_from_the_minute_of_sunset_it_is_dark(before_min: int, dark: bool) -> None:
    taf = "2600/2624 22011G33KT P6SM SKC"
    down = clock("25:19", 4)  # 25 April at the made-up field
    source = given(f"22011G33KT {FAIR}", taf, at="24:53", now=f"25:{down.minute - before_min:02d}")
    doors = OpeningHours(time(9), time(18))
    (day,) = practice_days([source], (stage_setup("solo"),), TRAINER, opening=doors)
    assert int(down.timestamp()) // 60 in day.station.sunset_min
    assert day.stages[0].sentence.startswith("Dark now" if dark else "The school is closed now")


# -- which reason ------------------------------------------------------------------------------------------


def test_a_hold_that_ends_with_the_report_says_until_when() -> None:
    _, stage = one_day(f"22011G33KT {FAIR}")
    assert stage.sentence == (
        "Every lesson is on hold until 14:53 CDT (1953Z): gusts to 33 kt (care 25, stop 30 kt) (GU01). "
        "Not rated after that: no report or forecast that counts reaches further (AG03)."
    )


def test_a_stretch_too_short_for_a_lesson_is_explained_by_what_ends_it() -> None:
    # half an hour of light wind, nothing but notes, and then a hold
    taf = "2512/2612 22005KT P6SM SKC FM251830 22011G33KT P6SM SKC"
    _, stage = one_day(f"22005KT {FAIR}", taf=taf, at="17:53")
    assert stage.best is None
    assert stage.sentence.startswith("No stretch of 60 minutes suits a lesson today: gusts to 33 kt")
    assert ", from 13:30 (1830Z) (GU01)" in stage.sentence


def test_a_hold_all_day_says_today() -> None:
    _, stage = one_day(f"22011G33KT {FAIR}", taf="2512/2612 22011G33KT P6SM SKC")
    assert stage.sentence.startswith("Every lesson is on hold today: gusts to 33 kt")


def test_a_hold_is_explained_by_what_holds_now_not_by_what_comes_to_last_longer() -> None:
    for later in ("FM251830 22031KT P6SM SKC", "FM251805 22008KT 1/2SM FG"):
        _, stage = one_day(f"22011G33KT {FAIR}", taf=f"2512/2612 22011G33KT P6SM SKC {later}")
        assert stage.sentence.startswith("Every lesson is on hold today: gusts to 33 kt")


def test_a_wind_that_cannot_be_read_is_the_reason_not_the_missing_forecast() -> None:
    _, stage = one_day(f"26O08KT {FAIR}")
    assert stage.sentence.startswith("Not rated: the wind group could not be read")
    assert stage.limiting is not None
    assert stage.limiting.code == "WI04"


def test_one_lessons_own_stop_puts_nothing_on_hold_that_is_not_rated() -> None:
    # for a student alone 90 minutes are too old, and 11 kt over the stop of eights around pylons alone
    _, stage = one_day(f"22011KT {FAIR}", "solo", now="19:23")
    assert {s.words for s in stage.hours[0].suitability.values()} == {"not rated", "hold", "not taught at this stage"}
    assert stage.sentence.startswith("Not rated: no report or forecast")


def test_a_report_too_old_is_given_with_its_age() -> None:
    _, stage = one_day(f"22008KT {FAIR}", at="15:53", now="18:00")
    assert "the last report is 127 minutes old" in stage.sentence
    _, fresh = one_day(f"22008KT {FAIR}", at="17:53", now="18:00")
    assert "minutes old" not in fresh.end_reason


def test_the_reason_named_is_the_one_that_lasts_longest_with_the_hour_it_begins() -> None:
    # stable from 90 minutes before sunset (2019 local); the last hour, which also asks, begins later
    _, stage = one_day(f"00000KT {FAIR}", "solo", taf="2522/2612 00000KT P6SM SKC", at="22:53", now="23:00")
    assert stage.limiting is not None
    assert stage.limiting.code == "SH02"
    assert ", from 18:49 (2349Z) (SH02)" in stage.sentence


def test_a_rating_lowered_by_three_kinds_of_caution_says_so() -> None:
    _, stage = one_day("22018KT 5SM CLR 33/05 A3000")  # mean wind, visibility, heat
    assert stage.best is not None
    assert stage.best.suitability.words == "ask first"
    assert "care cautions of three or more kinds together, the first " in stage.sentence
    assert all(c.caps_at > stage.best.suitability for c in stage.cautions)


def test_a_hold_of_the_last_half_hour_is_a_hold_today() -> None:
    source = given(f"22011G33KT {FAIR}", "2512/2612 22011G33KT P6SM SKC")
    (day,) = practice_days([source], (stage_setup("solo"),), TRAINER, opening=OpeningHours(time(8), time(13, 30)))
    assert day.stages[0].sentence.startswith("Every lesson is on hold today: gusts to 33 kt")


# -- what is offered instead -------------------------------------------------------------------------------


@pytest.mark.parametrize(("wind", "offered"), [("22018G27KT", True), ("28029G37KT", False), ("22011G33KT", False)])
def test_a_dual_lesson_is_offered_only_where_it_is_not_on_hold_too(wind: str, offered: bool) -> None:
    _, stage = one_day(f"{wind} {FAIR}", "solo")
    assert ("solo-to-dual" in {s.kind for s in stage.swaps}) is offered
    both = practice_days([given(f"{wind} {FAIR}")], (stage_setup("solo"), stage_setup("post-solo")), TRAINER)[0]
    assert ("solo-to-dual" in {s.kind for s in both.stages[0].swaps}) is offered


def test_crosswind_circuits_are_offered_only_where_they_are_not_on_hold() -> None:
    swap = {s.kind: s.text for s in one_day(f"22018G27KT {FAIR}", "solo")[1].swaps}["solo-to-dual"]
    assert "or crosswind circuits" in swap
    across = {s.kind: s.text for s in one_day(f"25014KT {FAIR}", "solo", site=field(runways=["13", "31"]))[1].swaps}
    assert "crosswind circuits" not in across.get("solo-to-dual", "")


@pytest.mark.parametrize(
    ("who", "words"),
    [
        ("pre-solo", "first landings"),
        ("solo", "your instructor has released you for"),
        ("commercial", "steep turns, precision"),
    ],
)
def test_still_air_is_good_for_what_the_stage_flies(who: str, words: str) -> None:
    (swap,) = [s for s in one_day(f"00000KT {FAIR}", who)[1].swaps if s.kind == "calm"]
    assert words in swap.text
    (light,) = [s for s in one_day(f"22003KT {FAIR}", who)[1].swaps if s.kind == "calm"]
    assert "Calm" not in light.text


@pytest.mark.parametrize(
    ("report", "taf", "more"),
    [
        ("22008KT 10SM CLR 15/05 A3000", "2518/2618 22008KT P6SM SKC", {}),  # a window
        ("22008KT 10SM CLR 15/05 A3000", "2518/2618 22008KT P6SM SKC FM252000 22019KT P6SM SKC", {}),  # from an hour on
        (f"22011G33KT {FAIR}", None, {}),  # until the report ends
        ("22008KT 10SM CLR 15/05 A3000", "2518/2618 22008KT P6SM SKC", {"at": "25:53", "now": "26:10"}),  # tomorrow
    ],
)
def test_every_time_of_the_sentence_has_z_beside_it(report: str, taf: str | None, more: dict[str, str]) -> None:
    for who in ("pre-solo", "solo", "post-solo"):
        said = one_day(report, who, taf, **more)[1].sentence
        local_times = re.findall(r"\b\d\d:\d\d\b", said)
        assert local_times, said
        assert len(re.findall(r"\b\d{4}Z\b", said)) == len(local_times), said
