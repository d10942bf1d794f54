"""Faults inside an answer: what is good is kept, what is not is said."""

from __future__ import annotations

import re

import pytest

from advisor.errors import FetchError
from tests.loopback import Asked, Loopback, Reply
from tests.service_answers import METARS, ROUND, ROWS, body_of, made


def changed(index: int, **fields: object) -> list[object]:
    rows = [dict(r) for r in ROWS]
    rows[index].update(fields)
    return rows  # type: ignore[return-value]


ONE = ROWS[0]
#: case -> rows sent, stations kept, words of the one fault
DROPPED: dict[str, tuple[list[object], set[str], str]] = {
    "a station nobody asked for": (
        [*ROWS, {"icaoId": "KORD", "rawOb": "METAR KORD 251251Z 24010KT 10SM CLR 12/03 A2992"}],
        set(ROUND),
        r"sent 1 METAR row that belonged to a station nobody asked for; dropped \(KORD\)",
    ),
    "one station's name on another's report": (
        changed(2, icaoId="XSND"),
        {"XBRK", "XSND"},
        r"named one station and quoted another's report; dropped \(XSND\)",
    ),
    "a time that is not the report's": (
        changed(2, obsTime=ROWS[2]["obsTime"] - 7 * 86_400),
        {"XBRK", "XSND"},
        r"gave one time and quoted a report of another; dropped \(XHLW\)",
    ),
    "no raw text": (changed(2, rawOb=None), {"XBRK", "XSND"}, r"held no raw text; dropped \(XHLW\)"),
    "raw text that is a number": (changed(2, rawOb=7), {"XBRK", "XSND"}, r"held no raw text"),
    "a forecast among observations": (
        changed(2, rawOb="TAF XHLW 251120Z 2512/2612 24012KT P6SM SCT045"),
        {"XBRK", "XSND"},
        r"did not start as a METAR does",
    ),
    "prose": (changed(2, rawOb="OUT OF SERVICE"), {"XBRK", "XSND"}, r"did not start as a METAR does"),
    "a report without end": (
        changed(2, rawOb="METAR XHLW 251235Z " + "RMK " * 5_000),
        {"XBRK", "XSND"},
        r"was longer than 6,000 characters",
    ),
    "rows that are not objects": (
        [*ROWS, "XBRK", 3, None, []],
        set(ROUND),
        r"sent 4 METAR rows that held no raw",
    ),
}


@pytest.mark.parametrize("case", DROPPED)
def test_a_bad_row_is_dropped_and_said(case: str):
    rows, kept, words = DROPPED[case]
    with Loopback(lambda asked: Reply(body_of([r for r in rows if wanted(r, asked)]))) as server:
        fetched = made(server.url).service.metars(ROUND)
    assert set(fetched.reports) == kept
    assert set(fetched.report.missing) == set(ROUND) - kept
    assert len(fetched.report.faults) == 1
    assert re.search(words, fetched.report.faults[0])


def wanted(row: object, asked: Asked) -> bool:
    """The loopback's own filter: everything goes out the first time, only odd rows are held back later."""
    return len(asked.ids) == len(ROUND)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("obsTime", "1777121580"),
        ("obsTime", None),
        ("obsTime", 1e300),
        ("obsTime", True),
        ("obsTime", "noon"),
    ],
)
def test_an_odd_time_field_is_no_reason_to_lose_the_report(field: str, value: object):
    with Loopback(Reply(body_of([{**ONE, field: value}]))) as server:
        fetched = made(server.url).service.metars(["XBRK"])
    (report,) = fetched.reports["XBRK"]
    assert report.raw == ONE["rawOb"]
    assert (report.time is None) == (value != "1777121580")


def test_nan_in_json_is_no_reason_to_fail():
    with Loopback(Reply(body_of([{**ONE, "obsTime": float("nan"), "wspd": float("inf")}]))) as server:
        assert list(made(server.url).service.metars(["XBRK"]).texts) == ["XBRK"]


def test_terminal_control_characters_never_come_through():
    raw = "METAR XBRK 251253Z \x1b[2J24011KT\x07 10SM\r\nCLR 12/03 A2992 RMK \u202eAO2="
    with Loopback(Reply(body_of([{**ONE, "rawOb": raw}]))) as server:
        (text,) = made(server.url).service.metars(["XBRK"]).texts["XBRK"]
    assert text == "METAR XBRK 251253Z [2J24011KT 10SM CLR 12/03 A2992 RMK ?AO2"


def test_bytes_that_are_not_utf8_are_said_and_the_reports_kept():
    body = METARS.replace("Hollow", "H@llow").encode().replace(b"@", b"\xf6")
    with Loopback(Reply(body)) as server:
        fetched = made(server.url).service.metars(ROUND)
    assert fetched.report.missing == ()
    assert len(fetched.report.faults) == 1
    assert "not UTF-8 text; they were replaced" in fetched.report.faults[0]


def test_json_under_another_name_is_read_and_said():
    with Loopback(Reply(METARS, content_type="text/plain")) as server:
        fetched = made(server.url).service.metars(ROUND)
    assert fetched.report.missing == ()
    assert fetched.report.faults == [
        "The weather service (127.0.0.1, metar) called its answer “text/plain” although it is JSON; it was read."
    ]


def test_a_redirect_on_the_same_server_is_followed():
    with Loopback([Reply("", 308, headers={"Location": "/elsewhere?ids=XBRK"}), Reply(METARS)]) as server:
        fetched = made(server.url).service.metars(ROUND)
    assert fetched.report.missing == ()
    assert [a.path for a in server.asked] == ["/api/data/metar", "/elsewhere"]


def test_a_redirect_never_reaches_the_other_server():
    with (
        Loopback(Reply(METARS)) as other,
        Loopback(Reply("", 302, headers={"Location": other.url})) as server,
        pytest.raises(FetchError, match="another address"),
    ):
        made(server.url).service.metars(["XBRK"])
    assert other.asked == []
