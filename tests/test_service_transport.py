"""What goes out to the public addresses, and faults below HTTP that a server of this machine cannot make: the
certificate, the name, the cable. The library ``responses`` stands where requests would open a connection.
"""

from __future__ import annotations

from urllib.parse import urlsplit

import pytest
import requests
import responses
from responses import matchers

from advisor.errors import FetchError
from advisor.reports.fetch import GATEWAY_URL, SERVICE_URL, Service
from tests.loopback import unused_url
from tests.service_answers import GATEWAY_METAR, HTTP, METARS

METAR_URL = f"{SERVICE_URL}/api/data/metar"
JSON = "application/json; charset=utf-8"


@pytest.fixture
def public(monkeypatch: pytest.MonkeyPatch):
    """The public addresses, whatever the environment of whoever runs the tests says."""
    monkeypatch.delenv("ADVISOR_SERVICE_URL", raising=False)
    monkeypatch.delenv("ADVISOR_GATEWAY_URL", raising=False)
    with responses.RequestsMock(assert_all_requests_are_fired=True) as mock:
        yield mock


def service(waits: list[float] | None = None, **settings: object) -> Service:
    return Service(sleep=(waits if waits is not None else []).append, **settings)  # type: ignore[arg-type]


# Source of the addresses and of the questions: the service's own API page (aviationweather.gov/data/api).
@pytest.mark.parametrize(
    ("endpoint", "answer", "query", "ask"),
    [
        ("metar", METARS, {"ids": "XBRK,XHLW,XSND", "format": "json", "hours": "3"},
         lambda s: s.metars(["XBRK", "XHLW", "XSND"], hours=3)),
        ("taf", (HTTP / "taf.json").read_text("utf-8"), {"ids": "XBRK", "format": "json"}, lambda s: s.tafs(["XBRK"])),
        ("windtemp", (HTTP / "windtemp_us_low_06.txt").read_text("utf-8"),
         {"region": "us", "level": "low", "fcst": "06"}, lambda s: s.winds_aloft()),
        ("stationinfo", (HTTP / "stationinfo.json").read_text("utf-8"), {"ids": "XHLW", "format": "json"},
         lambda s: s.stations(["XHLW"])),
        ("airport", (HTTP / "airport.json").read_text("utf-8"), {"ids": "XBRK", "format": "json"},
         lambda s: s.airports(["XBRK"])),
    ],
)  # fmt: skip
def test_the_public_service_is_asked_over_https_and_told_who_asks(public, endpoint, answer, query, ask) -> None:
    public.get(
        f"{SERVICE_URL}/api/data/{endpoint}",
        body=answer,
        content_type="text/plain" if endpoint == "windtemp" else JSON,
        match=[
            matchers.query_param_matcher(query),
            matchers.header_matcher({"User-Agent": "practice-day-advisor/0.1.0 (+desk@school.example)"}),
        ],
    )
    assert ask(service(contact="desk@school.example"))
    assert urlsplit(SERVICE_URL).scheme == urlsplit(GATEWAY_URL).scheme == "https"
    assert len(public.calls) == 1


def test_the_public_gateway_is_asked_for_one_file_a_station(public) -> None:
    public.get(
        f"{GATEWAY_URL}/data/observations/metar/stations/XBRK.TXT", body=GATEWAY_METAR, content_type="text/plain"
    )
    assert service().gateway("metar", ["XBRK"]).report.returned == ("XBRK",)


def test_a_certificate_that_is_refused_is_said_at_once(public) -> None:
    """Asking again would not help, and an answer of whoever stands in between must not be read."""
    waits: list[float] = []
    public.get(METAR_URL, body=requests.exceptions.SSLError("certificate verify failed: self-signed certificate"))
    with pytest.raises(FetchError, match=r"could not prove who it is \(the certificate was refused\).*--offline"):
        service(waits).metars(["XBRK"])
    assert (len(public.calls), waits) == (1, [])


@pytest.mark.parametrize(
    "fault",
    [
        requests.exceptions.ConnectionError("Name or service not known"),
        requests.exceptions.ConnectTimeout("no answer in 3 s"),
        requests.exceptions.ReadTimeout("silent for 10 s"),
        requests.exceptions.ProxyError("proxy refused"),
    ],
    ids=lambda fault: type(fault).__name__,
)
def test_a_fault_that_may_pass_is_tried_three_times_and_then_said(public, fault) -> None:
    waits: list[float] = []
    public.get(METAR_URL, body=fault)
    with pytest.raises(FetchError, match=r"could not be reached.*--offline serves the reports already kept"):
        service(waits).metars(["XBRK"])
    assert len(public.calls) == 3
    assert waits == [0.5, 1.0]


def test_a_fault_that_passed_is_not_said(public) -> None:
    public.get(METAR_URL, body=requests.exceptions.ConnectionError("reset"))
    public.get(METAR_URL, body=METARS, content_type=JSON)
    fetched = service().metars(["XBRK", "XHLW", "XSND"])
    assert fetched.report.faults == []
    assert set(fetched.reports) == {"XBRK", "XHLW", "XSND"}


def test_a_redirect_off_https_is_not_followed(public) -> None:
    """Else whoever answers first could have the reports read in the clear."""
    public.get(METAR_URL, status=301, headers={"Location": METAR_URL.replace("https:", "http:")})
    with pytest.raises(FetchError, match="sent us on to another address"):
        service().metars(["XBRK"])
    assert len(public.calls) == 1


def test_a_proxy_that_refuses_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HTTP_PROXY", unused_url())
    monkeypatch.setenv("NO_PROXY", "")
    monkeypatch.delenv("http_proxy", raising=False)
    monkeypatch.delenv("no_proxy", raising=False)
    asks = Service("http://127.0.0.2", "http://127.0.0.2", attempts=1)
    with pytest.raises(FetchError, match="the proxy set on this machine: the connection was refused"):
        asks.metars(["XBRK"])


def test_a_certificate_file_that_is_gone_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("REQUESTS_CA_BUNDLE", "/no/such/bundle.pem")
    asks = Service("https://127.0.0.1:9", "https://127.0.0.1:9", attempts=1)
    with pytest.raises(FetchError, match=r"could not be asked .*bundle.* Check REQUESTS_CA_BUNDLE"):
        asks.metars(["XBRK"])


def test_what_requests_cannot_send_is_a_sentence(public) -> None:
    public.get(METAR_URL, body=requests.exceptions.InvalidURL("no host"))
    with pytest.raises(FetchError, match=r"could not be asked \(InvalidURL\)"):
        service().metars(["XBRK"])
