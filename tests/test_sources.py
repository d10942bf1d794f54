"""Four ways to come by reports, and the sentence for each thing that stands in for another."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.fetch import Service, cross_check
from advisor.reports.sources import (
    LIVE,
    OFFLINE,
    TEXT,
    Gathered,
    aloft_region,
    gather,
)
from advisor.reports.store import Store
from advisor.words import find_approval_words
from tests.loopback import Asked, Loopback, Reply, unused_url

HTTP = Path(__file__).resolve().parent.parent / "fixtures" / "http"
NOW = datetime(2026, 4, 25, 13, 5, tzinfo=UTC)
ROUND = ("XBRK", "XHLW", "XSND")
LOW = (("us", "low", "06"),)
A = "METAR XBRK 251253Z 24011KT 10SM CLR 12/03 A2992"


def answer(asked: Asked) -> Reply:
    if asked.path == "/api/data/windtemp":
        return Reply((HTTP / "windtemp_us_low_06.txt").read_text(), content_type="text/plain")
    name = "taf.json" if asked.path.endswith("taf") else "metar_since_2025_09.json"
    rows = json.loads((HTTP / name).read_text())
    kept = [r for r in rows if any(i in r.get("rawOb", r.get("rawTAF")) for i in asked.ids)]
    return Reply(json.dumps(kept)) if kept else Reply(status=204, content_type="")


def gateway_only(asked: Asked) -> Reply:
    if asked.path.startswith("/api/"):
        return Reply("", 503)
    kind = "metar" if "observations" in asked.path else "taf"
    if "XBRK" in asked.path:
        return Reply((HTTP / f"gateway_{kind}_XBRK.TXT").read_text(), content_type="text/plain")
    return Reply("", 404)


def live(url: str, store: Store | None, ids: tuple[str, ...] = ROUND, now: datetime = NOW, **more: object) -> Gathered:
    service = Service(url, url, attempts=1, sleep=lambda _: None)
    return gather(ids, now=now, mode=LIVE, store=store, service=service, **more)  # type: ignore[arg-type]


# -- live ---------------------------------------------------------------------------------------------------


def test_live_serves_and_keeps(store: Store):
    with Loopback(answer) as server:
        got = live(server.url, store, aloft=LOW)
    assert list(got.stations) == list(ROUND)
    brook = got.stations["XBRK"]
    assert [m.raw[11:18] for m in brook.metars] == ["251253Z", "251153Z"]
    assert brook.taf is not None
    assert brook.taf.raw.startswith("TAF XBRK 251120Z")
    assert got.stations["XHLW"].taf is None
    assert [a.station for a in got.aloft] == ["us-low-06"]
    assert got.notes == ()
    assert cross_check(brook.record, decode_metar(brook.metars[0].raw, NOW)) == []
    assert {i: len(store.history(i, NOW - timedelta(hours=6))) for i in ROUND} == {
        "XBRK": 2,
        "XHLW": 1,
        "XSND": 1,
    }
    assert store.latest_bulletin("us-low-06") is not None


def test_live_without_a_store():
    with Loopback(answer) as server:
        got = live(server.url, None)
    assert len(got.stations["XBRK"].metars) == 2
    assert got.notes == ()


def test_within_a_minute_the_service_is_not_asked_again(store: Store):
    with Loopback(answer) as server:
        first = live(server.url, store, aloft=LOW)
        asked = len(server.asked)
        again = live(server.url, store, now=NOW + timedelta(seconds=59), aloft=LOW)
        assert len(server.asked) == asked
        live(server.url, store, now=NOW + timedelta(seconds=61), aloft=LOW)
        assert len(server.asked) > asked
    assert {i: s.metars[0].raw for i, s in again.stations.items()} == {
        i: s.metars[0].raw for i, s in first.stations.items()
    }
    assert again.stations["XBRK"].taf is not None
    assert again.notes == ()


def test_a_report_had_from_both_is_served_once(store: Store):
    """The gateway leaves out the word in front that the service writes: it is one report all the same."""
    with Loopback(gateway_only) as server:
        live(server.url, store, ("XBRK",))
    same = (HTTP / "gateway_metar_XBRK.TXT").read_text().splitlines()[1]
    rows = [{"icaoId": "XBRK", "rawOb": f"METAR {same}"}]
    with Loopback(Reply(json.dumps(rows))) as server:
        got = live(server.url, store, ("XBRK",), now=NOW + timedelta(minutes=5))
    (only,) = got.stations["XBRK"].metars
    assert (only.raw, only.source) == (f"METAR {same}", "service")


def test_the_trend_comes_from_the_store_too(store: Store):
    early = [(f"METAR XBRK 25{h:02d}53Z 22006KT 10SM CLR 05/03 A2995", None) for h in (6, 7, 8, 9)]
    store.put(early, now=NOW - timedelta(hours=3), source="service")
    with Loopback(answer) as server:
        got = live(server.url, store, ("XBRK",))
    assert [m.time.hour for m in got.stations["XBRK"].metars if m.time] == [12, 11, 9, 8, 7], "six hours back"


def test_the_gateway_stands_in_and_it_is_said(store: Store):
    with Loopback(gateway_only) as server:
        got = live(server.url, store)
    paths = [a.path for a in server.asked]
    assert [p for p in paths if p.startswith("/api/")] == ["/api/data/metar"], "down once, asked once"
    assert got.stations["XBRK"].metars[0].source == "gateway"
    assert got.stations["XHLW"].metars == ()
    text = "\n".join(got.notes)
    assert "in trouble (status 503)" in got.notes[0]
    assert "METAR from the gateway's text files instead: XBRK of 25 1253Z, 12 minutes old." in text
    assert "TAF from the gateway's text files instead: XBRK of 25 1120Z, 105 minutes old." in text
    assert "No METAR to use of XHLW, XSND." in text


def test_the_gateway_stands_in_when_the_service_renames_its_fields(store: Store):
    def renamed(asked: Asked) -> Reply:
        if asked.path == "/api/data/metar":
            return Reply(json.dumps([{"stationId": "XBRK", "raw": A}]))
        return gateway_only(asked)

    with Loopback(renamed) as server:
        got = live(server.url, store, ("XBRK",))
    assert got.stations["XBRK"].metars[0].source == "gateway"
    assert "held no raw text" in got.notes[0]
    assert "METAR from the gateway's text files instead: XBRK" in "\n".join(got.notes)


def test_the_last_good_report_survives_and_its_age_is_its_own(store: Store):
    with Loopback(answer) as server:
        live(server.url, store, aloft=LOW)
    later = NOW + timedelta(hours=2)
    got = live(unused_url(), store, now=later, aloft=LOW)
    assert got.stations["XBRK"].metars[0].raw.startswith("METAR XBRK 251253Z")
    assert got.stations["XBRK"].taf is not None
    assert len(got.aloft) == 1
    text = "\n".join(got.notes)
    assert "the connection was refused" in got.notes[0]
    assert (
        "METAR from the store instead: XHLW of 25 1235Z, 2 h 30 min old; XSND of 25 1250Z, 2 h 15 min "
        "old; XBRK of 25 1253Z, 2 h 12 min old."
    ) in text
    assert "TAF from the store instead: XBRK of 25 1120Z, 3 h 45 min old." in text
    assert "Winds aloft from the store instead: us-low-06 of 25 1200Z, 3 h 05 min old." in text
    assert "No TAF to use of XHLW, XSND." in text


@pytest.mark.parametrize(
    "reply",
    [
        Reply("", 500),
        Reply("", 429, headers={"Retry-After": "60"}),
        Reply("[{", 200),
        Reply("<html>", 200, "text/html"),
        Reply("{}", 200),
        Reply("no", 403),
        Reply("", 404),
        Reply("", 302, headers={"Location": "http://192.0.2.1/"}),
        Reply(b"\xff" * 50),
        Reply(b"x" * 5_000_000),
        Reply("[1, 2, 3]"),
        Reply(slam=True),
    ],
    ids=lambda r: f"{r.status}-{r.body[:6]!r}",
)
def test_whatever_happens_the_last_good_report_is_served_and_something_is_said(store: Store, reply: Reply):
    with Loopback(answer) as server:
        live(server.url, store, aloft=LOW)
    with Loopback(reply) as server:
        got = live(server.url, store, now=NOW + timedelta(minutes=30), aloft=LOW)
    assert {i for i, s in got.stations.items() if s.metars} == set(ROUND)
    assert got.stations["XBRK"].taf is not None
    assert len(got.aloft) == 1
    assert got.notes
    for note in got.notes:
        assert note.isprintable()
        assert note.endswith(".")
        assert not find_approval_words(note)


def test_a_store_that_cannot_be_written_costs_a_sentence_only(tmp_path: Path):
    (tmp_path / "file").write_text("in the way")
    with Loopback(answer) as server:
        got = live(server.url, Store(tmp_path / "file" / "store"))
    assert len(got.stations["XBRK"].metars) == 2
    assert [n for n in got.notes if "could not be written" in n]


def test_a_report_too_old_is_not_served_and_is_said(store: Store):
    """After half a month the day in a raw report would be read as another month's."""
    old = datetime(2026, 3, 25, 12, 53, tzinfo=UTC)
    store.put([("METAR XBRK 251253Z 24011KT 10SM CLR 12/03 A2992", old)], now=old, source="service")
    for got in (live(unused_url(), store, ("XBRK",)), gather(["XBRK"], now=NOW, mode=OFFLINE, store=store)):
        assert got.stations["XBRK"].metars == ()
        assert "No METAR to use of XBRK. Kept but too old to be used: XBRK 2026-03-25 1253Z." in got.notes


