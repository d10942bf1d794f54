"""Aircraft figures: the shipped generic ones and a school's own."""

from __future__ import annotations

import pytest

from advisor.aircraft import Aircraft, find_aircraft, shipped
from advisor.errors import DataFileError

OWN = Aircraft("Blue 2", 85.0, 46.0, 14.0)


def test_the_generic_trainer_is_the_one_the_limits_were_written_for() -> None:
    trainer = find_aircraft()
    assert (trainer.name, trainer.practice_kias, trainer.stall_kcas, trainer.demonstrated_crosswind_kt) == (
        "generic-trainer", 90.0, 48.0, 12.0,
    )  # fmt: skip
    assert "not your aircraft's own figures" in trainer.assumption()


def test_every_shipped_aircraft_flies_well_above_its_stall() -> None:
    for aircraft in shipped().values():
        # Room for a 45-degree bank (stall factor 1.19) and 1.3 above it: common practice, no source.
        assert aircraft.practice_kias > 1.3 * 1.19 * aircraft.stall_kcas, aircraft.name
        assert 0.0 < aircraft.demonstrated_crosswind_kt <= 20.0
        assert aircraft.generic


def test_a_schools_own_aircraft_comes_first() -> None:
    assert find_aircraft(None, [OWN]) is OWN
    assert find_aircraft("blue 2", [OWN]) is OWN
    assert find_aircraft("generic-light", [OWN]).generic
    namesake = Aircraft("Generic-Trainer", 88.0, 47.0, 13.0)
    assert find_aircraft("generic-trainer", [namesake]) is namesake
    assert "own figures" not in OWN.assumption()


def test_an_unknown_aircraft_lists_the_known_ones() -> None:
    with pytest.raises(DataFileError, match=r"Blue 2.*generic-trainer"):
        find_aircraft("zeppelin", [OWN])
