"""What the figures show, measured on the drawing itself: headings, scale, drift, and what a caption may hold."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import pytest

from advisor import units
from advisor.card.circles import (
    around_pylons_plan,
    bank_curve,
    constant_bank,
    eight_plan,
    on_pylons_plan,
    point_plan,
    s_turn_plan,
)
from advisor.card.lines import pattern_plan, rectangle_plan, tracking_plan
from advisor.card.model import Plan, WindBox
from advisor.present.figures import astray_figure, bank_figure, ladder, plan_figure
from advisor.present.figures.svg import INK, Drawing
from advisor.rules.registry import Suitability

SVG = "{http://www.w3.org/2000/svg}"
WIND = WindBox(12.0, 18.0, 230.0, 10.0)
AIRCRAFT_POINTS = 16

PLANS: dict[str, Plan] = {
    "point": point_plan(WIND, 90.0, 1500.0, True, "silo")[0],
    "point, right": point_plan(WIND, 90.0, 1500.0, False, "silo")[0],
    "s-turns": s_turn_plan(WIND, 90.0, 1500.0, True, 130.0, "lane")[0],
    "rectangle": rectangle_plan(WIND, 90.0, 90.0, (5280.0, 2640.0), "section", True, 30.0)[0],
    "pattern": pattern_plan(WIND, 90.0, 223.0, 3800.0, "22", False, 30.0)[0],
    "tracking": tracking_plan(WIND, 90.0, 128.0, "lane")[0],
    "pylon": on_pylons_plan(WIND, 90.0, True, 35.0)[0],
}


def drawn(plan: Plan, wind: WindBox = WIND) -> ET.Element:
    svg = plan_figure(
        plan,
        wind,
        title="t",
        description="d",
        wind_words=("12–18 kt",),
        labels={m.number: ("057°M",) for m in plan.marks},
    )
    return ET.fromstring(svg)


def points(element: ET.Element) -> list[tuple[float, float]]:
    return [tuple(map(float, p.split(","))) for p in (element.get("points") or "").split()]  # type: ignore[misc]


def aircraft(root: ET.Element) -> list[tuple[tuple[float, float], float]]:
    """Middle and heading of every aircraft, read off the drawing: nose and tail are points 0 and 8."""
    out = []
    for polygon in root.iter(f"{SVG}polygon"):
        found = points(polygon)
        if len(found) == AIRCRAFT_POINTS and polygon.get("fill") == INK:
            (nx, ny), (tx, ty) = found[0], found[8]
            out.append((((nx + tx) / 2, (ny + ty) / 2), math.degrees(math.atan2(nx - tx, ty - ny)) % 360))
    return out


def scale_ft_per_unit(root: ET.Element) -> float:
    """From the bar and its words, as a reader would."""
    label = next(t for t in root.iter(f"{SVG}text") if re.search(r"^[\d,]+ ft \(", "".join(t.itertext())))
    feet = float("".join(label.itertext()).split(" ft")[0].replace(",", ""))
    x, y = float(label.get("x", "0")), float(label.get("y", "0"))
    bars = [
        e for e in root.iter(f"{SVG}line")
        if float(e.get("x1", "0")) == x and e.get("y1") == e.get("y2") and 0 < float(e.get("y1", "0")) - y < 12
    ]  # fmt: skip
    (bar,) = bars
    return feet / (float(bar.get("x2", "0")) - float(bar.get("x1", "0")))


@pytest.mark.parametrize("name", PLANS)
def test_every_aircraft_is_drawn_at_its_heading_and_so_off_its_course_by_the_crab(name: str) -> None:
    plan = PLANS[name]
    seen = aircraft(drawn(plan))
    marks = [m for m in plan.marks if m.drawn]
    assert len(seen) == len(marks)
    for mark, (_, heading) in zip(marks, seen, strict=True):
        off = (heading - mark.drawn_heading_deg_true + 180) % 360 - 180
        assert abs(off) < 1.0, (mark.number, heading, mark.drawn_heading_deg_true)
        crab = (heading - mark.course_deg_true + 180) % 360 - 180
        assert mark.crab_deg[0] - 1.0 <= crab <= mark.crab_deg[1] + 1.0


@pytest.mark.parametrize("name", PLANS)
def test_places_are_to_scale_and_north_is_up(name: str) -> None:
    plan = PLANS[name]
    root = drawn(plan)
    scale = scale_ft_per_unit(root)
    marks = [m for m in plan.marks if m.drawn]
    # the middle of nose and tail lies 0.05 of the aircraft's size behind its place: under a unit
    placed = [at for at, _ in aircraft(root)]
    (x0, y0), first = placed[0], marks[0]
    for (x, y), mark in zip(placed[1:], marks[1:], strict=True):
        assert (x - x0) * scale == pytest.approx(mark.east_ft - first.east_ft, abs=2.5 * scale)
        assert (y0 - y) * scale == pytest.approx(mark.north_ft - first.north_ft, abs=2.5 * scale)


@pytest.mark.parametrize("from_deg", [0, 45, 90, 137, 230, 300])
@pytest.mark.parametrize("left", [True, False])
def test_nothing_leaves_the_paper_whatever_the_wind(from_deg: int, left: bool) -> None:
    wind = WindBox(12.0, 18.0, float(from_deg), 10.0)
    for plan in (
        point_plan(wind, 90.0, 1500.0, left, "silo")[0],
        s_turn_plan(wind, 90.0, 1500.0, left, 130.0, "lane")[0],
        rectangle_plan(wind, 90.0, 90.0, (5280.0, 5280.0), "section", left, 30.0)[0],
        pattern_plan(wind, 90.0, float(from_deg + 30), 3000.0, "04", left, 30.0)[0],
    ):
        root = drawn(plan, wind)
        width, height = (float(root.get(k, "0")) for k in ("width", "height"))
        for (x, y), _ in aircraft(root):
            assert 15 < x < width - 15
            assert 15 < y < height - 15


def boxes(root: ET.Element) -> list[tuple[str, float, float, float, float]]:
    """Texts with the room they take; letters half as wide as high (the sans-serif's mean, measured in a browser)."""
    out = []
    for text in root.iter(f"{SVG}text"):
        words, size = "".join(text.itertext()), float(text.get("font-size", "0"))
        x, y, wide = float(text.get("x", "0")), float(text.get("y", "0")), 0.5 * size * len(words)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.get("text-anchor", "start")]
        out.append((words, left, y - 0.7 * size, left + wide, y + 0.15 * size))
    return out


