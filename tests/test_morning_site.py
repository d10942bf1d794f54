"""The desk's site: whole or not at all, escaped, standing alone; repeating and stopping cleanly."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from html.parser import HTMLParser
from pathlib import Path

import pytest

from advisor.cli import run
from advisor.commands import morning as morning_command
from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.errors import DataFileError
from advisor.morning import MorningSummary
from advisor.present.morning_page import morning_html, station_html
from advisor.present.site import MARKER, write_site
from advisor.words import find_approval_words

NOW = "2026-04-25T18:00:00Z"
posix = pytest.mark.skipif(os.name != "posix", reason="links and signals of a POSIX system")


@pytest.fixture(scope="module")
def demo() -> MorningSummary:
    return posting(Wanted(("XBRK", "XHLW", "XSND"), Choices(demo=True), "A. Desk", 120, None))[0]


class Page(HTMLParser):
    """Links, ids, text and whether every tag that was opened is closed."""

    VOID = frozenset({"meta", "link", "br", "use", "rect", "path"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.tags: list[str] = []
        self.text = ""
        self.faults: list[str] = []
        self.feed(text)
        self.close()
        self.faults += self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append(tag)
        self.links += [v for k in ("href", "src") if (v := given.get(k))]
        self.ids += [v for v in [given.get("id")] if v]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.links += [v for k in ("href", "src") if (v := given.get(k))]

    def handle_endtag(self, tag: str) -> None:
        if tag in self.VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"/{tag}")

    def handle_data(self, data: str) -> None:
        self.text += data


def pages(folder: Path) -> dict[str, str]:
    return {p.relative_to(folder).as_posix(): p.read_text("utf-8") for p in folder.rglob("*.html")}


def hidden(out: Path) -> list[str]:
    return sorted(
        p.name for p in out.parent.iterdir() if p.name.startswith(f".{out.name}.") and not p.name.endswith(".lock")
    )


# -- what is in it --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("style", ["text", "json", "csv", "html"])
def test_what_is_printed_beside_a_site_is_what_is_printed_without_one(
    style: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["morning", "--demo", "--format", style, "--posted-by", "A. Desk"]
    printed = []
    for more in ([], ["--out", str(tmp_path / "site")]):
        assert run([*asked, *more]) == 0
        printed.append(capsys.readouterr().out)
    assert printed[0] == printed[1]
    assert len(printed[0]) > 1000


def test_the_site_has_everything_and_every_link_leads_somewhere(demo: MorningSummary, tmp_path: Path):
    out = tmp_path / "web"
    written = write_site(out, demo)
    found = pages(out)
    assert written.pages == len(found)
    names = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()}
    assert {"index.html", "morning.txt", "morning.json", "morning.csv", MARKER} <= names
    for s in ("XBRK", "XHLW", "XSND"):
        assert {f"{s}.html", f"{s}.txt", f"{s}.json"} <= names
        assert any(n.startswith(f"cards/{s}-") for n in names)
    for name, text in found.items():
        page = Page(text)
        assert not page.faults, name
        assert len(page.ids) == len(set(page.ids)), name
        for link in page.links:
            if link.startswith("#"):
                assert link[1:] in page.ids, (name, link)
            else:
                assert (out / name).parent.joinpath(link).is_file(), (name, link)
        assert not find_approval_words(page.text), name


def test_pages_stand_alone(demo: MorningSummary):
    for text in (morning_html(demo), *(station_html(demo, s) for s in demo.stations)):
        assert not re.search(r"""(?:src|href)=["']?(?:https?:)?//|@import|url\(""", text)
        assert "do not use after" in text
        assert "The duty instructor decides" in text
        assert "MADE-UP DEMO" in text


def test_json_of_the_site_is_the_posting(demo: MorningSummary, tmp_path: Path):
    out = tmp_path / "web"
    write_site(out, demo, cards=False)
    whole = json.loads((out / "morning.json").read_text("utf-8"))
    assert [s["station"] for s in whole["stations"]] == [s.station for s in demo.stations]
    for s in whole["stations"]:
        alone = json.loads((out / f"{s['station']}.json").read_text("utf-8"))
        assert alone["stations"] == [s]
        assert alone["schema"] == whole["schema"] == "morning/1"
    text = (out / "morning.txt").read_text("utf-8")
    assert text.isascii()
    assert all(s.station in text for s in demo.stations)
    assert not (out / "cards").exists()


def test_meaning_is_in_words_not_in_colour(demo: MorningSummary):
    text = morning_html(demo)
    colours = set(re.findall(r"#[0-9a-fA-F]{3,8}\b", re.sub(r'href="#[^"]*"', "", text)))
    for colour in colours:
        digits = colour[1:] if len(colour) > 4 else "".join(c * 2 for c in colour[1:])
        r, g, b = (int(digits[i : i + 2], 16) for i in (0, 2, 4))
        assert max(r, g, b) - min(r, g, b) <= 4, f"{colour} is no grey"
    page = Page(text)
    for word in ("hold", "ask first", "with care", "suited"):
        assert word in page.text


