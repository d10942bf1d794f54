"""What a season is counted into: hours by station, month, local hour, stage and lesson. Counts add up."""

from __future__ import annotations

import io
import json
import os
import tempfile
from collections.abc import Iterable
from dataclasses import field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from advisor.errors import DataFileError
from advisor.lessons import lessons
from advisor.records import dataclass
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
    """Codes on the last axis of the tally ``blocked``."""
    return (*(rule.code for rule in all_rules()), THREE)


#: Places and how often each was counted, uint32 both; places in order, zeros left out.
Tally = tuple[Array, Array]


def tally_depth() -> dict[str, int]:
    """What is counted by cell, stage and lesson, with the length of its last axis."""
    return {
        "suitability": len(Suitability),  # hours by value of Suitability
        "teaching": len(Teaching),  # hours by value of Teaching
        "worth": 1,  # hours suited or with care in which the wind teaches some or strong
        "blocked": len(
            rule_codes()
        ),  # hours a rule held down to ask first, hold or not rated; rules that tie all count
    }


@dataclass(slots=True)
class StationCounts:
    """One station's hours.

    Attributes
    ----------
    hours : uint32, shape ``(288,)``
        Daylight hours with a report, by ``(month - 1) * 24 + local hour``.
    tallies : dict of Tally
        By the names of ``tally_depth``; a place counts along ``(288, stages, lessons, depth)``. Kept sparse: most
        rules never hold most hours, and a network has hundreds of stations.
    """

    hours: Array
    tallies: dict[str, Tally]


@dataclass(slots=True)
class Counts:
    """Hours of an archive, counted.

    Attributes
    ----------
    n_stages : int
        Length of the stage axis.
    by_station : dict of StationCounts
        What was counted of each station.
    fates : dict
        What became of every report (``FATES``); the values add up to the reports given.
    one_at_a_time : int
        Reports that needed the one-at-a-time decoder.
    unknown : set of str
        Stations that no data describes.
    first_min, last_min : int
        UTC minutes of the first and last report counted; 0 when there is none.
    """

    n_stages: int
    by_station: dict[str, StationCounts] = field(default_factory=dict)
    fates: dict[str, int] = field(default_factory=lambda: dict.fromkeys(FATES, 0))
    one_at_a_time: int = 0
    unknown: set[str] = field(default_factory=set)
    first_min: int = 0
    last_min: int = 0

    @property
    def stations(self) -> list[str]:
        """Stations of which an hour was counted."""
        return list(self.by_station)

    @property
    def reports(self) -> int:
        """Reports given."""
        return sum(self.fates.values())

    def dense(self, name: str, station: str) -> Array:
        """One station's tally with its zeros: int64, shape ``(288, stages, lessons, depth)``; up to 6 MB."""
        places, times = self.by_station[station].tallies[name]
        out = np.zeros((CELLS, self.n_stages, len(lessons()), tally_depth()[name]), dtype=np.int64)
        out.reshape(-1)[places] = times
        return out


def tally(places: Array, per_station: int, n_stations: int) -> list[Tally]:
    """Count places, station after station.

    Parameters
    ----------
    places : int64
        ``station * per_station + place``, any shape.
    per_station, n_stations : int
        Places of one station, and stations.

    Returns
    -------
    list of Tally
        One for each station.
    """
    flat, size = places.reshape(-1), per_station * n_stations
    if flat.size * 16 < size:  # many stations of few hours: an array of them all would be mostly zeros
        found, times = np.unique(flat, return_counts=True)
    else:
        full = np.bincount(flat, minlength=size)
        found = np.flatnonzero(full)
        times = full[found]
    cut = np.searchsorted(found, np.arange(n_stations + 1) * per_station).tolist()
    return [
        ((found[a:b] - k * per_station).astype(np.uint32), times[a:b].astype(np.uint32))
        for k, (a, b) in enumerate(pairwise(cut))
    ]


def _added(a: Tally, b: Tally) -> Tally:
    places, times = (np.concatenate(pair) for pair in zip(a, b, strict=True))
    if not places.size:
        return a
    order = np.argsort(places, kind="stable")
    places = places[order]
    starts = np.flatnonzero(np.r_[True, places[1:] != places[:-1]])
    return places[starts], np.add.reduceat(times[order], starts)


class Total:
    """Counts added up one after the other, growing by the stations they bring."""

    def __init__(self, n_stages: int) -> None:
        self._sum = Counts(n_stages)

    def add(self, counts: Counts) -> None:
        """Add one part's counts. Raises ValueError when they were made for other stages."""
        total = self._sum
        if counts.n_stages != total.n_stages:
            raise ValueError(f"counts of {counts.n_stages} stages do not add to counts of {total.n_stages}")
        for name, more in counts.by_station.items():
            known = total.by_station.get(name)
            if known is not None:
                sums = {key: _added(known.tallies[key], more.tallies[key]) for key in known.tallies}
                more = StationCounts(known.hours + more.hours, sums)
            total.by_station[name] = more
        for fate, count in counts.fates.items():
            total.fates[fate] += count
        total.one_at_a_time += counts.one_at_a_time
        total.unknown |= counts.unknown
        if counts.last_min:
            total.first_min = min(total.first_min or counts.first_min, counts.first_min)
            total.last_min = max(total.last_min, counts.last_min)

    def result(self) -> Counts:
        """The sum so far, stations in alphabetical order."""
        total = self._sum
        return Counts(
            total.n_stages, dict(sorted(total.by_station.items())), dict(total.fates), total.one_at_a_time,
            set(total.unknown), total.first_min, total.last_min,
        )  # fmt: skip


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
    found = list(counts.by_station.values())
    arrays: dict[str, Any] = {"hours": np.array([one.hours for one in found], dtype=np.uint32).reshape(-1, CELLS)}
    for name in tally_depth():
        both = [one.tallies[name] for one in found]
        arrays[f"{name}.length"] = np.array([len(places) for places, _ in both], dtype=np.int64)
        for k, part in enumerate(("places", "times")):
            arrays[f"{name}.{part}"] = np.concatenate([one[k] for one in both] or [np.zeros(0, np.uint32)])
    buffer = io.BytesIO()
    np.savez(buffer, facts=np.frombuffer(json.dumps(facts).encode(), dtype=np.uint8), **arrays)
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
        raise DataFileError(f"{path} cannot be written: {error.strerror or error}. Give another folder.") from error


def load_counts(path: Path) -> Counts | None:
    """Counts saved before; ``None`` when there are none, or they are damaged or of another set of rules."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as stored:
            facts = json.loads(stored["facts"].tobytes())
            if facts.get("rules") != list(rule_codes()):
                return None
            found = [StationCounts(hours, {}) for hours in stored["hours"]]
            for name in tally_depth():
                places, times = stored[f"{name}.places"], stored[f"{name}.times"]
                cuts = np.cumsum(np.r_[0, stored[f"{name}.length"]]).tolist()
                for one, (a, b) in zip(found, pairwise(cuts), strict=True):
                    one.tallies[name] = (places[a:b], times[a:b])
            by_station = dict(zip(facts["stations"], found, strict=True))
    except Exception:  # missing, torn or foreign: the reader of the format raises errors of many kinds
        return None
    return Counts(
        facts["n_stages"], by_station, facts["fates"], facts["one_at_a_time"], set(facts["unknown"]),
        facts["first_min"], facts["last_min"],
    )  # fmt: skip
