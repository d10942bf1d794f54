"""House rules read from the source: which way imports point, whose door a library is, where numbers live.

Every check lists all offenders at once, and every check is shown to catch a planted offender.
"""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Callable, Iterable

import pytest

from tests.source_tree import PACKAGE, Module, docstring_nodes, imports, modules, parse

#: Lowest first. A module imports from its own layer and the ones above it in this list, never from below.
LAYERS: tuple[tuple[str, frozenset[str]], ...] = (
    (
        "ground",
        frozenset({"", "errors", "patterns", "records", "units", "wind", "words", "datafiles", "sources", "clock"}),
    ),
    ("arrays", frozenset({"table", "directions"})),
    ("data", frozenset({"limits", "lessons", "aircraft", "places", "atmosphere"})),
    ("reports", frozenset({"reports"})),
    (
        "school",
        frozenset({"site", "school", "demo"})
        | {f"school_{x}" for x in ("faults", "model", "reader", "slips", "stops", "syntax")},
    ),
    ("conditions", frozenset({"weather", "segments", "cells", "conditions", "aloft", "describe", "prepare"})),
    ("flight", frozenset({"flight"})),
    ("rules", frozenset({"rules"})),
    ("ratings", frozenset({"teaching", "ratings"})),
    ("advice", frozenset({"advice", "demand", "swaps", "windows", "answer", "card", "morning"})),
    ("archive", frozenset({"archive"})),
    ("present", frozenset({"present"})),
    ("commands", frozenset({"commands", "cli", "__main__"})),
)

#: The one door of each library that is not numpy: module, or package with everything below it.
DOORS: dict[str, frozenset[str]] = {
    "requests": frozenset({"reports.fetch"}),
    "urllib3": frozenset({"reports.fetch"}),
    "metar": frozenset({"reports.decode_metar"}),
    "click": frozenset({"cli", "commands"}),
    "pydantic": frozenset({"school_faults", "school_model", "school_reader"}),
    "pydantic_core": frozenset({"school_model", "school_reader"}),
    "pygeomag": frozenset({"places.variation"}),
    "jinja2": frozenset({"present"}),
    "markupsafe": frozenset({"present"}),
    "resvg_py": frozenset({"present"}),
    "pandas": frozenset({"present", "advice"}),
    "duckdb": frozenset({"archive"}),
    "distributed": frozenset({"archive"}),
}
EVERYWHERE = frozenset({"numpy"})

#: Numbers a rule may spell out: identities, parts of the compass. All others are limits and live in data/.
RULE_NUMBERS = frozenset({0, 1, 2, 90, 180, 360})

#: Functions that take or give radians, in numpy or in math.
RADIAN_NAMES = frozenset(
    """radians degrees deg2rad rad2deg sin cos tan asin acos atan atan2 arcsin arccos arctan arctan2 sinh cosh
    tanh""".split()  # noqa: SIM905 (a list of words reads better as words)
)

CLOCK_CALLS = frozenset(
    """datetime.now datetime.utcnow datetime.today date.today time.time time.time_ns time.gmtime
    time.localtime""".split()  # noqa: SIM905
)

#: The machinery under the rules counts groups, bits and caps, and holds no limit.
RULE_MACHINERY = ("rules.distinct", "rules.engine", "rules.registry")

MAX_LINES = 400
#: Module -> why it is longer. Empty is the aim.
LONGER_FOR_A_REASON: dict[str, str] = {}


def layer_of(name: str) -> int | None:
    """Place of a module in ``LAYERS``; ``None`` when it has none."""
    for candidate in (name, name.rpartition(".")[0], name.split(".")[0]):
        for rank, (_, members) in enumerate(LAYERS):
            if candidate in members and (candidate or not name):
                return rank
    return None


def below(name: str, doors: Iterable[str]) -> bool:
    return any(name == door or name.startswith(door + ".") for door in doors)


def no_place(tree: Iterable[Module]) -> list[str]:
    return [f"{m.where(m.tree)}: give it a place in LAYERS" for m in tree if layer_of(m.name) is None]


