"""DEVELOPERS.md holds to the tree: paths, commands, modules and dependencies are those that are there."""

from __future__ import annotations

import re
import tomllib
from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.source_tree import PACKAGE, ROOT, modules

TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
#: A word in backticks that is meant as a path: it has a folder or an ending we use.
_PATH = re.compile(r"[\w.*/-]+(?:/|\.(?:py|toml|md|csv|txt)\b)[\w.*/-]*")


def paths(text: str) -> set[str]:
    """Every path in backticks; a command names its modules and is read by ``commands``."""
    quoted = re.findall(r"`([^`\n]+)`", text)
    return {match[0] for word in quoted if " " not in word and (match := _PATH.fullmatch(word))}


def absent(path: str) -> bool:
    """Whether no file is so named: from the top, in the package, or anywhere below it by its bare name."""
    here = [*ROOT.glob(path.rstrip("/")), *PACKAGE.glob(path.rstrip("/"))]
    if "/" not in path.rstrip("/") and path != "*":
        here += PACKAGE.rglob(path.rstrip("/"))
    return not here


def unnamed_modules(text: str) -> set[str]:
    """Modules and folders at the top of the package that the map leaves out."""
    rows = [line.split("|")[1] for line in text.splitlines() if line.startswith("| `")]
    patterns = [part for row in rows for part in re.findall(r"`([^`]+)`", row)]
    named = {found.name for pattern in patterns for found in PACKAGE.glob(pattern.rstrip("/"))}
    top = {Path(m.name.partition(".")[0]).name for m in modules() if m.name} - {"__main__"}
    there = {f"{name}.py" if (PACKAGE / f"{name}.py").exists() else name for name in top}
    return there - named


def wrong_commands(text: str) -> set[str]:
    """Modules that ``python -m`` could not run, groups and markers that pyproject.toml does not have."""
    wrong = {name for name in re.findall(r"python -m (tests[\w.]+)", text) if find_spec(name) is None}
    wrong |= set(re.findall(r"--group (\w+)", text)) - set(PROJECT["dependency-groups"])
    markers = {m.partition(":")[0] for m in PROJECT["tool"]["pytest"]["ini_options"]["markers"]}
    wrong |= set(re.findall(r"pytest -m (\w+)", text)) - markers
    extras = set(re.findall(r"'\.\[([\w,]+)\]'", text))
    return wrong | {e for listed in extras for e in listed.split(",")} - set(
        PROJECT["project"]["optional-dependencies"]
    )


def bare(requirement: str) -> str:
    return re.split(r"[\[<>=~!; ]", requirement)[0].lower()


def declared() -> set[str]:
    """Every library pyproject.toml names, whatever for."""
    project = PROJECT["project"]
    lists = [
        project["dependencies"],
        *project["optional-dependencies"].values(),
        *PROJECT["dependency-groups"].values(),
    ]
    return {bare(item) for items in lists for item in items if isinstance(item, str)} - {project["name"]}


def explained(text: str) -> set[str]:
    """Libraries of the table of dependencies."""
    table = text.partition("## Why each dependency")[2].partition("\n## ")[0]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| ")][1:]
    return {re.sub(r"`.*`", "", name).strip().lower() for row in rows for name in row.split(",")}


def test_every_path_is_there():
    assert len(paths(TEXT)) > 40, "the check itself sees nothing"
    assert sorted(filter(absent, paths(TEXT))) == []


def test_the_map_leaves_no_module_out():
    assert unnamed_modules(TEXT) == set()


def test_commands_can_be_run():
    assert wrong_commands(TEXT) == set()


def test_every_dependency_is_explained_and_declared():
    assert explained(TEXT) == declared()


@pytest.mark.parametrize("path", ["rules/context", "`rules/contexts.py`", "`advisor/gone/`", "`gone*.py`"])
def test_a_path_that_is_gone_is_seen(path: str):
    found = paths(path)
    assert found == ({path.strip("`")} if "`" in path else set())
    assert all(map(absent, found))


def test_a_module_left_out_and_a_wrong_command_are_seen():
    assert "units.py" in unnamed_modules(TEXT.replace("`units.py`, ", ""))
    planted = "python -m tests.bulk.gone pytest -m slow --group nothing '.[archive,moon]'"
    assert wrong_commands(planted) == {"tests.bulk.gone", "slow", "nothing", "moon"}
    assert explained(TEXT.replace("| pydantic |", "| pydantics |")) != declared()
