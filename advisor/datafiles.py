"""The package's own data files, read as text.

Plain paths, not ``importlib.resources``: the package is never zipped, and that import costs as much as reading all
the files.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent / "data"


def data_text(*parts: str) -> str:
    """Text of a file below ``advisor/data``. Raises OSError when the installation is damaged."""
    return FOLDER.joinpath(*parts).read_text("utf-8")


def data_toml(*parts: str) -> dict[str, Any]:
    """A TOML file below ``advisor/data``, parsed."""
    return tomllib.loads(data_text(*parts))
