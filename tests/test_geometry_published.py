"""Geometry and air against values other people published: expectation, tolerance and source read from the row.

A row recalled and not re-read carries MEMORY in its test id. Where the published value is known to be rounded or
wrong, a second test shows that ours is the exact one and not the published one.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from advisor import units
from advisor.atmosphere import (
    density_altitude_rule_ft,
    isa_temperature_c,
    pressure_altitude_ft,
    pressure_ratio,
)
from advisor.flight import turns
from advisor.flight.demand import LEFT, RIGHT, WindRange
from advisor.flight.pattern import runway_components
from advisor.flight.pylons import handbook_pivotal_ft
from advisor.flight.rectangle import rectangle
from advisor.flight.wind_triangle import fly_heading, solve, wind_from_track
from advisor.limits import table
from advisor.present.standing import EXTRAPOLATED

TABLE = Path(__file__).parent.parent / "shared" / "published_values.csv"
ROWS = {row["id"]: row for row in csv.DictReader(TABLE.read_text("utf-8").splitlines())}
SEA_LEVEL_INHG = 29.9213  # 1013.25 hPa, source key us-standard-atmosphere


def number(text: str, name: str) -> float:
    found = re.search(rf"(?<!\w){name}=(-?[\d.]+)", text)
    assert found, f"no {name} in {text!r}"
    return float(found[1])


def wind(text: str) -> tuple[float, float]:
    found = re.search(r"wind=(\d+)/([\d.]+)", text)
    assert found, text
    return float(found[1]), float(found[2])


def pivotal(text: str) -> float:
    return float(handbook_pivotal_ft(number(text, "gs_kt"))) * 11.3


def triangle_gs(text: str) -> float:
    from_deg, kt = wind(text)
    if "hdg=" in text:
        return float(fly_heading(number(text, "tas_mph"), from_deg, kt, number(text, "hdg")).groundspeed_kt)
    return float(solve(number(text, "tas"), from_deg, kt, number(text, "tc")).groundspeed_kt)


def no_cosine_gs(text: str) -> float:
    """What the workbook computes: airspeed less the headwind share, the cosine of the crab left out."""
    from_deg, kt = wind(text)
    return number(text, "tas") - float(runway_components(from_deg, kt, number(text, "course")).headwind_kt)


def found_wind(text: str) -> float:
    args = (number(text, n) for n in ("tas_mph", "th", "tc", "gs"))
    return float(wind_from_track(*args).speed_kt)


#: topic -> our value from the row's inputs, in the row's unit. A row with a constant of its own is rescaled to it.
HOW: dict[str, Callable[[str], float]] = {
    "pivotal_altitude": lambda t: pivotal(t) / (number(t, "constant") if "constant" in t else 11.3),
    "turn_radius": lambda t: (
        float(turns.radius_ft(number(t, "tas_kt"), number(t, "bank_deg")))
        * units.TURN_CONSTANT_KT2_PER_FT
        / number(t, "constant")
    ),
    "turn_rate": lambda t: (
        float(turns.turn_rate_deg_s(number(t, "tas_kt"), number(t, "bank_deg")))
        * (number(t, "constant") / turns.RATE_CONSTANT_KT_DEG_S if "constant" in t else 1.0)
    ),
    "standard_rate_bank": lambda t: float(
        np.interp(
            number(t, "rate"),
            turns.turn_rate_deg_s(number(t, "tas_kt"), np.arange(0.0, 45.0, 0.01)),
            np.arange(0.0, 45.0, 0.01),
        )
    ),
    "load_factor": lambda t: float(turns.load_factor(number(t, "bank_deg"))),
    "wind_triangle_gs": triangle_gs,
    "wind_triangle_gs_approx": no_cosine_gs,
    "wind_from_track_spd": found_wind,
    "sixths_rule": lambda t: float(runway_components(number(t, "angle"), 1.0, 0.0).crosswind_kt),
    "isa_temp": lambda t: float(units.c_to_f(isa_temperature_c(number(t, "alt_ft")))),
    "isa_pressure": lambda t: SEA_LEVEL_INHG * float(pressure_ratio(number(t, "alt_ft"))),
    "pressure_altitude": lambda t: float(pressure_altitude_ft(number(t, "elev_ft"), number(t, "altimeter"))),
    "density_altitude": lambda t: float(
        density_altitude_rule_ft(number(t, "pa_ft"), number(t, "oat_c"), number(t, "elev_ft"))
    ),
}
NUMERIC = [row for row in ROWS.values() if row["topic"] in HOW]


def test_every_topic_is_met():
    """A topic that vanishes from the table would otherwise be tested no more, silently."""
    assert {row["topic"] for row in NUMERIC} == set(HOW)
    assert len(NUMERIC) >= 29


@pytest.mark.parametrize("row", NUMERIC, ids=lambda r: f"{r['id']}-{r['topic']}-{r['seen_or_memory']}")
def test_published_value(row: dict[str, str]):
    ours = HOW[row["topic"]](row["inputs"])
    assert ours == pytest.approx(float(row["expected"]), abs=float(row["tolerance"])), row["source"]


# Published figures that are rounded or leave something out: id, our value, exact, how close to be. The exact
# figures follow from exact units (source keys exact-units, derived).
NOT_THE_PUBLISHED = [
    ("CV023", lambda: handbook_pivotal_ft(100.0), 885.0, 1.0),  # constant 11.23
    ("CV033", lambda: turns.radius_ft(240.0, 30.0), 8833.3, 1.0),  # constant 11.26
    ("CV054", lambda: turns.load_factor(80.0), 5.7588, 0.001),  # test table prints 5.747
    ("CV069", lambda: wind_from_track(165.0, 104.0, 94.0, 146.0).speed_kt, 33.1, 0.1),  # read off a dial
    ("CV081", lambda: solve(96.0, 90.0, 15.0, 0.0).groundspeed_kt, 94.8, 0.1),  # no cosine of the crab
    ("CV085", lambda: solve(204.0, 40.0, 40.0, 131.0).groundspeed_kt, 200.7, 0.1),  # no cosine of the crab
]


@pytest.mark.parametrize(("ident", "ours", "exact", "close"), NOT_THE_PUBLISHED, ids=lambda x: str(x)[:5])
def test_the_exact_value_and_not_the_published_one(ident: str, ours: Callable[[], float], exact: float, close: float):
    value = float(ours())
    assert value == pytest.approx(exact, abs=close)
    assert abs(value - float(ROWS[ident]["expected"])) > close


CORNERS = [row for row in ROWS.values() if row["topic"].startswith("rect_course")]


@pytest.mark.parametrize("side", [LEFT, RIGHT])
@pytest.mark.parametrize("row", CORNERS, ids=lambda r: f"{r['id']}-{r['topic']}-{r['seen_or_memory']}")
def test_corners_of_the_handbook(row: dict[str, str], side: int):
    name = re.search(r"corner=([\w>-]+)", row["inputs"])
    assert name
    laid = rectangle(90.0, WindRange(12.0, 18.0, 0.0), 180.0, side, 1500.0)
    (corner,) = (c for c in laid.corners if c.name == name[1].replace("->", " to "))
    expected = row["expected"]
    if expected == ">90":
        assert corner.turn_deg[0] > 90.0, row["source"]
    elif expected == "<90":
        assert corner.turn_deg[1] < 90.0, row["source"]
    else:
        start, runs = expected.split(", ")
        assert corner.words.startswith(f"{start}, {runs}"), row["source"]
        falls = corner.bank_leaving_deg[1] < corner.bank_entering_deg[0]
        assert falls is (runs == "shallowing")


def test_all_four_rows_of_corners_are_met():
    assert sorted(row["id"] for row in CORNERS) == ["CV143", "CV144", "CV146", "CV147"]


def test_power_law_rows():
    numbers = table()["height_wind"]
    steepest = float(ROWS["CV314"]["expected"])  # EPA: cloudless night
    for name in ("stable", "overcast", "windy", "mixed"):
        assert 1.0 < numbers[name]["factor"] <= (1000.0 / 33.0) ** steepest, ROWS["CV314"]["source"]
    said = re.search(r"about (\d+) ft", EXTRAPOLATED)
    assert said
    limit_ft = float(ROWS["CV315"]["expected"]) / units.M_PER_FT
    assert float(said[1]) == pytest.approx(limit_ft, abs=10.0), ROWS["CV315"]["source"]


def test_steepest_bank_of_the_handbook():
    row = ROWS["CV356"]
    assert float(table()["fixed"]["exit_bank_deg"]["value"]) == float(row["expected"]), row["source"]
