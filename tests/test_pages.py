"""The three products: pages kept so that a change is seen, figures that stand alone, and faults that are named."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from advisor.cli import run
from advisor.lessons import lesson_keys
from tests.tools.pages import EXPECTED, KEPT, made

SVG = "{http://www.w3.org/2000/svg}"
NOW = "2026-04-25T18:00Z"


@pytest.mark.parametrize("name", KEPT)
def test_a_page_is_as_kept(name: str, tmp_path: Path) -> None:
    """Our own output, kept so that a change is seen; nothing outside is checked by it."""
    assert made(name, tmp_path) == (EXPECTED / name).read_text("utf-8"), (
        "changed: look, then python -m tests.tools.pages"
    )


# -- figures --------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def figures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, ET.Element]:
    """Every figure of every lesson, parsed."""
    folder = tmp_path_factory.mktemp("figures")
    out = {}
    for key in lesson_keys():
        args = ["lesson", key, "XSND", "--stage", "commercial", "--at", "11:00", "--format", "svg"]
        assert run([*args, "--out", str(folder / key)]) == 0
        for file in (folder / key).glob("*.svg"):
            out[file.stem] = ET.fromstring(file.read_text("utf-8"))
    return out


def test_every_lesson_has_a_plan_and_what_happens_without_it(figures: dict[str, ET.Element]) -> None:
    for key in lesson_keys():
        mine = {name.removeprefix(f"{key}-") for name in figures if name.startswith(f"{key}-")}
        assert "plan" in mine
        assert len(mine) >= 2, (key, mine)


def test_every_figure_has_title_description_role_and_real_text(figures: dict[str, ET.Element]) -> None:
    for name, root in figures.items():
        assert root.get("role") == "img", name
        title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None, name
        assert desc is not None, name
        assert title.text, name
        assert desc.text, name
        assert set((root.get("aria-labelledby") or "").split()) == {title.get("id"), desc.get("id")}, name
        assert [t for t in root.iter(f"{SVG}text") if "".join(t.itertext()).strip()], name


def test_no_colour_carries_meaning(figures: dict[str, ET.Element]) -> None:
    """Every fill and stroke is black, white or a grey."""
    for name, root in figures.items():
        for element in root.iter():
            for attribute in ("fill", "stroke"):
                value = element.get(attribute)
                if value is None or value == "none" or value.startswith("url("):
                    continue
                match = re.fullmatch(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})|#([0-9a-f])\4\4", value)
                assert match is not None, (name, value)
                if match[1] is not None:
                    assert match[1] == match[2] == match[3], (name, value)


def test_a_figure_stands_alone(figures: dict[str, ET.Element]) -> None:
    for name, root in figures.items():
        ids = {e.get("id") for e in root.iter() if e.get("id")}
        for element in root.iter():
            for value in element.attrib.values():
                for wanted in re.findall(r"url\(#([^)]+)\)|^#([A-Za-z][\w-]*)$", value):
                    ref = wanted[0] or wanted[1]
                    if not re.fullmatch(r"[0-9a-f]{3}|[0-9a-f]{6}", ref):
                        assert ref in ids, (name, ref)
            assert not element.tag.endswith("script"), name


# -- three faults, three products -----------------------------------------------------------------------------

STALE = "METAR KLNK 251550Z 22008KT 10SM CLR 15/05 A3000"
CONTRARY = "METAR KLNK 251753Z 27022G30KT 10SM CLR 15/05 A3000\nTAF KLNK 251730Z 2518/2618 18010KT P6SM SKC"
FAULTS = {
    "nothing available": ("", "no report"),
    "stale": (STALE, "130 minutes old"),
    "contradictory": (CONTRARY, "the last report and the forecast do not agree"),
}
PRODUCTS = {
    "student": ("day", "KLNK", "--stage", "post-solo"),
    "instructor": ("lesson", "s-turns", "KLNK", "--stage", "post-solo"),
    "desk": ("morning", "KLNK"),
}
ABOVE = ("with care", "suited", "ask first")


@pytest.mark.parametrize("product", PRODUCTS)
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_named_and_nothing_is_rated_on_it(
    fault: str, product: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, words = FAULTS[fault]
    file = tmp_path / "reports.txt"
    file.write_text(text, "utf-8")
    status = run([*PRODUCTS[product], "--from-file", str(file), "--now", NOW])
    out = capsys.readouterr()
    told = " ".join((out.out + out.err).split())
    assert words in told, told[:600]
    if fault == "nothing available":
        assert status == 1
        assert not re.search(r"crab \d|bank \d|\d+ to \d+ (kt|degrees)", told.lower())
    else:
        assert status == 0


@pytest.mark.parametrize("fault", ["stale", "contradictory"])
def test_no_rating_above_not_rated_or_hold_on_a_fault(
    fault: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "reports.txt"
    file.write_text(FAULTS[fault][0], "utf-8")
    args = ["--from-file", str(file), "--now", NOW, "--format", "json"]
    assert run([*PRODUCTS["student"], *args]) == 0
    hour = json.loads(capsys.readouterr().out)["stages"][0]["hours"][0]
    words = {v["suitability"] for v in hour["lessons"].values()}
    assert words <= {"not rated", "hold", "not taught at this stage"}, words


@pytest.mark.parametrize("wind", ["VRB05KT", "/////KT"])
def test_no_plan_is_drawn_and_no_crab_printed_without_a_direction(
    wind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "reports.txt"
    file.write_text(f"METAR KLNK 251753Z {wind} 10SM CLR 15/05 A3000", "utf-8")
    args = [
        "lesson",
        "turns-around-a-point",
        "KLNK",
        "--stage",
        "post-solo",
        "--from-file",
        str(file),
        "--now",
        NOW,
    ]
    assert run([*args, "--format", "html"]) == 0
    html = capsys.readouterr().out
    assert "plan-" not in html
    assert "°M</text>" not in html
    assert run(args) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert "hdg °M" not in page
    assert ("variable" in page) if wind.startswith("VRB") else ("missing" in page or "not rated" in page.lower())


def test_png_is_a_picture_with_text_where_the_extra_is_there(tmp_path: Path) -> None:
    pytest.importorskip("resvg_py")
    args = ["lesson", "s-turns", "XSND", "--stage", "post-solo", "--at", "11:00", "--format", "png"]
    assert run([*args, "--out", str(tmp_path / "png")]) == 0
    files = sorted((tmp_path / "png").glob("*.png"))
    assert files
    assert all(f.read_bytes().startswith(b"\x89PNG\r\n\x1a\n") and f.stat().st_size > 2000 for f in files)
