"""Every fixture is listed with its hash, origin and purpose; a changed or stray file is noticed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tools import manifest


def test_the_manifest_is_true():
    wrong = manifest.faults(manifest.FIXTURES)
    assert not wrong, "run python -m tests.tools.manifest --write, then fill in the notes:\n" + "\n".join(wrong)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "metar").mkdir()
    (tmp_path / "metar" / "calm.txt").write_text("XBRK 251753Z 00000KT\n")
    (tmp_path / "gust.txt").write_text("XBRK 251753Z 22018G27KT\n")
    manifest.write(tmp_path)
    path = tmp_path / "MANIFEST.csv"
    path.write_text(path.read_text().replace(",,", ",made by hand,wind states"))
    assert manifest.faults(tmp_path) == []
    return tmp_path


def test_a_changed_file_is_seen(folder: Path):
    (folder / "gust.txt").write_text("XBRK 251753Z 22018KT\n")
    assert manifest.faults(folder) == ["gust.txt: changed since it was listed"]


def test_a_stray_file_is_seen(folder: Path):
    (folder / "new.txt").write_text("")
    assert manifest.faults(folder) == ["new.txt: not in MANIFEST.csv"]


def test_a_lost_file_is_seen(folder: Path):
    (folder / "metar" / "calm.txt").unlink()
    assert manifest.faults(folder) == ["metar/calm.txt: listed, but no such file"]


def test_writing_keeps_notes_and_asks_for_new_ones(folder: Path):
    (folder / "new.txt").write_text("")
    manifest.write(folder)
    assert manifest.faults(folder) == ["new.txt: no origin", "new.txt: no exercises"]
    assert [row["origin"] for row in manifest.read(folder)] == ["made by hand", "made by hand", ""]
