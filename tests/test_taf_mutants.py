"""Nothing a text may do to the decoder of forecasts: mutants, spoilt winds, hostile text."""

from __future__ import annotations

import contextlib
import random
from itertools import count, pairwise
from typing import Any

import pytest

from advisor.errors import DecodeError
from advisor.reports.taf_timeline import timeline
from advisor.reports.types import Taf, TafPeriod
from advisor.wind import WindState
from tests.proportion import tries_at_two_sizes
from tests.taf_texts import MADE_UP, PUBLISHED, at, decode

_JUNK = "0123456789ABKTGSMPFNVR/ =+-\n\x00\x1eé²٣"


def mutate(text: str, rng: random.Random) -> str:
    for _ in range(rng.randint(1, 6)):
        spot = rng.randrange(len(text) + 1)
        kind = rng.randrange(5)
        if kind == 0:
            text = text[:spot] + rng.choice(_JUNK) + text[spot + 1 :]
        elif kind == 1:
            text = text[:spot] + text[spot + 1 :]
        elif kind == 2:
            text = text[:spot] + rng.choice(_JUNK) + text[spot:]
        else:
            words = text.split(" ")
            word = words.pop(rng.randrange(len(words)))
            if kind == 4:
                words.insert(rng.randrange(len(words) + 1), word)
            text = " ".join(words)
    return text


def check_mutants(texts: list[str], number: int, seed: int) -> int:
    """Decode mutants and return how many decoded; any exception but our own, or a hole in time, fails."""
    rng = random.Random(seed)
    decoded = 0
    for _ in range(number):
        text = mutate(rng.choice(texts), rng)
        try:
            taf = decode(text)
        except DecodeError:
            continue
        decoded += 1
        prevailing = [s for s in timeline(taf) if s.layer == "prevailing"]
        if taf.periods:
            assert prevailing[0].start == taf.valid_from, text
            assert prevailing[-1].end == taf.valid_to, text
        for before, after in pairwise(prevailing):
            assert before.end == after.start, text
    return decoded


def test_mutants_raise_nothing_but_our_own() -> None:
    decoded = check_mutants([case["text"] for case in PUBLISHED + MADE_UP], 2000, seed=20260425)
    assert decoded > 400  # the mutator must not only make rubbish


def _wind_tokens(taf: Taf) -> list[tuple[int, TafPeriod]]:
    return [(i, p) for i, p in enumerate(taf.periods) if p.wind is not None and p.wind.known]


@pytest.mark.parametrize("case", PUBLISHED + MADE_UP, ids=lambda case: case["id"])
def test_a_wind_deleted_is_missing_and_a_wind_spoilt_is_not_understood(case: dict[str, Any]) -> None:
    now = at(case["now"])
    taf = decode(case["text"], now)
    assert _wind_tokens(taf)
    for index, period in _wind_tokens(taf):
        assert period.wind is not None
        token = period.wind.raw
        start = case["text"].index(period.raw.split(token)[0] + token)
        spot = case["text"].index(token, start)
        cut = case["text"][:spot].rstrip() + case["text"][spot + len(token) :]
        gone = decode(cut, now).periods[index].wind
        if period.change in ("BASE", "FM"):
            assert gone is not None
            assert gone.state is WindState.MISSING
        else:
            assert gone is None
        for spoilt in (token.replace("0", "O", 1), token[1:], token[:-2], "E" + token, token[:3] + token[4:]):
            if spoilt == token:
                continue
            text = case["text"][:spot] + spoilt + case["text"][spot + len(token) :]
            got = decode(text, now).periods[index]
            assert got.wind is not None, text
            assert got.wind.state is WindState.NOT_UNDERSTOOD, (spoilt, got)
            assert spoilt in got.not_understood


_FRESH = count()  # never the same token twice, so that no memory of tokens helps

HOSTILE = {
    "one long word": lambda n: "A1" * (n // 2),
    "repeated wind": lambda n: "18010KT " * (n // 8),
    "distinct winds": lambda n: "".join(f"{next(_FRESH):05d}K " for _ in range(n // 7)),
    "ranges": lambda n: "180V240 " * (n // 8),
    "visibilities": lambda n: "3SM 5SM " * (n // 8),
    "remarks": lambda n: "RMK " + "1 " * (n // 2),
    "weather": lambda n: "/RA" * (n // 3),
    "groups": lambda n: "TEMPO 2513/2515 " * (n // 16),
    "blanks": lambda n: " " * n,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_text_takes_time_in_proportion(name: str) -> None:
    def read(text: str) -> None:
        with contextlib.suppress(DecodeError):
            timeline(decode(text))

    tries = tries_at_two_sizes(read, lambda size: "TAF XBRK 251120Z 2512/2612 18008KT " + HOSTILE[name](size))
    # words never seen before outgrow the processor's cache on the way, which costs up to twice as much each
    # (7 to 8 times measured) and then no more
    assert any(large <= 12.0 * small + 0.005 for small, large in tries), tries
    assert min(large for _, large in tries) < 0.010 * 64
