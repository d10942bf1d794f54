"""The SQLite file under the store: making it, whole writes, repair, and the size bound.

The rollback journal makes each write whole or absent, and SQLite's locks keep two processes apart, on network
folders too (which is why the write-ahead log is not used).
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TypeVar

from advisor.reports.salvage import PAGE_BYTES, salvage

T = TypeVar("T")
Use = Callable[[sqlite3.Connection], T]

COLUMNS = "station, kind, time, body, word, fetched, seen, source"
VALUES = f"({COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
Row = tuple[str, str, int, str, str, int, int, str]
_COLUMN_TYPES = (str, str, int, str, str, int, int, str)
_SCHEMA = """
CREATE TABLE IF NOT EXISTS report (
    station TEXT NOT NULL, kind TEXT NOT NULL, time INTEGER NOT NULL, body TEXT NOT NULL, word TEXT NOT NULL,
    fetched INTEGER NOT NULL, seen INTEGER NOT NULL, source TEXT NOT NULL,
    PRIMARY KEY (station, kind, time, body)
) WITHOUT ROWID
"""
_NAMES = "reports-[0-9][0-9][0-9].sqlite3"
_BUSY_S = 10.0
_REPAIR_WAIT_S = 10.0


def current(folder: Path) -> Path:
    """The file in use: the highest number. A damaged file is never renamed, because another process may have
    it open and its journal goes by name; a fresh one with the next number takes its place."""
    return max(folder.glob(_NAMES), default=folder / "reports-001.sqlite3")


def set_aside(folder: Path) -> tuple[Path, ...]:
    """Damaged files that a fresh one has taken the place of."""
    return tuple(p for p in sorted(folder.glob(_NAMES)) if p != current(folder))


def use_file(folder: Path, use: Use[T], say: Callable[[str], None], *, writing: bool) -> T:
    """Run ``use`` on the current file, as a whole or not at all.

    A file that proves damaged is set aside, what can be read goes into a fresh one, ``say`` gets a
    sentence, and ``use`` runs there. Raises sqlite3.Error or OSError for anything else: locks, a full disk.
    """
    path = current(folder)
    try:
        return _run(path, use, writing)
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", 0) & 0xFF not in (
            sqlite3.SQLITE_CORRUPT,
            sqlite3.SQLITE_NOTADB,
        ):
            raise
    _repair(folder, path, say)
    return _run(current(folder), use, writing)


def drop_oldest(db: sqlite3.Connection, max_bytes: int) -> int:
    """Delete the oldest reports until the file fits, with a tenth to spare so that not every write prunes."""

    def size() -> int:
        pages: int = db.execute("PRAGMA page_count").fetchone()[0]
        free: int = db.execute("PRAGMA freelist_count").fetchone()[0]
        return (pages - free) * PAGE_BYTES

    gone = 0
    if size() <= max_bytes:
        return gone
    while size() > 0.9 * max_bytes:
        count = db.execute("SELECT count(*) FROM report").fetchone()[0]
        if not count:
            break
        tenth = db.execute("SELECT time FROM report ORDER BY time LIMIT 1 OFFSET ?", (count // 10,))
        cut = tenth.fetchone()[0]
        gone += db.execute("DELETE FROM report WHERE time <= ?", (cut,)).rowcount
    return gone


def _run(path: Path, use: Use[T], writing: bool) -> T:
    with _connected(path) as db:
        db.execute("BEGIN IMMEDIATE" if writing else "BEGIN")
        try:
            result = use(db)
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        return result


@contextmanager
def _connected(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection to a store file, made with its table when it is new, and closed at the end."""
    with closing(sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None)) as db:
        db.execute(f"PRAGMA page_size = {PAGE_BYTES}")
        db.execute("PRAGMA auto_vacuum = FULL")  # so that pruning gives space back; both work in a new file only
        if not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'report'").fetchone():
            db.execute(_SCHEMA)
        yield db


def _repair(folder: Path, damaged: Path, say: Callable[[str], None]) -> None:
    """Under a lock file, so that of two processes that find the damage one repairs and the other waits."""
    lock = folder / "repair.lock"
    waited_s = 0.0
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            if waited_s >= _REPAIR_WAIT_S:  # its owner died: a repair takes a second or two
                lock.unlink(missing_ok=True)
            time.sleep(0.05)
            waited_s += 0.05
    try:
        if current(folder) != damaged:
            return  # the other process has done it
        rows = salvage(damaged, _COLUMN_TYPES)
        fresh = folder / "repair.sqlite3"
        fresh.unlink(missing_ok=True)
        _run(fresh, lambda db: db.executemany(f"INSERT OR IGNORE INTO report {VALUES}", rows), writing=True)
        os.replace(fresh, folder / f"reports-{int(damaged.stem[-3:]) + 1:03d}.sqlite3")
        for older in folder.glob(_NAMES):
            if older < damaged:  # one damaged file is enough to look into
                older.unlink(missing_ok=True)
        say(
            f"The store of reports was damaged: {len(rows):,} reports could be read and are still served. The "
            f"damaged file was set aside ({damaged})."
        )
    finally:
        lock.unlink(missing_ok=True)
