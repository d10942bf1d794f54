"""The laws themselves, each over one table: an AssertionError names the rule and the row that break it.

Shared by ``tests/test_laws.py`` (10^5 rows a law) and ``tests/bulk/laws.py`` (10^6 and more).
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from advisor.aircraft import Aircraft
from advisor.lessons import lesson_keys, lessons, taught
from advisor.rules.context import Context
from advisor.rules.engine import cap_index, caps_of, evaluate, level_shape, scopes_of
from advisor.rules.registry import Array, Level, Suitability, all_rules
from advisor.table import Layer, State, Table, WindKind
from tests.law_tables import (
    BOTH_ENDS,
    NO_RUNWAY,
    SETUPS,
    context_of,
    exempt_fires,
    made_worse,
    rule_caps,
)

#: Columns whose worsening may never help the whole rating, where no rule about calm air speaks.
WORSE_FOR_ALL = ("mean_kt+", "gust_kt+", "ceiling_ft-", "visibility_sm-", "weather+", "all together")
_MISSING_WIND = {
    "wind_kind": np.uint8(WindKind.MISSING),
    "mean_kt": np.nan,
    "gust_kt": np.nan,
    "gust_state": np.uint8(State.NONE),
    "from_deg_true": np.nan,
    "arc_start_deg": np.nan,
    "arc_width_deg": 0.0,
}


def _tell(what: str, bad: Array, before: Context, after: Context) -> str:
    place = tuple(int(x) for x in np.argwhere(bad)[0])
    row, other = before.t.row(place[-1]), after.t.row(place[-1])
    changed = {k: (v, other[k]) for k, v in row.items() if v != other[k] and not (v != v and other[k] != other[k])}
    who = SETUPS[place[0]]
    lesson = lesson_keys()[place[1]] if bad.ndim == 3 else "every lesson"
    return f"{what}: {int(bad.sum())} rows get better; first {who} {lesson}\nchanged {changed}\nrow {row}"


def rule_law(table: Table, seed: int, aircraft: Aircraft) -> dict[tuple[str, str], int]:
    """Law 1, rule by rule: how often each rule's cap fell when one of its columns got worse. It may never rise."""
    before = context_of(table, aircraft)
    rng = np.random.default_rng(seed)
    by_column: dict[str, list[Any]] = {}
    for rule in all_rules():
        for name in rule.worse:
            by_column.setdefault(name, []).append(rule)
    out: dict[tuple[str, str], int] = {}
    for name, rules in by_column.items():
        after = context_of(made_worse(table, name[:-1], name[-1], rng), aircraft)
        for rule in rules:
            first, second = rule_caps(rule, before), rule_caps(rule, after)
            bad = second > first
            assert not bad.any(), _tell(f"{rule.code} with {name}", bad, before, after)
            out[rule.code, name] = int((second < first).sum())
    return out


def rating_law(table: Table, seed: int, aircraft: Aircraft) -> dict[str, int]:
    """Law 1 for the whole rating, rows with a rule about calm air left out: how often it fell."""
    before = context_of(table, aircraft)
    rng = np.random.default_rng(seed)
    first, exempt = evaluate(before).suitability, exempt_fires(before)
    out: dict[str, int] = {}
    worst = table
    for name in WORSE_FOR_ALL[:-1]:
        changed = made_worse(table, name[:-1], name[-1], rng)
        worst = made_worse(worst, name[:-1], name[-1], rng)
        out[name] = _falls(name, before, context_of(changed, aircraft), first, ~exempt)
    out[WORSE_FOR_ALL[-1]] = _falls(WORSE_FOR_ALL[-1], before, context_of(worst, aircraft), first, ~exempt)
    return out


def _falls(what: str, before: Context, after: Context, first: Array, counted: Array) -> int:
    second = evaluate(after).suitability
    bad = (second > first) & counted
    assert not bad.any(), _tell(f"whole rating with {what}", bad, before, after)
    return int((second < first).sum())