def wrong_way(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        here = layer_of(module.name)
        for item in imports(module):
            head, _, rest = item.target.partition(".")
            if head != "advisor" or here is None:
                continue
            there = layer_of(rest)
            if there is not None and there > here:
                route = f"{LAYERS[here][0]} must not import {LAYERS[there][0]}"
                found.append(f"{module.where(item.node)}: {route}: {item.target}")
    return found


def wrong_door(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        for item in imports(module):
            library = item.target.partition(".")[0]
            if library in sys.stdlib_module_names or library in EVERYWHERE or library == "advisor":
                continue
            if library not in DOORS:
                found.append(f"{module.where(item.node)}: {library} is no library of this project")
            elif not below(module.name, DOORS[library]):
                doors = ", ".join(sorted(DOORS[library]))
                found.append(f"{module.where(item.node)}: {library} is for {doors} only")
    return found


def radians_outside_units(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        if module.name == "units":
            continue
        by_name = [
            f"{module.where(item.node)}: {item.target} belongs to units.py"
            for item in imports(module)
            if item.target in {f"{lib}.{name}" for lib in ("math", "numpy") for name in RADIAN_NAMES}
        ]
        by_attribute = [
            f"{module.where(node)}: {ast.unparse(node)} belongs to units.py"
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Attribute)
            and node.attr in RADIAN_NAMES
            and ast.unparse(node.value) in ("np", "numpy", "math")
        ]
        found += by_name + by_attribute
    return found


def math_in_flight(tree: Iterable[Module]) -> list[str]:
    return [
        f"{module.where(item.node)}: flight/ is array code; use numpy through units.py, not math"
        for module in tree
        if below(module.name, ["flight"])
        for item in imports(module)
        if item.target.partition(".")[0] in ("math", "cmath")
    ]


def numbers_in_rules(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        if not below(module.name, ["rules"]) or module.name in RULE_MACHINERY:
            continue
        # the members of an enumeration are names, not limits
        exempt = {
            id(statement.value)
            for node in ast.walk(module.tree)
            if isinstance(node, ast.ClassDef)
            and any(ast.unparse(base).endswith(("Enum", "Flag")) for base in node.bases)
            for statement in node.body
            if isinstance(statement, ast.Assign)
        }
        found += [
            f"{module.where(node)}: {node.value} belongs in data/, with its source"
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Constant)
            and isinstance(node.value, int | float)
            and not isinstance(node.value, bool)
            and node.value not in RULE_NUMBERS
            and id(node) not in exempt
        ]
    return found


def clock_reads(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        if below(module.name, ["commands", "cli"]):
            continue
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                if any(called == name or called.endswith("." + name) for name in CLOCK_CALLS):
                    found.append(f"{module.where(node)}: {called}() reads the clock; take now as an argument")
    return found


def prints(tree: Iterable[Module]) -> list[str]:
    return [
        f"{module.where(node)}: print(); return text and let the command write it"
        for module in tree
        if not below(module.name, ["commands"])
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("print", "sys.stdout.write")
    ]


def too_long(tree: Iterable[Module]) -> list[str]:
    return [
        f"{module.where(module.tree)}: {module.lines} lines; split it by what it is about"
        for module in tree
        if module.lines > MAX_LINES and module.name not in LONGER_FOR_A_REASON
    ]


def machine_paths(tree: Iterable[Module]) -> list[str]:
    found = []
    for module in tree:
        skip = docstring_nodes(module.tree)
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skip:
                found.extend(
                    f"{module.where(node)}: {start} is a path of one machine"
                    for start in ("/home/", "/tmp", "/root", "/Users/", "C:\\")
                    if node.value.startswith(start)
                )
    return found


Check = Callable[[Iterable[Module]], list[str]]

#: check, and a module (name, text) that it must object to
CHECKS: tuple[tuple[Check, str, str], ...] = (
    (no_place, "oddity", ""),
    (wrong_way, "flight.turns", "def f():\n    from advisor.ratings import rate\n"),
    (wrong_way, "reports.fetch", "import advisor.commands.day\n"),
    (wrong_way, "units", "from advisor import reports\n"),
    (wrong_door, "reports.decode_taf", "import requests.adapters\n"),
    (wrong_door, "advice.windows", "def f():\n    import click\n"),
    (wrong_door, "flight.turns", "import scipy.special\n"),
    (radians_outside_units, "flight.turns", "import numpy as np\nx = np.deg2rad(3)\n"),
    (radians_outside_units, "places.sun", "from math import sin\nx = sin(3)\n"),
    (math_in_flight, "flight.circle", "import math\n"),
    (numbers_in_rules, "rules.gusts", "def f(spread_kt):\n    return spread_kt > 7\n"),
    (numbers_in_rules, "rules.gusts", "HALF = 0.5\n"),
    (clock_reads, "conditions", "import datetime as dt\nx = dt.datetime.now(dt.UTC)\n"),
    (clock_reads, "reports.store", "import time\nx = time.time()\n"),
    (prints, "advice.windows", "print('x')\n"),
    (too_long, "advice.windows", "x = 0\n" * (MAX_LINES + 1)),
    (machine_paths, "reports.store", "cache = '/home/someone/reports'\n"),
)


@pytest.mark.parametrize("check", dict.fromkeys(check for check, _, _ in CHECKS), ids=lambda c: c.__name__)
def test_the_package_keeps_the_rule(check: Check):
    offenders = check(modules())
    assert not offenders, f"{len(offenders)} offenders:\n" + "\n".join(offenders)


@pytest.mark.parametrize(("check", "name", "text"), CHECKS, ids=lambda x: getattr(x, "__name__", ""))
def test_the_rule_can_be_broken(check: Check, name: str, text: str):
    planted = parse(name, PACKAGE / f"{name.replace('.', '/')}.py", text)
    assert check([planted]), f"{check.__name__} does not see a planted offender"


def test_exceptions_are_still_needed():
    long = {m.name for m in modules() if m.lines > MAX_LINES}
    stale = sorted(set(LONGER_FOR_A_REASON) - long)
    assert not stale, f"no longer over {MAX_LINES} lines, take them off the list: {stale}"


def test_every_place_is_taken_once():
    """A module that is gone, or one listed in two layers, makes the list say what is not so."""
    there = {m.name.partition(".")[0] for m in modules()}
    listed = [name for _, members in LAYERS for name in members]
    gone = sorted(set(listed) - there)
    twice = sorted({name for name in listed if listed.count(name) > 1})
    assert not gone, f"no such module, take it off the list: {gone}"
    assert not twice, f"listed in two layers: {twice}"


def test_every_door_is_declared():
    """A library that pyproject.toml does not name works only by luck."""

    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    named = [*project["dependencies"], *(line for extra in extras for line in extra)]
    declared = {name.split(">")[0].split("[")[0].split("<")[0].strip().replace("-", "_") for name in named}
    carried = {"urllib3": "requests", "markupsafe": "jinja2", "pydantic_core": "pydantic"}
    undeclared = {lib for lib in (*DOORS, *EVERYWHERE) if carried.get(lib, lib) not in declared}
    assert not undeclared, f"imported but not declared: {sorted(undeclared)}"
