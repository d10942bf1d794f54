"""Who a raw text is from and when: just enough to fetch, keep and sort reports before they are decoded.

Nothing here judges the weather. The patterns look at the first few groups only, so a text of any length
costs the same.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from advisor.errors import UnknownStation
from advisor.patterns import pattern
from advisor.records import dataclass

METAR, TAF, WINDS_ALOFT = "metar", "taf", "winds-aloft"
#: Longest report kept, characters. The longest real TAF seen is under 2,000.
MAX_REPORT_CHARS = 6_000

_STATION = pattern(r"[A-Z][A-Z0-9]{3}")
_HEAD = pattern(
    r"(?:(?P<kind>METAR|SPECI|TAF)\s+)?(?:(?:TAF|METAR|AMD|COR|CC[A-X]|RTD)\s+){0,4}(?P<station>[A-Z][A-Z0-9]{3})\s+"
    r"(?:(?:COR|AMD|CC[A-Z]|RTD)\s+)?(?:(?P<issued>\d{6})Z?(?=\s|$))?\s*(?P<validity>\d{4}/\d{4}|\d{6}(?=\s))?"
)
_BASED_ON = pattern(r"DATA BASED ON (\d{6})Z")
_CONTROL = pattern(r"[\x00-\x1f\x7f-\x9f]")
_UNPRINTABLE = pattern(r"[^\x20-\x7e]")


@dataclass(frozen=True, slots=True)
class Identity:
    """What the head of a raw text says: ``kind`` (metar, taf or winds-aloft), ``station`` ("" for a
    bulletin) and ``day_time``, the six figures ddhhmm of its own time or ``None``."""

    kind: str
    station: str
    day_time: str | None


def station_id(text: str) -> str:
    """Four-character station identifier in capitals.

    Raises
    ------
    UnknownStation
        When the text does not have the form of an identifier; nothing is looked up here.
    """
    station = text.strip().upper()
    if not _STATION.fullmatch(station):
        shown = _UNPRINTABLE.sub("?", text[:20])
        raise UnknownStation(
            f"{shown!r} is not a station identifier: four capitals or figures starting with a letter are "
            "needed, such as KMCI or K2R2 (US three-character fields are written with a K in front)."
        )
    return station


def clean(text: str) -> str:
    """A report on one line: unprintable characters become ``?`` or a space, runs of space become one,
    and the closing ``=`` goes. Never raises."""
    return _UNPRINTABLE.sub("?", " ".join(_CONTROL.sub(" ", text).split())).rstrip("= ")


def clean_lines(text: str) -> str:
    """A bulletin whose columns carry meaning: lines and blanks stay, every other control character goes."""
    return "\n".join(_UNPRINTABLE.sub("", line) for line in text.expandtabs().splitlines()) + "\n"


def identify(raw: str) -> Identity | None:
    """Kind, station and own time of one raw text, or ``None`` when the head is none we know.

    Without a METAR, SPECI or TAF word in front, a text whose third group is a validity period
    (0112/0218) is a forecast and any other an observation.
    """
    based_on = _BASED_ON.search(raw[:400])
    if based_on:
        return Identity(WINDS_ALOFT, "", based_on.group(1))
    match = _HEAD.match(raw[:80])
    if match is None:
        return None
    word, issued, validity = match.group("kind", "issued", "validity")
    has_period = validity is not None and "/" in validity
    kind = TAF if word == "TAF" or (word is None and has_period) else METAR
    if issued is None and kind == TAF and has_period:
        issued = validity[:4] + "00"  # some forecasts carry no time of issue
    if issued is None and word is None:
        return None  # four letters and no time: prose, not a report
    return Identity(kind, match.group("station"), issued)


def resolve(day_time: str, near: datetime) -> datetime | None:
    """The UTC time ``ddhhmm`` nearest to ``near``; ``None`` for figures that are no time.

    A report does not carry its month, so a time more than about two weeks from ``near`` cannot be told
    from one in the next month: pass the best time known for it.
    """
    day, hour, minute = int(day_time[:2]), int(day_time[2:4]), int(day_time[4:6])
    if hour > 24 or minute > 59 or (hour == 24 and minute) or not 1 <= day <= 31:
        return None
    first = near.astimezone(UTC).replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    months = ((first - timedelta(days=1)).replace(day=1), first, (first + timedelta(days=32)).replace(day=1))
    times = [m + timedelta(days=day - 1, hours=hour, minutes=minute) for m in months]
    fitting = [t for m, t in zip(months, times, strict=True) if (m + timedelta(days=day - 1)).month == m.month]
    return min(fitting, key=lambda t: abs(t - near), default=None)


def own_time(raw: str, near: datetime) -> datetime | None:
    """The report's own time (observed, issued or based on), nearest to ``near``; ``None`` without one."""
    who = identify(raw)
    return None if who is None or who.day_time is None else resolve(who.day_time, near)
