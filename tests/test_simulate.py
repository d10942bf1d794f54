"""The integrator against closed forms it does not know, and the two classic errors."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

from advisor.errors import GeometryError
from advisor.flight import astray, circle, simulate, turns
from tests.source_tree import PACKAGE


def test_it_shares_nothing_with_the_lessons():
    """A proof that borrows the formula it proves is none: only units and errors may be imported."""
    names: set[str | None] = set()
    for name in ("simulate.py", "astray.py"):
        tree = ast.parse((Path(PACKAGE) / "flight" / name).read_text("utf-8"))
        names |= {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        names |= {a.name for node in ast.walk(tree) if isinstance(node, ast.Import) for a in node.names}
    assert names - {"advisor.flight.simulate"} <= {
        "__future__",
        "collections.abc",
        "typing",
        "numpy",
        "numpy.typing",
        "advisor",
        "advisor.errors",
    }


def test_calm_turn_closes_in_the_time_of_the_textbook():
    """100 kt at 30 degrees: 57 s for 360 degrees, 467 m radius (open training text, read)."""
    seconds = 360 / float(turns.turn_rate_deg_s(100, 30))
    flown = simulate.fly_bank(lambda _: 30.0, 100, 0, 0, 0, seconds)
    assert seconds == pytest.approx(57, abs=0.5)
    assert flown.heading_deg[-1] == pytest.approx(360)
    assert np.ptp(flown.north_ft) / 2 * 0.3048 == pytest.approx(467, rel=0.01)
    assert np.hypot(flown.east_ft[-1], flown.north_ft[-1]) < 0.01


def test_constant_bank_ends_downwind():
    """90 kt, 30 degrees, 15 kt: about 1,300 ft a turn, straight downwind (handbook in words, number derived)."""
    flown = astray.constant_bank_round_a_point(90, 0, 15, 30, 1320, -1, turns=1)
    assert flown.east_ft[-1] == pytest.approx(-1320, abs=0.1)
    assert flown.north_ft[-1] == pytest.approx(-float(circle.constant_bank_drift(90, 15, 30).drift_ft), abs=0.1)
    assert float(astray.radius_error_ft(flown, 1320)) > 500


def test_no_crab_drifts_off_the_line():
    """30 kt straight across for an hour is 30 NM (worked example, read); here a minute of it is half a mile."""
    flown = astray.no_crab_along_a_line(90, 270, 30, 0, 60)
    assert astray.off_line_ft(flown, 0)[-1] == pytest.approx(0.5 * 6076.115, abs=0.1)  # wind from the left: right
    assert astray.off_line_ft(flown, 180)[-1] == pytest.approx(-0.5 * 6076.115, abs=0.1)


def test_bank_after_the_groundspeed_alone_drifts():
    """Bank in proportion to groundspeed, not to its square, leaves the circle by hundreds of feet (derived)."""
    steepest, wind = float(circle.steepest_bank_deg(90, 20, 1500)), 20

    def law(state: simulate.State) -> float:
        return -steepest * state.groundspeed_kt / 110.0

    flown = simulate.fly_bank(law, 90, 0, wind, 180, float(circle.seconds_per_circle(90, wind, 1500)), east_ft=-1500)
    assert float(astray.radius_error_ft(flown, 1500)) > 200


def test_dropping_the_cosine_shows():
    """The handbook form without the crab: out to 1,345 ft at 15 kt and 1,391 at 25 (derived)."""
    for wind, largest in ((15, 1345), (25, 1391)):
        flown = simulate.fly_bank(
            lambda s: -turns.bank_for_circle_deg(s.groundspeed_kt, 1320),
            90,
            0,
            wind,
            180,
            float(circle.seconds_per_circle(90, wind, 1320)),
            east_ft=-1320,
        )
        assert np.hypot(flown.east_ft, flown.north_ft).max() == pytest.approx(largest, abs=3)


def test_many_at_once_are_the_same_as_one():
    winds = np.array([0.0, 10.0, 20.0])
    many = simulate.fly_bank(lambda _: 25.0, 90, 40, winds, 0, 30, steps=60)
    assert many.east_ft.shape == (61, 3)
    one = simulate.fly_bank(lambda _: 25.0, 90, 40, 20.0, 0, 30, steps=60)
    assert many.east_ft[:, 2] == pytest.approx(one.east_ft)


def test_heading_schedule():
    flown = simulate.fly_heading(lambda t: 90.0 if t < 30 else 0.0, 90, 0, 0, 60, steps=60)
    side = 30 * 90 * 1.68781
    assert flown.east_ft[-1] == pytest.approx(side, rel=1e-5)
    assert flown.north_ft[-1] == pytest.approx(side, rel=1e-5)


@pytest.mark.parametrize(("seconds", "steps"), [(0, 10), (-1, 10), (np.nan, 10), (np.inf, 10), (10, 0), (10, 10**7)])
def test_no_time_is_refused(seconds, steps):
    with pytest.raises(GeometryError, match="Give a time above 0"):
        simulate.fly_bank(lambda _: 10.0, 90, 0, 0, 0, seconds, steps=steps)
    with pytest.raises(GeometryError, match="Give a time above 0"):
        simulate.fly_heading(lambda _: 10.0, 90, 0, 0, seconds, steps=steps)


def test_a_bank_that_is_none_is_refused():
    with pytest.raises(GeometryError, match="between 0 and 90"):
        astray.constant_bank_round_a_point(90, 0, 10, 90, 1320, 1)