def test_an_old_file_at_the_gateway_is_not_served(store: Store):
    def forgotten(asked: Asked) -> Reply:
        if asked.path.startswith("/api/"):
            return Reply("", 503)
        return Reply("2025/09/25 12:53\nXBRK 251253Z 24011KT 10SM CLR 12/03 A2992", content_type="text/plain")

    with Loopback(forgotten) as server:
        got = live(server.url, store, ("XBRK",))
    assert got.stations["XBRK"].metars == ()
    assert "Too old to be used: XBRK 2025-09-25 1253Z." in got.notes


def test_reports_from_the_future_are_not_used_and_the_clock_is_named(store: Store):
    with Loopback(answer) as server:
        got = live(server.url, store, ("XBRK",), now=NOW - timedelta(hours=3))
    assert got.stations["XBRK"].metars == ()
    assert "Reports of XBRK are timed after 25 1005Z and were not used. Check this machine's clock." in got.notes
    assert store.latest_metar("XBRK") is None


def test_a_quiet_station_is_served_with_its_age(store: Store):
    store.put([("METAR XBRK 250353Z 24011KT 10SM CLR 12/03 A2992", None)], now=NOW, source="service")
    with Loopback(Reply("[]")) as server:
        got = live(server.url, store, ("XBRK",), now=NOW + timedelta(minutes=5))
    assert len(got.stations["XBRK"].metars) == 1
    assert got.notes == ("Nothing newer on file at the service: XBRK of 25 0353Z, 9 h 17 min old.",)


