"""Keep ``fixtures/MANIFEST.csv`` true: every fixture with its hash, where it came from and what it exercises.

``python -m tests.tools.manifest --check`` lists what is wrong; ``--write`` fills in hashes and adds new
files with empty notes, which the check then asks for. Notes already written are kept.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import io
import sys
from pathlib import Path

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
COLUMNS = ("file", "sha256", "origin", "exercises")


def files_of(folder: Path) -> list[str]:
    """Fixture files below a folder, as sorted relative names; the manifest and hidden files are left out, and so are
    the README's pictures, which keep the hashes of their own pages."""
    return sorted(
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file()
        and path.name != "MANIFEST.csv"
        and not path.name.startswith(".")
        and path.parent.name != "pictures"
    )


def sha256_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def read(folder: Path) -> list[dict[str, str]]:
    path = folder / "MANIFEST.csv"
    if not path.exists():
        return []
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))


def faults(folder: Path) -> list[str]:
    """What the manifest of a folder gets wrong; every fault at once, empty when it is true."""
    rows = read(folder)
    listed = [row["file"] for row in rows]
    found = [f"{name}: listed twice" for name in sorted({n for n in listed if listed.count(n) > 1})]
    found += [f"{name}: not in MANIFEST.csv" for name in files_of(folder) if name not in listed]
    for row in rows:
        path = folder / row["file"]
        if not path.is_file():
            found.append(f"{row['file']}: listed, but no such file")
        elif row["sha256"] != sha256_of(path):
            found.append(f"{row['file']}: changed since it was listed")
        found += [
            f"{row['file']}: no {column}" for column in ("origin", "exercises") if not (row[column] or "").strip()
        ]
    if listed != sorted(listed):
        found.append("MANIFEST.csv is not sorted by file")
    return found


def write(folder: Path) -> None:
    """Write the manifest anew: today's files and hashes, yesterday's notes."""
    notes = {row["file"]: row for row in read(folder)}
    out = io.StringIO()
    table = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    table.writeheader()
    for name in files_of(folder):
        old = notes.get(name, {})
        table.writerow(
            {
                "file": name,
                "sha256": sha256_of(folder / name),
                "origin": old.get("origin", ""),
                "exercises": old.get("exercises", ""),
            }
        )
    (folder / "MANIFEST.csv").write_text(out.getvalue(), "utf-8")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    group = parser.add_mutually_exclusive_group(required=True)
    group.add_argument("--check", action="store_true", help="list what is wrong; status 1 when anything is")
    group.add_argument("--write", action="store_true", help="write hashes, keep notes")
    if parser.parse_args().write:
        write(FIXTURES)
    wrong = faults(FIXTURES)
    print("\n".join(wrong) or "MANIFEST.csv is true")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
