"""The table of conditions: one row for each group in force in each cell of time, columns as arrays.

One day of one student and a decade of archives are the same table; only the number of rows differs. NaN
in a number column always has a state column beside it that says why there is no number.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING, Any

import numpy as np

Array = np.ndarray[Any, np.dtype[Any]]


class Layer(IntEnum):
    """Where a row comes from."""

    OBSERVED = 0
    PERSISTING = 1  # the report, up to two hours on
    PREVAILING = 2
    BECOMING = 3
    POSSIBLE = 4  # TEMPO, PROB
    GIVEN = 5  # a pilot or the school said so


class State(IntEnum):
    """State of a field that may have no number."""

    VALUE = 0
    NONE = 1  # reported, and there is none (no ceiling, no gust reported)
    MISSING = 2
    NOT_UNDERSTOOD = 3


class WindKind(IntEnum):
    """State of the wind of a row."""

    CALM = 0
    STEADY = 1
    VARIABLE = 2
    MISSING = 3
    NOT_UNDERSTOOD = 4


#: Column name -> (dtype, value of a row that does not set it).
COLUMNS: dict[str, tuple[str, Any]] = {
    "site": ("i4", 0),  # index into the sites the table covers
    "cell": ("i8", 0),
    "start_min": ("i8", 0),  # UTC minutes since 1970
    "end_min": ("i8", 0),
    "layer": ("u1", int(Layer.OBSERVED)),
    "group": ("i4", -1),  # index into Table.groups
    "storm_group": ("i4", -1),  # forecast storm group that a cell lies near or before
    "air_group": ("i4", -1),  # report that a carried temperature comes from
    "wind_kind": ("u1", int(WindKind.MISSING)),
    "gust_state": ("u1", int(State.NONE)),
    "mean_kt": ("f8", np.nan),
    "gust_kt": ("f8", np.nan),  # NaN with gust_state NONE: no gust reported
    "from_deg_true": ("f8", np.nan),
    "arc_start_deg": ("f8", np.nan),  # directions the wind may blow from, clockwise
    "arc_width_deg": ("f8", 0.0),
    "visibility_sm": ("f8", np.nan),
    "ceiling_ft": ("f8", np.nan),  # above the field; +inf when reported and none
    "weather": ("u4", 0),
    "temperature_c": ("f8", np.nan),
    "dewpoint_c": ("f8", np.nan),
    "altimeter_inhg": ("f8", np.nan),
    "carried": ("?", False),  # temperature, dew point, altimeter carried from an observation
    "shear": ("?", False),
    "peak_remark_kt": ("f8", np.nan),
    "wind_shift": ("?", False),
    "wind_estimated": ("?", False),
    "no_thunder_sensor": ("?", False),
    "automatic": ("?", False),
    "maintenance": ("?", False),
    "undecoded": ("?", False),
    "dark": ("?", False),
    "near_sun": ("?", False),  # within 90 min after sunrise or before sunset
    "last_hour": ("?", False),  # the hour before sunset
    "storm_near": ("?", False),  # within an hour of a forecast storm group
    "storm_ahead": ("?", False),  # within three hours before one
    "storm_today": ("?", False),  # anywhere in today's daylight forecast
    "fog_late": ("?", False),  # better than recent fog only if the forecast is on time
    "disagrees": ("?", False),  # report against forecast
    "no_fresh_report": ("?", False),
    "age_min": ("f8", np.nan),  # of the observation behind the page
    "borrowed_far": ("?", False),
    "building_kt": ("f8", np.nan),  # rise of the mean over the last two hours
    "aloft_low_kt": ("f8", np.nan),  # lowest level of winds aloft in reach
    "aloft_interp_kt": ("f8", np.nan),  # winds aloft at lesson height
    "aloft_low_height_ft": ("f8", np.nan),  # above the ground
    "pilot_kt": ("f8", np.nan),  # a pilot's report of the wind at height
    "elevation_ft": ("f8", 0.0),
    "ground_above_ft": ("f8", 0.0),  # practice-area ground above the field
    "northern": ("?", True),
}


class Table:
    """Columns of conditions, of one field or of many.

    Parameters
    ----------
    n : int
        Number of rows.
    groups : list of str
        Texts the rows cite by index.
    columns : arrays of shape ``(n,)`` or scalars
        Any of ``COLUMNS``; the rest take their default.

    Raises
    ------
    KeyError
        For a column that is not in ``COLUMNS``.
    """

    def __init__(self, n: int, groups: list[str] | None = None, **columns: Any) -> None:
        self.n = n
        self.groups: list[str] = groups if groups is not None else []
        self._columns: dict[str, Array] = {}
        unknown = set(columns) - set(COLUMNS)
        if unknown:
            raise KeyError(f"no such column: {', '.join(sorted(unknown))}")
        for name, (dtype, default) in COLUMNS.items():
            given = columns.get(name, default)
            self._columns[name] = np.broadcast_to(np.asarray(given, dtype=dtype), (n,))
        self.__dict__.update(self._columns)  # messages read single values a hundred thousand times a posting

    if TYPE_CHECKING:

        def __getattr__(self, name: str) -> Array: ...

    def __len__(self) -> int:
        return self.n

    def with_columns(self, **columns: Any) -> Table:
        """A copy with some columns replaced."""
        return Table(self.n, self.groups, **{**self._columns, **columns})

    def take(self, index: Array) -> Table:
        """Rows at these positions, or where a boolean mask is true."""
        picked = {name: column[index] for name, column in self._columns.items()}
        return Table(len(picked["cell"]), self.groups, **picked)

    def row(self, i: int) -> dict[str, Any]:
        """One row as plain Python values, for messages."""
        return {name: column[i].item() for name, column in self._columns.items()}
