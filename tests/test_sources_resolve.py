"""Every source that data, rules or docstrings cite is one entry of ``sources.toml``; all strays at once."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator

import pytest

from advisor.errors import DataFileError
from advisor.sources import STATUSES, source, sources
from tests.source_tree import PACKAGE, Module, modules, parse

DATA_FILES = sorted(p for p in (PACKAGE / "data").rglob("*.toml") if p.name != "sources.toml")
FIELDS = ("source", "sources")
REFERENCES = re.compile(r"(?:^|\n)References\n-+\n(.*?)(?=\n\w[\w ]*\n---|\Z)", re.DOTALL)


def cited_in_data(value: object, path: str = "") -> Iterator[tuple[str, str]]:
    """Path and key of every ``source`` or ``sources`` field, at any depth."""
    if isinstance(value, list):
        for index, item in enumerate(value):
            yield from cited_in_data(item, f"{path}[{index}]")
    if isinstance(value, dict):
        for name, item in value.items():
            if name in FIELDS:
                yield from ((f"{path}.{name}", key) for key in ([item] if isinstance(item, str) else item))
            else:
                yield from cited_in_data(item, f"{path}.{name}")


def cited_in_code(module: Module) -> Iterator[tuple[str, str]]:
    """Place and key of every ``sources=`` of a rule and every key in a References section."""
    for node in ast.walk(module.tree):
        if isinstance(node, ast.keyword) and node.arg == "sources" and module.name.startswith("rules"):
            values = node.value.elts if isinstance(node.value, ast.Tuple | ast.List) else [node.value]
            yield from (
                (module.where(node.value), value.value)
                for value in values
                if isinstance(value, ast.Constant) and isinstance(value.value, str)
            )
        if isinstance(node, ast.FunctionDef | ast.ClassDef | ast.Module):
            section = REFERENCES.search(ast.get_docstring(node) or "")
            if section:
                keys = re.findall(r"``([a-z0-9-]+)``", section.group(1))
                yield from ((module.where(node), key) for key in keys or ["(References without a ``key``)"])


def test_data_files_cite_known_sources():
    strays = [
        f"{path.name}{where}: {key}"
        for path in DATA_FILES
        for where, key in cited_in_data(tomllib.loads(path.read_text("utf-8")))
        if key not in sources()
    ]
    assert not strays, "not in sources.toml:\n" + "\n".join(strays)


def test_code_cites_known_sources():
    strays = [f"{where}: {key}" for m in modules() for where, key in cited_in_code(m) if key not in sources()]
    assert not strays, "not in sources.toml:\n" + "\n".join(strays)


def test_limits_and_lessons_all_cite_something():
    """Each table of limits.toml and lessons.toml that holds a number names its source."""
    for name in ("limits.toml", "lessons.toml"):
        raw = tomllib.loads((PACKAGE / "data" / name).read_text("utf-8"))
        assert len(list(cited_in_data(raw))) > 5, f"{name} cites next to nothing"


def test_a_stray_is_seen():
    planted = parse(
        "rules.gusts",
        PACKAGE / "rules" / "gusts.py",
        'rule("GU99", sources=("no-such-book",))\n'
        'def f():\n    """X.\n\n    References\n    ----------\n    .. [1] ``no-such-page``\n    """\n'
        'def g():\n    """X.\n\n    References\n    ----------\n    a book\n    """\n',
    )
    keys = [key for _, key in cited_in_code(planted)]
    assert {"no-such-book", "no-such-page"} < set(keys)
    assert len(keys) == 3
    assert [key for _, key in cited_in_data({"a": [{"b": {"source": "x", "sources": ["y"]}}]})] == ["x", "y"]


def test_every_source_says_what_and_how_known():
    faults = []
    for key, entry in sources().items():
        if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key):
            faults.append(f"{key}: keys are lower case words joined by hyphens")
        if not entry.title or not entry.part:
            faults.append(f"{key}: title and part must say where to look")
        if bool(entry.read) != (entry.status == "seen"):
            faults.append(f"{key}: a date read belongs to what was read, and to nothing else")
        if entry.read and not re.fullmatch(r"20\d\d-\d\d", entry.read):
            faults.append(f"{key}: read is a month, YYYY-MM")
        if entry.address and not entry.address.startswith("https://"):
            faults.append(f"{key}: the address must begin with https://")
    assert not faults, "\n".join(faults)
    assert {entry.status for entry in sources().values()} == set(STATUSES)


def test_citations_mark_memory_and_practice():
    assert source("phak-ch5").citation.endswith("(from memory)")
    assert source("common-practice").citation == "common practice, no source"
    assert "7-5" in source("afh-3c-ch7").citation


def test_an_unknown_key_lists_the_known_ones():
    with pytest.raises(DataFileError, match=r"no source is called 'nowhere'.*afh-3c-ch7"):
        source("nowhere")
