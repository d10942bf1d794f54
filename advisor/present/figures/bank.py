"""Bank against position, low to high, with the planned limit and the exit bank."""

from __future__ import annotations

from advisor.card.model import BankCurve
from advisor.present.figures.svg import GREY, Drawing, Point

WIDTH, HEIGHT = 340.0, 190.0
#: Degrees round the circle that the words on the planned limit reach to either side of the middle.
_WORDS_DEG = 75.0
LEFT, RIGHT, TOP, BOTTOM = 34.0, WIDTH - 8.0, 20.0, HEIGHT - 38.0


def bank_figure(curve: BankCurve, *, title: str, description: str, name: str = "bank") -> str:
    """Bank around the circle.

    Parameters
    ----------
    curve : BankCurve
        Low and high bank at each position; the band between them is hatched.
    title, description : str
        For screen readers.
    name : str
        Makes ids unique on a page.

    Returns
    -------
    str
        SVG element. Never raises.
    """
    d = Drawing(name, WIDTH, HEIGHT, title, description)
    top_deg = max(curve.exit_deg, *curve.high_deg) + 5.0
    last = max(curve.at_deg[-1], 1.0)

    def at(position: float, bank: float) -> Point:
        return LEFT + (RIGHT - LEFT) * position / last, BOTTOM - (BOTTOM - TOP) * bank / top_deg

    for grade in range(0, int(top_deg) + 1, 10):
        x, y = at(0.0, float(grade))
        # no grid line behind the words on a limit
        crowded = 0.0 < grade - curve.exit_deg < 9.0 or 0.0 < curve.planned_deg - grade < 6.0
        d.line((x - 4, y), (LEFT + 80.0 if crowded else RIGHT, y), width=0.5, ink=GREY)
        d.text((x - 7, y + 4), str(grade), size=14.5, anchor="end")
    low = [at(p, b) for p, b in zip(curve.at_deg, curve.low_deg, strict=True)]
    high = [at(p, b) for p, b in zip(curve.at_deg, curve.high_deg, strict=True)]
    d.hatch([*high, *reversed(low)])
    d.polyline(high, width=2.2)
    d.polyline(low, width=2.2)
    _, y = at(0.0, curve.exit_deg)
    d.line((LEFT, y), (RIGHT, y), width=1.6)
    d.text((RIGHT - 4, y - 5), f"leave at {curve.exit_deg:.0f}°", size=14.5, anchor="end", bold=True, halo=True)
    _, y = at(0.0, curve.planned_deg)
    d.line((LEFT, y), (RIGHT, y), width=1.6, dash="9 3 2 3")
    # under its line, over the dip of the curve; where the curve hardly dips under that too
    dip = [k for k, p in enumerate(curve.at_deg) if abs(p - last / 2) <= _WORDS_DEG]
    words = f"planned limit {curve.planned_deg:.0f}°"
    if any(high[k][1] < y + 17.0 for k in dip):
        y, words = max(low[k][1] for k in dip), f"dash-dotted: {words}"
    d.text(((LEFT + RIGHT) / 2, y + 14), words, size=14.5, anchor="middle", bold=True, halo=True)
    d.text((4.0, 12.0), "bank, degrees", size=14.5)
    for position, words, anchor, shift in (
        (0.0, "downwind", "start", -30.0),
        (90.0, "across", "middle", 0.0),
        (180.0, "into wind", "middle", 0.0),
        (270.0, "across", "middle", -9.0),
        (360.0, "downwind", "end", 8.0),
    ):
        if position > last:
            continue
        x, y = at(position, 0.0)
        d.line((x, y), (x, y + 5), width=1.2)
        d.text((x + shift, y + 17), words, size=14.5, anchor=anchor)
    d.text(((LEFT + RIGHT) / 2, HEIGHT - 5), "flying, in order round the circle", size=14.5, anchor="middle", ink=GREY)
    return d.render()
