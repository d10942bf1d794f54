"""Typed reports. Absent stays ``None``: never 0, never "clear", never "calm".

All times are aware UTC. Heights are feet above the ground unless a name says otherwise.
"""

from __future__ import annotations

from dataclasses import field
from datetime import datetime
from enum import StrEnum

from advisor.records import dataclass
from advisor.wind import MISSING, Wind


class CeilingState(StrEnum):
    """``NONE``: the sky was reported and holds no ceiling. ``UNKNOWN``: no sky group could be read."""

    NONE = "none"
    AT = "at"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class SkyLayer:
    """One cloud group. ``cover`` is FEW, SCT, BKN, OVC or VV; ``base_ft_agl`` None when printed ``///``."""

    cover: str
    base_ft_agl: int | None
    cloud_type: str | None = None  # CB or TCU


@dataclass(frozen=True, slots=True)
class Visibility:
    """Prevailing visibility, statute miles; ``bound`` is ``at_least`` (P6SM, 10SM, 9999), ``less_than``
    (M1/4SM) or ``None``. ``miles`` None means missing or not understood."""

    miles: float | None = None
    bound: str | None = None
    raw: str = ""


@dataclass(frozen=True, slots=True)
class Sky:
    """All cloud groups of one report or period."""

    layers: tuple[SkyLayer, ...] = ()
    token: str | None = None  # CLR SKC NSC NCD CAVOK, as printed
    ceiling_state: CeilingState = CeilingState.UNKNOWN
    ceiling_ft_agl: int | None = None


@dataclass(frozen=True, slots=True)
class Remarks:
    """The remark groups that matter for training; ``None``/``False`` when the group is absent."""

    peak_wind_from_deg_true: int | None = None
    peak_wind_kt: int | None = None
    peak_wind_at: datetime | None = None
    wind_shift_at: datetime | None = None
    wind_shift_front: bool = False  # FROPA
    no_thunder_sensor: bool = False  # TSNO
    no_present_weather_sensor: bool = False  # PWINO
    no_freezing_rain_sensor: bool = False  # FZRANO
    maintenance_needed: bool = False  # $
    virga: bool = False  # VIRGA, where it is stays in ``other``
    wind_estimated: bool = False  # WND DATA ESTMD
    lightning: tuple[str, ...] = ()  # LTG groups as printed
    lightning_near: bool = False  # any LTG group not marked DSNT
    lightning_distant: bool = False
    thunder_location: tuple[str, ...] = ()  # TS OHD MOV E, TSB24 ... as printed
    cb_or_tcu: tuple[str, ...] = ()  # CB DSNT W, TCU SE, CBMAM, CB2SC3, 1CB020 ... as printed
    funnel_cloud: tuple[str, ...] = ()  # TORNADO, FUNNEL CLOUD, WATERSPOUT ... as printed
    visibility_min_sm: float | None = None  # VIS 3/4V1 1/2
    visibility_max_sm: float | None = None
    ceiling_min_ft_agl: int | None = None  # CIG 013V017
    ceiling_max_ft_agl: int | None = None
    temperature_c: float | None = None  # T-group tenths
    dewpoint_c: float | None = None
    sea_level_pressure_hpa: float | None = None
    density_altitude_ft: int | None = None  # DENSITY ALT 1200FT
    other: tuple[str, ...] = ()  # everything else, as printed


@dataclass(frozen=True, slots=True)
class Metar:
    """One METAR or SPECI."""

    station: str
    observed_at: datetime
    raw: str
    kind: str = "METAR"  # or SPECI
    automatic: bool = False
    corrected: bool = False
    wind: Wind = MISSING
    visibility: Visibility = Visibility()
    sky: Sky = Sky()
    weather: tuple[str, ...] = ()
    recent_weather: tuple[str, ...] = ()  # RETS ...
    runway_visual_range: tuple[str, ...] = ()
    wind_shear: tuple[str, ...] = ()  # WS R22, WS ALL RWY as printed
    temperature_c: float | None = None  # tenths from the T-group when it agrees, else the whole degrees
    dewpoint_c: float | None = None
    altimeter_inhg: float | None = None
    remarks: Remarks = Remarks()
    trend: tuple[str, ...] = ()  # BECMG/TEMPO/NOSIG/FM groups of a trend, as text, never mixed in
    not_understood: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WindShear:
    """WS020/22040KT: wind at the top of the shear layer."""

    height_ft_agl: int
    from_deg_true: int
    speed_kt: int


@dataclass(frozen=True, slots=True)
class TafPeriod:
    """One change group. ``None`` in wind, visibility, sky or weather means "not restated".

    ``change``: BASE, FM, BECMG, TEMPO or PROB; PROB30 TEMPO is TEMPO with ``probability`` 30. ``start`` and
    ``end``: BASE and FM run until the next FM (or the end of the forecast); TEMPO and PROB over their
    stated period; BECMG over its stated *transition*: from ``end`` on the new values hold until the next
    FM, BECMG restating them, or the end. ``no_significant_weather`` is NSW. An empty ``weather`` tuple
    never occurs: ``None`` means not restated, and a FM/BASE group without weather has ``()``.
    """

    change: str
    start: datetime
    end: datetime
    raw: str
    probability: int | None = None
    wind: Wind | None = None
    visibility: Visibility | None = None
    sky: Sky | None = None
    weather: tuple[str, ...] | None = None
    no_significant_weather: bool = False
    wind_shear: WindShear | None = None
    altimeter_inhg: float | None = None
    icing: tuple[str, ...] = ()  # 6-groups as printed
    turbulence: tuple[str, ...] = ()  # 5-groups as printed
    not_understood: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Taf:
    """One aerodrome forecast."""

    station: str
    issued_at: datetime
    valid_from: datetime
    valid_to: datetime
    raw: str
    amended: bool = False
    corrected: bool = False
    cancelled: bool = False  # CNL
    nil: bool = False
    periods: tuple[TafPeriod, ...] = ()
    max_temperatures: tuple[tuple[float, datetime], ...] = ()  # TX, degrees C
    min_temperatures: tuple[tuple[float, datetime], ...] = ()  # TN
    limits_note: str | None = None  # AMD NOT SKED AFT ..., LAST NO AMDS AFT ... as printed
    not_understood: tuple[str, ...] = ()
    #: Change groups whose own time cannot be trusted; start and end are the widest hours they may cover.
    unreliable: tuple[TafPeriod, ...] = ()


@dataclass(frozen=True, slots=True)
class AloftLevel:
    """Wind at one height of a winds-aloft bulletin. ``light_and_variable`` is 9900: under 5 kt, not calm."""

    height_ft_msl: int
    from_deg_true: int | None
    speed_kt: int | None
    temperature_c: float | None = None
    light_and_variable: bool = False
    speed_bound: str | None = None  # "at_least" for 7799-style groups (199 kt or more)


@dataclass(frozen=True, slots=True)
class WindsAloft:
    """Forecast winds over one reporting point (3-letter identifier)."""

    station: str
    based_on: datetime
    valid_at: datetime
    use_from: datetime
    use_to: datetime
    levels: tuple[AloftLevel, ...] = ()
    raw: str = ""
    not_understood: tuple[str, ...] = field(default=())
