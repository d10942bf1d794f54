"""Each rule fires in some case and stays quiet in another, one either side of each limit; the cases are data."""

from __future__ import annotations

import numpy as np
import pytest

from advisor.lessons import lesson_keys
from advisor.rules.registry import Level, all_rules
from tests import rule_cases
from tests.rule_cases import FOLDER, LEVELS, all_series, benches, faults

SERIES = all_series()
RULES = [r.code for r in all_rules()]
#: Rules whose cases set a column or a quantity outright; the road from a report to it is walked by another test.
ELSEWHERE = {
    "BO01": "tests/test_prepare.py: distances and heights",
    "WI07": "tests/test_conditions.py: reports of the last two hours",
}


def _words(code: str) -> set[str]:
    return {w for s in SERIES if s["rule"] == code for by in s["levels"].values() for w in by}


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda p: p.stem)
def test_every_case_of_the_file_is_met(path) -> None:  # type: ignore[no-untyped-def]
    assert [x for x in faults() if x.startswith(path.name)] == []


def test_no_series_is_misspelt() -> None:
    for s in SERIES:
        assert s["rule"] in (*RULES, "possible", "teaching"), s["rule"]
        assert set(s) <= {
            *(
                "rule",
                "about",
                "report",
                "taf",
                "layer",
                "at",
                "now",
                "month",
                "levels",
                "set",
                "given",
                "file",
            ),
            *("aircraft", "lessons", "ends_deg_true", "runways", "runway", "pattern"),
        }, f"{s['rule']} {s['about']}"
        assert set(s.get("lessons", ())) <= set(lesson_keys())


@pytest.mark.parametrize("code", RULES)
def test_rule_fires_in_one_case_and_is_quiet_in_another(code: str) -> None:
    words = _words(code)
    assert "quiet" in words, f"{code}: no case in which it stays quiet"
    assert words - {"quiet"} <= set(LEVELS), words
    assert words - {"quiet"}, f"{code}: no case in which it fires"


@pytest.mark.parametrize("code", RULES)
def test_rule_fires_from_a_report_text_alone(code: str) -> None:
    by_text = [s for s in SERIES if s["rule"] == code and not s.get("given") and not s.get("set")]
    fires = {w for s in by_text for by in s["levels"].values() for w in by} - {"quiet"}
    assert fires or code in ELSEWHERE or code in ("DE02", "DE03", "DE04", "TE03"), code


@pytest.mark.parametrize(
    ("code", "aircraft", "report", "level"),
    [
        # slow and heavy by the stage's planned bank: the demand rules from a report to a level, quantities and all
        ("DE02", (110.0, 48.0), "22024KT", Level.CARE),  # 30 degrees at 113 + 38 kt: about 3,500 ft
        ("DE02", (90.0, 48.0), "22010KT", Level.QUIET),
        ("DE03", (90.0, 48.0), "22016KT", Level.STOP_HIGH),  # day case 24
        ("DE03", (90.0, 48.0), "22008KT", Level.QUIET),
        ("DE04", (70.0, 48.0), "22005G25KT", Level.STOP),  # (70 - 20) / (48 x 1.0746) is 0.97
        ("DE04", (90.0, 48.0), "22011G20KT", Level.QUIET),  # 81 / 51.6 is 1.57
    ],
)
def test_demand_rules_from_the_report(code: str, aircraft: tuple[float, float], report: str, level: Level) -> None:
    from advisor.aircraft import Aircraft
    from advisor.conditions import build_conditions
    from advisor.limits import make_limits, stage_setup
    from advisor.rules.context import Context
    from advisor.rules.registry import find_rule
    from tests.fields import given

    c = build_conditions([given(f"{report} 10SM CLR 15/05 A3000")])
    context = Context(c.table, make_limits((stage_setup("pre-solo"),)), Aircraft("x", *aircraft, 12.0), c.sites)
    found = np.broadcast_to(find_rule(code).level(context), (1, c.table.n))
    assert Level(int(found[0, 0])) is level


def test_the_cases_can_fail() -> None:
    """A case with its level changed is found out, for every rule that has one."""
    for bench in benches().values():
        for key, cases in bench.expect.items():
            stage, row, level, name = cases[0]
            cases[0] = (stage, row, level + 1, name)
            try:
                assert any(x.startswith(name) for x in bench.faults([key[0]])), name
            finally:
                cases[0] = (stage, row, level, name)


def test_templates_are_filled_as_written() -> None:
    assert rule_cases.filled("220{v:02d}G{v+10}KT {v-0.5}", 5) == "22005G15KT 4.5"
