"""Everything the weather service can do wrong, done by a server on this machine, and exactly what the caller
gets. The forms of the answers (204 with no body, 200 ``[]``, the 400 error object, 429) are those observed of
the public service; the rest is what networks do.
"""

from __future__ import annotations

import gc
import re

import pytest

from advisor.errors import FetchError, UnknownStation
from advisor.reports.faults import PassingFault
from advisor.words import find_approval_words
from tests.loopback import Loopback, Reply, unused_url
from tests.service_answers import HTTP, METARS, ROUND, SIGN_IN, made

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
    "sent to half an address": (
        Reply("", 302, headers={"Location": "http://[sign-in"}),
        {},
        r"sent us on to an address that cannot be read",
        1,
        [],
    ),
    "sent to an address of broken letters": (
        Reply("", 302, headers={"Location": "/\xff\xfe"}),
        {},
        r"sent us on to an address that cannot be read",
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
        with pytest.raises(FetchError, match=r"(?s)^The weather service \(127\.0\.0\.1, metar\) .*" + words) as caught:
            made_.service.metars(["XBRK"])
    message = str(caught.value)
    del caught
    gc.collect()  # a connection left open is an error here, in the test that left it
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
        ({"retry-after": "\u00b2"}, None),
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
        for bad in ("KM", "XBRK,XHLW", "@WA", "1ABC", "XBRKX", "XB-K", "ХBRK", "", "X" * 30):
            shown = bad.replace("Х", "?")[:20]  # the Cyrillic letter is no X and might not print
            with pytest.raises(UnknownStation, match=f"^{re.escape(repr(shown))} is not a station identifier"):
                made(server.url).service.metars([bad])
    assert server.asked == []
