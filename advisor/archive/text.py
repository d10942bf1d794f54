"""The text of a chunk of reports as bytes, cut into groups."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from advisor.archive.words import WORD_BYTES, Groups
from advisor.table import Array

_BLANK, _EQUALS, _DELETE = 32, ord("="), 127
#: Bytes of a machine word that belong to a group of 0 to 8 characters.
_KEEP = np.array([(1 << (8 * k)) - 1 for k in range(8)] + [(1 << 64) - 1], dtype=np.uint64)


class Chunk:
    """Reports joined into one array of bytes, with the position of every group.

    Parameters
    ----------
    raw : sequence of str
        One report each.

    Attributes
    ----------
    plain : bool, shape ``(reports,)``
        False where the text needs the one-at-a-time decoder: characters that are not ASCII, text after "=",
        nothing at all.
    start, length : int64, shape ``(groups,)``
        Where each group stands among the bytes and how long it is.
    first, count : int64, shape ``(reports,)``
        First group of each report and how many it has.
    row : int32, shape ``(groups,)``
        Report each group belongs to.
    """

    def __init__(self, raw: Sequence[str]) -> None:
        n = len(raw)
        text = "\n".join(raw)
        if text.count("\n") != n - 1:
            text = "\n".join([one.replace("\n", " ") for one in raw])
        blob = text.encode("ascii", "replace")
        # Blanks at the end let every group be read as whole words.
        if np.frombuffer(blob, dtype=np.uint8).max(initial=0) > ord("Z"):
            blob = blob.upper()
        self.blob = blob + b"\n" + b" " * (WORD_BYTES + 8)
        data = np.frombuffer(self.blob, dtype=np.uint8)
        self.data = data
        body = data[: len(blob) + 1]
        filled = body > _BLANK
        equals = np.flatnonzero(body == _EQUALS)
        filled[equals] = False
        self.plain = np.ones(n, dtype=bool)
        line_end = np.flatnonzero(body == ord("\n"))
        if b"\x7f" in blob:
            filled &= body != _DELETE
        if not text.isascii():
            self.plain[:] = [one.isascii() for one in raw]
        change = np.empty(len(filled), dtype=bool)
        change[:1] = filled[:1]
        np.not_equal(filled[1:], filled[:-1], out=change[1:])
        edges = np.flatnonzero(change)
        self.start, end = edges[0::2], edges[1::2]
        self.length = end - self.start
        bounds = np.searchsorted(self.start, line_end)
        self.first = np.r_[0, bounds[:-1]]
        self.count = bounds - self.first
        self.row = np.repeat(np.arange(n, dtype=np.int32), self.count)
        self.plain &= self.count > 0
        if equals.size:
            line = np.searchsorted(line_end, equals)
            last = bounds[line] - 1
            ends = (last >= 0) & (self.count[line] > 0)
            after = np.zeros(len(equals), dtype=bool)
            after[ends] = self.start[last[ends]] > equals[ends]
            self.plain[line[after]] = False
        self._words = np.ndarray((len(self.blob) - 7,), "<u8", self.blob, 0, (1,))
        #: The first eight bytes of every group, zero beyond its end.
        self.first_word: Array = self._words[self.start] & _KEEP[np.minimum(self.length, 8)]

    def words(self, groups: Array) -> Groups:
        """Bytes of some groups of up to 24 characters."""
        first, length = self.first_word[groups], self.length[groups]
        long_at = np.flatnonzero(length > 8)
        start, left = self.start[groups[long_at]], length[long_at]
        long = np.zeros((3, len(long_at)), dtype=np.uint64)
        long[0] = first[long_at]
        long[1] = self._words[start + 8] & _KEEP[np.minimum(left - 8, 8)]
        longer = np.flatnonzero(left > 16)
        long[2, longer] = self._words[start[longer] + 16] & _KEEP[np.minimum(left[longer] - 16, 8)]
        first[long_at] = 0
        return Groups(first, long_at, long)

    def digits(self, start: Array, count: int) -> tuple[Array, Array]:
        """Number made of ``count`` characters from each position, and whether all are digits."""
        value = np.zeros(len(start), dtype=np.int64)
        good = np.ones(len(start), dtype=bool)
        for k in range(count):
            digit = self.data[start + k] - np.uint8(ord("0"))
            good &= digit < 10
            value = value * 10 + digit
        return value, good


def word_of(text: str) -> np.uint64:
    """The machine word of a group of up to eight characters."""
    return np.uint64(int.from_bytes(text.encode("ascii"), "little"))
