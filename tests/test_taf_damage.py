"""Damaged groups of a forecast are never placed by guessing, and every token is understood or listed."""

from __future__ import annotations

from typing import Any

import pytest

from tests.taf_texts import MADE_UP, PUBLISHED, at, body, decode, numbers


@pytest.mark.parametrize(
    ("group", "change", "start", "end"),
    [
        ("FM256300 24025G35KT 2SM TSRA", "FM", "2512", "2520"),
        ("FM25I500 24025G35KT 2SM", "FM", "2512", "2520"),
        ("FM1500 24025G35KT 2SM", "FM", "2512", "2520"),  # two digits lost
        ("FM301500 24025G35KT 2SM", "FM", "2512", "2520"),  # after the end
        ("FM251100 24025G35KT 2SM", "FM", "2512", "2520"),  # before the start
        ("BECMG 2514/2514 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 2516/2514 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 25I4/2516 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 24025G35KT", "BECMG", "2512", "2520"),
        ("BECMG 2514/2515 P6SM BECMG 2516/1 24025G35KT", "BECMG", "2514", "2520"),
        ("2514/2516 24025G35KT", "BECMG", "2512", "2520"),  # the change word is lost
        ("TEMPO 2SM TSRA", "TEMPO", "2512", "2520"),
        ("TEMPO 2525/2526 2SM TSRA", "TEMPO", "2512", "2520"),
        ("PROB40 3000 TSRA", "PROB", "2512", "2520"),
        ("PROB3O 2514/2516 3000", "PROB", "2514", "2516"),
    ],
)
def test_a_damaged_time_is_never_placed(group: str, change: str, start: str, end: str) -> None:
    taf = body(f"18008KT P6SM SKC {group} FM252000 27010KT P6SM SKC")
    if group.startswith("PROB3O"):  # the hours are good, only the chance is not
        assert taf.unreliable == ()
        assert taf.periods[1].not_understood == ("PROB3O",)
        assert taf.periods[1].probability is None
        return
    assert len(taf.unreliable) == 1
    damaged = taf.unreliable[0]
    assert (damaged.change, f"{damaged.start:%d%H}", f"{damaged.end:%d%H}") == (change, start, end)
    assert len(taf.not_understood) == 1
    assert f"unreliable from {start}00Z to {end}00Z" in taf.not_understood[0]
    assert damaged.raw in taf.not_understood[0]
    assert all(period.raw not in damaged.raw for period in taf.periods[1:])
    assert numbers(taf.periods[-1].wind) == [270, 10, None]


def test_from_groups_out_of_order_are_both_doubted() -> None:
    taf = body("18008KT P6SM SKC FM251900 20010KT P6SM SKC FM251500 24025KT P6SM SKC FM252200 27010KT P6SM SKC")
    assert [p.change for p in taf.periods] == ["BASE", "FM"]
    assert len(taf.unreliable) == 2
    assert {f"{p.start:%d%H}-{p.end:%d%H}" for p in taf.unreliable} == {"2512-2522"}
    again = body("18008KT FM251900 20010KT FM252200 27010KT FM251900 24025KT FM252000 25025KT FM252300 26010KT")
    assert [f"{p.start:%d%H}" for p in again.periods] == ["2512", "2523"]
    assert {f"{p.start:%d%H}-{p.end:%d%H}" for p in again.unreliable} == {"2512-2523"}


def test_a_second_forecast_is_listed_not_mixed_in() -> None:
    taf = body("18008KT P6SM SKC XBRK 250520Z 2506/2606 24030KT P6SM SKC FM250900 25035KT P6SM SKC")
    assert len(taf.periods) == 1
    assert taf.not_understood == ("XBRK 250520Z 2506/2606 24030KT P6SM SKC FM250900 25035KT P6SM SKC",)


def test_framing_is_taken_off() -> None:
    plain = decode(MADE_UP[0]["text"])
    for text in (
        "\x01\r\r\nFTXX01 XXXX 251120\r\r\n" + MADE_UP[0]["text"].replace(" FM", "\r\r\n     FM") + "=\r\r\n\x03",
        "2026/04/25 11:20\n" + MADE_UP[0]["text"] + "\n",
        "TAF " + MADE_UP[0]["text"].lower(),
    ):
        taf = decode(text)
        assert taf.periods == plain.periods
        assert taf.not_understood == ()


@pytest.mark.parametrize("case", PUBLISHED + MADE_UP, ids=lambda case: case["id"])
def test_every_token_is_understood_or_listed(case: dict[str, Any]) -> None:
    """A word put in anywhere after the head turns up in a period, a note or the forecast's own list."""
    now = at(case["now"])
    words = case["text"].rstrip("=").split()
    head = next(i for i, word in enumerate(words) if "/" in word) + 1
    for position in range(head, len(words) + 1):
        taf = decode(" ".join([*words[:position], "XQZJ7", *words[position:]]), now)
        seen = [*taf.not_understood, taf.limits_note or ""]
        seen += [token for period in (*taf.periods, *taf.unreliable) for token in period.not_understood]
        assert any("XQZJ7" in text for text in seen), position
