"""Rule cases as data: reports and values either side of each limit, judged by the rules in whole tables.

A *series* of ``fixtures/cases/rules/*.toml`` names a rule, a report with a place for a value, and for each stage
the values at which the rule must return each level. The values are written from the table of limits by hand. All
series are decoded once into one table for each aircraft, so that a changed limit is judged in milliseconds.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from advisor.aircraft import Aircraft
from advisor.lessons import lesson_keys
from advisor.limits import StageSetup, make_limits
from advisor.places import RunwayEnd
from advisor.rules.context import Context
from advisor.rules.engine import level_shape
from advisor.rules.registry import Array, Level, find_rule
from advisor.site import Site
from advisor.table import COLUMNS, Layer, Table
from advisor.teaching import Teaching, teaching_rows
from tests.day_case import TRAINER
from tests.fields import conditions
from tests.fields import field as made_up_field

FOLDER = Path(__file__).parent.parent / "fixtures" / "cases" / "rules"
#: Letters of the stage axis; E is a student on one of the first three solos, B a certificated pilot alone.
LETTERS = "PSACEB"
SETUPS = (
    StageSetup("pre-solo"),
    StageSetup("solo", alone=True),
    StageSetup("post-solo"),
    StageSetup("commercial"),
    StageSetup("solo", alone=True, early_solo=True),
    StageSetup("post-solo", alone=True),
)
AIRCRAFT = {
    "trainer": TRAINER,  # demonstrated crosswind 12 kt
    "sturdy": Aircraft("sturdy", 90.0, 48.0, 40.0),  # its own crosswind figure is above every limit
}
LEVELS = {level.name.lower(): level for level in Level}
TEACHING = {t.words: t for t in Teaching}
_PLACE = re.compile(r"\{v(?:([+-])([\d.]+))?(?::([^}]+))?\}")


@dataclass(slots=True)
class Bench:
    """Rows of all cases that share an aircraft, with what each must come to."""

    aircraft: Aircraft
    tables: list[Table] = field(default_factory=list)
    sites: list[Site] = field(default_factory=list)
    given: dict[str, dict[int, float]] = field(default_factory=dict)  # quantities of the context, by row
    expect: dict[tuple[str, int], list[tuple[int, int, int, str]]] = field(default_factory=dict)
    """(rule, lesson or -1) -> (stage, row, level, name of the case)."""
    n: int = 0
    _table: Table | None = None

    def add(self, table: Table, site: Site, given: dict[str, float]) -> int:
        """Add one row; returns its position."""
        row = self.n
        self.tables.append(table.with_columns(site=len(self.sites)))
        self.sites.append(site)
        for name, value in given.items():
            self.given.setdefault(name, {})[row] = value
        self.n += 1
        return row

    @property
    def table(self) -> Table:
        """All rows."""
        if self._table is None:
            columns = {name: np.concatenate([getattr(t, name) for t in self.tables]) for name in COLUMNS}
            columns["cell"] = np.arange(self.n)
            self._table = Table(self.n, ["a made-up group"], **{**columns, "group": 0})
            self.tables = []
        return self._table

    def context(self) -> Context:
        """The rows under the limits as they are now."""
        out = Context(self.table, make_limits(SETUPS), self.aircraft, self.sites)
        with np.errstate(invalid="ignore"):
            for name, values in self.given.items():
                whole = np.array(getattr(out, name), dtype=np.float64)
                for row, value in values.items():
                    whole[..., row] = value
                out.__dict__[name] = whole  # a quantity whose own formula is tested elsewhere
        return out

    def faults(self, only: Iterable[str] | None = None) -> list[str]:
        """Every case that is not met."""
        context = self.context()
        out: list[str] = []
        teaching: Array | None = None
        with np.errstate(invalid="ignore"):
            for (code, lesson), cases in self.expect.items():
                if only is not None and code not in only:
                    continue
                if code == "possible":
                    got = context.possible.astype(np.uint8)
                elif code == "teaching":
                    teaching = teaching_rows(context) if teaching is None else teaching
                    got = teaching[:, lesson]
                else:
                    rule = find_rule(code)
                    level = level_shape(rule, rule.level(context), context.n_stages, self.n)
                    got = level[:, lesson] if rule.axes == "lesson" else level
                stage, row, wanted = (np.array(x) for x in list(zip(*cases, strict=True))[:3])
                for i in np.flatnonzero(got[stage, row] != wanted):
                    out.append(f"{cases[i][3]}: {int(got[stage[i], row[i]])}, wanted {int(wanted[i])}")
        return out


def filled(text: str, value: float) -> str:
    """A template with its ``{v}``, ``{v+10}`` and ``{v:02d}`` filled in."""

    def one(match: re.Match[str]) -> str:
        sign, by, form = match.groups()
        x = value + (float(by) if sign == "+" else -float(by)) if sign else value
        whole = int(x) if x == int(x) else x
        return format(whole, form or "")

    return _PLACE.sub(one, text)


def _number(given: Any, value: float) -> float:
    return float(filled(given, value)) if isinstance(given, str) else float(given)


def site_of(series: dict[str, Any]) -> Site:
    """The made-up field, with runways given by true bearing where a case needs exact components."""
    if "ends_deg_true" not in series:
        return made_up_field(**{k: series[k] for k in ("runways", "runway", "pattern") if k in series})
    ends = tuple(RunwayEnd(f"{round(d / 10) or 36:02d}", float(d), 3000, "asphalt") for d in series["ends_deg_true"])
    plain = made_up_field()
    return Site(plain.station, ends, None, series.get("runway"), series.get("pattern"), made_up=True)


def row_of(series: dict[str, Any], value: float) -> tuple[Table, Site]:
    """One row: the report (or the named layer of the forecast) at ``now``, with columns set as the case says."""
    site = site_of(series)
    report = series.get("report")
    c = conditions(
        filled(report, value) if report else None,
        filled(series["taf"], value) if "taf" in series else None,
        at=series.get("at", "17:53"),
        now=series.get("now", "18:00"),
        month=series.get("month", 4),
        site=site,
    )
    table = c.table.take(c.table.cell == 0)
    layer = Layer[series["layer"].upper()] if "layer" in series else Layer.OBSERVED
    picked = np.flatnonzero(table.layer == layer)
    assert len(picked) == 1, f"{series['about']}: {len(picked)} rows of the layer {layer.name}"
    table = table.take(picked)
    changes = {k: np.array([_number(v, value)]).astype(COLUMNS[k][0]) for k, v in series.get("set", {}).items()}
    return table.with_columns(**changes), site


def series_of(path: Path) -> list[dict[str, Any]]:
    """Series of one file; a ``quiet``/``fires`` pair of texts is a series of two reports."""
    return list(tomllib.loads(path.read_text("utf-8")).get("series", []))


def all_series() -> list[dict[str, Any]]:
    """Every series of every file."""
    return [{**s, "file": path.name} for path in sorted(FOLDER.glob("*.toml")) for s in series_of(path)]


def _levels(series: dict[str, Any]) -> dict[str, int]:
    if series["rule"] == "possible":
        return {"solid": 0, "possible": 1}
    return {k: int(v) for k, v in (TEACHING if series["rule"] == "teaching" else LEVELS).items()}


def _expected(series: dict[str, Any]) -> list[tuple[str, int, float, dict[str, Any]]]:
    """(stage letters, level, value, the series with its report) for every value and text of a series."""
    words = _levels(series)
    out = []
    for letters, by_level in series["levels"].items():
        for word, values in by_level.items():
            for value in values:
                one = series if not isinstance(value, str) else {**series, "report": value}
                out.append((letters, words[word], 0.0 if isinstance(value, str) else float(value), one))
    return out


@lru_cache(maxsize=1)
def benches() -> dict[str, Bench]:
    """All series as tables, one for each aircraft."""
    out = {name: Bench(aircraft) for name, aircraft in AIRCRAFT.items()}
    known: dict[tuple[str, int, float, str], int] = {}
    for number, series in enumerate(all_series()):
        bench = out[series.get("aircraft", "trainer")]
        lessons = series.get("lessons", [None])
        for letters, level, value, one in _expected(series):
            key = (bench.aircraft.name, number, value, one.get("report", ""))
            if key not in known:
                table, site = row_of(one, value)
                known[key] = bench.add(table, site, {k: _number(v, value) for k, v in one.get("given", {}).items()})
            row = known[key]
            for lesson in lessons:
                index = -1 if lesson is None else lesson_keys().index(lesson)
                text = filled(one.get("report") or one.get("taf", ""), value)
                for letter in letters:
                    name = f"{one['file']} {series['rule']} {one['about']}: {letter} {lesson or ''} {value:g} [{text}]"
                    bench.expect.setdefault((series["rule"], index), []).append(
                        (LETTERS.index(letter), row, level, name)
                    )
    return out


def faults(only: Iterable[str] | None = None) -> list[str]:
    """Every case that is not met under the limits as they are now."""
    return [text for bench in benches().values() for text in bench.faults(only)]
