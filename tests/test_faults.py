"""What bad or missing input gets: fault, rating, words, exit status (design: absent is not calm and not clear)."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from advisor.cli import run

NOW = "2026-04-25T18:00:00Z"
GOOD = "22008KT 10SM CLR 15/05 A3000"
RATED = {"suited", "with care", "ask first", "hold"}


def ask(capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, *more: str) -> tuple[int, str, str]:
    """Run ``advisor day XBRK`` on a text; status, standard output, standard error."""
    file = tmp_path / "reports.txt"
    file.write_text(text, "utf-8")
    status = run(["day", *(more or ("XBRK",)), "--from-file", str(file), "--now", NOW])
    out = capsys.readouterr()
    return status, out.out, out.err


REFUSED = [
    (
        "unknown station",
        "METAR QQQQ 251753Z 22008KT 10SM CLR 15/05 A3000",
        ("QQQQ",),
        "No station 'QQQQ' is known",
    ),
    ("wrong station", f"METAR XHLW 251753Z {GOOD}", ("XBRK",), "holds reports of XHLW, not of XBRK"),
    ("empty file", "", ("XBRK",), "holds no report: it is empty"),
    ("blank file", " \n\n ", ("XBRK",), "holds no report: it is empty"),
    ("from the future", f"METAR XBRK 251853Z {GOOD}", ("XBRK",), "53 minutes in the future"),
    (
        "forecast past its end",
        "TAF XBRK 241130Z 2412/2512 22008KT P6SM SKC",
        ("XBRK",),
        "ended at 25 1200Z",
    ),
    ("forecast cancelled", "TAF AMD XBRK 251130Z 2512/2612 CNL", ("XBRK",), "cancelled"),
]


@pytest.mark.parametrize(("about", "text", "asked", "words"), REFUSED, ids=[r[0] for r in REFUSED])
def test_refused_with_a_sentence(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    about: str,
    text: str,
    asked: tuple[str, ...],
    words: str,
) -> None:
    status, out, err = ask(capsys, tmp_path, text, *asked)
    assert status == 1
    assert words in err
    assert "Traceback" not in err + out
    assert not out


ANSWERED = [
    # about, text, ratings allowed at now before solo, words of the page
    (
        "wind not understood",
        "METAR XBRK 251753Z 22020G15KT 10SM CLR 15/05 A3000",
        {"not rated"},
        "could not be read; it is not taken as calm",
    ),
    ("wind missing", "METAR XBRK 251753Z /////KT 10SM CLR 15/05 A3000", {"not rated"}, "missing is not calm"),
    ("direction missing", "METAR XBRK 251753Z ///05KT 10SM CLR 15/05 A3000", {"not rated"}, "direction is missing"),
    ("direction missing, over the stop", "METAR XBRK 251753Z ///28KT 10SM CLR 15/05 A3000", {"hold"}, "mean wind 28 kt"),
    ("visibility missing", "METAR XBRK 251753Z 22008KT //// CLR 15/05 A3000", {"not rated"}, "the visibility is missing"),
    ("sky missing", "METAR XBRK 251753Z AUTO 22008KT 10SM 15/05 A3000", {"not rated"}, "that is not a clear sky"),
    ("sky missing but wind over the stop", "METAR XBRK 251753Z AUTO 22026KT 10SM 15/05 A3000", {"hold"}, "mean wind 26 kt"),
    ("stale, no forecast", f"METAR XBRK 251550Z {GOOD}", {"not rated"}, "130 minutes old"),
    (
        "stale, with a forecast",
        f"METAR XBRK 251550Z {GOOD}\nTAF XBRK 251130Z 2512/2612 22008KT P6SM SKC",
        {"with care"},
        "the forecast stands alone",
    ),
    (
        "no report, with a forecast",
        "TAF XBRK 251130Z 2512/2612 22008KT P6SM SKC",
        {"with care"},
        "rated from the forecast alone",
    ),
    (
        "hours past the end of a forecast",
        f"METAR XBRK 251753Z {GOOD}\nTAF XBRK 251130Z 2512/2519 22008KT P6SM SKC",
        {"suited"},
        "not rated",
    ),
    (
        "a good report after a damaged one",
        f"METAR XBRK 2517 garbage\nMETAR XBRK 251753Z {GOOD}",
        {"suited"},
        "22008KT",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("about", "text", "allowed", "words"), ANSWERED, ids=[a[0] for a in ANSWERED])
def test_answered_and_said(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, about: str, text: str, allowed: set[str], words: str
) -> None:
    status, out, err = ask(capsys, tmp_path, text, "XBRK", "--stage", "pre-solo")
    assert status == 0, err
    flat = " ".join(out.split())
    assert words in flat
    assert "Your instructor decides" in flat
    _, raw, _ = ask(capsys, tmp_path, text, "XBRK", "--stage", "pre-solo", "--format", "json")
    first = json.loads(raw)["stages"][0]["hours"][0]["lessons"]
    for name in ("tracking", "rectangular-course"):
        assert first[name]["suitability"] in allowed, (about, name, first[name])


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_a_file_with_a_byte_order_mark_is_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, encoding: str
) -> None:
    file = tmp_path / "reports.txt"
    file.write_text(f"METAR XBRK 251753Z {GOOD}\r\n", encoding)  # as some shells write what a command prints
    assert run(["day", "XBRK", "--from-file", str(file), "--now", NOW]) == 0
    assert GOOD in capsys.readouterr().out
    assert run(["decode", str(file), "--now", NOW]) == 0


def test_past_the_forecast_nothing_is_rated(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = f"METAR XBRK 251753Z {GOOD}\nTAF XBRK 251130Z 2512/2519 22008KT P6SM SKC"
    _, raw, _ = ask(capsys, tmp_path, text, "XBRK", "--stage", "pre-solo", "--format", "json")
    hours = {h["from"][11:16]: h["lessons"]["tracking"]["suitability"] for h in json.loads(raw)["stages"][0]["hours"]}
    assert hours["18:00"] == "suited"
    assert hours["21:00"] == hours["23:00"] == "not rated"


def test_three_different_ratings_over_real_daytime_us_reports(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, reports_dir: Path
) -> None:
    """Every sample row and every malformed one through the command: answered or refused, never a traceback."""
    rows = [line.split("\t") for line in (reports_dir / "metar_sample.tsv").read_text("utf-8").splitlines()[1:]]
    odd = [
        ["", line.split("\t")[0]] for line in (reports_dir / "malformed_sample.tsv").read_text("utf-8").splitlines()[1:]
    ]
    seen: set[str] = set()
    faults = []
    for observed, raw in rows[::12] + odd:
        day = re.search(r"\b(\d{2})(\d{2})(\d{2})Z", raw)
        clock = observed or (f"2022-10-{day[1]}T{day[2]}:{day[3]}:00Z" if day and int(day[1]) <= 31 else NOW)
        ident = next((t for t in raw.split() if t not in ("METAR", "SPECI", "COR", "TAF")), "XXXX")
        file = tmp_path / "one.txt"
        file.write_text(raw + "\n", "utf-8")
        shifted = _plus_ten(clock)
        status = run(
            [
                "day",
                ident,
                "--stage",
                "pre-solo",
                "--from-file",
                str(file),
                "--now",
                shifted,
                "--format",
                "json",
            ]
        )
        out = capsys.readouterr()
        if status not in (0, 1) or "Traceback" in out.err or (status == 1 and not out.err.startswith("advisor: ")):
            faults.append((status, raw, out.err[-200:]))
        if status == 0:
            page = json.loads(out.out)
            if not any("instructor decides" in line for line in page["standing"]):
                faults.append((status, raw, "no deferring line"))
            hour = page["stages"][0]["hours"][0]
            if ident.startswith("K") and hour["daylight"]:
                seen |= {v["suitability"] for v in hour["lessons"].values()}
        elif "sorry, this is a fault" in out.err:
            faults.append((status, raw, out.err))
    assert not faults, faults[:5]
    assert len(seen & RATED) >= 3, seen


def _plus_ten(clock: str) -> str:
    from datetime import datetime, timedelta

    return (datetime.fromisoformat(clock.replace("Z", "+00:00")) + timedelta(minutes=10)).isoformat()
