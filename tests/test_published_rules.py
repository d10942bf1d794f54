"""Published rules and limits that are no formula: each row of the check table is held by our data, or says why it is not ours.

Values, sources and ids come from ``shared/published_values.csv``; formulas are in ``test_geometry_published``, report
codings in the decoders' tests. A row that is neither held here nor listed with a reason fails the first test.
"""

from __future__ import annotations

import csv
import json
import re
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from advisor import units
from advisor.aircraft import shipped
from advisor.card.lines import PATTERN_BEYOND_FT, RECTANGLE_OFFSET_FT
from advisor.demo import load_demo
from advisor.limits import table
from advisor.places import sun
from advisor.reports.airports import airport_record
from advisor.reports.answers import row_time
from advisor.reports.decode_metar import decode_metar
from advisor.reports.fetch import ALOFT_CYCLES, ALOFT_REGIONS, Service
from advisor.reports.identity import METAR
from advisor.reports.live import MOST_WITH_HISTORY, SHORT_HOURS
from advisor.rules.registry import Level, find_rule
from tests import test_geometry_published
from tests.fields import conditions
from tests.loopback import Loopback, Reply

ROOT = Path(__file__).parent.parent
ROWS = {
    row["id"]: row for row in csv.DictReader((ROOT / "shared" / "published_values.csv").read_text("utf-8").splitlines())
}
#: Topics that another test walks row by row.
ELSEWHERE = {
    **dict.fromkeys(test_geometry_published.HOW, "test_geometry_published"),
    **dict.fromkeys(("rect_course_turn", "rect_course_bank", "power_law"), "test_geometry_published"),
    **dict.fromkeys(("metar_decode", "metar_group"), "test_metar_published"),
    **dict.fromkeys(("taf_decode", "taf_group"), "test_decode_taf"),
    "fb_winds": "test_decode_aloft",
}
#: Single rows that another test names.
HELD_ELSEWHERE = {"CV278": "test_taf_timeline", "CV356": "test_geometry_published"}
#: Rows that nothing of ours rests on, each with the reason.
NOT_OURS = {
    "CV121": "half the gust is an approach-speed habit, not one of ground-reference work; no approach speed is printed",
    "CV192": "contradicted by CV194, which is read for caution",
    "CV200": "no lesson is flown at 10,000 ft",
    "CV205": "no lesson is flown at 10,000 ft",
    "CV211": "cross-country rules; lessons stay in the school's practice areas",
    **dict.fromkeys(
        (r["id"] for r in ROWS.values() if r["topic"] == "flight_category"),
        "no page prints a flight category: the solo visibility of 61.89 binds where a category would not",
    ),
    "CV228": "steep turns are no ground-reference lesson",
    "CV230": "approach speeds are the aircraft handbook's; none is printed",
    "CV235": "the steep spiral is no ground-reference lesson",
    "CV279": "other countries and the military use BECMG and PROB40 too, and all are read",
    "CV280": "PROB30 and PROB40 count alike, as possible",
    "CV343": "a PROB30 in the first nine hours is read all the same",
    "CV281": "how a station finds a gust; what is printed is taken as printed",
    "CV287": "how a station decides on the remark; what is printed is taken as printed",
    "CV296": "voice broadcasts are not read; every direction printed says true or magnetic",
    "CV326": "background to the height-wind bands: nothing is computed from the top of the layer",
    "CV327": "one place's gust factor; no gust is made up where none is reported",
    "CV333": "the raw text is decoded, not the service's cloud bases",
    "CV334": "the raw text is decoded, not the service's visibility",
    "CV335": "the raw text is decoded, not the service's visibility",
    "CV371": "currency with passengers; lessons end at sunset, before either night begins",
}


def expected(ident: str) -> float:
    return float(ROWS[ident]["expected"])


