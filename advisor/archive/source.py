"""Archives of raw reports on disk: CSV, TSV and Parquet in the layouts public archives use.

An archive is a table with a report's raw text, its time and, as a rule, its station; the columns may carry any of
the names in ``NAMES``. Two layouts are common: ``station,time,raw`` (ours, as ``advisor store export`` writes it)
and ``station,valid,metar`` (the state-university archive of hourly reports). Other columns are ignored. Times are
UTC, ISO, with or without Z and seconds, or timestamps. Lines before the header that start with ``#`` are skipped.

What is rated are *parts*: runs of rows of one Parquet file that is sorted by station and time. CSV, and
Parquet in any other order, is copied into such a file once.
"""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np

from advisor.errors import DataFileError
from advisor.records import dataclass
from advisor.table import Array

NAMES: dict[str, tuple[str, ...]] = {
    "raw": ("raw", "metar", "raw_text", "rawob", "raw_ob", "rawtext", "report"),
    "time": ("time", "valid", "observed_utc", "observed", "obstime", "valid_utc", "observation_time", "utc"),
    "station": ("station", "station_id", "icao", "icaoid", "icao_id", "stid"),
}
#: Rows of one part: memory stays flat, an interrupted run loses little, and processes end at about the same time.
PART_ROWS = 100_000
#: Rows of one chunk inside a part: its arrays stay near the processor.
CHUNK_ROWS = 100_000
_GROUP_ROWS = 50_000
_TAIL_ROWS = 256
_MEMORY = "400MB"
_TIME = "CASE WHEN minute >= 0 THEN make_timestamp(minute * 60000000) END"
_IDENTIFIER = r"([A-Za-z][A-Za-z0-9]{3})\s+(?:COR\s+)?[0-3][0-9]{5}Z"


@dataclass(frozen=True, slots=True)
class Part:
    """A run of rows of one sorted Parquet file, read by itself."""

    path: str
    first_row: int
    n_rows: int
    digest: str  # of the file's content


@dataclass(slots=True)
class Rows:
    """Raw reports: station as the archive names it, UTC minutes since 1970 (-1 when missing), text."""

    station: Array
    minute: Array
    raw: Array

    def __len__(self) -> int:
        return len(self.minute)

    def take(self, index: Array | slice) -> Rows:
        """Rows at these positions, or where a mask is true."""
        return Rows(self.station[index], self.minute[index], self.raw[index])


def database(threads: int = 1) -> Any:
    """A duckdb connection with little memory. Raises DataFileError when duckdb is not installed."""
    try:
        import duckdb
    except ImportError as error:
        raise DataFileError(
            "Archives need the library duckdb. Install it with: python -m pip install 'practice-day-advisor[archive]'."
        ) from error
    connection = duckdb.connect()
    connection.execute(f"SET threads={int(threads)}")
    connection.execute(f"SET memory_limit='{_MEMORY}'")
    connection.execute("SET enable_progress_bar=false")
    return connection


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def is_parquet(path: Path) -> bool:
    """True for a file that starts like Parquet, whatever its name. Raises DataFileError if it cannot be read."""
    try:
        with path.open("rb") as handle:
            return handle.read(4) == b"PAR1"
    except OSError as error:
        raise DataFileError(f"{path} cannot be read: {error.strerror or error}. Check the name.") from error


def _relation(path: Path) -> str:
    """SQL that reads one file as a table of its own columns."""
    if is_parquet(path):
        return f"read_parquet({_quoted(str(path))}, file_row_number=true)"
    opener: Any = gzip.open if path.suffix == ".gz" else open
    skip = 0
    try:
        with opener(path, "rt", encoding="utf-8", errors="replace") as handle:
            for header in handle:
                if not header.startswith("#"):
                    break
                skip += 1
            else:
                header = ""
    except (OSError, EOFError) as error:
        raise DataFileError(f"{path} cannot be read: {error}. Check that the file is whole.") from error
    if not header.strip():
        raise DataFileError(f"{path} is empty: the first line must name the columns, such as station,time,raw.")
    mark = "\\t" if header.count("\t") > header.count(",") else ","
    return (
        f"read_csv({_quoted(str(path))}, header=true, all_varchar=true, skip={skip}, delim=e'{mark}', quote='\"', "
        "escape='\"', null_padding=true, ignore_errors=true, strict_mode=false, max_line_size=1000000)"
    )


