"""The table of default limits once more, typed by hand for ``plain_rating.py``: a second statement, never read from the data.

A pair is (care, stop). Maxima: care when reached, stop when passed; minima: care at or below, stop below. All values are
common practice, no published source, unless a line says otherwise.
"""

from __future__ import annotations

from typing import Any

PRE, SOLO, POST, COMMERCIAL = "pre-solo", "solo", "post-solo", "commercial"
STAGES = (PRE, SOLO, POST, COMMERCIAL)

#: Pre-solo and the two later stages fly with the instructor aboard, solo is a student alone.
_DUAL: dict[str, Any] = {
    "peak_kt": (25, 30),
    "crosswind_never_kt": 15,  # lessons away from the runway end in a landing too
    "tailwind_kt": (3, 5),
    "ceiling_area_ft": (2500, 2000),  # stop: 14 CFR 91.155, 1,000 ft over a lesson at 1,000 ft
    "ceiling_pattern_ft": (2000, 1500),
    "visibility_sm": (5, 3),  # stop: 14 CFR 91.155
    "dew_spread_c": (3, 1),  # in the dark or near it, with little wind
    "cold_c": (-10, -18),
    "heat_c": (32, 40),
    "density_altitude_ft": 3000,
    "variable_kt": None,
    "age_min": (75, 120),
}
DAY: dict[str, dict[str, Any]] = {
    PRE: _DUAL | {"mean_kt": (18, 25), "spread_kt": (8, 12), "crosswind_kt": (8, 12), "base_tailwind_kt": 8},
    POST: _DUAL | {"mean_kt": (20, 25), "spread_kt": (10, 15), "crosswind_kt": (10, 15), "base_tailwind_kt": 10},
    SOLO: {
        "mean_kt": (12, 15),
        "peak_kt": (None, 18),  # care: any reported gust
        "spread_kt": (None, 7),  # care: any reported gust
        "crosswind_kt": (5, 7),
        "base_tailwind_kt": 5,
        "tailwind_kt": (1, 3),
        "ceiling_area_ft": (3500, 3000),
        "ceiling_pattern_ft": (2500, 2000),
        "visibility_sm": (6, 5),  # 14 CFR 61.89 is the floor, 3 SM
        "dew_spread_c": (4, 2),
        "cold_c": (-10, -15),
        "heat_c": (32, 38),
        "density_altitude_ft": 2500,
        "variable_kt": 8,  # variable or swinging: stop above
        "age_min": (60, 75),
    },
}
DAY[COMMERCIAL] = DAY[POST]
#: The first three solos.
EARLY_SOLO: dict[str, Any] = {"mean_kt": (8, 10), "crosswind_kt": (3, 5)}

#: Mean wind at the field, stop, kt, for pre-solo, solo, post-solo, commercial. None: not taught at the stage.
LESSON_MEAN_KT: dict[str, tuple[int | None, ...]] = {
    "tracking": (25, 15, 25, 25),
    "rectangular-course": (20, 15, 22, 22),
    "s-turns": (18, 12, 20, 20),
    "turns-around-a-point": (15, 12, 20, 20),
    "eights-along-a-road": (15, 12, 20, 20),
    "eights-across-a-road": (15, 12, 20, 20),
    "eights-around-pylons": (None, 10, 20, 20),
    "eights-on-pylons": (None, None, 15, 20),
    "crosswind-pattern": (20, 15, 25, 25),
}
#: Gust spread, stop, kt: pre-solo, then post-solo and commercial. A student alone has the day's.
LESSON_SPREAD_KT: dict[str, tuple[int | None, int]] = {
    "tracking": (10, 12),
    "rectangular-course": (10, 10),
    "s-turns": (8, 10),
    "turns-around-a-point": (8, 10),
    "eights-along-a-road": (8, 10),
    "eights-across-a-road": (8, 10),
    "eights-around-pylons": (None, 10),
    "eights-on-pylons": (None, 8),
    "crosswind-pattern": (8, 10),
}
CIRCLES = ("s-turns", "turns-around-a-point", "eights-along-a-road", "eights-across-a-road", "eights-around-pylons")
PATTERN = "crosswind-pattern"
PYLONS = "eights-on-pylons"


STRONG_PEAK_KT, STRONG_SPREAD_KT = 25, 8  # together: hold, after solo with the instructor ask first
VARIABLE_KT, SWING_DEG = 5, 60
CALM_KT = 5  # fog and the inversion guess: a mean of this or less
PLANNED_BANK_DEG = {PRE: 30, SOLO: 30, POST: 35, COMMERCIAL: 35}
EXIT_BANK_DEG = 45  # AFH chapter 7
RADIUS_FT = 2600  # the practical radius, at most
WIND_TO_TAS = {PRE: 0.25, SOLO: 0.25, POST: 0.30, COMMERCIAL: 0.30}
PIVOTAL_FT = 500  # AFH-3A chapter 6: never below it
HANDBOOK_PIVOTAL = 11.3  # AFH chapter 7: groundspeed squared, knots, over this
MARGIN = (1.3, 1.2)  # stall margin, minima
PRACTICE_KIAS, STALL_KCAS, DEMONSTRATED_CROSSWIND_KT = 90.0, 48.0, 12.0  # the trainer of the cases
LESSON_HEIGHT_FT = 1000
FREEZING_BAND_C, FROST_SPREAD_C = 2.0, 3.0
OVERCAST_BELOW_FT = 7000  # Turner's classes, EPA-454/R-99-005
TWILIGHT_MIN, LAST_HOUR_MIN = 90, 60
THUNDER_AHEAD_MIN, STORM_MARGIN_MIN = 180, 60
REPORT_STANDS_MIN, AIR_CARRIED_MIN = 120, 360
FOG_LATE_MIN = 120  # after forecast fog has gone
#: Carburettor ice: from this temperature with this humidity or more, up to 38 C. PHAK chapter 7; US DOI SA 11-01.
CARBURETTOR = ((-7, 80), (10, 60))
CARBURETTOR_TO_C = 38
#: High end of the wind at 1,000 ft: times the mean, and the mean plus so many knots, whichever is more. Derived from
#: power-law exponents (EPA-454/R-99-005); the stable floor of 25 kt is that of simulated jets (Wind Energ. Sci. 6, 1015).
STABLE, OVERCAST, WINDY, MIXED = (1.7, 20), (1.7, 4), (1.6, 0), (1.5, 3)
STABLE_FLOOR_KT, WINDY_FROM_KT, CALM_COUNTS_KT = 25, 15, 2
#: Report against forecast: what would make a forecaster amend (NWS TAF lesson 6).
AMEND_SPEED_KT, AMEND_TURN_DEG, AMEND_TURN_FROM_KT = 10, 30, 12
FAMILIES = 3  # care cautions of so many families: ask first
