"""Reading what is left of a damaged SQLite file, page by page.

SQLite refuses a file once part of it is torn; most pages are whole all the same. Each page of our one table
is a list of records that can be read by itself. Format: the SQLite Database File Format document, sections
1.5 (b-tree pages), 1.6 (cell payload overflow pages) and 2.1 (record format).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

PAGE_BYTES = 4096
_INTERIOR, _LEAF = 0x02, 0x0A  # index b-trees, which is what a table WITHOUT ROWID is
_MOST_LOCAL = (PAGE_BYTES - 12) * 64 // 255 - 23
_LEAST_LOCAL = (PAGE_BYTES - 12) * 32 // 255 - 23
_INT_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 8: 0, 9: 0}


def salvage(path: Path, column_types: tuple[type, ...]) -> list[tuple[str | int, ...]]:
    """Every record whose columns have the types given, in file order, each once.

    Parameters
    ----------
    path : Path
        The damaged file; only read.
    column_types : tuple of type
        ``str`` or ``int`` for each column of the table: a record of another shape is not ours.

    Raises
    ------
    OSError
        When the file cannot be read at all.
    """
    data = path.read_bytes()
    found: dict[tuple[str | int, ...], None] = {}
    for start in range(0, len(data), PAGE_BYTES):
        for payload in _payloads(data, start):
            row = _record(payload)
            if row is not None and tuple(map(type, row)) == column_types:
                found[row] = None
    return list(found)


def _payloads(data: bytes, start: int) -> Iterator[bytes]:
    """The record bytes of each cell of one page; nothing when the page is none of ours."""
    page = data[start : start + PAGE_BYTES]
    head = 100 if start == 0 else 0
    if len(page) < head + 12 or page[head] not in (_INTERIOR, _LEAF):
        return
    interior = page[head] == _INTERIOR
    pointers = head + (12 if interior else 8)
    for n in range(int.from_bytes(page[head + 3 : head + 5], "big")):
        cell = int.from_bytes(page[pointers + 2 * n : pointers + 2 * n + 2], "big") + (4 if interior else 0)
        size, at = _varint(page, cell)
        if not 0 < size <= len(data) or at > len(page):
            continue
        if size <= _MOST_LOCAL:
            yield page[at : at + size]
            continue
        local = _LEAST_LOCAL + (size - _LEAST_LOCAL) % (PAGE_BYTES - 4)
        local = local if local <= _MOST_LOCAL else _LEAST_LOCAL
        parts = [page[at : at + local]]
        following = int.from_bytes(page[at + local : at + local + 4], "big")
        lacking = size - local
        while following and lacking > 0:
            rest = data[(following - 1) * PAGE_BYTES : following * PAGE_BYTES]
            parts.append(rest[4 : 4 + min(lacking, PAGE_BYTES - 4)])
            if len(rest) < PAGE_BYTES:
                break
            lacking -= PAGE_BYTES - 4
            following = int.from_bytes(rest[:4], "big")
        yield b"".join(parts)[:size]


def _record(payload: bytes) -> tuple[str | int, ...] | None:
    """The columns of a record of texts and whole numbers; ``None`` when it is cut or holds anything else."""
    head_end, at = _varint(payload, 0)
    body = head_end
    row: list[str | int] = []
    while at < head_end:
        serial, at = _varint(payload, at)
        if serial in _INT_BYTES:
            size = _INT_BYTES[serial]
            row.append(serial - 8 if size == 0 else int.from_bytes(payload[body : body + size], "big", signed=True))
        elif serial >= 13 and serial % 2:
            size = (serial - 13) // 2
            try:
                row.append(payload[body : body + size].decode())
            except UnicodeDecodeError:
                return None
        else:
            return None
        body += size
    return tuple(row) if row and body == len(payload) else None


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A variable-length integer and the position after it; a cut one reads as 0."""
    value = 0
    for n in range(9):
        if at >= len(data):
            return 0, at
        byte = data[at]
        at += 1
        if n == 8:
            return (value << 8) | byte, at
        value = (value << 7) | (byte & 0x7F)
        if not byte & 0x80:
            break
    return value, at
