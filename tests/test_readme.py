"""README holds to the code: the generated table, the two commands, the Python example, the commands it names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from advisor.cli import COMMANDS
from advisor.words import find_approval_words
from tests.tools.readme import rendered

ROOT = Path(__file__).parent.parent
TEXT = (ROOT / "README.md").read_text("utf-8")


def test_generated_blocks_are_fresh() -> None:
    assert rendered(TEXT) == TEXT, "run: python -m tests.tools.readme"


def test_opens_with_one_paragraph_stating_the_job() -> None:
    first = TEXT.split("\n\n")[1]
    for word in ("student", "instructor", "dispatch desk", "METAR", "The instructor decides"):
        assert word in first


@pytest.mark.parametrize("name", ["run", "test"])
def test_each_command_is_one_line_that_sets_itself_up(name: str) -> None:
    match = re.search(rf"<!-- command: {name} -->\n```sh\n(.*?)\n```", TEXT, re.S)
    assert match is not None
    assert "\n" not in match[1]
    assert match[1].startswith("python3 -m venv .venv && ")


def test_the_python_example_runs(capsys: pytest.CaptureFixture[str]) -> None:
    code = re.search(r"```python\n(.*?)```", TEXT, re.S)
    assert code is not None
    space: dict[str, object] = {}
    exec(compile(code[1], "README.md", "exec"), space)
    assert "instructor must release you" in capsys.readouterr().out
    assert len(space["frame"]) > 0  # type: ignore[arg-type]


def test_every_command_named_exists_and_every_command_is_named() -> None:
    named = set(re.findall(r"`advisor ([a-z]+)", TEXT))
    assert named == set(COMMANDS)


def test_no_approval_words() -> None:
    assert not find_approval_words(TEXT)
