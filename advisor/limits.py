"""Limits by stage as arrays: the shipped table, the school's changes, a student's tightening.

Stages are one axis of every rating. A limit is a pair of numbers, care and stop (see ``data/limits.toml``);
here each quantity becomes two arrays of shape ``(stages, 1)``, ready to broadcast over rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import lru_cache
from typing import Any

import numpy as np

from advisor.datafiles import data_toml
from advisor.errors import DataFileError
from advisor.records import dataclass
from advisor.units import FloatArray

STAGES: tuple[str, ...] = ("pre-solo", "solo", "post-solo", "commercial")
SLACK = 1e-6  # comparisons are unrounded with this much slack


@dataclass(frozen=True, slots=True)
class StageSetup:
    """One column of advice: a stage, and whether the person flies alone or is on a first solo."""

    stage: str
    alone: bool = False
    early_solo: bool = False

    @property
    def letter(self) -> str:
        """P, S, A or C."""
        return str(table()["stage"][self.stage]["letter"])

    @property
    def title(self) -> str:
        """Words for the page."""
        if self.stage == "solo":
            return "student alone, one of the first three solos" if self.early_solo else "student alone, signed off"
        words = str(table()["stage"][self.stage]["title"])
        return words.replace("instructor aboard", "certificated pilot alone") if self.alone else words


def stage_setup(stage: str, *, alone: bool = False, certificated: bool = False, early_solo: bool = False) -> StageSetup:
    """Check a stage and its options and make a ``StageSetup``.

    Raises
    ------
    DataFileError
        For an unknown stage, ``alone`` without ``certificated``, or ``early_solo`` away from solo.
    """
    if stage not in STAGES:
        raise DataFileError(f"No stage is called {stage!r}. The stages are {', '.join(STAGES)}.")
    if stage == "solo":
        return StageSetup(stage, alone=True, early_solo=early_solo)
    if early_solo:
        raise DataFileError("--early-solo belongs to --stage solo (the first three solos).")
    if alone and not certificated:
        raise DataFileError(
            "A student alone is --stage solo. A certificated pilot alone adds --certificated to --alone."
        )
    if alone and stage == "pre-solo":
        raise DataFileError("Before the first solo nobody flies alone: leave out --alone, or ask for --stage solo.")
    return StageSetup(stage, alone=alone)


@lru_cache(maxsize=1)
def table() -> dict[str, Any]:
    """The shipped limits file, parsed once."""
    return data_toml("limits.toml")


#: stage -> lesson -> ``mean_wind_kt`` or ``gust_spread_kt`` -> stop in kt.
LessonStops = dict[str, dict[str, dict[str, float]]]


@dataclass(slots=True)
class Changes:
    """Changes to the shipped limits: ``school`` may loosen (flagged), ``own`` only tightens.

    ``school`` maps quantity -> stage -> (care, stop), ``own`` quantity -> (care, stop); ``None`` in a pair leaves that
    value alone. ``lesson_stops`` are the school's own wind stops of single lessons; looser ones are flagged too.
    """

    school: dict[str, dict[str, tuple[float | None, float | None]]] = field(default_factory=dict)
    own: dict[str, tuple[float | None, float | None]] = field(default_factory=dict)
    lesson_stops: LessonStops = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits for the stages asked for.

    ``care`` and ``stop`` map a quantity to float64 of shape ``(stages, 1)``; no limit is +inf for a maximum
    and -inf for a minimum. ``any_gust`` marks stages whose care limit is "any reported gust".
    ``demonstrated`` marks stages whose care limit for a crosswind after the lesson is the aircraft's figure.
    """

    setups: tuple[StageSetup, ...]
    care: Mapping[str, FloatArray]
    stop: Mapping[str, FloatArray]
    any_gust: Mapping[str, np.ndarray[Any, np.dtype[np.bool_]]]
    demonstrated: np.ndarray[Any, np.dtype[np.bool_]]
    fixed: Mapping[str, float]
    loosened: tuple[str, ...] = ()
    tightened: tuple[str, ...] = ()
    changes: Changes | None = None  # what the shipped limits were changed by

    @property
    def alone(self) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """Shape ``(stages,)``: True where the person flies alone."""
        return np.array([s.alone for s in self.setups], dtype=bool)

    @property
    def told(self) -> tuple[str, ...]:
        """Sentences on what was tightened, and on limits of one's own that change nothing. Never raises."""
        out = [f"Tightened: {x}." for x in self.tightened]
        for quantity, mine in (self.changes.own if self.changes is not None else {}).items():
            values = [
                (have[quantity], x) for have, x in zip((self.care, self.stop), mine, strict=True) if x is not None
            ]
            if not any((have == x).any() for have, x in values):
                given = f"{' and '.join(f'{x:,g}' for _, x in values)} {unit_of(quantity)}".strip()
                out.append(f"Your own limit of {given} for {words_of(quantity)} changes nothing: tighter ones stand.")
        return tuple(out)

    def pair(self, quantity: str, stage_index: int) -> tuple[float, float]:
        """Care and stop of one quantity for one stage."""
        return float(self.care[quantity][stage_index, 0]), float(self.stop[quantity][stage_index, 0])


