"""A small static site, written beside the old one and put in its place in one step.

The folder a web server shows is a symbolic link to the newest finished version beside it; renaming a new link over
it is atomic, so a reader never sees half a posting, and a crash in the middle leaves the old posting in place. The
version before the newest is kept for readers that are still on it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from advisor.clock import both
from advisor.errors import AdvisorError, DataFileError
from advisor.morning import MorningSummary, StationMorning
from advisor.morning.changes import LAST_POSTING
from advisor.present.morning_json import head_json, joined, morning_csv, station_json_text
from advisor.present.morning_kept import kept_text
from advisor.present.morning_lines import lines_of
from advisor.present.morning_page import Link, common_parts, index_html, station_html
from advisor.present.morning_text import foot_text, head_text, station_text
from advisor.present.words import US
from advisor.records import dataclass
from advisor.school import School
from advisor.segments import from_minutes

MARKER = "written-by-advisor-morning.txt"
#: Files that hold the whole posting, by the format they are.
_WHOLE = {"text": "morning.txt", "json": "morning.json", "csv": "morning.csv"}
_RULE = "-" * 40
#: With more fields than this a field has its page and its place in the common files, no text and JSON of its own.
MOST_WITH_OWN_FILES = 50


@dataclass(frozen=True, slots=True)
class Written:
    """What was put in place: the version's folder, how many pages it has, and its whole posting in other forms."""

    folder: Path
    pages: int
    files: dict[str, Path]


def write_site(
    out: str | Path, summary: MorningSummary, *, units: str = US, school: School | None = None, cards: bool = True
) -> Written:
    """Write the whole site and put it in place.

    Parameters
    ----------
    out : path
        The folder to show: new, empty, or one an earlier posting made.
    summary : MorningSummary
    units : str
        ``us`` or ``metric`` for heights.
    school : School or None
        For the lesson cards' references.
    cards : bool
        Draw a lesson card for the best lesson of each stage and field.

    Returns
    -------
    Written

    Raises
    ------
    DataFileError
        The folder holds something else, or cannot be written. What stood there still stands.
    """
    target = Path(os.path.abspath(out))
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _claim(target)
        making = Path(tempfile.mkdtemp(prefix=f".{target.name}.making-{os.getpid()}-", dir=target.parent))
        try:
            pages = _fill(making, summary, units, school, cards)
            making.chmod(0o755)
            with _alone(target):
                folder = making.with_name(f".{target.name}.{summary.made_at:%Y%m%dT%H%MZ}-{os.urandom(4).hex()}")
                before = target.resolve() if target.exists() else None
                making.rename(folder)
                try:
                    _show(target, folder)
                except BaseException:
                    shutil.rmtree(folder, ignore_errors=True)
                    raise
                _tidy(target, {folder, before})
        except BaseException:
            shutil.rmtree(making, ignore_errors=True)
            raise
    except OSError as error:
        hint = " It is a mount of its own: give a folder inside it." if error.errno == errno.EBUSY else ""
        raise DataFileError(
            f"{target} cannot be written: {error.strerror or error}. What was posted before still stands.{hint}"
        ) from error
    return Written(folder, pages, {style: folder / name for style, name in _WHOLE.items()})


def _fill(folder: Path, summary: MorningSummary, units: str, school: School | None, cards: bool) -> int:
    """Every file of one version; returns the number of pages."""
    head = head_json(summary)
    records: list[str] = []
    texts: list[str] = [head_text(summary)]
    foot = foot_text(summary)
    common = common_parts(summary)
    pages = 1
    # with many fields the files would outnumber anyone's use of them: one text and one JSON hold them all
    own = len(summary.stations) <= MOST_WITH_OWN_FILES
    if cards:
        (folder / "cards").mkdir()
    for s in summary.stations:
        drawn = _cards(folder / "cards", s, school, units) if cards else []
        lines = lines_of(summary, s, units)
        text = station_text(summary, s, units=units, lines=lines)
        record = station_json_text(s)
        texts.append(f"{_RULE}\n{text}")
        records.append(record)
        links = [("index.html", "All fields")]
        if own:
            _write(folder / f"{s.station}.txt", f"{head_text(summary, only=s)}\n{text}\n{_RULE}\n{foot}")
            _write(folder / f"{s.station}.json", joined({**head, "unserved": []}, [record]))
            links += [(f"{s.station}.txt", "this field as text"), (f"{s.station}.json", "this field as JSON")]
        page = station_html(summary, s, units=units, cards=drawn, links=links, lines=lines, common=common)
        _write(folder / f"{s.station}.html", page)
        pages += 1 + len(drawn)
    size = _write(folder / _WHOLE["json"], joined(head, records))
    _write(folder / LAST_POSTING, kept_text(summary, size))
    _write(folder / _WHOLE["text"], "\n".join([*texts, f"{_RULE}\n{foot}"]))
    _write(folder / _WHOLE["csv"], morning_csv(summary))
    links = [(_WHOLE["text"], "as text"), (_WHOLE["json"], "as JSON"), (_WHOLE["csv"], "as CSV")]
    _write(folder / "index.html", index_html(summary, links=links, common=common))
    _write(folder / MARKER, "This folder is replaced as a whole by every posting of advisor morning.\n")
    return pages


