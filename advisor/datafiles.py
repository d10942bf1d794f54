"""The package's own data files, read as text.

Plain paths, not ``importlib.resources``: the package is never zipped, and that import costs as much as reading all
the files. What a file says is kept as byte code, as Python keeps its modules, and for the same reason: parsing TOML
takes longer than deciding a day.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

FOLDER = Path(__file__).resolve().parent / "data"


class _Kept(SourceFileLoader):
    """Loads a data file as Python loads a module: byte code in ``__pycache__``, dropped when the file changes.

    Python's own rules hold: the file's time and size decide, a folder that cannot be written to is no fault, and
    ``PYTHONDONTWRITEBYTECODE`` and ``PYTHONPYCACHEPREFIX`` are obeyed. ``read`` makes of the file's text a value
    that prints as Python; ``newest`` is the time of whatever else that value depends on.
    """

    def __init__(self, path: Path, read: Callable[[str], Any], newest: float) -> None:
        super().__init__(f"advisor.data.{path.stem}", str(path))
        self._read, self._newest = read, newest

    def path_stats(self, path: Any) -> Mapping[str, Any]:
        """Time and size that byte code is checked against."""
        stats = super().path_stats(path)
        return {**stats, "mtime": max(stats["mtime"], self._newest)}

    def source_to_code(self, data: Any, path: Any, *, _optimize: int = -1) -> CodeType:  # type: ignore[override]
        """Code that sets ``DATA``."""
        return compile(f"DATA = {self._read(bytes(data).decode('utf-8'))!r}", path, "exec")


def kept(path: Path, read: Callable[[str], Any], names: Mapping[str, Any], newest: float = 0.0) -> Any:
    """What ``read`` makes of a file's text, from byte code when nothing has changed; every call gives a copy.

    Parameters
    ----------
    path : Path
    read : function
        From the file's text to a value whose ``repr`` is Python for it.
    names : mapping
        Classes and modules that ``repr`` mentions.
    newest : float, optional
        When anything else the value depends on was last changed, seconds since 1970.

    Raises
    ------
    OSError
        When there is no such file, and whatever ``read`` raises.
    """
    loader = _Kept(path, read, newest)
    code = loader.get_code(loader.name)
    if code is None:
        raise OSError(f"{path} holds no data")
    found = dict(names)
    exec(code, found)
    return found["DATA"]


def _toml(text: str) -> dict[str, Any]:
    import tomllib  # needed only when the file has changed

    return tomllib.loads(text)


def data_text(*parts: str) -> str:
    """Text of a file below ``advisor/data``. Raises OSError when the installation is damaged."""
    return FOLDER.joinpath(*parts).read_text("utf-8")


def data_toml(*parts: str) -> dict[str, Any]:
    """A TOML file below ``advisor/data``, parsed; every call gives its own copy."""
    data: dict[str, Any] = kept(FOLDER.joinpath(*parts), _toml, {"datetime": datetime})
    return data
