"""What a school's file says of a lesson's hour on the card and in ``advisor why``: its opening hours and its notices."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, time
from html import unescape
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from advisor.advice import practice_days
from advisor.card import lesson_card
from advisor.cli import run
from advisor.clock import OpeningHours
from advisor.commands.common import choices, load_day
from advisor.lessons import lesson
from advisor.limits import stage_setup
from advisor.present.card import SCHOOL_LETTERS, school_lines
from advisor.present.card_json import card_json
from advisor.present.card_text import card_text
from advisor.present.day_json import iso
from advisor.present.html import card_html
from advisor.school import Notice, School, parse_school
from tests.day_case import TRAINER
from tests.fields import FAIR, given
from tests.test_school_hours import HOURS, TAF

SATURDAY = date(2026, 4, 25)
DEMO = Path(__file__).parent.parent / "advisor/data/demo/demo_school.toml"


def shut(hour: int, opening: OpeningHours | None, school: School | None = None) -> tuple[str, ...]:
    """What a card at an hour of Saturday 25 April 2026 (CDT) says of the school; a lesson takes an hour."""
    (day,) = practice_days([given(f"22008KT {FAIR}", TAF)], (stage_setup("pre-solo"),), TRAINER, opening=opening)
    at = datetime(2026, 4, 25, hour, tzinfo=day.zone)
    card = lesson_card(day, "pre-solo", lesson("s-turns"), at, school=school)
    assert [
        x for x in card.school_words if f"School: {x}." not in " ".join(card_text(card, width=9999).split("\n"))
    ] == []
    told = card_json(card)
    assert told["school"] == list(card.school_words)
    page = unescape(card_html(card))
    assert ("<b>School:</b>" in page) == bool(card.school_words)
    assert all(x in page for x in card.school_words)
    return card.school_words


def test_a_card_outside_the_schools_hours_says_so() -> None:
    hours = parse_school(HOURS).opening_hours  # Saturday 09:30 to 15:30
    assert shut(14, hours) == ()
    assert shut(14, None) == ()
    (late,) = shut(15, hours)
    assert late == "open 09:30 to 15:30 on Saturday 25 April, so not for all of this time"
    sundays = replace(hours, days=((SATURDAY.weekday(), None),)) if hours is not None else None
    assert shut(14, sundays) == ("closed on Saturday 25 April",)
    assert OpeningHours(time(8), time(18)).outside(datetime(2026, 4, 25, 8), datetime(2026, 4, 25, 18)) == ""
    for closes, start, end, said in (
        (18, (25, 7, 59), (25, 9, 0), "for all of this time"),
        (18, (25, 7, 0), (25, 8, 0), "at this time"),
        (18, (25, 18, 0), (25, 19, 0), "at this time"),
        (18, (25, 17, 59), (25, 19, 0), "for all of this time"),
        (23, (25, 22, 0), (26, 0, 0), "for all of this time"),
    ):
        told = OpeningHours(time(8), time(closes)).outside(datetime(2026, 4, *start), datetime(2026, 4, *end))
        assert told == f"open 08:00 to {closes}:00 on Saturday 25 April, so not {said}"


def test_a_card_holds_the_notices_in_force_during_its_lesson() -> None:
    def notice(until: str, more: str = "") -> str:
        return f'[[notices]]\ntext = "Not below 1,000 ft <here>"\nkind = "restriction"\nwho = "chief"\nuntil = {until}\n{more}'

    for text, there in (
        (notice("2026-04-25T15:01:00-05:00"), True),
        (notice("2026-04-25T15:00:00-05:00"), False),  # over as the lesson begins
        (notice("2026-04-26", "since = 2026-04-25T15:59:00-05:00"), True),
        (notice("2026-04-26", "since = 2026-04-25T16:00:00-05:00"), False),
        (notice("2026-04-26", 'station = "XBRK"'), True),
        (notice("2026-04-26", 'station = "KBDU"'), False),
    ):
        whole = DEMO.read_text("utf-8")
        school = parse_school(re.sub(r"(?s)\[\[notices\]\].*?(?=\[\[practice_areas)", "", whole, count=1) + text)
        found = shut(15, None, school)
        assert len(found) == there, text
        assert all(x.startswith("restriction: Not below 1,000 ft <here> (") for x in found)


def test_a_notice_of_another_year_has_its_year() -> None:
    zone, now = ZoneInfo("America/Chicago"), datetime(2026, 4, 25, 18, tzinfo=UTC)
    assert "until Wed 1 Jan 2031 00:00" in Notice("a", "other", "b", datetime(2031, 1, 1, 6, tzinfo=UTC)).words(
        zone, now
    )
    assert "until Sun 26 Apr 13:00" in Notice("a", "other", "b", datetime(2026, 4, 26, 18, tzinfo=UTC)).words(zone, now)


def test_a_notice_names_its_runway() -> None:
    zone, now = ZoneInfo("America/Chicago"), datetime(2026, 4, 25, 18, tzinfo=UTC)
    until = datetime(2026, 4, 26, 18, tzinfo=UTC)
    for text, says in (("Closed", "closure of runway 04/22: Closed ("), ("04/22 closed", "closure: 04/22 closed (")):
        assert Notice(text, "closure", "b", until, runway="04/22").words(zone, now).startswith(says)


@pytest.mark.parametrize(
    ("now", "at", "runways", "counted"),
    [
        ("12:30", "12:30", 2, True),  # the closure of 1300Z to 1700Z begins during the lesson
        ("12:30", "14:00", 0, False),  # closed all the while
        ("12:30", "17:00", 2, None),  # over
        ("13:30", "14:00", 0, False),
    ],
)
def test_a_card_knows_a_runway_that_closes_after_it_was_made(
    now: str, at: str, runways: int, counted: bool | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It read "Runway 22, best" over "Runway 04/22 closed", for a runway that was open as the card was made."""
    reports = tmp_path / "reports.txt"
    reports.write_text("METAR XSHL 251229Z 20008KT 10SM CLR 18/08 A3000\nTAF XSHL 251130Z 2512/2612 20010KT P6SM SKC\n")
    school = Path(__file__).parent.parent / "fixtures/school/full.toml"
    ask = ["lesson", "s-turns", "XSHL", "--stage", "solo", "--school", str(school), "--from-file", str(reports)]
    assert run([*ask, "--now", f"2026-04-25T{now}Z", "--at", f"2026-04-25T{at}Z", "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["runways"]) == runways
    found = [
        x.endswith("; the runway winds are those before it")
        for x in told["school"]
        if x.startswith("closure: Runway 04/22")
    ]
    assert found == ([] if counted is None else [counted])


def test_why_says_that_the_school_is_closed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "s.toml"
    path.write_text(re.sub(r"(?m)^closes = .*", 'closes = "14:00"', DEMO.read_text("utf-8"), count=1), "utf-8")
    ask = ["why", "s-turns", "XBRK", "--demo", "--stage", "solo", "--school", str(path), "--at"]
    for at, said in (("11:00", False), ("15:00", True)):
        assert run([*ask, at]) == 0
        assert ("to 14:00 on Saturday 25 April" in capsys.readouterr().out) is said
        assert run([*ask, at, "--format", "json"]) == 0
        assert (json.loads(capsys.readouterr().out)["outside_hours"] is not None) is said


def test_a_local_time_is_written_in_utc() -> None:
    """Equal times are one entry of a cache: the first asked for must not decide how the others read."""
    there = datetime(2031, 4, 25, 15, tzinfo=ZoneInfo("America/Chicago"))
    assert iso(there) == "2031-04-25T20:00Z" == iso(there.astimezone(UTC))


def test_the_printed_card_counts_the_notices_it_has_no_room_for() -> None:
    (day,) = practice_days([given(f"22008KT {FAIR}", TAF)], (stage_setup("pre-solo"),), TRAINER)
    until = datetime(2026, 4, 26, tzinfo=UTC)
    notices = tuple(Notice(f"{i} " + "x" * 100, "other", "chief", until) for i in range(4))
    card = lesson_card(day, "pre-solo", lesson("s-turns"), day.made_at, school=School("A", notices=notices))
    assert len(card.school_words) == 4
    page, text = unescape(card_html(card)), " ".join(card_text(card).split())
    assert "and 3 more notices: read the desk's page." in page
    assert [f"other: {i} x" in page for i in range(4)] == [True, False, False, False]
    assert all(f"other: {i} x" in text for i in range(4))  # nothing is left out where there is room


def test_the_printed_card_shortens_a_long_notice_and_keeps_until_when_and_who() -> None:
    (day,) = practice_days([given(f"22008KT {FAIR}", TAF)], (stage_setup("pre-solo"),), TRAINER)
    until = datetime(2026, 4, 26, tzinfo=UTC)
    notices = tuple(Notice("Men (from the town) " * 15, "other", "chief", until) for _ in range(3))
    for many in (1, 3):
        card = lesson_card(day, "pre-solo", lesson("s-turns"), day.made_at, school=School("A", notices=notices[:many]))
        said = school_lines(card)
        assert said[0].endswith(" ... (until Sat 25 Apr 19:00 CDT (260000Z), says chief)")
        assert SCHOOL_LETTERS - 10 < sum(map(len, said)) <= SCHOOL_LETTERS
        assert len(said) == min(many, 2)


@pytest.mark.parametrize(
    ("closed", "said"),
    [
        (
            '["saturday", "sunday"]',
            "No lesson block is left in the hours looked at: closed on Saturday and Sunday.",
        ),
        ('["saturday"]', None),  # Sunday's blocks are looked at
    ],
)
def test_a_posting_of_closed_days_says_why_it_has_no_block(
    closed: str, said: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "s.toml"
    path.write_text(re.sub(r"(?m)^(closes = .*)", rf"\1\nclosed = {closed}", DEMO.read_text("utf-8"), count=1), "utf-8")
    for style in ("text", "html"):
        assert run(["morning", "XBRK", "--demo", "--school", str(path), "--format", style]) == 0
        assert ("closed on" in capsys.readouterr().out) is (said is not None)
    assert run(["morning", "XBRK", "XHLW", "--demo", "--school", str(path), "--format", "html"]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert page.count(said or "no such words") == (4 if said else 0), page.count("closed on")


def test_why_says_what_the_school_tightened(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The limits of a rule are printed as shipped: a finding against another figure needs its reason."""
    path = tmp_path / "s.toml"
    path.write_text(DEMO.read_text("utf-8") + "\n[lesson_stops.solo]\ns-turns = { mean_wind_kt = 5 }\n", "utf-8")
    for file, said in ((path, True), (DEMO, False)):
        assert (
            run(
                [
                    "why",
                    "s-turns",
                    "XSND",
                    "--demo",
                    "--stage",
                    "solo",
                    "--school",
                    str(file),
                    "--at",
                    "11:00",
                ]
            )
            == 0
        )
        assert ("Tightened: mean wind of s-turns for solo: the school's own" in capsys.readouterr().out) is said


def test_the_schools_lines_give_way_to_the_cautions_of_a_crowded_card() -> None:
    """They are printed small, in the foot, where the cautions would not have their room; never left out."""
    day, desk = load_day("XBRK", choices(demo=True))
    for key, hour, in_foot in (("tracking", 14, False), ("s-turns", 14, True)):
        at = datetime(2026, 4, 25, hour, tzinfo=UTC)
        card = lesson_card(day, "commercial", lesson(key), at, school=desk.school)
        page = unescape(card_html(card))
        body, foot = page.split('<footer class="foot">')
        assert [card.school_words[0] in body, card.school_words[0] in foot] == [not in_foot, in_foot]
        assert page.count("<b>School:</b>") == 1
