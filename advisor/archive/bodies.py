"""Bodies of a chunk of reports, from the numbers of their groups; remarks are told apart here and read in ``remarks``."""

from __future__ import annotations

import numpy as np

from advisor.archive.text import Chunk, word_of
from advisor.archive.words import (
    AMOUNTLESS,
    CEILING,
    HEIGHTLESS,
    INF,
    NAN,
    NO_SKY,
    TOLD,
    Words,
    read_body,
)
from advisor.reports import metar_groups as g
from advisor.reports.metar_body import MAX_BODY_GROUPS
from advisor.reports.named import FAR_FOR_FOG_SM
from advisor.segments import observation_segment
from advisor.table import Array, WindKind
from advisor.weather import Wx

_RMK = word_of("RMK")
_UNDERSTOOD = np.zeros(256, dtype=bool)
_UNDERSTOOD[[g.SKY, g.VISIBILITY, g.WIND, g.TEMPERATURE, g.PRESSURE, g.WEATHER, g.TREND]] = True
_SKY_SLASHES = (3, 6, 9)


class Tokens:
    """Groups of a chunk with their numbers, told apart into body, trend and remarks.

    Attributes
    ----------
    number : int32, shape ``(groups,)``
        Dictionary number; 0 for groups that were not looked up (figures in the remarks).
    body, trend, remark : int64
        Positions of the groups of each part, in order; ``remark`` holds only groups that may say something.
    """

    def __init__(self, chunk: Chunk, body_start: Array, words: Words) -> None:
        self.chunk, self.words = chunk, words
        self.row = chunk.row
        n, total = len(chunk.first), len(chunk.start)
        self.n = n
        self.end = chunk.first + chunk.count
        self.first_word = chunk.first_word
        marks = np.flatnonzero((self.first_word == _RMK) & (chunk.length == 3))
        marks = marks[marks >= body_start[self.row[marks]]][::-1]
        self.remark_at = self.end.copy()
        self.remark_at[self.row[marks]] = marks
        self.body_start = body_start
        body = _runs(body_start, self.remark_at, total)
        after = _runs(self.remark_at + 1, self.end, total)
        lead = chunk.data[chunk.start[after]]
        second = chunk.data[chunk.start[after] + 1]
        # Figures say nothing here, but 1CB020, 2TCU030 and 8/903 do.
        figures = (lead >= ord("0")) & (lead <= ord("9"))
        figures &= (second != ord("C")) & (second != ord("T")) & (second != ord("/"))
        self.tenths, found = _tenths(chunk, after)
        self.remark = after[~figures & ~found]
        self.number = np.zeros(total, dtype=np.int32)
        self._look_up(body, "body")
        self._look_up(self.remark, "remark")
        kind = words.kind[self.number[body]]
        trends = body[kind == g.TREND][::-1]
        self.body_end = self.remark_at.copy()
        self.body_end[self.row[trends]] = trends
        in_body = body < self.body_end[self.row[body]]
        self.body, self.trend = body[in_body], body[~in_body]
        self.has_trend = self.body_end < self.remark_at

    def _look_up(self, groups: Array, part: str) -> None:
        fits = groups[self.chunk.length[groups] <= 24]
        self.number[fits] = self.words.numbers(self.chunk.words(fits), part)

    def text(self, first: int, last: int) -> str:
        """Bytes from one group to another, as printed."""
        start, stop = int(self.chunk.start[first]), int(self.chunk.start[last] + self.chunk.length[last])
        return self.chunk.blob[start:stop].decode("ascii")


def _runs(first: Array, end: Array, total: int) -> Array:
    """Positions from ``first`` to before ``end`` of every report, in order; reports follow each other."""
    some = first < end
    edge = np.zeros(total + 1, dtype=np.int8)
    edge[first[some]] += 1
    edge[end[some]] -= 1  # each position is the end of one run at most, and the start of one at most
    return np.flatnonzero(np.cumsum(edge[:total], dtype=np.int8))


def _tenths(chunk: Chunk, after: Array) -> tuple[tuple[Array, Array, Array], Array]:
    """T01450122 or T0145 among the remarks: positions and both temperatures; and which groups these are."""
    start, length = chunk.start[after], chunk.length[after]
    maybe = np.flatnonzero((chunk.data[start] == ord("T")) & ((length == 9) | (length == 5)))
    at, both = start[maybe], length[maybe] == 9
    air, good = chunk.digits(at + 1, 4)
    # Four bytes on from a short group lie in the next one, or in the blanks at the end.
    dew, good_dew = chunk.digits(at + 5, 4)
    good &= (air < 2000) & ((good_dew & (dew < 2000)) | ~both)
    found = np.zeros(len(after), dtype=bool)
    found[maybe[good]] = True
    return (after[maybe[good]], _signed(air[good]), np.where(both[good], _signed(dew[good]), NAN)), found


