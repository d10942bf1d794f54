"""``advisor day`` against a service on the loopback: live, then the network gone, then offline from the store."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.cli import run
from tests.loopback import Asked, Loopback, Reply, unused_url

NOW = "2026-04-25T18:00:00Z"
METAR = "METAR KLNK 251754Z 18010KT 10SM FEW050 15/05 A3005"
TAF = "TAF KLNK 251730Z 2518/2618 18010KT P6SM SCT050"


def answer(asked: Asked) -> Reply:
    """A METAR and a TAF of one station; nothing for anybody else, and no winds aloft."""
    at = int(datetime(2026, 4, 25, 17, 54, tzinfo=UTC).timestamp())
    if asked.path.endswith("/metar") and "KLNK" in asked.query.get("ids", ""):
        return Reply(json.dumps([{"icaoId": "KLNK", "obsTime": at, "rawOb": METAR}]))
    if asked.path.endswith("/taf") and "KLNK" in asked.query.get("ids", ""):
        row = {"icaoId": "KLNK", "issueTime": "2026-04-25T17:30:00.000Z", "rawTAF": TAF}
        return Reply(json.dumps([row]))
    return Reply(status=204)


def ask(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str, str]:
    status = run(["day", "KLNK", "--stage", "pre-solo", *more])
    out = capsys.readouterr()
    return status, " ".join(out.out.split()), out.err


def test_live_then_the_store_with_its_real_age(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ADVISOR_STORE", str(tmp_path))
    with Loopback(answer) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        monkeypatch.setenv("ADVISOR_GATEWAY_URL", server.url)
        status, page, err = ask(capsys, "--now", NOW)
        assert status == 0, err
        assert "6 minutes old" in page
        assert METAR in page
        assert all(a.headers["user-agent"].startswith("practice-day-advisor/") for a in server.asked)
    dead = unused_url()
    monkeypatch.setenv("ADVISOR_SERVICE_URL", dead)
    monkeypatch.setenv("ADVISOR_GATEWAY_URL", dead)
    status, page, err = ask(capsys, "--now", "2026-04-25T18:40:00Z")
    assert status == 0, err
    assert "46 minutes old" in page
    assert "could not be reached" in page
    status, page, err = ask(capsys, "--offline", "--now", "2026-04-25T20:10:00Z")
    assert status == 0, err
    assert "136 minutes old" in page
    assert "counts as missing and the forecast stands alone" in page


def test_nothing_anywhere_is_a_refusal_that_names_what_failed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ADVISOR_STORE", str(tmp_path))
    monkeypatch.setenv("ADVISOR_SERVICE_URL", unused_url())
    monkeypatch.setenv("ADVISOR_GATEWAY_URL", unused_url())
    status, page, err = ask(capsys, "--now", NOW)
    assert status == 1
    assert not page
    assert "nothing is rated" in err
    assert "could not be reached" in err
