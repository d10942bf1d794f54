"""Run the rules over a table and combine their caps; the same code for one day and ten million rows.

Levels become caps through one table, caps combine by minimum, families are counted by bits. What fired is kept
only when the rows will be shown.
"""

from __future__ import annotations

from dataclasses import field
from typing import Any

import numpy as np

from advisor.lessons import lessons, taught
from advisor.records import dataclass
from advisor.rules.context import Context
from advisor.rules.registry import CAP, SCOPES, Array, Level, Rule, Suitability, all_rules

_SCOPE_OF_SHAPE = {
    "line": ("all", "height"),
    "circle": ("all", "height", "circle"),
    "pylon": ("all", "height", "pylons"),
    "pattern": ("all", "pattern"),
}
_FLAT_CAP = CAP.reshape(-1)
_COUNTED = np.array([level in (2, 4, 5, 6, 7) for level in range(len(CAP))])


def scopes_of(lesson_index: int) -> tuple[str, ...]:
    """Scopes of rules that apply to one lesson."""
    return _SCOPE_OF_SHAPE[lessons()[lesson_index].shape]


@dataclass(slots=True)
class Result:
    """Suitability of every stage, lesson and cell, and what is behind it.

    Attributes
    ----------
    suitability : uint8, shape ``(stages, lessons, cells)``
        Values of ``Suitability``.
    levels : dict
        Rule code -> levels as the rule returned them, by row; only when ``keep`` was asked for.
    three_families : bool, shape ``(stages, lessons, cells)``
        True where three families of care held the rating down to ask first.
    no_solid : bool, shape ``(stages, cells)``
        True where nothing reported or prevailing covers the cell for the stage.
    """

    suitability: Array
    three_families: Array
    no_solid: Array
    levels: dict[str, Array] = field(default_factory=dict)


def cap_index(context: Context) -> Array:
    """Offset into the flat cap table for each stage and row: possible and alone."""
    return np.asarray(context.possible.astype(np.intp) * 2 + context.alone.astype(np.intp))


def caps_of(level: Array, offset: Array) -> Array:
    """Caps of levels; ``level`` broadcasts against ``offset`` of shape ``(stages, rows)``."""
    return _FLAT_CAP[level.astype(np.intp) * 4 + offset]


def level_shape(rule: Rule, level: Array, n_stages: int, n_rows: int) -> Array:
    """A rule's levels broadcast to its axes: ``(stages, rows)``, or ``(stages, lessons, rows)`` for lesson rules."""
    if rule.axes == "lesson":
        return np.broadcast_to(level, (n_stages, len(lessons()), n_rows))
    return np.broadcast_to(level, (n_stages, n_rows))


