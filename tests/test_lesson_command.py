"""The instructor's card: its numbers against worked cases, its ranges, its refusals, and every format."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from advisor.card.circles import around_pylons_plan, eight_plan, on_pylons_plan, point_plan, s_turn_plan
from advisor.card.lines import pattern_plan, rectangle_plan, tracking_plan
from advisor.card.model import Mark, WindBox
from advisor.cli import run
from advisor.errors import ImpossibleTriangle
from advisor.flight.circle import at_places
from advisor.flight.wind_triangle import solve
from advisor.lessons import lesson_keys, lessons

CARD = ("lesson", "turns-around-a-point", "XSND", "--stage", "post-solo", "--at", "11:00")


def steady(kt: float, from_deg: float) -> WindBox:
    return WindBox(kt, kt, from_deg, 0.0)


def text_of(capsys: pytest.CaptureFixture[str], *args: str) -> str:
    assert run(args) == 0
    return capsys.readouterr().out


# -- numbers ------------------------------------------------------------------------------------------------------


def test_the_bank_clock_of_a_worked_circle() -> None:
    """TAS 90, wind 15, radius 1,320 ft: derived table, checked by an independent time-step simulation."""
    plan, _ = point_plan(steady(15.0, 0.0), 90.0, 1320.0, True, "point")
    by_place = {m.name: m for m in plan.marks}
    for name, speed, crab, bank in (
        ("downwind", 105.0, 0.0, 36.5),
        ("across, nose in", 88.7, 9.6, 28.2),
        ("into wind", 75.0, 0.0, 20.7),
        ("across, nose out", 88.7, 9.6, 28.2),
    ):
        mark = by_place[name]
        assert mark.bank_deg is not None
        assert mark.groundspeed_kt[1] == pytest.approx(speed, abs=0.06)
        assert abs(mark.crab_deg[1]) == pytest.approx(crab, abs=0.06)
        assert mark.bank_deg[1] == pytest.approx(bank, abs=0.06)
    # a left turn from downwind first shows the nose to the left, inside the circle
    assert by_place["across, nose in"].crab_deg[1] < 0 < by_place["across, nose out"].crab_deg[1]


def test_the_oblique_rectangle() -> None:
    """Left course, downwind track 180, wind 030/15, TAS 90 (derived)."""
    plan, _, _ = rectangle_plan(steady(15.0, 30.0), 90.0, 180.0, (5280.0, 5280.0), "field", True, 30.0)
    expected = ((175.2, 102.7, 93.5), (81.7, 81.6, 76.9), (4.8, 76.7, 86.5), (278.3, 96.6, 103.1))
    for mark, (heading, speed, turn) in zip(plan.marks, expected, strict=True):
        assert mark.turn_deg is not None
        assert mark.drawn_heading_deg_true == pytest.approx(heading, abs=0.06)
        assert mark.groundspeed_kt[0] == pytest.approx(speed, abs=0.06)
        assert mark.turn_deg[0] == pytest.approx(turn, abs=0.06)
    assert sum(m.turn_deg[0] for m in plan.marks if m.turn_deg) == pytest.approx(360.0)


@pytest.mark.parametrize("left", [True, False])
def test_the_downwind_leg_runs_along_the_side_that_lies_nearest_downwind(left: bool) -> None:
    """Whichever side of the field the school entered first, the plan flies the leg that the words name."""
    for field_deg in (0.0, 20.0, 90.0, 160.0, 250.0):
        for wind_from in range(0, 360, 15):
            plan, _, _ = rectangle_plan(
                WindBox(10.0, 15.0, float(wind_from), 10.0), 90.0, field_deg, (9000.0, 3000.0), "f", left, 30.0
            )
            off = [abs((m.course_deg_true - wind_from + 360.0) % 360.0 - 180.0) for m in plan.marks]
            assert off[0] == pytest.approx(min(off)), (field_deg, wind_from)
            assert off[0] <= 45.0 + 1e-9
            # the field itself stays where it lies: its long side along the bearing it was entered with
            a, b, *_ = (np.array(c) for c in plan.ground[0].corners)
            c = np.array(plan.ground[0].corners[2])
            sides = sorted((b - a, c - b), key=lambda s: float(np.hypot(*s)))
            assert [round(float(np.hypot(*s))) for s in sides] == [3000, 9000]
            along_deg = np.degrees(np.arctan2(*sides[1])) - field_deg
            assert abs(np.sin(np.radians(along_deg))) < 1e-6


def test_words_plan_and_table_of_a_rectangle_name_one_downwind_leg(capsys: pytest.CaptureFixture[str]) -> None:
    card = json.loads(text_of(capsys, "lesson", "rectangular-course", "XBRK", "--format", "json"))
    leg = card["places"][0]["course_deg_true"]
    assert f"the downwind leg on {leg or 360:03.0f} true" in card["reference"]["says"]
    magnetic = round((leg - card["variation_deg_east"]) % 360.0)
    for place in card["places"]:
        for true, compass in zip(place["heading_deg_true"], place["heading_deg_magnetic"], strict=True):
            assert (true - compass) % 360.0 == pytest.approx(card["variation_deg_east"], abs=0.002)
    assert f"  1    downwind leg   {magnetic:03d}  " in text_of(capsys, "lesson", "rectangular-course", "XBRK")


def test_pylon_heights_of_a_worked_case() -> None:
    """TAS 100, wind 20: handbook 1,274 and 566 ft, exact 1,062 and 708 ft (derived; handbook divisor 11.3)."""
    plan, _ = on_pylons_plan(steady(20.0, 0.0), 100.0, True, 35.0)
    down, into = plan.marks[0], plan.marks[4]
    assert down.pivotal_exact_ft is not None
    assert into.pivotal_exact_ft is not None
    assert down.pivotal_handbook_ft is not None
    assert into.pivotal_handbook_ft is not None
    assert down.pivotal_exact_ft[1] == pytest.approx(1062, abs=1.5)
    assert into.pivotal_exact_ft[0] == pytest.approx(708, abs=1.5)
    assert down.pivotal_handbook_ft[1] == pytest.approx(1274, abs=1.5)
    assert into.pivotal_handbook_ft[0] == pytest.approx(566, abs=1.5)


def every_mark(wind: WindBox, left: bool) -> dict[str, tuple[Mark, ...]]:
    return {
        "point": point_plan(wind, 90.0, 1500.0, left, "p")[0].marks,
        "s-turns": s_turn_plan(wind, 90.0, 1500.0, left, 110.0, "r")[0].marks,
        "along": eight_plan(wind, 90.0, 1500.0, left, 40.0, "r", across=False)[0].marks,
        "across": eight_plan(wind, 90.0, 1500.0, left, 40.0, "r", across=True)[0].marks,
        "pylons": around_pylons_plan(wind, 90.0, 1500.0, left)[0].marks,
    }


@pytest.mark.parametrize("left", [True, False])
def test_circle_places_hold_every_speed_of_the_box(left: bool) -> None:
    wind = WindBox(8.0, 21.0, 230.0, 12.0)
    turn = -1 if left else 1
    for name, marks in every_mark(wind, left).items():
        for m in marks:
            if m.bank_deg is None:
                continue
            # the second half of an S-turn goes round the other way
            for way in (turn, -turn):
                th = way * (m.course_deg_true - 50.0)
                seen = at_places(90.0, 230.0, np.linspace(8.0, 21.0, 200), 1500.0, th, way)
                assert m.bank_deg[0] - 1e-9 <= seen.bank_deg.min(), (name, m.number)
                assert m.bank_deg[1] + 1e-9 >= seen.bank_deg.max(), (name, m.number)
                assert m.crab_deg[0] - 1e-9 <= seen.crab_deg.min()
                assert m.crab_deg[1] + 1e-9 >= seen.crab_deg.max()


def test_leg_ranges_hold_every_wind_of_the_box() -> None:
    wind = WindBox(5.0, 24.0, 10.0, 35.0)
    from_deg, kt = np.meshgrid(np.linspace(-25.0, 45.0, 141), np.linspace(5.0, 24.0, 60))
    for plan in (
        tracking_plan(wind, 90.0, 60.0, "r")[0],
        rectangle_plan(wind, 90.0, 20.0, (5280.0, 2640.0), "f", False, 30.0)[0],
        pattern_plan(wind, 90.0, 33.0, 3000.0, "03", True, 30.0)[0],
    ):
        for m in plan.marks:
            seen = solve(90.0, from_deg, kt, m.course_deg_true)
            assert m.crab_deg[0] <= seen.crab_deg.min() + 1e-9
            assert m.crab_deg[1] >= seen.crab_deg.max() - 1e-9
            assert m.groundspeed_kt[0] <= seen.groundspeed_kt.min() + 1e-9
            assert m.groundspeed_kt[1] >= seen.groundspeed_kt.max() - 1e-9


def test_left_and_right_mirror_crab_and_keep_bank() -> None:
    wind = steady(15.0, 0.0)
    left, right = (point_plan(wind, 90.0, 1500.0, side, "p")[0].marks for side in (True, False))
    for a, b in zip(left, right, strict=True):
        assert a.crab_deg[0] == pytest.approx(-b.crab_deg[1], abs=1e-9)
        assert a.bank_deg == pytest.approx(b.bank_deg)
        assert (a.east_ft, a.north_ft) == pytest.approx((-b.east_ft, b.north_ft), abs=1e-6)


@pytest.mark.parametrize("left", [True, False])
def test_a_closed_track_ends_where_it_begins_and_carries_its_marks(left: bool) -> None:
    wind = WindBox(10.0, 18.0, 230.0, 10.0)
    for plan in (
        point_plan(wind, 90.0, 1500.0, left, "p")[0],
        s_turn_plan(wind, 90.0, 1500.0, left, 110.0, "r")[0],
        eight_plan(wind, 90.0, 1500.0, left, 40.0, "r", across=False)[0],
        around_pylons_plan(wind, 90.0, 1500.0, left)[0],
        on_pylons_plan(wind, 90.0, left, 35.0)[0],
        rectangle_plan(wind, 90.0, 90.0, (5280.0, 5280.0), "f", left, 30.0)[0],
        pattern_plan(wind, 90.0, 223.0, 3000.0, "22", left, 30.0)[0],
    ):
        if plan.ground[0].kind == "point":
            assert plan.track[0] == pytest.approx(plan.track[-1], abs=1e-6)
            assert plan.track[0] == pytest.approx((plan.marks[0].east_ft, plan.marks[0].north_ft), abs=1e-6)
        assert [m.number for m in plan.marks] == list(range(1, len(plan.marks) + 1))
        track = np.array(plan.track + plan.track[:1] if plan.closed else plan.track)
        steps = np.hypot(*np.diff(track, axis=0).T)
        around = [
            np.interp(np.linspace(0, 1, 4000), np.r_[0, np.cumsum(steps)] / steps.sum(), track[:, i]) for i in (0, 1)
        ]
        for m in plan.marks:
            if m.drawn:
                assert np.hypot(around[0] - m.east_ft, around[1] - m.north_ft).min() < 20.0, (m.number, m.name)


def test_too_much_wind_is_refused_by_name() -> None:
    with pytest.raises(ImpossibleTriangle):
        tracking_plan(steady(95.0, 90.0), 90.0, 0.0, "r")


def test_times_load_factor_and_standard_are_on_the_card(capsys: pytest.CaptureFixture[str]) -> None:
    """Times from the closed form by hand: 4 R V E(k) / (V^2 - W^2); load factor 1 / cos(bank); ACS-6C V.B S7."""
    args = ("XSND", "--at", "11:00", "--now", "2026-04-25T13:10Z", "--stage", "pre-solo")
    card = json.loads(text_of(capsys, "lesson", "turns-around-a-point", *args, "--format", "json"))
    v, r = (card["tas_kt"] * 1.687810, card["radius_ft"])
    seconds = []
    for w in (card["wind_at_height"]["low_kt"], card["wind_at_height"]["high_kt"]):
        k = w * 1.687810 / v
        ellipse = np.mean(np.sqrt(1.0 - (k * np.sin(np.linspace(0.0, np.pi, 2000, endpoint=False))) ** 2)) * np.pi / 2
        seconds.append(4.0 * r * v * ellipse / (v * v * (1.0 - k * k)))
    point = " ".join(text_of(capsys, "lesson", "turns-around-a-point", *args).split())
    assert f"one circle in {seconds[0]:.0f}–{seconds[1]:.0f} s." in point
    assert "at 30° (1.15 g)" in point
    assert "at 45° (1.41 g)" in point
    assert "Standard: height ±100 ft, airspeed ±10 kt." in point
    turns = " ".join(text_of(capsys, "lesson", "s-turns", *args).split())
    assert "one circle" not in turns
    half = re.search(r"each half in (\d+)–(\d+) s\.", turns)
    assert half
    # the road lies a little off square, so a half is near half a circle and not exactly that
    assert float(half[1]) == pytest.approx(seconds[0] / 2, abs=2.0)
    for name in ("crosswind-pattern",):
        assert "Standard:" not in text_of(capsys, "lesson", name, *args)


# -- the command --------------------------------------------------------------------------------------------------


def test_local_and_zulu_name_the_same_hour(capsys: pytest.CaptureFixture[str]) -> None:
    local = text_of(capsys, *CARD)
    zulu = text_of(capsys, *CARD[:-1], "1600Z")
    assert local == zulu
    assert "11:00 CDT (251600Z)" in local


@pytest.mark.parametrize("key", lesson_keys())
def test_every_lesson_and_stage_has_a_card_and_clean_json(key: str, capsys: pytest.CaptureFixture[str]) -> None:
    lesson = next(x for x in lessons() if x.key == key)
    for stage in lesson.mean_stop_kt:
        out = text_of(capsys, "lesson", key, "XSND", "--stage", stage, "--at", "11:00", "--format", "json")
        card = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
        assert card["schema"] == "lesson-card/1"
        assert card["stage"] == stage
        assert card["places"]
        assert len(card["sensitivity"]) >= 3


def test_more_wind_asks_for_more(capsys: pytest.CaptureFixture[str]) -> None:
    card = json.loads(text_of(capsys, *CARD, "--format", "json"))
    drawn, more, less = card["sensitivity"][:3]
    for name in ("crab_deg", "fastest_kt", "steepest_deg"):
        assert less[name] < drawn[name] < more[name]
    assert more["shallowest_deg"] < drawn["shallowest_deg"] < less["shallowest_deg"]
    # the circle is sized for the planned bank at the high wind, which is the wind drawn
    assert drawn["steepest_deg"] == pytest.approx(card["planned_bank_deg"], abs=0.01)


def test_the_patterns_own_side_is_flown_unless_asked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Runway 13 of the made-up field has a right-hand pattern in its school file."""
    reports = tmp_path / "r.txt"
    reports.write_text("METAR XBRK 251253Z 13010KT 10SM CLR 19/10 A2990", "utf-8")
    school = Path(__file__).parent.parent / "advisor" / "data" / "demo" / "demo_school.toml"
    args = ("lesson", "crosswind-pattern", "XBRK", "--stage", "post-solo", "--from-file", str(reports), "--school",
            str(school), "--now", "2026-04-25T18:00Z", "--now", "2026-04-25T13:10Z", "--format", "json")  # fmt: skip
    assert json.loads(text_of(capsys, *args, "--runway", "13"))["first_turn"] == "right"
    assert json.loads(text_of(capsys, *args, "--runway", "13", "--left"))["first_turn"] == "left"
    assert json.loads(text_of(capsys, *args, "--runway", "31"))["first_turn"] == "left"
    said = text_of(capsys, *args[:-1], "text", "--runway", "13")
    assert "All turns right." in said
    assert "then" not in said.split("Entry:")[1].split("Look-out:")[0]  # nobody flies the other side next


