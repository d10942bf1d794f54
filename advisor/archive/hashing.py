"""A hash table from groups, given as machine words, to numbers, probed for a whole chunk at a time."""

from __future__ import annotations

import numpy as np

from advisor.table import Array

_MIX = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)
_FIRST_BITS = 14


class WordTable:
    """Open addressing with steps of one; never more than a quarter full.

    Parameters
    ----------
    width : int
        Machine words a key has, 1 to 3. A key's first word is never 0.
    """

    def __init__(self, width: int) -> None:
        self.width = width
        self.size = 0
        self._allot(_FIRST_BITS)

    def _allot(self, bits: int) -> None:
        self._bits = bits
        self._shift = np.uint64(64 - bits)
        self._mask = np.int64((1 << bits) - 1)
        self._keys = np.zeros((self.width, 1 << bits), dtype=np.uint64)
        self._numbers = np.zeros(1 << bits, dtype=np.int32)

    def mixed(self, words: Array) -> Array:
        """Hash of keys, shape ``(width, keys)``."""
        out = words[0] * _MIX[0]
        for k in range(1, self.width):
            out ^= words[k] * _MIX[k]
        return out if self.width == 1 else np.asarray(out * _MIX[0])

    def probe(self, words: Array) -> tuple[Array, Array]:
        """Numbers of keys, and positions of those that are not in the table."""
        slot = (self.mixed(words) >> self._shift).view(np.int64)
        numbers = self._numbers[slot]
        left = np.flatnonzero(~self._same(slot, words))
        lost: list[Array] = []
        while left.size:
            at = slot[left]
            empty = self._keys[0][at] == 0
            lost.append(left[empty])
            left = left[~empty]
            at = slot[left] = (slot[left] + 1) & self._mask
            hit = self._same(at, words[:, left])
            numbers[left[hit]] = self._numbers[at[hit]]
            left = left[~hit]
        return numbers, np.concatenate(lost) if lost else left

    def _same(self, slot: Array, words: Array) -> Array:
        same = self._keys[0][slot] == words[0]
        for k in range(1, self.width):
            same &= self._keys[k][slot] == words[k]
        return np.asarray(same)

    def place(self, words: Array, number: int) -> None:
        """Put in one key, shape ``(width,)``, that is not there yet."""
        if self.size * 4 > 1 << self._bits:
            full = self._keys[0] != 0
            keys, numbers = self._keys[:, full], self._numbers[full]
            self._allot(self._bits + 2)
            for k, old in enumerate(numbers.tolist()):
                self._put(keys[:, k], old)
        self._put(words, number)
        self.size += 1

    def _put(self, words: Array, number: int) -> None:
        slot = int(self.mixed(words.reshape(-1, 1))[0] >> self._shift)
        while self._keys[0, slot]:
            slot = (slot + 1) & int(self._mask)
        self._keys[:, slot] = words
        self._numbers[slot] = number
