"""Rules about wind shear close to the ground."""

from __future__ import annotations

import numpy as np

from advisor.aloft import AirClass
from advisor.rules.context import Context, number
from advisor.rules.registry import Array, Level, rule


def _say_shear(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "low-level wind shear is reported or forecast (WS group in force)"


@rule(
    "SH01",
    "wind-shear-group",
    family="shear",
    say=_say_shear,
    sources=("nws-taf", "common-practice"),
    worse=("shear+",),
)
def wind_shear_group(c: Context) -> Array:
    """A low-level wind shear group is in force.

    What it watches
    ---------------
    WS in an observation (runway shear) or in the prevailing forecast group, until the next FM.
    Why it matters
    --------------
    The wind on final is not the wind at 500 ft; airspeed falls just where there is no height to give.
    Worked example
    --------------
    WS020/22040KT: with care with an instructor, hold alone, until the FM group without it.
    Source
    ------
    NWS TAF lesson 3.7 for how long the group holds; the caps are common practice, no source.
    """
    return np.where(c.t.shear & c.alone, np.uint8(Level.STOP), c.flag(c.t.shear, Level.CARE))


def _say_inversion(c: Context, _s: int, _l: int, i: int) -> str:
    return (
        f"still, stable air at the field may hide wind above: {number(c.height.low_kt[i])} to "
        f"{number(c.height.high_kt[i])} kt possible at lesson height (an inversion guess)"
    )


@rule(
    "SH02", "inversion-guess", family="shear", axes="row", say=_say_inversion, calm_hazard=True,
    uses=("inversion_wind_kt", "inversion_aloft_kt", "inversion_aloft_within_ft"),
    sources=("epa-454", "wind-energ-sci-2021", "common-practice"),
    worse=("dark+", "near_sun+", "aloft_low_kt+", "aloft_low_height_ft-"),
)  # fmt: skip
def inversion_guess(c: Context) -> Array:
    """Calm at the field by night or near dawn and dusk may hide wind above.

    What it watches
    ---------------
    The stable class (dark, or within 90 minutes of sunrise or sunset) with a mean of 5 kt or less, or winds aloft
    of 25 kt or more within 2,000 ft of the ground in the stable class.
    Why it matters
    --------------
    A jet of 20 kt at 600 ft over a calm field is ordinary at dawn; the climb-out meets it all at once.
    Worked example
    --------------
    00000KT twenty minutes after sunrise: wind at height 0 to 22 kt, with care; alone ask first.
    Source
    ------
    EPA-454/R-99-005 for stability classes; Wind Energy Science 6, 1015 (2021) for the jets; the caps are common
    practice, no source.
    """
    stable = c.height.air_class == AirClass.STABLE
    calm = c.t.mean_kt <= c.fixed["inversion_wind_kt"]
    jet = (c.t.aloft_low_kt >= c.fixed["inversion_aloft_kt"]) & (
        c.t.aloft_low_height_ft <= c.fixed["inversion_aloft_within_ft"]
    )
    return c.flag(stable & c.wind_known & (calm | jet), Level.CARE)
