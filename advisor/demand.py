"""What the wind asks of the pilot in one lesson over some hours: crab, bank, groundspeed, as low to high."""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor import units
from advisor.aloft import AirClass
from advisor.atmosphere import cloud_base_from_spread_ft
from advisor.flight.circle import shallowest_bank_deg, steepest_bank_deg
from advisor.flight.pylons import exact_pivotal_ft, handbook_pivotal_ft
from advisor.lessons import lessons
from advisor.ratings import Ratings
from advisor.records import dataclass
from advisor.rules.context import Context
from advisor.rules.registry import Array
from advisor.table import WindKind


@dataclass(frozen=True, slots=True)
class DemandSummary:
    """Demand of one lesson over some cells. ``None`` where it does not apply or is not known.

    Pairs are low..high ends of the wind at height. ``from_arc_deg_true`` is the arc the wind at height may blow
    from, clockwise, veer included; ``None`` when the direction is variable or calm. Speeds in kt, angles in
    degrees, heights and radius in ft.
    """

    lesson: str
    wind_low_kt: float
    wind_high_kt: float
    from_arc_deg_true: tuple[float, float] | None
    surface_from_deg_true: float | None
    surface_mean_kt: float
    surface_gust_kt: float | None
    variable: bool
    air_class: str
    tas_kt: float
    kias: float
    crab_deg: tuple[float, float]
    groundspeed_kt: tuple[float, float]
    radius_ft: float | None = None
    planned_bank_deg: float | None = None
    bank_deg: tuple[float, float] | None = None
    steepest_bank_deg: tuple[float, float] | None = None
    shallowest_bank_deg: tuple[float, float] | None = None
    pivotal_handbook_ft: tuple[float, float] | None = None
    pivotal_exact_ft: tuple[float, float] | None = None
    runway: str | None = None
    crosswind_kt: float | None = None
    tailwind_kt: float | None = None
    base_tailwind_kt: float | None = None
    density_altitude_ft: float | None = None
    cloud_base_from_spread_ft: float | None = None  # above the field; air the sun stirs only

    @property
    def beyond_airspeed(self) -> str:
        """Why no crab or bank can be given when the high wind reaches the true airspeed; else empty."""
        if self.wind_high_kt < self.tas_kt:
            return ""
        return (
            f"No crab, heading or bank is given: the wind at lesson height may reach {self.wind_high_kt:.0f} kt, as much as "
            f"the true airspeed of {self.tas_kt:.0f} kt."
        )


def _arc(start_deg: Array, width_deg: Array, veer_low: Array, veer_high: Array) -> tuple[float, float] | None:
    """Arc that covers every row's directions with its veer; None when that is the whole circle."""
    starts = units.wrap_360(start_deg + veer_low)
    widths = width_deg + veer_high - veer_low
    base = float(starts[0])
    offsets = units.wrap_180(starts - base)
    low = float(np.min(offsets))
    high = float(np.max(offsets + widths))
    if high - low >= 360.0:
        return None
    return float(units.wrap_360(base + low)), float(units.wrap_360(base + high))


