"""The suitability ladder: four rungs beside a word."""

from __future__ import annotations

from advisor.present.figures.svg import INK, num
from advisor.rules.registry import Suitability

#: Rungs filled from the bottom.
RUNGS = {
    Suitability.HOLD: 0,
    Suitability.ASK_FIRST: 2,
    Suitability.WITH_CARE: 3,
    Suitability.SUITED: 4,
}
WIDTH, HEIGHT, STEPS = 22.0, 26.0, 4


def ladder(suitability: Suitability) -> str:
    """Small SVG of one suitability, hidden from screen readers because its word stands beside it.

    Parameters
    ----------
    suitability : Suitability

    Returns
    -------
    str
        SVG element. Never raises.
    """
    parts = []
    if suitability is Suitability.NOT_RATED:
        parts.append(
            f'<rect x="1.5" y="1.5" width="{num(WIDTH - 3)}" height="{num(HEIGHT - 3)}" fill="none" stroke="{INK}" '
            f'stroke-width="1.5" stroke-dasharray="2 3"/><text x="{num(WIDTH / 2)}" y="19" font-size="16" '
            f'text-anchor="middle" fill="{INK}">?</text>'
        )
    elif suitability is Suitability.NOT_TAUGHT:
        parts.append(f'<path d="M4 {num(HEIGHT / 2)}H{num(WIDTH - 4)}" stroke="{INK}" stroke-width="2.5"/>')
    else:
        step = HEIGHT / STEPS
        for i in range(STEPS):
            full = i < RUNGS[suitability]
            parts.append(
                f'<rect x="{num(1.5 + 1.5 * i)}" y="{num(HEIGHT - step * (i + 1) + 1)}" '
                f'width="{num(WIDTH - 3 - 3 * i)}" height="{num(step - 2)}" fill="{INK if full else "none"}" '
                f'stroke="{INK}" stroke-width="1"/>'
            )
        if suitability is Suitability.HOLD:
            parts.append(f'<path d="M1 {num(HEIGHT - 1)}L{num(WIDTH - 1)} 1" stroke="{INK}" stroke-width="2.5"/>')
    return (
        f'<svg viewBox="0 0 {num(WIDTH)} {num(HEIGHT)}" width="{num(WIDTH)}" height="{num(HEIGHT)}" '
        f'aria-hidden="true" focusable="false" class="ladder">{"".join(parts)}</svg>'
    )
