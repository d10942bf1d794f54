"""``advisor decode``: order, one answer a report, exit status, the schema's keys, words for each group."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from advisor.cli import cli
from advisor.errors import DecodeError
from advisor.present.explain import explain_metar
from advisor.present.explain_words import visibility_words, weather_words, wind_words
from advisor.reports import schema
from advisor.reports.decode_metar import decode_metar
from advisor.reports.tokens import parse_visibility
from advisor.reports.wind_tokens import parse_wind
from advisor.words import find_approval_words

NOW = datetime(2026, 4, 25, 18, tzinfo=UTC)
A = "METAR XBRK 251753Z AUTO 22012G19KT 190V250 10SM -RA FEW050 BKN080 15/05 A3005 RMK AO2 PK WND 22027/1731 TSNO"
B = "XHLW 251750Z VRB03KT CAVOK 12/M01 Q1021"
T = "TAF XBRK 251730Z 2518/2618 22012KT P6SM SKC PROB30 TEMPO 2520/2522 3SM TSRA BKN030CB"
ALOFT = (
    "FBUS31 KWNO 251400\nFD1US1\nDATA BASED ON 251200Z\n"
    "VALID 251800Z   FOR USE 1400-2100Z. TEMPS NEG ABV 24000\n\n"
    "FT  3000    6000    9000\nABC 2310 2414+08 9900+03\nXYZ              2625-01\n"
)
BAD = "XSND 00000KT 9999"


def run(text: str | bytes, *options: str) -> Result:
    return CliRunner().invoke(cli, ["decode", "--now", "2026-04-25T18:00Z", *options], input=text)


def objects(text: str | bytes, *options: str) -> list[dict[str, Any]]:
    result = run(text, "--format", "jsonl", *options)
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_one_object_a_report_in_order():
    found = objects(f"{A}\n{BAD}\n{T}\n{ALOFT}\n{B}\n")
    assert [(x["kind"], x["station"]) for x in found] == [
        ("metar", "XBRK"),
        ("unknown", None),
        ("taf", "XBRK"),
        ("winds-aloft", "ABC"),
        ("winds-aloft", "XYZ"),
        ("metar", "XHLW"),
    ]
    assert [x["error"] is None for x in found] == [True, False, True, True, True, True]
    assert found[1]["raw"] == BAD
    assert found[1]["error"].endswith(".")


# The keys of the agreed schema, copied from its text: a key that goes missing must fail here.
METAR_KEYS = (
    "kind station observed_at automatic wind visibility_sm visibility_bound ceiling_ft_agl sky ceiling_state "
    "sky_token weather temperature_c dewpoint_c altimeter_inhg remarks not_understood error raw"
)
WIND_KEYS = "state from_deg_true speed_kt gust_kt varying_from_deg varying_to_deg speed_bound gust_bound"
PERIOD_KEYS = "change probability from to wind visibility_sm ceiling_ft_agl sky weather wind_shear not_understood"


def test_metar_object():
    (found,) = objects(A)
    assert set(METAR_KEYS.split()) <= set(found)
    assert set(WIND_KEYS.split()) <= set(found["wind"])
    assert found["observed_at"] == "2026-04-25T17:53:00Z"
    assert found["automatic"] is True
    wind = found["wind"]
    assert (wind["state"], wind["from_deg_true"], wind["speed_kt"], wind["gust_kt"]) == (
        "steady",
        220,
        12,
        19,
    )
    assert (wind["varying_from_deg"], wind["varying_to_deg"], wind["speed_bound"]) == (190, 250, None)
    assert (found["visibility_sm"], found["visibility_bound"]) == (10.0, "at_least")
    assert (found["ceiling_state"], found["ceiling_ft_agl"], found["sky_token"]) == ("at", 8000, None)
    assert found["sky"][1] == {"cover": "BKN", "base_ft_agl": 8000, "cloud_type": None}
    assert found["weather"] == ["-RA"]
    assert (found["temperature_c"], found["dewpoint_c"], found["altimeter_inhg"]) == (15.0, 5.0, 30.05)
    assert found["remarks"]["peak_wind_kt"] == 27
    assert found["remarks"]["peak_wind_at"] == "2026-04-25T17:31:00Z"
    assert found["remarks"]["no_thunder_sensor"] is True
    assert (found["not_understood"], found["error"], found["raw"]) == ([], None, A)


def test_absent_is_null_never_nought():
    (found,) = objects("XBRK 251753Z AUTO /////KT //// ////// ///// Q////")
    numbers = [found[k] for k in ("visibility_sm", "ceiling_ft_agl", "temperature_c", "dewpoint_c", "altimeter_inhg")]
    assert numbers == [None] * 5
    assert [found["wind"][k] for k in ("from_deg_true", "speed_kt", "gust_kt")] == [None] * 3
    assert (found["wind"]["state"], found["ceiling_state"], found["sky_token"]) == (
        "missing",
        "unknown",
        None,
    )
    assert found["sky"] == [{"cover": None, "base_ft_agl": None, "cloud_type": None}]


def test_calm_is_nought_and_not_null():
    (found,) = objects("XBRK 251753Z 00000KT 10SM CLR 00/M00 A3005")
    assert (found["wind"]["state"], found["wind"]["speed_kt"], found["wind"]["from_deg_true"]) == (
        "calm",
        0,
        None,
    )
    assert (found["temperature_c"], found["dewpoint_c"]) == (0.0, 0.0)


def test_taf_object():
    (found,) = objects(T)
    assert (found["issued_at"], found["valid_from"], found["valid_to"], found["cancelled"]) == (
        "2026-04-25T17:30:00Z",
        "2026-04-25T18:00:00Z",
        "2026-04-26T18:00:00Z",
        False,
    )
    base, storm = found["periods"]
    assert set(PERIOD_KEYS.split()) <= set(base)
    assert (base["change"], base["probability"], base["weather"], base["wind"]["speed_kt"]) == (
        "BASE",
        None,
        [],
        12,
    )
    assert (storm["change"], storm["probability"], storm["from"]) == ("TEMPO", 30, "2026-04-25T20:00:00Z")
    assert storm["wind"] is None
    assert (storm["visibility_sm"], storm["ceiling_ft_agl"], storm["weather"]) == (3.0, 3000, ["TSRA"])
    assert storm["sky"] == [{"cover": "BKN", "base_ft_agl": 3000, "cloud_type": "CB"}]


def test_wind_shear_object():
    (found,) = objects("TAF XBRK 251730Z 2518/2618 22012KT P6SM SKC WS020/24045KT")
    assert found["periods"][0]["wind_shear"] == {"height_ft_agl": 2000, "from_deg_true": 240, "speed_kt": 45}


def test_winds_aloft_object():
    first, second = objects(ALOFT)
    assert first["valid_at"] == "2026-04-25T18:00:00Z"
    levels = {level["height_ft_msl"]: level for level in first["levels"]}
    assert (levels[6000]["from_deg_true"], levels[6000]["speed_kt"], levels[6000]["temperature_c"]) == (
        240,
        14,
        8.0,
    )
    assert levels[9000]["light_and_variable"] is True
    assert [level["speed_kt"] for level in second["levels"] if level["height_ft_msl"] == 9000] == [25]


def test_a_report_that_cannot_be_read_has_the_same_keys():
    good, bad = objects(f"{A}\nXBRK 251753Z NIL")
    assert set(good) == set(bad)
    assert bad["kind"] == "metar"
    assert [name for name, value in bad.items() if value is not None] == ["schema", "kind", "error", "raw"]


@pytest.mark.parametrize(
    ("text", "status"),
    [
        (A, 0),
        (f"{BAD}\n{A}", 0),
        (BAD, 1),
        ("", 1),
        ("hello there", 1),
        (T, 0),
        (ALOFT, 0),
        (b"\xff\xfe\x00", 1),
    ],
)
@pytest.mark.parametrize("form", ["text", "jsonl"])
def test_exit_status(text: str, status: int, form: str):
    result = run(text, "--format", form)
    if status == 0:
        assert result.exit_code == 0, result.output
    else:
        # main() turns this into status 1; checked in a real process below
        assert isinstance(result.exception, DecodeError) or result.exit_code == 1


def test_a_real_process_says_why_and_exits_1():
    result = subprocess.run(
        [sys.executable, "-m", "advisor", "decode", "-", "--format", "jsonl"],
        input=BAD,
        text=True,
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert result.returncode == 1
    assert json.loads(result.stdout)["error"]
    assert "could not be read" in result.stderr
    assert "Traceback" not in result.stderr


def test_wrong_use_is_status_2():
    assert run(A, "--kind", "novel").exit_code == 2
    assert run(A, "--format", "xml").exit_code == 2
    assert CliRunner().invoke(cli, ["decode", "no-such-file.txt"]).exit_code == 2


def test_kind_can_be_forced():
    (found,) = objects(T, "--kind", "metar")
    assert (found["kind"], "forecast" in found["error"]) == ("metar", True)
    (found,) = objects("XBRK 251730Z 2518/2618 22012KT P6SM SKC", "--kind", "taf")
    assert (found["kind"], found["error"]) == ("taf", None)
    assert len(objects(ALOFT, "--kind", "winds-aloft")) == 2


def test_a_file_and_the_gateway_date(tmp_path: Path):
    path = tmp_path / "XBRK.TXT"
    path.write_text(f"2019/03/01 00:10\n{A.replace('251753Z', '010010Z')}\n")
    result = CliRunner().invoke(cli, ["decode", str(path), "--format", "jsonl", "--now", "2026-04-25T18:00Z"])
    assert json.loads(result.stdout)["observed_at"] == "2019-03-01T00:10:00Z"


def test_text_explains_each_group():
    text = run(f"{A}\n{T}\n{ALOFT}").stdout
    for words in (
        "XBRK  routine report, automatic, observed 25 Apr 17:53Z",
        "wind from 220 true at 12 kt, gusts to 19 kt, swinging from 190 to 250 true",
        "visibility 10 SM or more",
        "light rain",
        "broken cloud (5-7 eighths), 8,000 ft above the field",
        "ceiling               8,000 ft above the field",
        "15 C, dew point 5 C, spread 10.0 C",
        "30.05 inHg",
        "strongest gust 27 kt from 220 true at 17:31Z",
        "silence does not mean no storm",
        "aerodrome forecast, issued 25 Apr 17:30Z, valid 25 Apr 18:00Z to 26 Apr 18:00Z",
        "probability 30 %",
        "thunderstorm with rain",
        "thunderstorm cloud",
        "6,000 ft MSL          from 240 true at 14 kt, 8 C",
        "light and variable, under 5 kt",
    ):
        assert words in text
    assert not find_approval_words(text)


@pytest.mark.parametrize(
    ("group", "words"), [("RERA", "recent rain"), ("RETS", "recent thunderstorm"), ("WS R22", "wind shear reported")]
)
def test_what_follows_the_pressure_is_explained_too(group: str, words: str):
    """Recent weather and wind shear stand after the pressure (WMO No. 306, FM 15)."""
    lines = run(f"METAR XBRK 251753Z 22012KT 9999 BKN030 15/05 Q1013 {group}").stdout.splitlines()
    assert any(line.split(maxsplit=len(group.split()))[-1] == words for line in lines if group in line), lines


def test_text_names_what_is_missing_and_what_is_not_understood():
    text = run("XBRK 251753Z AUTO 22012XKT //// BKX010 15/05 A3005").stdout
    for words in (
        "wind not understood",
        "22012XKT",
        "BKX010",
        "NOT UNDERSTOOD",
        "visibility missing",
        "not clear",
    ):
        assert words in text
    missing = run("XBRK 251753Z 10SM CLR 15/05 A3005").stdout
    assert "wind missing: not reported, which is not calm" in missing


def test_hostile_text_prints_no_control_characters():
    result = run("\x1b[31mXBRK\x07 251753Z \x1b]0;x\x07 22012KT 10SM\nXSND \u202e00000KT", "--format", "text")
    assert all(c.isprintable() or c == "\n" for c in result.stdout)
    assert result.stdout.isascii()


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("+TSRA", "heavy thunderstorm with rain"),
        ("-SHRA", "light showers of rain"),
        ("VCTS", "thunderstorm nearby (within 5 to 10 miles, not at the field)"),
        ("TS", "thunderstorm"),
        ("BCFG", "patches of fog"),
        ("FZFG", "freezing fog"),
        ("RASN", "rain and snow"),
        ("+FC", "tornado or waterspout"),
        ("FC", "funnel cloud"),
        ("BLSN", "blowing snow"),
        ("-TSRAGR", "light thunderstorm with rain and hail"),
    ],
)
def test_weather_in_words(group: str, words: str):
    assert weather_words(group) == words


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("00000KT", "calm"),
        ("VRB03KT", "wind variable in direction at 3 kt"),
        ("270P49KT", "wind from 270 true at 49 or more kt"),
        ("01005KT", "wind from 010 true at 5 kt"),
        ("27010G//KT", "wind from 270 true at 10 kt, gust printed as missing"),
        ("/////KT", "wind missing: not reported, which is not calm"),
        ("27020G15KT", "wind not understood; no wind is taken from it"),
    ],
)
def test_wind_in_words(group: str, words: str):
    assert wind_words(parse_wind(group)) == words


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("M1/4SM", "visibility less than 0.25 SM"),
        ("9999", "visibility 6.2 SM or more"),
        ("1 1/2SM", "visibility 1.5 SM"),
        ("0800", "visibility 0.5 SM"),
        ("////", "visibility missing: not reported"),
        ("1/0SM", "visibility not understood"),
    ],
)
def test_visibility_in_words(group: str, words: str):
    assert visibility_words(parse_visibility(group.split(), 0)[0]) == words


def test_every_remark_field_is_in_the_schema():
    (found,) = objects(A)
    assert list(found["remarks"]) == [f.name for f in schema.fields(schema.Remarks)]


def test_explanation_shows_every_remark():
    raw = (
        "XBRK 251753Z 22012KT 10SM CLR 15/05 A3005 RMK WSHFT 1715 FROPA PWINO FZRANO $ WND DATA ESTMD "
        "LTG DSNT W TSB40 CB DSNT W VIS 1V3 CIG 005V009 SLP125 DENSITY ALT 1200FT SNOINCR"
    )
    text = explain_metar(decode_metar(raw, NOW))
    for words in (
        "a front went through",
        "does not mean dry",
        "freezing-rain",
        "maintenance",
        "estimated",
        "LTG DSNT W",
        "TSB40",
        "CB DSNT W",
        "varies from 1 to 3 SM",
        "from 500 to 900 ft",
        "1012.5 hPa",
        "density altitude 1,200 ft",
        "SNOINCR",
    ):
        assert words in text


def test_ten_thousand_reports_in_one_call():
    """Far under the time a person waits; the rate itself is measured in tests/benchmarks."""
    text = "\n".join(A.replace("22012G19KT", f"{1 + i % 36:02d}0{5 + i % 20:02d}KT") for i in range(10_000))
    start = time.process_time()
    found = run(text, "--format", "jsonl").stdout.splitlines()
    assert len(found) == 10_000
    assert time.process_time() - start < 12
    assert json.loads(found[37])["wind"]["from_deg_true"] == 20
