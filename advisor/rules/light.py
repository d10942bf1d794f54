"""Rules about daylight."""

from __future__ import annotations

from advisor.rules.context import Context
from advisor.rules.registry import Array, Level, rule


def _say_dark(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "before sunrise or after sunset: these are day lessons"


@rule("DL01", "dark", family="light", axes="row", say=_say_dark, worse=("dark+",))
def dark(c: Context) -> Array:
    """The sun is down.

    What it watches
    ---------------
    Time before sunrise and after sunset at the field.
    Why it matters
    --------------
    The reference on the ground, the obstacles and the field to land in cannot be seen.
    Worked example
    --------------
    The hour after sunset: every lesson on hold as a day lesson.
    Source
    ------
    Common practice, no source. (In US law night begins later, at the end of civil twilight: 14 CFR 1.1.)
    """
    return c.flag(c.t.dark, Level.STORM)


def _say_last(_c: Context, _s: int, _l: int, _i: int) -> str:
    return "the last hour before sunset: a person alone should be down"


@rule(
    "DL02",
    "last-hour-of-light",
    family="light",
    say=_say_last,
    uses=("last_hour_min",),
    worse=("last_hour+",),
)
def last_hour_of_light(c: Context) -> Array:
    """A person alone would land in the last hour of daylight.

    What it watches
    ---------------
    The hour before sunset, for a person alone.
    Why it matters
    --------------
    A delay in the pattern turns into a first night landing.
    Worked example
    --------------
    Sunset at 0117Z: from 0017Z a student alone asks first.
    Source
    ------
    Common practice, no source.
    """
    return c.flag(c.t.last_hour & c.alone, Level.CARE)
