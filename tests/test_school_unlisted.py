"""A starter school file for a field that only the weather service knows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from advisor.cli import run
from advisor.commands.school_starter import starter_text
from advisor.errors import UnknownStation
from advisor.school import parse_school
from tests.loopback import Answerer, Asked, Loopback, Reply

HTTP = Path(__file__).parent.parent / "fixtures" / "http"
NO_CONTENT = Reply(b"", 204)


def answering(**records: list[dict[str, Any]]) -> Answerer:
    """The service with these rows at /api/data/airport or stationinfo for XBRK, and nothing else."""

    def answer(asked: Asked) -> Reply:
        rows = records.get(asked.path.rsplit("/", 1)[-1])
        return NO_CONTENT if rows is None else Reply(json.dumps(rows))

    return answer


def record(**changes: Any) -> dict[str, Any]:
    row: dict[str, Any] = json.loads((HTTP / "airport.json").read_text("utf-8"))[0]
    return row | changes


def test_a_field_of_no_list_is_asked_of_the_service(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    """The record says 290 m, 02E, and three runways, one of them a helipad (``H1``)."""
    with Loopback(answering(airport=[record()])) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        assert run(["school", "new", "XBRK"]) == 0
    text = capsys.readouterr().out
    assert "# Field data: the weather service's own record." in text
    assert 'time_zone = "UTC"  # not in that record: put the field\'s own' in text
    (field,) = parse_school(text).stations
    assert (field.station.station, field.station.latitude_deg, field.station.longitude_deg) == ("XBRK", 41.5, -93.5)
    assert field.station.elevation_ft == pytest.approx(290 / 0.3048, abs=0.5)
    ends = {e.name: e.bearing_deg_true for e in field.runway_ends or ()}
    assert ends == {"06": 61.0, "24": 241.0, "15L": 152.0, "33R": 332.0}
    assert not any(e.bearing_estimated for e in field.runway_ends or ())


def test_a_runway_without_a_direction_takes_its_number_and_the_variation(monkeypatch: pytest.MonkeyPatch) -> None:
    """Runway 06 in 2 degrees east: about 062 true, and the file says that it is an estimate."""
    bare = {"id": "06/24", "dimension": "4200x75", "surface": "A", "alignment": "-"}
    unsized = {"id": "15/33", "dimension": "-", "surface": "T", "alignment": "152"}
    with Loopback(answering(airport=[record(runways=[bare, unsized])])) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        text = starter_text("XBRK", ask=True)
    ends = parse_school(text).stations[0].runway_ends or ()
    assert {e.name: (e.bearing_deg_true, e.bearing_estimated) for e in ends} == {
        "06": (62.0, True),
        "24": (242.0, True),
    }


def test_a_weather_station_without_an_airport_is_taken_too(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = json.loads((HTTP / "stationinfo.json").read_text("utf-8"))
    with Loopback(answering(stationinfo=[rows[0] | {"icaoId": "XBRK"}])) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        text = starter_text("XBRK", ask=True)
    assert "# No runway is known here. Describe each one:" in text
    assert parse_school(text).stations[0].station.elevation_ft == pytest.approx(310 / 0.3048, abs=0.5)


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (NO_CONTENT, "has no record of it either"),
        (answering(airport=[record(elev=None)]), "has no elevation"),
        (answering(airport=[record(lat=None)]), "no usable position"),
        (Reply("<html>sign in</html>", content_type="text/html"), "weather service"),
    ],
)
def test_what_the_service_cannot_say_is_said(
    answer: Reply | Answerer, why: str, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    with Loopback(answer) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        assert run(["school", "new", "XBRK"]) == 1
    said = capsys.readouterr()
    assert "No station 'XBRK' is known." in said.err
    assert why in said.err
    assert said.out == ""


def test_offline_and_a_listed_field_ask_nobody(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    with Loopback(answering(airport=[record()])) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url)
        assert run(["school", "new", "XBRK", "--offline"]) == 1
        assert run(["school", "new", "KBDU"]) == 0
        assert server.asked == []
    with pytest.raises(UnknownStation):
        starter_text("QQQQ")
