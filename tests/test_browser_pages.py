"""Cards on paper when the day is busy and the names are long: still one side, nothing over the edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from advisor.advice import PracticeDay
from advisor.card import lesson_card
from advisor.commands.common import choices, load_day
from advisor.lessons import lessons
from advisor.present.html import card_html
from advisor.school import Notice, School
from tests.browser import opened

pytestmark = pytest.mark.browser

LONG = "A very long name of sixty letters so that the page must wrap"
MM_PER_INCH, PX_PER_INCH = 25.4, 96
#: Paper in inches, less the card's own margins of 7 mm each way.
PAPER = {"Letter": (8.5, 11.0), "A4": (210 / MM_PER_INCH, 297 / MM_PER_INCH)}


@pytest.fixture(scope="module")
def page(chromium_path: str) -> Iterator[Any]:
    with opened(chromium_path) as browser:
        found = browser.new_page()
        found.emulate_media(media="print")
        yield found


def long_names(day: PracticeDay, school: School) -> School:
    """The longest names a school file may hold, everywhere a card prints one."""
    site = day.station.source.site
    day.station.source.site = replace(site, station=replace(site.station, name=LONG))
    day.aircraft = replace(day.aircraft, name=LONG)

    def renamed(items: Any) -> Any:
        return tuple(replace(x, name=f"{LONG}{x.name}"[-60:]) for x in items)

    return replace(
        school,
        practice_areas=tuple(
            replace(a, name=LONG, roads=renamed(a.roads), fields=renamed(a.fields), points=renamed(a.points))
            for a in school.practice_areas
        ),
    )


def many_notices(school: School) -> School:
    """As many and as long as a file may hold: a runway closed after the card is made, all through its lesson."""
    since, until = datetime(2026, 4, 25, 13, 30, tzinfo=UTC), datetime(2026, 4, 26, tzinfo=UTC)
    notice = Notice(
        ("Closed for repainting, men beside it. " * 8)[:300], "closure", LONG, until, since, "XBRK", "04/22"
    )
    return replace(school, notices=(notice,) * 6)


@pytest.mark.parametrize("notices", ["few", "many"])
@pytest.mark.parametrize("names", ["as they are", "long"])
def test_every_card_of_a_stormy_day_fits_one_side(page: Any, names: str, notices: str) -> None:
    day, desk = load_day("XBRK", choices(demo=True))
    school = desk.school
    assert school is not None
    if names == "long":
        school = long_names(day, school)
    if notices == "many":
        school = many_notices(school)
    too_much = []
    for lesson in lessons():
        for hour in (14, 22):
            stage = "commercial"
            card = lesson_card(day, stage, lesson, datetime(2026, 4, 25, hour, tzinfo=UTC), school=school)
            page.set_content(card_html(card))
            for name, (wide, high) in PAPER.items():
                room = [int((x - 14 / MM_PER_INCH) * PX_PER_INCH) for x in (wide, high)]
                page.set_viewport_size({"width": room[0], "height": room[1]})
                tall = page.evaluate("document.querySelector('main').getBoundingClientRect().height")
                over = page.evaluate(
                    "[...document.querySelectorAll('.columns > div, .scroll')].some(e => e.scrollWidth > e.clientWidth + 1)"
                )
                if tall > room[1] or over:
                    too_much.append(f"{lesson.key} {hour}Z {name}: {tall:.0f} of {room[1]} px, over the edge: {over}")
    assert not too_much, "\n".join(too_much)


def test_body_text_is_12_points_and_figures_10(page: Any) -> None:
    """On paper: the foot with its standing lines is the only smaller print."""
    day, desk = load_day("XSND", choices(demo=True))
    for lesson in lessons():
        card = lesson_card(day, "commercial", lesson, datetime(2026, 4, 25, 16, tzinfo=UTC), school=desk.school)
        page.set_content(card_html(card))
        page.set_viewport_size({"width": 763, "height": 1000})
        small = page.evaluate(
            """() => {
              const found = [];
              for (const e of document.querySelectorAll('main *')) {
                const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
                if (!own || e.closest('.foot') || e.matches('title, desc, .made-up, .note')) continue;
                const svg = e.closest('svg');
                let px = parseFloat(getComputedStyle(e).fontSize);
                if (svg) px *= svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
                const least = svg ? 11.5 : 16;
                if (px < least - 0.01) found.push(`${e.tagName} ${px.toFixed(1)} px: ${e.textContent.slice(0, 40)}`);
              }
              return found;
            }"""
        )
        assert not small, small[:5]
