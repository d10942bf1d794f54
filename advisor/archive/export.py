"""The long table of a season as CSV or Parquet."""

from __future__ import annotations

import csv
import os
import tempfile
from contextlib import closing
from pathlib import Path
from typing import TextIO

from advisor.archive.report import TABLE_COLUMNS, SeasonReport, table_rows
from advisor.archive.source import database
from advisor.errors import DataFileError


def write_csv(report: SeasonReport, out: TextIO) -> int:
    """Write the table with a header line; returns the number of rows. Raises OSError as the stream does."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([name for name, _ in TABLE_COLUMNS])
    count = 0
    for row in table_rows(report):
        writer.writerow(row)
        count += 1
    return count


def write_table(report: SeasonReport, path: Path, parquet: bool) -> None:
    """Write the table as CSV or Parquet, whole or not at all, row by row: a network's table is larger than its counts.

    Raises DataFileError when the folder cannot be written.
    """
    columns = ", ".join(f"'{name}': '{kind}'" for name, kind in TABLE_COLUMNS)
    try:
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".season-") as folder:
            text, half = Path(folder) / "table.csv", Path(folder) / "table.parquet"
            with text.open("w", encoding="utf-8", newline="") as handle:
                write_csv(report, handle)
            if not parquet:
                os.replace(text, path)
                return
            quoted = [str(name).replace("'", "''") for name in (text, half)]
            with closing(database()) as connection:
                connection.execute(
                    f"COPY (SELECT * FROM read_csv('{quoted[0]}', header=true, columns={{{columns}}})) "
                    f"TO '{quoted[1]}' (FORMAT parquet)"
                )
            os.replace(half, path)
    except OSError as error:
        raise DataFileError(f"{path} cannot be written: {error.strerror or error}. Choose another place.") from error
