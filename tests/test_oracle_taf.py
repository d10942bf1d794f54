"""TAF decoding against two other decoders: change words, chances, hours and winds of every group.

Every disagreement must be of a kind in ``EXPLAINED``; each kind carries an example that must still disagree,
so a kind nobody needs any more fails as stale. Over the published and made-up forecasts, and over real ones
with ``--reports DIR``.
"""

from __future__ import annotations

import json
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import DecodeError
from advisor.reports.decode_taf import decode_taf
from advisor.reports.types import Taf
from tests.test_taf_corpus import sample

pytestmark = pytest.mark.oracle

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 4, 25, 12, 0, tzinfo=UTC)
HEAD = "TAF XBRK 251120Z 2512/2612 18008KT P6SM SKC"
_TO_KT = {"KT": 1.0, "kt": 1.0, "MPS": 3600 / 1852, "m/s": 3600 / 1852, "KM/H": 1 / 1.852, "km/h": 1 / 1.852}
Groups = list[tuple[Any, ...]]


@dataclass(frozen=True)
class Explained:
    """One kind of disagreement: whose, when it may occur, why we are right, and an example."""

    oracle: str
    name: str
    applies: Callable[[str, Taf | None], bool]
    why: str
    example: str


def _empty(raw: str, taf: Taf | None) -> bool:
    return taf is not None and (taf.nil or taf.cancelled)


def _damaged(raw: str, taf: Taf | None) -> bool:
    return taf is not None and bool(taf.unreliable)


def _two(raw: str, taf: Taf | None) -> bool:
    return taf is not None and any(tail.startswith(taf.station) for tail in taf.not_understood)


def _pattern(pattern: str) -> Callable[[str, Taf | None], bool]:
    compiled = re.compile(pattern)
    return lambda raw, taf: compiled.search(raw) is not None


def _refused(raw: str, taf: Taf | None) -> bool:
    return taf is None


TWO = f"{HEAD} XBRK 250520Z 2506/2606 24030KT P6SM SKC"
DAMAGED = f"{HEAD} FM256300 24020KT P6SM SKC"
DAYLESS = "TAF XBRK 251120Z 251212 18008KT P6SM SKC FM1500 24010KT P6SM SKC"
NOTE = f"{HEAD} TEMPO 2514/2516 3SM BR AMD NOT SKED AFT 240200Z"
REMARK = f"{HEAD} RMK NXT FCST BY 251800Z FM251500 24010KT P6SM SKC"
NO_STATION = "TAF FM180000 32005KT P6SM SCT050"
WIND_AFTER = f"{HEAD} WND 24020KT AFT 2515"
NIL = "TAF XBRK 251120Z NIL"
_dayless = _pattern(r"Z (\d{6}|\d{4}) |TAF \d{6} |TAF (AMD )?[A-Z]{4} (AMD )?\d{6} (?!\d{4}/)")
_no_z = _pattern(r"TAF (AMD )?[A-Z]{4} \d{6} \d{4}/")
_wind_after = _pattern(r"\bWND \d{5}(G\d\d)?KT AFTR? ")
_high_wind = _pattern(r"\b\d{4}FT WIND ")
_inter = _pattern(r"\bINTER\b")
_note = _pattern(r"\b(AMD|AMDS|LAST|RMK)\b.* \d{5,6}Z?\b")
_minutes = _pattern(r"\bFM\d{4}(?!00)\d\d\b")
_remark = _pattern(r"\bRMK\b.* (FM\d|TEMPO|BECMG|PROB)")
_wordless = _pattern(r"^(?!TAF )")

EXPLAINED = (
    Explained("mivek", "no content", _empty, "raises on NIL; gives CNL a period", NIL),
    Explained("mivek", "damaged hours", _damaged, "places them, or raises", DAMAGED),
    Explained("mivek", "two forecasts", _two, "reads the second as more of the first", TWO),
    Explained("mivek", "INTER", _inter, "does not know the word", f"{HEAD} INTER 2514/2516 4000 SHRA"),
    Explained("mivek", "hours without a day", _dayless, "raises", DAYLESS),
    Explained("mivek", "hours in a note", _note, "reads them as a wind", NOTE),
    Explained("mivek", "no station", _refused, "decodes without one, or raises", NO_STATION),
    Explained("mivek", "no word TAF", _wordless, "raises", HEAD.removeprefix("TAF ")),
    Explained("mivek", "wind after an hour", _wind_after, "reads it as the only wind", WIND_AFTER),
    Explained("mivek", "wind at a height", _high_wind, "reads it as the wind", f"{HEAD} 2000FT WIND 24030KT"),
    Explained("avwx", "wind after an hour", _wind_after, "knows one wind a group", WIND_AFTER),
    Explained("avwx", "issue time without Z", _no_z, "gives no times", HEAD.replace("Z 2512", " 2512")),
    Explained("avwx", "no content", _empty, "gives NIL and CNL a period", NIL),
    Explained("avwx", "damaged hours", _damaged, "places them, or reads them as a wind", DAMAGED),
    Explained("avwx", "two forecasts", _two, "reads the second as more of the first", TWO),
    Explained("avwx", "minutes", _minutes, "drops them", f"{HEAD} FM251530 24010KT P6SM SKC"),
    Explained("avwx", "hours without a day", _dayless, "gives no times", DAYLESS),
    Explained("avwx", "change after a remark", _remark, "stops at RMK", REMARK),
    Explained("avwx", "no station", _refused, "gives nothing", NO_STATION),
)


def ours(raw: str, now: datetime) -> tuple[Taf | None, Groups]:
    try:
        taf = decode_taf(raw, now)
    except DecodeError:
        return None, []
    groups: Groups = []
    for period in taf.periods:
        wind = period.wind
        read = None if wind is None or not wind.known else (wind.from_deg_true, wind.speed_kt, wind.gust_kt)
        end = None if period.change in ("BASE", "FM") else period.end
        groups.append((period.change, period.probability, period.start, end, read))
    return taf, groups