def sense(quantity: str) -> str:
    """``max`` or ``min``."""
    return str(table()["limit"][quantity]["sense"])


def quantities() -> tuple[str, ...]:
    """Names of every limit by stage."""
    return tuple(table()["limit"])


def source_of(quantity: str) -> str:
    """Source key of a quantity or fixed number."""
    if quantity in table()["limit"]:
        return str(table()["limit"][quantity]["source"])
    return str(table()["fixed"][quantity]["source"])


def unit_of(quantity: str) -> str:
    """Unit of a quantity or fixed number."""
    if quantity in table()["limit"]:
        return str(table()["limit"][quantity]["unit"])
    return str(table()["fixed"][quantity]["unit"])


def words_of(quantity: str) -> str:
    """What a page calls a limit by stage."""
    return str(table()["limit"][quantity]["words"])


def _pair_words(care: float, stop: float, unit: str) -> str:
    """``care 12, stop 15 kt``; a value there is no limit for is left out."""
    said = [f"{name} {value:,g}" for name, value in (("care", care), ("stop", stop)) if np.isfinite(value)]
    return f"{', '.join(said)} {unit}".strip()


def shipped_pair(quantity: str, stage: str, early_solo: bool = False) -> tuple[Any, Any]:
    """Pair as printed in the shipped table: numbers or the words "none", "any", "demonstrated"."""
    row = table()["limit"][quantity]
    key = "early-solo" if stage == "solo" and early_solo and "early-solo" in row else stage
    care, stop = row[key]
    return care, stop


def _number(value: Any, high: bool) -> float:
    if isinstance(value, str):
        return np.inf if high else -np.inf
    return float(value)


def make_limits(setups: tuple[StageSetup, ...], changes: Changes | None = None) -> Limits:
    """Limits for these stages.

    Parameters
    ----------
    setups : tuple of StageSetup
        Stages, in the order of the stage axis.
    changes : Changes or None
        School and student changes.

    Returns
    -------
    Limits

    Raises
    ------
    DataFileError
        A change names an unknown quantity, crosses the regulation's floor, or puts stop on the wrong side
        of care; every fault is listed.
    """
    changes = changes or Changes()
    data = table()["limit"]
    faults = [
        f"limits: no limit is called {q!r}; known: {', '.join(data)}."
        for q in (*changes.school, *changes.own)
        if q not in data
    ]
    care: dict[str, FloatArray] = {}
    stop: dict[str, FloatArray] = {}
    any_gust: dict[str, Any] = {}
    loosened: list[str] = []
    tightened: list[str] = []
    demonstrated = np.zeros((len(setups), 1), dtype=bool)
    for quantity, row in data.items():
        high = row["sense"] == "max"
        cares, stops, anys = [], [], []
        for i, setup in enumerate(setups):
            raw_care, raw_stop = shipped_pair(quantity, setup.stage, setup.early_solo)
            c, s, any_word = _number(raw_care, high), _number(raw_stop, high), raw_care == "any"
            if raw_care == "demonstrated":
                demonstrated[i, 0] = True
            new = changes.school.get(quantity, {}).get(setup.stage)
            if new is not None and setup.early_solo and "early-solo" in row:
                # a school's solo limit never widens what the first three solos are held to
                c, s = _tighten(quantity, (c, s), new, high, [])
            elif new is not None:
                c, s, any_word = _apply_school(
                    quantity, setup, (c, s, any_word), new, row, (loosened, tightened), faults
                )
                if new[0] is not None and raw_care == "demonstrated":
                    demonstrated[i, 0] = False
                    loosened.append(
                        f"{row['words']} for {setup.stage}: {_pair_words(c, s, row['unit'])} (in place of the aircraft's own "
                        "figure, above which the shipped limits ask first)"
                    )
            mine = changes.own.get(quantity)
            if mine is not None:
                c, s = _tighten(quantity, (c, s), mine, high, tightened)
            cares.append(c)
            stops.append(s)
            anys.append(any_word)
        care[quantity] = np.array(cares, dtype=np.float64)[:, None]
        stop[quantity] = np.array(stops, dtype=np.float64)[:, None]
        any_gust[quantity] = np.array(anys, dtype=bool)[:, None]
    if faults:
        raise DataFileError("\n".join(dict.fromkeys(faults)))
    _say_lesson_stops(setups, changes, loosened, tightened)
    fixed = {name: float(row["value"]) for name, row in table()["fixed"].items()}
    return Limits(
        setups,
        care,
        stop,
        any_gust,
        demonstrated,
        fixed,
        tuple(dict.fromkeys(loosened)),
        tuple(dict.fromkeys(tightened)),
        changes,
    )


