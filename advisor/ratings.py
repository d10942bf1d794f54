"""Ratings of one or many fields: suitability, teaching value, and the cautions behind each.

A rating is the lowest cap any caution puts on it. A caution cites the group it came from and is recomputed, for
shown rows only, from the same quantities the rule judged.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cached_property

import numpy as np

from advisor.aircraft import Aircraft
from advisor.clock import age_words
from advisor.conditions import Conditions
from advisor.lessons import lesson_keys
from advisor.limits import Limits, make_limits, stage_setup
from advisor.records import dataclass
from advisor.rules.context import Context
from advisor.rules.engine import Result, by_cell, cap_index, caps_of, evaluate, first_rows, scopes_of
from advisor.rules.registry import Array, Level, Rule, Suitability, all_rules, find_rule
from advisor.segments import from_minutes
from advisor.table import Layer
from advisor.teaching import Teaching, teaching_rows

_REPORTS = (int(Layer.OBSERVED), int(Layer.PERSISTING))
_LAYER_WORDS: dict[int, str] = {
    Layer.OBSERVED: "observed",
    Layer.PERSISTING: "observed, persisting",
    Layer.PREVAILING: "forecast",
    Layer.BECOMING: "forecast, becoming",
    Layer.POSSIBLE: "forecast, possible",
    Layer.GIVEN: "given",
}


@dataclass(frozen=True, slots=True)
class Caution:
    """What one rule found: the worst row of the hours shown.

    ``caps_at`` is the best suitability it leaves for the stage; ``group`` the report or forecast group it cites.
    """

    code: str
    name: str
    family: str
    level: Level
    caps_at: Suitability
    message: str
    layer: str
    group: str
    start: datetime
    end: datetime
    sources: tuple[str, ...]

    @property
    def is_note(self) -> bool:
        """True when it caps nothing."""
        return self.caps_at == Suitability.SUITED


class Ratings:
    """Suitability and teaching of every stage, lesson and cell.

    Parameters
    ----------
    conditions : Conditions
        One or many fields.
    limits : Limits
        Stages asked for.
    aircraft : Aircraft
        The lesson aircraft.
    """

    def __init__(self, conditions: Conditions, limits: Limits, aircraft: Aircraft) -> None:
        self.conditions = conditions
        self.limits = limits
        self.aircraft = aircraft
        self.context = Context(conditions.table, limits, aircraft, conditions.sites)
        self.result: Result = evaluate(self.context, len(conditions.cell_start_min), keep=True)

    @property
    def suitability(self) -> Array:
        """uint8, ``(stages, lessons, cells)``."""
        return self.result.suitability

    @cached_property
    def teaching(self) -> Array:
        """uint8, ``(stages, lessons, cells)``: the least over groups that are reported or prevail."""
        with np.errstate(invalid="ignore"):
            rows = teaching_rows(self.context)
        solid = ~self.context.possible
        rows = np.where(solid[:, None, :], rows, np.uint8(Teaching.UNKNOWN))
        out = np.full(self.suitability.shape, np.uint8(Teaching.UNKNOWN), dtype=np.uint8)
        cell = self.conditions.table.cell
        starts = first_rows(cell)
        out[..., cell[starts]] = by_cell(np.minimum, rows, starts)
        return out

    @cached_property
    def with_instructor(self) -> tuple[Ratings, int]:
        """Ratings and stage position of the same conditions flown after first solo with the instructor aboard."""
        for i, setup in enumerate(self.limits.setups):
            if setup.stage == "post-solo" and not setup.alone:
                return self, i
        limits = make_limits((stage_setup("post-solo"),), self.limits.changes)
        return Ratings(self.conditions, limits, self.aircraft), 0

    def lowest(self, stage: int, lesson: int, cells: Iterable[int]) -> Suitability:
        """Lowest suitability over some cells; not rated when there are none."""
        picked = list(cells)
        if not picked:
            return Suitability.NOT_RATED
        return Suitability(int(self.suitability[stage, lesson, picked].min()))

    def rows_of(self, cells: Iterable[int]) -> Array:
        """Row positions of some cells; rows lie by cell."""
        wanted, cell = sorted(set(cells)), self.conditions.table.cell
        low, high = (np.searchsorted(cell, wanted, side=side).tolist() for side in ("left", "right"))
        return np.concatenate([np.arange(0), *(np.arange(a, b) for a, b in zip(low, high, strict=True))])

    def cautions(self, stage: int, lesson: int, cells: Iterable[int]) -> list[Caution]:
        """Cautions for one stage and lesson over some cells, worst first.

        Parameters
        ----------
        stage, lesson : int
            Positions on the stage and lesson axes.
        cells : iterable of int
            Cells looked at together (an hour, a window).

        Returns
        -------
        list of Caution
            One for each rule that fired, from its worst row: lowest cap, then the worst figure; notes last.
        """
        cells = list(cells)
        rows = self.rows_of(cells)
        # np.setdiff1d would load numpy.ma
        empty = sorted(set(cells).difference(self.conditions.table.cell[rows].tolist()))
        out = [self._nothing(stage, empty[0], empty[-1])] if empty else []
        if not len(rows):
            return out
        scopes = scopes_of(lesson)
        offset = cap_index(self.context)
        for rule in all_rules():
            level = self.result.levels.get(rule.code)
            if out and rule.code == out[0].code:
                continue
            if level is None or (rule.axes != "lesson" and rule.scope not in scopes):
                continue
            found = self._worst(rule, level, stage, lesson, rows, offset)
            if found is not None:
                out.append(found)
        # the carburettor caution never explains a rating that another caution explains as well
        return sorted(out, key=lambda c: (c.caps_at, c.level == Level.CARE_ONLY, -int(c.level), c.code))

    def reach(self, caution: Caution, stage: int, lesson: int, cells: Iterable[int]) -> list[int]:
        """Those of some cells in which the rule of a caution that is no note caps as low as it says. Never raises."""
        cells = list(cells)
        rows = self.rows_of(cells)
        level = self.result.levels.get(caution.code)
        if level is None:  # an hour that no group reaches
            return sorted(set(cells) - set(self.conditions.table.cell[rows].tolist()))
        here = self._level_here(find_rule(caution.code), level, stage, lesson)
        hit = caps_of(here[rows], cap_index(self.context)[stage, rows]) <= caution.caps_at
        return sorted(set(self.conditions.table.cell[rows[hit]].tolist()))

    def _level_here(self, rule: Rule, level: Array, stage: int, lesson: int) -> Array:
        """Levels of one rule on every row, for one stage and lesson."""
        c = self.context
        if rule.axes == "lesson":
            wide = np.broadcast_to(level, (c.n_stages, len(lesson_keys()), c.t.n))
            return np.asarray(wide[stage, lesson])
        return np.asarray(np.broadcast_to(level, (c.n_stages, c.t.n))[stage])

    def _nothing(self, stage: int, first: int, last: int) -> Caution:
        """The caution about cells that no group at all reaches; it cites the forecast that ended, or the report."""
        c, rule = self.conditions, find_rule("AG03")
        source = c.stations[int(c.cell_site[first])].source
        start, end = from_minutes(int(c.cell_start_min[first])), from_minutes(int(c.cell_end_min[last]))
        taf, metars = source.taf, source.metars
        if taf is not None:
            group = taf.raw
            ended = taf.valid_to <= start
            why = f"the forecast ends at {taf.valid_to:%d %H%MZ}" if ended else "the forecast has no group for it"
        else:
            group = metars[0].raw if metars else ""
            why = "there is no forecast, and a report stands for two hours"
            age_min = c.stations[int(c.cell_site[first])].age_min
            if metars and age_min >= self.limits.fixed["persist_min"]:  # NaN without a report
                why = f"the last report is {age_words(age_min)} old, {why}"
        message = f"no report or forecast that counts reaches this far: {why}"
        cap = Suitability(int(caps_of(np.array([Level.MISSING]), np.zeros(1, dtype=np.intp))[0]))
        return Caution(
            rule.code,
            rule.name,
            rule.family,
            Level.MISSING,
            cap,
            message,
            "not in force",
            group,
            start,
            end,
            rule.sources,
        )

    def layer_words(self, stage: int, row: int, rule: Rule | None = None) -> str:
        """Where a row comes from, as a page says it to this stage; with a rule, where the group it cites comes from."""
        t = self.conditions.table
        if rule is not None and (cited := self._cited(rule, row)) != int(t.group[row]):
            if rule.cites == "air_group":
                return "carried, not forecast"
            own = int(self._first_row[cited])
            return self.layer_words(stage, own) if own >= 0 else "forecast"
        layer = int(t.layer[row])
        if layer in _REPORTS and self.context.possible[stage, row]:
            return "observed, too old to count"
        return _LAYER_WORDS[layer]

    @cached_property
    def _first_row(self) -> Array:
        """First row of each group, -1 for a group without one."""
        group = self.conditions.table.group
        out = np.full(len(self.conditions.table.groups), -1, dtype=np.int64)
        out[group[::-1]] = np.arange(len(group))[::-1]
        return out

    def cited(self, rule: Rule, row: int) -> str:
        """The report or forecast group a caution of this rule cites for a row."""
        return self.conditions.table.groups[self._cited(rule, row)]

    def _cited(self, rule: Rule, row: int) -> int:
        t = self.conditions.table
        cited = int(getattr(t, rule.cites)[row])
        return cited if cited >= 0 else int(t.group[row])

    def _worst(self, rule: Rule, level: Array, stage: int, lesson: int, rows: Array, offset: Array) -> Caution | None:
        here = self._level_here(rule, level, stage, lesson)
        picked = here[rows]
        if not picked.any():
            return None
        caps = caps_of(picked, offset[stage, rows]).astype(np.int64)
        figure = self.context.figure(rule)
        keys = [-picked.astype(np.int64), caps]
        if figure is not None:
            keys.insert(0, -figure[stage, rows])
        worst = rows[np.lexsort(keys)[0]]
        if here[worst] == Level.QUIET:
            worst = rows[np.argmax(picked)]
        t = self.conditions.table
        words = self.layer_words(stage, int(worst), rule)
        with np.errstate(invalid="ignore"):
            message = rule.say(self.context, stage, lesson, int(worst))
        return Caution(
            rule.code,
            rule.name,
            rule.family,
            Level(int(here[worst])),
            Suitability(int(caps_of(here[worst : worst + 1], offset[stage, worst : worst + 1])[0])),
            message,
            words,
            t.groups[self._cited(rule, int(worst))],
            from_minutes(int(t.start_min[worst])),
            from_minutes(int(t.end_min[worst])),
            rule.sources,
        )
