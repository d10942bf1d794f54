"""Distinct rows of a large table: a costly quantity is worked out once for all rows that share its inputs.

Nothing is rounded: rows are joined only when every input is equal bit for bit, and results are copied back.
"""

from __future__ import annotations

import numpy as np

from advisor.table import Array

#: Below this many rows finding the distinct ones costs more than it saves.
MANY_ROWS = 2000
_KEY_BITS = 62


class Distinct:
    """Rows that stand for all rows with the same inputs.

    Parameters
    ----------
    n : int
        Number of rows.
    whole : sequence of arrays of shape ``(n,)``
        The inputs. Non-negative whole numbers (NaN allowed) are packed into one key; with any other value, or
        with few rows, every row stands for itself.

    Attributes
    ----------
    pick : int64 or slice
        Positions of the rows that stand for others.
    """

    def __init__(self, n: int, whole: list[Array]) -> None:
        self.pick: Array | slice = slice(None)
        self._back: Array | None = None
        key = _packed(whole) if n >= MANY_ROWS else None
        if key is None:
            return
        _, pick, back = np.unique(key, return_index=True, return_inverse=True)
        if 2 * len(pick) <= n:
            self.pick, self._back = pick, back.reshape(-1)

    def spread(self, values: Array) -> Array:
        """Values of the standing rows copied to all rows along the last axis."""
        return values if self._back is None else np.take(values, self._back, axis=-1)


def _packed(whole: list[Array]) -> Array | None:
    """One integer a row, or ``None`` when a value is not a small whole number."""
    key: Array | None = None
    bits = 0
    for column in whole:
        if column.dtype.kind == "f":
            missing = np.isnan(column)
            filled = np.where(missing, -1.0, column)
            if np.isinf(filled).any() or (filled < 0.0).sum() != missing.sum():
                return None
            values = filled.astype(np.int64) + 1
            if not (values - 1 == filled).all():
                return None
        else:
            values = column.astype(np.int64)
        low, high = int(values.min()), int(values.max())
        width = max(high, 1).bit_length()
        bits += width
        if low < 0 or bits > _KEY_BITS:
            return None
        key = values if key is None else (key << width) | values
    return key
