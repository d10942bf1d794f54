"""Figures as PNG, with the optional ``png`` extra and the font shipped beside this package."""

from __future__ import annotations

from pathlib import Path

from advisor.errors import AdvisorError

FONTS = Path(__file__).resolve().parent / "fonts"
FAMILY = "DejaVu Sans"


def svg_to_png(svg: str, *, zoom: float = 2.0) -> bytes:
    """A figure as PNG, the same on every machine: only the shipped font is used.

    Parameters
    ----------
    svg : str
        One of this package's figures.
    zoom : float
        Pixels a user unit.

    Returns
    -------
    bytes

    Raises
    ------
    AdvisorError
        The ``png`` extra is not installed.
    """
    try:
        import resvg_py
    except ImportError as error:
        raise AdvisorError(
            'PNG needs the png extra: python -m pip install "practice-day-advisor[png]". Or ask for --format svg.'
        ) from error
    found: bytes = resvg_py.svg_to_bytes(
        svg_string=svg,
        zoom=zoom,
        skip_system_fonts=True,
        font_files=[str(path) for path in sorted(FONTS.glob("*.ttf"))],
        font_family=FAMILY,
        sans_serif_family=FAMILY,
    )
    return bytes(found)
