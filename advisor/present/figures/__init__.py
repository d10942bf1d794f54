"""Figures as SVG, and the visual language they share.

The language is a field notebook's: black ink on white paper, so that a kneeboard copy loses nothing.

* **Meaning is in words and shapes.** No colour carries meaning; the only tints are greys. Every mark that
  matters has its word beside it.
* **Ladder.** A suitability is a ladder of four rungs, filled from the bottom: hold none (and a bar across the
  foot), ask first two, with care three, suited four. Not rated is a dotted frame with a question mark, not
  taught a dash. The word always stands beside the ladder.
* **Ground track** is the heavy line; what happens without the correction is dashed; the air between a low and
  a high wind is hatched, never shaded by colour.
* **The aircraft** is a dart with wings, drawn at its *heading* on the track; a thin line through it shows the
  *course*, so the angle between the two is the crab. A number beside it leads to the table.
* **Wind** is a hollow arrow blowing across the page with its low and high speed; a thin fan behind it is the
  spread of direction. North is a plain arrow with an N, north is always up.
* **Ground**: a road is a pair of thin lines, a field a dotted frame, a point a cross, a pylon a triangle, a runway
  a long bar with its numbers.
* **Limits** are lines with their words on them: planned bank dash-dotted, exit bank solid.
* Text is real text, at least 10 points on the printed card; every figure has a title and a description for
  screen readers and stands alone as a file.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from advisor.present.figures.ladder import ladder

if TYPE_CHECKING:
    from advisor.present.figures.astray import astray_figure
    from advisor.present.figures.bank import bank_figure
    from advisor.present.figures.height import height_figure
    from advisor.present.figures.plan import plan_figure

__all__ = ["astray_figure", "bank_figure", "height_figure", "ladder", "plan_figure"]


def __getattr__(name: str) -> Any:
    """A card's figure, loaded when asked for: a page of ladders alone does not load what cards are made with."""
    if name not in __all__:
        raise AttributeError(name)
    return getattr(import_module(f"{__name__}.{name.removesuffix('_figure')}"), name)