@pytest.mark.parametrize("from_deg", range(0, 360, 15))
@pytest.mark.parametrize("left", [True, False])
def test_no_words_lie_on_others_whatever_the_wind(from_deg: int, left: bool) -> None:
    wind = WindBox(11.0, 17.0, float(from_deg), 10.0)
    circle = {1: ("335–337°M", "steepest", "enter here"), 5: ("207°M", "shallowest")}
    corner = {1: ("335–337°M",)}
    plans = (
        (point_plan(wind, 94.0, 1900.0, left, "White silo")[0], circle),
        (on_pylons_plan(wind, 94.0, left, 35.0)[0], circle),
        (around_pylons_plan(wind, 94.0, 1540.0, left)[0], {1: ("335°M", "enter here"), 2: ("045°M", "steepest")}),
        (eight_plan(wind, 94.0, 1540.0, left, from_deg + 80.0, "lane", across=True)[0], circle),
        (eight_plan(wind, 94.0, 1540.0, left, from_deg + 80.0, "lane", across=False)[0], circle),
        (s_turn_plan(wind, 94.0, 1900.0, left, from_deg + 80.0, "lane")[0], circle),
        (rectangle_plan(wind, 94.0, 90.0, (5280.0, 2640.0), "section", left, 30.0)[0], corner),
        (pattern_plan(wind, 94.0, 223.0, 3800.0, "22", left, 30.0)[0], corner),
        (tracking_plan(wind, 94.0, 128.0, "lane")[0], corner),
    )
    for plan, labels in plans:
        said = {m.number: labels.get(m.number, ("245°M",)) for m in plan.marks}
        svg = plan_figure(
            plan, wind, title="t", description="d", wind_words=("11–17 kt", f"{from_deg:03d}°T 207°M"), labels=said
        )
        found = boxes(ET.fromstring(svg))
        assert len(found) >= 5
        for k, (words, a, b, c, d) in enumerate(found):
            for others, e, f, g, h in found[k + 1 :]:
                over = min(c, g) - max(a, e) > 2 and min(d, h) - max(b, f) > 1
                assert not over, f"{words!r} and {others!r}"


@pytest.mark.parametrize("from_deg", range(0, 360, 15))
@pytest.mark.parametrize("left", [True, False])
def test_no_label_lies_on_a_pylon_whatever_the_wind(from_deg: int, left: bool) -> None:
    wind = WindBox(11.0, 17.0, float(from_deg), 10.0)
    plan = around_pylons_plan(wind, 94.0, 1540.0, left)[0]
    said = {1: "enter here", 2: "steepest", 4: "shallowest", 6: "steepest"}
    labels = {m.number: ("335°M", *([said[m.number]] if m.number in said else [])) for m in plan.marks}
    root = ET.fromstring(
        plan_figure(plan, wind, title="t", description="d", wind_words=("11–17 kt", "207°M"), labels=labels)
    )
    pylons = [points(p) for p in root.iter(f"{SVG}polygon") if len(points(p)) == 3 and p.get("fill") != INK]
    assert len(pylons) == 2
    for corners in pylons:
        x, y = (sum(v) / 3 for v in zip(*corners, strict=True))
        for words, left_x, top, right_x, foot in boxes(root):
            assert not (left_x - 4 < x < right_x + 4 and top - 4 < y < foot + 4), f"{words!r} hides a pylon"


