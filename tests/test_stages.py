"""Who flies: every option that narrows narrows, and nothing a person says of himself widens anything."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from advisor.advice import practice_days
from advisor.cli import cli
from advisor.errors import AdvisorError
from advisor.limits import STAGES, Changes, StageSetup, make_limits, quantities, stage_setup
from advisor.present.day_text import day_text
from advisor.rules.context import Context
from advisor.rules.engine import evaluate
from advisor.rules.registry import Array, Suitability
from tests.day_case import TRAINER
from tests.fields import FAIR, given
from tests.law_tables import SITES, random_table

TABLE = random_table(6_000, seed=5)
NOW = ("--now", "2026-04-25T18:00Z")


def rated(*setups: StageSetup, changes: Changes | None = None) -> Array:
    return evaluate(Context(TABLE, make_limits(setups, changes), TRAINER, SITES)).suitability


def never_better(second: Array, first: Array) -> int:
    assert not (second > first).any()
    return int((second < first).sum())


@pytest.mark.parametrize(
    ("report", "taf"),
    [
        (f"22011G33KT {FAIR}", None),  # on hold, then not rated
        (f"22008KT {FAIR}", "2512/2612 22008KT P6SM SKC FM251830 22011G33KT P6SM SKC"),  # too short
        (f"22018G27KT {FAIR}", "2512/2612 22018G27KT P6SM SKC"),  # the dual lesson instead
        (f"22013KT {FAIR}", "2512/2612 22013KT P6SM SKC FM252000 22019KT P6SM SKC"),
        ("00000KT 5SM BR OVC030 06/05 A3012", "2512/2612 00000KT 5SM BR OVC030"),
        (f"26O08KT {FAIR}", None),
    ],
)
def test_what_a_stage_is_told_does_not_hang_on_which_others_are_asked(report: str, taf: str | None) -> None:
    names = ("pre-solo", "solo", "post-solo", "commercial")
    (together,) = practice_days([given(report, taf)], tuple(stage_setup(x) for x in names), TRAINER)
    for name, found in zip(names, together.stages, strict=True):
        alone = practice_days([given(report, taf)], (stage_setup(name),), TRAINER)[0].stages[0]
        assert (found.sentence, found.end_reason) == (alone.sentence, alone.end_reason)
        assert (found.swaps, found.ground_activity) == (alone.swaps, alone.ground_activity)
        assert [c.message for c in found.cautions] == [c.message for c in alone.cautions]
        assert (found.limiting is None) == (alone.limiting is None)
        assert (found.best, found.alternative, found.windows) == (alone.best, alone.alternative, alone.windows)
        assert found.demand == alone.demand
        assert found.hours == alone.hours


@pytest.mark.parametrize("stage", ["post-solo", "commercial"])
def test_alone_is_never_better_than_with_an_instructor(stage: str) -> None:
    aboard, alone = stage_setup(stage), stage_setup(stage, alone=True, certificated=True)
    assert never_better(rated(alone), rated(aboard)) > 300


def test_the_first_three_solos_are_never_better_than_later_ones() -> None:
    assert never_better(rated(stage_setup("solo", early_solo=True)), rated(stage_setup("solo"))) > 300


def test_a_student_alone_is_never_better_than_with_an_instructor_before_solo() -> None:
    solo, aboard = rated(stage_setup("solo"))[0], rated(stage_setup("pre-solo"))[0]
    taught = (aboard != Suitability.NOT_TAUGHT) & (solo != Suitability.NOT_TAUGHT)
    assert not ((solo > aboard) & taught).any()


@pytest.mark.parametrize("quantity", quantities())
@pytest.mark.parametrize("value", [0.2, 4.0, 30.0])
def test_own_limits_never_give_a_better_rating(quantity: str, value: float) -> None:
    setups = tuple(stage_setup(s) for s in STAGES)
    before = _before()
    for pair in ((None, value), (value, None), (value, value)):
        after = rated(*setups, changes=Changes(own={quantity: pair}))
        if quantity == "report_age_min":  # a report that no longer counts holds nothing; it leaves the hour not rated
            after = np.where((before == Suitability.HOLD) & (after == Suitability.NOT_RATED), before, after)
        never_better(after, before)


def _before(kept: dict[str, Array] = {}) -> Array:  # noqa: B006 - worked out once
    if "rated" not in kept:
        kept["rated"] = rated(*(stage_setup(s) for s in STAGES))
    return kept["rated"]


def test_own_limits_do_something() -> None:
    mine = Changes(own={"mean_wind_kt": (None, 6.0)})
    assert never_better(rated(stage_setup("post-solo"), changes=mine), rated(stage_setup("post-solo"))) > 300


def test_no_stage_given_means_all_four_in_order() -> None:
    day = practice_days([given(f"22012KT {FAIR}")], tuple(stage_setup(s) for s in STAGES), TRAINER)[0]
    assert [s.setup.letter for s in day.stages] == list("PSAC")


def test_not_taught_is_no_hazard_and_stands_outside_the_order() -> None:
    day = practice_days([given(f"22012KT {FAIR}")], (stage_setup("solo"), stage_setup("pre-solo")), TRAINER)[0]
    assert day.ratings.suitability[0, 7].tolist() == [int(Suitability.NOT_TAUGHT)] * day.ratings.suitability.shape[2]
    assert (day.ratings.suitability[1, 6] == Suitability.NOT_TAUGHT).all()
    assert Suitability.NOT_TAUGHT.words == "not taught at this stage"


def test_a_student_alone_is_never_told_that_a_suited_hour_is_enough() -> None:
    source = [given("22008KT 10SM CLR 15/M05 A3000", "2512/2612 22008KT P6SM SKC")]
    solo = practice_days(source, (stage_setup("solo"),), TRAINER)[0].stages[0]
    assert solo.best is not None
    assert solo.best.suitability is Suitability.SUITED
    assert "your instructor must release you" in solo.sentence
    pilot = practice_days(source, (stage_setup("post-solo", alone=True, certificated=True),), TRAINER)[0].stages[0]
    assert "release" not in pilot.sentence  # nobody releases a certificated pilot


# --- from the command line -----------------------------------------------------------------------------------


def run(*args: str) -> Any:
    return CliRunner().invoke(cli, args)


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--stage", "post-solo", "--alone"), "--certificated"),
        (("--stage", "pre-solo", "--alone", "--certificated"), "nobody flies alone"),
        (("--alone", "--certificated"), "--stage"),
        (("--stage", "commercial", "--early-solo"), "--stage solo"),
        # the demo's clock stands at 1310Z, 08:10 at its fields
        (("--wind-at-height", "240/40@08:00"), "time in Z"),
        (("--wind-at-height", "240/40@1210Z"), "is 60 minutes old; a pilot's wind holds 60 minutes"),
        (("--wind-at-height", "240/40@1311Z"), "in the future"),
        (("--wind-at-height", "\u00b240/40"), "is not understood"),
        (("--runway", "\u00b2"), "no runway"),
    ],
)
def test_options_that_do_not_fit_end_in_a_sentence(args: tuple[str, ...], says: str) -> None:
    found = run("day", "XBRK", "--demo", *args)
    assert isinstance(found.exception, AdvisorError)
    assert says in str(found.exception)


def test_own_limits_from_options_and_from_a_file_are_said(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("mean_wind_kt = 9\nvisibility_sm = [9, 7]\nheat_c = 60\n")
    found = run("day", "XBRK", "--demo", "--stage", "post-solo", "--limits", str(file), "--my-crosswind", "4")
    assert found.exit_code == 0, found.output
    text = " ".join(found.output.split())
    assert "mean wind: your own limit of 9 kt applies" in text
    assert "visibility: your own limit of 7 SM applies" in text
    assert "crosswind in landing practice: your own limit of 4 kt applies" in text
    assert "heat: your own" not in text  # looser than the shipped one: it changes nothing


@pytest.mark.parametrize("value", ["nan", "inf"])
def test_a_limit_that_is_no_number_never_switches_a_limit_off(tmp_path: Path, value: str) -> None:
    found = run("day", "XBRK", "--demo", "--stage", "solo", "--my-wind", value)
    assert found.exit_code == 2
    assert f"'{value}' is not a number" in found.output
    file = tmp_path / "mine.toml"
    file.write_text(f"mean_wind_kt = [8, {value}]\nheat_c = {value}\nvisibility_sm = -1\ncold_c = -5\n")
    found = run("day", "XBRK", "--demo", "--limits", str(file))
    assert isinstance(found.exception, AdvisorError)
    faults = [line.partition(":")[0] for line in str(found.exception).splitlines()]
    assert faults == ["mean_wind_kt", "heat_c", "visibility_sm"]


def test_a_care_limit_of_ones_own_is_not_called_the_stop(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("mean_wind_kt = [8, 20]\n")
    found = run("day", "XBRK", "--demo", "--stage", "solo", "--limits", str(file))
    assert "mean wind: your own care limit of 8 kt applies" in " ".join(found.output.split())


def test_a_file_of_limits_with_faults_lists_them_all(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('wind = 9\nvisibility_sm = "far"\n')
    found = run("day", "XBRK", "--demo", "--limits", str(file))
    assert isinstance(found.exception, AdvisorError)
    assert "wind:" in str(found.exception)
    assert "visibility_sm:" in str(found.exception)


LOOSER = Changes(school={"mean_wind_kt": {"solo": (14, 18)}})


def test_a_schools_looser_limit_stands_on_the_page() -> None:
    day = practice_days([given(f"22012KT {FAIR}")], (stage_setup("solo"),), TRAINER, changes=LOOSER)[0]
    assert "SCHOOL LIMITS: mean wind for solo" in " ".join(day_text(day).split())


@pytest.mark.parametrize("style", ["text", "json", "html"])
@pytest.mark.parametrize("command", [("day", "XBRK"), ("lesson", "s-turns", "XBRK"), ("morning", "XBRK")])
def test_a_schools_looser_limit_is_flagged_on_every_page(command: tuple[str, ...], style: str, tmp_path: Path) -> None:
    school = tmp_path / "school.toml"
    school.write_text(
        'name = "Made-up school"\n[[stations]]\nstation = "XBRK"\nname = "Made up"\nlatitude_deg = 41.0\n'
        'longitude_deg = -97.0\nelevation_ft = 1200\ntime_zone = "America/Chicago"\n'
        "[limits.solo]\nmean_wind_kt = { care = 14, stop = 18 }\n"
    )
    reports = tmp_path / "reports.txt"
    reports.write_text(f"METAR XBRK 251753Z 22012KT {FAIR}\nTAF XBRK 251730Z 2518/2618 22012KT P6SM SKC\n")
    person = () if command[0] == "morning" else ("--stage", "solo")
    found = run(*command, "--from-file", str(reports), *NOW, "--school", str(school), *person, "--format", style)
    assert found.exit_code == 0, (found.output, found.exception)
    assert "looser than the shipped" in " ".join(found.output.split()), found.output[:500]


def test_what_the_looser_limit_changes_is_what_it_says() -> None:
    hour = np.flatnonzero(TABLE.mean_kt == 16.0)
    strict = rated(stage_setup("solo"))[0, 0, hour]
    loose = rated(stage_setup("solo"), changes=LOOSER)[0, 0, hour]
    assert (loose >= strict).all()
