"""The package's own data files, read as text.

Plain paths, not ``importlib.resources``: the package is never zipped, and that import costs as much as reading all
the files. What a TOML file says is kept as byte code, as Python keeps its modules, and for the same reason: parsing
TOML takes longer than deciding a day.
"""

from __future__ import annotations

from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

FOLDER = Path(__file__).resolve().parent / "data"


class _TomlLoader(SourceFileLoader):
    """Loads a TOML file as Python loads a module: byte code in ``__pycache__``, dropped when the file changes.

    Python's own rules hold: the file's time and size decide, a folder that cannot be written to is no fault, and
    ``PYTHONDONTWRITEBYTECODE`` and ``PYTHONPYCACHEPREFIX`` are obeyed.
    """

    def source_to_code(self, data: Any, path: Any, *, _optimize: int = -1) -> CodeType:  # type: ignore[override]
        """Code that sets ``DATA``; tables, lists, text, numbers and times all print as Python."""
        import tomllib  # needed only when the file has changed

        return compile(f"import datetime\nDATA = {tomllib.loads(bytes(data).decode('utf-8'))!r}", path, "exec")


def data_text(*parts: str) -> str:
    """Text of a file below ``advisor/data``. Raises OSError when the installation is damaged."""
    return FOLDER.joinpath(*parts).read_text("utf-8")


def data_toml(*parts: str) -> dict[str, Any]:
    """A TOML file below ``advisor/data``, parsed; every call gives its own copy."""
    path = FOLDER.joinpath(*parts)
    code = _TomlLoader(f"advisor.data.{path.stem}", str(path)).get_code(f"advisor.data.{path.stem}")
    if code is None:
        raise OSError(f"{path} holds no data")
    names: dict[str, Any] = {}
    exec(code, names)
    data: dict[str, Any] = names["DATA"]
    return data