def test_the_uncorrected_circle_is_carried_by_the_wind_alone() -> None:
    """Wind times time, from the turn's own relations: T = 2 pi V / (g tan bank) (derived)."""
    plan, _ = point_plan(WIND, 90.0, 1500.0, True, "silo")
    astray = constant_bank(WIND, 90.0, 1500.0, -1, plan.marks[0], plan.track, plan.ground, 2.0)
    v, w = 90.0 * units.KT_TO_FTS, 18.0 * units.KT_TO_FTS
    tan_bank = v * v / (units.G_FTS2 * 1500.0)
    carried = 2 * w * 2 * math.pi * v / (units.G_FTS2 * tan_bank)
    (e0, n0), (e1, n1) = astray.track[0], astray.track[-1]
    assert math.hypot(e1 - e0, n1 - n0) == pytest.approx(carried, rel=1e-3)
    assert math.degrees(math.atan2(e1 - e0, n1 - n0)) % 360 == pytest.approx(50.0, abs=0.2)  # wind from 230
    root = ET.fromstring(astray_figure(astray, WIND, description="d"))
    dashed = [e for e in root.iter(f"{SVG}polyline") if e.get("stroke-dasharray") == "7 4"]
    assert len(points(dashed[0])) == len(astray.track)


def test_bank_figure_hangs_the_band_between_its_lines() -> None:
    curve = bank_curve(WIND, 90.0, 1500.0, 30.0, 45.0, True)
    root = ET.fromstring(bank_figure(curve, title="t", description="d"))
    hatched = [e for e in root.iter(f"{SVG}polygon") if (e.get("fill") or "").startswith("url(")]
    band = points(hatched[0])
    assert len(band) == 2 * len(curve.at_deg)
    gaps = [low[1] - high[1] for high, low in zip(band[:73], reversed(band[73:]), strict=True)]
    assert min(gaps) >= 0.0
    assert max(gaps) > 2.0
    words = " ".join("".join(t.itertext()) for t in root.iter(f"{SVG}text"))
    assert "planned limit 30°" in words
    assert "leave at 45°" in words
    # steepest flying downwind (both ends of the axis), shallowest flying into wind (the middle)
    assert curve.high_deg[0] == pytest.approx(max(curve.high_deg))
    assert curve.low_deg[36] == pytest.approx(min(curve.low_deg))


def test_names_that_hold_markup_stay_text() -> None:
    bad = '<script>alert("x")</script>&"'
    plan = point_plan(WIND, 90.0, 1500.0, True, bad)[0]
    svg = plan_figure(plan, WIND, title=bad, description=bad, wind_words=(bad,), labels={1: (bad,)})
    root = ET.fromstring(svg)
    assert not list(root.iter(f"{SVG}script"))
    assert root.findtext(f"{SVG}title") == bad
    assert sum("".join(t.itertext()).endswith(bad) for t in root.iter(f"{SVG}text")) == 3  # silo, wind, label


def test_each_suitability_has_a_picture_of_its_own() -> None:
    pictures = {s: ladder(s) for s in Suitability}
    assert len(set(pictures.values())) == len(Suitability)
    filled = [pictures[s].count(f'fill="{INK}" stroke') for s in (Suitability.HOLD, Suitability.ASK_FIRST,
              Suitability.WITH_CARE, Suitability.SUITED)]  # fmt: skip
    assert filled == [0, 2, 3, 4]


def test_ids_do_not_clash_between_two_drawings() -> None:
    one, two = (Drawing(name, 10, 10, "t", "d").render() for name in ("a", "b"))
    assert not set(re.findall(r'id="([^"]+)"', one)) & set(re.findall(r'id="([^"]+)"', two))


@pytest.mark.parametrize(
    ("wind_kt", "planned", "leave"),
    [(3.0, 30.0, 45.0), (5.0, 35.0, 40.0), (8.0, 30.0, 45.0), (17.0, 35.0, 45.0)],
)
def test_the_words_on_the_planned_limit_cover_neither_curve_nor_exit_line(
    wind_kt: float, planned: float, leave: float
) -> None:
    """A light wind leaves the curve just under the limit, where its words stood."""
    curve = bank_curve(WindBox(wind_kt / 2, wind_kt, None, 180.0), 94.0, 1500.0, planned, leave, True)
    root = ET.fromstring(bank_figure(curve, title="t", description="d"))
    left, top, right, foot = next(b for b in boxes(root) if "planned limit" in b[0])[1:]
    curves = [points(p) for p in root.iter(f"{SVG}polyline")]
    assert len(curves) == 2
    for x, y in (at for curve in curves for at in curve):
        assert not (left < x < right and top < y < foot), "the words hide the curve"
    ends = [float(e.get("y1", "0")) for e in root.iter(f"{SVG}line") if e.get("stroke-width") == "1.6"]
    assert len(ends) == 2
    assert not [y for y in ends if top < y < foot]
