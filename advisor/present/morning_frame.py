"""What stands round the fields on a page of the desk's morning: style, head, foot and the clock that hides an old page.

Filled in without a template engine: to load one and compile its templates takes longer than to fill in two hundred
pages. A template here is text with ``{{ marks }}`` and nothing else; whoever fills a mark escapes what goes there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from html import escape
from pathlib import Path

from advisor.present.standing import MADE_UP
from advisor.records import dataclass

_FOLDER = Path(__file__).with_name("templates")
_RELOAD = """if (location.protocol.indexOf("http") === 0) {
    setTimeout(function () { location.reload(); }, Math.max(60000, next - Date.now() + 30000));
  }"""


def escaped(text: str) -> str:
    """Text that is safe between tags and within quotes. Never raises."""
    return escape(text, quote=False).replace('"', "&#34;").replace("'", "&#39;")


@lru_cache(maxsize=8)
def _pieces(template: str) -> list[str]:
    """A template cut at its marks: text, name, text, name, ..., text."""
    return re.split(r"\{\{ (\w+) \}\}", (_FOLDER / template).read_text("utf-8").removesuffix("\n"))


def fill(template: str, values: Mapping[str, str]) -> str:
    """A template of marks alone with each mark's value, as it is. Raises KeyError for a mark without a value."""
    pieces = list(_pieces(template))
    pieces[1::2] = [values[name] for name in pieces[1::2]]
    return "".join(pieces)


@dataclass(frozen=True, slots=True)
class Common:
    """What every page of a posting carries, as markup."""

    sprite: str
    made_up: bool
    posted: str
    foot: str


def page(
    common: Common, *, title: str, made: str, head: str, main: str, expires_iso: str, next_iso: str, reloads: bool
) -> str:
    """A whole page: ``title`` and ``made`` are plain text, ``head`` and ``main`` markup."""
    script = ""
    if not common.made_up:  # the demo's clock stands still
        times = {"expires_iso": escaped(expires_iso), "next_iso": escaped(next_iso)}
        script = fill("morning_clock.html", {**times, "reload": _RELOAD if reloads else ""}) + "\n"
    warned = f'<p class="made-up">{escaped(MADE_UP)}</p>' if common.made_up else ""
    return fill(
        "morning_base.html",
        {
            "title": escaped(title),
            "made": escaped(made),
            "sprite": common.sprite,
            "head": f"{warned}{head}",
            "posted": common.posted,
            "main": main,
            "foot": common.foot,
            "script": script,
        },
    )
