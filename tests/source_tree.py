"""The package's own source, parsed once, for the tests that check conventions rather than results."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "advisor"


@dataclass(frozen=True)
class Module:
    """One module of the package: dotted name under ``advisor``, text and syntax tree."""

    name: str  # "flight.turns"; the package itself is ""
    path: Path
    text: str
    tree: ast.Module

    @property
    def lines(self) -> int:
        return self.text.count("\n")

    def where(self, node: ast.AST) -> str:
        return f"{self.path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"


@dataclass(frozen=True)
class Import:
    """One imported name: ``target`` is dotted and absolute; ``lazy`` when it stands inside a function."""

    target: str
    lazy: bool
    node: ast.AST


def parse(name: str, path: Path, text: str) -> Module:
    return Module(name, path, text, ast.parse(text, filename=str(path)))


@lru_cache(maxsize=1)
def modules() -> tuple[Module, ...]:
    """Every module of the package, by path."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = list(path.relative_to(PACKAGE).with_suffix("").parts)
        if parts[-1] == "__init__":
            parts.pop()
        found.append(parse(".".join(parts), path, path.read_text("utf-8")))
    return tuple(found)


def under(*prefixes: str) -> list[Module]:
    """Modules with one of the names, or below one of them."""
    return [m for m in modules() if any(m.name == p or m.name.startswith(p + ".") for p in prefixes)]


def imports(module: Module) -> list[Import]:
    """Every import of a module, lazy ones included; those for the type checker only are left out."""
    found: list[Import] = []

    def visit(node: ast.AST, lazy: bool) -> None:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            for child in node.orelse:
                visit(child, lazy)
            return
        if isinstance(node, ast.Import):
            found.extend(Import(alias.name, lazy, node) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                raise AssertionError(f"{module.where(node)}: write the relative import out in full")
            found.extend(Import(f"{base}.{alias.name}", lazy, node) for alias in node.names)
        inside = lazy or isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
        for child in ast.iter_child_nodes(node):
            visit(child, inside)

    visit(module.tree, False)
    return found


def docstring_nodes(tree: ast.Module) -> set[int]:
    """Identities of the constant nodes that are docstrings."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and node.body:
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                found.add(id(first.value))
    return found
