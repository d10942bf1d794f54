"""Where numbers come from: the one list of sources, looked up by key.

Rules, limits, lessons and docstrings cite a key of ``data/sources.toml``; a test fails when a cited key is
not there.
"""

from __future__ import annotations

from functools import lru_cache

from advisor.datafiles import data_toml
from advisor.errors import DataFileError
from advisor.records import dataclass

STATUSES = ("seen", "memory", "derived", "practice")


@dataclass(frozen=True, slots=True)
class Source:
    """One document and the part of it that is cited.

    ``status`` is ``seen`` (read in a public copy), ``memory`` (recalled, not read again), ``derived`` (worked
    out here) or ``practice`` (common practice, nothing published). ``read`` is a month, or empty.
    """

    key: str
    title: str
    edition: str
    part: str
    address: str
    read: str
    status: str

    @property
    def citation(self) -> str:
        """Title and part in one line, marked when it comes from memory."""
        line = self.title if self.status in ("practice", "derived") else f"{self.title}, {self.part}"
        return f"{line} (from memory)" if self.status == "memory" else line


@lru_cache(maxsize=1)
def sources() -> dict[str, Source]:
    """Every source by key, in file order.

    Returns
    -------
    dict of str to Source
        Read once and kept.

    Raises
    ------
    DataFileError
        When an entry lacks a field or has a status that is not known; all faults at once.
    """
    raw = data_toml("sources.toml")
    faults = []
    found: dict[str, Source] = {}
    for key, row in raw.items():
        try:
            found[key] = Source(key=key, **row)
        except TypeError as exc:
            faults.append(f"{key}: {exc}")
            continue
        if found[key].status not in STATUSES:
            faults.append(f"{key}: status must be one of {', '.join(STATUSES)}, got {found[key].status!r}")
    if faults:
        raise DataFileError(f"sources.toml has faults: {'; '.join(faults)}. Mend the file and try again.")
    return found


def source(key: str) -> Source:
    """One source by its key.

    Parameters
    ----------
    key : str
        A key of ``sources.toml``, such as ``afh-3c-ch7``.

    Raises
    ------
    DataFileError
        When no source has that key; the message lists the known ones.
    """
    known = sources()
    if key not in known:
        raise DataFileError(
            f"no source is called {key!r}, so it cannot be cited; known sources: {', '.join(sorted(known))}."
        )
    return known[key]
