"""Start-up pays only for what it uses: which libraries each command may load, checked in a fresh process."""

from __future__ import annotations

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

#: Costly libraries that no quick command may load: each costs from 15 to 300 ms.
HEAVY = ("pandas", "jinja2", "pydantic", "requests", "duckdb", "pygeomag", "distributed", "scipy", "resvg_py")

DAY = "22012KT 10SM FEW050 15/05 A3005"
METAR = f"METAR XBRK 251753Z {DAY}\n"
CLOCK = "2026-04-25T18:00Z"

#: command line -> libraries it must not load beyond HEAVY
CASES: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "help": (["--help"], ("numpy", "metar", "tomllib", "importlib.metadata")),
    "version": (["--version"], ("numpy", "metar")),
    "wrong": (["nonsense"], ("numpy", "metar")),
    "day": (["day", "XBRK", "--from-file", "{file}", "--now", CLOCK], ("email", "http.client", "ssl")),
    "day-stage": (
        ["day", "XBRK", "--stage", "solo", "--from-file", "{file}", "--now", CLOCK],
        ("email", "http.client", "ssl"),
    ),
    "decode": (["decode", "{file}", "--now", CLOCK], ("http.client", "ssl")),
    "rules": (["rules"], ("http.client", "ssl", "metar")),
}

RUN = """
import sys
from advisor import cli
status = cli.run(sys.argv[1:])
print("\\nSTATUS", status)
print("LOADED", *sorted(sys.modules))
"""


def loaded(args: list[str]) -> tuple[int, set[str]]:
    """Exit status and loaded modules of one command run in its own process."""
    result = subprocess.run(
        [sys.executable, "-c", RUN, *args], capture_output=True, text=True, encoding="utf-8", timeout=60
    )
    assert result.returncode == 0, result.stderr
    *_, status, modules = result.stdout.splitlines()
    assert status.startswith("STATUS ")
    return int(status.split()[1]), set(modules.split()[1:])


@pytest.mark.parametrize("case", CASES)
def test_nothing_is_loaded_in_vain(case: str, tmp_path: Path):
    args, extra = CASES[case]
    if (
        not args[0].startswith("-")
        and args[0] != "nonsense"
        and find_spec(f"advisor.commands.{args[0]}") is None
    ):
        pytest.skip(f"advisor {args[0]} is not part of this build")
    file = tmp_path / "metar.txt"
    file.write_text(METAR)
    status, modules = loaded([arg.format(file=file) for arg in args])
    assert status == (2 if case == "wrong" else 0)
    assert "click" in modules, "the check itself sees nothing"
    assert sorted(modules & {*HEAVY, *extra}) == []
