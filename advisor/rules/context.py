"""Quantities that rules compare with limits, computed once for a table; those of the runway: ``on_runway``.

Shapes: a row quantity is ``(rows,)``; one that depends on the stage is ``(stages, rows)``. NaN compares false
everywhere, so a missing value is quiet in a limit rule and found by the rules about missing input.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import isfinite
from typing import Any

import numpy as np

from advisor.aircraft import Aircraft
from advisor.aloft import HeightWind, height_wind
from advisor.atmosphere import (
    STANDARD_INHG,
    density_altitude_ft,
    isa_temperature_c,
    pressure_altitude_ft,
    relative_humidity_pct,
    tas_from_ias_kt,
)
from advisor.flight.circle import radius_for_bank_ft
from advisor.flight.pylons import exact_pivotal_ft, handbook_pivotal_ft
from advisor.flight.turns import stall_factor
from advisor.lessons import mean_stops_kt, spread_stops_kt
from advisor.limits import SLACK, Limits
from advisor.limits import table as limits_table
from advisor.rules.on_runway import OnRunway
from advisor.rules.registry import Level, Rule
from advisor.site import Site
from advisor.table import Array, Layer, State, Table


class Context(OnRunway):
    """One table with the limits, the aircraft and the fields it is judged by.

    Parameters
    ----------
    table : Table
        Conditions.
    limits : Limits
        For the stages asked for.
    aircraft : Aircraft
        Practice speed, stall speed, demonstrated crosswind.
    sites : sequence of Site
        Indexed by ``table.site``.
    """

    def __init__(self, table: Table, limits: Limits, aircraft: Aircraft, sites: Sequence[Site]) -> None:
        super().__init__(table, limits, sites)
        self.aircraft = aircraft
        self.fixed = limits.fixed
        self.alone = limits.alone[:, None]
        self._pairs: dict[tuple[str, int], str] = {}
        self._figures: dict[str, Array] = {}

    # --- how a value is read against a pair of limits -------------------------------------------------------

    def over(self, quantity: str, value: Array, *, stop: int = Level.STOP) -> Array:
        """Level of a maximum: care when reached, stop when passed; shape ``(stages, rows)``."""
        care, limit = self.limits.care[quantity], self.limits.stop[quantity]
        level = np.where(value >= care - SLACK, np.uint8(Level.CARE), np.uint8(Level.QUIET))
        return np.where(value > limit + SLACK, np.uint8(stop), level)

    def under(self, quantity: str, value: Array) -> Array:
        """Level of a minimum: care at or below, stop below; shape ``(stages, rows)``."""
        care, limit = self.limits.care[quantity], self.limits.stop[quantity]
        level = np.where(value <= care + SLACK, np.uint8(Level.CARE), np.uint8(Level.QUIET))
        return np.where(value < limit - SLACK, np.uint8(Level.STOP), level)

    def flag(self, mask: Array, level: int) -> Array:
        """``level`` where the mask is true."""
        return np.where(mask, np.uint8(level), np.uint8(Level.QUIET))

    def figure(self, rule: Rule) -> Array | None:
        """The rule's figure of each row, larger when worse, ``(stages, rows)``; ``None`` where it has none."""
        if rule.figure is None:
            return None
        if rule.code not in self._figures:
            with np.errstate(invalid="ignore"):
                figure = np.asarray(rule.figure(self))
            known = np.where(np.isnan(figure), -np.inf, figure)
            self._figures[rule.code] = np.broadcast_to(known, (self.n_stages, self.t.n))
        return self._figures[rule.code]

    # --- layers ---------------------------------------------------------------------------------------------

    @cached_property
    def is_report(self) -> Array:
        """Rows that come from an observation."""
        return np.asarray((self.t.layer == Layer.OBSERVED) | (self.t.layer == Layer.PERSISTING))

    @cached_property
    def possible(self) -> Array:
        """Shape ``(stages, rows)``: TEMPO and PROB rows, and reports too old to count for the stage."""
        too_old = self.is_report & (self.t.age_min > self.limits.stop["report_age_min"] + SLACK)
        return np.asarray((self.t.layer == Layer.POSSIBLE) | too_old)

    @cached_property
    def uncovered(self) -> Array:
        """Shape ``(stages, rows)``: rows of cells in which nothing but possible rows stands; rows lie by cell."""
        if not self.possible.any():
            return np.zeros((self.n_stages, self.t.n), dtype=bool)
        new_cell = np.r_[True, np.diff(self.t.cell) != 0]
        starts = np.flatnonzero(new_cell)
        covered = np.logical_or.reduceat(~self.possible, starts, axis=-1)
        return np.asarray(~covered[:, np.cumsum(new_cell) - 1])

    # --- wind -----------------------------------------------------------------------------------------------

    @cached_property
    def has_gust(self) -> Array:
        """Rows that report a gust."""
        return np.asarray(self.t.gust_state == State.VALUE)

    @cached_property
    def spread_kt(self) -> Array:
        """Gust minus mean; NaN without a gust."""
        return np.asarray(self.t.gust_kt - self.t.mean_kt)

    @cached_property
    def height(self) -> HeightWind:
        """Wind at lesson height."""
        return height_wind(self.t)

    # --- air and aircraft -----------------------------------------------------------------------------------

    @cached_property
    def pressure_altitude_field_ft(self) -> Array:
        """Pressure altitude of the field; the standard setting where none is known."""
        setting = np.where(np.isnan(self.t.altimeter_inhg), STANDARD_INHG, self.t.altimeter_inhg)
        return np.asarray(pressure_altitude_ft(self.t.elevation_ft, setting))

    @cached_property
    def tas_kt(self) -> Array:
        """True airspeed of the practice speed at lesson height above the field."""
        height = self.pressure_altitude_field_ft + float(limits_table()["height_wind"]["lesson_height_ft"])
        air = np.where(np.isnan(self.t.temperature_c), isa_temperature_c(height), self.t.temperature_c)
        return np.asarray(tas_from_ias_kt(self.aircraft.practice_kias, height, air))

    @cached_property
    def density_altitude_ft(self) -> Array:
        """Density altitude of the field, with humidity where the dew point is known; NaN without temperature."""
        height, air = self.pressure_altitude_field_ft, self.t.temperature_c
        out = np.asarray(density_altitude_ft(height, air, self.t.dewpoint_c))
        dry = np.isnan(self.t.dewpoint_c)
        if dry.any():
            out[dry] = density_altitude_ft(height[dry], air[dry])
        return out

    @cached_property
    def humidity_pct(self) -> Array:
        """Relative humidity; NaN without temperature or dew point."""
        return np.asarray(relative_humidity_pct(self.t.temperature_c, self.t.dewpoint_c))

    @cached_property
    def density_above_field_ft(self) -> Array:
        """Density altitude less field elevation."""
        return np.asarray(self.density_altitude_ft - self.t.elevation_ft)

    @cached_property
    def air_spread_c(self) -> Array:
        """Temperature minus dew point."""
        return np.asarray(self.t.temperature_c - self.t.dewpoint_c)

    @cached_property
    def ceiling_area_ft(self) -> Array:
        """Ceiling above the ground of the practice area."""
        return np.asarray(self.t.ceiling_ft - self.t.ground_above_ft)

    # --- demand at the planned bank -------------------------------------------------------------------------

    @cached_property
    def planned_bank_deg(self) -> Array:
        """Shape ``(stages, 1)``."""
        stages = limits_table()["stage"]
        return np.array([[float(stages[s.stage]["planned_bank_deg"])] for s in self.limits.setups])

    @cached_property
    def wind_ratio(self) -> Array:
        """High end of the wind at height over true airspeed."""
        return np.asarray(self.height.high_kt / self.tas_kt)

    @cached_property
    def radius_planned_ft(self) -> Array:
        """Radius that gives the planned bank at the high wind, ``(stages, rows)``."""
        return np.asarray(radius_for_bank_ft(self.tas_kt, self.height.high_kt, self.planned_bank_deg))

    def radius_exit_ft(self, wind_kt: Array) -> Array:
        """Radius that needs the exit bank flying downwind in this wind."""
        return np.asarray(radius_for_bank_ft(self.tas_kt, wind_kt, self.fixed["exit_bank_deg"]))

    def pivotal_into_wind_ft(self, wind_kt: Array) -> Array:
        """Lower of the handbook and the exact pivotal height flying into this wind."""
        handbook = handbook_pivotal_ft(np.maximum(self.tas_kt - wind_kt, 0.0))
        exact = exact_pivotal_ft(self.tas_kt, wind_kt, 180.0)
        return np.asarray(np.fmin(handbook, exact))

    @cached_property
    def stall_margin(self) -> Array:
        """Practice speed less gust spread over the stall speed at the planned bank, ``(stages, rows)``."""
        spread = np.where(np.isnan(self.spread_kt), 0.0, self.spread_kt)
        stall = self.aircraft.stall_kcas * stall_factor(self.planned_bank_deg)
        return np.asarray((self.aircraft.practice_kias - spread) / stall)

    # --- lessons --------------------------------------------------------------------------------------------

    @cached_property
    def lesson_mean_stop_kt(self) -> Array:
        """Shape ``(stages, lessons, 1)``."""
        return mean_stops_kt(self.limits.setups, self.limits.changes)

    @cached_property
    def lesson_spread_stop_kt(self) -> Array:
        """Shape ``(stages, lessons, 1)``."""
        return spread_stops_kt(self.limits.setups, self.limits.changes)

    # --- words ----------------------------------------------------------------------------------------------

    def pair_words(self, quantity: str, stage: int) -> str:
        """ "care 12, stop 15 kt" for one stage."""
        if (quantity, stage) not in self._pairs:
            self._pairs[quantity, stage] = self._pair_words(quantity, stage)
        return self._pairs[quantity, stage]

    def _pair_words(self, quantity: str, stage: int) -> str:
        care, stop = self.limits.pair(quantity, stage)
        unit = limits_table()["limit"][quantity]["unit"]
        parts = []
        if self.limits.any_gust[quantity][stage, 0]:
            parts.append("care from any reported gust")
        elif np.isfinite(care):
            parts.append(f"care {care:,g}")
        if np.isfinite(stop):
            parts.append(f"stop {stop:,g}")
        return f"{', '.join(parts)} {unit}".strip()


def number(value: Any, *limits: float) -> str:
    """A whole number, with a decimal where rounding would hide on which side of a limit the value lies."""
    x = float(value)
    if not isfinite(x):
        return "unknown"
    whole = round(x)
    for limit in limits:
        side = (x > limit + SLACK) - (x < limit - SLACK)
        if isfinite(limit) and side != (whole > limit) - (whole < limit):
            return f"{x:,.1f}" if round(x, 1) != limit else f"{x:,.2f}"
    return f"{whole:,}"
