"""Nothing a user reads may sound like leave to fly: one list of words, searched for everywhere."""

from __future__ import annotations

import ast

import pytest

from advisor.words import APPROVAL_WORDS, find_approval_words
from tests.source_tree import PACKAGE, ROOT, modules

#: Files that a person reads as they stand, or that become pages.
READ_BY_PEOPLE = sorted(
    {
        *(p for p in (PACKAGE / "data").rglob("*") if p.suffix in (".toml", ".tsv", ".json", ".csv")),
        *(p for p in PACKAGE.rglob("*") if p.suffix in (".html", ".svg", ".j2", ".css", ".js")),
        *ROOT.glob("*.md"),
        *(p for p in (ROOT / "fixtures" / "expected").rglob("*") if p.suffix in (".txt", ".html", ".svg", ".json")),
    }
)
#: Texts that must name the words in order to forbid them.
NAMES_THE_WORDS = frozenset({"words", "DEVELOPERS.md", "CHANGELOG.md"})

SPOKEN = (
    *APPROVAL_WORDS,
    "The day is Cleared for solo work",
    "conditions are good\n  to go",
    "a No go day",
    "it is legal to launch",
    "It was approved.",
    "rating: go",
    "| go | 12 kt |",
    "GO",
    "The verdict is go.",
    "is a go",
)
HARMLESS = (
    "Go around, do not tighten the turn.",
    "GO AROUND",
    "go-around",
    "students go around the point twice",
    "sky clear, clearing turns first, keep clear of cloud",
    "unapproved parts",
    "let the nose go to the left",
    "an illegal group",
    "where did the wind go?",
    "KGOO 251753Z 22012KT",
)


@pytest.mark.parametrize("text", SPOKEN)
def test_an_approval_is_found(text: str):
    assert find_approval_words(text)


@pytest.mark.parametrize("text", HARMLESS)
def test_plain_words_are_let_through(text: str):
    assert find_approval_words(text) == []


def test_a_find_shows_its_place():
    (find,) = find_approval_words("x " * 50 + "you are cleared for it " + "y " * 50)
    assert "you are cleared for it" in find
    assert len(find) < 70


def test_no_string_of_the_package_approves():
    """Every literal and docstring: messages, help, templates in code."""
    offenders = [
        f"{module.where(node)}: {find}"
        for module in modules()
        if module.name not in NAMES_THE_WORDS
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        for find in find_approval_words(node.value)
    ]
    assert not offenders, "approval words:\n" + "\n".join(offenders)


def test_no_file_people_read_approves():
    offenders = [
        f"{path.relative_to(ROOT)}: {find}"
        for path in READ_BY_PEOPLE
        if path.name not in NAMES_THE_WORDS
        for find in find_approval_words(path.read_text("utf-8"))
    ]
    assert not offenders, "approval words:\n" + "\n".join(offenders)


def test_data_files_are_among_those_read():
    assert PACKAGE / "data" / "lessons.toml" in READ_BY_PEOPLE