def evaluate(context: Context, n_cells: int | None = None, *, keep: bool = False) -> Result:
    """Run every rule and combine.

    Parameters
    ----------
    context : Context
        Table, limits, aircraft, fields. Rows must be sorted by cell.
    n_cells : int or None
        Number of cells; None when every row is its own cell (archives).
    keep : bool
        Keep each rule's levels for messages.

    Returns
    -------
    Result

    Notes
    -----
    Never raises on a well-formed table. Chunks of about 10^5 rows keep memory flat.
    """
    t = context.t
    n_stages, n_rows, n_lessons = context.n_stages, t.n, len(lessons())
    suited = np.uint8(Suitability.SUITED)
    caps = {scope: np.full((n_stages, n_rows), suited, dtype=np.uint8) for scope in SCOPES}
    families = {scope: np.zeros((n_stages, n_rows), dtype=np.uint16) for scope in SCOPES}
    lesson_caps = np.full((n_stages, n_lessons, n_rows), suited, dtype=np.uint8)
    lesson_families = np.zeros((n_stages, n_lessons, n_rows), dtype=np.uint16)
    offset = cap_index(context)
    kept: dict[str, Array] = {}
    with np.errstate(invalid="ignore"):
        for rule in all_rules():
            level = rule.level(context)
            if not level.any():
                continue
            if keep:
                kept[rule.code] = level
            if rule.axes == "lesson":
                _combine(lesson_caps, lesson_families, rule, level, offset[:, None, :])
            else:
                _combine(caps[rule.scope], families[rule.scope], rule, level, offset)
    solid = ~context.possible
    if n_cells is None:
        n_cells, no_solid = n_rows, ~solid
    else:
        starts = first_rows(t.cell)
        filled = t.cell[starts]
        for scope in SCOPES:
            caps[scope] = _spread(by_cell(np.minimum, caps[scope], starts), filled, n_cells, suited)
            families[scope] = _spread(by_cell(np.bitwise_or, families[scope], starts), filled, n_cells, 0)
        lesson_caps = _spread(by_cell(np.minimum, lesson_caps, starts), filled, n_cells, suited)
        lesson_families = _spread(by_cell(np.bitwise_or, lesson_families, starts), filled, n_cells, 0)
        no_solid = ~_spread(by_cell(np.logical_or, solid, starts), filled, n_cells, False)
    enough = int(context.fixed["families_for_ask"])
    three = np.zeros((n_stages, n_lessons, n_cells), dtype=bool)
    empty = np.where(no_solid, np.uint8(Suitability.NOT_RATED), suited)
    for index in range(n_lessons):
        cap, bits = np.minimum(lesson_caps[:, index], empty), lesson_families[:, index]
        for scope in scopes_of(index):
            cap = np.minimum(cap, caps[scope])
            bits = bits | families[scope]
        crowded = _at_least(bits, enough) & (cap > Suitability.ASK_FIRST)
        three[:, index] = crowded
        lesson_caps[:, index] = np.where(crowded, np.uint8(Suitability.ASK_FIRST), cap)
    lesson_caps[~taught(context.limits.setups)] = np.uint8(Suitability.NOT_TAUGHT)
    return Result(lesson_caps, three, no_solid, kept)


def _combine(caps: Array, families: Array, rule: Rule, level: Array, offset: Array) -> None:
    """Lower ``caps`` and mark ``families``, in place, only where the rule caps anything: few rows."""
    bit = np.uint16(rule.family_bit)
    if level.ndim == 1:
        rows = np.flatnonzero(level > Level.NOTE)
        level, where = level[rows], (..., rows)
        caps[where] = np.minimum(caps[where], caps_of(level, offset[where]))
        if bit:
            families[where] |= np.where(_COUNTED[level], bit, np.uint16(0))
        return
    flat = np.flatnonzero(np.broadcast_to(level, caps.shape) > Level.NOTE)
    if not flat.size:
        return
    level = np.broadcast_to(level, caps.shape).reshape(-1)[flat]
    stage, row = flat // (caps.size // len(caps)), flat % caps.shape[-1]
    lowered, marked = caps.reshape(-1), families.reshape(-1)
    where_offset = offset.reshape(len(caps), -1)[stage, row]
    lowered[flat] = np.minimum(lowered[flat], caps_of(level, where_offset))
    if bit:
        marked[flat] |= np.where(_COUNTED[level], bit, np.uint16(0))


def _at_least(bits: Array, count: int) -> Array:
    """True where at least ``count`` bits are set: without its lowest bits, taken one by one, some are left."""
    for _ in range(count - 1):
        bits = bits & (bits - np.uint16(1))
    return np.asarray(bits != 0)


def first_rows(cell: Array) -> Array:
    """The first row of each cell; rows lie by cell."""
    return np.flatnonzero(np.diff(cell, prepend=-1))


def by_cell(ufunc: np.ufunc, values: Array, starts: Array) -> Array:
    """``ufunc`` over the rows of each cell, which lie together from ``starts`` on, along the last axis.

    As ``ufunc.reduceat``, several times as fast: most cells have one row, and only the others are combined.
    """
    out = np.take(values, starts, axis=-1)
    sizes = np.diff(starts, append=values.shape[-1])
    more, k = np.flatnonzero(sizes > 1), 1
    while len(more):
        out[..., more] = ufunc(np.take(out, more, axis=-1), np.take(values, starts[more] + k, axis=-1))
        k += 1
        more = more[sizes[more] > k]
    return out


def _spread(values: Array, where: Array, n_cells: int, fill: int | np.unsignedinteger[Any]) -> Array:
    out = np.full((*values.shape[:-1], n_cells), fill, dtype=values.dtype)
    out[..., where] = values
    return out
