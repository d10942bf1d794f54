"""Stations asked in batches: answers cut short, halves asked again, one bad answer among good ones."""

from __future__ import annotations

import pytest

from tests.loopback import Asked, Loopback, Reply
from tests.service_answers import body_of, made

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
        "stations left out were asked for again."
    ]


def test_a_full_answer_is_asked_again_in_halves():
    def at_most_400(asked: Asked) -> Reply:
        return Reply(body_of(rows_for(asked.ids, each=8)[:400]))

    with Loopback(at_most_400) as server:
        fetched = made(server.url).service.metars(MANY[:80], 1.0)
    assert [len(a.ids) for a in server.asked] == [80, 40, 40]
    assert {len(found) for found in fetched.reports.values()} == {8}, "no history lost, no report twice"
    assert fetched.report.cut_short == 1


def test_halves_asked_again_put_off_the_batches_that_wait_and_drop_none():
    def at_most_400(asked: Asked) -> Reply:
        return Reply(body_of(rows_for(asked.ids, each=8)[:400]))

    with Loopback(at_most_400) as server:
        fetched = made(server.url).service.metars(MANY[:120], 1.0)
    assert [len(a.ids) for a in server.asked] == [80, 40, 40, 40]
    assert [i for a in server.asked[1:] for i in a.ids] == MANY[:120]
    assert fetched.report.missing == ()


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
