"""A posting is put in its place in one step, whatever happens meanwhile."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.errors import DataFileError
from advisor.morning import MorningSummary
from advisor.present import site
from advisor.present.site import write_site


def hidden(out: Path) -> list[str]:
    return sorted(
        p.name for p in out.parent.iterdir() if p.name.startswith(f".{out.name}.") and not p.name.endswith(".lock")
    )


posix = pytest.mark.skipif(os.name != "posix", reason="links and signals of a POSIX system")


@pytest.fixture(scope="module")
def small() -> MorningSummary:
    return posting(Wanted(("XSND",), Choices(demo=True), "A. Desk", 180, None))[0]


NOW = "2026-04-25T18:00:00Z"


@posix
def test_versions_are_swapped_and_old_ones_go(small: MorningSummary, tmp_path: Path):
    out = tmp_path / "web"
    folders = [write_site(out, small, cards=False).folder for _ in range(4)]
    assert out.is_symlink()
    assert out.resolve() == folders[-1].resolve()
    assert hidden(out) == sorted(f.name for f in folders[-2:])  # the newest and the one before it


@posix
def test_an_empty_folder_is_taken_over(small: MorningSummary, tmp_path: Path):
    out = tmp_path / "web"
    out.mkdir()
    write_site(out, small, cards=False)
    assert (out / "index.html").is_file()


@pytest.mark.parametrize("kind", ["folder with files", "file", "foreign link"])
def test_what_is_not_ours_is_left_alone(small: MorningSummary, tmp_path: Path, kind: str):
    out = tmp_path / "web"
    other = tmp_path / "precious"
    other.mkdir()
    (other / "thesis.txt").write_text("years of work", "utf-8")
    if kind == "folder with files":
        other.rename(out)
    elif kind == "file":
        out.write_text("years of work", "utf-8")
    else:
        out.symlink_to(other)
    with pytest.raises(DataFileError, match="new or an empty folder"):
        write_site(out, small, cards=False)
    kept = out if kind == "file" else out / "thesis.txt"
    assert kept.read_text("utf-8") == "years of work"
    assert hidden(out) == []


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt(), ValueError("x")])
def test_a_fault_in_the_middle_leaves_the_old_posting(
    small: MorningSummary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
):
    out = tmp_path / "web"
    write_site(out, small, cards=False)
    before = (out.resolve(), (out / "index.html").read_bytes(), hidden(out))
    write = site._write

    def breaks(path: Path, text: str) -> None:
        if path.name == "morning.json":
            raise fault
        write(path, text)

    monkeypatch.setattr(site, "_write", breaks)
    with pytest.raises(DataFileError if isinstance(fault, OSError) else type(fault)):
        write_site(out, small, cards=False)
    assert (out.resolve(), (out / "index.html").read_bytes(), hidden(out)) == before


def test_a_folder_that_is_a_mount_is_said_and_nothing_is_left(
    small: MorningSummary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def busy(target: Path, folder: Path) -> None:
        raise OSError(errno.EBUSY, "Device or resource busy")  # as a container's volume answers

    monkeypatch.setattr(site, "_show", busy)
    with pytest.raises(DataFileError, match="mount of its own: give a folder inside it"):
        write_site(tmp_path / "web", small, cards=False)
    assert hidden(tmp_path / "web") == []


CRASH = """
import os, sys
from advisor.commands.common import Choices
from advisor.commands.morning import Wanted, posting
from advisor.present import site
write = site._write
def dies(path, text):
    if path.name == sys.argv[2]:
        with open(path, "w") as handle:
            handle.write(text[: len(text) // 2])
        os.kill(os.getpid(), 9)
    write(path, text)
site._write = dies
site.write_site(sys.argv[1], posting(Wanted(("XSND",), Choices(demo=True), "", 180, None))[0], cards=False)
"""


@posix
@pytest.mark.parametrize("name", ["XSND.html", "index.html"])
def test_a_killed_posting_is_never_seen_and_is_cleaned_up(small: MorningSummary, tmp_path: Path, name: str):
    out = tmp_path / "web"
    write_site(out, small, cards=False)
    before = out.resolve()
    died = subprocess.run([sys.executable, "-c", CRASH, str(out), name], capture_output=True, text=True, timeout=60)
    assert died.returncode == -signal.SIGKILL, died.stderr
    assert out.resolve() == before
    assert (out / "index.html").read_text("utf-8").rstrip().endswith("</html>")
    assert any(".making-" in n for n in hidden(out))
    write_site(out, small, cards=False)
    assert not any(".making-" in n for n in hidden(out))


@posix
def test_a_reader_never_sees_half_a_posting(small: MorningSummary, tmp_path: Path):
    """A reader that looks all the time, while one posting follows another and two come at once."""
    out = tmp_path / "web"
    write_site(out, small, cards=False)
    stop, torn, looks = threading.Event(), [], 0

    def look() -> None:
        nonlocal looks
        while not stop.is_set():
            try:
                index = (out / "index.html").read_text("utf-8")
                data = json.loads((out / "morning.json").read_text("utf-8"))
            except (OSError, ValueError) as error:
                torn.append(repr(error))
                continue
            if not index.rstrip().endswith("</html>") or data["schema"] != "morning/1":
                torn.append("half a page")
            looks += 1

    def write() -> None:
        for _ in range(12):
            write_site(out, small, cards=False)

    reader, writers = threading.Thread(target=look), [threading.Thread(target=write) for _ in range(2)]
    reader.start()
    for w in writers:
        w.start()
    for w in writers:
        w.join()
    stop.set()
    reader.join()
    assert torn == []
    assert looks > 5
    assert len(hidden(out)) <= 2


def test_without_links_the_folder_is_renamed(small: MorningSummary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def refuses(*_args: object, **_more: object) -> None:
        raise OSError("no links here")

    monkeypatch.setattr(os, "symlink", refuses)
    out = tmp_path / "web"
    for _ in range(3):
        write_site(out, small, cards=False)
        assert not out.is_symlink()
        assert (out / "index.html").is_file()
    assert hidden(out) == []