def _signed(coded: Array) -> Array:
    tenths = (coded % 1000) / 10
    return np.where((coded >= 1000) & (tenths != 0), -tenths, tenths)


def read_body_columns(t: Tokens, columns: dict[str, Array], sure: Array) -> None:
    """Fill the columns a body decides, and clear ``sure`` where groups are more than their sum."""
    w = t.words
    number = t.number[t.body]
    row = t.row[t.body]
    kind = w.kind[number]
    good = w.sure[number] | (kind == g.NUMBER)
    sure[row[~good]] = False
    _check_trend(t, sure)
    sure &= np.bincount(row, minlength=t.n) + np.bincount(t.row[t.trend], minlength=t.n) <= MAX_BODY_GROUPS
    understood = t.has_trend.copy()
    understood[row[_UNDERSTOOD[kind]]] = True
    sure &= understood
    _wind(t, columns, sure, kind, number, row)
    past = _air(t, columns, sure, kind, number, row)
    before = t.body < past[row]
    _visibility(t, columns, sure, kind, number, row, before)
    sure[row[(kind == g.SKY) & ~before]] = False
    _sky(t, columns, kind, number, row, before)
    wet = np.flatnonzero(w.weather[number])
    np.bitwise_or.at(columns["weather"], row[wet], w.weather[number[wet]])
    columns["automatic"][row[kind == g.AUTO]] = True
    # Fog beside miles of visibility is a contradiction, which kind of fog decides.
    sure &= ((columns["weather"] & np.uint32(Wx.FOG)) == 0) | ~(columns["visibility_sm"] > FAR_FOR_FOG_SM - 0.1)


def _once(row: Array, n: int, sure: Array, most: int = 1) -> Array:
    """How many a report has; more than ``most`` is unsure."""
    count = np.bincount(row, minlength=n)
    sure &= count <= most
    return count


def _check_trend(t: Tokens, sure: Array) -> None:
    """A second report may hide in a trend; a remark mark of another form may end it."""
    kind = t.words.kind[t.number[t.trend]]
    odd = ((kind == g.UNKNOWN) & (t.chunk.length[t.trend] == 7)) | (kind == g.REMARK)
    sure[t.row[t.trend[odd]]] = False


def _wind(t: Tokens, columns: dict[str, Array], sure: Array, kind: Array, number: Array, row: Array) -> None:
    w = t.words
    winds = kind == g.WIND
    here, of = row[winds], number[winds]
    _once(here, t.n, sure)
    for name in (
        "wind_kind",
        "gust_state",
        "mean_kt",
        "gust_kt",
        "from_deg_true",
        "arc_start_deg",
        "arc_width_deg",
    ):
        columns[name][here] = getattr(w, name)[of]
    columns["wind_estimated"][here] = w.estimated[of]
    columns["undecoded"][here] |= w.undecoded[of]
    swings = kind == g.VARYING
    _once(row[swings], t.n, sure)
    swings &= w.swing_deg[number] > 0
    here, of = row[swings], number[swings]
    steady = columns["wind_kind"][here] == WindKind.STEADY
    here, of = here[steady], of[steady]
    columns["arc_start_deg"][here] = w.swing_from_deg[of]
    columns["arc_width_deg"][here] = w.swing_deg[of]


def _air(t: Tokens, columns: dict[str, Array], sure: Array, kind: Array, number: Array, row: Array) -> Array:
    """Temperatures and pressure; returns the first group past the sky of each report."""
    w = t.words
    airs = kind == g.TEMPERATURE
    here, of = row[airs], number[airs]
    _once(here, t.n, sure)
    columns["temperature_c"][here] = w.temperature_c[of]
    columns["dewpoint_c"][here] = w.dewpoint_c[of]
    past = np.full(t.n, np.iinfo(np.int64).max)
    past[here] = t.body[airs]
    presses = (kind == g.PRESSURE) & ~np.isnan(w.exact_inhg[number])
    here, of = row[presses], number[presses]
    count = _once(here, t.n, sure, most=2)
    columns["altimeter_inhg"][here[::-1]] = w.altimeter_inhg[of[::-1]]
    at = t.body[presses]
    past[here[::-1]] = np.minimum(past[here[::-1]], at[::-1])
    pair = np.flatnonzero((count[here] == 2) & (np.r_[here[1:], -1] == here))
    if pair.size:
        a, b = of[pair], of[pair + 1]
        apart = np.abs(w.exact_inhg[b] - w.exact_inhg[a]) > 0.06
        sure[here[pair[apart]]] = False
        columns["altimeter_inhg"][here[pair]] = np.where(w.letter_a[b], w.altimeter_inhg[b], w.altimeter_inhg[a])
    return past