def layout(connection: Any, path: Path) -> dict[str, str]:
    """SQL expressions for ``station``, ``minute`` and ``raw`` of a file.

    Raises
    ------
    DataFileError
        No column of raw text or of time; the message names the columns found.
    """
    relation = _relation(path)
    try:
        described = connection.execute(f"DESCRIBE SELECT * FROM {relation}").fetchall()
    except Exception as error:  # duckdb's own tree of errors
        raise DataFileError(f"{path} cannot be read as a table: {_first_line(error)}") from error
    found = {str(row[0]).strip().lower(): str(row[0]) for row in described}
    picked = {role: next((found[name] for name in names if name in found), None) for role, names in NAMES.items()}
    lacking = [role for role in ("raw", "time") if picked[role] is None]
    if lacking:
        raise DataFileError(
            f"{path} has no column of {' or '.join(lacking)}; its columns are {', '.join(found)[:200]}. "
            "Wanted: station,time,raw or station,valid,metar."
        )
    raw, time = (f'"{picked[role]}"' for role in ("raw", "time"))
    minute = f"CAST(floor(epoch(TRY_CAST({time} AS TIMESTAMP)) / 60) AS BIGINT)"
    station = f"upper(regexp_extract({raw}, '{_IDENTIFIER}', 1))"
    if picked["station"]:
        station = f'upper(trim("{picked["station"]}"))'
    return {
        "relation": relation,
        "station": f"coalesce({station}, '')",
        "minute": f"coalesce({minute}, -1)",
        "raw": f"coalesce(CAST({raw} AS VARCHAR), '')",
    }


def _first_line(error: Exception) -> str:
    return " ".join(str(error).split("\n")[0].split())[:200]


def _select(shape: dict[str, str]) -> str:
    return (
        f"SELECT {shape['station']} AS station, {shape['minute']} AS minute, {shape['raw']} AS raw "
        f"FROM {shape['relation']}"
    )


def is_sorted(connection: Any, shape: dict[str, str]) -> bool:
    """True when the rows of a file stand by station, and by hour within a station."""
    out_of_order = connection.execute(
        "SELECT count(*) FROM (SELECT station, hour, lag(station) OVER () AS ps, lag(hour) OVER () AS ph FROM "
        f"(SELECT {shape['station']} AS station, {shape['minute']} // 60 AS hour FROM {shape['relation']})) "
        "WHERE station < ps OR (station = ps AND hour < ph)"
    ).fetchone()[0]
    return bool(out_of_order == 0)


def prepare(paths: Sequence[str | Path], work: str | Path, threads: int = 1) -> list[Part]:
    """Parts of an archive, in order; what is not sorted Parquet is copied into ``work`` first.

    Parameters
    ----------
    paths : sequence of path
        CSV, TSV (plain or gzip) or Parquet files, read as one archive.
    work : path
        Folder for the copy, named by the content of the files: a copy that is there is used again.
    threads : int
        Threads that duckdb may use.

    Returns
    -------
    list of Part

    Raises
    ------
    DataFileError
        A file is missing, empty or no archive, or the folder cannot be written.
    """
    files = [Path(path) for path in paths]
    if not files:
        raise DataFileError("No archive was given. Name one or more CSV or Parquet files.")
    with closing(database(threads)) as connection:  # what it holds is given back before the rating begins
        return _prepare(connection, files, Path(work))


def _prepare(connection: Any, files: list[Path], work: Path) -> list[Part]:
    shapes = [layout(connection, path) for path in files]
    digests = [content_digest(path) for path in files]
    if len(set(digests)) < len(digests):
        raise DataFileError("The same file was given twice; its hours would count twice. Name each file once.")
    try:
        if all(is_parquet(path) for path in files) and all(is_sorted(connection, shape) for shape in shapes):
            return [
                part for path, digest in zip(files, digests, strict=True) for part in _parts(connection, path, digest)
            ]
        digest = hashlib.blake2b("".join(digests).encode(), digest_size=16).hexdigest()
        copy = work / f"sorted-{digest}.parquet"
        if not copy.exists():
            _copy_sorted(connection, shapes, copy)
        return _parts(connection, copy, digest)
    except DataFileError:
        raise
    except Exception as error:
        raise DataFileError(f"The archive cannot be prepared in {work}: {_first_line(error)}") from error


