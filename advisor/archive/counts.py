"""What a season is counted into: hours by station, month, local hour, stage and lesson. Counts add up."""

from __future__ import annotations

import io
import json
import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from advisor.errors import DataFileError
from advisor.lessons import lessons
from advisor.rules.registry import Suitability, all_rules
from advisor.table import Array
from advisor.teaching import Teaching

MONTHS, HOURS = 12, 24
CELLS = MONTHS * HOURS
#: Stands among the rule codes for "three families of care together".
THREE = "three-families"
#: Fates of the reports of an archive, in the order they are looked at.
FATES = (
    "no_time",
    "unknown_station",
    "dark",
    "not_read",
    "other_station",
    "other_report_of_the_hour",
    "counted",
)


def rule_codes() -> tuple[str, ...]:
    """Codes on the last axis of ``Counts.blocked``."""
    return (*(rule.code for rule in all_rules()), THREE)


@dataclass(slots=True)
class Counts:
    """Hours of an archive, counted.

    Attributes
    ----------
    stations : list of str
        The first axis of every array.
    hours : uint32, shape ``(stations, 288)``
        Daylight hours with a report; the second axis is ``(month - 1) * 24 + local hour``.
    suitability : uint32, shape ``(stations, 288, stages, lessons, 6)``
        Hours by value of ``Suitability``.
    teaching : uint32, shape ``(stations, 288, stages, lessons, 4)``
        Hours by value of ``Teaching``.
    worth : uint32, shape ``(stations, 288, stages, lessons)``
        Hours suited or with care in which the wind teaches some or strong.
    blocked : uint32, shape ``(stations, 288, stages, lessons, rules)``
        Hours that a rule held down to ask first, hold or not rated; rules that tie all count.
    fates : dict
        What became of every report (``FATES``); the values add up to the reports given.
    one_at_a_time : int
        Reports that needed the one-at-a-time decoder.
    unknown : set of str
        Stations that no data describes.
    first_min, last_min : int
        UTC minutes of the first and last report counted; 0 when there is none.
    """

    stations: list[str]
    n_stages: int
    hours: Array
    suitability: Array
    teaching: Array
    worth: Array
    blocked: Array
    fates: dict[str, int] = field(default_factory=lambda: dict.fromkeys(FATES, 0))
    one_at_a_time: int = 0
    unknown: set[str] = field(default_factory=set)
    first_min: int = 0
    last_min: int = 0

    @property
    def reports(self) -> int:
        """Reports given."""
        return sum(self.fates.values())


_ARRAYS = ("hours", "suitability", "teaching", "worth", "blocked")


def empty_counts(stations: list[str], n_stages: int) -> Counts:
    """Nothing counted yet for these stations."""
    shape = (len(stations), CELLS, n_stages, len(lessons()))
    return Counts(
        stations,
        n_stages,
        np.zeros(shape[:2], dtype=np.uint32),
        np.zeros((*shape, len(Suitability)), dtype=np.uint32),
        np.zeros((*shape, len(Teaching)), dtype=np.uint32),
        np.zeros(shape, dtype=np.uint32),
        np.zeros((*shape, len(rule_codes())), dtype=np.uint32),
    )


class Total:
    """Counts added up one after the other, growing by the stations they bring. About 2 MB a station."""

    def __init__(self, n_stages: int) -> None:
        self._sum = empty_counts([], n_stages)
        self._place: dict[str, int] = {}

    def add(self, counts: Counts) -> None:
        """Add one part's counts. Raises ValueError when they were made for other stages."""
        total = self._sum
        if counts.n_stages != total.n_stages:
            raise ValueError(f"counts of {counts.n_stages} stages do not add to counts of {total.n_stages}")
        fresh = [name for name in counts.stations if name not in self._place]
        if fresh:
            more = empty_counts(fresh, total.n_stages)
            self._place.update({name: len(total.stations) + k for k, name in enumerate(fresh)})
            total.stations = total.stations + fresh
            for name in _ARRAYS:
                setattr(total, name, np.concatenate([getattr(total, name), getattr(more, name)]))
        where = [self._place[name] for name in counts.stations]
        for name in _ARRAYS:
            array = getattr(total, name)
            for source, target in enumerate(where):
                array[target] += getattr(counts, name)[source]
        for fate, count in counts.fates.items():
            total.fates[fate] += count
        total.one_at_a_time += counts.one_at_a_time
        total.unknown |= counts.unknown
        if counts.last_min:
            total.first_min = min(total.first_min or counts.first_min, counts.first_min)
            total.last_min = max(total.last_min, counts.last_min)

    def result(self) -> Counts:
        """The sum, stations in alphabetical order."""
        total = self._sum
        order = sorted(range(len(total.stations)), key=total.stations.__getitem__)
        picked = {name: getattr(total, name)[order] for name in _ARRAYS} if total.stations else {}
        out = empty_counts(sorted(total.stations), total.n_stages)
        for name, array in picked.items():
            setattr(out, name, array)
        out.fates, out.one_at_a_time, out.unknown = dict(total.fates), total.one_at_a_time, set(total.unknown)
        out.first_min, out.last_min = total.first_min, total.last_min
        return out


def add_counts(many: Iterable[Counts], n_stages: int) -> Counts:
    """Sum of many counts; the order does not matter."""
    total = Total(n_stages)
    for counts in many:
        total.add(counts)
    return total.result()


def save_counts(counts: Counts, path: Path) -> None:
    """Write counts whole or not at all. Raises DataFileError when the folder cannot be written."""
    facts = {
        "stations": counts.stations, "n_stages": counts.n_stages, "fates": counts.fates,
        "one_at_a_time": counts.one_at_a_time, "unknown": sorted(counts.unknown),
        "first_min": counts.first_min, "last_min": counts.last_min, "rules": list(rule_codes()),
    }  # fmt: skip
    buffer = io.BytesIO()
    arrays = {name: getattr(counts, name) for name in _ARRAYS}
    np.savez_compressed(buffer, facts=np.frombuffer(json.dumps(facts).encode(), dtype=np.uint8), **arrays)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(buffer.getbuffer())
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        raise DataFileError(
            f"{path} cannot be written: {error.strerror or error}. Give another folder."
        ) from error


def load_counts(path: Path) -> Counts | None:
    """Counts saved before; ``None`` when there are none, or they are damaged or of another set of rules."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as stored:
            facts = json.loads(stored["facts"].tobytes())
            arrays = {name: stored[name] for name in _ARRAYS}
    except (OSError, ValueError, KeyError, EOFError):
        return None
    except Exception:  # a torn archive raises its reader's own errors
        return None
    if facts.get("rules") != list(rule_codes()):
        return None
    out = Counts(facts["stations"], facts["n_stages"], **arrays)
    out.fates, out.one_at_a_time, out.unknown = facts["fates"], facts["one_at_a_time"], set(facts["unknown"])
    out.first_min, out.last_min = facts["first_min"], facts["last_min"]
    return out
