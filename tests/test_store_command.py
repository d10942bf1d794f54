"""``advisor store``: what it shows, exports and prunes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from click.testing import CliRunner

from advisor.cli import run
from advisor.commands.store import command
from advisor.reports.store import METAR, TAF, Store
from tests.store_helpers import NOW, metar


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    now = NOW
    folder = tmp_path / "kept"
    texts = [metar("XBRK", now - timedelta(hours=h, minutes=12)) for h in (0, 1, 30)]
    taf_time = now - timedelta(hours=2)
    texts.append(f"TAF XBRK {taf_time:%d%H%M}Z {taf_time:%d%H}/{taf_time + timedelta(days=1):%d%H} 24012KT P6SM SKC")
    Store(folder).put([(t, None) for t in texts], now=now, source="service")
    monkeypatch.setenv("ADVISOR_STORE", str(folder))
    with time_machine.travel(now, tick=False):
        yield folder


def invoke(*args: str) -> str:
    result = CliRunner().invoke(command, args, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_show_everything(kept: Path):
    text = invoke("show")
    assert f"Store: {kept} (0.0 MB of at most 64 MB)" in text
    rows = {tuple(line.split()[:3]) for line in text.splitlines()[2:]}
    assert rows == {("XBRK", METAR, "3"), ("XBRK", TAF, "1")}
    assert text.count("12 minutes") == 1


def test_show_one_station(kept: Path):
    text = invoke("show", "XBRK")
    assert text.count("METAR XBRK") == 2
    assert ", 12 minutes old, service" in text
    assert ", 72 minutes old, service" in text
    assert "TAF XBRK" in text
    assert invoke("show", "XBRK", "--hours", "48").count("METAR XBRK") == 3


def test_show_refuses_with_a_sentence(kept: Path, capsys: pytest.CaptureFixture[str]):
    assert run(["store", "show", "XHLW"]) == 1
    assert "No report of XHLW of the last 6 hours is kept." in capsys.readouterr().err
    assert run(["store", "show", "XBRK", "--hours", "0"]) == 1
    assert "The last METAR kept is 12 minutes old." in capsys.readouterr().err
    assert run(["store", "show", "nonsense"]) == 1
    assert run(["store", "export", "--store", str(kept / "none")]) == 1
    assert "nothing has been fetched" in capsys.readouterr().err
    assert run(["store", "export", "-o", str(kept / "no" / "such.csv")]) == 1
    assert run(["store", "show", "--hours", "soon"]) == 2
    assert run(["store", "prune", "--megabytes", "inf"]) == 2
    assert run(["store", "prune", "--days", "nan"]) == 2


def test_export_and_prune(kept: Path, tmp_path: Path):
    assert invoke("export").count("\nXBRK,") == 3
    out = tmp_path / "x.csv"
    assert "Wrote 2 reports" in invoke("export", "XBRK", "--days", "1", "-o", str(out))
    assert out.read_text().startswith("station,time,raw\nXBRK,")
    assert "Dropped 1 reports; 3 are kept" in invoke("prune", "--days", "1")
    assert "Dropped 3 reports; 0 are kept" in invoke("prune", "--megabytes", "0")
    assert invoke("export") == "station,time,raw\n"


def test_the_folder_option_wins(kept: Path, tmp_path: Path):
    assert "Nothing is kept yet" in invoke("show", "--store", str(tmp_path / "other"))
