"""Remarks of a chunk of reports."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from advisor.archive.bodies import Tokens
from advisor.archive.text import word_of
from advisor.archive.words import STARTS, Remark
from advisor.reports.remark_values import ESTIMATED
from advisor.reports.remarks import parse_remarks
from advisor.segments import from_minutes
from advisor.table import Array
from advisor.weather import Wx

WHOLE_WORD = 8  # characters of a group that its first machine word holds
_MOST_PLACES = 12  # words of place that one remark takes up


def read_remarks(
    t: Tokens, columns: dict[str, Array], sure: Array, observed_min: Array, peak_within_min: float
) -> None:
    """Fill the columns that remarks decide, and clear ``sure`` where a remark has another form.

    Parameters
    ----------
    t : Tokens
        Groups of the chunk.
    columns : dict
        Filled in place; temperature, visibility and ceiling hold the body's figures already.
    sure : bool
        Set to false in place.
    observed_min : int64
        UTC minutes of the reports: peak winds and wind shifts count back from them.
    peak_within_min : float
        Age up to which a peak wind counts.
    """
    _tenths(t, columns, sure)
    number = t.number[t.remark]
    bits = t.words.remark[number]
    row = t.row[t.remark]
    busy = np.flatnonzero(bits)
    bits, row, at = bits[busy], row[busy], t.remark[busy]
    columns["no_thunder_sensor"][row[(bits & Remark.TSNO) != 0]] = True
    columns["maintenance"][row[(bits & Remark.MAINTENANCE) != 0]] = True
    sure[row[(bits & Remark.UNSURE) != 0]] = False
    clouds = t.words.remark_weather[number]
    named = np.flatnonzero(clouds)
    np.bitwise_or.at(columns["weather"], t.row[t.remark[named]], clouds[named])
    begins = np.flatnonzero(bits & int(STARTS))
    bits, at = bits[begins], at[begins]
    _places(t, columns, at[(bits & int(Remark.LIGHTNING | Remark.THUNDER)) != 0])
    _peaks(t, columns, sure, at[(bits & Remark.PEAK) != 0], observed_min, peak_within_min)
    _estimated(t, columns, at[(bits & Remark.WIND) != 0])
    for flag, length in ((Remark.SHIFT, 1), (Remark.VISIBILITY, 4), (Remark.CEILING, 2)):
        _phrases(t, columns, at[(bits & flag) != 0], length)


def _tenths(t: Tokens, columns: dict[str, Array], sure: Array) -> None:
    """Tenths of a degree where they agree with the body to a degree."""
    at, air, dew = t.tenths
    row = t.row[at]
    sure &= np.bincount(row, minlength=t.n) <= 1
    for name, tenths in (("temperature_c", air), ("dewpoint_c", dew)):
        whole = columns[name][row]
        apart = tenths - whole
        agrees = (apart >= -1.0) & (apart <= 1.0)
        columns[name][row[agrees]] = tenths[agrees]


def _places(t: Tokens, columns: dict[str, Array], at: Array) -> None:
    """Lightning and thunder, near or distant by the words of place that follow."""
    if not at.size:
        return
    remark = t.words.remark
    end = t.end[t.row[at]]
    distant = np.zeros(len(at), dtype=bool)
    close = np.zeros(len(at), dtype=bool)
    on = np.ones(len(at), dtype=bool)
    for step in range(1, _MOST_PLACES + 1):
        inside = at + step < end
        bits = np.where(inside, remark[t.number[np.where(inside, at + step, 0)]], 0)
        on &= (bits & Remark.PLACE) != 0
        if not on.any():
            break
        distant |= on & ((bits & Remark.DISTANT) != 0)
        close |= on & ((bits & Remark.CLOSE) != 0)
    is_lightning = (remark[t.number[at]] & Remark.LIGHTNING) != 0
    # Lightning is distant when nothing but distant is said; thunder when distant is said at all.
    far = np.where(is_lightning, distant & ~close, distant)
    flags = np.where(far, np.uint32(Wx.LIGHTNING_DISTANT), np.uint32(Wx.THUNDER_VICINITY))
    np.bitwise_or.at(columns["weather"], t.row[at], flags)


def _peaks(
    t: Tokens, columns: dict[str, Array], sure: Array, at: Array, observed_min: Array, within_min: float
) -> None:
    """PK WND dddff(f)/(hh)mm."""
    chunk = t.chunk
    at = at[at + 2 < t.end[t.row[at]]]
    at = at[(t.first_word[at + 1] == word_of("WND")) & (chunk.length[at + 1] == 3)]
    if not at.size:
        return
    row, start, length = t.row[at], chunk.start[at + 2], chunk.length[at + 2]
    speed = np.full(len(at), -1.0)
    for speed_digits in (2, 3):
        for time_digits in (2, 4):
            pick = np.flatnonzero(length == 4 + speed_digits + time_digits)
            pick = pick[chunk.data[start[pick] + 3 + speed_digits] == ord("/")]
            direction, good = chunk.digits(start[pick], 3)
            kt, digits = chunk.digits(start[pick] + 3, speed_digits)
            clock, more = chunk.digits(start[pick] + 4 + speed_digits, time_digits)
            hour, minute = clock // 100, clock % 100
            good &= digits & more & (direction <= 360) & (kt <= 199) & (minute <= 59) & (hour <= 23)
            span, then = (60, minute) if time_digits == 2 else (1440, hour * 60 + minute)
            age = (observed_min[row[pick]] - then) % span
            speed[pick] = np.where(good, np.where(age <= within_min, kt, np.inf), -1.0)
    valid = speed >= 0
    sure &= np.bincount(row[valid], minlength=t.n) <= 1
    recent = valid & np.isfinite(speed)
    columns["peak_remark_kt"][row[recent]] = speed[recent]


def _estimated(t: Tokens, columns: dict[str, Array], at: Array) -> None:
    """WND DATA ESTMD, WND EST, EST WND and the like."""
    words = [word_of(word) for word in ESTIMATED if len(word) <= WHOLE_WORD]
    last = t.end[t.row[at]] - 1

    def estimated(place: Array) -> Array:
        return np.asarray((place <= last) & np.isin(t.first_word[np.minimum(place, last)], words))

    data = (at + 1 <= last) & (t.first_word[np.minimum(at + 1, last)] == word_of("DATA"))
    before = (at - 1 > t.remark_at[t.row[at]]) & np.isin(t.first_word[at - 1], words)
    said = before | estimated(at + 1) | (data & estimated(at + 2))
    columns["wind_estimated"][t.row[at[said]]] = True


def _phrases(t: Tokens, columns: dict[str, Array], at: Array, length: int) -> None:
    """WSHFT, VIS 1/2V2 and CIG 004V008: phrases that repeat, each distinct one read once."""
    last = np.minimum(at + length, t.end[t.row[at]] - 1)
    lows: dict[int, tuple[float, float]] = {}
    for place, end, row in zip(at.tolist(), last.tolist(), t.row[at].tolist(), strict=True):
        shift, miles, feet = _phrase(" ".join(t.text(place, end).split()))
        if shift:
            columns["wind_shift"][row] = True
        before = lows.get(row, (np.inf, np.inf))
        # Said twice, the later one holds.
        lows[row] = (before[0] if miles is None else miles, before[1] if feet is None else feet)
    if lows:
        rows = np.fromiter(lows, dtype=np.int64)
        low = np.array(list(lows.values()))
        for name, column in (("visibility_sm", low[:, 0]), ("ceiling_ft", low[:, 1])):
            # fmin would lower a missing figure; missing stays missing
            columns[name][rows] = np.minimum(columns[name][rows], column)


@lru_cache(maxsize=1 << 16)
def _phrase(text: str) -> tuple[bool, float | None, float | None]:
    """Wind shift, lowest visibility and lowest ceiling that a phrase says."""
    said = parse_remarks(text.split(), from_minutes(0))
    return said.wind_shift_at is not None, said.visibility_min_sm, said.ceiling_min_ft_agl