def by_mivek(raw: str, now: datetime) -> Groups:
    """Its hours are day and hour numbers; they are compared as printed, DDHHMM."""
    from metar_taf_parser.parser.parser import TAFParser

    def wind(found: Any) -> tuple[Any, ...] | None:
        if found is None:
            return None
        factor = _TO_KT[found.unit]
        gust = None if found.gust is None else int(found.gust * factor + 0.5)
        return found.degrees or None, int(found.speed * factor + 0.5), gust

    taf = TAFParser().parse(raw)
    groups: Groups = [
        ("BASE", None, f"{taf.validity.start_day:02d}{taf.validity.start_hour:02d}00", None, wind(taf.wind))
    ]
    for trend in taf.trends:
        hours = trend.validity
        minutes = getattr(hours, "start_minutes", 0) or 0
        start = f"{hours.start_day:02d}{hours.start_hour:02d}{minutes:02d}"
        steers = trend.type.name == "FM"
        end = None if steers else f"{hours.end_day:02d}{hours.end_hour:02d}00"
        groups.append((trend.type.name, trend.probability, start, end, wind(trend.wind)))
    return groups


def by_avwx(raw: str, now: datetime) -> Groups:
    import avwx

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        # it refuses identifiers of no country (our made-up fields begin with X) and picks units by country
        letter = "K" if "SM" in raw else "E"
        known = re.sub(r"\bX(BRK|SND|HLW)\b", rf"{letter}\1", raw)
        taf = avwx.Taf.from_report(known, issued=now.date())
    factor = _TO_KT[taf.units.wind_speed]

    def knots(number: Any) -> int | None:
        return None if number is None or number.value is None else int(number.value * factor + 0.5)

    groups: Groups = []
    for index, line in enumerate(taf.data.forecast):
        chance = None if line.probability is None else line.probability.value
        word = {"FROM": "FM", "INTER": "TEMPO"}.get(line.type, line.type)
        word = "BASE" if index == 0 else "PROB" if word == "FM" and chance else word
        speed = knots(line.wind_speed)
        direction = None if line.wind_direction is None or not speed else line.wind_direction.value
        wind = None if speed is None else (direction, speed, knots(line.wind_gust))
        start, end = line.start_time.dt, None
        if word == "BECMG":
            start, end = line.transition_start.dt, start
        elif word not in ("BASE", "FM"):
            end = line.end_time.dt
        groups.append((word, chance, start, end, wind))
    return groups


def as_printed(groups: Groups) -> Groups:
    """Times as DDHHMM."""

    def stamp(time: datetime | None) -> str | None:
        return None if time is None else f"{time:%d%H%M}"

    return [(word, chance, stamp(start), stamp(end), wind) for word, chance, start, end, wind in groups]


def disagrees(oracle: str, raw: str, now: datetime) -> tuple[Taf | None, bool]:
    taf, mine = ours(raw, now)
    try:
        if oracle == "avwx":
            return taf, by_avwx(raw, now if taf is None else taf.issued_at) != mine
        theirs = [(w, c, _no_24(s), _no_24(e), wind) for w, c, s, e, wind in by_mivek(raw, now)]
        return taf, theirs != [(w, c, _no_24(s), _no_24(e), wind) for w, c, s, e, wind in as_printed(mine)]
    except Exception:  # an oracle may raise anything at all; that too is a disagreement to be explained
        return taf, True


def _no_24(stamp: str | None) -> str | None:
    """Hour 24 of one day and hour 00 of the next compare equal: both lose their day."""
    return None if stamp is None else "midnight" if stamp[2:] in ("0000", "2400") else stamp


def published() -> list[tuple[str, datetime]]:
    cases = []
    for name in ("published.json", "made_up.json"):
        for case in json.loads((ROOT / "fixtures/taf" / name).read_text()):
            cases.append((case["text"].rstrip("="), datetime.fromisoformat(case["now"])))
    return cases


@pytest.mark.parametrize("entry", EXPLAINED, ids=lambda entry: f"{entry.oracle}: {entry.name}")
def test_no_explanation_is_stale(entry: Explained) -> None:
    taf, differ = disagrees(entry.oracle, entry.example, NOW)
    assert entry.applies(entry.example, taf)
    assert differ, f"{entry.oracle} now agrees: {entry.why}"


def check(oracle: str, cases: list[tuple[str, datetime]]) -> tuple[int, dict[str, int]]:
    agreed = 0
    explained: dict[str, int] = {}
    unexplained = []
    for raw, now in cases:
        taf, differ = disagrees(oracle, raw, now)
        if not differ:
            agreed += 1
            continue
        names = [e.name for e in EXPLAINED if e.oracle == oracle and e.applies(raw, taf)]
        if not names:
            unexplained.append(raw)
        for name in names[:1]:
            explained[name] = explained.get(name, 0) + 1
    assert unexplained == []
    return agreed, explained


@pytest.mark.parametrize("oracle", ["mivek", "avwx"])
def test_published_and_made_up_forecasts(oracle: str) -> None:
    cases = published()
    agreed, _ = check(oracle, cases)
    assert agreed >= len(cases) // 2


@pytest.mark.parametrize("oracle", ["mivek", "avwx"])
def test_real_forecasts(oracle: str, reports_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cases = sample(reports_dir)
    agreed, explained = check(oracle, cases)
    with capsys.disabled():
        print(f"\nTAF against {oracle}: {agreed} of {len(cases)} agree; explained {explained}")
    assert agreed >= 0.9 * len(cases)