@pytest.mark.parametrize("page", ["text", "html"])
@pytest.mark.parametrize(("field", "hour", "first"), [("XBRK", "14:00", True), ("XSND", "11:00", False)])
def test_why_a_lesson_is_not_suited_is_read_before_its_numbers(
    capsys: pytest.CaptureFixture[str], page: str, field: str, hour: str, first: bool
) -> None:
    said = text_of(capsys, "lesson", "s-turns", field, "--at", hour, "--stage", "post-solo", "--format", page)
    assert said.count("Cautions:") == 1
    assert (said.index("Cautions:") < said.index("hdg °M")) is first


def test_north_is_360_wherever_a_card_names_it(capsys: pytest.CaptureFixture[str]) -> None:
    """The table's 360 and the briefing's "Begin on 000 true" were one direction with two names."""
    said = text_of(capsys, "lesson", "s-turns", "XSND", "--at", "11:00", "--stage", "post-solo")
    assert "Begin on 360 true" in said
    assert not re.search(r"\b000 (true|magnetic)", said)


def test_a_variable_wind_has_no_headwind_and_a_missing_one_no_set_up(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    reports = tmp_path / "r.txt"
    args = ("lesson", "s-turns", "XBRK", "--stage", "post-solo", "--from-file", str(reports), "--now",
            "2026-04-25T13:10Z", "--format", "html")  # fmt: skip
    reports.write_text("METAR XBRK 251253Z VRB05KT 10SM CLR 19/10 A2990", "utf-8")
    said = text_of(capsys, *args)
    assert "5 kt across either side" in said
    assert "headwind" not in said
    reports.write_text("METAR XBRK 251253Z /////KT 10SM CLR 19/10 A2990", "utf-8")
    assert "Set up:" not in text_of(capsys, *args)


REFUSED = [
    (("lesson", "loops", "XSND"), "No lesson is called 'loops'"),
    ((*CARD[:-1], "07:00"), "is over"),
    ((*CARD[:-1], "2026-04-28T15:00Z"), "lies past"),
    (("lesson", "eights-on-pylons", "XSND", "--stage", "solo"), "not taught at stage solo"),
    ((*CARD, "--stage", "solo"), "A card is for one stage"),
    ((*CARD, "--format", "png"), "add --out DIR"),
]


@pytest.mark.parametrize(("args", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_refused_with_a_sentence(args: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(args) == 1
    out = capsys.readouterr()
    assert words in out.err
    assert not out.out


def test_figures_are_written_whole_into_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "new" / "figures"
    assert run([*CARD, "--format", "svg", "--out", str(folder)]) == 0
    names = sorted(p.name for p in folder.iterdir())
    assert names == [f"turns-around-a-point-{x}.svg" for x in ("astray", "bank", "plan")]
    for path in folder.iterdir():
        ET.fromstring(path.read_text("utf-8"))
    svg = text_of(capsys, *CARD, "--format", "svg")
    assert svg == (folder / "turns-around-a-point-plan.svg").read_text("utf-8")


def test_metric_units_change_the_scale_bar(capsys: pytest.CaptureFixture[str]) -> None:
    assert " ft (" in text_of(capsys, *CARD, "--format", "svg")
    metric = text_of(capsys, *CARD, "--format", "svg", "--units", "metric")
    assert " ft (" not in metric
    assert " m</text>" in metric


@pytest.mark.skipif(find_spec("resvg_py") is None, reason="png extra not installed")
def test_png_figures(tmp_path: Path) -> None:
    assert run([*CARD, "--format", "png", "--out", str(tmp_path)]) == 0
    for path in tmp_path.glob("*.png"):
        data = path.read_bytes()
        assert data.startswith(b"\x89PNG\r\n")
        assert int.from_bytes(data[16:20], "big") > 600  # twice the figure's width
    assert len(list(tmp_path.glob("*.png"))) == 3


def test_a_calm_is_not_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    reports = tmp_path / "r.txt"
    reports.write_text("METAR KLNK 251753Z 00000KT 10SM CLR 15/05 A3000", "utf-8")
    args = ("lesson", "turns-around-a-point", "KLNK", "--stage", "post-solo", "--from-file", str(reports), "--now",
            "2026-04-25T18:00Z")  # fmt: skip
    card = json.loads(text_of(capsys, *args, "--format", "json"))
    assert card["places"] is None
    assert "calm at the field" in card["no_plan_because"]
    assert card["bank_curve"] is not None  # banks need no direction
    assert run([*args[:1], "tracking", *args[2:], "--format", "svg"]) == 1
    assert "No headings and no plan" in capsys.readouterr().err
