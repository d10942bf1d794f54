"""What a posting leaves for the next one says the same changes as the whole posting."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from advisor.cli import run

NOW, LATER = "2026-04-25T17:00:00Z", "2026-04-25T18:00:00Z"
BEFORE = "METAR XBRK 251653Z 22008KT 10SM CLR 25/05 A3000"
AFTER = "METAR XBRK 251753Z 31024G36KT 1SM TSRA BKN009CB 25/24 A3000"


def changes(out: Path, reports: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    reports.write_text(AFTER, "utf-8")
    capsys.readouterr()
    assert run(["morning", "XBRK", "--from-file", str(reports), "--out", str(out), "--now", LATER]) == 0
    (field,) = json.loads((out / "morning.json").read_text("utf-8"))["stations"]
    return list(field["changes"])


@pytest.mark.parametrize("spoil", ["missing", "damaged", "another posting's"])
def test_the_short_form_tells_what_the_whole_tells(spoil: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    reports, found = tmp_path / "r.txt", []
    for name in ("short", "whole"):
        out = tmp_path / name
        reports.write_text(BEFORE, "utf-8")
        assert run(["morning", "XBRK", "--from-file", str(reports), "--out", str(out), "--now", NOW]) == 0
        kept = out / "morning-last.json"
        assert json.loads(kept.read_text("utf-8"))["of_bytes"] == (out / "morning.json").stat().st_size
        if name == "whole":
            if spoil == "missing":
                kept.unlink()
            else:
                kept.write_text("[" if spoil == "damaged" else '{"of_bytes": 1, "stations": 7}', "utf-8")
        found.append(changes(out, reports, capsys))
    assert found[0] == found[1]
    assert any("wind 8 to 24 kt" in x for x in found[0])
    assert any(x.startswith("block ") for x in found[0])
    assert any(x.startswith("new: ") for x in found[0])
