"""Everything the weather service can do wrong, done by a server on this machine, and exactly what the caller
gets. The forms of the answers (204 with no body, 200 ``[]``, the 400 error object, 429) are those observed of
the public service; the rest is what networks do.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from advisor.errors import FetchError, UnknownStation
from advisor.reports.faults import PassingFault
from advisor.reports.fetch import Service
from advisor.words import find_approval_words
from tests.loopback import Asked, Loopback, Reply, unused_url

HTTP = Path(__file__).resolve().parent.parent / "fixtures" / "http"
METARS = (HTTP / "metar_since_2025_09.json").read_text("utf-8")
ROWS = json.loads(METARS)
GATEWAY_METAR = (HTTP / "gateway_metar_XBRK.TXT").read_text("utf-8")
SIGN_IN = (HTTP / "sign_in.html").read_text("utf-8")
ROUND = ("XBRK", "XHLW", "XSND")


@dataclass
class Made:
    """A service pointed at a server, and the waits it asked for."""

    service: Service
    waits: list[float]


def made(url: str, **settings: object) -> Made:
    waits: list[float] = []
    settings.setdefault("timeout", (2.0, 2.0))
    return Made(Service(url, url, sleep=waits.append, **settings), waits)  # type: ignore[arg-type]


def body_of(rows: object) -> str:
    return json.dumps(rows)


# -- faults that end the fetch: reply, settings, words of the message, requests made, waits -----------------

FATAL: dict[str, tuple[Reply | list[Reply], dict[str, object], str, int, list[float]]] = {
    "400 with its error object": (
        Reply((HTTP / "error_400.json").read_text(), 400),
        {},
        r"refused the question: “Must specify station IDs or bounding box”\. Check the identifiers",
        1,
        [],
    ),
    "400 without a word": (
        Reply("", 400),
        {},
        r"refused the question \(status 400\)\. Check the ident",
        1,
        [],
    ),
    "400 that is a page": (
        Reply(SIGN_IN, 400, "text/html"),
        {},
        r"refused the question \(status 400\)",
        1,
        [],
    ),
    "an error object with status 200": (
        Reply('{"status": "error", "error": "bad\\u001b[31m id"}'),
        {},
        r"refused the question: “bad \[31m id”",
        1,
        [],
    ),
    "403": (
        Reply("no", 403, "text/plain"),
        {},
        r"turned us away \(status 403\)\. Set ADVISOR_CONTACT",
        1,
        [],
    ),
    "404": (
        Reply("not here", 404, "text/plain"),
        {},
        r"nothing there \(status 404\).*ADVISOR_SERVICE_URL",
        1,
        [],
    ),
    "429 asking for a minute": (
        Reply("", 429, headers={"Retry-After": "60"}),
        {},
        r"ask too often \(status 429; it asks for 60 seconds\)\. Wait",
        1,
        [],
    ),
    "429 for ever": (Reply("", 429), {}, r"ask too often .*names no time; a minute is usual", 3, [0.5, 1.0]),
    "500 for ever": (
        Reply("", 500),
        {},
        r"in trouble \(status 500\).*try again in a few minutes",
        3,
        [0.5, 1.0],
    ),
    "503 as a page": (Reply(SIGN_IN, 503, "text/html"), {}, r"in trouble \(status 503\)", 3, [0.5, 1.0]),
    "503 asking for an hour": (Reply("", 503, headers={"Retry-After": "3600"}), {}, r"status 503", 1, []),
    "no answer in time": (
        Reply(METARS, silent_s=3.0),
        {"timeout": (2.0, 0.15), "attempts": 2},
        r"could not be reached or did not finish .*it took too long.*--offline",
        2,
        [0.5],
    ),
    "an answer that drips": (
        Reply(METARS, drip_s=0.05),
        {"deadline_s": 0.3, "attempts": 1},
        r"took over 0\.3 seconds over one answer",
        1,
        [],
    ),
    "an answer that breaks off": (Reply(METARS, cut_at=300), {}, r"the answer broke off", 3, [0.5, 1.0]),
    "a connection closed without a word": (Reply(slam=True), {}, r"connection was broken", 3, [0.5, 1.0]),
    "JSON cut short": (
        Reply(METARS[:900]),
        {},
        r"cut short or damaged \(.*at character.*900 bytes\)\. Nothing in it was used\. Try again",
        1,
        [],
    ),
    "JSON nested without end": (Reply("[" * 100_000), {}, r"cut short or damaged", 1, []),
    "JSON of another form": (
        Reply('{"type": "FeatureCollection"}'),
        {},
        r"JSON of an unknown form \(a dict",
        1,
        [],
    ),
    "a page instead of data": (
        Reply(SIGN_IN, 200, "text/html"),
        {},
        r"web page instead of data.*sign-in",
        1,
        [],
    ),
    "a page that says it is JSON": (Reply(SIGN_IN), {}, r"web page instead of data", 1, []),
    "not JSON, called a picture": (
        Reply(b"\x89PNG\r\n", content_type="image/png"),
        {},
        r"cut short or damaged",
        1,
        [],
    ),
    "too much, as announced": (
        Reply(METARS),
        {"max_bytes": 500},
        r"more than 500 bytes, more than any",
        1,
        [],
    ),
    "too much, unannounced": (
        Reply(" " * 300_000, chunked=True),
        {"max_bytes": 100_000},
        r"more than 100,000 bytes",
        1,
        [],
    ),
    "too much, compressed small": (
        Reply(" " * 3_000_000, squeeze=True),
        {"max_bytes": 100_000},
        r"more than 100,000 bytes",
        1,
        [],
    ),
    "damaged compression": (
        Reply(METARS, headers={"Content-Encoding": "gzip"}),
        {"attempts": 1},
        r"compressed answer was damaged",
        1,
        [],
    ),
    "sent elsewhere": (
        Reply("", 302, headers={"Location": "http://192.0.2.1/sign-in"}),
        {},
        r"sent us on to another address \(“192\.0\.2\.1”\), which was not followed",
        1,
        [],
    ),
    "sent to a file": (
        Reply("", 302, headers={"Location": "file:///etc/hosts"}),
        {},
        r"another address",
        1,
        [],
    ),
    "sent in a circle": (
        Reply("", 301, headers={"Location": "/api/data/metar"}),
        {},
        r"round in a circle of redirects",
        4,
        [],
    ),
}


@pytest.mark.parametrize("case", FATAL)
def test_a_fault_is_a_sentence(case: str):
    reply, settings, words, requests_made, waits = FATAL[case]
    with Loopback(reply if isinstance(reply, Reply) else list(reply)) as server:
        made_ = made(server.url, **settings)
        with pytest.raises(
            FetchError, match=r"(?s)^The weather service \(127\.0\.0\.1, metar\) .*" + words
        ) as caught:
            made_.service.metars(["XBRK"])
    message = str(caught.value)
    assert message.isprintable()
    assert not find_approval_words(message)
    assert len(server.asked) == requests_made
    assert made_.waits == waits
    assert {a.method for a in server.asked} == {"GET"}


def test_nothing_listens_there():
    made_ = made(unused_url())
    with pytest.raises(PassingFault, match=r"could not be reached .*the connection was refused.*--offline"):
        made_.service.metars(["XBRK"])
    assert made_.waits == [0.5, 1.0]


# -- faults that pass ---------------------------------------------------------------------------------------

DATE = "Sat, 25 Apr 2026 13:00:00 GMT"
PASSING: dict[str, tuple[list[Reply], list[float]]] = {
    "429 that names a second": ([Reply("", 429, headers={"Retry-After": "1"})], [1.0]),
    "503 then 502": ([Reply("", 503), Reply("", 502)], [0.5, 1.0]),
    "503 with a wait, then an answer broken off": (
        [Reply("", 503, headers={"Retry-After": "7"}), Reply(METARS, cut_at=10)],
        [7.0, 1.0],
    ),
}


@pytest.mark.parametrize("case", PASSING)
def test_a_passing_fault_is_waited_out(case: str):
    replies, waits = PASSING[case]
    with Loopback([*replies, Reply(METARS)]) as server:
        made_ = made(server.url)
        fetched = made_.service.metars(ROUND)
    assert made_.waits == waits
    assert len(server.asked) == len(replies) + 1
    assert fetched.report.missing == ()
    assert fetched.report.faults == []


@pytest.mark.parametrize(
    ("headers", "seconds"),
    [
        ({"retry-after": "12"}, 12.0),
        ({"retry-after": "Sat, 25 Apr 2026 13:00:04 GMT", "date": DATE}, 4.0),
        ({"retry-after": "Sat, 25 Apr 2026 12:00:04 GMT", "date": DATE}, 0.0),
        ({"retry-after": "Sat, 25 Apr 2026 13:00:04 GMT"}, None),
        ({"retry-after": "soon", "date": DATE}, None),
        ({"retry-after": "-5"}, None),
        ({}, None),
    ],
)
def test_retry_after(headers: dict[str, str], seconds: float | None):
    from advisor.reports.faults import retry_after_s

    assert retry_after_s(headers) == seconds


# -- no data is not a fault ---------------------------------------------------------------------------------


@pytest.mark.parametrize("reply", [Reply(status=204, content_type=""), Reply("[]"), Reply("")])
def test_no_data_is_missing_and_no_fault(reply: Reply):
    with Loopback(reply) as server:
        fetched = made(server.url).service.metars(["XBRK", "XHLW"])
    assert fetched.reports == {}
    assert fetched.report.missing == ("XBRK", "XHLW")
    assert fetched.report.unreached == ()
    assert fetched.report.faults == []
    assert len(server.asked) == 1, "an empty answer for all is believed"


def test_a_malformed_identifier_is_never_sent():
    with Loopback(Reply(METARS)) as server:
        for bad in ("KM", "XBRK,XHLW", "@WA", "1ABC", "XBRKX", "XB-K", "ХBRK", ""):
            with pytest.raises(UnknownStation, match="is not a station identifier"):
                made(server.url).service.metars([bad])
    assert server.asked == []


# -- faults inside an answer: what is good is kept, what is not is said -------------------------------------


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
        "The weather service (127.0.0.1, metar) called its answer “text/plain” although it is JSON; it "
        "was read."
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


# -- batches ------------------------------------------------------------------------------------------------

MANY = [f"X{n:03d}" for n in range(200)]


def rows_for(ids: list[str], each: int = 1) -> list[dict[str, object]]:
    return [
        {
            "icaoId": i,
            "rawOb": f"METAR {i} 25{12 - n:02d}53Z 24010KT 10SM CLR 12/03 A2992",
            "metarType": "METAR",
        }
        for i in ids
        for n in range(each)
    ]


def test_a_silently_cut_answer_is_noticed_and_made_good():
    def cut_at_fifty(asked: Asked) -> Reply:
        return Reply(body_of(rows_for(asked.ids)[:50]))

    with Loopback(cut_at_fifty) as server:
        fetched = made(server.url).service.metars(MANY, 1.0)
    assert fetched.report.missing == ()
    assert fetched.report.returned == tuple(MANY)
    assert [len(a.ids) for a in server.asked] == [80, 30, 80, 30, 40]
    assert fetched.report.cut_short == 2
    assert fetched.report.faults == [
        "The weather service (127.0.0.1, metar) cut 2 of its answers short without saying so; the "
        "stations left "
        "out were asked for again."
    ]


def test_a_full_answer_is_asked_again_in_halves():
    def at_most_400(asked: Asked) -> Reply:
        return Reply(body_of(rows_for(asked.ids, each=8)[:400]))

    with Loopback(at_most_400) as server:
        fetched = made(server.url).service.metars(MANY[:80], 1.0)
    assert [len(a.ids) for a in server.asked] == [80, 40, 40]
    assert {len(found) for found in fetched.reports.values()} == {8}, "no history lost, no report twice"
    assert fetched.report.cut_short == 1


def test_a_station_that_never_reports_costs_one_more_request():
    with Loopback(lambda asked: Reply(body_of(rows_for([i for i in asked.ids if i != "X007"])))) as server:
        fetched = made(server.url).service.metars(MANY[:20], 1.0)
    assert fetched.report.missing == ("X007",)
    assert fetched.report.unreached == ()
    assert fetched.report.faults == []
    assert [a.ids for a in server.asked] == [MANY[:20], ["X007"]]


@pytest.mark.parametrize(("hours", "largest"), [(1.0, 80), (1.5, 80), (6.0, 20), (24.0, 5)])
def test_the_batch_shrinks_with_the_hours_asked(hours: float, largest: int):
    """400 records an answer, and a station that reports every 20 minutes: 3.3 an hour with room to spare."""
    with Loopback(lambda asked: Reply(body_of(rows_for(asked.ids)))) as server:
        made(server.url).service.metars(MANY, hours)
    assert max(len(a.ids) for a in server.asked) == largest
    assert [i for a in server.asked for i in a.ids] == MANY
    assert {a.query["hours"] for a in server.asked} == {f"{hours:g}"}


def test_one_bad_answer_does_not_lose_the_others():
    def second_is_cut(asked: Asked) -> Reply:
        body = body_of(rows_for(asked.ids))
        return Reply(body[:-40] if MANY[100] in asked.ids else body)

    with Loopback(second_is_cut) as server:
        fetched = made(server.url).service.metars(MANY, 1.0)
    assert fetched.report.unreached == tuple(MANY[80:160])
    assert fetched.report.missing == tuple(MANY[80:160])
    assert len(fetched.report.faults) == 1
    assert "cut short or damaged" in fetched.report.faults[0]
    assert "Stations concerned: X080, X081, X082, X083, X084 and 75 more." in fetched.report.faults[0]
    assert not fetched.report.down


def test_a_service_that_goes_down_is_not_asked_batch_after_batch():
    def second_fails(asked: Asked) -> Reply:
        return Reply("", 503) if MANY[100] in asked.ids else Reply(body_of(rows_for(asked.ids)))

    with Loopback(second_fails) as server:
        made_ = made(server.url)
        fetched = made_.service.metars(MANY, 1.0)
    assert len(server.asked) == 1 + 3
    assert fetched.report.down
    assert fetched.report.unreached == tuple(MANY[80:])
    assert fetched.report.faults[1] == "Not asked for after that: X160, X161, X162, X163, X164 and 35 more."


# -- the gateway's text files -------------------------------------------------------------------------------


def gateway_fault(reply: Reply, kind: str = "metar") -> str:
    with Loopback(reply) as server:
        fetched = made(server.url, attempts=1, timeout=(1.0, 0.3)).service.gateway(kind, ["XBRK"])
    assert fetched.reports == {}
    assert fetched.report.unreached == ("XBRK",)
    (fault,) = fetched.report.faults
    assert fault.startswith("The gateway (127.0.0.1) ")
    return fault


@pytest.mark.parametrize(
    ("reply", "words"),
    [
        (Reply(SIGN_IN, content_type="text/html"), "sent a web page instead of data"),
        (Reply("XBRK 251253Z 24011KT", content_type="text/plain"), "without its date line"),
        (Reply("2026/13/25 12:53\nXBRK 251253Z 24011KT", content_type="text/plain"), "without its date line"),
        (Reply(GATEWAY_METAR.replace("XBRK", "XHLW"), content_type="text/plain"), "report of XHLW for XBRK"),
        (
            Reply(GATEWAY_METAR.replace("251253Z", "111253Z"), content_type="text/plain"),
            "the report in the file says",
        ),
        (Reply("2026/04/25 12:53\n", content_type="text/plain"), "holds no METAR"),
        (Reply("2026/04/25 12:53\nNO DATA", content_type="text/plain"), "holds no METAR"),
        (Reply("", 503), "in trouble (status 503)"),
        (Reply(GATEWAY_METAR, cut_at=20), "the answer broke off"),
        (Reply(GATEWAY_METAR, silent_s=1.0), "it took too long"),
    ],
)
def test_a_fault_of_the_gateway_is_a_sentence(reply: Reply, words: str):
    assert words in gateway_fault(reply)


def test_a_station_without_a_file_is_no_fault():
    with Loopback(Reply("Not Found", 404, "text/html")) as server:
        fetched = made(server.url).service.gateway("taf", ["XBRK"])
    assert fetched.reports == {}
    assert fetched.report.faults == []
    assert fetched.report.unreached == ()
    assert [a.path for a in server.asked] == ["/data/forecasts/taf/stations/XBRK.TXT"]


def test_many_bad_files_are_not_many_sentences():
    with Loopback(Reply("2026/04/25 12:53\nKORD 251253Z 24011KT", content_type="text/plain")) as server:
        fetched = made(server.url).service.gateway("metar", MANY[:20])
    assert len(fetched.report.faults) == 5
    assert fetched.report.faults[-1] == "The gateway (127.0.0.1) sent 16 more files that could not be used."
    assert len(fetched.report.unreached) == 20


def test_the_gateway_is_left_alone_once_it_is_down_or_has_served_many():
    with Loopback(Reply("", 500)) as server:
        fetched = made(server.url, attempts=1).service.gateway("metar", MANY)
    assert len(server.asked) == 1
    assert fetched.report.down
    assert len(fetched.report.unreached) == 200
    with Loopback(Reply("", 404)) as server:
        fetched = made(server.url).service.gateway("metar", MANY)
    assert len(server.asked) == 40
    assert fetched.report.unreached == tuple(MANY[40:])
    assert "only the first 40 were asked for" in fetched.report.faults[0]


# -- winds aloft --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reply", "words"),
    [
        (Reply(SIGN_IN, content_type="text/html"), "web page instead of data"),
        (
            Reply("No data available", content_type="text/plain"),
            "no winds-aloft bulletin (“No data available”)",
        ),
        (Reply("", 500), "in trouble"),
    ],
)
def test_a_fault_of_winds_aloft_is_a_sentence(reply: Reply, words: str):
    with Loopback(reply) as server, pytest.raises(FetchError) as caught:
        made(server.url, attempts=1).service.winds_aloft("us", "low", "06")
    assert words in str(caught.value)


def test_a_bulletin_loses_its_control_characters_and_keeps_its_columns():
    sent = "\x01DATA BASED ON 251200Z \r\r\n\x1b[2J\x1eXHL      9900+10\r\r\n\x03"
    with Loopback(Reply(sent, content_type="text/plain")) as server:
        ((text,),) = made(server.url).service.winds_aloft().texts.values()
    assert [line for line in text.splitlines() if line] == [
        "DATA BASED ON 251200Z ",
        "[2J",
        "XHL      9900+10",
    ]


def test_no_bulletin_is_missing():
    with Loopback(Reply(status=204, content_type="")) as server:
        fetched = made(server.url).service.winds_aloft()
    assert fetched.report.missing == ("us-low-06",)


@pytest.mark.parametrize("choice", [("mars", "low", "06"), ("us", "middle", "06"), ("us", "low", "07")])
def test_a_bulletin_the_service_does_not_have_is_not_asked_for(choice: tuple[str, str, str]):
    with Loopback(Reply("")) as server, pytest.raises(FetchError, match="There is no winds-aloft bulletin"):
        made(server.url).service.winds_aloft(*choice)
    assert server.asked == []


def call(name: str) -> Callable[[Service], object]:
    return lambda service: getattr(service, name)(["XBRK"])


@pytest.mark.parametrize("endpoint", ["tafs", "stations", "airports"])
def test_the_other_endpoints_fail_alike(endpoint: str):
    with Loopback(Reply("[{", 200)) as server, pytest.raises(FetchError, match="cut short or damaged"):
        call(endpoint)(made(server.url).service)
