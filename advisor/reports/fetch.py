"""Fetching raw reports from the public aviation weather service, and from the national gateway's text files.

The only module that talks to the network. Everything a server can do wrong ends in a ``FetchError`` or, when
other stations did answer, in a sentence of the ``FetchReport``; the texts themselves are never changed.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Mapping
from contextlib import closing
from typing import TYPE_CHECKING, Any
from urllib.parse import urljoin, urlsplit

from advisor import __version__
from advisor.errors import FetchError
from advisor.records import dataclass
from advisor.reports.answers import (
    Fetched,
    FetchReport,
    RawReport,
    gateway_report,
    newest_first,
    quote,
    reports_of,
    rows_of,
    text_of,
)
from advisor.reports.batches import RECORD_LIMIT, Reader, collect
from advisor.reports.crosscheck import cross_check
from advisor.reports.faults import PassingFault, cause, refusal, retry_after_s
from advisor.reports.gathered import named
from advisor.reports.identity import METAR, TAF, WINDS_ALOFT, clean_lines, station_id

if TYPE_CHECKING:
    import requests

__all__ = ["ALOFT_REGIONS", "FetchReport", "Fetched", "RawReport", "Service", "cross_check"]

SERVICE_URL = "https://aviationweather.gov"
GATEWAY_URL = "https://tgftp.nws.noaa.gov"
#: A station that reports every 20 minutes, with a little to spare.
RECORDS_PER_HOUR = 3.3
MAX_BATCH = 80
#: Longest wait a server may ask for that we sit out, seconds; past it the user decides when to try again.
LONGEST_WAIT_S = 20.0
#: Most text files asked of the gateway in one go: it serves one station a file.
MOST_GATEWAY_FILES = 40
MOST_FAULTS_SAID = 4
ALOFT_REGIONS = ("us", "bos", "mia", "chi", "dfw", "slc", "sfo", "alaska", "hawaii", "other_pac")
ALOFT_CYCLES = ("06", "12", "24")
_GATEWAY_FOLDER = {METAR: "observations/metar", TAF: "forecasts/taf"}


@dataclass(frozen=True, slots=True)
class _Answer:
    status: int
    body: bytes = b""
    content_type: str = ""


class Service:
    """The weather service and its fallback.

    Parameters
    ----------
    base_url, gateway_url : str, optional
        Where to ask. By default ADVISOR_SERVICE_URL and ADVISOR_GATEWAY_URL when set, else the public ones.
    session : requests.Session, optional
        To share connections; made when first needed otherwise.
    timeout : tuple of float
        Seconds to connect, and to wait for the next piece of an answer.
    max_bytes : int
        Largest answer read, after decompression.
    attempts : int
        Tries a request in all.
    deadline_s : float
        Longest one answer may take to arrive: a server that drips bytes never trips ``timeout``.
    sleep : callable
        Takes seconds; for tests.
    contact : str, optional
        Address put in the User-Agent so that the service can reach whoever runs this; ADVISOR_CONTACT.
    """

    def __init__(
        self,
        base_url: str | None = None,
        gateway_url: str | None = None,
        session: requests.Session | None = None,
        timeout: tuple[float, float] = (3.0, 10.0),
        max_bytes: int = 4_000_000,
        *,
        attempts: int = 3,
        deadline_s: float = 45.0,
        sleep: Callable[[float], None] = time.sleep,
        contact: str | None = None,
    ) -> None:
        self.base_url = _web_address(base_url or os.environ.get("ADVISOR_SERVICE_URL") or SERVICE_URL)
        self.gateway_url = _web_address(gateway_url or os.environ.get("ADVISOR_GATEWAY_URL") or GATEWAY_URL)
        self.timeout, self.max_bytes = timeout, max_bytes
        self.attempts, self.deadline_s = max(1, attempts), deadline_s
        self._session, self._sleep = session, sleep
        contact = contact if contact is not None else os.environ.get("ADVISOR_CONTACT", "")
        who = "".join(c for c in contact if c.isascii() and c.isprintable())[:100]
        self.user_agent = f"practice-day-advisor/{__version__}" + (f" (+{who})" if who else "")

    def metars(self, ids: Iterable[str], hours: float = 6.0) -> Fetched:
        """METAR and SPECI of the last ``hours`` for each station.

        Raises UnknownStation for a malformed identifier, FetchError when no request succeeded.
        """
        batch = max(1, min(MAX_BATCH, int(RECORD_LIMIT / max(1.0, hours * RECORDS_PER_HOUR))))
        return self._reports("metar", METAR, ids, batch, {"format": "json", "hours": f"{hours:g}"})

    def tafs(self, ids: Iterable[str]) -> Fetched:
        """The forecast in force for each station that has one; raises as ``metars`` does."""
        return self._reports("taf", TAF, ids, MAX_BATCH, {"format": "json"})

    def winds_aloft(self, region: str = "us", level: str = "low", fcst: str = "06") -> Fetched:
        """One winds-aloft bulletin, under the key ``region-level-fcst``, lines as sent.

        Raises FetchError for a region, level or cycle the service does not have, and when nothing came.
        """
        if region not in ALOFT_REGIONS or level not in ("low", "high") or fcst not in ALOFT_CYCLES:
            raise FetchError(
                f"There is no winds-aloft bulletin {quote(f'{region} {level} {fcst}')}: regions are "
                f"{', '.join(ALOFT_REGIONS)}; levels low and high; cycles {', '.join(ALOFT_CYCLES)}."
            )
        key = f"{region}-{level}-{fcst}"
        query = {"region": region, "level": level, "fcst": fcst}
        what = f"The weather service ({urlsplit(self.base_url).hostname}, windtemp)"
        answer = self._get(f"{self.base_url}/api/data/windtemp", query, what)
        report = FetchReport((key,), bytes=len(answer.body), requests=1)
        text, report.faults = text_of(answer.body, answer.content_type, what)
        if not text.strip():
            return Fetched({}, report)
        text = clean_lines(text)
        if "DATA BASED ON" not in text:
            raise FetchError(f"{what} sent a text that is no winds-aloft bulletin ({quote(text[:60])}).")
        report.returned = (key,)
        return Fetched({key: (RawReport(key, WINDS_ALOFT, text),)}, report)

    def stations(self, ids: Iterable[str]) -> dict[str, Mapping[str, Any]]:
        """Station records by identifier, as the service words them (``airports.airport_record`` reads one)."""
        return self._records("stationinfo", ids)

    def airports(self, ids: Iterable[str]) -> dict[str, Mapping[str, Any]]:
        """As :meth:`stations`, with ``magdec`` and ``runways``."""
        return self._records("airport", ids)

    def gateway(self, kind: str, ids: Iterable[str]) -> Fetched:
        """Latest report of each station from the gateway's text files; ``kind`` is metar or taf.

        A station without a file is missing, not a fault. Raises UnknownStation for a malformed identifier;
        never FetchError: a fault is a sentence of the report.
        """
        wanted = tuple(dict.fromkeys(station_id(i) for i in ids))
        what = f"The gateway ({urlsplit(self.gateway_url).hostname})"
        report = FetchReport(wanted)
        found: dict[str, tuple[RawReport, ...]] = {}
        unreached: list[str] = list(wanted[MOST_GATEWAY_FILES:])
        if unreached:
            report.faults.append(
                f"{what} serves one station a file, so only the first {MOST_GATEWAY_FILES} were asked for; "
                f"not asked: {named(unreached)}."
            )
        for position, station in enumerate(wanted[:MOST_GATEWAY_FILES]):
            url = f"{self.gateway_url}/data/{_GATEWAY_FOLDER[kind]}/stations/{station}.TXT"
            try:
                answer = self._get(url, {}, what, absent_is_empty=True)
                report.requests += 1
                report.bytes += len(answer.body)
                text, odd = text_of(answer.body, answer.content_type, what)
                report.faults += odd
                if text.strip():
                    found[station] = (gateway_report(text, kind, station, what),)
            except PassingFault as error:  # the gateway is down: more tries would only make the user wait
                report.faults.append(str(error))
                report.down = True
                unreached = [*wanted[position:MOST_GATEWAY_FILES], *unreached]
                break
            except FetchError as error:
                report.faults.append(str(error))
                unreached.append(station)
        report.returned, report.unreached = tuple(found), tuple(unreached)
        report.faults = list(dict.fromkeys(report.faults))
        if len(report.faults) > MOST_FAULTS_SAID:
            more = len(report.faults) - MOST_FAULTS_SAID
            report.faults[MOST_FAULTS_SAID:] = [f"{what} sent {more} more files that could not be used."]
        return Fetched(found, report)

    # -- batches ---------------------------------------------------------------------------------------

    def _reports(self, endpoint: str, kind: str, ids: Iterable[str], batch: int, query: dict[str, str]) -> Fetched:
        what = f"The weather service ({urlsplit(self.base_url).hostname}, {endpoint})"

        def read(rows: list[Any], asked: tuple[str, ...]) -> tuple[dict[str, list[RawReport]], list[str]]:
            kept, faults = reports_of(rows, kind, asked, what)
            by_station: dict[str, list[RawReport]] = {}
            for each in kept:
                by_station.setdefault(each.station, []).append(each)
            return by_station, faults

        found, report = self._collect(endpoint, ids, batch, query, read, what)
        ordered = {station: newest_first(found[station]) for station in report.asked if station in found}
        return Fetched(ordered, report)

    def _records(self, endpoint: str, ids: Iterable[str]) -> dict[str, Mapping[str, Any]]:
        what = f"The weather service ({urlsplit(self.base_url).hostname}, {endpoint})"

        def read(rows: list[Any], asked: tuple[str, ...]) -> tuple[dict[str, list[Any]], list[str]]:
            return {r["icaoId"]: [r] for r in rows if isinstance(r, dict) and r.get("icaoId") in asked}, []

        found, _ = self._collect(endpoint, ids, MAX_BATCH, {"format": "json"}, read, what)
        return {station: rows[0] for station, rows in found.items()}

    def _collect(
        self, endpoint: str, ids: Iterable[str], size: int, query: dict[str, str], read: Reader, what: str
    ) -> tuple[dict[str, list[Any]], FetchReport]:
        url = f"{self.base_url}/api/data/{endpoint}"

        def ask(asked: tuple[str, ...]) -> tuple[int, list[Any], list[str]]:
            answer = self._get(url, query | {"ids": ",".join(asked)}, what)
            return (len(answer.body), *rows_of(answer.body, answer.content_type, what))

        return collect(tuple(dict.fromkeys(station_id(i) for i in ids)), size, ask, read, what)

    # -- one request -----------------------------------------------------------------------------------

    def _get(self, url: str, query: Mapping[str, str], what: str, *, absent_is_empty: bool = False) -> _Answer:
        """One GET with retries; raises FetchError."""
        for attempt in range(self.attempts):
            try:
                answer = self._once(url, query, what)
            except PassingFault as error:
                wait = error.wait_s if error.wait_s is not None else 0.5 * 2.0**attempt
                if attempt + 1 == self.attempts or wait > LONGEST_WAIT_S:
                    raise
                self._sleep(wait)
                continue
            if answer.status == 404 and absent_is_empty:
                return _Answer(204)
            if answer.status not in (200, 204):
                raise FetchError(refusal(answer.status, answer.body, answer.content_type, what))
            return answer
        raise AssertionError("unreachable: the last attempt returns or raises")

    def _once(self, url: str, query: Mapping[str, str], what: str) -> _Answer:
        import requests
        from urllib3.exceptions import HTTPError

        if self._session is None:
            self._session = requests.Session()
        headers = {"User-Agent": self.user_agent, "Accept": "application/json, text/plain;q=0.9"}
        came: list[
            requests.Response
        ] = []  # requests looks at a redirect before it hands the answer over, and may raise
        try:
            for _ in range(4):  # a redirect is followed on the same server only
                response = self._session.get(
                    url,
                    params=query,
                    headers=headers,
                    timeout=self.timeout,
                    stream=True,
                    allow_redirects=False,
                    hooks={"response": lambda answer, **_: came.append(answer)},
                )
                with closing(response):
                    if not response.is_redirect:
                        return self._read(response, what)
                    target = urljoin(response.url, response.headers["location"])
                if urlsplit(target)[:2] != urlsplit(url)[:2]:
                    raise FetchError(
                        f"{what} sent us on to another address ({quote(urlsplit(target).hostname)}), which was not "
                        "followed. A sign-in page of the network in use does this. If the service has moved, set "
                        "ADVISOR_SERVICE_URL."
                    )
                url, query = target, {}
            raise FetchError(f"{what} sent us round in a circle of redirects. Try again later.")
        except requests.exceptions.SSLError as error:
            raise FetchError(
                f"{what} could not prove who it is (the certificate was refused). A filtering network does this, "
                "or a wrong clock. Nothing was read; try another network, or --offline."
            ) from error
        except (requests.Timeout, requests.ConnectionError, HTTPError) as error:
            raise PassingFault(
                f"{what} could not be reached or did not finish its answer ({cause(error)}). Check the connection "
                "and try again in a minute; --offline serves the reports already kept."
            ) from error
        except requests.RequestException as error:
            raise FetchError(
                f"{what} could not be asked ({type(error).__name__}). Check its address, and the proxy set on this machine."
            ) from error
        except OSError as error:  # what requests asks of this machine before it asks anybody
            raise FetchError(
                f"{what} could not be asked ({quote(str(error))}). Check REQUESTS_CA_BUNDLE and CURL_CA_BUNDLE."
            ) from error
        except ValueError as error:
            for answer in came:
                answer.close()
            raise FetchError(f"{what} sent us on to an address that cannot be read. Try again later.") from error

    def _read(self, response: requests.Response, what: str) -> _Answer:
        """Status and body, within the size limit and the deadline."""
        status, content_type = response.status_code, response.headers.get("content-type", "").lower()
        if status == 429:
            wait_s = retry_after_s(response.headers)
            told = f"asks for {wait_s:.0f} seconds" if wait_s else "names no time; a minute is usual"
            raise PassingFault(f"{what} says we ask too often (status 429; it {told}). Wait, then try again.", wait_s)
        if status >= 500:
            raise PassingFault(
                f"{what} is in trouble (status {status}). Nothing is wrong with the question; try again in "
                "a few minutes.",
                retry_after_s(response.headers),
            )
        parts: list[bytes] = []
        started, size = time.monotonic(), 0
        declared = response.headers.get("content-length", "")
        # read1 returns what has come, so drips are seen
        read = getattr(response.raw, "read1", response.raw.read)
        while True:
            part = read(65_536, decode_content=True)
            size += len(part)
            if size > self.max_bytes or (declared.isdecimal() and int(declared) > self.max_bytes):
                raise FetchError(
                    f"{what} sent more than {self.max_bytes:,} bytes, more than any real answer; it was "
                    "not used. Ask for fewer stations, or try again later."
                )
            if time.monotonic() - started > self.deadline_s:
                raise PassingFault(f"{what} took over {self.deadline_s:g} seconds over one answer. Try again later.")
            if not part:
                return _Answer(status, b"".join(parts), content_type)
            parts.append(part)


def _web_address(url: str) -> str:
    try:
        parts = urlsplit(url)
        scheme, host, _ = parts.scheme, parts.hostname, parts.port
    except ValueError:  # brackets that do not close, a port past the last one
        scheme, host = "", None
    if scheme not in ("http", "https") or not host:
        raise FetchError(
            f"{quote(url)} is no web address for a weather service: write a whole one with https:// or http://."
        )
    return url.rstrip("/")
