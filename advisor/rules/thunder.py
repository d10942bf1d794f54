"""Rules about thunderstorms, squalls, funnel clouds and freezing rain or drizzle."""

from __future__ import annotations

from advisor.rules.context import Context
from advisor.rules.registry import Array, Level, rule
from advisor.weather import STORM, Wx

_AIM = ("aim-7-1", "common-practice")


def _names(bits: int) -> str:
    words = {
        Wx.THUNDER: "thunderstorm",
        Wx.SQUALL: "squall",
        Wx.FUNNEL: "funnel cloud",
        Wx.FREEZING: "freezing rain or drizzle",
    }
    return ", ".join(text for flag, text in words.items() if bits & int(flag))


def _say_storm(c: Context, _s: int, _l: int, i: int) -> str:
    seen = "reported" if c.is_report[i] else "forecast"
    return f"{_names(int(c.t.weather[i]))} {seen}"


@rule(
    "TS01",
    "storm-in-the-hour",
    family="thunder",
    axes="row",
    say=_say_storm,
    sources=_AIM,
    worse=("weather+",),
)
def storm_in_the_hour(c: Context) -> Array:
    """A storm or freezing rain is reported or forecast in the hour.

    What it watches
    ---------------
    Thunder, squall, funnel cloud, freezing rain or freezing drizzle in any group in force, TEMPO and PROB too.
    Why it matters
    --------------
    Gusts, hail and shear reach far from the cell; freezing rain covers an aircraft in minutes.
    Worked example
    --------------
    TEMPO 2520/2523 TSRA: 20 to 23 Z on hold for everyone.
    Source
    ------
    AIM 7-1 on thunderstorms (do not take off or land in the face of one); the rest is common practice, no source.
    """
    return c.flag((c.t.weather & int(STORM)) != 0, Level.STORM)


