"""Winds-aloft bulletins (FB, headed FD1US1 and the like): forecast wind and temperature by height.

A cell is ddff, ddff+TT, ddff-TT, or ddffTT above 24,000 ft where every temperature is negative. ``9900`` is
light and variable: under 5 kt, not calm. From 100 kt, 50 is added to the direction and 100 taken from
the speed, and ff 99 with such a direction means 199 kt or more. A column left blank is a level the
terrain takes away, so cells are placed by the columns of the header line, never by counting from the left.
Directions are true, heights above mean sea level. Sources: the national FB winds and temperatures aloft
code; AIM 7-1; CNATRA P-304.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from advisor.errors import DecodeError
from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.decode_taf_times import last_clock, latest, near, next_clock
from advisor.reports.types import AloftLevel, WindsAloft

LIGHT_AND_VARIABLE_BELOW_KT = 5
_TEMPERATURES_NEGATIVE_ABOVE_FT = 24_000
_STRONGEST_CODED_KT = 199
_CELL = pattern(r"(\d{2})(\d{2})(?:([+-])?(\d{2}))?", re.ASCII)
_HEADER = pattern(r"\s*FT(?:\s+\d{4,5})+", re.ASCII)
_BASED = pattern(r"BASED\s{1,4}ON\s{1,4}(\d{2})(\d{2})(\d{2})Z", re.ASCII)
_VALID = pattern(r"VALID\s{1,4}(\d{2})(\d{2})(\d{2})Z", re.ASCII)
_USE = pattern(r"FOR\s{1,4}USE\s{1,4}(\d{2})(\d{2})\s{0,3}-\s{0,3}(\d{2})(\d{2})Z", re.ASCII)
_STATION = pattern(r"[A-Z0-9]{3}", re.ASCII)
_WORD = pattern(r"\S+")
_FRAMING = pattern(
    r"(?:\d{1,4}|[A-Z]{4}\d{2} [A-Z]{4} \d{6}.*|\(EXTRACTED FROM .*\)?|F[BD]\w{0,8}|NNNN|\$\$|.*TEMPS NEG.*)",
    re.ASCII,
)
# Everything a message may carry besides text: start and end marks, the record mark before each line.
_CONTROL = {**dict.fromkeys((*range(9), *range(14, 32), 127)), 9: " "}


@dataclass(slots=True)
class _Times:
    based_on: datetime
    valid_at: datetime
    use_from: datetime
    use_to: datetime


def decode_winds_aloft(text: str, now: datetime) -> tuple[WindsAloft, ...]:
    """Decode one or more winds-aloft bulletins.

    Parameters
    ----------
    text : str
        Bulletins of any region as sent, with their line breaks and blanks: columns carry meaning. A leading
        "(Extracted from ...)" line and control characters are taken off.
    now : datetime
        Aware. Month and year are the latest that put the base time not more than 72 hours after it.

    Returns
    -------
    tuple of WindsAloft
        One a row, in printed order. A cell that is malformed or stands under no column gives no level and
        is listed in ``not_understood``.

    Raises
    ------
    DecodeError
        No bulletin: no header of heights, no times, or no row. Nothing else is raised.
    """
    if now.tzinfo is None:
        raise DecodeError("The time to read the bulletin by has no time zone; give it in UTC.", text)
    rows: list[WindsAloft] = []
    based: re.Match[str] | None = None
    valid: re.Match[str] | None = None
    use: re.Match[str] | None = None
    times: _Times | None = None
    columns: list[tuple[int, int, int]] = []
    margin = 0
    for line in text.upper().translate(_CONTROL).splitlines():
        line = line.rstrip()
        if not line.strip():
            continue
        if "BASED" in line:
            # Another bulletin begins, perhaps in a form that is not read (Canada's prints no Z and no FT).
            based, valid, use, times, columns = _BASED.search(line), None, None, None, []
        if (found := _VALID.search(line)) is not None:
            valid, times, columns = found, None, []
            use = _USE.search(line)
            continue
        if "BASED" in line:
            continue
        if _HEADER.fullmatch(line):
            times = _times(based, valid, use, text, now)
            margin = len(line) - len(line.lstrip())  # quoted text is set in
            columns = _columns(line[margin:])
            if any(lower[0] >= upper[0] for lower, upper in pairwise(columns)):
                raise DecodeError("The heights of the winds-aloft bulletin do not rise. Fetch it again.", text, line)
            continue
        if _FRAMING.fullmatch(line.strip()):
            continue
        if not line[:margin].strip():
            line = line[margin:]
        if times is not None and _STATION.fullmatch(line[:3]) and line[3:4] in ("", " "):
            rows.append(_row(line, columns, times))
        elif rows:
            # Part of no row: said beside the one before it rather than dropped.
            unread = (*rows[-1].not_understood, line.strip()[:80])
            rows[-1] = replace(rows[-1], not_understood=unread[-20:])
    if not rows:
        raise DecodeError(
            "This is not a winds-aloft bulletin: no line of heights (FT 3000 6000 ...) with rows under it. "
            "Give the bulletin as it was sent, blanks and line breaks included.",
            text,
        )
    return tuple(rows)


def _times(
    based: re.Match[str] | None,
    valid: re.Match[str] | None,
    use: re.Match[str] | None,
    text: str,
    now: datetime,
) -> _Times:
    if based is None or valid is None or use is None:
        raise DecodeError(
            "The winds-aloft bulletin lacks its DATA BASED ON, VALID or FOR USE time. Fetch it again.", text
        )
    base_day, base_hour, base_minute = map(int, based.groups())
    based_on = latest(base_day, base_hour, base_minute, now)
    day, hour, minute = map(int, valid.groups())
    valid_at = near(day, hour, minute, based_on) if based_on else None
    from_hour, from_minute, to_hour, to_minute = map(int, use.groups())
    use_from = last_clock(from_hour, from_minute, valid_at) if valid_at else None
    use_to = next_clock(to_hour, to_minute, valid_at) if valid_at else None
    if based_on is None or valid_at is None or use_from is None or use_to is None:
        raise DecodeError("A time of the winds-aloft bulletin is no time. Fetch it again.", text)
    if not based_on <= valid_at <= based_on + timedelta(hours=72):
        raise DecodeError(
            f"The winds-aloft bulletin is based on {based_on:%d%H%MZ} but valid at {valid_at:%d%H%MZ}. Fetch it again.",
            text,
        )
    return _Times(based_on, valid_at, use_from, use_to)


def _columns(header: str) -> list[tuple[int, int, int]]:
    """Height of each column with the first and last place of its figures in the header line."""
    return [(int(match.group()), match.start(), match.end()) for match in _WORD.finditer(header, 2)]


def _places(cells: Sequence[re.Match[str]], columns: Sequence[tuple[int, int, int]]) -> list[int] | None:
    """Column of each cell; None when some cell stands under none, for then the row has slipped sideways."""
    places: list[int] = []
    at = 0
    for cell in cells:
        while at < len(columns) and columns[at][2] <= cell.start():
            at += 1
        # A cell begins after the column before and ends with its own figures, one place of play.
        if at == len(columns) or not columns[at][1] < cell.end() <= columns[at][2] + 1:
            return _by_order(cells, columns)
        places.append(at)
    # A cell that fell out and let the others close up leaves the last column bare and a temperature under the
    # wrong heights; where it was cannot be told.
    slipped = places and places[-1] < len(columns) - 1
    if slipped and any(_contradicts(cell.group(), columns[at][0]) for cell, at in zip(cells, places, strict=True)):
        return None
    return places


def _by_order(cells: Sequence[re.Match[str]], columns: Sequence[tuple[int, int, int]]) -> list[int] | None:
    """Every column filled, each cell sound and none set apart: the order alone places them."""
    if len(cells) != len(columns) or any(b.start() - a.end() > 2 for a, b in pairwise(cells)):
        return None
    for cell, (height, _, _) in zip(cells, columns, strict=True):
        # No temperature is forecast for 3,000 ft and below (AIM 7-1-4).
        if read_cell(cell.group(), height) is None or (height <= 3_000 and len(cell.group()) > 4):
            return None
    return list(range(len(columns)))


def _contradicts(text: str, height_ft_msl: int) -> bool:
    """Whether a temperature stands without a sign, or with a plus, where TEMPS NEG ABV 24000 allows none."""
    match = _CELL.fullmatch(text)
    if match is None or match.group(4) is None:
        return False
    return match.group(3) == ("+" if height_ft_msl > _TEMPERATURES_NEGATIVE_ABOVE_FT else None)


def _row(line: str, columns: Sequence[tuple[int, int, int]], times: _Times) -> WindsAloft:
    cells = list(_WORD.finditer(line, 3))
    places = _places(cells, columns)
    shared = Counter(places or ())
    levels: list[AloftLevel] = []
    unread: list[str] = []
    for number, cell in enumerate(cells):
        level: AloftLevel | None = None
        # Two cells under one column are one broken cell.
        if places is not None and shared[places[number]] == 1:
            level = read_cell(cell.group(), columns[places[number]][0])
        if level is None:
            unread.append(cell.group())
        else:
            levels.append(level)
    levels.sort(key=lambda level: level.height_ft_msl)
    return WindsAloft(
        station=line[:3],
        based_on=times.based_on,
        valid_at=times.valid_at,
        use_from=times.use_from,
        use_to=times.use_to,
        levels=tuple(levels),
        raw=line,
        not_understood=tuple(unread),
    )


def read_cell(text: str, height_ft_msl: int) -> AloftLevel | None:
    """One cell of a bulletin.

    Parameters
    ----------
    text : str
        Such as ``2544+15``, ``9900``, ``731960``.
    height_ft_msl : int
        Height of its column; decides whether an unsigned temperature may stand there.

    Returns
    -------
    AloftLevel or None
        None when the cell is malformed. Never raises.
    """
    match = _CELL.fullmatch(text) if len(text) <= 7 else None
    if match is None:
        return None
    direction, speed = int(match.group(1)), int(match.group(2))
    temperature: float | None = None
    if match.group(4) is not None:
        if _contradicts(text, height_ft_msl):
            return None  # a digit or a column is wrong
        temperature = float(match.group(4)) if match.group(3) == "+" else -float(match.group(4))
        if temperature == 0.0:
            temperature = 0.0  # -00 is plain zero
    if direction == 99 and speed == 0:
        return AloftLevel(height_ft_msl, None, None, temperature, light_and_variable=True)
    bound: str | None = None
    if 51 <= direction <= 86:
        direction -= 50
        if speed == 99:
            bound = "at_least"
        speed += 100
    if not 1 <= direction <= 36:
        return None
    return AloftLevel(height_ft_msl, direction * 10, speed, temperature, speed_bound=bound)


@dataclass(frozen=True, slots=True)
class AloftAt:
    """Wind at one height, from the levels around it.

    ``speed_kt`` is the nominal speed; ``speed_low_kt`` and ``speed_high_kt`` hold what light-and-variable
    levels leave open (equal to it otherwise). ``from_deg_true`` is None when nothing fixes a direction.
    ``position`` is ``at_level``, ``between``, ``below_lowest`` (the lowest level's wind, not a value for this
    height), ``above_highest`` (likewise the highest) or ``no_levels``. ``lower_ft_msl`` and ``upper_ft_msl``
    name the levels used. ``speed_bound`` is ``at_least`` when a level used is 199 kt or more;
    ``levels_unread`` says that some cell of the row could not be read, so a nearer level may be lacking.
    """

    height_ft_msl: float
    position: str
    from_deg_true: float | None = None
    speed_kt: float | None = None
    speed_low_kt: float | None = None
    speed_high_kt: float | None = None
    temperature_c: float | None = None
    light_and_variable: bool = False
    speed_bound: str | None = None
    lower_ft_msl: int | None = None
    upper_ft_msl: int | None = None
    levels_unread: bool = False


def interpolate_aloft(winds: WindsAloft, height_ft_msl: float) -> AloftAt:
    """Wind at a height: the wind vector taken linearly between the levels around it.

    Parameters
    ----------
    winds : WindsAloft
        One row of a bulletin.
    height_ft_msl : float
        Feet above mean sea level.

    Returns
    -------
    AloftAt
        Below the lowest level or above the highest that level's wind, so marked: nothing is extrapolated.
        A light-and-variable level counts as 0 to 5 kt from anywhere. Never raises.
    """
    found = _around(winds.levels, height_ft_msl)
    return replace(found, levels_unread=True) if winds.not_understood else found


def _around(levels: Sequence[AloftLevel], height_ft_msl: float) -> AloftAt:
    if not levels or height_ft_msl != height_ft_msl:
        return AloftAt(height_ft_msl, "no_levels")
    if height_ft_msl < levels[0].height_ft_msl:
        return _at_level(levels[0], height_ft_msl, "below_lowest")
    if height_ft_msl > levels[-1].height_ft_msl:
        return _at_level(levels[-1], height_ft_msl, "above_highest")
    for lower, upper in pairwise(levels):
        if lower.height_ft_msl < height_ft_msl < upper.height_ft_msl:
            return _between(lower, upper, height_ft_msl)
    exact = next(level for level in levels if level.height_ft_msl == height_ft_msl)
    return _at_level(exact, height_ft_msl, "at_level")


def _at_level(level: AloftLevel, height_ft_msl: float, position: str) -> AloftAt:
    calm = level.light_and_variable or level.speed_kt is None or level.from_deg_true is None
    speed = 0.0 if level.speed_kt is None else float(level.speed_kt)
    return AloftAt(
        height_ft_msl,
        position,
        from_deg_true=None if calm else float(level.from_deg_true or 360),
        speed_kt=LIGHT_AND_VARIABLE_BELOW_KT / 2 if calm else speed,
        speed_low_kt=0.0 if calm else speed,
        speed_high_kt=float(LIGHT_AND_VARIABLE_BELOW_KT) if calm else speed,
        temperature_c=level.temperature_c,
        light_and_variable=calm,
        speed_bound=level.speed_bound,
        lower_ft_msl=level.height_ft_msl,
        upper_ft_msl=level.height_ft_msl,
    )


def _between(lower: AloftLevel, upper: AloftLevel, height_ft_msl: float) -> AloftAt:
    from advisor.units import atan2_deg, cos_deg, sin_deg, wrap_360  # numpy: only when a height is asked for

    share = (height_ft_msl - lower.height_ft_msl) / (upper.height_ft_msl - lower.height_ft_msl)
    north = east = open_kt = 0.0
    for level, weight in ((lower, 1.0 - share), (upper, share)):
        if level.light_and_variable or level.speed_kt is None or level.from_deg_true is None:
            open_kt += weight * LIGHT_AND_VARIABLE_BELOW_KT
        else:
            north += weight * level.speed_kt * float(cos_deg(level.from_deg_true))
            east += weight * level.speed_kt * float(sin_deg(level.from_deg_true))
    speed = float((north * north + east * east) ** 0.5)
    calm = lower.light_and_variable and upper.light_and_variable
    temperature: float | None = None
    if lower.temperature_c is not None and upper.temperature_c is not None:
        temperature = (1.0 - share) * lower.temperature_c + share * upper.temperature_c
    # A vector no longer than what is left open may point anywhere.
    directed = speed > max(open_kt, 1e-9)
    return AloftAt(
        height_ft_msl,
        "between",
        from_deg_true=float(wrap_360(atan2_deg(east, north))) or 360.0 if directed else None,
        speed_kt=LIGHT_AND_VARIABLE_BELOW_KT / 2 if calm else speed,
        speed_low_kt=max(0.0, speed - open_kt),
        speed_high_kt=speed + open_kt,
        temperature_c=temperature,
        light_and_variable=calm,
        speed_bound=lower.speed_bound or upper.speed_bound,
        lower_ft_msl=lower.height_ft_msl,
        upper_ft_msl=upper.height_ft_msl,
    )