def _copy_sorted(connection: Any, shapes: list[dict[str, str]], copy: Path) -> None:
    copy.parent.mkdir(parents=True, exist_ok=True)
    half = copy.with_suffix(".half")
    connection.execute(f"SET temp_directory={_quoted(str(copy.with_suffix('.spill')))}")
    union = " UNION ALL ".join(_select(shape) for shape in shapes)
    union = f"SELECT station, {_TIME} AS time, raw FROM ({union})"
    write = f"TO {_quoted(str(half))} (FORMAT parquet, ROW_GROUP_SIZE {_GROUP_ROWS}, COMPRESSION snappy)"
    connection.execute(f"COPY ({union}) {write}")
    # Most archives come in order, and then the cost of a sort is saved.
    if not is_sorted(connection, layout(connection, half)):
        whole = copy.with_suffix(".unsorted")
        half.replace(whole)
        connection.execute(f"COPY (SELECT * FROM read_parquet({_quoted(str(whole))}) ORDER BY station, time) {write}")
        whole.unlink()
    half.replace(copy)


def _parts(connection: Any, path: Path, digest: str) -> list[Part]:
    total = int(connection.execute(f"SELECT count(*) FROM read_parquet({_quoted(str(path))})").fetchone()[0])
    return [Part(str(path), first, min(PART_ROWS, total - first), digest) for first in range(0, total, PART_ROWS)]


def content_digest(path: Path) -> str:
    """Hash of a file's bytes. Raises DataFileError when it cannot be read."""
    try:
        with path.open("rb") as handle:
            return hashlib.file_digest(handle, lambda: hashlib.blake2b(digest_size=16)).hexdigest()
    except OSError as error:
        raise DataFileError(f"{path} cannot be read: {error.strerror or error}. Check the name.") from error


def read_part(part: Part) -> Iterator[Rows]:
    """Rows of one part in chunks, never cutting a station's hour in two.

    A station's hour belongs to the part and the chunk in which its first row stands. Raises DataFileError when
    the file is gone or damaged.
    """
    with closing(database()) as connection:
        shape = layout(connection, Path(part.path))
        rows, starts = _aligned(connection, shape, part.first_row, part.first_row + part.n_rows)
    at = 0
    while at < len(rows):
        later = starts[starts >= at + CHUNK_ROWS]
        upto = int(later[0]) if len(later) else len(rows)
        yield rows.take(slice(at, upto))
        at = upto


def _aligned(connection: Any, shape: dict[str, str], first: int, last: int) -> tuple[Rows, Array]:
    """Rows from the first station-hour begun at or after ``first`` to the end of the last begun before ``last``.

    Also the positions among them at which a station-hour begins.
    """
    before = max(first - 1, 0)
    stop = last + _TAIL_ROWS
    while True:
        rows = _fetch(connection, shape, before, stop)
        hour = rows.minute // 60
        new = (rows.station[1:] != rows.station[:-1]) | (hour[1:] != hour[:-1])
        starts = np.flatnonzero(np.r_[first == 0, new]) if len(rows) else np.zeros(0, dtype=np.int64)
        ends = starts[starts >= last - before]
        if len(ends) or len(rows) < stop - before:
            break
        stop += 16 * _TAIL_ROWS
    starts = starts[starts < last - before]
    if not len(starts):
        return rows.take(slice(0, 0)), starts
    from_row, to_row = int(starts[0]), int(ends[0]) if len(ends) else len(rows)
    return rows.take(slice(from_row, to_row)), starts - from_row


def _fetch(connection: Any, shape: dict[str, str], first: int, last: int) -> Rows:
    try:
        got = connection.execute(
            f"{_select(shape)} WHERE file_row_number >= {int(first)} AND file_row_number < {int(last)} "
            "ORDER BY file_row_number"
        ).fetchnumpy()
    except Exception as error:
        raise DataFileError(f"The archive cannot be read any more: {_first_line(error)}") from error
    return Rows(
        np.asarray(got["station"], dtype=object),
        np.asarray(got["minute"], dtype=np.int64),
        np.asarray(got["raw"], dtype=object),
    )
