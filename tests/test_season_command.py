"""``advisor season``: an archive in, an answer out, in every form."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from advisor.archive import source
from advisor.cli import run
from advisor.lessons import lesson_keys
from advisor.words import find_approval_words
from tests.season_archive import archive, write_csv

pytestmark = pytest.mark.archive

SCHOOL = "advisor/data/demo/demo_school.toml"


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the archive, in which results are kept between the tests."""
    folder = tmp_path_factory.mktemp("season")
    write_csv(folder / "a.csv", archive(days=24, step_days=15))
    return folder


@pytest.fixture
def season(work: Path, root: Path, capsys: pytest.CaptureFixture[str]):
    def call(*args: str) -> tuple[int, str, str]:
        options = ("--school", str(root / SCHOOL), "--jobs", "1", "--resume", str(work / "kept"))
        status = run(["season", str(work / "a.csv"), *options, *args])
        out = capsys.readouterr()
        return status, out.out, out.err

    return call


def test_which_months_and_hours_for_turns_around_a_point(season) -> None:
    status, text, err = season("--lesson", "turns-around-a-point", "--stage", "pre-solo", "--stations", "XBRK")
    assert status == 0, err
    assert "most often worth scheduling" in text or "no run of hours" in text
    grid = [line for line in text.splitlines() if re.match(r"  (Jan|Jul|Dec) ", line)]
    assert len(grid) == 3
    assert "XHLW" not in text
    for words in ("describes past reports", "instructor decides", "Held down most by", "made in the dark"):
        assert words in text
    assert not find_approval_words(text)


def test_every_lesson_in_one_table(season) -> None:
    status, text, err = season()
    assert status == 0, err
    for words in (
        "XBRK  pre-solo",
        "XHLW  commercial",
        "Turns around a point",
        "Eights on pylons",
        "worth suited",
        "of hours, crosswind circuits and landings",  # what holds down one lesson is not said of every one
    ):
        assert words in text
    assert "Rating" in err


def test_csv_is_the_long_table(season) -> None:
    status, text, _ = season("--format", "csv", "--lesson", "tracking")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert status == 0
    assert {row["lesson"] for row in rows} == {"tracking"}
    assert {row["station"] for row in rows} == {"XBRK", "XHLW"}
    for row in rows:
        fit = [int(row[name]) for name in ("suited", "with_care", "ask_first", "hold", "not_rated")]
        assert sum(fit) == int(row["hours"]) > 0
        assert 4 <= int(row["hour_local"]) <= 21  # daylight only, on the field's clock
    assert any(row["held_down_by"] for row in rows)


def test_a_file_named_csv_holds_the_same_text(season, work: Path) -> None:
    assert season("--out", str(work / "table.csv"))[0] == 0
    assert (work / "table.csv").read_bytes().decode() == season("--format", "csv")[1]


def test_parquet_holds_what_csv_holds(season, work: Path) -> None:
    status, _, err = season("--out", str(work / "table.parquet"))
    assert status == 0, err
    found = source.database().execute(f"SELECT * FROM '{work / 'table.parquet'}'").fetchall()
    _, text, _ = season("--format", "csv")
    rows = list(csv.reader(io.StringIO(text)))[1:]
    assert [["" if cell is None else str(cell) for cell in row] for row in found] == rows


def test_json_answers(season) -> None:
    status, text, _ = season("--format", "json", "--stage", "solo")
    document = json.loads(text)
    assert status == 0
    assert document["schema"] == 1
    assert {a["lesson"] for a in document["answers"]} <= set(lesson_keys())
    assert {a["stage"] for a in document["answers"]} == {"solo"}
    assert len(document["columns"]) == len(document["rows"][0])
    for found in document["answers"]:
        assert 0 <= found["worth_scheduling_share"] <= found["teaches_share"] <= 1


class Checker(HTMLParser):
    VOID = ("meta", "circle", "line", "rect", "br")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_stands_alone_and_says_its_numbers(season, work: Path) -> None:
    page = work / "season.html"
    status, _, err = season("--out", str(page), "--stage", "pre-solo", "--lesson", "s-turns", "--stations", "XBRK")
    assert status == 0, err
    html = page.read_text("utf-8")
    checker = Checker()
    checker.feed(html)
    assert not checker.open
    ids = [attrs["id"] for _, attrs in checker.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs in checker.tags:
        assert not any(str(attrs.get(name, "")).startswith(("http", "//")) for name in ("src", "href"))
    pictures = re.findall(r"<svg viewBox.*?</svg>", html, re.DOTALL)
    assert len(pictures) == 2  # the key and one lesson
    _, text, _ = season("--lesson", "s-turns", "--stage", "pre-solo", "--stations", "XBRK")
    numbers = [
        cell
        for line in text.splitlines()
        if re.match(r"  [A-Z][a-z]{2}  ", line)
        for cell in line.split()[1:]
        if cell != "-"
    ]
    drawn = re.findall(r"</?circle[^>]*/><text[^>]*>([^<]*)</text>", pictures[1])
    assert drawn == numbers  # the number is printed in each disc, the same as in the text
    assert not find_approval_words(re.sub("<[^>]*>", " ", html))


def test_names_from_files_are_escaped(root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_csv(tmp_path / "a.csv", archive(days=2))
    school = (root / SCHOOL).read_text("utf-8").replace('name = "Three Fields', 'name = "<b>&Three Fields', 1)
    (tmp_path / "school.toml").write_text(school, encoding="utf-8")
    page = tmp_path / "a.html"
    args = [
        "season",
        str(tmp_path / "a.csv"),
        "--school",
        str(tmp_path / "school.toml"),
        "--jobs",
        "1",
        "--out",
        str(page),
    ]
    assert run(args) == 0, capsys.readouterr().err
    assert "<b>" not in page.read_text("utf-8")
    assert "&lt;b&gt;&amp;Three" in page.read_text("utf-8")


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--lesson", "loops"], "No lesson is called"),
        (["--format", "parquet"], "--out FILE.parquet"),
        (["--out", "table.xls"], "names no format"),
        (["--stations", "XSND"], "No daylight hour"),
        (["--aircraft", "rocket"], "No aircraft is called"),
        (["--scheduler", "tcp://127.0.0.1:9"], "No scheduler answers"),
    ],
)
def test_refusals_say_why(season, monkeypatch: pytest.MonkeyPatch, args: list[str], words: str) -> None:
    from advisor.archive import cluster

    if "--scheduler" in args:
        pytest.importorskip("distributed")
        monkeypatch.setattr(cluster, "_TIMEOUT", "1s")
    status, out, err = season(*args)
    assert status == 1
    assert words in err
    assert "Traceback" not in err
    assert out == ""