def _visibility(
    t: Tokens, columns: dict[str, Array], sure: Array, kind: Array, number: Array, row: Array, before: Array
) -> None:
    w = t.words
    seen = kind == g.VISIBILITY
    # 1 1/2SM, 9999 4000SE: two groups that are one figure; neither is one of its own.
    next_to = np.zeros(len(kind), dtype=bool)
    next_to[:-1] = seen[1:] & (t.body[1:] == t.body[:-1] + 1) & (row[1:] == row[:-1])
    number_alone = (kind == g.NUMBER) & ~next_to
    sure[row[number_alone]] = False
    whole = np.flatnonzero(next_to & (seen | (kind == g.NUMBER)))
    if whole.size:
        seen[whole + 1] = False
        seen[whole] = False
        sure[row[whole[~before[whole + 1]]]] = False
        _pairs(t, columns, sure, number[whole], number[whole + 1], t.body[whole])
    here, of = row[seen], number[seen]
    sure[here[~before[seen]]] = False
    columns["visibility_sm"][here] = w.visibility_sm[of]
    columns["undecoded"][here] |= w.undecoded[of]
    dashes = (w.slashes[number] == 4) & before
    _once(np.concatenate([here, row[whole], row[dashes]]), t.n, sure)


def _pairs(t: Tokens, columns: dict[str, Array], sure: Array, first: Array, second: Array, at: Array) -> None:
    keys, index, inverse = np.unique(
        first.astype(np.int64) << 32 | second.astype(np.int64), return_index=True, return_inverse=True
    )
    values = np.full(len(keys), NAN)
    for k, place in enumerate(at[index].tolist()):
        values[k] = _pair_value(t.text(place, place + 1))
    found = values[inverse.reshape(-1)]
    row = t.row[at]
    sure[row[np.isnan(found)]] = False
    columns["visibility_sm"][row] = found


def _pair_value(text: str) -> float:
    """Miles of ``1 1/2SM`` or ``9999 4000SE``; NaN when the two groups are not one good figure."""
    text = " ".join(text.split())
    metar = read_body(f"18005KT {text}")
    if metar is None or metar.not_understood or metar.visibility.raw != text:
        return NAN
    return observation_segment(metar, 0, 0.0).visibility_sm


def _sky(t: Tokens, columns: dict[str, Array], kind: Array, number: Array, row: Array, before: Array) -> None:
    w = t.words
    what = w.sky[number]
    base = w.base_ft[number]
    hidden = np.isin(w.slashes[number], _SKY_SLASHES) & before
    what = np.where(hidden, np.uint8(AMOUNTLESS), what)
    base = np.where(hidden, NAN, base)
    layers = np.flatnonzero(what != NO_SKY)
    what, base, here = what[layers], base[layers], row[layers]
    ceiling = columns["ceiling_ft"]
    ceiling[here[what == TOLD]] = INF
    based = np.flatnonzero(what == CEILING)
    low = np.full(t.n, INF)
    np.minimum.at(low, here[based], base[based])
    with_base = np.zeros(t.n, dtype=bool)
    with_base[here[based]] = True
    ceiling[with_base] = low[with_base]
    unclear = np.zeros(t.n, dtype=bool)
    unclear[here[(what == HEIGHTLESS) | (what == AMOUNTLESS)]] = True
    pick = unclear[here]
    if pick.any():
        cloud_only = w.amountless_cloud[number[layers]]
        _walk_sky(ceiling, here[pick], what[pick], base[pick], cloud_only[pick])


def _walk_sky(ceiling: Array, here: Array, what: Array, base: Array, cloud_only: Array) -> None:
    """Ceilings of reports with layers of unknown height or amount, in printed order as ``sky_from_groups``."""
    rows, first = np.unique(here, return_index=True)
    last = np.r_[first[1:], len(here)]
    lowest = np.full(len(rows), NAN)
    unknown = np.zeros(len(rows), dtype=bool)
    told = np.zeros(len(rows), dtype=bool)
    for step in range(int((last - first).max())):
        on = np.flatnonzero(first + step < last)
        at = first[on] + step
        kind, height = what[at], base[at]
        none_yet = np.isnan(lowest[on])
        told[on] |= kind == TOLD
        lower = none_yet | (height < lowest[on])
        hides = (kind == AMOUNTLESS) & ~cloud_only[at] & lower
        unknown[on] |= hides | ((kind == HEIGHTLESS) & none_yet)
        lowest[on] = np.where((kind == CEILING) & lower, height, lowest[on])
    open_sky = np.where(told, INF, NAN)
    value = np.where(np.isnan(lowest), open_sky, lowest)
    ceiling[rows] = np.where(unknown, NAN, value)
