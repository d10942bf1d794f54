"""Steady turns: worked values, the two ends, and the cosine of the crab."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.flight import turns

# Open training texts, read: 100 kt at 30, 45, 60 degrees gives 467, 269, 156 m; 6.3, 10.9, 18.9 deg/s
WORKED = [(100, 30, 467, 6.3), (100, 45, 269, 10.9), (100, 60, 156, 18.9)]


@pytest.mark.parametrize(("kt", "bank", "metres", "rate"), WORKED)
def test_worked_turns(kt, bank, metres, rate):
    assert turns.radius_ft(kt, bank) * 0.3048 == pytest.approx(metres, rel=0.01)
    assert turns.turn_rate_deg_s(kt, bank) == pytest.approx(rate, abs=0.06)


# exact n = 1 / cos(bank) and its root (source key derived); stall factor row read off the same relation
@pytest.mark.parametrize(
    ("bank", "load", "stall"),
    [
        (0, 1, 1),
        (20, 1.064, 1.032),
        (30, 1.155, 1.075),
        (45, 1.414, 1.189),
        (60, 2.0, 1.414),
        (80, 5.759, 2.4),
    ],
)
def test_load_and_stall(bank, load, stall):
    assert turns.load_factor(bank) == pytest.approx(load, abs=0.0006)
    assert turns.stall_factor(bank) == pytest.approx(stall, abs=0.0006)


def test_worked_stall_speed():
    """50 kt with wings level is 59.5 kt at 45 degrees (worked example, read)."""
    assert 50 * turns.stall_factor(45) == pytest.approx(59.5, abs=0.1)


def test_one_turn_takes():
    """100 kt at 30 and 60 degrees: 57 and 19 s for 360 degrees (open training text, read)."""
    assert 360 / turns.turn_rate_deg_s(100, [30, 60]) == pytest.approx([57, 19], abs=1)


def test_radius_and_bank_undo_each_other():
    kt, bank = np.meshgrid(np.linspace(50, 150, 11), np.linspace(1, 70, 24))
    assert np.allclose(turns.bank_deg(kt, turns.radius_ft(kt, bank)), bank)


def test_ends_and_nonsense():
    assert turns.radius_ft(90, 0) == np.inf
    for bad in (90, 95, -1, np.nan):
        assert np.isnan(turns.radius_ft(90, bad))
        assert np.isnan(turns.turn_rate_deg_s(90, bad))
        assert np.isnan(turns.load_factor(bad))
    assert np.isnan(turns.bank_deg(90, [0, -5, np.nan])).all()
    assert np.isnan(turns.turn_rate_deg_s(0, 30))


def test_crab_asks_for_more_bank():
    """Leaving the cosine out is 0.1 to 1 degree low across the wind (source key derived)."""
    with_crab, without = turns.bank_for_circle_deg(88.74, 1320, 9.594), turns.bank_for_circle_deg(88.74, 1320)
    assert with_crab == pytest.approx(28.18, abs=0.02)
    assert 0.1 < with_crab - without < 1.0
