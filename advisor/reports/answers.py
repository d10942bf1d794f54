"""What the weather services answer, turned into raw reports: no network here, and nothing trusted.

JSON is read for identity and time only. The raw text inside it is what gets decoded, so a wrong figure
in a JSON field can never reach an answer (``crosscheck`` compares the two).
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import UTC, datetime, timedelta
from typing import Any

from advisor.errors import FetchError
from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.gathered import named
from advisor.reports.identity import MAX_REPORT_CHARS, METAR, TAF, clean, identify, own_time, resolve

Row = Mapping[str, Any]

#: The text field of each endpoint.
_RAW_KEY = {METAR: "rawOb", TAF: "rawTAF"}
#: How far the service's time may lie from the time in the raw text before the report is refused. A wider
#: gap means one of the two belongs to another report. A bulletin time may precede its forecast by hours.
_TIME_GAP = {METAR: timedelta(hours=1), TAF: timedelta(hours=12)}
_DATE_LINE = pattern(r"\s*(\d{4})/(\d{2})/(\d{2}) (\d{2}):(\d{2})\s*\r?\n")


@dataclass(frozen=True, slots=True)
class RawReport:
    """One report as fetched: ``raw`` on one line (a winds-aloft bulletin keeps its lines), ``time`` its own
    UTC time with the month settled, or ``None`` when the service gave nothing to settle it by; ``record``
    is the JSON object it came in (empty from a text file)."""

    station: str
    kind: str
    raw: str
    time: datetime | None = None
    record: Row = field(default_factory=dict)


@dataclass(slots=True)
class FetchReport:
    """How a fetch went. ``missing`` are the ids asked for and not answered; ``unreached`` the part of them
    whose request failed, so that they may well have reports. ``faults`` are sentences for the user."""

    asked: tuple[str, ...]
    returned: tuple[str, ...] = ()
    unreached: tuple[str, ...] = ()
    faults: list[str] = field(default_factory=list)
    bytes: int = 0
    requests: int = 0
    answers: int = 0  # requests that brought a readable answer
    down: bool = False  # the server itself failed: asking it more would only make the user wait
    cut_short: int = 0  # answers that proved to be cut and were asked for again

    @property
    def missing(self) -> tuple[str, ...]:
        """Ids asked for and not returned, in the order asked."""
        got = set(self.returned)
        return tuple(i for i in self.asked if i not in got)


@dataclass(frozen=True, slots=True)
class Fetched:
    """Raw reports by station, newest first as far as times are known, and how the fetch went."""

    reports: dict[str, tuple[RawReport, ...]]
    report: FetchReport

    @property
    def texts(self) -> dict[str, tuple[str, ...]]:
        """Raw texts by station."""
        return {station: tuple(r.raw for r in found) for station, found in self.reports.items()}


def rows_of(body: bytes, content_type: str, what: str) -> tuple[list[Any], list[str]]:
    """The JSON array of an answer and sentences on what was odd about it.

    Parameters
    ----------
    body : bytes
        As received; an empty one is an empty array (the service answers "none" with no body at all).
    content_type : str
        The header, in small letters.
    what : str
        Who answered, for the messages.

    Raises
    ------
    FetchError
        For a web page, for JSON cut short, and for an error object.
    """
    text, odd = text_of(body, content_type, what)
    if not text.strip():
        return [], odd
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise FetchError(
            f"{what} sent an answer that is cut short or damaged ({_reason(error)}; {len(body):,} bytes). "
            "Nothing in it was used. Try again in a minute, or use --offline for the reports already kept."
        ) from error
    if isinstance(found, dict) and found.get("status") == "error":
        raise FetchError(f"{what} refused the question: {quote(found.get('error'))}. Check the identifiers.")
    if not isinstance(found, list):
        raise FetchError(
            f"{what} sent JSON of an unknown form (a {type(found).__name__}, not a list). The service may have "
            "changed; use --from-file or --offline meanwhile."
        )
    if "json" not in content_type:
        odd.append(f"{what} called its answer {quote(content_type or 'nothing')} although it is JSON; it was read.")
    return found, odd


def text_of(body: bytes, content_type: str, what: str) -> tuple[str, list[str]]:
    """The text of an answer and sentences on what was odd; a web page in place of data raises FetchError."""
    if "html" in content_type or body.lstrip()[:1] == b"<":
        raise FetchError(
            f"{what} sent a web page instead of data. A sign-in page of the network in use or maintenance at "
            "the service does this. Open a browser to check the connection, then try again."
        )
    try:
        return body.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        return body.decode("utf-8", "replace"), [
            f"{what} sent bytes that are not UTF-8 text; they were replaced, and a group holding one will "
            "show as not understood."
        ]


def reports_of(rows: Iterable[Any], kind: str, asked: Iterable[str], what: str) -> tuple[list[RawReport], list[str]]:
    """Raw reports in a METAR or TAF answer, and a sentence for each reason a row was dropped.

    The station is the one in the raw text. Rows of stations nobody asked for, rows whose identity or time
    contradicts their own text, and rows without a readable text are dropped, never guessed at.
    """
    wanted = set(asked)
    kept: list[RawReport] = []
    dropped: dict[str, list[str]] = {}
    for row in rows:
        report, reason = _report_of(row, kind, wanted)
        if report is not None:
            kept.append(report)
        else:
            label = row.get("icaoId") if isinstance(row, dict) else None
            dropped.setdefault(reason, []).append(clean(str(label or "a row"))[:12])
    faults = [
        f"{what} sent {len(ids)} {kind.upper()} {'row' if len(ids) == 1 else 'rows'} that {reason}; dropped "
        f"({named(ids)})."
        for reason, ids in dropped.items()
    ]
    return kept, faults


def _report_of(row: Any, kind: str, wanted: set[str]) -> tuple[RawReport | None, str]:
    """The report in one row, or ``None`` and why it was dropped."""
    raw = row.get(_RAW_KEY[kind]) if isinstance(row, dict) else None
    if not isinstance(raw, str) or not raw.strip():
        return None, "held no raw text"
    if len(raw) > MAX_REPORT_CHARS:
        return None, f"was longer than {MAX_REPORT_CHARS:,} characters"
    raw = clean(raw)
    who = identify(raw)
    if who is None or who.kind != kind:
        return None, f"did not start as a {kind.upper()} does"
    if who.station not in wanted:
        return None, "belonged to a station nobody asked for"
    if row.get("icaoId") not in (None, "", who.station):
        return None, "named one station and quoted another's report"
    hint = row_time(row, kind)
    time = own_time(raw, hint) if hint else None
    if hint and time and abs(time - hint) > _TIME_GAP[kind]:
        return None, "gave one time and quoted a report of another"
    return RawReport(who.station, kind, raw, time, row), ""


def row_time(row: Row, kind: str) -> datetime | None:
    """The service's time for a row: ``obsTime``, or ``issueTime`` of a forecast. ``reportTime`` is a nominal
    hour that can lie after the observation, so it is never used. ``None`` when absent or no time."""
    if kind == TAF and isinstance(row.get("issueTime"), str):
        try:
            stamp = datetime.fromisoformat(row["issueTime"])
        except ValueError:
            stamp = None
        if stamp is not None:
            return stamp.replace(tzinfo=UTC) if stamp.tzinfo is None else stamp.astimezone(UTC)
    seconds = row.get("obsTime" if kind == METAR else "validTimeFrom")
    if isinstance(seconds, bool) or not isinstance(seconds, (int, float, str)):
        return None
    try:
        return datetime.fromtimestamp(float(seconds), UTC)
    except (ValueError, OverflowError, OSError):
        return None


def gateway_report(text: str, kind: str, station: str, what: str) -> RawReport:
    """The report in one text file of the national gateway: a date line, then the report on one or more lines.

    Raises
    ------
    FetchError
        When there is no date line, the report is another station's, or the two times disagree.
    """
    line = _DATE_LINE.match(text)
    hint = None
    if line:
        year, month, day, hour, minute = (int(g) for g in line.groups())
        try:
            hint = datetime(year, month, day, hour, minute, tzinfo=UTC)
        except ValueError:
            hint = None
    if line is None or hint is None:
        raise FetchError(f"{what} sent a file without its date line ({quote(text[:40])}); it was not used.")
    raw = clean(text[line.end() :])
    who = identify(raw) if len(raw) <= MAX_REPORT_CHARS else None
    if who is None or who.kind != kind:
        raise FetchError(f"{what} sent a file that holds no {kind.upper()} ({quote(raw[:40])}); it was not used.")
    if who.station != station:
        raise FetchError(f"{what} sent the report of {who.station} for {station}; it was not used.")
    time = resolve(who.day_time, hint) if who.day_time else None
    if time is None or abs(time - hint) > _TIME_GAP[kind]:
        raise FetchError(
            f"{what} dated {station} {hint:%Y-%m-%d %H:%M}Z, but the report in the file says otherwise "
            f"({quote(raw[:40])}); it was not used."
        )
    return RawReport(station, kind, raw, time)


def newest_first(reports: list[RawReport]) -> tuple[RawReport, ...]:
    """Without repeats. Reports without a time keep their place at the end; a correction precedes what it
    corrects."""
    once = {report.raw: report for report in reports}.values()
    timed = [r for r in once if r.time is not None]
    timed.sort(key=lambda r: (r.time, " COR " in r.raw), reverse=True)
    return (*timed, *(r for r in once if r.time is None))


def number(value: Any) -> float | None:
    """A finite number, or ``None``: the service has sent figures as text before."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        return None
    try:
        found = float(value)
    except (ValueError, OverflowError):
        return None
    return found if found - found == 0.0 else None


def quote(value: object) -> str:
    """A short printable quotation of what a server said."""
    return f"“{clean(str(value))[:160]}”"


def _reason(error: Exception) -> str:
    if isinstance(error, json.JSONDecodeError):
        return f"{error.msg.lower()} at character {error.pos:,}"
    return "nested too deeply" if isinstance(error, RecursionError) else "not JSON"
