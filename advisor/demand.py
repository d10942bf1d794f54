"""What the wind asks of the pilot in one lesson over some hours: crab, bank, groundspeed, as low to high."""

from __future__ import annotations

import numpy as np

from advisor import units
from advisor.aloft import AirClass
from advisor.atmosphere import cloud_base_from_spread_ft
from advisor.flight.circle import shallowest_bank_deg, steepest_bank_deg
from advisor.flight.pylons import exact_pivotal_ft, handbook_pivotal_ft
from advisor.lessons import lessons
from advisor.ratings import Ratings
from advisor.records import dataclass
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
    shape = lessons()[lesson].shape
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
    fields: dict[str, object] = {}
    if shape == "circle":
        bank = float(c.planned_bank_deg[stage, 0])
        radius = float(np.max(c.radius_planned_ft[stage, rows]))
        steep = [float(steepest_bank_deg(tas, w, radius)) for w in (low, high)]
        shallow = [float(shallowest_bank_deg(tas, w, radius)) for w in (low, high)]
        fields = {
            "radius_ft": radius,
            "planned_bank_deg": bank,
            "bank_deg": (min(shallow), max(steep)),
            "steepest_bank_deg": (steep[0], steep[1]),
            "shallowest_bank_deg": (shallow[1], shallow[0]),
        }
    elif shape == "pylon":
        fields = {
            "pivotal_handbook_ft": (
                float(handbook_pivotal_ft(tas - high)),
                float(handbook_pivotal_ft(tas + high)),
            ),
            "pivotal_exact_ft": (
                float(exact_pivotal_ft(tas, high, 180.0)),
                float(exact_pivotal_ft(tas, high, 0.0)),
            ),
        }
    elif shape == "line":
        fields = {"planned_bank_deg": float(c.planned_bank_deg[stage, 0])}
    with np.errstate(invalid="ignore"):
        at_worst = int(rows[np.argmax(np.nan_to_num(c.crosswind_kt[stage, rows], nan=-1.0))])
    known_end = c.best_end[stage, at_worst] >= 0
    density = (
        float(np.nanmax(c.density_altitude_ft[rows]))
        if np.any(~np.isnan(c.density_altitude_ft[rows]))
        else None
    )
    stirred = np.isin(c.height.air_class[rows], (int(AirClass.MIXED), int(AirClass.WINDY)))
    bases = cloud_base_from_spread_ft(t.temperature_c[rows], t.dewpoint_c[rows])[stirred]
    bases = bases[~np.isnan(bases)]
    crab = [float(x) for x in units.asin_deg(np.array([low, high]) / tas)]
    return DemandSummary(
        lesson=lessons()[lesson].key,
        wind_low_kt=low,
        wind_high_kt=high,
        from_arc_deg_true=arc,
        surface_from_deg_true=None if variable or not len(steady) else float(t.from_deg_true[steady[0]]),
        surface_mean_kt=float(np.max(t.mean_kt[rows])),
        surface_gust_kt=gust if gust >= 0 else None,
        variable=variable,
        air_class=AirClass(int(c.height.air_class[worst])).name.lower(),
        tas_kt=tas,
        kias=c.aircraft.practice_kias,
        crab_deg=(crab[0], crab[1]),
        groundspeed_kt=(tas - high, tas + high),
        runway=c.end_name(stage, at_worst) if known_end else None,
        crosswind_kt=float(c.crosswind_kt[stage, at_worst]),
        tailwind_kt=float(c.tailwind_kt[stage, at_worst]) if known_end else None,
        base_tailwind_kt=float(np.nanmax(c.base_tailwind_kt[stage, rows])) if known_end else None,
        density_altitude_ft=density,
        cloud_base_from_spread_ft=float(np.min(bases)) if len(bases) else None,
        **fields,  # type: ignore[arg-type]
    )
