"""Two thousand damaged observations a run; ``python -m tests.bulk.mutate`` does two hundred thousand."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from advisor.reports.decode_metar import decode_metar
from advisor.reports.types import CeilingState, Metar, Sky, Visibility
from advisor.wind import MISSING, Wind, WindState
from tests import mutator


def test_two_thousand_mutants():
    found = mutator.run(mutator.seeds(), 2_000, seed=20261123)
    assert not found.failures, "\n".join(found.failures)
    assert min(found.sorts.values()) > 100  # each sort of damage was met
    assert len(found.sorts) == 3


def test_mutants_of_real_reports(reports_dir: Path):
    found = mutator.run(mutator.seeds(reports_dir), 2_000, seed=20261123)
    assert not found.failures, "\n".join(found.failures)


def test_the_same_seed_makes_the_same_mutants():
    texts = mutator.seeds()
    first, second = random.Random(5), random.Random(5)
    assert [mutator.mutate(texts[0], first) for _ in range(50)] == [mutator.mutate(texts[0], second) for _ in range(50)]


RAW = "XBRK 251753Z 22012G19KT 5SM BKN050 15/05 A3005"


def decoder_that(change: Callable[[Metar], Metar]) -> Callable[..., Metar]:
    return lambda text, now: change(decode_metar(text, now))


# Each planted fault of a decoder must be seen, or the run above proves nothing.
@pytest.mark.parametrize(
    ("mutant", "change", "words"),
    [
        (mutator.Mutant(RAW, RAW), {"wind": Wind(WindState.STEADY, 220, 21)}, "printed nowhere"),
        (mutator.Mutant(RAW, RAW), {"wind": Wind(WindState.STEADY, 220, 12)}, "printed nowhere"),
        (mutator.Mutant(RAW, RAW), {"visibility": Visibility(10.0)}, "printed nowhere"),
        (mutator.Mutant(RAW, RAW), {"sky": Sky((), None, CeilingState.AT, 9000)}, "printed nowhere"),
        (mutator.Mutant(RAW, RAW), {"sky": Sky((), None, CeilingState.NONE)}, "no sky group"),
        (mutator.Mutant(RAW, RAW), {"altimeter_inhg": 2.99}, "altimeter"),
        (
            mutator.Mutant(RAW.replace("22012G19KT ", ""), RAW, deleted="wind"),
            {"wind": Wind(WindState.NOT_UNDERSTOOD, raw="5SM"), "not_understood": ("5SM",)},
            "wind deleted",
        ),
        (
            mutator.Mutant(RAW.replace("BKN050 ", ""), RAW, deleted="sky"),
            {"sky": Sky((), "CLR", CeilingState.UNKNOWN), "weather": ()},
            "",
        ),
        (
            mutator.Mutant(RAW.replace("19KT", "X9KT"), RAW, damaged="wind", new_group="22012GX9KT"),
            {"wind": MISSING},
            "taken for missing",
        ),
        (
            mutator.Mutant(RAW.replace("BKN", "BXN"), RAW, damaged="sky", new_group="BXN050"),
            {"not_understood": ()},
            "not listed",
        ),
        (
            mutator.Mutant(RAW.replace("15/05", "1X/05"), RAW, damaged="temperature", new_group="1X/05"),
            {"altimeter_inhg": None},
            "changed the altimeter",
        ),
    ],
)
def test_a_planted_fault_is_seen(
    monkeypatch: pytest.MonkeyPatch, mutant: mutator.Mutant, change: dict[str, Any], words: str
):
    assert mutator.faults(mutant) == []
    monkeypatch.setattr(mutator, "decode_metar", decoder_that(lambda metar: replace(metar, **change)))
    if mutant.text != mutant.original and mutant.damaged:
        # the original is decoded soundly, the mutant with the fault
        monkeypatch.setattr(
            mutator,
            "decode_metar",
            lambda text, now: (
                decode_metar(text, now) if text == mutant.original else replace(decode_metar(text, now), **change)
            ),
        )
    found = mutator.faults(mutant)
    assert any(words in fault for fault in found) if words else found == []
