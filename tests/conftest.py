"""Fixtures every test file may use, and the option that points at a folder of real reports."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import pytest

from advisor.reports.store import Store

#: The repository; tests read fixtures/ and shared/ from here, never from the working directory.
ROOT = Path(__file__).resolve().parent.parent

REPORTS_VARIABLE = "ADVISOR_REPORTS_DIR"

#: marker -> libraries without which its tests are skipped (see the dependency groups and extras)
NEEDS = {
    "oracle": ("metar_taf_parser", "avwx", "fluids", "ephem", "scipy"),
    "browser": ("playwright", "axe_playwright_python"),
    "archive": ("duckdb",),
    "cluster": ("distributed", "duckdb"),
}
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--reports",
        metavar="DIR",
        default=None,
        help=f"folder of real reports in the sample's format (also {REPORTS_VARIABLE}); without it, tests"
        " that need one are skipped",
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip a group's tests where the group is not installed, and mark the tests that want real reports."""
    for item in items:
        if "reports_dir" in getattr(item, "fixturenames", ()):
            item.add_marker("reports")
        for group, libraries in NEEDS.items():
            missing = [name for name in libraries if find_spec(name) is None]
            if missing and item.get_closest_marker(group):
                item.add_marker(pytest.mark.skip(reason=f"{group} group: {', '.join(missing)} not installed"))


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """An installed Chromium for playwright's ``executable_path``; skips where there is none."""
    found = [path for path in map(shutil.which, BROWSERS) if path]
    if not found:
        pytest.skip("no Chromium on this machine: install Debian's chromium package")
    return found[0]


@pytest.fixture(scope="session")
def reports_dir(request: pytest.FixtureRequest) -> Path:
    """Folder of real reports given by ``--reports DIR`` or ADVISOR_REPORTS_DIR; skips without one."""
    given = request.config.getoption("--reports") or os.environ.get(REPORTS_VARIABLE)
    if not given:
        pytest.skip(f"no real reports given: pass --reports DIR or set {REPORTS_VARIABLE}")
    folder = Path(given)
    if not folder.is_dir():
        # a mistyped folder must not look like a pass
        pytest.fail(f"--reports {given}: no such folder")
    return folder


@pytest.fixture(scope="session")
def root() -> Path:
    """The repository's top folder."""
    return ROOT


@pytest.fixture(scope="session")
def fixtures_dir() -> Path:
    """``fixtures/``: made-by-hand and published reports, recorded answers, expected pages."""
    return ROOT / "fixtures"


@pytest.fixture(scope="session")
def shared_dir() -> Path:
    """``shared/``: published check tables."""
    return ROOT / "shared"


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """An empty store in a folder of its own."""
    return Store(tmp_path / "store")


@pytest.fixture
def now() -> datetime:
    """The clock of the made-up examples: 25 April 2026, 1800Z."""
    return datetime(2026, 4, 25, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="session", autouse=True)
def _quiet_environment(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A person's own store, school file and display settings never reach a test."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HOME", str(tmp_path_factory.mktemp("home")))
        for name in list(os.environ):
            if name.startswith("XDG_") or (name.startswith("ADVISOR_") and name != REPORTS_VARIABLE):
                patch.delenv(name)
        patch.setenv("NO_COLOR", "1")
        yield
