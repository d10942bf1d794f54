"""Free places on a drawing: of many, the one that covers least of what is drawn already."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from advisor.present.figures.svg import Box, Point

#: What a unit farther from the nearest corner costs, in square units of cover: corners are where a reader looks.
_FROM_CORNER = 0.15
_STEP = 6.0


def freest(places: Sequence[Point], size: Box, taken: Sequence[Box]) -> Point:
    """The first of the places at which least is covered.

    Parameters
    ----------
    places : sequence of Point
        Where the thing may stand.
    size : Box
        The room it takes when it stands at the origin.
    taken : sequence of Box
        What is drawn already.
    """
    return places[int(covered(places, size, taken).argmin())]


def freest_inside(paper: Box, size: Box, taken: Sequence[Box]) -> Point:
    """A place anywhere on the paper at which little is covered, near a corner if it can be."""
    first = np.array([paper[0] - size[0], paper[1] - size[1]])
    last = np.array([paper[2] - size[2], paper[3] - size[3]])
    x, y = (np.linspace(a, b, max(2, round((b - a) / _STEP))) for a, b in zip(first, last, strict=True))
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    off = np.minimum(places - first, last - places).sum(axis=1)
    at = places[int((covered(places, size, taken) + _FROM_CORNER * off).argmin())]
    return float(at[0]), float(at[1])


def covered(places: Sequence[Point] | np.ndarray, size: Box, taken: Sequence[Box] | np.ndarray) -> np.ndarray:
    """Area of ``taken`` covered at each place, shape ``(places,)``, square units."""
    at = np.asarray(places, dtype=float)
    boxes = np.array(taken, dtype=float).reshape(-1, 4)
    high, low = np.array(size[2:]), np.array(size[:2])
    sides = np.minimum(at[:, None] + high, boxes[:, 2:]) - np.maximum(at[:, None] + low, boxes[:, :2])
    return np.asarray(np.maximum(sides, 0.0).prod(axis=-1).sum(axis=-1))


def about(at: Point, half: float) -> Box:
    """A square round a point."""
    return at[0] - half, at[1] - half, at[0] + half, at[1] + half
