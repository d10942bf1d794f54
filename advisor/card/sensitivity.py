"""What a wind a little different from the estimate would ask: 5 kt either way, 20 degrees either way."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from advisor import units
from advisor.card.model import LessonCard, Mark, Sensitivity
from advisor.flight.circle import max_crab_deg, shallowest_bank_deg, steepest_bank_deg
from advisor.flight.pylons import exact_pivotal_ft
from advisor.flight.turns import bank_for_circle_deg
from advisor.flight.wind_triangle import crab_deg, groundspeed_kt

SPEED_STEP_KT = 5.0
TURN_STEP_DEG = 20.0


def _winds(card: LessonCard) -> Sequence[tuple[str, float, float]]:
    if card.wind is None or card.wind.from_deg_true is None:
        return ()
    kt, direction = card.wind.high_kt, card.wind.from_deg_true
    whole, step = round(kt), round(SPEED_STEP_KT)  # 13.5 is printed 14, so 5 more is 19 and not the even 18
    return (
        (f"drawn, {whole} kt", kt, direction),
        (f"5 kt more, {whole + step} kt", kt + SPEED_STEP_KT, direction),
        (f"5 kt less, {max(whole - step, 0)} kt", max(kt - SPEED_STEP_KT, 0.0), direction),
        ("20° veered", kt, direction + TURN_STEP_DEG),
        ("20° backed", kt, direction - TURN_STEP_DEG),
    )


def _on_legs(card: LessonCard, label: str, kt: float, direction: float, legs: Sequence[Mark]) -> Sensitivity:
    tas = float(card.tas_kt or np.nan)
    angles = np.array([direction - m.course_deg_true for m in legs])
    crab, speed = crab_deg(tas, kt, angles), groundspeed_kt(tas, kt, angles)
    steep = shallow = None
    if card.radius_ft is not None:
        banks = bank_for_circle_deg(speed, card.radius_ft, crab)
        steep, shallow = float(np.max(banks)), float(np.min(banks))
    at = int(np.argmax(np.abs(crab)))
    return Sensitivity(
        label,
        float(np.abs(crab[at])),
        float(np.max(speed)),
        float(np.min(speed)),
        steep,
        shallow,
        note=f"on {legs[at].name}",
    )


def _on_circle(card: LessonCard, label: str, kt: float) -> Sensitivity:
    tas, radius = float(card.tas_kt or np.nan), float(card.radius_ft or np.nan)
    return Sensitivity(
        label,
        float(max_crab_deg(tas, kt)),
        tas + kt,
        tas - kt,
        float(steepest_bank_deg(tas, kt, radius)),
        float(shallowest_bank_deg(tas, kt, radius)),
    )


def sensitivity_rows(card: LessonCard) -> tuple[Sensitivity, ...]:
    """Rows for the card, the drawn wind first.

    Parameters
    ----------
    card : LessonCard
        With a plan.

    Returns
    -------
    tuple of Sensitivity
        Empty without a plan. Winds as strong as the airspeed are left out. Never raises.
    """
    if card.plan is None or card.tas_kt is None:
        return ()
    out = []
    for label, kt, direction in _winds(card):
        if kt >= card.tas_kt:
            continue
        turned = label.startswith("20")
        if card.lesson.shape == "circle":
            # a circle turns with the wind: only the headings change
            if not turned:
                out.append(_on_circle(card, label, kt))
        elif card.lesson.shape == "pylon":
            if not turned:
                heights = (
                    float(exact_pivotal_ft(card.tas_kt, kt, 180.0)),
                    float(exact_pivotal_ft(card.tas_kt, kt, 0.0)),
                )
                drift = float(units.atan_deg(kt / card.tas_kt))
                out.append(Sensitivity(label, drift, card.tas_kt + kt, card.tas_kt - kt, heights_ft=heights))
        else:
            out.append(_on_legs(card, label, kt, direction, card.plan.marks))
    return tuple(out)
