"""Whether a reader's time grows in proportion to the length of a hostile text."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable


def tries_at_two_sizes(read: Callable[[str], object], text_of: Callable[[int], str]) -> list[tuple[float, float]]:
    """Three measurements of a text of 16,000 and of 64,000 letters. [CPU s]

    Linear is 4 times, quadratic 16. Other work can only slow a measurement, so one good try of three will do.
    The collector is off meanwhile: a full collection of the run's own heap would fall on one size only.
    """

    def seconds(size: int) -> float:
        text = text_of(size)
        best = 9.0
        for _ in range(2):
            begun = time.process_time()
            read(text)
            best = min(best, time.process_time() - begun)
        return best

    gc.disable()
    try:
        return [(seconds(16_000), seconds(64_000)) for _ in range(3)]
    finally:
        gc.enable()
