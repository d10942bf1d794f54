"""Data files say the same whether they were just parsed or come from their byte code."""

from __future__ import annotations

import importlib.util
import os
import tomllib
from pathlib import Path

import pytest

from advisor import datafiles

FILES = sorted(path.relative_to(datafiles.FOLDER) for path in datafiles.FOLDER.rglob("*.toml"))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(datafiles, "FOLDER", tmp_path)
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    return tmp_path


@pytest.mark.parametrize("name", FILES, ids=str)
def test_every_file_says_what_its_text_says(name: Path, folder: Path):
    text = (Path(datafiles.__file__).parent / "data" / name).read_bytes()
    target = folder / name
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(text)
    expected = tomllib.loads(text.decode("utf-8"))
    assert datafiles.data_toml(*name.parts) == expected
    assert Path(importlib.util.cache_from_source(str(target))).exists(), "nothing was kept"
    assert datafiles.data_toml(*name.parts) == expected, "what was kept says something else"


def test_the_files_were_found():
    assert len(FILES) >= 5


def test_a_changed_file_is_read_again(folder: Path):
    file = folder / "limits.toml"
    file.write_text("wind = 20\n")
    os.utime(file, (1_000_000_000, 1_000_000_000))
    assert datafiles.data_toml("limits.toml") == {"wind": 20}
    file.write_text("wind = 25\n")  # the same size, another time
    assert datafiles.data_toml("limits.toml") == {"wind": 25}
    file.write_text("wind = 100\n")  # another size, the same time
    os.utime(file, (1_000_000_000, 1_000_000_000))
    assert datafiles.data_toml("limits.toml") == {"wind": 100}


def test_what_was_kept_spares_the_parsing(folder: Path, monkeypatch: pytest.MonkeyPatch):
    (folder / "limits.toml").write_text("wind = 20\n")
    datafiles.data_toml("limits.toml")

    def refuse(text: str) -> dict[str, object]:
        raise AssertionError("parsed again")

    monkeypatch.setattr(tomllib, "loads", refuse)
    assert datafiles.data_toml("limits.toml") == {"wind": 20}


def test_damaged_byte_code_is_parsed_again(folder: Path):
    file = folder / "limits.toml"
    file.write_text("wind = 20\n")
    datafiles.data_toml("limits.toml")
    kept = Path(importlib.util.cache_from_source(str(file)))
    for damage in (b"", b"nonsense", kept.read_bytes()[:12]):
        kept.write_bytes(damage)
        assert datafiles.data_toml("limits.toml") == {"wind": 20}


def test_a_folder_that_cannot_be_written_to_is_no_fault(folder: Path):
    (folder / "limits.toml").write_text("wind = 20\n")
    (folder / "__pycache__").write_text("a file where the folder would be")
    assert datafiles.data_toml("limits.toml") == {"wind": 20}


def test_each_call_gives_its_own_copy(folder: Path):
    (folder / "limits.toml").write_text("winds = [20]\n")
    datafiles.data_toml("limits.toml")["winds"].append(25)
    assert datafiles.data_toml("limits.toml") == {"winds": [20]}


def test_a_file_that_is_not_there_or_not_toml(folder: Path):
    (folder / "limits.toml").write_text("wind =\n")
    with pytest.raises(tomllib.TOMLDecodeError):
        datafiles.data_toml("limits.toml")
    with pytest.raises(OSError, match=r"gone\.toml"):
        datafiles.data_toml("gone.toml")


def test_what_a_value_depends_on_counts_too(folder: Path):
    file = folder / "a.toml"
    file.write_text("x = 1\n")
    os.utime(file, (1_000_000_000, 1_000_000_000))
    read = []

    def count(text: str) -> int:
        read.append(text)
        return len(read)

    assert [datafiles.kept(file, count, {}, newest) for newest in (0, 0, 1_100_000_000, 1_100_000_000, 0)] == [
        1,
        1,
        2,
        2,
        3,
    ]


def test_names_are_known_to_what_was_kept(folder: Path):
    (folder / "a.txt").write_text("/etc/x")
    for _ in range(2):
        assert datafiles.kept(folder / "a.txt", Path, {"PosixPath": Path, "WindowsPath": Path}) == Path("/etc/x")
