"""Booking windows: contiguous, long enough, inside daylight and doors, ranked, with what ends them."""

from __future__ import annotations

from datetime import time
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from advisor.advice import PracticeDay, practice_days
from advisor.clock import OpeningHours
from advisor.limits import stage_setup
from advisor.rules.registry import Suitability
from advisor.teaching import Teaching
from advisor.windows import Window, best_slot, rank_key, runs, windows_of
from tests.day_case import TRAINER, clock
from tests.fields import FAIR, given

H, N, A, C, S = (int(x) for x in list(Suitability)[:5])
SOME, STRONG = int(Teaching.SOME), int(Teaching.STRONG)


def cut(suits: list[int], minutes: list[int], usable: list[bool] | None = None, lesson_min: int = 60) -> list[Window]:
    ends = np.cumsum(minutes)
    return windows_of(
        0,
        np.array(suits, dtype=np.uint8),
        np.full(len(suits), SOME, dtype=np.uint8),
        ends - np.array(minutes),
        ends,
        np.array(usable if usable is not None else [True] * len(suits)),
        lesson_min,
    )


def test_runs_of_a_mask() -> None:
    assert runs(np.array([1, 1, 0, 1, 0, 0, 1], dtype=bool)) == [(0, 1), (3, 3), (6, 6)]
    assert runs(np.zeros(3, dtype=bool)) == []
    assert runs(np.ones(2, dtype=bool)) == [(0, 1)]


@pytest.mark.parametrize(
    ("suits", "minutes", "found"),
    [
        ([S, S, H, S], [30, 30, 10, 59], [(0, 60, S)]),  # 59 minutes hold no lesson
        ([S, S, H, S], [30, 30, 10, 60], [(0, 60, S), (70, 130, S)]),
        ([C, S, C], [30, 30, 30], [(0, 90, C)]),  # no suited hour: with care, its lowest cell counts
        ([C, S, S], [60, 30, 30], [(60, 120, S)]),  # a suited hour is offered as suited
        ([A, A], [30, 30], [(0, 60, A)]),
        ([H, N, H], [60, 60, 60], []),
        ([S, N, S], [40, 5, 40], []),  # broken by five minutes that are not rated
    ],
)
def test_windows_by_hand(suits: list[int], minutes: list[int], found: list[tuple[int, int, int]]) -> None:
    assert [(w.start_min, w.end_min, int(w.suitability)) for w in cut(suits, minutes)] == found


def test_outside_daylight_or_doors_there_is_no_window() -> None:
    assert cut([S, S, S], [60, 60, 60], [False, True, False])[0].minutes == 60
    assert cut([S, S, S], [60, 30, 60], [False, True, False]) == []


def test_the_slot_teaches_most_then_suits_most_then_comes_first() -> None:
    (window,) = cut([C, C, C, C], [60, 60, 60, 60])
    starts, ends = np.arange(4) * 60, np.arange(1, 5) * 60
    suits, teach = np.array([C, C, S, S]), np.array([SOME, STRONG, STRONG, SOME])
    slot = best_slot(window, suits, teach, starts, ends, 60)
    assert (slot.start_min, slot.end_min) == (120, 180)
    flat = best_slot(window, np.full(4, C), np.full(4, SOME), starts, ends, 60)
    assert flat.start_min == 0
    unknown = np.array([int(Teaching.UNKNOWN), SOME, SOME, SOME])  # not known is not the most
    assert best_slot(window, np.full(4, C), unknown, starts, ends, 60).start_min == 60


def test_ranking_wants_no_asking_then_teaching_then_suiting_then_the_stages_order() -> None:
    def window(suit: Suitability, teach: Teaching) -> Window:
        return Window(0, suit, teach, 0, 60, 0, 0)

    care, ask, suited = Suitability.WITH_CARE, Suitability.ASK_FIRST, Suitability.SUITED
    order = [
        rank_key(window(suited, Teaching.STRONG), 5),
        rank_key(window(care, Teaching.STRONG), 0),
        rank_key(window(suited, Teaching.STRONG), 0, stage_note=True),  # a demonstration comes after
        rank_key(window(suited, Teaching.LITTLE), 0),
        rank_key(window(ask, Teaching.STRONG), 0),
    ]
    assert order == sorted(order)
    assert rank_key(window(suited, Teaching.SOME), 1) < rank_key(window(suited, Teaching.SOME), 2)


