"""Start-up pays only for what it uses: which libraries each command may load, checked in a fresh process."""

from __future__ import annotations

import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

#: Costly libraries that no quick command may load: each costs from 15 to 300 ms.
HEAVY = ("pandas", "jinja2", "pydantic", "requests", "duckdb", "pygeomag", "distributed", "scipy", "resvg_py")

METAR = (
    "METAR KLNK 251753Z 22012KT 10SM FEW050 15/05 A3005\n"  # made by hand, for a field everyone can look up
)
CLOCK = "2026-04-25T18:00Z"
#: Part of a web client or of a validator: a sign that one of those came in by a side door.
SIDE_DOORS = ("http.client", "ssl", "email", "urllib3")

#: command line -> modules it must not load. The demo reads its own school file, so its validator may come.
CASES: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "help": (["--help"], (*HEAVY, *SIDE_DOORS, "numpy", "metar", "tomllib", "importlib.metadata")),
    "version": (["--version"], (*HEAVY, "numpy", "metar")),
    "wrong": (["nonsense"], (*HEAVY, *SIDE_DOORS, "numpy", "metar")),
    "day": (["day", "KLNK", "--from-file", "{file}", "--now", CLOCK], (*HEAVY, *SIDE_DOORS)),
    "day-stage": (
        ["day", "KLNK", "--stage", "solo", "--from-file", "{file}", "--now", CLOCK],
        (*HEAVY, *SIDE_DOORS),
    ),
    "day-demo": (
        ["day", "XBRK", "--demo"],
        ("pandas", "jinja2", "requests", "duckdb", "scipy", "http.client"),
    ),
    "decode": (["decode", "{file}", "--now", CLOCK], (*HEAVY, *SIDE_DOORS)),
    "rules": (["rules"], (*HEAVY, *SIDE_DOORS, "metar")),
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
    args, unwanted = CASES[case]
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
    assert sorted(modules & set(unwanted)) == []
