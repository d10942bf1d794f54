"""The runway a wind is judged on: which end is best, and the worst crosswind and tailwind there.

Shapes as in ``context``: ``(rows,)``, and ``(stages, rows)`` where the stage's limits have a say.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from advisor.directions import arc_share
from advisor.limits import SLACK, Limits
from advisor.places import RunwayEnd
from advisor.rules.distinct import Distinct
from advisor.site import Site
from advisor.table import Array, Table, WindKind

#: Winds along or across two ends that differ by less than this are alike. [kt]
_TIE_KT = SLACK * SLACK


class OnRunway:
    """The part of a ``Context`` that is about runways.

    Parameters
    ----------
    table : Table
        Conditions.
    limits : Limits
        For the stages asked for.
    sites : sequence of Site
        Indexed by ``table.site``.
    """

    def __init__(self, table: Table, limits: Limits, sites: Sequence[Site]) -> None:
        self.t = table
        self.limits = limits
        self.sites = sites
        self.n_stages = len(limits.setups)

    @cached_property
    def wind_known(self) -> Array:
        """Rows with a usable mean wind."""
        return np.asarray(self.t.wind_kind <= WindKind.VARIABLE)

    @cached_property
    def peak_kt(self) -> Array:
        """Larger of mean and gust."""
        return np.asarray(np.fmax(self.t.mean_kt, self.t.gust_kt))

    @cached_property
    def usable_ends(self) -> list[tuple[RunwayEnd, ...]]:
        """Runway ends of each field that are open at one time or another."""
        return [site.usable_ends for site in self.sites]

    @cached_property
    def ends_deg(self) -> Array:
        """True bearings of usable runway ends, shape ``(sites, ends)``, NaN where there are fewer."""
        most = max((len(ends) for ends in self.usable_ends), default=0)
        out = np.full((len(self.sites), max(most, 1)), np.nan)
        for i, ends in enumerate(self.usable_ends):
            out[i, : len(ends)] = [end.bearing_deg_true for end in ends]
        return out

    @cached_property
    def _closed(self) -> Array:
        """Ends that a notice closes at some minute of a row, one bit for each place of ``usable_ends``. Shape ``(rows,)``."""
        out = np.zeros(self.t.n, dtype=np.int64)
        for i, site in enumerate(self.sites):
            for closure in site.closures:
                bits = sum(1 << j for j, end in enumerate(self.usable_ends[i]) if end.name == closure.end_name)
                hit = (self.t.site == i) & (self.t.start_min < closure.end_min) & (closure.start_min < self.t.end_min)
                out[hit] |= bits
        return out

    @cached_property
    def runway_known(self) -> Array:
        """Rows with at least one runway end that is known and open."""
        count = np.array([len(ends) for ends in self.usable_ends], dtype=np.int64)
        every = (np.int64(1) << count) - 1 if len(count) else count
        return np.asarray((self._closed & every[self.t.site]) != every[self.t.site])

    @cached_property
    def _runway_rows(self) -> Distinct:
        """Rows that share field, open ends, wind and peak share everything about the runway."""
        t = self.t
        return Distinct(t.n, [t.site, self._closed, t.wind_kind, t.arc_start_deg, t.arc_width_deg, self.peak_kt])

    @cached_property
    def _components(self) -> tuple[Array, Array]:
        """Worst crosswind and tailwind at each end, kt, shape ``(distinct rows, ends)``."""
        across, behind = [], []
        pick = self._runway_rows.pick
        site, peak = self.t.site[pick], self.peak_kt[pick]
        start, width = self.t.arc_start_deg[pick], self.t.arc_width_deg[pick]
        variable = self.t.wind_kind[pick] == WindKind.VARIABLE
        for j in range(self.ends_deg.shape[1]):
            a, b = arc_share(start, width, self.ends_deg[site, j])
            across.append(np.where(variable, 1.0, a) * peak)
            behind.append(np.where(variable, 0.0, b) * peak)
        shut = (self._closed[pick][:, None] >> np.arange(self.ends_deg.shape[1])) & 1 == 1
        missing = np.isnan(self.ends_deg)[site] | shut
        cross = np.where(missing, np.nan, np.stack(across, axis=1))
        return cross, np.where(missing, np.nan, np.stack(behind, axis=1))

    @cached_property
    def _best_end(self) -> Array:
        """``best_end`` of the distinct rows."""
        cross, tail = self._components
        out = np.full((self.n_stages, len(cross)), -1, dtype=np.int64)
        if self.t.n == 0:
            return out
        done: dict[float, Array] = {}
        for s in range(self.n_stages):
            care = float(self.limits.care["tailwind_kt"][s, 0])
            if care not in done:
                inside = tail < care - SLACK
                # of two ends of a strip, into wind; of equals the first: rounded, or the last bit of a sine chooses
                by_cross = np.where(inside, np.round((cross + tail * SLACK) / _TIE_KT), np.inf)
                by_tail = np.where(np.isnan(tail), np.inf, np.round((tail + cross * SLACK) / _TIE_KT))
                pick = np.where(
                    inside.any(axis=1),
                    np.argmin(np.where(np.isnan(by_cross), np.inf, by_cross), axis=1),
                    np.argmin(by_tail, axis=1),
                )
                usable = (self.runway_known & self.wind_known)[self._runway_rows.pick]
                done[care] = np.where(usable, pick, -1)
            out[s] = done[care]
        return out

    @cached_property
    def best_end(self) -> Array:
        """Index of the best runway end, shape ``(stages, rows)``; -1 where none is known or no wind is.

        Least worst-case crosswind among ends whose worst-case tailwind is inside the care limit; if there is
        none, least tailwind. Of ends alike in both, the first of the field's list.
        """
        return self._runway_rows.spread(self._best_end)

    def _at_best(self, values: Array, otherwise: Array) -> Array:
        index = self._best_end
        picked = np.take_along_axis(values[None, :, :], np.maximum(index, 0)[:, :, None], axis=2)[:, :, 0]
        otherwise = otherwise[self._runway_rows.pick]
        return self._runway_rows.spread(np.where(index >= 0, picked, otherwise))

    @cached_property
    def crosswind_kt(self) -> Array:
        """Worst crosswind at the best end, ``(stages, rows)``; the full peak where no runway is known."""
        return self._at_best(self._components[0], np.where(self.runway_known, np.nan, self.peak_kt))

    @cached_property
    def tailwind_kt(self) -> Array:
        """Worst tailwind at the best end, ``(stages, rows)``; NaN where no runway is known."""
        return self._at_best(self._components[1], np.full(self.t.n, np.nan))

    @cached_property
    def _best_end_deg(self) -> Array:
        index = np.maximum(self._best_end, 0)
        site = self.t.site[self._runway_rows.pick]
        return np.where(self._best_end >= 0, self.ends_deg[site[None, :], index], np.nan)

    @cached_property
    def best_end_deg(self) -> Array:
        """True bearing of the best end, ``(stages, rows)``."""
        return self._runway_rows.spread(self._best_end_deg)

    @cached_property
    def base_sides(self) -> Array:
        """+1 where an end's pattern is to the left, -1 to the right; shape ``(sites, ends)``."""
        out = np.ones_like(self.ends_deg)
        for i, site in enumerate(self.sites):
            for j, end in enumerate(self.usable_ends[i]):
                side = site.pattern_side or end.pattern_side
                out[i, j] = -1.0 if side == "right" else 1.0
        return out

    @cached_property
    def base_tailwind_kt(self) -> Array:
        """Worst tailwind on base leg of the best end, ``(stages, rows)``, larger of mean and gust."""
        pick = self._runway_rows.pick
        index = np.maximum(self._best_end, 0)
        side = self.base_sides[self.t.site[pick][None, :], index]
        course = self._best_end_deg + 90.0 * side
        _, behind = arc_share(self.t.arc_start_deg[pick], self.t.arc_width_deg[pick], course)
        behind = np.where(self.t.wind_kind[pick] == WindKind.VARIABLE, 0.0, behind)
        return self._runway_rows.spread(np.asarray(behind * self.peak_kt[pick]))

    def open_ends(self, row: int) -> list[tuple[int, RunwayEnd]]:
        """Ends that are open in a row, each with its place in ``usable_ends``."""
        shut = int(self._closed[row])
        return [(j, end) for j, end in enumerate(self.usable_ends[int(self.t.site[row])]) if not shut >> j & 1]

    def end_name(self, stage: int, row: int) -> str:
        """Name of the best runway end of a row, or "unknown"."""
        index = int(self.best_end[stage, row])
        if index < 0:
            return "unknown"
        return self.usable_ends[int(self.t.site[row])][index].name