def test_many_stations_ask_for_the_newest_only(store: Store):
    with Loopback(Reply("[]")) as server:
        live(server.url, store, tuple(f"X{n:03d}" for n in range(101)))
    assert {a.query.get("hours") for a in server.asked if a.path.endswith("metar")} == {"1.5"}


# -- from the store only ------------------------------------------------------------------------------------


def test_offline_asks_nobody_and_says_how_old(store: Store):
    with Loopback(answer) as server:
        live(server.url, store, aloft=LOW)
        asked = len(server.asked)
        got = gather(ROUND, now=NOW + timedelta(hours=1), mode=OFFLINE, store=store, aloft=LOW)
        assert len(server.asked) == asked
    assert [len(s.metars) for s in got.stations.values()] == [2, 1, 1]
    assert len(got.aloft) == 1
    assert got.notes == (
        "From the store only (--offline): XHLW of 25 1235Z, 90 minutes old; XSND of 25 1250Z, 75 minutes "
        "old; XBRK of 25 1253Z, 72 minutes old.",
    )


def test_offline_with_nothing_kept(store: Store):
    got = gather(["XBRK"], now=NOW, mode=OFFLINE, store=store, aloft=LOW)
    assert got.stations["XBRK"].latest is None
    assert got.notes == (
        "No METAR to use of XBRK.",
        "No winds-aloft bulletin us-low-06 recent enough is kept.",
    )


def test_offline_at_an_earlier_time_shows_what_was_known_then(store: Store):
    with Loopback(answer) as server:
        live(server.url, store)
    got = gather(["XBRK"], now=datetime(2026, 4, 25, 12, 0, tzinfo=UTC), mode=OFFLINE, store=store)
    assert [m.raw[11:18] for m in got.stations["XBRK"].metars] == ["251153Z"]


# -- wrong calls --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "call",
    [
        lambda: gather(["XBRK"], now=None, mode=TEXT, text=A),
        lambda: gather(["XBRK"], now=datetime(2026, 4, 25), mode=TEXT, text=A),
        lambda: gather(["XBRK"], now=NOW, mode=LIVE),
        lambda: gather(["XBRK"], now=NOW, mode=OFFLINE),
        lambda: gather(["XBRK"], now=NOW, mode="magic"),
        lambda: gather(["KM"], now=NOW, mode=TEXT, text=A),
    ],
)
def test_a_wrong_call_is_an_error_of_our_own(call: Callable[[], Gathered]):
    with pytest.raises(AdvisorError):
        call()


@pytest.mark.parametrize(
    ("station", "region"),
    [
        ("KMCI", "us"),
        ("PANC", "alaska"),
        ("PHNL", "hawaii"),
        ("PGUM", "other_pac"),
        ("EGLL", None),
        ("XBRK", None),
    ],
)
def test_the_region_of_a_station(station: str, region: str | None):
    assert aloft_region(station) == region


def test_no_note_repeats_itself(store: Store):
    got = live(unused_url(), store, aloft=(("us", "low", "06"), ("us", "low", "12")))
    assert len(set(got.notes)) == len(got.notes)
    assert sum(bool(re.search("could not be reached", n)) for n in got.notes) == 2, "the service and the gateway"
