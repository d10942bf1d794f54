"""Fetching when all goes well: what is asked, how, and what comes back; and comparing JSON with the raw
text."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.errors import FetchError
from advisor.reports.airports import airport_record
from advisor.reports.decode_metar import decode_metar
from advisor.reports.fetch import Service, cross_check
from tests.loopback import Asked, Loopback, Reply

HTTP = Path(__file__).resolve().parent.parent / "fixtures" / "http"
NOW = datetime(2026, 4, 25, 13, 5, tzinfo=UTC)


def fixture(name: str) -> str:
    return (HTTP / name).read_text("utf-8")


def rows(name: str) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(fixture(name))
    return found


def answer(asked: Asked) -> Reply:
    """The service and the gateway in good health."""
    files = {
        "/api/data/metar": "metar_since_2025_09.json",
        "/api/data/taf": "taf.json",
        "/api/data/airport": "airport.json",
        "/api/data/stationinfo": "stationinfo.json",
    }
    if asked.path in files:
        return Reply(fixture(files[asked.path]))
    plain = {
        "/api/data/windtemp": "windtemp_us_low_06.txt",
        "/data/observations/metar/stations/XBRK.TXT": "gateway_metar_XBRK.TXT",
        "/data/forecasts/taf/stations/XBRK.TXT": "gateway_taf_XBRK.TXT",
    }
    if asked.path in plain:
        return Reply(fixture(plain[asked.path]), content_type="text/plain")
    return Reply("", 404)


def test_metars_come_raw_by_station_newest_first():
    with Loopback(answer) as server:
        fetched = Service(server.url).metars([" xbrk", "XHLW", "XSND", "XBRK"])
    assert [r.raw[:18] for r in fetched.reports["XBRK"]] == ["METAR XBRK 251253Z", "METAR XBRK 251153Z"]
    assert fetched.reports["XBRK"][0].time == datetime(2026, 4, 25, 12, 53, tzinfo=UTC)
    assert fetched.texts["XHLW"] == ("SPECI XHLW 251235Z AUTO VRB03KT 1/4SM FG VV002 06/06 A2999",)
    assert "XSND" in fetched.texts, "a row without icaoId is known by its raw text"
    report = fetched.report
    assert (report.asked, report.returned, report.missing) == (("XBRK", "XHLW", "XSND"),) * 2 + ((),)
    assert (report.faults, report.requests, report.cut_short) == ([], 1, 0)
    assert report.bytes == len(fixture("metar_since_2025_09.json"))
    (asked,) = server.asked
    assert asked.query == {"ids": "XBRK,XHLW,XSND", "format": "json", "hours": "6"}


def test_the_form_before_september_2025_is_read_too():
    with Loopback(Reply(fixture("metar_before_2025_09.json"))) as server:
        fetched = Service(server.url).metars(["XBRK"])
    (report,) = fetched.reports["XBRK"]
    assert report.raw.startswith("XBRK 251253Z 24011KT")
    assert report.time == datetime(2026, 4, 25, 12, 53, tzinfo=UTC)


def test_a_report_of_last_month_is_dated_by_the_service():
    """The raw text says only the 25th; obsTime says which."""
    when = int(datetime(2026, 3, 25, 12, 53, tzinfo=UTC).timestamp())
    row = {**rows("metar_since_2025_09.json")[0], "obsTime": when}
    with Loopback(Reply(json.dumps([row]))) as server:
        (report,) = Service(server.url).metars(["XBRK"]).reports["XBRK"]
    assert report.time == datetime(2026, 3, 25, 12, 53, tzinfo=UTC)


def test_a_correction_comes_before_what_it_corrects():
    row = rows("metar_since_2025_09.json")[0]
    right = {
        **row,
        "rawOb": str(row["rawOb"]).replace("METAR XBRK", "METAR COR XBRK").replace("24011", "24012"),
    }
    for order in ([row, right], [right, row]):
        with Loopback(Reply(json.dumps(order))) as server:
            first, _ = Service(server.url).metars(["XBRK"]).texts["XBRK"]
        assert " COR " in first


def test_a_forecast_keeps_its_text():
    with Loopback(answer) as server:
        fetched = Service(server.url).tafs(["XBRK", "XSND"])
    (report,) = fetched.reports["XBRK"]
    assert report.raw == rows("taf.json")[0]["rawTAF"]
    assert report.time == datetime(2026, 4, 25, 11, 20, tzinfo=UTC)
    assert fetched.report.missing == ("XSND",)
    assert [a.query["ids"] for a in server.asked] == ["XBRK,XSND", "XSND"]


def test_a_bulletin_keeps_its_lines():
    with Loopback(answer) as server:
        fetched = Service(server.url).winds_aloft("us", "low", "06")
    assert fetched.texts == {"us-low-06": (fixture("windtemp_us_low_06.txt"),)}
    assert server.asked[0].query == {"region": "us", "level": "low", "fcst": "06"}


def test_the_gateway_is_read():
    with Loopback(answer) as server:
        service = Service("http://127.0.0.1:9", server.url)
        metar, taf = service.gateway("metar", ["XBRK", "XHLW"]), service.gateway("taf", ["XBRK"])
    assert metar.texts == {"XBRK": (fixture("gateway_metar_XBRK.TXT").splitlines()[1],)}
    assert metar.reports["XBRK"][0].time == datetime(2026, 4, 25, 12, 53, tzinfo=UTC)
    assert (metar.report.missing, metar.report.unreached, metar.report.faults) == (("XHLW",), (), [])
    assert taf.texts["XBRK"][0] == rows("taf.json")[0]["rawTAF"], "three lines become one"


def test_the_service_knows_who_asks(monkeypatch: pytest.MonkeyPatch):
    import advisor

    with Loopback(answer) as server:
        Service(server.url).metars(["XBRK"])
        Service(server.url, contact="desk@example.org\r\nX-Evil: 1").metars(["XBRK"])
        monkeypatch.setenv("ADVISOR_CONTACT", "https://example.org")
        Service(server.url).metars(["XBRK"])
    name = f"practice-day-advisor/{advisor.__version__}"
    assert [a.headers["user-agent"] for a in server.asked] == [
        name,
        f"{name} (+desk@example.orgX-Evil: 1)",
        f"{name} (+https://example.org)",
    ]
    assert "x-evil" not in server.asked[1].headers


def test_addresses_come_from_the_environment(monkeypatch: pytest.MonkeyPatch):
    with Loopback(answer) as server:
        monkeypatch.setenv("ADVISOR_SERVICE_URL", server.url + "/")
        monkeypatch.setenv("ADVISOR_GATEWAY_URL", server.url)
        service = Service()
        assert "XBRK" in service.metars(["XBRK"]).texts
        assert "XBRK" in service.gateway("metar", ["XBRK"]).texts
    assert [a.path for a in server.asked] == ["/api/data/metar", "/data/observations/metar/stations/XBRK.TXT"]


@pytest.mark.parametrize(
    "url",
    ["file:///etc/passwd", "ftp://example.org", "example.org", "https://", "http://[::1", "http://127.0.0.1:99999"],
)
def test_only_web_addresses_are_taken(url: str):
    with pytest.raises(FetchError, match="is no web address for a weather service"):
        Service(url)


def test_requests_is_loaded_only_to_fetch():
    code = (
        "import sys, advisor.reports.fetch as f; f.Service(); print('requests' in sys.modules, 'numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split() == ["False", "False"]


# -- station and airport records ----------------------------------------------------------------------------


def test_an_airport_record():
    with Loopback(answer) as server:
        record = airport_record(Service(server.url).airports(["XBRK"])["XBRK"])
    assert (record.station, record.variation_deg) == ("XBRK", 2.0)
    assert record.elevation_ft == pytest.approx(951.44, abs=0.01)  # 290 m
    assert [(r.ends, r.true_deg, r.length_ft, r.width_ft) for r in record.runways] == [
        (("06", "24"), 61.0, 4200, 75),
        (("15L", "33R"), 152.0, 2600, 150),
    ], "a helipad is no runway"


def test_a_station_record():
    with Loopback(answer) as server:
        records = Service(server.url).stations(["XHLW"])
    record = airport_record(records["XHLW"])
    assert (record.name, record.runways, record.variation_deg) == ("Hollow Field (made up)", (), None)


@pytest.mark.parametrize(
    ("changes", "attribute", "value"),
    [
        ({"magdec": "11W"}, "variation_deg", -11.0),
        ({"magdec": "0E"}, "variation_deg", 0.0),
        ({"magdec": ""}, "variation_deg", None),
        ({"magdec": 2}, "variation_deg", None),
        ({"magdec": "200E"}, "variation_deg", None),
        ({"elev": None}, "elevation_ft", None),
        ({"runways": None}, "runways", ()),
        ({"runways": [{"id": "1/19", "alignment": "x", "dimension": "y"}]}, "runways", ("01", "19")),
        ({"runways": [{"id": "1L/19R", "alignment": "x", "dimension": "y"}]}, "runways", ("01L", "19R")),
        ({"runways": [{"id": "40/58"}, {"id": None}, "x"]}, "runways", ()),
    ],
)
def test_odd_airport_records(changes: dict[str, object], attribute: str, value: object):
    record = airport_record({**rows("airport.json")[0], **changes})
    found = getattr(record, attribute)
    if attribute == "runways" and value:
        (runway,) = found
        assert (runway.ends, runway.true_deg, runway.length_ft) == (value, None, None)
    else:
        assert found == value


@pytest.mark.parametrize("changes", [{"lat": None}, {"lat": 91}, {"lon": "east"}, {"lon": float("nan")}])
def test_an_airport_without_a_position_is_refused(changes: dict[str, object]):
    with pytest.raises(FetchError, match="record of XBRK has no usable position"):
        airport_record({**rows("airport.json")[0], **changes})


# -- the JSON beside the raw text ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["metar_since_2025_09.json", "metar_before_2025_09.json"])
def test_a_record_that_agrees_says_nothing(name: str):
    for row in rows(name):
        assert cross_check(row, decode_metar(str(row["rawOb"]), NOW)) == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"icaoId": "XHLW"}, "station: the service's table says XHLW, the report itself reads XBRK"),
        (
            {"obsTime": 1777118400},
            "time: the service's table says 25 1200Z, the report itself reads 25 1253Z",
        ),
        ({"wspd": 10}, "wind speed kt: the service's table says 10, the report itself reads 11"),
        ({"wgst": 28}, "gust kt: the service's table says 28, the report itself reads 18"),
        ({"wdir": 60}, "wind direction: the service's table says 60, the report itself reads 240"),
        ({"wdir": "VRB"}, "wind direction: the service's table says VRB, the report itself reads 240"),
        ({"visib": 3}, "visibility SM: the service's table says 3, the report itself reads 10"),
        ({"temp": 12.7}, "temperature C: the service's table says 12.7, the report itself reads 11.7"),
        ({"dewp": 0}, "dew point C: the service's table says 0, the report itself reads 3.3"),
        ({"altim": 1023.2}, "altimeter hPa: the service's table says 1023.2, the report itself reads 1013.2"),
        ({"clouds": [{"cover": "BKN", "base": 4500}]}, "cloud: the service's table says"),
        (
            {"vertVis": 200},
            "vertical visibility ft: the service's table says 200, the report itself reads nothing",
        ),
        ({"wxString": "-RA"}, "weather: the service's table says -RA, the report itself reads nothing"),
    ],
)
def test_a_record_that_differs_is_said(changes: dict[str, object], words: str):
    row = rows("metar_since_2025_09.json")[0]
    (found,) = cross_check({**row, **changes}, decode_metar(str(row["rawOb"]), NOW))
    assert found.startswith(f"XBRK {words}")
    assert found.endswith("; the report counts.")


def test_a_gust_the_table_lacks_is_said():
    row = dict(rows("metar_since_2025_09.json")[0])
    del row["wgst"]
    (found,) = cross_check(row, decode_metar(str(row["rawOb"]), NOW))
    assert found.startswith("XBRK gust kt: the service's table says no gust, the report itself reads 18")


def test_a_floor_below_which_the_report_lies_is_said():
    row = rows("metar_since_2025_09.json")[2]
    (found,) = cross_check({**row, "visib": "6+"}, decode_metar(str(row["rawOb"]), NOW))
    assert "visibility SM: the service's table says 6+, the report itself reads 0.25" in found


def test_absent_keys_are_not_compared():
    raw = str(rows("metar_since_2025_09.json")[0]["rawOb"])
    assert cross_check({"rawOb": raw}, decode_metar(raw, NOW)) == []
    assert cross_check(dict.fromkeys(rows("metar_before_2025_09.json")[0]), decode_metar(raw, NOW)) == []


def test_a_table_full_of_rubbish_raises_nothing():
    raw = str(rows("metar_since_2025_09.json")[0]["rawOb"])
    metar = decode_metar(raw, NOW)
    for value in ("x", [], {}, float("nan"), True, -1, "\x1b[31m", 10**400, [None, 3, {"base": "x"}]):
        record = {key: value for row in rows("metar_since_2025_09.json") for key in row}
        assert all(line.isprintable() for line in cross_check(record, metar))


def test_real_answers_agree_with_our_decode(reports_dir: Path):
    """Recorded answers of the public service: every difference would be an error of ours or of theirs."""
    files = sorted((reports_dir / "service_responses").glob("metar_*.json"))
    if not files:
        pytest.skip("the folder has no recorded service answers")
    for path in files:
        for row in json.loads(path.read_text("utf-8")):
            near = datetime.fromtimestamp(row["obsTime"], UTC)
            assert cross_check(row, decode_metar(row["rawOb"], near)) == [], path.name
