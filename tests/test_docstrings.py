"""Every public calculation says what it takes, in which unit, what it gives, when it refuses, and whence."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from collections.abc import Iterator

import pytest

from advisor.sources import sources
from tests.source_tree import PACKAGE, Module, modules, parse, under

CALCULATIONS = ("flight", "atmosphere", "aloft", "wind", "units")
#: Conventions rather than formulas: the module's own docstring carries the source.
NO_REFERENCE_NEEDED = ("wind", "units")


def public_functions(module: Module) -> Iterator[ast.FunctionDef]:
    """Top-level functions without an underscore; methods of public classes need a sentence only."""
    yield from (n for n in module.tree.body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_"))


def faults_of(module: Module) -> list[str]:
    faults = []
    for function in public_functions(module):
        doc = ast.get_docstring(function) or ""
        missing = []
        if not re.match(r"\S.*[.]", doc):
            missing.append("a first sentence ending in a full stop")
        if function.args.args and not re.search(r"^Parameters\n-+\n", doc, re.M):
            missing.append("Parameters")
        if not re.search(r"^(Returns|Yields)\n-+\n", doc, re.M):
            missing.append("Returns")
        if not re.search(r"^Raises\n-+\n", doc, re.M) and "never raises" not in doc.lower():
            missing.append("Raises or 'never raises'")
        if module.name not in NO_REFERENCE_NEEDED and not any(f"``{key}``" in doc for key in sources()):
            missing.append("a ``source key``")
        documented = set(re.findall(r"^([\w, ]+) : ", doc, re.M))
        names = {name.strip() for group in documented for name in group.split(",")}
        unnamed = [a.arg for a in [*function.args.args, *function.args.kwonlyargs] if a.arg not in names]
        if unnamed and "Parameters" not in missing:
            missing.append(f"a line for {', '.join(unnamed)}")
        if missing:
            faults.append(f"{module.where(function)} {function.name}: lacks {'; '.join(missing)}")
    return faults


def undocumented(module: Module) -> list[str]:
    """Public classes, methods and functions anywhere with no docstring at all."""
    if not ast.get_docstring(module.tree):
        return [f"{module.where(module.tree)}: the module has no docstring"]
    if module.name == "school_model":
        return []  # the file border's models: their fields and messages are the school file's own manual
    found = []
    for node in [module.tree, *(n for n in ast.walk(module.tree) if isinstance(n, ast.ClassDef))]:
        for child in node.body:
            if (
                isinstance(child, ast.FunctionDef | ast.ClassDef)
                and not any("validator" in ast.unparse(d) for d in child.decorator_list)  # called by pydantic only
                and not child.name.startswith("_")
                and not getattr(node, "name", "").startswith("_")
                and not ast.get_docstring(child)
            ):
                found.append(f"{module.where(child)} {child.name}: no docstring")
    return found


def test_every_calculation_is_fully_described():
    faults = [fault for module in under(*CALCULATIONS) for fault in faults_of(module)]
    assert not faults, f"{len(faults)} functions:\n" + "\n".join(faults)


def test_everything_public_has_a_docstring():
    faults = [fault for module in modules() for fault in undocumented(module)]
    assert not faults, f"{len(faults)} without:\n" + "\n".join(faults)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("def f(x):\n    pass\n", "first sentence"),
        ('def f(x):\n    """Bank."""\n', "Parameters"),
        ('def f():\n    """Bank."""\n', "Returns"),
        ('def f():\n    """Bank.\n\n    Returns\n    -------\n    float\n    """\n', "never raises"),
        (
            'def f():\n    """Bank. Never raises.\n\n    Returns\n    -------\n    float\n    """\n',
            "source key",
        ),
        (
            'def f(x, y):\n    """Bank.\n\n    Parameters\n    ----------\n    x : float\n    """\n',
            "a line for y",
        ),
    ],
)
def test_a_thin_docstring_is_seen(text: str, words: str):
    (fault,) = faults_of(parse("flight.planted", PACKAGE / "flight" / "planted.py", text))
    assert words in fault


def test_a_missing_docstring_is_seen():
    planted = parse(
        "planted",
        PACKAGE / "planted.py",
        '"""X."""\nclass A:\n    """Y."""\n    def b(self):\n        pass\n',
    )
    assert undocumented(planted) == ["advisor/planted.py:4 b: no docstring"]


@pytest.mark.parametrize("module", [m.name for m in modules() if ">>>" in m.text])
def test_examples_hold(module: str):
    result = doctest.testmod(importlib.import_module(f"advisor.{module}"), optionflags=doctest.ELLIPSIS)
    assert result.attempted
    assert not result.failed