def missing_law(table: Table, seed: int, aircraft: Aircraft) -> dict[str, int]:
    """Law 2, on cells of one to three rows: a value that goes missing never gives a better suitability.

    A hold may become *not rated* when what held it goes missing; nothing may rise above *not rated*. The runway
    law is about fields open from both ends: to stop naming one end opens the other, and is not a missing runway.
    """
    n = table.n
    cell, n_cells = _cells(n, seed)
    rng = np.random.default_rng(seed + 1)
    picked = rng.random(n) < 0.5
    gusty = table.gust_state == State.VALUE
    loses: dict[str, tuple[Array, dict[str, Any]]] = {
        "wind": (picked, _MISSING_WIND),
        "gust": (picked & gusty, {"gust_kt": np.nan, "gust_state": np.uint8(State.MISSING)}),
        "visibility": (picked, {"visibility_sm": np.nan}),
        "ceiling": (picked, {"ceiling_ft": np.nan}),
        # a field has its runways or not, whatever the row
        "runway": (np.isin(table.site, BOTH_ENDS), {"site": NO_RUNWAY}),
    }
    first_site = table.site[np.searchsorted(cell, cell)]
    table = table.with_columns(cell=cell, site=first_site)
    loses["runway"] = (np.isin(first_site, BOTH_ENDS), {"site": NO_RUNWAY})
    before = context_of(table, aircraft)
    first = evaluate(before, n_cells).suitability
    out: dict[str, int] = {}
    for name, (where, values) in loses.items():
        columns = {k: np.where(where, v, getattr(table, k)) for k, v in values.items()}
        second = evaluate(context_of(table.with_columns(**columns), aircraft), n_cells).suitability
        bad = (second > first) & (second > Suitability.NOT_RATED)
        if bad.any():
            place = np.argwhere(bad)[0]
            rows = [table.row(int(i)) for i in np.flatnonzero(cell == place[-1])]
            raise AssertionError(f"{name} missing: {int(bad.sum())} better; first at {place}: {rows}")
        out[name] = int((second < first).sum())
    return out


def _cells(n: int, seed: int) -> tuple[Array, int]:
    """Sorted cells of one to three rows, some cells left empty."""
    rng = np.random.default_rng(seed)
    steps = rng.choice([0, 1, 1, 2], n)
    steps[0] = 0
    cell = np.cumsum(steps)
    return cell, int(cell[-1]) + 2


def chunk_law(table: Table, seed: int, aircraft: Aircraft, single_rows: int) -> None:
    """Law 6: the whole table, the table cut at random, and single rows give the same ratings and levels."""
    rng = np.random.default_rng(seed)
    n = table.n
    whole = evaluate(context_of(table, aircraft), keep=True)
    cuts = np.unique(np.r_[0, np.sort(rng.integers(0, n, 12 + n // 2500)), n])
    pieces = [np.arange(a, b) for a, b in pairwise(cuts)]
    pieces += [np.array([i]) for i in rng.integers(0, n, single_rows)]
    pieces.append(rng.permutation(n)[: n // 4])
    for rows in pieces:
        part = evaluate(context_of(table.take(rows), aircraft), keep=True)
        assert np.array_equal(part.suitability, whole.suitability[..., rows]), f"ratings of rows {rows[:5]}"
        for rule in all_rules():
            expected = whole.levels.get(rule.code)
            got = part.levels.get(rule.code)
            full = _full(rule, expected, n)[..., rows]
            assert np.array_equal(_full(rule, got, len(rows)), full), f"{rule.code} at rows {rows[:5]}"


def _full(rule: Any, level: Array | None, n: int) -> Array:
    return level_shape(rule, np.zeros(1, dtype=np.uint8) if level is None else level, len(SETUPS), n)


def cell_law(table: Table, seed: int, aircraft: Aircraft) -> None:
    """Law 6: a cell is the lowest cap of its rows, its families counted together; combined here row by row."""
    cell, n_cells = _cells(table.n, seed)
    table = table.with_columns(cell=cell)
    context = context_of(table, aircraft)
    got = evaluate(context, n_cells, keep=True)
    shape = (len(SETUPS), len(lessons()), n_cells)
    caps = np.full(shape, int(Suitability.SUITED))
    families = np.zeros(shape, dtype=np.int64)
    offset = cap_index(context)
    with np.errstate(invalid="ignore"):
        levels = {r.code: np.array(_full(r, r.level(context), table.n)) for r in all_rules()}
    for index in range(len(lessons())):
        for rule in all_rules():
            if rule.axes == "lesson":
                level = levels[rule.code][:, index]
            elif rule.scope in scopes_of(index):
                level = levels[rule.code]
            else:
                continue
            cap = caps_of(level, offset).astype(int)
            counted = (level >= Level.CARE) & (level != Level.CARE_ONLY) & (level != Level.MISSING)
            for s in range(len(SETUPS)):
                np.minimum.at(caps[s, index], cell, cap[s])
                np.bitwise_or.at(families[s, index], cell, counted[s] * rule.family_bit)
    solid = np.zeros((len(SETUPS), n_cells), dtype=bool)
    for s in range(len(SETUPS)):
        np.logical_or.at(solid[s], cell, (table.layer != Layer.POSSIBLE) & ~context.possible[s])
    caps = np.where(solid[:, None, :], caps, np.minimum(caps, int(Suitability.NOT_RATED)))
    count = sum((families >> bit) & 1 for bit in range(16))
    caps = np.where(count >= context.fixed["families_for_ask"], np.minimum(caps, int(Suitability.ASK_FIRST)), caps)
    caps[~taught(SETUPS)] = int(Suitability.NOT_TAUGHT)
    assert np.array_equal(got.suitability, caps)
    assert set(np.unique(caps)) == {int(s) for s in Suitability}
