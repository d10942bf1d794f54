"""Laws of the rules over random tables (design: laws 1, 2 and 6). A million rows: python -m tests.bulk.laws."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.aircraft import Aircraft
from advisor.rules.engine import evaluate
from advisor.rules.registry import CAP, Level, Rule, Suitability, all_rules
from advisor.table import COLUMNS, Table
from advisor.words import find_approval_words
from tests import laws
from tests.law_tables import SLOW, TRAINER, context_of, random_table

ROWS = 100_000
CHUNK = 50_000
AIRCRAFT = [TRAINER, SLOW]

#: Rules that name no column, each with the reason.
NOT_MONOTONE = {
    "AG03": "about an hour that nothing reaches",
    "AU01": "a note: it caps nothing",
    "AU02": "a note: it caps nothing",
    "AU03": "about a missing altimeter setting, a note",
    "CE03": "about a missing ceiling: law 2",
    "FG04": "a note about a range of wind",
    "GU06": "about a missing gust: law 2",
    "GU07": "a note about a gust that was not reported",
    "IC03": "a band of temperature and humidity: both sides of it are better",
    "IC04": "a note about the edges of the same band",
    "TE04": "about a missing temperature, exempt by name; a note",
    "VS02": "about a missing visibility: law 2",
    "WI04": "about a missing wind: law 2",
    "WI07": "a note about the last two hours",
    "WI08": "a note about the air class",
    "XW05": "about a missing runway: law 2",
    "XW06": "more wind can make another runway end the best one, whose base has no wind behind",
}
#: The only rules that more wind may silence: they are about calm air.
CALM_HAZARDS = {
    "FG01": "fog",
    "FG03": "fog",
    "IC02": "frost",
    "SH02": "inversion",
}
#: Missing columns that may pass unpunished, as every page says: see standing lines.
EXEMPT_FROM_LAW_2 = ("temperature", "thunderstorm sensor")


def rules_with_worse() -> list[Rule]:
    return [r for r in all_rules() if r.worse]


def test_every_rule_says_what_it_is_monotone_in_or_why_not() -> None:
    assert {r.code for r in all_rules() if not r.worse} == set(NOT_MONOTONE)
    for rule in rules_with_worse():
        for name in rule.worse:
            assert name[:-1] in COLUMNS, f"{rule.code}: no column is called {name[:-1]}"
            assert name[-1] in "+-", f"{rule.code}: {name} does not say which way is worse"


def test_exempt_list_is_exactly_the_calm_hazards() -> None:
    assert {r.code for r in all_rules() if r.calm_hazard} == set(CALM_HAZARDS)
    for code, about in CALM_HAZARDS.items():
        rule = next(r for r in all_rules() if r.code == code)
        assert about in f"{rule.name} {rule.doc}".lower()
        assert "mean_kt+" not in rule.worse


def test_a_caps_table_that_never_rewards_a_worse_level_or_being_alone() -> None:
    assert CAP.shape == (len(Level), 2, 2)
    assert (CAP[:, :, 1] <= CAP[:, :, 0]).all()  # alone is never better
    assert (CAP[:, 0, :] <= CAP[:, 1, :]).all()  # what prevails is never better than what is only possible
    order = [
        Level.QUIET,
        Level.CARE_ONLY,
        Level.CARE,
        Level.STOP_HIGH,
        Level.ASK_OR_HOLD,
        Level.STOP,
        Level.STORM,
    ]
    assert (np.diff(CAP[order].astype(int), axis=0) <= 0).all()
    assert (CAP[Level.MISSING] == Suitability.NOT_RATED).all()


@pytest.mark.parametrize("aircraft", AIRCRAFT, ids=lambda a: a.name)
def test_law_1_no_rule_relents_when_its_own_columns_get_worse(aircraft: Aircraft) -> None:
    bitten: dict[str, int] = {}
    for seed, table in chunks(ROWS // len(AIRCRAFT)):
        for (code, name), count in laws.rule_law(table, seed, aircraft).items():
            bitten[f"{code} {name}"] = bitten.get(f"{code} {name}", 0) + count
    # a law that never saw a cap fall would hold for a rule that does nothing
    expected = {f"{r.code} {name}" for r in rules_with_worse() for name in r.worse}
    idle = {name for name, count in bitten.items() if count == 0}
    assert set(bitten) == expected
    assert not idle - {"DE02 gust_kt+", "DE02 mean_kt+", "DE04 gust_kt+", "DE03 gust_kt+"}, idle


@pytest.mark.parametrize("aircraft", AIRCRAFT, ids=lambda a: a.name)
def test_law_1_worse_weather_is_never_better_for_the_whole_rating(aircraft: Aircraft) -> None:
    fell: dict[str, int] = {}
    for seed, table in chunks(ROWS // len(AIRCRAFT)):
        for name, count in laws.rating_law(table, seed, aircraft).items():
            fell[name] = fell.get(name, 0) + count
    assert set(fell) == set(laws.WORSE_FOR_ALL)
    assert min(fell.values()) > 100


def test_law_2_missing_is_never_better_than_what_was_there() -> None:
    fell: dict[str, int] = {}
    for seed, table in chunks(ROWS):
        for name, count in laws.missing_law(table, seed, TRAINER).items():
            fell[name] = fell.get(name, 0) + count
    assert set(fell) == {"wind", "gust", "visibility", "ceiling", "runway"}
    assert min(fell.values()) > 100


def test_law_2_exempt_by_name_and_said_on_every_page() -> None:
    from advisor.present.standing import EXEMPT

    assert all(name in EXEMPT for name in EXEMPT_FROM_LAW_2)
    assert not find_approval_words(EXEMPT)


def test_law_6_any_cut_of_the_table_gives_the_same_ratings_and_levels() -> None:
    for seed, table in chunks(ROWS):
        laws.chunk_law(table, seed, TRAINER, single_rows=40)


def test_law_6_a_cell_of_many_rows_is_the_lowest_of_its_rows() -> None:
    table = random_table(20_000, seed=77)
    laws.cell_law(table, 77, TRAINER)


def test_nothing_reported_gives_nothing() -> None:
    empty = evaluate(context_of(Table(0)))
    assert empty.suitability.shape[-1] == 0
    assert evaluate(context_of(Table(0)), 3).suitability.min() == Suitability.NOT_RATED


def chunks(rows: int) -> list[tuple[int, Table]]:
    """Seeded random tables that add up to ``rows``."""
    return [(seed, random_table(min(CHUNK, rows), seed)) for seed in range(1, rows // min(CHUNK, rows) + 1)]
