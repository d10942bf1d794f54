"""What the wind does when nothing is corrected, beside the track that was meant."""

from __future__ import annotations

from advisor import units
from advisor.card.model import Astray, WindBox
from advisor.present.figures.frame import Frame, chevron, ground, scale_bar, wind_arrow
from advisor.present.figures.svg import Drawing

WIDTH, HEIGHT = 340.0, 172.0


def astray_figure(
    astray: Astray, wind: WindBox, *, description: str, metric: bool = False, name: str = "astray"
) -> str:
    """The uncorrected track, dashed, over the meant one.

    Parameters
    ----------
    astray : Astray
        Both tracks, flown forward in the same wind.
    wind : WindBox
        For the arrow.
    description : str
        For screen readers.
    metric : bool
        Scale bar in metres.
    name : str
        Makes ids unique on a page.

    Returns
    -------
    str
        SVG element. Never raises.
    """
    d = Drawing(name, WIDTH, HEIGHT, astray.title, description)
    frame = Frame([*astray.track, *astray.meant], (100.0, 10.0, WIDTH - 16.0, HEIGHT - 34.0))
    ground(d, frame, astray.ground, labels=False)
    d.polyline(frame.all(astray.meant), width=2.4)
    path = frame.all(astray.track)
    d.polyline(path, width=1.8, dash="7 4")
    if len(path) > 1:
        (x0, y0), (x1, y1) = path[-2], path[-1]
        chevron(d, path[-1], float(units.atan2_deg(x1 - x0, y0 - y1)), 10.0)
    wind_arrow(d, wind, (36.0, 40.0), 46.0)
    d.text((WIDTH - 8.0, HEIGHT - 8.0), "solid: meant; dashed: not corrected", size=14.5, anchor="end", halo=True)
    scale_bar(d, frame, 8.0, HEIGHT - 28.0, 84.0, metric)
    return d.render()