def demand_summary(ratings: Ratings, stage: int, lesson: int, cells: list[int]) -> DemandSummary | None:
    """Demand of a lesson over some cells, from groups that are reported or prevail.

    Parameters
    ----------
    ratings : Ratings
        Evaluated conditions.
    stage, lesson : int
        Positions on the axes.
    cells : list of int
        Cells looked at together.

    Returns
    -------
    DemandSummary or None
        None when no reported or prevailing group has a known wind. Never raises.
    """
    c = ratings.context
    rows = ratings.rows_of(cells)
    rows = rows[~c.possible[stage, rows] & c.wind_known[rows]] if len(rows) else rows
    if not len(rows):
        return None
    t = c.t
    low = float(np.min(c.height.low_kt[rows]))
    high = float(np.max(c.height.high_kt[rows]))
    tas = float(np.sort(c.tas_kt[rows])[len(rows) // 2])  # np.median would load numpy.ma
    kinds = t.wind_kind[rows]
    variable = bool(np.any(kinds == WindKind.VARIABLE))
    steady = rows[kinds == WindKind.STEADY]
    arc = None
    if len(steady) and not variable:
        arc = _arc(
            t.arc_start_deg[steady],
            t.arc_width_deg[steady],
            c.height.veer_low_deg[steady],
            c.height.veer_high_deg[steady],
        )
    worst = int(rows[np.argmax(c.height.high_kt[rows])])
    gust = float(np.max(np.where(np.isnan(t.gust_kt[rows]), -1.0, t.gust_kt[rows])))
    crab = [float(x) for x in units.asin_deg(np.array([low, high]) / tas)]
    return DemandSummary(
        lesson=lessons()[lesson].key,
        wind_low_kt=low,
        wind_high_kt=high,
        from_arc_deg_true=arc,
        # of two groups from two sides the stronger, as on the lesson card: its speed is the one printed beside it
        surface_from_deg_true=None
        if variable or not len(steady)
        else float(t.from_deg_true[steady[np.argmax(c.peak_kt[steady])]]),
        surface_mean_kt=float(np.max(t.mean_kt[rows])),
        surface_gust_kt=gust if gust >= 0 else None,
        variable=variable,
        air_class=AirClass(int(c.height.air_class[worst])).name.lower(),
        tas_kt=tas,
        kias=c.aircraft.practice_kias,
        crab_deg=(crab[0], crab[1]),
        groundspeed_kt=(tas - high, tas + high),
        **_by_shape(c, stage, lessons()[lesson].shape, rows, tas, (low, high)),
        **_on_runway(c, stage, rows),
        **_air(c, rows),
    )


def _by_shape(
    c: Context, stage: int, shape: str, rows: Array, tas_kt: float, wind_kt: tuple[float, float]
) -> dict[str, Any]:
    """What only lessons of this shape ask: radius and banks, pivotal heights, or the planned bank alone."""
    bank = float(c.planned_bank_deg[stage, 0])
    if shape == "circle":
        radius = float(np.max(c.radius_planned_ft[stage, rows]))
        steep = [float(steepest_bank_deg(tas_kt, w, radius)) for w in wind_kt]
        shallow = [float(shallowest_bank_deg(tas_kt, w, radius)) for w in wind_kt]
        return {
            "radius_ft": radius,
            "planned_bank_deg": bank,
            "bank_deg": (min(shallow), max(steep)),
            "steepest_bank_deg": (steep[0], steep[1]),
            "shallowest_bank_deg": (shallow[1], shallow[0]),
        }
    if shape == "pylon":
        high = wind_kt[1]  # the lower is flown into it, the higher downwind
        return {
            "pivotal_handbook_ft": tuple(float(handbook_pivotal_ft(tas_kt + w)) for w in (-high, high)),
            "pivotal_exact_ft": tuple(float(exact_pivotal_ft(tas_kt, high, a)) for a in (180.0, 0.0)),
        }
    return {"planned_bank_deg": bank} if shape == "line" else {}


def _on_runway(c: Context, stage: int, rows: Array) -> dict[str, Any]:
    """The runway of the row with most crosswind, and its winds."""
    with np.errstate(invalid="ignore"):
        worst = int(rows[np.argmax(np.nan_to_num(c.crosswind_kt[stage, rows], nan=-1.0))])
    crosswind = {"crosswind_kt": float(c.crosswind_kt[stage, worst])}
    if c.best_end[stage, worst] < 0:
        return crosswind
    return {
        "runway": c.end_name(stage, worst),
        **crosswind,
        "tailwind_kt": float(c.tailwind_kt[stage, worst]),
        "base_tailwind_kt": float(np.nanmax(c.base_tailwind_kt[stage, rows])),
    }


def _air(c: Context, rows: Array) -> dict[str, Any]:
    """Highest density altitude of the field; lowest base of a cloud that the sun's stirring would make."""
    stirred = np.isin(c.height.air_class[rows], (int(AirClass.MIXED), int(AirClass.WINDY)))
    bases = cloud_base_from_spread_ft(c.t.temperature_c[rows], c.t.dewpoint_c[rows])[stirred]
    return {
        "density_altitude_ft": _known(np.fmax.reduce(c.density_altitude_ft[rows])),
        "cloud_base_from_spread_ft": _known(np.fmin.reduce(bases, initial=np.nan)),
    }


def _known(value: float) -> float | None:
    return None if value != value else float(value)
