"""The README's pictures, made from the demo: ``python -m tests.tools.pictures`` (needs the browser group and Chromium).

Each picture has the hash of the page it was taken of beside it; a test makes the pages anew, without a browser, and
fails when a hash differs.
"""

from __future__ import annotations

import hashlib
import json
import sys
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent.parent.parent / "fixtures" / "pictures"
HASHES = FOLDER / "pictures.json"


@dataclass(frozen=True)
class Picture:
    """A page of the demo and the window it is looked at through."""

    name: str
    arguments: tuple[str, ...]
    width: int
    height: int


PICTURES = (
    Picture("student", ("day", "XSND", "--stage", "solo", "--format", "html"), 390, 1180),
    Picture(
        "instructor",
        ("lesson", "turns-around-a-point", "XSND", "--stage", "post-solo", "--at", "11:00", "--format", "html"),
        816,
        1056,
    ),
    Picture("dispatch", ("morning", "--demo", "--format", "html"), 1280, 1100),
)


def page(picture: Picture) -> str:
    """The page as the command writes it."""
    import contextlib
    import io

    from advisor.cli import run

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        status = run(list(picture.arguments))
    if status != 0:
        raise RuntimeError(f"advisor {' '.join(picture.arguments)} ended with {status}")
    return out.getvalue()


def digest(html: str) -> str:
    """Hash of a page without the version it was made by."""
    return hashlib.sha256(html.encode("utf-8")).hexdigest()


def main() -> int:
    """Make every picture and write the hashes."""
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(parents=True, exist_ok=True)
    hashes = {}
    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        for picture in PICTURES:
            html = page(picture)
            window = browser.new_page(
                viewport={"width": picture.width, "height": picture.height}, java_script_enabled=False
            )
            window.set_content(html)
            if picture.name == "instructor":
                window.emulate_media(media="print")
            window.screenshot(path=str(FOLDER / f"{picture.name}.png"))
            hashes[picture.name] = digest(html)
        browser.close()
    HASHES.write_text(json.dumps(hashes, indent=2) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
