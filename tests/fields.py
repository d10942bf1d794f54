"""A made-up field and its reports in one line each, for tests of conditions, rules and pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from advisor.advice import PracticeDay, StageDay, practice_days
from advisor.conditions import Conditions, StationInput, build_conditions
from advisor.limits import StageSetup, make_limits, stage_setup
from advisor.ratings import Ratings
from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.site import Site
from advisor.table import Array, Table
from tests.day_case import FIELD, TRAINER, clock, site_of

#: What a report says besides its wind, unless a test says otherwise.
FAIR = "10SM CLR 15/05 A3000"


def field(**changes: Any) -> Site:
    """The made-up field; ``runways``, ``runway``, ``pattern``, ``elevation_ft`` as in a day case, or station fields."""
    case = {k: changes.pop(k) for k in ("runways", "runway", "pattern") if k in changes}
    site = site_of(case)
    return replace(site, station=replace(FIELD, **changes)) if changes else site


def given(
    metar: str | None,
    taf: str | None = None,
    *,
    at: str = "17:53",
    now: str = "18:00",
    month: int = 4,
    site: Site | None = None,
    older: tuple[tuple[str, str], ...] = (),
    **more: Any,
) -> StationInput:
    """What is known of the field: a report of ``at``, a forecast, and ``older`` reports as (time, text)."""
    present = clock(now, month)
    texts = ([(at, metar)] if metar is not None else []) + list(older)
    metars = tuple(decode_metar(f"METAR XBRK {clock(t, month):%d%H%M}Z {x}", present) for t, x in texts)
    forecast = None
    if taf is not None:
        # issued at 1130Z of the day, or before its hours begin
        issued = clock("11:30", month) if int(taf[:2]) >= 25 else datetime(2026, month, int(taf[:2]), tzinfo=UTC)
        forecast = decode_taf(f"TAF XBRK {issued:%d%H%M}Z {taf}", present)
    return StationInput(site if site is not None else field(), present, metars, forecast, **more)


def conditions(*args: Any, **more: Any) -> Conditions:
    """Conditions of one field."""
    return build_conditions([given(*args, **more)])


def rows_at(c: Conditions, when: str, *, month: int = 4, before: bool = False) -> Table:
    """Rows of the cell that holds a time, or (``before``) of the one that ends at it or holds the minute before."""
    minute = (clock(when, month) - timedelta(minutes=int(before)) - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(
        minutes=1
    )
    cell = np.flatnonzero((c.cell_start_min <= minute) & (c.cell_end_min > minute))
    assert len(cell) == 1, f"{when} is not inside the page's hours"
    return c.table.take(c.table.cell == cell[0])


def ratings(source: StationInput, *setups: StageSetup, changes: Any = None) -> Ratings:
    """Ratings of one field for some people."""
    return Ratings(build_conditions([source]), make_limits(tuple(setups), changes), TRAINER)


def cell_at(found: Ratings, when: str, *, month: int = 4) -> int:
    """Position of the cell that holds a time."""
    minute = (clock(when, month) - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(minutes=1)
    c = found.conditions
    cells: Array = np.flatnonzero((c.cell_start_min <= minute) & (c.cell_end_min > minute))
    assert len(cells) == 1, f"{when} is not inside the page's hours"
    return int(cells[0])


def one_day(
    report: str | None, who: str = "pre-solo", taf: str | None = None, **more: Any
) -> tuple[PracticeDay, StageDay]:
    """The answer for one stage from :func:`given`."""
    (day,) = practice_days([given(report, taf, **more)], (stage_setup(who),), TRAINER)
    return day, day.stages[0]
