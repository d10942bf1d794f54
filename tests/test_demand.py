"""What a page says to expect of a lesson: the widest of the groups that are reported or prevail.

Wind at height by the table of limits: low the mean; mixed 1.5 times it, veered 0 to 20 degrees in the north; windy 1.6
times it, veered 5 to 25. A circle: tan(bank) = G^2 / (g R), flying downwind and into wind (AFH chapter 7).
"""

from __future__ import annotations

import math

import pytest

from advisor.demand import DemandSummary, demand_summary
from advisor.lessons import lesson_keys
from advisor.limits import stage_setup
from tests.fields import FAIR, cell_at, field, given, ratings

LATER = "2512/2612 22008KT P6SM SKC FM252000 {0} P6SM SKC"


def asked(
    report: str, lesson: str = "s-turns", later: str | None = None, who: str = "post-solo", **site: object
) -> DemandSummary | None:
    """Of the report's hour, and with ``later`` of the hours to 2100Z, whose last is of that forecast group."""
    place = field(**site) if site else None
    source = given(f"{report} {FAIR}", LATER.format(later) if later else None, site=place)
    found = ratings(source, stage_setup(who))
    cells = range(cell_at(found, "18:00"), cell_at(found, "21:00" if later else "18:00") + 1)
    return demand_summary(found, 0, lesson_keys().index(lesson), list(cells))


def demand(*args: str, **more: object) -> DemandSummary:
    found = asked(*args, **more)  # type: ignore[arg-type]
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("report", "later", "arc"),
    [
        ("22012KT", None, (220.0, 240.0)),
        ("22016KT", None, (225.0, 245.0)),
        ("35512KT", None, (355.0, 15.0)),
        ("36012KT 320V040", None, (320.0, 60.0)),
        ("22008KT", "26010KT", (220.0, 280.0)),
        ("22008KT", "18010KT", (180.0, 240.0)),
        ("VRB05KT", None, None),
        ("00000KT", None, None),
    ],
)
def test_directions_at_height_are_every_groups_with_its_veer(
    report: str, later: str | None, arc: tuple[float, float] | None
) -> None:
    found = demand(report, later=later)
    assert found.from_arc_deg_true == (None if arc is None else pytest.approx(arc))


@pytest.mark.parametrize(
    ("report", "later", "from_deg"),
    [("26006KT", "01009KT", 10.0), ("22012KT", "26010KT", 220.0), ("22010KT", "26010G18KT", 260.0)],
)
def test_the_direction_at_the_field_is_that_of_the_strongest_group(report: str, later: str, from_deg: float) -> None:
    assert demand(report, later=later).surface_from_deg_true == from_deg


def test_one_variable_group_makes_the_whole_stretch_variable() -> None:
    for found in (demand("22008KT", later="VRB06KT"), demand("VRB06KT", later="22008KT")):
        assert found.variable
        assert (found.from_arc_deg_true, found.surface_from_deg_true) == (None, None)


def test_speeds_and_gusts_are_the_widest_of_the_groups() -> None:
    found = demand("22008KT", later="22012G20KT")
    # the gust is more than 1.5 times 12 kt
    assert (found.wind_low_kt, found.wind_high_kt) == (8.0, 20.0)
    assert (found.surface_mean_kt, found.surface_gust_kt) == (12.0, 20.0)
    assert demand("22008KT").surface_gust_kt is None
    crab = [math.degrees(math.asin(w / found.tas_kt)) for w in (8.0, 20.0)]
    assert found.crab_deg == pytest.approx(crab)
    assert found.groundspeed_kt == pytest.approx((found.tas_kt - 20.0, found.tas_kt + 20.0))


def test_banks_of_a_circle_are_said_from_the_less_to_the_more() -> None:
    found = demand("22010KT", later="22012KT")
    assert found.planned_bank_deg == 35.0
    assert found.radius_ft is not None

    def bank(ground_kt: float) -> float:
        return math.degrees(math.atan((ground_kt * 1.687810) ** 2 / (32.174 * float(found.radius_ft or 0))))

    tas = found.tas_kt
    # from the 8 kt of the first forecast group to 1.5 times 12 kt
    assert (found.wind_low_kt, found.wind_high_kt) == (8.0, 18.0)
    assert found.steepest_bank_deg == pytest.approx((bank(tas + 8), bank(tas + 18)), abs=0.01)
    assert found.shallowest_bank_deg == pytest.approx((bank(tas - 18), bank(tas - 8)), abs=0.01)
    assert found.bank_deg == pytest.approx((bank(tas - 18), 35.0), abs=0.01)


def test_pivotal_heights_are_said_from_into_wind_to_downwind() -> None:
    """G^2 / 11.3 by the handbook, V (V + W cos a) / 11.3 exactly: derived, shared/derived_values.csv."""
    found = demand("22010KT", "eights-on-pylons", who="commercial")
    v, w = found.tas_kt, 15.0
    assert found.pivotal_handbook_ft == pytest.approx(((v - w) ** 2 / 11.294, (v + w) ** 2 / 11.294), rel=1e-3)
    assert found.pivotal_exact_ft == pytest.approx((v * (v - w) / 11.294, v * (v + w) / 11.294), rel=1e-3)


def test_the_runway_of_the_worst_hour_is_the_one_named() -> None:
    """Runways 043 and 133 true and back; the limits table: the end with the least crosswind."""
    light = demand("22008KT", "crosswind-pattern", later="17514KT", runways=["04", "22"])
    assert light.runway == "22"
    assert light.crosswind_kt == pytest.approx(14 * math.sin(math.radians(222.7 - 175)))
    assert light.tailwind_kt == 0.0
    # left base for 22 is flown towards 312.7, and the wind comes from 42 degrees off dead behind it
    assert light.base_tailwind_kt == pytest.approx(14 * math.cos(math.radians(175 - 132.7)))
    nowhere = demand("22008KT", "crosswind-pattern", runways=[])
    assert (nowhere.runway, nowhere.tailwind_kt, nowhere.base_tailwind_kt) == (None, None, None)
    assert nowhere.crosswind_kt == 8.0


def test_no_wind_no_demand() -> None:
    assert asked("/////KT") is None