def _say_lesson_stops(
    setups: tuple[StageSetup, ...], changes: Changes, loosened: list[str], tightened: list[str]
) -> None:
    """Put into words where a school's own stop of a lesson differs from the shipped one."""
    column = {"mean_wind_kt": "mean_stop_kt", "gust_spread_kt": "spread_stop_kt"}
    for stage in dict.fromkeys(s.stage for s in setups):
        for lesson, stops in changes.lesson_stops.get(stage, {}).items():
            for what, kt in stops.items():
                shipped = data_toml("lessons.toml")[lesson][column[what]].get(stage, np.inf)
                words = f"{words_of(what)} of {lesson} for {stage}: the school's own stop of {kt:g} kt"
                if kt > shipped:
                    loosened.append(f"{words} (looser than the shipped {shipped:g} kt)")
                elif kt < shipped:
                    tightened.append(f"{words} applies")


def _apply_school(
    quantity: str,
    setup: StageSetup,
    now: tuple[float, float, bool],
    new: tuple[float | None, float | None],
    row: Mapping[str, Any],
    told: tuple[list[str], list[str]],
    faults: list[str],
) -> tuple[float, float, bool]:
    loosened, tightened = told
    high = row["sense"] == "max"
    c = now[0] if new[0] is None else float(new[0])
    s = now[1] if new[1] is None else float(new[1])
    floor = row.get("floor")
    if floor is not None and s < float(floor):
        faults.append(
            f"limits.{setup.stage}.{quantity}: a stop of {s:g} {row['unit']} is looser than the regulation's floor of "
            f"{floor:g} {row['unit']}; set {floor:g} or more."
        )
    if (high and c > s) or (not high and c < s):
        side = "at or below" if high else "at or above"
        faults.append(f"limits.{setup.stage}.{quantity}: care {c:g} must lie {side} stop {s:g} {row['unit']}.")
    looser = (s > now[1] or c > now[0]) if high else (s < now[1] or c < now[0])
    if now[2] and new[0] is not None:
        looser = True
    if looser:
        shipped = "care from any reported gust" if now[2] else _pair_words(*now[:2], "")
        loosened.append(
            f"{row['words']} for {setup.stage}: {_pair_words(c, s, row['unit'])} (looser than the shipped {shipped})"
        )
    elif (c, s) != now[:2]:
        tightened.append(f"{row['words']} for {setup.stage}: the school's own {_pair_words(c, s, row['unit'])}")
    return c, s, now[2] and new[0] is None


def _tighten(
    quantity: str,
    now: tuple[float, float],
    mine: tuple[float | None, float | None],
    high: bool,
    tightened: list[str],
) -> tuple[float, float]:
    pick = min if high else max
    c = now[0] if mine[0] is None else pick(now[0], float(mine[0]))
    s = now[1] if mine[1] is None else pick(now[1], float(mine[1]))
    c = pick(c, s)
    if (c, s) == (pick(*now), now[1]):  # where no care limit is shipped the stop is reached first
        return now
    what = f"limit of {s:,g}" if s != now[1] else f"care limit of {c:,g}"
    tightened.append(f"{words_of(quantity)}: your own {f'{what} {unit_of(quantity)}'.strip()} applies")
    return c, s
