"""The two-hour landing forecast after a report (ICAO Annex 3 trend): it may lower a rating and never lifts one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from advisor.advice import PracticeDay, practice_days
from advisor.lessons import lesson_keys
from advisor.limits import STAGES, stage_setup
from advisor.rules.registry import Suitability
from advisor.segments import observation_segment, trend_segments
from advisor.table import Layer
from tests.day_case import TRAINER, clock
from tests.fields import conditions, given
from tests.metar_agreement import read_raw

FAIR = "22008KT 9999 SCT040 18/05 Q1013"
SETUPS = tuple(stage_setup(s) for s in STAGES)


def day(report: str, taf: str | None = None) -> PracticeDay:
    return practice_days([given(report, taf)], SETUPS, TRAINER)[0]


def rated(report: str, stage: str, lesson: str, taf: str | None = None) -> str:
    suit = day(report, taf).ratings.suitability
    return Suitability(int(suit[STAGES.index(stage), lesson_keys().index(lesson), 0])).words


@pytest.mark.parametrize(
    ("trend", "pre_solo", "solo"),
    [
        # the caps of a TEMPO: a storm stops all, another stop asks first with an instructor and holds alone
        ("TEMPO 3000 TSRA SCT030CB", "hold", "hold"),
        ("PROB30 TEMPO 3000 TSRA", "hold", "hold"),
        ("TEMPO 22025G38KT", "ask first", "hold"),
        ("BECMG 1500 BR BKN008", "ask first", "hold"),
        ("BECMG FM1830 TL1930 1500 BR BKN008", "ask first", "hold"),
        ("FM1830 22025G38KT 9999 SCT040", "ask first", "hold"),
        ("INTER 1830/1930 2000 SHRA BKN008", "ask first", "hold"),
        ("BECMG NSW TEMPO 2000 RA", "ask first", "hold"),
        ("NOSIG", "suited", "suited"),
        ("NOSIG 36090070", "suited", "suited"),
        ("BECMG 22006KT", "suited", "suited"),
    ],
)
def test_a_trend_caps_as_a_possible_group_does(trend: str, pre_solo: str, solo: str) -> None:
    assert rated(f"{FAIR} {trend}", "pre-solo", "tracking") == pre_solo
    assert rated(f"{FAIR} {trend}", "solo", "tracking") == solo


def test_its_caution_cites_the_trend_and_not_the_report() -> None:
    found = day(f"{FAIR} TEMPO 3000 TSRA SCT030CB").cautions(0, 0, [0])
    storm = next(c for c in found if c.code == "TS01")
    assert (storm.layer, storm.group) == ("forecast, possible", "TEMPO 3000 TSRA SCT030CB")


def test_what_it_does_not_restate_is_the_reports() -> None:
    table = conditions("24012G20KT 9999 -RA BKN030 18/05 Q1013 TEMPO 24018KT BECMG NSW SCT020").table
    rows = {table.groups[int(table.group[i])]: i for i in range(table.n) if table.layer[i] == Layer.POSSIBLE}
    gusty, dry = rows["TEMPO 24018KT"], rows["BECMG NSW SCT020"]
    assert (table.mean_kt[gusty], table.ceiling_ft[gusty]) == (18.0, 3000.0)
    assert np.isnan(table.gust_kt[gusty]), "a wind restated without G has no gust"
    assert table.weather[gusty] != 0
    assert (table.mean_kt[dry], table.gust_kt[dry], table.ceiling_ft[dry]) == (12.0, 20.0, np.inf)
    assert table.weather[dry] == 0


def test_a_better_trend_never_betters_the_report() -> None:
    strong = "22025G38KT 1500 TSRA BKN008 18/05 Q1013"
    for trend in ("BECMG 22006KT 9999 NSW SCT040", "TEMPO 22006KT CAVOK", "FM1830 22006KT 9999 SCT040"):
        assert rated(f"{strong} {trend}", "pre-solo", "tracking") == "hold"


def test_it_counts_for_two_hours_of_the_report_beside_a_forecast() -> None:
    found = day(f"{FAIR} TEMPO 3000 TSRA", "2518/2618 22008KT 9999 SCT040")
    suit = found.ratings.suitability[0, 0]
    start, end = found.ratings.conditions.cell_start_min, found.ratings.conditions.cell_end_min
    over = int(start[0]) - int(start[0]) % 1440 + 19 * 60 + 53  # 1753Z and two hours
    assert {Suitability(int(s)).words for s in suit[end <= over]} == {"hold"}
    assert Suitability(int(suit[(start >= over + 60)][0])).words == "suited"


@pytest.mark.parametrize("now", ["19:30", "20:00"])
def test_a_storm_of_a_trend_marks_the_hour_after_its_two_and_the_day_however_old_the_report(now: str) -> None:
    """As a storm of a forecast that is over does: the same hour may not read better for being looked at later."""
    taf = "2518/2618 22008KT 9999 SCT040"
    found = practice_days([given(f"{FAIR} TEMPO 3000 TSRA", taf, now=now)], SETUPS, TRAINER)[0]
    after = [found.cells_at(clock(t, 4))[0] for t in ("20:00", "20:52", "20:53")]
    words = [[Suitability(int(x)).words for x in found.ratings.suitability[stage, 0, after]] for stage in (0, 1)]
    # an old report is a care of its own at the end
    assert words == [["ask first", "ask first", "with care"], ["hold", "hold", "ask first"]]
    assert "TS06" in {c.code for c in found.cautions(1, 0, after[2:])}
    near = next(c for c in found.cautions(0, 0, after[:1]) if c.code == "TS02")
    assert near.group == "TEMPO 3000 TSRA"


def test_a_trend_that_cannot_be_read_is_a_caution() -> None:
    assert rated(f"{FAIR} TEMPO 3000 QWXYZ", "pre-solo", "tracking") == "ask first"
    assert "UN01" in {c.code for c in day(f"{FAIR} BECMG QWXYZ").cautions(0, 0, [0])}


def test_real_trends_are_read(reports_dir: Path) -> None:
    """Every change of the sample's trends is understood but for a handful."""
    from advisor.errors import AdvisorError
    from advisor.reports.decode_metar import decode_metar

    seen = unread = 0
    for raw, at in read_raw(reports_dir / "metar_sample.tsv"):
        try:
            report = decode_metar(raw, at)
        except AdvisorError:
            continue
        if not report.trend:
            continue
        own = observation_segment(report, 0, 60.0)
        for part in trend_segments(report, own, 0):
            seen += 1
            unread += part.undecoded
            assert part.layer == Layer.POSSIBLE
    assert seen >= 10
    assert unread <= seen * 0.1
