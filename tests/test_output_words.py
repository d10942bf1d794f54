"""Every output of every command: no approval words, every standing line on every page, the words of the trade."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from advisor.cli import COMMANDS, cli
from advisor.lessons import lessons
from advisor.limits import STAGES
from advisor.present import standing
from advisor.rules.registry import all_rules
from advisor.words import find_approval_words
from tests.fields import FAIR

NOW = ("--now", "2026-04-25T18:00Z")
FIELDS = ("XBRK", "XHLW", "XSND")
#: Days that bring out different sentences: reports of the made-up field, a forecast or none.
DAYS = {
    "fair": (f"22012KT {FAIR}", "2518/2618 22012KT P6SM SKC"),
    "hold": ("22030G45KT 2SM TSRA OVC008CB 15/12 A2990", "2518/2618 22030G45KT 2SM TSRA OVC008CB"),
    "missing": ("/////KT ////SM A////", None),
    "variable": (f"VRB05KT {FAIR}", None),
    "calm": ("00000KT 10SM CLR 15/14 A3000", None),
    "snow": ("35008KT 5SM -SN OVC030 M02/M04 A2990", None),
    "hot": (
        "20006KT 10SM CLR 39/14 A2985",
        "2518/2618 20006KT P6SM SKC TEMPO 2520/2522 VRB20G35KT 2SM TSRA BKN030CB",
    ),
    "odd": (f"22012KT {FAIR} QQ7Q RMK AO2 TSNO WSHFT 1715 LTG DSNT NE PK WND 22034/1740 $", "2518/2518 junk"),
}


def run(*args: str) -> str:
    """Output of a command, errors included: a refusal is read by a user too."""
    found = CliRunner().invoke(cli, args)
    if found.exception is not None and not isinstance(found.exception, SystemExit):
        from advisor.errors import AdvisorError

        assert isinstance(found.exception, AdvisorError), (args, found.exception)
        return f"{found.output}\n{found.exception}"
    return found.output


def shown(text: str, style: str) -> str:
    """What a reader sees of a page, as one line."""
    if style == "html":
        text = re.sub(r"<(style|script)\b.*?</\1>", " ", text, flags=re.S)
        text = html.unescape(re.sub(r"<[^>]+>", " ", text))
    if style == "json":
        text = " ".join(_strings(json.loads(text)))
    return " ".join(text.split())


def _strings(value: Any) -> list[str]:
    if isinstance(value, dict):
        return [x for k, v in value.items() for x in [str(k).replace("_", " "), *_strings(v)]]
    if isinstance(value, list):
        return [x for v in value for x in _strings(v)]
    return [str(value)]


def clean(text: str, where: object) -> None:
    assert find_approval_words(text) == [], where
    assert "downwind side" not in text.lower(), where
    assert "Traceback" not in text, where


@pytest.fixture
def reports(tmp_path: Path) -> Any:
    def write(day: str) -> tuple[str, ...]:
        metar, taf = DAYS[day]
        lines = [f"METAR XBRK 251753Z {metar}"] + ([f"TAF XBRK 251730Z {taf}"] if taf else [])
        path = tmp_path / f"{day}.txt"
        path.write_text("\n".join(lines) + "\n")
        school = tmp_path / "school.toml"
        school.write_text(
            'name = "Made-up school"\n[[stations]]\nstation = "XBRK"\nname = "Made up"\nlatitude_deg = 41.0\n'
            'longitude_deg = -97.0\nelevation_ft = 1200\ntime_zone = "America/Chicago"\n'
        )
        return ("--from-file", str(path), "--school", str(school), *NOW)

    return write


def standing_of(text: str, *, made_up: bool, desk: bool = False) -> list[str]:
    """Standing lines that a page lacks."""
    wanted = [
        standing.DESK_DECIDES if desk else standing.DECIDES,
        standing.NOT_LOOKED_AT,
        standing.US_FIGURES,
        standing.EXTRAPOLATED,
        standing.EXEMPT,
        "do not use after",
    ]
    if made_up and "made up demo True" not in text:  # as a field of its own in JSON
        wanted.append(standing.MADE_UP)
    return [line for line in wanted if line not in text]


@pytest.mark.parametrize("style", ["text", "json", "html"])
@pytest.mark.parametrize("stage", [*STAGES, None])
def test_a_days_page(stage: str | None, style: str) -> None:
    args = ("day", "XBRK", "--demo", "--format", style, *(("--stage", stage) if stage else ()))
    text = shown(run(*args), style)
    clean(text, args)
    assert standing_of(text, made_up=True) == []


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("style", ["text", "html"])
def test_any_days_page(day: str, style: str, reports: Any) -> None:
    args = ("day", "XBRK", *reports(day), "--format", style)
    text = shown(run(*args), style)
    clean(text, args)
    if "nothing is rated" not in text:
        assert standing_of(text, made_up=False) == [], day
        assert "Report: XBRK" in text or "METAR XBRK" in text or "251753Z" in text


@pytest.mark.parametrize("style", ["text", "json", "html"])
@pytest.mark.parametrize("lesson", [x.key for x in lessons()])
def test_a_lessons_card(lesson: str, style: str) -> None:
    args = ("lesson", lesson, "XBRK", "--demo", "--format", style)
    text = shown(run(*args), style)
    clean(text, args)
    assert standing_of(text, made_up=True) == []


@pytest.mark.parametrize("day", ["hold", "variable", "calm", "hot", "missing"])
def test_a_lessons_card_of_any_day(day: str, reports: Any) -> None:
    args = ("lesson", "turns-around-a-point", "XBRK", *reports(day), "--stage", "post-solo")
    text = shown(run(*args), "text")
    clean(text, args)
    assert len(text) > 100


@pytest.mark.parametrize("style", ["text", "json", "html"])
def test_the_desks_morning(style: str) -> None:
    args = ("morning", *FIELDS, "--demo", "--format", style)
    text = shown(run(*args), style)
    clean(text, args)
    assert standing_of(text, made_up=True, desk=True) == []


@pytest.mark.parametrize("day", DAYS)
def test_why_of_any_day(day: str, reports: Any) -> None:
    for lesson in ("tracking", "crosswind-pattern"):
        for style in ("text", "json"):
            args = ("why", lesson, "XBRK", *reports(day), "--stage", "solo", "--format", style)
            text = run(*args)
            clean(text, args)
    assert "instructor decides" in run("why", "tracking", "XBRK", "--demo", "--stage", "pre-solo")


def test_why_leads_from_a_rating_to_rule_value_limit_group_and_source(reports: Any) -> None:
    text = run("why", "tracking", "XBRK", *reports("hold"), "--stage", "solo")
    block = " ".join(text[text.index("WI01") :].split())
    for part in (
        "mean wind 30 kt",
        "care 12, stop 15",
        "METAR XBRK 251753Z 22030G45KT",
        "ommon practice",
        "caps at hold",
    ):
        assert part in block, part


@pytest.mark.parametrize("style", ["text", "json", "csv"])
@pytest.mark.parametrize("lesson", [x.key for x in lessons()])
def test_what_if(lesson: str, style: str) -> None:
    args = ("whatif", "--lesson", lesson, "--wind", "240/18", "--format", style)
    clean(run(*args), args)


def test_rules_and_each_rule_explained() -> None:
    clean(run("rules"), "rules")
    clean(run("rules", "--format", "json"), "rules json")
    for rule in all_rules():
        clean(run("rules", rule.code), rule.code)


@pytest.mark.parametrize("day", DAYS)
def test_decode(day: str, tmp_path: Path) -> None:
    path = tmp_path / "reports.txt"
    metar, taf = DAYS[day]
    path.write_text(f"METAR XBRK 251753Z {metar}\n" + (f"TAF XBRK 251730Z {taf}\n" if taf else ""))
    clean(run("decode", str(path), *NOW), day)


def test_school_and_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ADVISOR_STORE", str(tmp_path / "store"))
    starter = run("school", "new", "KLNK")
    clean(starter, "school new")
    file = tmp_path / "school.toml"
    file.write_text(starter)
    clean(run("school", "check", str(file)), "school check")
    file.write_text("name = 3\n[limits.solo]\nvisibility_sm = { stop = 1 }\n")
    clean(run("school", "check", str(file)), "school check with faults")
    for args in (("show",), ("show", "KLNK"), ("export",), ("prune",)):
        clean(run("store", *args), args)


@pytest.mark.parametrize("name", COMMANDS)
def test_help(name: str) -> None:
    text = run(name, "--help")
    clean(text, name)
    assert "Usage" in text


@pytest.mark.parametrize(
    "args",
    [
        ("day", "ZZZZ9", "--demo"),
        ("day", "XBRK", "--demo", "--runway", "99"),
        ("day", "XBRK", "--demo", "--wind-at-height", "rubbish"),
        ("lesson", "loops", "XBRK", "--demo"),
        ("why", "tracking", "XBRK", "--demo"),
        ("whatif", "--lesson", "tracking", "--wind", "x"),
        ("rules", "ZZ99"),
        ("morning",),
    ],
)
def test_refusals(args: tuple[str, ...]) -> None:
    text = run(*args)
    clean(text, args)
    assert len(text.split()) >= 4


def test_the_scan_can_find_something() -> None:
    assert find_approval_words("You are cleared for today.")
    assert standing_of("an empty page", made_up=True)
