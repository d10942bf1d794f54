"""Looking at a page as a person would: widths, keyboard, accessibility, script errors. Needs the browser group."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

WIDTHS = (360, 768, 1280)


@contextmanager
def opened(chromium: Path | str) -> Iterator[Any]:
    """A browser that goes nowhere: pages are given to it as text."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path=str(chromium), args=["--no-sandbox", "--disable-gpu"])
        try:
            yield browser
        finally:
            browser.close()


def show(browser: Any, html: str, width: int, height: int = 900) -> tuple[Any, list[str]]:
    """A page of this width and the script errors it makes."""
    page = browser.new_page(viewport={"width": width, "height": height})
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.set_content(html)
    return page, errors


def faults_of(browser: Any, html: str, width: int) -> list[str]:
    """Sideways scroll, script errors, text under 12 CSS pixels, and what axe finds (contrast among it)."""
    from axe_playwright_python.sync_playwright import Axe

    page, errors = show(browser, html, width)
    found = [f"{width} px: script error: {e}" for e in errors]
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if wide > 0:
        found.append(f"{width} px: {wide} px of sideways scroll")
    for violation in Axe().run(page).response["violations"]:
        targets = "; ".join(str(node["target"]) for node in violation["nodes"][:3])
        found.append(f"{width} px: axe {violation['id']}: {violation['help']} at {targets}")
    page.close()
    return found


def reachable_by_keyboard(browser: Any, html: str) -> tuple[set[str], set[str]]:
    """What a Tab key can reach, and every control there is; each as tag and text."""
    page, _ = show(browser, html, 768)
    name = "e => e.tagName + ':' + (e.innerText || e.getAttribute('aria-label') || '').trim().slice(0, 60)"
    everything = "a[href], summary, button, input, [tabindex='0']"
    controls = set(page.eval_on_selector_all(everything, f"all => all.filter(e => e.checkVisibility()).map({name})"))
    seen: set[str] = set()
    for _ in range(400):
        page.keyboard.press("Tab")
        here = page.evaluate(f"document.activeElement === document.body ? '' : ({name})(document.activeElement)")
        if not here:
            break
        seen.add(here)
        if controls <= seen:
            break
    page.close()
    return seen, controls
