"""What an instructor would do instead: each swap in a day that calls for it, and not in one that does not."""

from __future__ import annotations

import pytest

from advisor.advice import StageDay, practice_days
from advisor.limits import stage_setup
from advisor.words import find_approval_words
from tests.day_case import TRAINER
from tests.fields import field, given

DAY = "10SM CLR 15/05 A3000"


def stage(report: str, who: str = "pre-solo", taf: str | None = None, **site: object) -> StageDay:
    source = given(report, taf, site=field(**site) if site else None)
    return practice_days([source], (stage_setup(who),), TRAINER)[0].stages[0]


def kinds(found: StageDay) -> set[str]:
    return {s.kind for s in found.swaps}


@pytest.mark.parametrize(
    ("kind", "report", "who"),
    [
        ("dual-drift", f"22018KT {DAY}", "pre-solo"),
        ("solo-to-dual", f"22018G27KT {DAY}", "solo"),
        ("solo-to-dual", f"22016KT {DAY}", "solo"),  # over the 15 kt of a student alone, no care with the instructor
        ("calm", f"00000KT {DAY}", "pre-solo"),
        ("low-for-stalls", "22012KT 10SM OVC030 15/05 A3000", "pre-solo"),
    ],
)
def test_a_day_that_calls_for_it(kind: str, report: str, who: str) -> None:
    assert kind in kinds(stage(report, who))


@pytest.mark.parametrize(
    ("kind", "report", "who"),
    [
        ("dual-drift", f"22010KT {DAY}", "pre-solo"),  # circles are flown
        ("dual-drift", f"22018G27KT {DAY}", "pre-solo"),  # nothing is
        ("dual-drift", f"22018KT {DAY}", "solo"),  # nobody to fly it with
        ("solo-to-dual", f"22008KT {DAY}", "solo"),
        ("solo-to-dual", f"22014KT {DAY}", "solo"),  # ask first alone: there is a lesson to ask about
        ("solo-to-dual", "22016KT 5SM HZ CLR 15/05 A3000", "solo"),  # haze keeps this student down too
        ("solo-to-dual", "22002KT 9999 CLR 15/05 Q1016 BECMG 27020KT", "solo"),  # two knots now teach no drift
        ("solo-to-dual", "22018G27KT 5SM TSRA BKN030CB 15/12 A3000", "solo"),  # no dual lesson into a storm
        ("solo-to-dual", "22018KT 10SM OVC010 15/05 A3000", "solo"),  # nor under a low ceiling
        ("calm", f"22012KT {DAY}", "pre-solo"),
        ("calm", f"/////KT {DAY}", "pre-solo"),  # missing is not calm
        # a low ceiling is never a reason for a low lesson: only where the lesson's own ceiling rule is quiet
        ("low-for-stalls", "22012KT 10SM OVC025 15/05 A3000", "pre-solo"),
        ("low-for-stalls", "22012KT 10SM OVC018 15/05 A3000", "pre-solo"),
        ("low-for-stalls", f"22012KT {DAY}", "pre-solo"),
        ("low-for-stalls", "22012KT 10SM OVC060 15/05 A3000", "pre-solo"),
    ],
)
def test_a_day_that_does_not(kind: str, report: str, who: str) -> None:
    assert kind not in kinds(stage(report, who))


def test_the_lowest_ceiling_of_the_window_is_the_one_that_counts() -> None:
    later = "2512/2622 22012KT P6SM OVC030 FM252000 22012KT P6SM OVC060"
    assert "low-for-stalls" in kinds(stage("22012KT 10SM OVC030 15/05 A3000", "pre-solo", later))


@pytest.mark.parametrize(
    ("wind", "too_windy_for"),
    [
        # before the first solo circles stop at 15 kt, S-turns at 18: what is still offered is not too windy
        ("22018KT", "turns around a point, eights along a road, eights across a road"),
        ("22020KT", "every circle"),
    ],
)
def test_the_dual_drift_lesson_names_the_circles_on_hold(wind: str, too_windy_for: str) -> None:
    (swap,) = [s for s in stage(f"{wind} {DAY}").swaps if s.kind == "dual-drift"]
    assert swap.text.startswith(f"Too windy for {too_windy_for}, right for the dual drift lesson")


def test_another_runway_is_named_only_when_one_was_asked_for() -> None:
    asked = stage(f"31012KT {DAY}", runway="04", pattern="left")
    (swap,) = [s for s in asked.swaps if s.kind == "better-runway"]
    assert "runway 31 is the better one: 1 kt across" in swap.text
    assert "better-runway" not in kinds(stage(f"31012KT {DAY}"))
    assert "better-runway" not in kinds(stage(f"31012KT {DAY}", runway="31"))


@pytest.mark.parametrize(("speed", "named"), [("20", True), ("17", False)])
def test_another_runway_is_the_better_one_by_a_knot_across_or_more(speed: str, named: bool) -> None:
    """090 true is 47.3 degrees off runway 04 and 42.7 off 13: 1.1 kt less across of 20 kt, 0.96 of 17."""
    assert ("better-runway" in kinds(stage(f"090{speed}KT {DAY}", runway="04"))) is named


@pytest.mark.parametrize("who", ["pre-solo", "solo"])
def test_nothing_to_fly_is_a_ground_lesson_with_todays_numbers_and_never_a_flight(who: str) -> None:
    found = stage(f"22030G45KT {DAY}", who)
    assert found.best is None
    assert found.windows == ()
    assert found.ground_activity is not None
    assert found.ground_activity.startswith("On the ground")
    assert "wind 30 kt at the field" in found.ground_activity
    assert "suited" not in found.sentence


def test_with_a_lesson_to_fly_no_ground_activity_is_pushed() -> None:
    assert stage(f"22012KT {DAY}", "post-solo").ground_activity is None


def test_nothing_known_is_a_ground_lesson_about_what_is_missing() -> None:
    found = stage(f"/////KT {DAY}")
    assert found.ground_activity is not None
    assert "missing" in found.ground_activity


@pytest.mark.parametrize("report", [f"22018KT {DAY}", f"22018G27KT {DAY}", f"00000KT {DAY}", f"VRB05KT {DAY}"])
def test_no_swap_reads_as_leave_to_fly(report: str) -> None:
    for who in ("pre-solo", "solo", "post-solo", "commercial"):
        found = stage(report, who)
        text = " ".join([s.text for s in found.swaps] + [found.sentence, found.ground_activity or "", found.end_reason])
        assert find_approval_words(text) == []
        assert "downwind side" not in text


def test_the_end_of_the_day_and_of_the_forecast_do_not_hide_the_swap() -> None:
    for taf in (None, "2512/2612 22018G27KT P6SM SKC", "2512/2522 22018G27KT P6SM SKC"):
        assert "solo-to-dual" in kinds(stage(f"22018G27KT {DAY}", "solo", taf)), taf
