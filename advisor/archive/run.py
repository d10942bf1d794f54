"""Runs the parts of an archive over this machine's processors, and takes up again where a run was interrupted."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from importlib.resources import files
from multiprocessing import get_context
from pathlib import Path

from advisor import __version__
from advisor.archive.counts import Counts, Total, load_counts, rule_codes, save_counts
from advisor.archive.season import Settings, rate_partition
from advisor.archive.source import Part
from advisor.errors import DataFileError

#: Called with the part that is done and whether it was found from an earlier run.
Report = Callable[[Part, bool], None]
#: Raised when counting changes, so that results kept by an earlier version are not taken up.
COUNTING = 3
_DATA = ("limits.toml", "lessons.toml", "places.txt")


def fingerprint(settings: Settings) -> str:
    """Hash of everything besides the reports that a count depends on."""
    mix = hashlib.blake2b(digest_size=12)
    mix.update(repr((__version__, COUNTING, rule_codes(), settings)).encode())
    for name in _DATA:
        mix.update((files("advisor") / "data" / name).read_bytes())
    return mix.hexdigest()


def result_path(folder: Path, part: Part, settings_hash: str) -> Path:
    """Where the counts of a part are kept: named by what went in, so that a stale one is never taken."""
    key = f"{part.digest} {part.first_row} {part.n_rows} {settings_hash}"
    return folder / f"part-{hashlib.blake2b(key.encode(), digest_size=16).hexdigest()}.npz"


def rate_and_keep(part: Part, settings: Settings, path: Path) -> Counts:
    """Rate one part and write its counts beside the others. Raises DataFileError."""
    counts = rate_partition(part, settings)
    save_counts(counts, path)
    return counts


def run_season(
    parts: Sequence[Part],
    settings: Settings,
    work: str | Path,
    *,
    jobs: int = 1,
    report: Report | None = None,
) -> Counts:
    """Rate every part and add up.

    Parameters
    ----------
    parts : sequence of Part
        From ``source.prepare``.
    settings : Settings
        Stages, aircraft, limits.
    work : path
        Folder of results: parts found there with the same content and settings are not rated again.
    jobs : int
        Processes; 1 rates in this one.
    report : callable, optional
        Told of each finished part.

    Returns
    -------
    Counts

    Raises
    ------
    DataFileError
        The archive cannot be read or the folder written. Interrupted: what is finished stays in ``work``.
    """
    folder, mark = Path(work), fingerprint(settings)
    total = Total(len(settings.setups))
    tell = report or (lambda part, found: None)
    todo: list[tuple[Part, Path]] = []
    for part in parts:
        path = result_path(folder, part, mark)
        kept = load_counts(path) if path.exists() else None
        if kept is None:
            todo.append((part, path))
            continue
        total.add(kept)
        tell(part, True)
    if jobs <= 1 or len(todo) <= 1:
        for part, path in todo:
            total.add(rate_and_keep(part, settings, path))
            tell(part, False)
        return total.result()
    _in_processes(todo, settings, jobs, total, tell)
    return total.result()


def _in_processes(todo: list[tuple[Part, Path]], settings: Settings, jobs: int, total: Total, tell: Report) -> None:
    waiting = list(reversed(todo))
    running: dict[Future[Counts], Part] = {}
    # spawn: a forked child would share open files and threads of libraries that do not expect it
    with ProcessPoolExecutor(min(jobs, len(todo)), mp_context=get_context("spawn")) as pool:
        try:
            while waiting or running:
                while waiting and len(running) < jobs + 1:  # few in flight: counts are large
                    part, path = waiting.pop()
                    running[pool.submit(rate_and_keep, part, settings, path)] = part
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    part = running.pop(future)
                    total.add(future.result())
                    tell(part, False)
        except BaseException as error:
            pool.shutdown(wait=False, cancel_futures=True)
            if isinstance(error, RuntimeError):
                raise DataFileError(
                    f"A process was lost ({error}). Start again with --resume and fewer --jobs."
                ) from error
            raise
