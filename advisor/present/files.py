"""Files written whole or not at all, so that a reader never sees half a page."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from advisor.errors import DataFileError


def write_atomic(path: str | Path, content: str | bytes) -> None:
    """Write beside the target and rename over it.

    Raises
    ------
    DataFileError
        The folder is missing or full, or may not be written.
    """
    target = Path(path)
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.chmod(name, 0o644)
            os.replace(name, target)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        raise DataFileError(f"{target} cannot be written: {error.strerror or error}. Choose another place.") from error