def test_every_text_is_escaped(tmp_path: Path):
    """A school file, a name and a report that try to be markup (made by hand)."""
    evil = "<script>alert(1)</script>"
    school = tmp_path / "school.toml"
    school.write_text(
        f"""name = "{evil}"
[[stations]]
station = "XBRK"
name = "<b>Bracken</b> & sons"
latitude_deg = 41.05
longitude_deg = -97.35
elevation_ft = 1205
time_zone = "America/Chicago"
[[stations.runways]]
name = "04/22"
bearing_deg_magnetic = 40
length_ft = 3800
[[notices]]
text = "<img src=x onerror=alert(1)>"
kind = "restriction"
who = '"><svg onload=alert(1)>'
until = 2026-04-26T12:00:00
[[practice_areas]]
name = "</style><script>area"
station = "XBRK"
latitude_deg = 41.17
longitude_deg = -97.38
ground_elevation_ft = 1420
""",
        "utf-8",
    )
    reports = tmp_path / "r.txt"
    reports.write_text(
        "METAR XBRK 251753Z 22008KT 10SM CLR 15/05 A3000 RMK AO2 <script>alert(2)</script> {{7*7}}", "utf-8"
    )
    out = tmp_path / "web"
    args = ["morning", "XBRK", "<i>QQ</i>", "--school", str(school), "--from-file", str(reports), "--now", NOW]
    assert run([*args, "--out", str(out), "--posted-by", evil]) == 0
    for name, text in pages(out).items():
        page = Page(text)
        assert not page.faults, name
        assert page.tags.count("script") <= 1, name
        assert "img" not in page.tags
        assert "onload" not in re.sub(r"&[a-z#0-9]+;", "", "".join(re.findall(r"<[^>]+>", text))), name
        if name in ("index.html", "XBRK.html"):
            assert "alert(1)" in page.text  # shown as text
            assert "49" not in page.text.split("RMK")[-1][:40]


def test_the_page_covers_itself_by_script_and_says_so_without(demo: MorningSummary, tmp_path: Path):
    reports = tmp_path / "reports.txt"
    reports.write_text("METAR KLNK 251253Z 22008KT 10SM CLR 15/05 A3000", "utf-8")
    chosen = Choices(from_file=str(reports), now_text="2026-04-25T13:10Z")
    text = morning_html(posting(Wanted(("KLNK",), chosen, "A. Desk", 120, None))[0])
    assert 'Date.parse("2026-04-25T14:03Z")' in text
    assert "Date.parse" not in morning_html(demo)  # the demo's clock stands still
    assert '<div id="expired" role="alert" hidden>' in text
    assert text.index("do not use after") < text.index("<main")


# -- the command ----------------------------------------------------------------------------------------------


def test_changes_are_told_from_the_site_itself(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    reports, out = tmp_path / "r.txt", tmp_path / "web"
    args = ["morning", "XBRK", "--from-file", str(reports), "--out", str(out)]
    reports.write_text("METAR XBRK 251653Z 22008KT 10SM CLR 25/05 A3000", "utf-8")
    assert run([*args, "--now", "2026-04-25T17:00:00Z"]) == 0
    reports.write_text("METAR XBRK 251753Z 22014KT 10SM CLR 25/05 A3000", "utf-8")
    assert run([*args, "--now", NOW]) == 0
    assert "wind 8 to 14 kt" in (out / "XBRK.html").read_text("utf-8")
    (out / "morning.json").write_text("{half", "utf-8")
    capsys.readouterr()
    assert run([*args, "--now", NOW]) == 0
    assert "could not be read" in capsys.readouterr().out


def test_nothing_available_is_shown_on_the_wall_too(tmp_path: Path):
    reports, out = tmp_path / "r.txt", tmp_path / "web"
    reports.write_text("", "utf-8")
    assert run(["morning", "XBRK", "--from-file", str(reports), "--now", NOW, "--out", str(out)]) == 1
    page = Page((out / "index.html").read_text("utf-8"))
    assert "Nothing can be shown for" in page.text
    assert "it is empty" in page.text
    assert json.loads((out / "morning.json").read_text("utf-8"))["stations"] == []


def test_reports_of_no_station_are_refused_and_not_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    reports = tmp_path / "r.txt"
    reports.write_text("OUT OF SERVICE\n", "utf-8")
    assert run(["morning", "--from-file", str(reports), "--now", NOW]) == 1
    assert "r.txt holds no report of a station. Give METAR or TAF lines" in capsys.readouterr().err


def test_a_demo_leaves_nothing_in_the_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("ADVISOR_STORE", str(tmp_path / "store"))
    assert run(["morning", "XSND"]) == 0
    assert run(["morning", "--demo"]) == 0
    assert not (tmp_path / "store").exists()


@posix
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_repeating_stops_cleanly_between_postings(tmp_path: Path, number: signal.Signals):
    out = tmp_path / "web"
    command = [sys.executable, "-m", "advisor", "morning", "XSND", "--out", str(out), "--every", "1", "--no-cards"]
    worker = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert worker.stderr is not None
    lines = []
    for line in worker.stderr:
        lines.append(line)
        if "next in 1 min" in line:
            break
    worker.send_signal(number)
    begun = time.monotonic()
    stdout, rest = worker.communicate(timeout=20)
    assert time.monotonic() - begun < 10
    assert worker.returncode == 0, rest
    assert "Stopped between postings." in rest
    assert "25 1310Z: 1 field posted" in "".join(lines)
    assert stdout == ""
    assert (out / "index.html").read_text("utf-8").rstrip().endswith("</html>")
    assert not any(".making-" in n for n in hidden(out))


def test_a_round_that_fails_leaves_the_last_posting_and_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    rounds = []

    class Stop(threading.Event):
        def wait(self, timeout: float | None = None) -> bool:
            if len(rounds) >= 3:
                self.set()
            return self.is_set()

    def once(now_text: str | None) -> MorningSummary:
        rounds.append(now_text)
        if len(rounds) == 2:
            raise DataFileError("the disk is full")
        return posting(Wanted(("XSND",), Choices(demo=True), "", 180, None))[0]

    monkeypatch.setattr(morning_command.threading, "Event", Stop)
    assert morning_command._repeat(once, 5, Choices(demo=True)) == 0
    said = capsys.readouterr().err
    assert len(rounds) == 3
    assert "not posted, the last posting stands: the disk is full" in said
    assert said.count("1 field posted") == 2
