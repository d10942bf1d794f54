"""Random tables of conditions for the laws: every column, every state of missing, values crowded round the limits."""

from __future__ import annotations

from typing import Any

import numpy as np

from advisor.aircraft import Aircraft
from advisor.limits import STAGES, StageSetup, make_limits
from advisor.places import RunwayEnd, Station
from advisor.rules.context import Context
from advisor.rules.engine import cap_index, caps_of, level_shape
from advisor.rules.registry import Array, Level, Rule, all_rules
from advisor.site import Site
from advisor.table import COLUMNS, Layer, State, Table, WindKind
from advisor.weather import Wx

TRAINER = Aircraft("trainer", 90.0, 48.0, 12.0)
#: Slow, heavy and easily blown: the demand rules reach their stops in it.
SLOW = Aircraft("slow", 72.0, 47.0, 9.0)
WEATHER_BITS = len(Wx)
FLAGS = tuple(name for name, (kind, _) in COLUMNS.items() if kind == "?")
#: The last two stages are certificated pilots alone.
SETUPS = (
    *(StageSetup(s, alone=s == "solo") for s in STAGES),
    StageSetup("solo", alone=True, early_solo=True),
    StageSetup("post-solo", alone=True),
)


_VISIBILITY = [np.nan, 0.0, 1.0, 2.99, 3.0, 4.0, 5.0, 5.01, 6.0, 6.01, 7.0, 10.0, 10.01]
_CEILING = [
    np.nan,
    np.inf,
    200,
    1400,
    1500,
    1900,
    2000,
    2400,
    2500,
    2900,
    3000,
    3500,
    3600,
    6900,
    7000,
    12000,
]


def _site(name: str, *ends: float, named: str | None = None, side: str | None = None) -> Site:
    station = Station(name, "made up", 41.0, -97.0, 1200.0, "America/Chicago", "US", "made up")
    names = [f"{round(e / 10) or 36:02d}" for e in ends]
    runways = tuple(RunwayEnd(n, e, 3000, "asphalt") for n, e in zip(names, ends, strict=True))
    return Site(station, runways, named_runway=named, pattern_side=side, made_up=True)


#: The second has no runway at all; the last one is only ever used from one end.
SITES = (
    _site("XBRK", 42.7, 222.7, 132.7, 312.7),
    _site("XHLW"),
    _site("XSND", 93.0, 273.0),
    _site("XBRK", 3.0, 183.0, 33.0, 213.0, side="right"),
    _site("XBRK", 42.7, 222.7, named="04", side="left"),
)
#: Fields open from both ends, for the law about a runway that goes missing.
BOTH_ENDS = (0, 2, 3)
NO_RUNWAY = 1


def context_of(table: Table, aircraft: Aircraft = TRAINER) -> Context:
    """A table judged by the shipped limits for every kind of person."""
    return Context(table, make_limits(SETUPS), aircraft, SITES)


def random_table(n: int, seed: int) -> Table:
    """``n`` independent rows, each its own cell; the same for the same seed."""
    rng = np.random.default_rng(seed)
    # most rows are fair but for a column or two, or everything would be on hold and no law could be broken
    fair = rng.random(n) < 0.7

    def mostly(benign: Any, values: Array) -> Array:
        return np.where(fair & (rng.random(n) < 0.85), benign, values)

    kind = rng.choice(
        [WindKind.CALM, WindKind.STEADY, WindKind.VARIABLE, WindKind.MISSING, WindKind.NOT_UNDERSTOOD],
        n,
        p=[0.1, 0.7, 0.12, 0.05, 0.03],
    ).astype(np.uint8)
    known = kind <= WindKind.VARIABLE
    whole = rng.random(n) < 0.8
    speed = np.where(whole, rng.integers(1, 33, n), np.round(rng.uniform(0.5, 32.0, n), 2)).astype(float)
    speed = mostly(np.minimum(speed, rng.integers(1, 12, n)), speed)
    mean = np.where(known, np.where(kind == WindKind.CALM, 0.0, speed), np.nan)
    gusty = known & (kind != WindKind.CALM) & (rng.random(n) < 0.25)
    lost = known & ~gusty & (rng.random(n) < 0.04)
    gust_state = np.where(gusty, int(State.VALUE), int(State.NONE))
    gust_state = np.where(lost, rng.choice([State.MISSING, State.NOT_UNDERSTOOD], n), gust_state)
    steady = kind == WindKind.STEADY
    direction = np.where(steady, rng.integers(1, 37, n) * 10.0, np.nan)
    swings = steady & (rng.random(n) < 0.25)
    width = np.where(swings, rng.integers(1, 35, n) * 10.0, np.where(known & ~steady, 360.0, 0.0))
    start = np.where(steady, (np.nan_to_num(direction) - np.floor(width / 20.0) * 10.0) % 360.0, 0.0)
    temperature = mostly(15.0, np.where(rng.random(n) < 0.1, np.nan, rng.integers(-22, 44, n) * 1.0))
    spread = mostly(10.0, np.where(rng.random(n) < 0.1, np.nan, rng.choice([0, 1, 2, 3, 4, 5, 9, 18], n)))
    some = {name: mostly(False, rng.random(n) < 0.06) for name in FLAGS}
    some["northern"] = rng.random(n) < 0.9
    layer = mostly(Layer.OBSERVED, rng.choice(list(Layer), n, p=[0.35, 0.15, 0.25, 0.05, 0.15, 0.05]))
    aloft = np.where(rng.random(n) < 0.25, rng.integers(0, 60, n), np.nan)
    return Table(
        n,
        ["made up"],
        site=rng.integers(0, len(SITES), n),
        cell=np.arange(n),
        layer=layer,
        group=0,
        wind_kind=kind,
        gust_state=gust_state,
        mean_kt=mean,
        gust_kt=np.where(gusty, mean + rng.integers(1, 18, n), np.nan),
        from_deg_true=direction,
        arc_start_deg=np.where(known, start, np.nan),
        arc_width_deg=width,
        visibility_sm=mostly(10.01, rng.choice(_VISIBILITY, n)),
        ceiling_ft=mostly(np.inf, rng.choice(_CEILING, n)),
        weather=mostly(0, (1 << rng.integers(0, WEATHER_BITS, n)) | (1 << rng.integers(0, WEATHER_BITS, n))),
        temperature_c=temperature,
        dewpoint_c=temperature - spread,
        altimeter_inhg=rng.choice([np.nan, 28.9, 29.92, 30.5], n),
        peak_remark_kt=mostly(np.nan, np.where(rng.random(n) < 0.2, rng.integers(15, 45, n), np.nan)),
        age_min=mostly(20.0, rng.choice([np.nan, 0, 59, 60, 75, 76, 90, 120, 121], n)),
        building_kt=rng.choice([np.nan, -3, 4, 5, 9], n),
        aloft_low_kt=aloft,
        aloft_interp_kt=np.where(np.isnan(aloft), np.nan, aloft + rng.integers(-8, 9, n)).clip(0.0),
        aloft_low_height_ft=np.where(np.isnan(aloft), np.nan, rng.choice([600, 1000, 1800, 2000, 2100, 4000], n)),
        pilot_kt=np.where(rng.random(n) < 0.1, rng.integers(0, 45, n), np.nan),
        elevation_ft=rng.choice([-100.0, 1200.0, 5400.0], n),
        ground_above_ft=rng.choice([0.0, 0.0, 300.0, -200.0], n),
        **some,
    )