def test_a_missing_library_is_named(monkeypatch: pytest.MonkeyPatch, season) -> None:
    monkeypatch.setitem(__import__("sys").modules, "duckdb", None)
    status, _, err = season()
    assert status == 1
    assert "practice-day-advisor[archive]" in err


def test_sentences_keep_to_a_page_and_a_lesson_stays_with_its_figure(season) -> None:
    _, text, _ = season("--lesson", "s-turns", "--stage", "solo", "--stations", "XBRK")
    assert max(len(line) for line in text.splitlines()) <= 110
    assert "Held down most by:" in text
    _, page, _ = season("--lesson", "s-turns", "--stage", "solo", "--stations", "XBRK", "--format", "html")
    assert "section{break-inside:avoid}" in page
    assert page.count("<section>") == page.count("</section>") == page.count("<h3>")
    assert "figure svg{min-width:36rem}" in page


def test_a_picture_of_few_hours_is_not_blown_up(work: Path, root: Path, tmp_path: Path) -> None:
    """One report a day, always at the same hour: one column, its letters no larger than those of a year of days."""
    rows = [row for row in archive(days=3, step_days=1) if row[1].hour == 18 and row[0] == "XBRK"]
    page = tmp_path / "few.html"
    asked = ["season", str(write_csv(tmp_path / "few.csv", rows)), "--lesson", "s-turns", "--stage", "pre-solo"]
    assert run([*asked, "--school", str(root / SCHOOL), "--jobs", "1", "--out", str(page)]) == 0
    figure = re.search(r'<svg viewBox="0 0 (\d+) \d+" role="img" style="max-width:([\d.]+)rem', page.read_text("utf-8"))
    assert figure is not None
    wide, rem = float(figure[1]), float(figure[2])
    assert wide < 100
    assert rem / wide == pytest.approx(46 / (44 + 34 * 16 + 8), rel=0.02)  # sixteen hours fill the page's 46 rem


def test_one_good_hour_is_told_without_an_empty_heading(work: Path, root: Path, tmp_path: Path, capsys) -> None:
    """Nothing below with care is said, not left as a heading over nothing; one of a thing has no plural."""
    path = tmp_path / "one.csv"
    path.write_text("station,time,raw\nXBRK,2026-04-25T18:53:00Z,XBRK 251853Z 22012KT 10SM CLR 15/05 A3000\n")
    asked = ["season", str(path), "--stage", "pre-solo", "--school", str(root / SCHOOL), "--jobs", "1"]
    assert run(asked) == 0
    text = capsys.readouterr().out
    assert "Held down most by" not in text
    assert "No hour was below with care." in text
    assert "1 daylight station-hour of 1 report, 25 April 2026; one report an hour" in text
    assert run([*asked, "--lesson", "s-turns"]) == 0
    assert "  1 hour: suited 100%" in capsys.readouterr().out


def test_hours_in_which_the_school_is_closed_are_counted_and_that_is_said(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, shut = tmp_path / "one.csv", tmp_path / "shut.toml"
    path.write_text("station,time,raw\nXBRK,2026-04-25T18:53:00Z,XBRK 251853Z 22012KT 10SM CLR 15/05 A3000\n")
    text = (root / "advisor/data/demo/demo_school.toml").read_text("utf-8")
    shut.write_text(text.replace("[hours]\n", '[hours]\nclosed = ["saturday"]\n'))  # 25 April 2026 is a Saturday
    bare = tmp_path / "bare.toml"
    bare.write_text(re.sub(r"(?s)\[hours\].*?(?=\[\[)", "", text, count=1))
    for file, said in ((shut, True), (bare, False)):
        assert run(["season", str(path), "--stage", "pre-solo", "--school", str(file), "--jobs", "1"]) == 0
        told = " ".join(capsys.readouterr().out.split())
        assert "1 daylight station-hour" in told
        assert ("counted, also those in which the school is closed" in told) is said
