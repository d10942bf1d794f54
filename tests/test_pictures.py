"""The README's pictures are of today's pages."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.tools.pictures import FOLDER, HASHES, PICTURES, Picture, digest, page

README = Path(__file__).parent.parent / "README.md"


@pytest.mark.parametrize("picture", PICTURES, ids=lambda p: p.name)
def test_a_picture_is_of_the_page_as_it_is_now(picture: Picture) -> None:
    assert digest(page(picture)) == json.loads(HASHES.read_text("utf-8"))[picture.name], (
        "stale: run python -m tests.tools.pictures"
    )


@pytest.mark.parametrize("picture", PICTURES, ids=lambda p: p.name)
def test_a_picture_is_there_and_shown(picture: Picture) -> None:
    file = FOLDER / f"{picture.name}.png"
    assert file.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert f"fixtures/pictures/{picture.name}.png" in README.read_text("utf-8")