def more_wind(table: Table, rng: np.random.Generator, *, most_kt: int = 12) -> Table:
    """Mean and gust raised together, the spread kept; calm air starts to blow from somewhere."""
    by = rng.integers(0, most_kt + 1, table.n) * 1.0
    calm = (table.wind_kind == WindKind.CALM) & (by > 0)
    towards = rng.integers(1, 37, table.n) * 10.0
    return table.with_columns(
        mean_kt=table.mean_kt + by,
        gust_kt=table.gust_kt + by,
        wind_kind=np.where(calm, np.uint8(WindKind.STEADY), table.wind_kind),
        from_deg_true=np.where(calm, towards, table.from_deg_true),
        arc_start_deg=np.where(calm, towards % 360.0, table.arc_start_deg),
        arc_width_deg=np.where(calm, 0.0, table.arc_width_deg),
    )


def more_gust(table: Table, rng: np.random.Generator) -> Table:
    """A higher gust over the same mean, where a gust was reported."""
    return table.with_columns(gust_kt=table.gust_kt + rng.integers(0, 12, table.n))


def made_worse(table: Table, column: str, sign: str, rng: np.random.Generator) -> Table:
    """One column worse in every row, as a rule's ``worse`` names it; wind by the two functions above."""
    if column == "mean_kt":
        return more_wind(table, rng)
    if column == "gust_kt":
        return more_gust(table, rng)
    if column == "weather":
        more = (1 << rng.integers(0, WEATHER_BITS, table.n)) | (1 << rng.integers(0, WEATHER_BITS, table.n))
        return table.with_columns(weather=table.weather | more.astype(np.uint32))
    if COLUMNS[column][0] == "?":
        return table.with_columns(**{column: np.ones(table.n, dtype=bool)})
    scale = {"ceiling_ft": 1500.0, "visibility_sm": 4.0, "age_min": 90.0, "aloft_low_height_ft": 2000.0}
    scale["arc_width_deg"] = 90.0
    by = np.round(rng.uniform(0.0, scale.get(column, 12.0), table.n), 1)
    values: Any = getattr(table, column)
    if column == "arc_width_deg":  # only a wind that has a direction can swing more widely
        by = np.where(table.wind_kind == WindKind.STEADY, np.minimum(by, 350.0 - values), 0.0)
    if sign == "+":
        return table.with_columns(**{column: values + by})
    if column == "ceiling_ft":  # no ceiling may become any ceiling
        values = np.where(np.isinf(values), rng.choice([np.inf, 9000.0, 3400.0], table.n), values)
    low = 0.0 if column in ("visibility_sm", "ceiling_ft") else -np.inf
    return table.with_columns(**{column: np.maximum(values - by, low)})


def rule_caps(rule: Rule, context: Context) -> Array:
    """Cap that one rule puts on every stage (and lesson) of every row, nothing else considered."""
    with np.errstate(invalid="ignore"):
        level = level_shape(rule, rule.level(context), context.n_stages, context.t.n)
    offset = cap_index(context)
    return caps_of(level, offset[:, None, :] if rule.axes == "lesson" else offset)


def exempt_fires(context: Context) -> Array:
    """Rows in which some rule about calm air caps something, shape ``(rows,)``."""
    out = np.zeros(context.t.n, dtype=bool)
    with np.errstate(invalid="ignore"):
        for rule in all_rules():
            if rule.calm_hazard:
                level = np.broadcast_to(rule.level(context), (context.n_stages, context.t.n))
                out |= (level > Level.NOTE).any(axis=0)
    return out
