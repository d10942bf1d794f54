"""A small drawing surface: shapes and real text in, one SVG string out."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

INK = "#111111"
GREY = "#595959"
PAPER = "#ffffff"
FONT = "'Liberation Sans', Arial, Helvetica, 'DejaVu Sans', sans-serif"
Point = tuple[float, float]
#: Left, top, right, bottom.
Box = tuple[float, float, float, float]


def num(value: float) -> str:
    """A coordinate: one decimal, no trailing zero, no negative zero."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def points_text(points: Iterable[Point]) -> str:
    """``x,y x,y``."""
    return " ".join(f"{num(x)},{num(y)}" for x, y in points)


def text_box(at: Point, words: str, size: float, anchor: str = "start") -> Box:
    """About the room a text takes: letters of the sans-serif used are half as wide as high."""
    wide = 0.53 * size * len(words)
    left = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
    return left, at[1] - 0.75 * size, left + wide, at[1] + 0.2 * size


class Drawing:
    """One figure.

    Parameters
    ----------
    name : str
        Letters and hyphens; makes the ids unique within a page.
    width, height : float
        Size in user units.
    title, description : str
        For screen readers; any text, escaped here.
    """

    def __init__(self, name: str, width: float, height: float, title: str, description: str) -> None:
        self.name = name
        self.width = width
        self.height = height
        self.title = title
        self.description = description
        #: Room that is taken: that of every text, and whatever a figure adds.
        self.taken: list[Box] = []
        self._parts: list[str] = []
        self._hatched = False

    def raw(self, part: str) -> None:
        """Add markup made by this package."""
        self._parts.append(part)

    def line(self, a: Point, b: Point, *, width: float = 1.0, dash: str = "", ink: str = INK) -> None:
        """A straight line."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.raw(
            f'<line x1="{num(a[0])}" y1="{num(a[1])}" x2="{num(b[0])}" y2="{num(b[1])}" stroke="{ink}" '
            f'stroke-width="{num(width)}"{dashed}/>'
        )

    def polyline(
        self,
        points: Iterable[Point],
        *,
        width: float = 1.0,
        dash: str = "",
        closed: bool = False,
        fill: str = "none",
        ink: str = INK,
    ) -> None:
        """A line through points, or a closed shape."""
        tag = "polygon" if closed else "polyline"
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.raw(
            f'<{tag} points="{points_text(points)}" fill="{fill}" stroke="{ink}" stroke-width="{num(width)}" '
            f'stroke-linejoin="round"{dashed}/>'
        )

    def circle(self, at: Point, radius: float, *, width: float = 1.0, fill: str = "none", dash: str = "") -> None:
        """A circle."""
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.raw(
            f'<circle cx="{num(at[0])}" cy="{num(at[1])}" r="{num(radius)}" fill="{fill}" stroke="{INK}" '
            f'stroke-width="{num(width)}"{dashed}/>'
        )

    def hatch(self, points: Iterable[Point]) -> None:
        """A closed shape filled with thin slanting lines."""
        self._hatched = True
        self.raw(f'<polygon points="{points_text(points)}" fill="url(#{self.name}-hatch)" stroke="none"/>')

    def text(
        self,
        at: Point,
        words: str,
        *,
        size: float = 14.5,
        anchor: str = "start",
        bold: bool = False,
        ink: str = INK,
        halo: bool = False,
        lead: str = "",
    ) -> None:
        """Real text; ``halo`` keeps it readable over lines, ``lead`` is a larger bold word before it."""
        self.taken.append(text_box(at, f"{lead} {words}" if lead else words, size, anchor))
        weight = ' font-weight="bold"' if bold else ""
        first = f'<tspan font-weight="bold" font-size="{num(size + 4)}">{escape(lead)}</tspan> ' if lead else ""
        edge = f' stroke="{PAPER}" stroke-width="4" paint-order="stroke" stroke-linejoin="round"' if halo else ""
        self.raw(
            f'<text x="{num(at[0])}" y="{num(at[1])}" font-size="{num(size)}" text-anchor="{anchor}" '
            f'fill="{ink}"{weight}{edge}>{first}{escape(words)}</text>'
        )

    def render(self) -> str:
        """The whole SVG element."""
        defs = ""
        if self._hatched:
            defs = (
                f'<defs><pattern id="{self.name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" '
                f'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="6" stroke="{INK}" '
                f'stroke-width="1.2"/></pattern></defs>'
            )
        body = "\n".join(self._parts)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {num(self.width)} {num(self.height)}" '
            f'width="{num(self.width)}" height="{num(self.height)}" role="img" '
            f'aria-labelledby="{self.name}-title {self.name}-desc" font-family="{FONT}">\n'
            f'<title id="{self.name}-title">{escape(self.title)}</title>\n'
            f'<desc id="{self.name}-desc">{escape(self.description)}</desc>\n'
            f'{defs}<rect width="{num(self.width)}" height="{num(self.height)}" fill="{PAPER}"/>\n{body}\n</svg>\n'
        )
