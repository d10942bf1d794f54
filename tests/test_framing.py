"""Bulletins, gateway files, service answers and pasted lines: how many reports, of what kind, what text."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.reports.framing import split_reports

A = "XBRK 251753Z 22012G19KT 10SM CLR 15/05 A3005"
B = "XHLW 251750Z AUTO VRB03KT CAVOK 12/M01 Q1021"
T = "TAF XBRK 251730Z 2518/2618 22012KT P6SM SKC FM260200 VRB03KT P6SM SKC"
U = "XHLW 251720Z 2518/2618 24010KT 9999 BKN030 TEMPO 2520/2524 3000 SHRA"
ALOFT = (
    "DATA BASED ON 251200Z\nVALID 251800Z   FOR USE 1400-2100Z. TEMPS NEG ABV 24000\n\n"
    "FT  3000    6000    9000\nABC 2310 2414+08 2520+03\nXYZ           2625-01"
)

CASES: list[tuple[str, str, list[tuple[str, str]]]] = [
    ("nothing", "", []),
    ("blank lines", "\n \n\t\n", []),
    ("one", A, [("metar", A)]),
    ("one with its word", f"METAR {A}=", [("metar", f"METAR {A}")]),
    ("a line each", f"{A}\n{B}\n", [("metar", A), ("metar", B)]),
    ("dos line ends", f"{A}\r\n{B}\r\n", [("metar", A), ("metar", B)]),
    ("old line ends", f"{A}\r{B}", [("metar", A), ("metar", B)]),
    ("two on a line", f"{A}={B}=", [("metar", A), ("metar", B)]),
    ("speci", f"SPECI {A}", [("metar", f"SPECI {A}")]),
    ("correction first", f"METAR COR {A}", [("metar", f"METAR COR {A}")]),
    ("lower case", A.lower(), [("metar", A.lower())]),
    ("indented more", f"{A}\n     RMK AO2 TSNO", [("metar", f"{A} RMK AO2 TSNO")]),
    (
        "more that starts with a group",
        f"METAR {A}\nRMK AO2 TSNO\n{B}",
        [("metar", f"METAR {A} RMK AO2 TSNO"), ("metar", B)],
    ),
    ("forecast with its changes", T.replace(" FM", "\n  FM"), [("taf", T)]),
    ("changes not indented", T.replace(" FM", "\nFM"), [("taf", T)]),
    ("forecast without its word", U, [("taf", U)]),
    ("forecasts and reports", f"{A}\n{T}\n{B}\n{U}", [("metar", A), ("taf", T), ("metar", B), ("taf", U)]),
    (
        "a line with no time keeps its place",
        f"{A}\nXSND 00000KT 9999\n{B}",
        [("metar", A), ("unknown", "XSND 00000KT 9999"), ("metar", B)],
    ),
    (
        "a wind is not more of the report above",
        f"{A}\n27010KT 10SM CLR\n{B}",
        [("metar", A), ("unknown", "27010KT 10SM CLR"), ("metar", B)],
    ),
    ("prose keeps its place", f"hello there\n{A}", [("unknown", "hello there"), ("metar", A)]),
    (
        "bulletin",
        f"000\nSAUS70 KWBC 251800\nMTRBRK\nMETAR {A}=\n{B}=\n",
        [("metar", f"METAR {A}"), ("metar", B)],
    ),
    (
        "bulletin with one word for all",
        f"SAXX60 ABCD 251800 RRA\nMETAR\n{A}=\n{B}=",
        [("metar", f"METAR {A}"), ("metar", f"METAR {B}")],
    ),
    (
        "bulletin with wrapped lines",
        f"SAXX60 ABCD 251800\nMETAR\n{A}\nOCNL LTGIC\nW=\n{B}=",
        [("metar", f"METAR {A} OCNL LTGIC W"), ("metar", f"METAR {B}")],
    ),
    (
        # WMO No. 386: every line ends in CR CR LF
        "bulletin with wrapped lines and the line ends of the wire",
        f"\x01\n776 \nSAUS70 KWBC 251800\nMETAR\n{A}\n     RMK TORNADO B02 OHD\n     $=\n{B}=\n".replace(
            "\n", "\r\r\n"
        ),
        [("metar", f"METAR {A} RMK TORNADO B02 OHD $"), ("metar", f"METAR {B}")],
    ),
    ("lines end in CR", f"{A}\r{B}\r", [("metar", A), ("metar", B)]),
    (
        "heading without figures",
        f"SAEW ABCD 251800 RRG\nMETAR {A}=",
        [("metar", f"METAR {A}")],
    ),
    (
        "forecast bulletin",
        f"FTXX31 ABCD 251700\nTAF\n{U}=\n{U.replace('XHLW', 'XSND')}=",
        [("taf", f"TAF {U}"), ("taf", f"TAF {U}".replace("XHLW", "XSND"))],
    ),
    ("amended forecasts", f"FTXX31 ABCD 251700\nTAF AMD\n{U}=", [("taf", f"TAF AMD {U}")]),
    ("control characters", f"\x01\r\r\n123 \r\r\nSAXX60 ABCD 251800\r\r\n\x1e{A}=\r\r\n\x03", [("metar", A)]),
    ("end mark", f"ZCZC 123\n{A}=\nNNNN", [("metar", A)]),
    (
        "winds aloft whole",
        f"FBUS31 KWNO 251400\nFD1US1\n{ALOFT}",
        [("winds-aloft", f"FBUS31 KWNO 251400\nFD1US1\n{ALOFT}")],
    ),
    (
        "winds aloft extracted",
        f"(Extracted from FBUS31 KWNO 251400)\nFD1US1\n{ALOFT}",
        [("winds-aloft", f"(EXTRACTED FROM FBUS31 KWNO 251400)\nFD1US1\n{ALOFT}")],
    ),
    ("winds aloft without a heading", ALOFT, [("winds-aloft", ALOFT)]),
    (
        "winds aloft then reports",
        f"FBUS31 KWNO 251400\n{ALOFT}\nSAUS70 KWBC 251800\nMETAR {A}=",
        [("winds-aloft", f"FBUS31 KWNO 251400\n{ALOFT}"), ("metar", f"METAR {A}")],
    ),
    (
        "two winds-aloft bulletins",
        f"FBUS31 KWNO 251400\n{ALOFT}\n000\nFBUS33 KWNO 251400\n{ALOFT}",
        [("winds-aloft", f"FBUS31 KWNO 251400\n{ALOFT}"), ("winds-aloft", f"FBUS33 KWNO 251400\n{ALOFT}")],
    ),
]


@pytest.mark.parametrize(("text", "expected"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_split(text: str, expected: list[tuple[str, str]]):
    found = [(report.kind, report.text) for report in split_reports(text)]
    # the blank lines and trailing blanks inside a bulletin carry nothing
    assert found == [(kind, "\n".join(x for x in want.split("\n") if x)) for kind, want in expected]


def test_gateway_files_carry_their_date():
    text = f"2026/04/25 17:53\n{A}\n\n2026/04/24 17:20\n{T.replace(' FM', chr(10) + '      FM')}\n"
    first, second = split_reports(text)
    assert (first.kind, first.text) == ("metar", A)
    assert first.date_hint == datetime(2026, 4, 25, 17, 53, tzinfo=UTC)
    assert (second.kind, second.text) == ("taf", T)
    assert second.date_hint == datetime(2026, 4, 24, 17, 20, tzinfo=UTC)


def test_a_date_that_is_none_is_no_hint():
    (report,) = split_reports(f"2026/13/45 17:53\n{A}")
    assert report.date_hint is None


def test_archives_put_the_date_in_front() -> None:
    """Lines of public archives: 2026/04/25 17:53 or 202604251753, then the report."""
    first, second = split_reports(f"2026/04/25 17:53 {A}\n202604241720 METAR {B}=\n")
    assert (first.kind, first.text) == ("metar", A)
    assert first.date_hint == datetime(2026, 4, 25, 17, 53, tzinfo=UTC)
    assert (second.kind, second.text) == ("metar", f"METAR {B}")
    assert second.date_hint == datetime(2026, 4, 24, 17, 20, tzinfo=UTC)


def test_what_was_cut_can_be_decoded():
    now = datetime(2026, 4, 25, 18, tzinfo=UTC)
    metar, taf = split_reports(f"METAR\n{A}=\nTAF\n{U}=")
    assert decode_metar(metar.text, now).wind.gust_kt == 19
    assert [period.change for period in decode_taf(taf.text, now).periods] == ["BASE", "TEMPO"]


@pytest.mark.parametrize(
    "line", ["XBRK 251753Z\n", "= = ", "METAR\n", "9" * 50, "FT 3000 " * 5, " a\n", "\x1e\x01", "\r"]
)
def test_time_is_linear(line: str):
    text = line * (64 * 1024 // len(line))
    start = time.process_time()
    split_reports(text)
    assert time.process_time() - start < 0.64  # 10 ms a kilobyte


def test_samples(reports_dir: Path):
    """One report a line in, as many out, each of its kind."""
    for name, column, kind in (("metar_sample.tsv", 1, "metar"), ("taf_sample.tsv", 1, "taf")):
        lines = (reports_dir / name).read_text("utf-8").splitlines()[1:]
        raws = [line.split("\t")[column] for line in lines]
        found = split_reports("\n".join(raws))
        assert [report.text for report in found] == [" ".join(raw.split()).rstrip("= ") for raw in raws]
        assert {report.kind for report in found} == {kind}
    for path in sorted(reports_dir.glob("winds_aloft*.txt")):
        found = split_reports(path.read_bytes().decode("utf-8", "replace"))
        assert [report.kind for report in found] == ["winds-aloft"]