def _say_near(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "within an hour of a forecast storm or freezing-rain group"


@rule(
    "TS02",
    "storm-within-the-hour",
    cites="storm_group",
    family="thunder",
    axes="row",
    say=_say_near,
    uses=("storm_margin_min",),
    worse=("storm_near+",),
)
def storm_within_the_hour(c: Context) -> Array:
    """A forecast storm group starts or ended within an hour.

    What it watches
    ---------------
    One hour either side of a forecast group that carries thunder, squall, funnel cloud or freezing rain; a group that is
    over counts for its hour whatever the report says.
    Why it matters
    --------------
    Forecast hours are not promises; the outflow often arrives first.
    Worked example
    --------------
    TEMPO 2520/2523 TSRA: from 19 to 20 and 23 to 24 Z ask first with an instructor, hold alone.
    Source
    ------
    Common practice, no source.
    """
    here = (c.t.weather & int(STORM)) != 0
    return c.flag(c.t.storm_near & ~here, Level.ASK_OR_HOLD)


def _say_vicinity(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "thunder or lightning near the field in the last report"


@rule(
    "TS03",
    "thunder-in-vicinity",
    family="thunder",
    axes="row",
    say=_say_vicinity,
    sources=_AIM,
    worse=("weather+",),
)
def thunder_in_vicinity(c: Context) -> Array:
    """Thunder or lightning was observed near the field.

    What it watches
    ---------------
    VCTS, recent thunder, thunder named in remarks, or lightning not marked distant, in an observation.
    Why it matters
    --------------
    Thunder within sight of the field is inside the 20 miles that pilots are told to keep.
    Worked example
    --------------
    VCTS in the last report: hold while the report stands.
    Source
    ------
    AIM 7-1 (20 miles from severe storms); the rest is common practice, no source.
    """
    return c.flag(c.is_report & ((c.t.weather & int(Wx.THUNDER_VICINITY)) != 0), Level.STORM)


def _say_distant(c: Context, _s: int, _l: int, i: int) -> str:
    what = "cumulonimbus" if int(c.t.weather[i]) & int(Wx.CB) else "distant lightning"
    return f"{what} in the last report"


@rule("TS04", "lightning-or-cb-observed", family="thunder", axes="row", say=_say_distant, worse=("weather+",))
def lightning_or_cb_observed(c: Context) -> Array:
    """Distant lightning or cumulonimbus was observed.

    What it watches
    ---------------
    LTG DSNT or CB in an observation, in the clouds or in remarks.
    Why it matters
    --------------
    A storm in sight can be at the field before the lesson is over.
    Worked example
    --------------
    RMK LTG DSNT W: ask first with an instructor, hold alone.
    Source
    ------
    Common practice, no source.
    """
    far = int(Wx.LIGHTNING_DISTANT | Wx.CB)
    return c.flag(c.is_report & ((c.t.weather & far) != 0), Level.ASK_OR_HOLD)


def _say_ahead(c: Context, _s: int, _l: int, i: int) -> str:
    bits = int(c.t.weather[i])
    if bits & int(Wx.TCU):
        return "towering cumulus: showers and gusts may grow from it"
    if bits & int(Wx.CB | Wx.THUNDER_VICINITY) and not c.is_report[i]:
        return "cumulonimbus or thunder in the vicinity forecast"
    if bits & int(Wx.VIRGA):
        return "virga: rain that dries up before the ground can bring sudden gusts and sinking air below it"
    return "a storm or freezing-rain group is forecast within three hours"


@rule(
    "TS05",
    "storm-ahead",
    cites="storm_group",
    family="thunder",
    axes="row",
    say=_say_ahead,
    uses=("storm_ahead_min",),
    worse=("weather+", "storm_ahead+"),
)
def storm_ahead(c: Context) -> Array:
    """Thunder is forecast within three hours, or the makings of it are there.

    What it watches
    ---------------
    A storm group within the next three hours; VCTS or CB in a forecast group; towering cumulus anywhere; virga
    remarked, as a sign of an outflow.
    Why it matters
    --------------
    The lesson must be over, and the aircraft tied down, before it comes.
    Worked example
    --------------
    TEMPO 2520/2523 TSRA: from 17 Z not above with care with an instructor.
    Source
    ------
    Common practice, no source.
    """
    forecast = ~c.is_report & ((c.t.weather & int(Wx.THUNDER_VICINITY | Wx.CB)) != 0)
    seen = (c.t.weather & int(Wx.TCU | Wx.VIRGA)) != 0
    return c.flag(c.t.storm_ahead | forecast | seen, Level.CARE)


def _say_today(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "thunder is in today's daylight forecast"


@rule(
    "TS06",
    "thunder-today",
    cites="storm_group",
    family="thunder",
    say=_say_today,
    sources=_AIM,
    worse=("storm_today+",),
)
def thunder_today(c: Context) -> Array:
    """Thunder is somewhere in today's daylight forecast.

    What it watches
    ---------------
    Thunder, in the vicinity (VCTS) too, in any group of today's daylight, past or to come, for a person alone.
    Why it matters
    --------------
    Storms come early as often as late, and a student alone cannot judge them from the air.
    Worked example
    --------------
    TEMPO TSRA in the afternoon: a student alone asks first in the morning too.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.storm_today & c.alone, Level.CARE)


def _say_sensor(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the station's thunderstorm sensor is out (TSNO): silence is not absence of thunder"


@rule(
    "TS07",
    "thunder-sensor-out",
    family="source",
    axes="row",
    say=_say_sensor,
    sources=("aim-7-1",),
    worse=("no_thunder_sensor+",),
)
def thunder_sensor_out(c: Context) -> Array:
    """The thunderstorm sensor is out.

    What it watches
    ---------------
    The remark TSNO.
    Why it matters
    --------------
    The report cannot say thunder, so a report without it says nothing about thunder.
    Worked example
    --------------
    RMK AO2 TSNO: with care with an instructor, ask first alone.
    Source
    ------
    AIM 7-1 METAR key for the remark; the cap is common practice, no source.
    """
    return c.flag(c.t.no_thunder_sensor, Level.CARE)
