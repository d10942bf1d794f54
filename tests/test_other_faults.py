"""What the gateway's text files, the winds aloft and the other endpoints can do wrong."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from advisor.errors import FetchError
from advisor.reports.fetch import Service
from tests.loopback import Loopback, Reply
from tests.service_answers import GATEWAY_METAR, SIGN_IN, made

MANY = [f"X{n:03d}" for n in range(200)]


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