def c_of_f(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def fixed(name: str) -> float:
    return float(table()["fixed"][name]["value"])


def test_every_published_row_is_held_by_a_test_or_says_why_not() -> None:
    text = Path(__file__).read_text("utf-8")
    tests = text[text.index("def test_demonstrated") :]
    loose = [
        i for i, row in ROWS.items()
        if row["topic"] not in ELSEWHERE and i not in NOT_OURS and i not in HELD_ELSEWHERE and f'"{i}"' not in tests
    ]  # fmt: skip
    assert loose == []
    assert [i for i in NOT_OURS if f'"{i}"' in tests] == []
    assert set(NOT_OURS) | set(HELD_ELSEWHERE) <= set(ROWS)
    for ident, module in HELD_ELSEWHERE.items():
        assert ident in (ROOT / "tests" / f"{module}.py").read_text("utf-8"), ident
    for topic, module in ELSEWHERE.items():
        assert any(row["topic"] == topic for row in ROWS.values()), topic
        assert "published_values.csv" in (ROOT / "tests" / f"{module}.py").read_text("utf-8")


def test_demonstrated_crosswind_is_never_below_the_certification_floor() -> None:
    share = expected("CV120") / 49.0  # the row's Vso
    for craft in (*shipped().values(), *load_demo().school.aircraft):
        assert craft.demonstrated_crosswind_kt >= share * craft.stall_kcas, craft.name


def test_carburettor_ice_is_said_where_it_was_charted() -> None:
    warmest_c = c_of_f(expected("CV190"))
    assert fixed("carb_ice_high_c") == pytest.approx(warmest_c, abs=0.5)
    given = re.fullmatch(r"t_f=(\d+) td_f=(\d+)", ROWS["CV194"]["inputs"])
    assert given
    air, dew = (c_of_f(float(x)) for x in given.groups())
    table_ = conditions(f"22008KT 10SM CLR {air:02.0f}/{dew:02.0f} A3000").table
    rows = table_.with_columns(temperature_c=air, dewpoint_c=dew)
    found = _levels(rows, "IC03", "IC04")
    assert max(found) >= Level.NOTE, ROWS["CV194"]["source"]


def _levels(rows: object, *codes: str) -> list[int]:
    from advisor.limits import make_limits, stage_setup
    from advisor.rules.context import Context
    from tests.day_case import TRAINER
    from tests.fields import field

    context = Context(rows, make_limits((stage_setup("solo"),)), TRAINER, [field()])  # type: ignore[arg-type]
    with np.errstate(invalid="ignore"):
        return [int(np.max(find_rule(code).level(context))) for code in codes]


def test_no_limit_is_looser_than_the_regulation() -> None:
    floors = {name: limit["floor"] for name, limit in table()["limit"].items() if "floor" in limit}
    for ident in ("CV196", "CV197", "CV199", "CV201", "CV203", "CV204"):
        miles, clear = ROWS[ident]["expected"].split(" SM; ")
        assert floors["visibility_sm"] >= float(miles), ROWS[ident]["source"]
        if "/" in clear:
            lesson_height_ft = table()["height_wind"]["lesson_height_ft"]
            assert floors["ceiling_area_ft"] >= lesson_height_ft + float(clear.split("/")[0].split()[0])
    assert floors["visibility_sm"] > expected("CV206"), "special VFR is never counted on"
    assert floors["visibility_sm"] == expected("CV209")
    # by night a student would need five miles: night is a hold whatever the visibility
    rows = conditions("22008KT 10SM CLR 15/05 A3000").table.with_columns(dark=True, visibility_sm=expected("CV210"))
    assert _levels(rows, "DL01") == [Level.STORM]


def test_banks_and_heights_of_the_standards() -> None:
    assert fixed("exit_bank_pylons_deg") == expected("CV233")
    lowest = table()["limit"]["pivotal_height_ft"]["solo"][1]
    assert lowest == expected("CV357")
    assert table()["height_wind"]["lesson_height_ft"] == expected("CV349")  # pattern height, where lessons are flown
    assert f"+/-{fixed('standard_height_ft'):g}" == ROWS["CV225"]["expected"]


def test_distances_of_the_handbooks() -> None:
    low, high = (float(x) for x in ROWS["CV354"]["expected"].split("-"))
    assert low <= RECTANGLE_OFFSET_FT / units.FT_PER_SM <= high
    older = float(ROWS["CV355"]["expected"].split("-")[1])
    assert older <= RECTANGLE_OFFSET_FT / units.FT_PER_SM  # at the edge both texts allow
    assert expected("CV351") <= PATTERN_BEYOND_FT / units.FT_PER_SM


def test_numbers_of_the_observing_handbooks() -> None:
    assert table()["height_wind"]["calm_counts_as_kt"] == expected("CV283")
    assert fixed("swing_deg") == expected("CV286")
    assert fixed("disagree_direction_deg") == expected("CV291")
    kt = re.search(r"mean >=(\d+) kt", ROWS["CV291"]["inputs"])
    assert kt
    assert fixed("disagree_direction_wind_kt") == float(kt[1])


def test_night_begins_at_six_degrees() -> None:
    degrees = re.search(r"sun (\d) deg below", ROWS["CV370"]["expected"])
    assert degrees
    assert -float(degrees[1]) == sun.CIVIL_DEG


def test_the_service_is_asked_as_it_documents() -> None:
    listed = re.search(r"region\(([\w,]+)\), level\(([\w,]+)\), fcst\(([\d,]+)\)", ROWS["CV330"]["expected"])
    assert listed
    assert tuple(listed[1].split(",")) == ALOFT_REGIONS
    assert tuple(listed[3].split(",")) == ALOFT_CYCLES
    record = (ROOT / "fixtures" / "http" / "metar_since_2025_09.json").read_text("utf-8")
    with Loopback(Reply(record)) as server:
        Service(server.url).metars(["XBRK"])
        asked = server.asked[0].query
    words = set(re.findall(r"\w+", ROWS["CV328"]["expected"]))
    assert set(asked) <= words
    assert asked["format"] in words


def test_a_posting_of_a_thousand_fields_stays_inside_the_rate() -> None:
    names = [f"X{a}{b}{c}" for a in "ABCDEFGHIJ" for b in "ABCDEFGHIJ" for c in "ABCDEFGHIJ"]
    assert len(names) > MOST_WITH_HISTORY
    with Loopback(Reply("", 204)) as server:
        service = Service(server.url, sleep=lambda _: None)
        service.metars(names, SHORT_HOURS)
        service.tafs(names)
        assert len(server.asked) + len(ALOFT_CYCLES) <= expected("CV336"), "a minute's worth"


def test_the_gateways_address() -> None:
    with Loopback(lambda asked: Reply("", 404)) as server:
        Service(server.url, gateway_url=server.url).gateway(METAR, ["XBRK"])
        path = server.asked[0].path
    assert ROWS["CV342"]["expected"].endswith(path.replace("XBRK", "{ICAO}"))


def test_a_report_is_dated_by_its_own_time_and_not_by_the_next_hour() -> None:
    found = re.match(r"obsTime=(\d+) \((\d\d):(\d\d)Z\)", ROWS["CV372"]["expected"])
    assert found
    row = {"obsTime": int(found[1]), "reportTime": "2023-11-03T22:00:00.000Z", "rawOb": "KORD 032151Z 23006KT 10SM CLR"}
    assert row_time(row, METAR) == datetime(2023, 11, 3, int(found[2]), int(found[3]), tzinfo=UTC)


def test_a_temperature_that_is_not_there_is_missing_and_not_zero() -> None:
    assert ROWS["CV373"]["expected"].startswith("0")
    found = decode_metar("METAR XBRK 251753Z 22008KT 10SM CLR A3000", datetime(2026, 4, 25, 18, tzinfo=UTC))
    assert found.temperature_c is None
    assert found.dewpoint_c is None


def test_the_airport_record_gives_variation_and_runways() -> None:
    names = re.findall(r"magdec|runways|elev", ROWS["CV374"]["expected"])
    (record,) = json.loads((ROOT / "fixtures" / "http" / "airport.json").read_text("utf-8"))[:1]
    assert set(names) <= set(record)
    read = airport_record(record)
    assert read.runways
    assert airport_record({**record, "magdec": "02E"}).variation_deg == 2.0


def test_swings_and_peaks_are_read_from_the_raw_text() -> None:
    assert "rawOb" in ROWS["CV375"]["expected"]
    raw = "METAR XBRK 251753Z 22012KT 190V260 10SM CLR 15/05 A3000 RMK AO2 PK WND 22034/1740"
    found = decode_metar(raw, datetime(2026, 4, 25, 18, tzinfo=UTC))
    assert (found.wind.varying_from_deg, found.wind.varying_to_deg) == (190, 260)
    assert found.remarks.peak_wind_kt == 34
