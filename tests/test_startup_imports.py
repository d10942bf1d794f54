"""Start-up pays only for what it uses: which libraries each command may load, checked in a fresh process."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import pytest

#: Costly libraries that no quick command may load: each costs from 15 to 300 ms.
HEAVY = ("pandas", "jinja2", "pydantic", "requests", "duckdb", "pygeomag", "distributed", "scipy", "resvg_py")

METAR = "METAR KLNK 251753Z 22012KT 10SM FEW050 15/05 A3005\n"  # made by hand, for a field everyone can look up
CLOCK = "2026-04-25T18:00Z"
#: Part of a web client or of a validator: a sign that one of those came in by a side door.
SIDE_DOORS = ("http.client", "ssl", "email", "urllib3")

#: Small ones that were once loaded for nothing, some through a numpy function (``unique``, ``setdiff1d``): together
#: a fifth of ``advisor day``. What the baseline loads by itself in some version is not counted.
LEAN = (
    "numpy.ma", "numpy.typing", "json", "tomllib", "shutil", "tempfile", "bz2", "lzma", "statistics", "socket",
    "click.shell_completion", "importlib.metadata", "advisor.school_reader", "advisor.school_model", "advisor.school_faults",
    "advisor.reports.answers", "advisor.reports.fetch", "advisor.reports.store", "advisor.reports.live",
    "advisor.card", "advisor.morning", "advisor.archive", "advisor.flight.simulate", "advisor.flight.astray",
)  # fmt: skip
BASELINE = "import numpy, click; from metar import Metar"

#: command line -> modules it must not load. Of the demo's two runs the second counts: the first checks the demo's own
#: school file with pydantic and keeps the result.
CASES: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "help": (["--help"], (*HEAVY, *SIDE_DOORS, "numpy", "metar", "tomllib", "importlib.metadata")),
    "version": (["--version"], (*HEAVY, "numpy", "metar")),
    "wrong": (["nonsense"], (*HEAVY, *SIDE_DOORS, "numpy", "metar")),
    "day": (["day", "KLNK", "--from-file", "{file}", "--now", CLOCK], (*HEAVY, *SIDE_DOORS, *LEAN)),
    "day-stage": (
        ["day", "KLNK", "--stage", "solo", "--from-file", "{file}", "--now", CLOCK],
        (*HEAVY, *SIDE_DOORS, *LEAN),
    ),
    "day-demo": (["day", "XBRK", "--demo"], (*HEAVY, *SIDE_DOORS, *LEAN)),
    "decode": (["decode", "{file}", "--now", CLOCK], (*HEAVY, *SIDE_DOORS)),
    "morning-site": (  # without cards: not what draws them
        ["morning", "KLNK", "--from-file", "{file}", "--now", CLOCK, "--out", "{out}", "--no-cards"],
        ("pandas", "requests", "pydantic", "advisor.card", "advisor.flight.simulate"),
    ),
    "rules": (["rules"], (*HEAVY, *SIDE_DOORS, "metar")),
}

RUN = """
import sys
from advisor import cli
status = cli.run(sys.argv[1:])
print("\\nSTATUS", status)
print("LOADED", *sorted(sys.modules))
"""


def fresh(code: str, args: list[str], byte_code: Path, **setting: str) -> str:
    """Output of some code in its own process, with byte code written to a folder whatever this shell's settings."""
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONDONTWRITEBYTECODE", "OPENBLAS_NUM_THREADS")}
    env |= {"PYTHONPYCACHEPREFIX": str(byte_code), **setting}
    command = [sys.executable, "-c", code, *args]
    result = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=60, env=env)
    assert result.returncode == 0, result.stderr
    return result.stdout


@lru_cache(maxsize=1)
def baseline() -> frozenset[str]:
    """Modules that come with the libraries no command can do without."""
    code = f"import sys; {BASELINE}; print(*sys.modules)"
    return frozenset(
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    )


def loaded(args: list[str], byte_code: Path) -> tuple[int, set[str]]:
    """Exit status and loaded modules of one command run in its own process, when it is not the first run."""
    if args[0] == "day":
        fresh(RUN, args, byte_code)
    *_, status, modules = fresh(RUN, args, byte_code).splitlines()
    assert status.startswith("STATUS ")
    return int(status.split()[1]), set(modules.split()[1:])


@pytest.fixture(scope="module")
def byte_code(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all cases, so that each compiles only what no case before it did."""
    return tmp_path_factory.mktemp("byte_code")


@pytest.mark.parametrize("case", CASES)
def test_nothing_is_loaded_in_vain(case: str, tmp_path: Path, byte_code: Path):
    args, unwanted = CASES[case]
    if not args[0].startswith("-") and args[0] != "nonsense" and find_spec(f"advisor.commands.{args[0]}") is None:
        pytest.skip(f"advisor {args[0]} is not part of this build")
    file = tmp_path / "metar.txt"
    file.write_text(METAR)
    status, modules = loaded([arg.format(file=file, out=tmp_path / "web") for arg in args], byte_code)
    assert status == (2 if case == "wrong" else 0)
    assert "click" in modules, "the check itself sees nothing"
    assert sorted((modules & set(unwanted)) - (baseline() if args[0] == "day" else set())) == []


def at_end(what: str, byte_code: Path, **setting: str) -> str:
    """What an expression comes to as ``advisor day`` ends, with these environment variables."""
    code = (
        "import atexit, os, sys; from advisor import cli; sys.argv = ['advisor', 'day', 'XBRK', '--demo'];"
        f"atexit.register(lambda: print({what})); cli.main()"
    )
    return fresh(code, [], byte_code, **setting).splitlines()[-1]


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="threads are counted where the system lists them")
def test_no_idle_thread_is_started(byte_code: Path) -> None:
    """numpy's matrix library would start one a processor, and each waits busily; what a person has set stays."""
    assert at_end("len(os.listdir('/proc/self/task'))", byte_code) == "1"
    assert at_end("os.environ['OPENBLAS_NUM_THREADS']", byte_code, OPENBLAS_NUM_THREADS="2") == "2"