def day(stage: str = "post-solo", **more: object) -> PracticeDay:
    taf = "2512/2612 22012KT P6SM SKC FM252100 22030G42KT P6SM SKC FM252300 22012KT P6SM SKC"
    return practice_days([given(f"22012KT {FAIR}", taf)], (stage_setup(stage),), TRAINER, **more)[0]  # type: ignore[arg-type]


def test_windows_of_a_day_stop_where_the_weather_does_and_say_so() -> None:
    stage = day().stages[0]
    assert stage.best is not None
    found = [(w.start_min, w.end_min) for w in stage.windows]
    start, end = (int(clock(x, 4).timestamp()) // 60 for x in ("18:00", "21:00"))
    assert (start, end) in found
    assert "30 kt" in stage.end_reason
    assert "(GU01)" in stage.end_reason or "(GU04)" in stage.end_reason or "(WI01)" in stage.end_reason


def test_doors_close_a_window_and_say_so() -> None:
    stage = day(opening=OpeningHours(time(8), time(15))).stages[0]  # 15:00 local is 2000Z
    assert stage.best is not None
    zone = ZoneInfo("America/Chicago")
    assert f"{clock('20:00', 4).astimezone(zone):%H:%M}" == "15:00"
    assert stage.best.end_min == int(clock("20:00", 4).timestamp()) // 60
    assert stage.end_reason == "closing time"


def test_an_hour_of_the_page_is_an_hour_and_no_hour_is_open_and_closed() -> None:
    opens, closes = time(8, 30), time(15, 30)
    for hour in day(opening=OpeningHours(opens, closes)).stages[0].hours:
        a, b = (t.astimezone(ZoneInfo("America/Chicago")).time() for t in (hour.start, hour.end))
        assert (hour.end - hour.start).total_seconds() <= 3600
        assert list(hour.cells) == list(range(hour.cells[0], hour.cells[-1] + 1))
        assert hour.open == (opens <= a < closes and opens < b <= closes)


@pytest.mark.parametrize("opening", [None, OpeningHours(time(8), time(19))])
def test_a_window_that_three_kinds_of_care_end_is_not_ended_by_the_doors(opening: OpeningHours | None) -> None:
    # 33 C and 5 SM are two kinds of care; a ceiling of 2,500 ft is a third, and three together ask first
    taf = "2512/2612 22008KT 5SM HZ SKC FM252000 22008KT 5SM HZ OVC025 FM252200 22008KT 5SM HZ SKC"
    source = given("22008KT 5SM HZ CLR 33/05 A3000", taf)
    stage = practice_days([source], (stage_setup("pre-solo"),), TRAINER, opening=opening)[0].stages[0]
    assert stage.best is not None
    assert stage.best.suitability is Suitability.WITH_CARE
    assert stage.best.end_min == int(clock("20:00", 4).timestamp()) // 60
    assert stage.end_reason == "care cautions of three or more kinds together (CE01, TE02, VS01)"


def test_no_window_reaches_past_sunset() -> None:
    for stage in day().stages:
        assert all(w.end_min <= int(clock("25:19", 4).timestamp()) // 60 for w in stage.windows)


def test_a_longer_lesson_needs_a_longer_window() -> None:
    # three hours before the wind, and two hours and nineteen minutes after it
    assert day(lesson_min=180).stages[0].best is not None
    assert day(lesson_min=181).stages[0].best is None


def test_an_hour_takes_the_lowest_of_its_cells() -> None:
    taf = "2512/2612 22012KT P6SM SKC TEMPO 2519/2520 22012KT 1SM BR FM252030 22012KT P6SM SKC"
    found = practice_days([given(f"22012KT {FAIR}", taf)], (stage_setup("pre-solo"),), TRAINER)[0]
    stage = found.stages[0]
    for hour in stage.hours:
        for i, (key, suit) in enumerate(hour.suitability.items()):
            cells = found.global_cells(hour.cells)
            assert suit == min(int(x) for x in found.ratings.suitability[0, i, cells]), key
    assert stage.hours[1].suitability["tracking"] is Suitability.ASK_FIRST  # 1 SM is a stop, only in TEMPO
    assert stage.hours[0].suitability["tracking"] >= Suitability.WITH_CARE
