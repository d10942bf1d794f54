"""The engine's short cuts change nothing: each is held to the plain way of doing the same."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from advisor.aircraft import find_aircraft
from advisor.atmosphere import density_altitude_ft
from advisor.lessons import lessons, taught
from advisor.limits import StageSetup, make_limits
from advisor.places import RunwayEnd, Station
from advisor.rules import distinct
from advisor.rules.context import Context
from advisor.rules.distinct import Distinct
from advisor.rules.engine import by_cell, evaluate, scopes_of
from advisor.rules.registry import CAP, Suitability, all_rules
from advisor.site import Site
from advisor.table import Layer, State, Table, WindKind

STAGES = ("pre-solo", "solo", "post-solo", "commercial")


@pytest.mark.parametrize("seed", range(20))
def test_rows_combined_by_cell_are_those_of_reduceat(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 60))
    starts = np.unique(np.r_[0, rng.integers(0, n, int(rng.integers(0, n + 1)))])
    values = rng.integers(0, 200, (2, 3, n)).astype(np.uint8)
    for ufunc in (np.minimum, np.bitwise_or):
        assert np.array_equal(by_cell(ufunc, values, starts), ufunc.reduceat(values, starts, axis=-1))


def _site(name: str, *ends: float) -> Site:
    station = Station(name, name, 40.0, -105.0, 5288.0, "America/Denver", "US", "made up for tests")
    runways = tuple(RunwayEnd(f"{round(e / 10):02d}", e, 4000, "asphalt") for e in ends)
    return Site(station, runways)


SITES = [_site("XBRK", 92.0, 272.0), _site("XHLW"), _site("XSND", 40.0, 220.0, 133.0, 313.0, 10.0, 190.0)]


def random_table(n: int, seed: int) -> Table:
    """Rows of every kind: missing, calm, variable, swinging, gusty, wet, dark, forecast."""
    rng = np.random.default_rng(seed)
    kind = rng.choice(list(WindKind), n, p=[0.1, 0.6, 0.15, 0.1, 0.05])
    known = kind <= WindKind.VARIABLE
    mean = np.where(known, np.where(kind == WindKind.CALM, 0, rng.integers(1, 30, n)), np.nan)
    gusty = known & (rng.random(n) < 0.3)
    direction = np.where(kind == WindKind.STEADY, rng.integers(1, 37, n) * 10.0, np.nan)
    swings = (kind == WindKind.STEADY) & (rng.random(n) < 0.2)
    width = np.where(swings, rng.integers(1, 18, n) * 10.0, np.where(known & np.isnan(direction), 360.0, 0.0))
    flags = {
        name: rng.random(n) < 0.06
        for name in (
            "near_sun",
            "last_hour",
            "dark",
            "wind_shift",
            "undecoded",
            "storm_near",
            "shear",
            "disagrees",
        )
    }
    weather = np.where(rng.random(n) < 0.2, 1 << rng.integers(0, 16, n), 0)
    return Table(
        n,
        site=rng.integers(0, len(SITES), n),
        layer=rng.choice([Layer.OBSERVED, Layer.PREVAILING, Layer.POSSIBLE], n, p=[0.7, 0.15, 0.15]),
        wind_kind=kind,
        mean_kt=mean,
        gust_kt=np.where(gusty, mean + rng.integers(1, 15, n), np.nan),
        gust_state=np.where(gusty, int(State.VALUE), int(State.NONE)),
        from_deg_true=direction,
        arc_start_deg=np.where(known, np.nan_to_num(direction) % 360, np.nan),
        arc_width_deg=width,
        visibility_sm=rng.choice([np.nan, 0.5, 3.0, 5.0, 7.0, 10.01], n),
        ceiling_ft=rng.choice([np.nan, np.inf, 800, 1500, 2500, 4500], n),
        weather=weather,
        temperature_c=rng.choice([np.nan, -20.0, 1.1, 16.7, 39.0], n),
        dewpoint_c=rng.choice([np.nan, -22.0, 0.6, 12.0], n),
        altimeter_inhg=rng.choice([np.nan, 29.92, 30.4], n),
        age_min=rng.choice([np.nan, 20.0, 75.0], n),
        elevation_ft=5288.0,
        **flags,
    )


def _context(table: Table) -> Context:
    setups = tuple(StageSetup(s, alone=s in ("solo", "post-solo")) for s in STAGES)
    return Context(table, make_limits(setups), find_aircraft(), SITES)


def test_combining_only_where_a_rule_fires_equals_combining_everywhere() -> None:
    table = random_table(120, seed=1)
    context = _context(table)
    got = evaluate(context).suitability
    rules = all_rules()
    with np.errstate(invalid="ignore"):
        shaped = {
            r.code: np.broadcast_to(
                r.level(context),
                (4, 9, table.n) if r.axes == "lesson" else (4, table.n),
            )
            for r in rules
        }
    is_taught = taught(context.limits.setups)
    enough = context.fixed["families_for_ask"]
    seen = set()
    for s in range(4):
        for lesson in range(len(lessons())):
            for i in range(table.n):
                cap, families = Suitability.SUITED, set()
                if table.layer[i] == Layer.POSSIBLE or context.possible[s, i]:
                    cap = Suitability.NOT_RATED
                for rule in rules:
                    if rule.axes != "lesson" and rule.scope not in scopes_of(lesson):
                        continue
                    levels = shaped[rule.code]
                    level = int(levels[s, lesson, i] if rule.axes == "lesson" else levels[s, i])
                    possible, alone = int(context.possible[s, i]), int(context.limits.alone[s])
                    cap = min(cap, Suitability(int(CAP[level, possible, alone])))
                    if level in (2, 4, 5, 6, 7) and rule.family_bit:
                        families.add(rule.family)
                if len(families) >= enough:
                    cap = min(cap, Suitability.ASK_FIRST)
                if not is_taught[s, lesson]:
                    cap = Suitability.NOT_TAUGHT
                assert got[s, lesson, i] == cap, (s, lesson, table.row(i))
                seen.add(cap)
    assert len(seen) == len(Suitability)  # the table reaches every outcome, so nothing passes untested


def test_distinct_rows_change_no_quantity_of_the_runway(monkeypatch: pytest.MonkeyPatch) -> None:
    table = random_table(8000, seed=2)
    joined = _context(table)
    names = ("best_end", "best_end_deg", "crosswind_kt", "tailwind_kt", "base_tailwind_kt")
    with np.errstate(invalid="ignore"):
        short = {name: getattr(joined, name) for name in names}
        assert not isinstance(joined._runway_rows.pick, slice)  # the short cut was taken
        assert len(joined._runway_rows.pick) < table.n // 2
        monkeypatch.setattr(distinct, "MANY_ROWS", table.n + 1)
        plain = _context(table)
        for name in names:
            np.testing.assert_array_equal(short[name], getattr(plain, name), err_msg=name)
        assert isinstance(plain._runway_rows.pick, slice)


@pytest.mark.parametrize("odd", [0.5, -1.0, np.inf], ids=["fraction", "negative", "infinite"])
def test_what_cannot_be_a_key_is_never_joined(odd: float) -> None:
    n = distinct.MANY_ROWS
    values = np.ones(n)
    assert isinstance(Distinct(n, [values]).pick, np.ndarray)
    values[7] = odd
    assert Distinct(n, [values]).pick == slice(None)


def test_a_negative_whole_number_is_never_joined() -> None:
    values = np.ones(distinct.MANY_ROWS, dtype=np.int64)
    values[7] = -1
    assert Distinct(len(values), [values]).pick == slice(None)


def test_missing_and_zero_and_every_column_stay_apart() -> None:
    n = 4 * distinct.MANY_ROWS
    a: Any = np.tile([np.nan, 0.0, 1.0, 1.0], n // 4)
    b = np.tile([0, 0, 1, 2], n // 4).astype(np.uint8)
    rows = Distinct(n, [a, b])
    assert len(rows.pick) == 4
    np.testing.assert_array_equal(rows.spread(a[rows.pick]), a)
    np.testing.assert_array_equal(rows.spread(b[rows.pick]), b)


def test_density_altitude_is_dry_only_where_the_dew_point_is_missing() -> None:
    context = _context(random_table(500, seed=3))
    t, height = context.t, context.pressure_altitude_field_ft
    dry = density_altitude_ft(height, t.temperature_c)
    humid = density_altitude_ft(height, t.temperature_c, t.dewpoint_c)
    want = np.where(np.isnan(t.dewpoint_c), dry, humid)
    np.testing.assert_array_equal(context.density_altitude_ft, want)
    assert (dry[~np.isnan(want)] != humid[~np.isnan(want)]).any()
