"""Which caution a page names: the one with the lowest cap, and of those that cap alike the one that holds longest.

A rating is explained by what sets it (the docstring of ``limiting``). Minutes are counted by hand.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from advisor.answer import limiting
from advisor.limits import stage_setup
from advisor.rules.registry import Level, Suitability
from advisor.weather import Wx
from tests.fields import FAIR, cell_at, given, ratings

#: Four cells: three of ten minutes, one of three hours.
STARTS = np.array([600, 610, 620, 630])
ENDS = np.array([610, 620, 630, 810])


def caution(code: str, cap: Suitability, level: Level = Level.CARE) -> Any:
    return SimpleNamespace(code=code, caps_at=cap, level=level, is_note=level == Level.NOTE)


def named(*cautions: tuple[Any, list[int]]) -> str:
    """Code of the caution named, each given with the cells in which it holds; the first is the lowest."""
    reach = {c.code: cells for c, cells in cautions}
    axis = SimpleNamespace(cell_start_min=STARTS, cell_end_min=ENDS)
    ratings = SimpleNamespace(conditions=axis, reach=lambda c, *_: reach[c.code])
    day: Any = SimpleNamespace(ratings=ratings, global_cells=lambda cells: np.array(cells))
    found = limiting(day, 0, 0, [c for c, _ in cautions], [0, 1, 2, 3])
    assert found is not None
    return found.code


CARE, HOLD = Suitability.WITH_CARE, Suitability.HOLD


@pytest.mark.parametrize(
    ("cautions", "expected"),
    [
        # three hours in one cell are more than half an hour in three
        ([(caution("WI01", CARE), [0, 1, 2]), (caution("CE01", CARE), [3])], "CE01"),
        ([(caution("WI01", CARE), [3]), (caution("CE01", CARE), [0, 1, 2])], "WI01"),
        # a care that holds all day does not explain a hold of ten minutes
        ([(caution("WI01", HOLD), [0]), (caution("CE01", CARE), [0, 1, 2, 3])], "WI01"),
        # what is there is named before what can form: fog can form in a quarter of a mile of it
        ([(caution("FG01", HOLD), [0, 1]), (caution("VS01", HOLD), [0, 1])], "VS01"),
        ([(caution("FG01", HOLD), [0, 1, 2]), (caution("VS01", HOLD), [0, 1])], "FG01"),
        # wind that a still field may hide is no lesser reason than two degrees of heat
        ([(caution("SH02", CARE), [0, 1]), (caution("TE02", CARE), [0, 1])], "SH02"),
        # nor is fog that can form, where there is none
        ([(caution("FG01", CARE), [0, 1]), (caution("SH02", CARE), [0, 1])], "FG01"),
        # nor does carburettor heat explain what another care explains as well
        ([(caution("WI01", CARE), [0]), (caution("IC03", CARE, Level.CARE_ONLY), [0, 1, 2, 3])], "WI01"),
    ],
)
def test_the_caution_that_sets_the_rating_is_named(cautions: list[tuple[Any, list[int]]], expected: str) -> None:
    assert named(*cautions) == expected


def test_a_caution_reaches_where_its_rule_caps_as_low_and_no_further() -> None:
    """Mean wind for a student alone: care 12, stop 15 kt. A care before the stop is not part of the stop's hours."""
    taf = "2512/2612 22013KT P6SM SKC FM252000 22018KT P6SM SKC FM252200 22008KT P6SM SKC"
    found = ratings(given(f"22013KT {FAIR}", taf), stage_setup("solo"))
    cells = range(len(found.conditions.cell_start_min))
    (wind,) = [c for c in found.cautions(0, 0, cells) if c.code == "WI01"]
    assert wind.caps_at is HOLD
    held = found.reach(wind, 0, 0, cells)
    assert held == list(range(cell_at(found, "20:00"), cell_at(found, "22:00")))
    assert found.reach(wind, 0, 0, held[1:]) == held[1:]


LOW_NOW, LOWER = (
    "05007KT 10SM OVC013 09/07 A2953",
    "2518/2618 09012G20KT 2SM RA OVC005 FM252200 09016G30KT 1SM RA OVC008",
)


@pytest.mark.parametrize(
    ("code", "number"),
    [
        ("CE01", "ceiling 500 ft"),
        ("VS01", "visibility 1 SM"),
        ("GU01", "gusts to 30 kt"),
        ("GU02", "gust spread 14 kt"),
    ],
)
def test_of_groups_that_cap_alike_the_worst_figure_is_shown(code: str, number: str) -> None:
    """1,300 ft now, 500 ft forecast: both hold, and 500 is what the day may come to."""
    found = ratings(given(LOW_NOW, LOWER), stage_setup("solo"))
    cautions = found.cautions(0, 0, range(len(found.conditions.cell_start_min)))
    assert next(c for c in cautions if c.code == code).message.startswith(number)


def test_every_kind_of_weather_is_a_flag_of_its_own() -> None:
    """A flag that held another's bit would read FZRANO as a thunderstorm."""
    values = [flag.value for flag in Wx.__members__.values() if flag]
    assert all(value.bit_count() == 1 for value in values)
    assert len(set(values)) == len(values)
