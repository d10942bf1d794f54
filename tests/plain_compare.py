"""The engine's answer and the plain one for the same reports, side by side: what was found as well as what it caps at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from advisor.aircraft import Aircraft
from advisor.conditions import StationInput, build_conditions
from advisor.lessons import lesson_keys
from advisor.limits import StageSetup, make_limits, stage_setup
from advisor.ratings import Ratings
from advisor.rules.engine import cap_index, caps_of, scopes_of
from advisor.rules.registry import Suitability, all_rules
from advisor.site import Site
from tests.plain_forecast import moments
from tests.plain_limits import (
    DEMONSTRATED_CROSSWIND_KT,
    PRACTICE_KIAS,
    SOLO,
    STAGES,
    STALL_KCAS,
)
from tests.plain_moment import NOT_TAUGHT, WORST_FIRST, Found, Place
from tests.plain_rating import rate

TRAINER = Aircraft("trainer", PRACTICE_KIAS, STALL_KCAS, DEMONSTRATED_CROSSWIND_KT)
#: Rule codes under the plain names of what they notice.
CAUSES = {
    "AG01": "age", "AG02": "no fresh report", "AG03": "nothing reaches", "AU04": "weather sensor out",
    "BO01": "borrowed", "CE01": "ceiling", "CE02": "ceiling", "CE03": "ceiling missing", "DE01": "wind to airspeed",
    "DE02": "radius", "DE03": "pivotal height", "DE04": "stall margin", "DI01": "disagreement", "DL01": "dark",
    "DL02": "last hour of light", "FG01": "fog", "FG02": "fog seen or late", "FG03": "fog seen or late",
    "GU01": "peak", "GU02": "spread", "GU03": "spread", "GU04": "strong and gusty", "GU05": "peak remark",
    "GU06": "gust missing", "IC01": "snow or frost", "IC02": "snow or frost", "IC03": "carburettor ice",
    "SH01": "shear", "SH02": "inversion guess", "TE01": "cold", "TE02": "heat", "TE03": "density altitude",
    "TS01": "storm", "TS02": "storm near in time", "TS03": "thunder near", "TS04": "distant lightning or CB",
    "TS05": "storm ahead", "TS06": "thunder today", "TS07": "no thunder sensor", "UN01": "unread group",
    "VS01": "visibility", "VS02": "visibility missing", "WI01": "mean", "WI02": "mean", "WI03": "variable",
    "WI04": "wind missing", "WI05": "wind estimated", "WI06": "wind shift", "XW01": "crosswind",
    "XW02": "crosswind", "XW03": "tailwind", "XW04": "runway unknown", "XW05": "runway unknown",
    "XW06": "tailwind on base",
}  # fmt: skip

NOT_A_RULE = ("three families",)


def place_of(site: Site, sun: Iterable[tuple[int, int]]) -> Place:
    """The plain field of a site."""
    ends = tuple(e.bearing_deg_true for e in site.usable_ends)
    return Place(ends, site.elevation_ft, list(sun), site.ground_above_field_ft)


def setups() -> tuple[StageSetup, ...]:
    """The four stages, the first three solos, and a certificated pilot alone."""
    plain = tuple(stage_setup(s) for s in STAGES)
    return (*plain, stage_setup(SOLO, early_solo=True), stage_setup("post-solo", alone=True, certificated=True))


def engine(inputs: Sequence[StationInput], stages: tuple[StageSetup, ...]) -> Ratings:
    """The engine's ratings of many fields."""
    return Ratings(build_conditions(list(inputs)), make_limits(stages), TRAINER)


Findings = dict[tuple[int, int, int], dict[str, str]]


def findings(ratings: Ratings) -> Findings:
    """What the engine found in each (stage, lesson, cell): the plain name of the cause and the lowest cap it has."""
    context = ratings.context
    cell = ratings.conditions.table.cell
    starts = np.flatnonzero(np.r_[True, np.diff(cell) != 0])
    offset = cap_index(context)
    out: Findings = {}
    for rule in all_rules():
        level = ratings.result.levels.get(rule.code)
        if level is None:
            continue
        for i in range(len(lesson_keys())):
            if rule.axes == "lesson":
                here = np.broadcast_to(level, (context.n_stages, len(lesson_keys()), context.t.n))[:, i]
            elif rule.scope in scopes_of(i):
                here = np.broadcast_to(level, (context.n_stages, context.t.n))
            else:
                continue
            caps = np.minimum.reduceat(caps_of(here, offset), starts, axis=-1)
            for s, k in zip(*np.nonzero(caps < Suitability.SUITED), strict=True):
                found = out.setdefault((int(s), i, int(cell[starts[k]])), {})
                cause, cap = CAUSES.get(rule.code, rule.code), Suitability(int(caps[s, k])).words
                if cause not in found or WORST_FIRST.index(cap) < WORST_FIRST.index(found[cause]):
                    found[cause] = cap
    return out


@dataclass(frozen=True)
class Difference:
    """One place where the two do not agree."""

    field: int
    minute: int
    setup: StageSetup
    lesson: str
    engine: str
    plain: str
    engine_only: tuple[tuple[str, str], ...]
    plain_only: tuple[tuple[str, str], ...]


def compare(
    inputs: Sequence[StationInput],
    stages: tuple[StageSetup, ...],
    *,
    cells_of: Callable[[int, range], Iterable[int]] = lambda _field, cells: cells[:1],
    stages_of: Callable[[int], Iterable[int]] | None = None,
) -> tuple[int, list[Difference]]:
    """How many ratings were compared, and where they differ.

    ``cells_of(field, cells)`` gives the cells looked at, the first; ``stages_of(field)`` the stages, all of them.
    """
    ratings = engine(inputs, stages)
    theirs = findings(ratings)
    starts, ends = ratings.conditions.cell_start_min, ratings.conditions.cell_end_min
    covered = set(ratings.conditions.table.cell.tolist())
    count, out = 0, []
    for at, station in enumerate(ratings.conditions.stations):
        given = inputs[at]
        place = place_of(given.site, zip(station.sunrise_min, station.sunset_min, strict=True))
        chosen = tuple(range(len(stages)) if stages_of is None else stages_of(at))
        for cell in cells_of(at, range(*station.cells.indices(len(starts)))):
            for minute in sorted({int(starts[cell]), int(ends[cell]) - 1}):
                said = moments(given.metars[0] if given.metars else None, given.taf, minute, place, given.now)
                for s in chosen:
                    setup = stages[s]
                    for i, lesson in enumerate(lesson_keys()):
                        count += 1
                        mine, found = rate(said, setup.stage, lesson, place, early=setup.early_solo, alone=setup.alone)
                        answer = Suitability(int(ratings.suitability[s, i, cell])).words
                        if mine == NOT_TAUGHT == answer:
                            continue
                        b = lowest(found)
                        a = theirs.get((s, i, cell), {}) if cell in covered else {"nothing reaches": answer}
                        if answer != mine or a != b:
                            only = tuple(sorted(a.items() - b.items())), tuple(sorted(b.items() - a.items()))
                            out.append(Difference(at, minute, setup, lesson, answer, mine, *only))
    return count, out


def lowest(found: Iterable[Found]) -> dict[str, str]:
    """Each cause with its lowest cap; the three families are no cause of their own."""
    best: dict[str, str] = {}
    for f in found:
        if f.cause not in NOT_A_RULE and (
            f.cause not in best or WORST_FIRST.index(f.cap) < WORST_FIRST.index(best[f.cause])
        ):
            best[f.cause] = f.cap
    return best
