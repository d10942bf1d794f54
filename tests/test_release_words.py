"""A suited hour of a student alone is no permission, in any form; a certificated pilot has no instructor to release him."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest

from advisor.cli import run

RELEASE = "inside the default limits; your instructor must release you"
FAIR = "METAR XBRK 251753Z 22006KT 10SM CLR 15/05 A3000"
NOW = ("--now", "2026-04-25T18:00Z")


@pytest.fixture
def answer(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> Any:
    path = tmp_path / "reports.txt"
    path.write_text(FAIR + "\n")

    def ask(*args: str) -> str:
        assert run([*args, "--from-file", str(path), *NOW]) == 0
        return capsys.readouterr().out

    return ask


def test_why_in_words(answer: Any) -> None:
    text = answer("why", "tracking", "XBRK", "--stage", "solo")
    assert f"  {RELEASE}; teaching value some" in text
    assert "  suited;" not in text
    assert "Report: XBRK 12:53 CDT (1753Z), 7 minutes old." in text
    assert "  suited; teaching value some" in answer("why", "tracking", "XBRK", "--stage", "pre-solo")


def test_why_as_json_says_whose_when_and_how_long(answer: Any) -> None:
    found = json.loads(answer("why", "tracking", "XBRK", "--stage", "solo", "--format", "json"))
    assert (found["station"], found["stage"], found["alone"]) == ("XBRK", "solo", True)
    assert found["reads"] == RELEASE
    assert (found["suitability"], found["teaching"]) == ("suited", "some")
    assert (found["made_at"], found["do_not_use_after"]) == ("2026-04-25T18:00Z", "2026-04-25T19:00Z")
    assert any("7 minutes old" in line for line in found["sources"])
    assert any("Your instructor decides" in line for line in found["standing"])
    dual = json.loads(answer("why", "tracking", "XBRK", "--stage", "pre-solo", "--format", "json"))
    assert dual["reads"] == "suited"
    untaught = json.loads(answer("why", "eights-on-pylons", "XBRK", "--stage", "solo", "--format", "json"))
    assert untaught["teaching"] is None


def test_the_day_as_json_and_csv(answer: Any) -> None:
    day = json.loads(answer("day", "XBRK", "--format", "json"))
    assert {s["stage"]: s["suited_reads"] for s in day["stages"]} == {
        "pre-solo": "suited", "solo": RELEASE, "post-solo": "suited", "commercial": "suited",
    }  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(answer("day", "XBRK", "--stage", "solo", "--format", "csv"))))
    suited = [r for r in rows if r["suitability"] == "suited"]
    assert suited
    assert {r["reason"] for r in suited} == {RELEASE}
    stamp = ("made_at", "do_not_use_after", "made_up_demo", "report_age_min")
    assert {tuple(r[k] for k in stamp) for r in rows} == {("2026-04-25T18:00Z", "2026-04-25T19:00Z", "True", "7.0")}
    dual = csv.DictReader(io.StringIO(answer("day", "XBRK", "--stage", "pre-solo", "--format", "csv")))
    assert {r["reason"] for r in dual if r["suitability"] == "suited"} == {""}


def test_the_card_of_a_student_and_of_a_certificated_pilot_alone(answer: Any) -> None:
    student = answer("lesson", "tracking", "XBRK", "--stage", "solo")
    assert f"Tracking a road: {RELEASE}, teaching value some" in student
    pilot = answer("lesson", "tracking", "XBRK", "--stage", "post-solo", "--alone", "--certificated")
    assert "Tracking a road: SUITED, teaching value some" in pilot
    assert "must release you" not in pilot
    card = json.loads(answer("lesson", "tracking", "XBRK", "--stage", "solo", "--format", "json"))
    assert (card["suitability"], card["reads"]) == ("suited", RELEASE)


def test_nothing_to_rate_from_says_what_to_do(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "words.txt"
    path.write_text("hello world\n")
    assert run(["day", "XBRK", "--from-file", str(path), *NOW]) == 1
    said = capsys.readouterr().err
    assert "so nothing is rated" in said
    assert "can be given with --from-file" in said
