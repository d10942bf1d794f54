"""The three products in a real browser: phone to wall screen, keyboard only, axe, injected markup, paper."""

from __future__ import annotations

import contextlib
import io
import re
import subprocess
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from advisor.cli import run
from tests.browser import WIDTHS, faults_of, opened, reachable_by_keyboard, show

pytestmark = pytest.mark.browser

CARDS = ("tracking", "rectangular-course", "s-turns", "turns-around-a-point", "eights-along-a-road",
         "eights-across-a-road", "eights-around-pylons", "eights-on-pylons", "crosswind-pattern")  # fmt: skip
PAGES: dict[str, tuple[str, ...]] = {
    "student, suited": ("day", "XSND", "--stage", "solo"),
    "student, storms": ("day", "XBRK", "--stage", "pre-solo"),
    "student, fog": ("day", "XHLW", "--stage", "post-solo"),
    "student, every stage": ("day", "XBRK"),
    "instructor, circle": ("lesson", "turns-around-a-point", "XSND", "--stage", "post-solo", "--at", "11:00"),
    "instructor, rectangle": ("lesson", "rectangular-course", "XBRK", "--stage", "pre-solo", "--at", "09:00"),
    "instructor, pylons": ("lesson", "eights-on-pylons", "XSND", "--stage", "commercial", "--at", "10:00"),
    "instructor, pattern": ("lesson", "crosswind-pattern", "XBRK", "--stage", "pre-solo", "--at", "09:00"),
    "desk": ("morning", "--demo"),
}


@lru_cache(maxsize=64)
def html_of(*arguments: str) -> str:
    """A page as its command writes it."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert run([*arguments, "--format", "html"]) == 0
    return out.getvalue()


@pytest.fixture(scope="module")
def browser(chromium_path: str) -> Iterator[Any]:
    with opened(chromium_path) as found:
        yield found


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_no_sideways_scroll_no_script_error_and_axe_is_content(browser: Any, name: str, width: int) -> None:
    assert faults_of(browser, html_of(*PAGES[name]), width) == []


@pytest.mark.parametrize("name", PAGES)
def test_every_control_is_reached_by_keyboard(browser: Any, name: str) -> None:
    seen, controls = reachable_by_keyboard(browser, html_of(*PAGES[name]))
    assert controls <= seen, controls - seen


@pytest.mark.parametrize("name", ["student, suited", "student, storms"])
def test_a_phone_at_twice_the_size_has_room_for_every_word(browser: Any, name: str) -> None:
    """390 px at 200 %: the words beside an hour stood one letter a line."""
    page, _ = show(browser, html_of(*PAGES[name]), 195)
    narrow = page.evaluate(
        "[...document.querySelectorAll('.hours .word, .hours .cite')].map(e => e.parentElement.clientWidth)"
    )
    page.close()
    assert narrow
    assert min(narrow) >= 120


def test_guessing_needs_no_script(browser: Any) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 360, "height": 800})
    page = context.new_page()
    page.set_content(html_of(*PAGES["student, suited"]))
    guess = page.locator("details", has_text="Where will the bank be steepest?").first
    answer = guess.locator("p").first
    assert not answer.is_visible()
    guess.locator("summary").click()
    assert answer.is_visible()
    assert page.get_by_text("do not use after").first.is_visible()
    context.close()


@pytest.mark.parametrize("lesson", CARDS)
@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_a_card_prints_on_one_side(browser: Any, tmp_path: Path, lesson: str, paper: str) -> None:
    html = html_of("lesson", lesson, "XSND", "--stage", "commercial", "--at", "11:00")
    page, _ = show(browser, html, 816)
    data = page.pdf(format=paper, prefer_css_page_size=False, print_background=True)
    pages = len(re.findall(rb"/Type\s*/Page[^s]", data))
    page.emulate_media(media="print")
    size = page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
    page.close()
    assert pages == 1
    assert size >= 16.0  # 12 pt


def test_markup_in_reports_and_names_shows_as_text(browser: Any, tmp_path: Path) -> None:
    bad = "<img/src=x/onerror=document.title='owned'>"
    text = f"METAR XBRK 251253Z 20011KT 10SM CLR {bad} 19/14 A2988 RMK {bad}"
    file = tmp_path / "reports.txt"
    file.write_text(text, "utf-8")
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        status = run(
            [
                "day",
                "XBRK",
                "--stage",
                "pre-solo",
                "--from-file",
                str(file),
                "--now",
                "2026-04-25T13:10Z",
                "--format",
                "html",
            ]
        )
    assert status == 0
    page, errors = show(browser, out.getvalue(), 360)
    assert page.title() != "owned"
    assert page.locator("img").count() == 0
    assert not errors
    page.close()


def test_a_page_past_its_time_is_covered(browser: Any, tmp_path: Path) -> None:
    """Outside the demo, whose clock stands still, script covers what must no longer be used."""
    file = tmp_path / "reports.txt"
    file.write_text("METAR KLNK 251753Z 22008KT 10SM CLR 15/05 A3000", "utf-8")
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        run(
            [
                "day",
                "KLNK",
                "--stage",
                "solo",
                "--from-file",
                str(file),
                "--now",
                "2026-04-25T18:00Z",
                "--format",
                "html",
            ]
        )
    page, _ = show(browser, out.getvalue(), 360)
    assert (
        page.evaluate("document.body.innerText").count("out of date") >= 1
        or page.get_by_text("not use").first.is_visible()
    )
    covered = page.evaluate(
        "[...document.querySelectorAll('*')].some(e => getComputedStyle(e).position === 'fixed' && "
        "e.getBoundingClientRect().height >= innerHeight * 0.9 && getComputedStyle(e).display !== 'none')"
    )
    assert covered
    page.close()


def test_poppler_agrees_that_a_card_is_one_page(browser: Any, tmp_path: Path) -> None:
    """The count of pages by another tool, where it is installed."""
    page, _ = show(browser, html_of(*PAGES["instructor, circle"]), 816)
    file = tmp_path / "card.pdf"
    file.write_bytes(page.pdf(format="Letter"))
    page.close()
    try:
        told = subprocess.run(["pdfinfo", str(file)], capture_output=True, text=True, check=True).stdout
    except FileNotFoundError:
        pytest.skip("pdfinfo is not installed")
    assert re.search(r"^Pages:\s+1$", told, re.M)


@pytest.mark.parametrize("name", ["student, suited", "student, every stage"])
def test_paper_shows_what_the_screen_folds_away_but_for_the_guesses(browser: Any, name: str) -> None:
    page, _ = show(browser, html_of(*PAGES[name]), 816)
    seen = "[...document.querySelectorAll('details%s')].map(d => d.lastElementChild.checkVisibility())"
    assert not any(page.evaluate(seen % ""))
    page.emulate_media(media="print")
    folded, guesses = page.evaluate(seen % ":not(.guess)"), page.evaluate(seen % ".guess")
    over = page.evaluate("[...document.querySelectorAll('.scroll')].some(e => e.scrollWidth > e.clientWidth + 1)")
    page.close()
    assert folded
    assert all(folded)
    assert guesses
    assert not any(guesses)
    assert not over


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_one_stage_prints_on_two_sides(browser: Any, paper: str) -> None:
    page, _ = show(browser, html_of(*PAGES["student, storms"]), 816)
    data = page.pdf(format=paper, print_background=False)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page[^s]", data)) == 2
