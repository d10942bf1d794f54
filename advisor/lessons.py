"""The nine lessons as data: stages they are taught at, their own wind stops, words for the briefing."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from advisor.datafiles import data_toml
from advisor.errors import UnknownLesson
from advisor.limits import Changes, StageSetup
from advisor.records import dataclass
from advisor.units import FloatArray


@dataclass(frozen=True, slots=True)
class Lesson:
    """One lesson. ``shape``: line, circle, pylon or pattern. Missing stages are not taught it."""

    key: str
    title: str
    shape: str
    at_height: bool
    purpose: str
    mean_stop_kt: dict[str, float]
    spread_stop_kt: dict[str, float]
    stage_note: dict[str, str]
    after: tuple[str, ...]
    entry: str
    look_for: str
    errors: tuple[str, ...]
    source: str

    def taught(self, stage: str) -> bool:
        """True when the lesson is taught at that stage."""
        return stage in self.mean_stop_kt

    @property
    def exit_bank(self) -> str:
        """Name of the bank in the table of limits at which one leaves and begins again: lower round pylons."""
        pylons = self.shape == "pylon" or self.key == "eights-around-pylons"
        return "exit_bank_pylons_deg" if pylons else "exit_bank_deg"


@lru_cache(maxsize=1)
def _file() -> dict[str, Any]:
    return data_toml("lessons.toml")


def preference(stage: str) -> tuple[str, ...]:
    """Lessons an instructor reaches for first at a stage, when the day suits several."""
    return tuple(_file()["preference"][stage])


@lru_cache(maxsize=1)
def lessons() -> tuple[Lesson, ...]:
    """All lessons in teaching order."""
    raw = {key: row for key, row in _file().items() if key != "preference"}
    return tuple(
        Lesson(
            key=key,
            title=row["title"],
            shape=row["shape"],
            at_height=row["at_height"],
            purpose=row["purpose"],
            mean_stop_kt={k: float(v) for k, v in row["mean_stop_kt"].items()},
            spread_stop_kt={k: float(v) for k, v in row["spread_stop_kt"].items()},
            stage_note=row.get("stage_note", {}),
            after=tuple(row["after"]),
            entry=row["entry"],
            look_for=row["look_for"],
            errors=tuple(row["errors"]),
            source=row["source"],
        )
        for key, row in raw.items()
    )


def lesson(key: str) -> Lesson:
    """The lesson of that name.

    Raises
    ------
    UnknownLesson
        With the known names.
    """
    for candidate in lessons():
        if candidate.key == key:
            return candidate
    raise UnknownLesson(f"No lesson is called {key!r}. The lessons are {', '.join(x.key for x in lessons())}.")


def lesson_keys() -> tuple[str, ...]:
    """Names of all lessons in teaching order."""
    return tuple(x.key for x in lessons())


def own_stops_kt(lesson: Lesson, stage: str, changes: Changes | None = None) -> tuple[float, float]:
    """A lesson's own stops for the mean wind and the gust spread, the school's where it set them; +inf for none."""
    stops = changes.lesson_stops.get(stage, {}).get(lesson.key, {}) if changes is not None else {}
    mean = stops.get("mean_wind_kt", lesson.mean_stop_kt.get(stage, np.inf))
    return mean, stops.get("gust_spread_kt", lesson.spread_stop_kt.get(stage, np.inf))


def mean_stops_kt(setups: tuple[StageSetup, ...], changes: Changes | None = None) -> FloatArray:
    """Mean-wind stop, shape ``(stages, lessons, 1)``; +inf where the lesson is not taught."""
    rows = [[own_stops_kt(x, s.stage, changes)[0] for x in lessons()] for s in setups]
    return np.array(rows, dtype=np.float64)[:, :, None]


def spread_stops_kt(setups: tuple[StageSetup, ...], changes: Changes | None = None) -> FloatArray:
    """Gust-spread stop, shape ``(stages, lessons, 1)``; +inf where there is none."""
    rows = [[own_stops_kt(x, s.stage, changes)[1] for x in lessons()] for s in setups]
    return np.array(rows, dtype=np.float64)[:, :, None]


def taught(setups: tuple[StageSetup, ...]) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Shape ``(stages, lessons)``."""
    return np.array([[x.taught(s.stage) for x in lessons()] for s in setups], dtype=bool)
