"""The catalogue of rules is whole: sections, sources, limits, names, and a rule for every row of the limits."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest

from advisor.commands.rules import explain_rule, limit_lines, rule_json
from advisor.errors import DataFileError, UnknownRule
from advisor.limits import quantities, table
from advisor.rules.registry import FAMILIES, SECTIONS, UNCOUNTED, Rule, all_rules, find_rule, rule
from advisor.sources import sources
from advisor.table import COLUMNS
from advisor.words import find_approval_words

RULES = all_rules()
CODES = {r.code for r in RULES}

#: Each row of the table of limits and the rules that hold it. Rows of the lessons table and of geometry follow.
LIMIT_ROWS = {
    "mean wind": ["WI01"],
    "peak: larger of mean and gust": ["GU01"],
    "peak wind remark of the last hour": ["GU05"],
    "gust spread": ["GU02"],
    "peak 25 or more together with spread 8 or more": ["GU04"],
    "crosswind on the best runway, landing practice": ["XW01"],
    "the same, for the other lessons": ["XW02"],
    "tailwind on the best runway": ["XW03"],
    "ceiling above the ground of the practice area": ["CE01"],
    "ceiling for the pattern": ["CE02"],
    "visibility": ["VS01"],
    "temperature minus dew point": ["FG01"],
    "cold": ["TE01"],
    "heat": ["TE02"],
    "density altitude above field": ["TE03"],
    "VRB of 5 kt or more, or a swing of 60 deg or more": ["WI03"],
    "low-level wind shear group in force, or inversion guess": ["SH01", "SH02"],
    "observation age": ["AG01"],
    "runway unknown": ["XW04", "XW05"],
    "last hour before sunset": ["DL02"],
    "thunder, squall, funnel cloud, freezing rain or drizzle in the hour": ["TS01"],
    "the same within an hour either side": ["TS02"],
    "observed now: VCTS, thunder in the vicinity, lightning": ["TS03"],
    "observed now: distant lightning, CB": ["TS04"],
    "forecast: thunder within 3 h, VCTS, CB; TCU": ["TS05"],
    "thunder anywhere in today's daylight forecast": ["TS06"],
    "lessons: mean wind stop": ["WI02"],
    "lessons: gust-spread stop": ["GU03"],
    "practical radius, planned and exit bank": ["DE02"],
    "high wind over TAS": ["DE01"],
    "pivotal height flying into wind": ["DE03"],
    "stall margin": ["DE04"],
    "an input the rule needs is missing": ["WI04", "GU06", "CE03", "VS02", "XW05", "AG03"],
    "carried temperature, temperature not forecast": ["TE04"],
    "a borrowed report or forecast from over 15 NM or 500 ft": ["BO01"],
    # without a row of their own: defaults of the day cases
    "before sunrise and after sunset": ["DL01"],
    "carburettor-icing band": ["IC03", "IC04"],
    "shifting-wind remark": ["WI06"],
    "report against forecast": ["DI01"],
    "no fresh report": ["AG02"],
    "TSNO": ["TS07"],
    "sensor outages": ["TS07", "AU04"],
    "snow or frost at +2 C or less": ["IC01", "IC02"],
    "tailwind on base": ["XW06"],
}
#: Each row of the table of hazards of the trade.
HAZARD_ROWS = {
    "thunderstorm": ["TS01", "TS02", "TS03", "TS04", "TS05", "TS06"],
    "gust front, outflow, virga": ["WI06", "TS01", "TS05"],
    "low-level wind shear": ["SH01", "SH02"],
    "mechanical turbulence": ["WI01", "GU01"],
    "convective bumps": ["WI08"],
    "fog and mist": ["FG01", "FG02", "FG03", "VS01"],
    "advection fog": ["FG04"],
    "carburettor ice": ["IC03", "IC04"],
    "structural ice": ["IC01", "IC02", "TS01"],
    "frozen surface": ["IC01"],
    "cold": ["TE01"],
    "heat and density altitude": ["TE02", "TE03"],
    "VRB and shifting wind": ["WI03", "WI06"],
    "daylight": ["DL01", "DL02"],
}
#: What the catalogue was asked for besides.
ASKED = {
    "no gust reported does not mean none": ["GU07"],
    "estimated wind": ["WI05"],
    "automatic-station limits": ["AU01", "AU02"],
    "undecoded groups": ["UN01"],
    "missing altimeter setting": ["AU03"],
    "wind building": ["WI07"],
    "forecast expired": ["AG03"],
    "forecast from another station": ["BO01"],
}
#: Limits that no rule compares on its own account, and where they act.
NOT_BY_A_RULE = {
    "exit_bank_pylons_deg": "lesson card",
    "standard_height_ft": "lesson card",
    "standard_speed_kt": "lesson card",
    "pattern_bank_deg": "lesson card",
    "persist_min": "conditions",
    "carried_temperature_min": "conditions",
    "borrow_stop_nm": "prepare",
    "borrow_stop_ft": "prepare",
    "families_for_ask": "engine",
    "page_life_min": "page expiry",
    "next_report_grace_min": "page expiry",
    "pilot_wind_min": "conditions",
}


def test_every_row_has_a_rule_and_every_rule_a_row() -> None:
    named = {c for rows in (LIMIT_ROWS, HAZARD_ROWS, ASKED) for codes in rows.values() for c in codes}
    assert named <= CODES
    assert CODES - named == set()


def test_every_limit_is_used_by_a_rule_that_says_so() -> None:
    used = {name for r in RULES for name in r.uses}
    known = {*quantities(), *table()["fixed"]}
    assert used <= known
    assert known - used == set(NOT_BY_A_RULE)


@pytest.mark.parametrize("r", RULES, ids=lambda r: r.code)
class TestEachRule:
    def test_sections_stand_in_order_and_say_something(self, r: Rule) -> None:
        places = [r.doc.index(section) for section in SECTIONS]
        assert places == sorted(places)
        for section, following in zip(SECTIONS, (*SECTIONS[1:], None), strict=True):
            body = r.doc.split(section, 1)[1]
            body = body.split(following, 1)[0] if following else body
            assert len(body.replace("-", "").split()) >= 2, section
        assert r.title.endswith(".")

    def test_sources_resolve_and_practice_is_named_as_such(self, r: Rule) -> None:
        known = sources()
        assert r.sources
        for key in r.sources:
            assert key in known or key == "design", key
        if "common-practice" in r.sources or "design" in r.sources:
            assert "ommon practice" in " ".join(r.doc.split())

    def test_name_says_what_is_noticed(self, r: Rule) -> None:
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", r.name)
        remedies = {
            "hold",
            "wait",
            "avoid",
            "cancel",
            "reduce",
            "check",
            "ask",
            "stop",
            "stay",
            "no-solo",
            "do-not",
        }
        assert not remedies & set(r.name.split("-"))

    def test_no_approval_words(self, r: Rule) -> None:
        assert find_approval_words(explain_rule(r)) == []

    def test_as_json_and_as_text(self, r: Rule) -> None:
        plain = json.loads(json.dumps(rule_json(r)))
        assert plain["code"] == r.code
        assert plain["worse"] == list(r.worse)
        text = explain_rule(r)
        assert all(section in text for section in SECTIONS)
        for name in r.uses:
            assert any(line.startswith(name) for line in limit_lines(r))

    def test_can_be_found_by_code_and_by_name(self, r: Rule) -> None:
        assert find_rule(r.code.lower()) is r
        assert find_rule(r.name.upper()) is r

    def test_columns_and_families_exist(self, r: Rule) -> None:
        assert r.cites in COLUMNS
        assert r.family in FAMILIES + UNCOUNTED


def test_codes_and_names_are_unique() -> None:
    assert len(CODES) == len(RULES) == len({r.name for r in RULES})


def test_each_family_has_a_bit_of_its_own() -> None:
    bits = [1 << i for i in range(len(FAMILIES))]
    assert max(bits) <= np.iinfo(np.uint16).max
    assert {r.family_bit for r in RULES if r.family in UNCOUNTED} == {0}
    assert {r.family_bit for r in RULES if r.family not in UNCOUNTED} <= set(bits)


def test_an_unknown_rule_is_answered_with_the_known_ones() -> None:
    with pytest.raises(UnknownRule, match="WI01 mean-wind"):
        find_rule("ZZ99")


@pytest.mark.parametrize(
    ("code", "family", "doc", "says"),
    [
        ("WI01", "wind", "full", "taken"),
        ("W1", "wind", "full", "two letters and two digits"),
        ("QQ01", "weather", "full", "unknown"),
        ("QQ01", "wind", "one line", "lacks"),
    ],
)
def test_a_malformed_rule_fails_at_import(code: str, family: str, doc: str, says: str) -> None:
    def level(_: object) -> object:
        return None

    level.__doc__ = doc if doc != "full" else "\n".join(SECTIONS)
    with pytest.raises(DataFileError, match=says):
        rule(code, "made-up", family=family, say=lambda *_: "")(level)  # type: ignore[arg-type]


def test_a_message_has_its_value_its_limits_and_their_unit() -> None:
    """Every rule with a limit by stage prints the figure it found beside the figures of the limit."""
    from advisor.limits import stage_setup
    from tests.fields import cell_at, given, ratings

    reports = [
        "22026G40KT 2SM OVC010 15/05 A3000",
        "04011KT 10SM CLR 41/10 A2980",
        "VRB12KT 4SM BKN020 M16/M18 A3000",
    ]
    seen = set()
    for text in reports:
        found = ratings(given(text), stage_setup("solo"))
        for lesson in (0, 8):
            for c in found.cautions(0, lesson, [cell_at(found, "18:00")]):
                used = [q for q in find_rule(c.code).uses if q in quantities()]
                if used and c.code not in ("WI03", "GU05"):
                    stop = found.limits.pair(used[0], 0)[1]
                    care = found.limits.pair(used[0], 0)[0]
                    assert any(f"{x:,g}" in c.message for x in (care, stop) if np.isfinite(x)), c.message
                    assert re.search(r"\d", c.message), c.message
                    seen.add(c.code)
    assert {"WI01", "GU01", "GU02", "CE01", "CE02", "VS01", "TE01", "TE02", "XW01", "XW02"} <= seen