def _write(path: Path, text: str) -> int:
    """Write a file; returns its size in bytes."""
    with open(path, "wb") as handle:
        return handle.write(text.encode())


def _cards(folder: Path, s: StationMorning, school: School | None, units: str) -> list[Link]:
    """A card for the best lesson of each stage, at the hour that teaches most; links as seen from a field's page."""
    # a posting of many fields has no cards, and what draws them takes as long to load as twenty pages to write
    from advisor.advice import advise_stages
    from advisor.card.build import lesson_card
    from advisor.present.html import card_html

    day = s.day
    if not day.stages:
        advise_stages(day)
    out: list[Link] = []
    for stage in day.stages:
        if stage.best is None or stage.slot is None:
            continue
        lesson = stage.lesson(stage.best)
        at = from_minutes(stage.slot.start_min)
        try:
            card = lesson_card(day, stage.setup.stage, lesson, at, school=school)
        except AdvisorError:
            continue
        name = f"{s.station}-{stage.setup.stage}-{lesson.key}.html"
        _write(folder / name, card_html(card, units=units))
        out.append((f"cards/{name}", f"{stage.setup.stage}: {lesson.title}, {both(at, day.zone)}"))
    return out


# -- putting in place ------------------------------------------------------------------------------------


def _claim(target: Path) -> None:
    """Refuse a place that holds anything but a posting. Raises DataFileError."""
    if not os.path.lexists(target):
        return
    if target.is_symlink():
        ours = target.readlink().name.startswith(f".{target.name}.") and not target.readlink().is_absolute()
        if ours:
            return
        raise DataFileError(f"{target} is a link to something else. Give a new or an empty folder.")
    if not target.is_dir():
        raise DataFileError(f"{target} is a file. Give a new or an empty folder.")
    if any(target.iterdir()) and not (target / MARKER).exists():
        raise DataFileError(
            f"{target} holds files that no posting put there; they would be lost. Give a new or an empty folder."
        )


def _show(target: Path, folder: Path) -> None:
    """Let the shown name stand for the new version."""
    link = target.with_name(f".{target.name}.link-{os.urandom(4).hex()}")
    try:
        os.symlink(folder.name, link, target_is_directory=True)
    except (OSError, NotImplementedError):
        _move_aside(target)  # no links here: two renames, with a moment of nothing between them
        folder.rename(target)
        return
    try:
        if target.is_dir() and not target.is_symlink():
            _move_aside(target)
        os.replace(link, target)
    except BaseException:
        link.unlink(missing_ok=True)
        raise


def _move_aside(target: Path) -> None:
    if not os.path.lexists(target):
        return
    if target.is_dir() and not target.is_symlink() and not any(target.iterdir()):
        target.rmdir()
        return
    target.rename(target.with_name(f".{target.name}.old-{os.urandom(4).hex()}"))


def _tidy(target: Path, keep: set[Path | None]) -> None:
    """Drop older versions and what crashed postings left behind; never what another process is writing."""
    start = f".{target.name}."
    for path in target.parent.iterdir():
        if not path.name.startswith(start) or path in keep or path.name.endswith(".lock"):
            continue
        rest = path.name[len(start) :]
        if rest.startswith("making-"):
            pid = rest.split("-")[1]
            if pid.isdigit() and _runs(int(pid)):
                continue
        elif rest.startswith("link-"):
            with contextlib.suppress(OSError):
                path.unlink()
            continue
        elif not (path / MARKER).exists():
            continue
        shutil.rmtree(path, ignore_errors=True)


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


@contextlib.contextmanager
def _alone(target: Path) -> Iterator[None]:
    """Hold off other postings into the same place while this one is put there."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system: two postings at once are not foreseen there
        yield
        return
    with open(target.with_name(f".{target.name}.lock"), "w") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
