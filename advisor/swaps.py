"""What instructors do instead: swaps that fit the day, and ground activities when nothing flies.

A swap is offered only where its own ceiling rule is quiet: a low ceiling is never a reason for a low lesson.
Common practice, no source, unless named.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from advisor.directions import arc_share
from advisor.lessons import lesson_keys, lessons
from advisor.records import dataclass
from advisor.rules.registry import Array, Suitability
from advisor.teaching import Teaching

if TYPE_CHECKING:
    from advisor.advice import PracticeDay, StageDay

#: Families whose stop turns a solo day into a dual one.
_WIND_FAMILIES = ("wind", "gust", "crosswind")

#: What still air is good for instead (common practice, no source); a student alone flies what was released.
_STILL_AIR = {
    "pre-solo": "first landings, stalls, slow flight, steep turns",
    "solo": "landings and whatever else your instructor has released you for",
    "post-solo": "landings, stalls, slow flight, steep turns",
    "commercial": "steep turns, precision landings, slow flight",
}


@dataclass(frozen=True, slots=True)
class Swap:
    """One suggestion: ``kind`` names the situation, ``text`` is the sentence."""

    kind: str
    text: str


def swaps_for(day: PracticeDay, stage: StageDay, usable: Array) -> tuple[Swap, ...]:
    """Swaps for a stage, in the order an instructor would think of them.

    Parameters
    ----------
    day, stage : PracticeDay, StageDay
        Ratings made, windows found.
    usable : bool array
        Cells of the field inside daylight and opening hours.

    Returns
    -------
    tuple of Swap
        Never raises; empty when the day needs none.
    """
    found = (
        _dual_drift(day, stage),
        _solo_to_dual(day, stage, usable),
        _better_runway(day, stage),
        _still_air(day, stage),
        _low_for_stalls(day, stage),
    )
    return tuple(swap for swap in found if swap is not None)


def _dual_drift(day: PracticeDay, stage: StageDay) -> Swap | None:
    """Wind that holds a circle lesson and shows crab well along a road."""
    tracking = next((w for w in stage.windows if lessons()[w.lesson].key == "tracking"), None)
    if stage.setup.alone or tracking is None or tracking.teaching is not Teaching.STRONG:
        return None
    circles = [i for i, x in enumerate(lessons()) if x.shape == "circle" and x.taught(stage.setup.stage)]
    suits = day.ratings.suitability[stage.index][circles][:, day.global_cells(list(tracking.cells))]
    held = [lessons()[i].title for i, x in zip(circles, suits, strict=True) if (x == Suitability.HOLD).any()]
    first = day.cautions(stage.index, tracking.lesson, list(tracking.cells))
    if not held or not any(c.family in _WIND_FAMILIES and not c.is_note for c in first):
        return None
    named = ", ".join(title[:1].lower() + title[1:] for title in held)
    what = "every circle" if len(held) == len(circles) else named
    return Swap(
        "dual-drift",
        f"Too windy for {what}, right for the dual drift lesson: tracking a road with the instructor, "
        "where the crab can be seen.",
    )


def _solo_to_dual(day: PracticeDay, stage: StageDay, usable: Array) -> Swap | None:
    """Nothing but wind keeps a student from flying alone, and with an instructor it would teach."""
    # an hour that nothing reaches says nothing against the hours that are known
    families = {c.family for c in stage.cautions if c.caps_at <= Suitability.ASK_FIRST and c.code != "AG03"}
    if not stage.setup.alone or stage.best is not None or not families & set(_WIND_FAMILIES) or not _only(families):
        return None
    demand = stage.demand
    wind = f" ({demand.wind_low_kt:.0f} to {demand.wind_high_kt:.0f} kt at lesson height)" if demand else ""
    offers = [f"a dual lesson tracking a road{wind}"] if _dual(day, "tracking", usable) else []
    if _dual(day, "crosswind-pattern", usable):
        offers.append("crosswind circuits with the instructor")
    if not offers or not _drift_shows(day, usable):
        return None
    text = f"Not a day to be alone, perhaps one to learn drift: ask about {', or '.join(offers)}."
    return Swap("solo-to-dual", text)


def _still_air(day: PracticeDay, stage: StageDay) -> Swap | None:
    """Every line and circle lesson teaches little over the best window."""
    if stage.best is None or stage.best.teaching is not Teaching.LITTLE:
        return None
    teach = day.ratings.teaching[stage.index][:, day.global_cells(list(stage.best.cells))]
    taught = [i for i, x in enumerate(lessons()) if x.taught(stage.setup.stage) and x.shape in ("line", "circle")]
    if not np.all(teach[taught] == Teaching.LITTLE):
        return None
    calm = stage.demand is not None and stage.demand.surface_mean_kt == 0
    little = "Calm air teaches little about wind" if calm else "So little wind teaches little about it"
    instead = f"{_STILL_AIR[stage.setup.stage]}, and for the geometry of a circle or the pivotal height without drift"
    return Swap("calm", f"{little}. The hour is good for {instead}.")


def _low_for_stalls(day: PracticeDay, stage: StageDay) -> Swap | None:
    """The ceiling is quiet for work at lesson height and low for work that begins higher."""
    if stage.setup.stage not in ("pre-solo", "post-solo"):
        return None
    if stage.best is None or not lessons()[stage.best.lesson].at_height:
        return None
    rows = day.ratings.rows_of(day.global_cells(list(stage.best.cells)))
    lowest = float(np.fmin.reduce(day.ratings.context.ceiling_area_ft[rows], initial=np.inf))
    care = float(day.limits.care["ceiling_area_ft"][stage.index, 0])
    above = float(day.limits.stop["ceiling_area_ft"][stage.index, 0]) + 2000.0
    if not care < lowest < above:
        return None
    return Swap(
        "low-for-stalls",
        "The ceiling leaves little height for stalls and steep turns; ground-reference work, with its own ceiling "
        "limit met, uses the day better.",
    )


def _dual(day: PracticeDay, key: str, usable: Array) -> bool:
    """True when the lesson is not on hold all day with an instructor aboard: what stops a student alone may stop both."""
    ratings, index = day.ratings.with_instructor
    suits = ratings.suitability[index, lesson_keys().index(key), day.station.cells][usable]
    return bool(((suits >= Suitability.ASK_FIRST) & (suits <= Suitability.SUITED)).any())


def _drift_shows(day: PracticeDay, usable: Array) -> bool:
    """True when some hour has wind enough to see drift along a road: two knots teach none, whatever may come."""
    ratings, index = day.ratings.with_instructor
    teach = ratings.teaching[index, lesson_keys().index("tracking"), day.station.cells][usable]
    return bool(((teach == Teaching.SOME) | (teach == Teaching.STRONG)).any())


def _only(families: set[str]) -> bool:
    """True when nothing but wind (and the end of the day) stands in the way: a dual lesson is not offered into storms
    or low cloud."""
    return families <= {*_WIND_FAMILIES, "variable", "demand", "light"}


def _better_runway(day: PracticeDay, stage: StageDay) -> Swap | None:
    """Another open end with less crosswind and no more tailwind than the named one, at the page's first hour."""
    site = day.station.source.site
    rows = day.ratings.rows_of(day.global_cells([0]))
    c = day.ratings.context
    rows = rows[c.wind_known[rows] & ~c.possible[stage.index, rows]] if len(rows) else rows
    if site.named_runway is None or not len(rows):
        return None
    row = int(rows[np.argmax(c.peak_kt[rows])])
    t, peak = c.t, float(c.peak_kt[row])
    found = []
    shut = site.closed_during(int(c.t.start_min[row]), int(c.t.end_min[row]))
    for end in site.runways:
        if end.name in shut:
            continue
        bearing = np.array(end.bearing_deg_true)
        across, behind = arc_share(t.arc_start_deg[row], t.arc_width_deg[row], bearing)
        found.append((end.name, float(across) * peak, float(behind) * peak))
    named = next((x for x in found if x[0] == site.named_runway), None)
    if named is None:
        return None
    better = [x for x in found if x[1] < named[1] - 1.0 and x[2] <= max(named[2], 0.5)]
    if not better:
        return None
    name, across_kt, behind_kt = min(better, key=lambda x: (x[1], x[2]))
    return Swap(
        "better-runway",
        f"On wind alone runway {name} is the better one: {across_kt:.0f} kt across and {behind_kt:.0f} kt behind, against "
        f"{named[1]:.0f} kt across and {named[2]:.0f} kt behind on runway {named[0]}.",
    )


def ground_activity(day: PracticeDay, stage: StageDay) -> str:
    """A ground lesson with today's numbers, for a stage with nothing to fly. Never raises."""
    demand = stage.demand
    if demand is None:
        return (
            "On the ground: read today's raw reports with the instructor, say which group is missing and what it would take "
            "to know it, and plan the lesson that comes next."
        )
    if demand.beyond_airspeed:
        return (
            f"On the ground: the wind at lesson height may reach {demand.wind_high_kt:.0f} kt, as much as the true airspeed of "
            f"{demand.tas_kt:.0f} kt. Say on the board what the groundspeed would be flying into it, and plan the lesson that "
            "comes next."
        )
    numbers = (
        f"wind {demand.surface_mean_kt:.0f} kt at the field, {demand.wind_low_kt:.0f} to {demand.wind_high_kt:.0f} kt at "
        f"lesson height, crab {demand.crab_deg[0]:.0f} to {demand.crab_deg[1]:.0f} degrees across it at "
        f"{demand.tas_kt:.0f} kt true"
    )
    return (
        f"On the ground: draw today's circle and rectangle on the board with today's numbers ({numbers}); mark where the bank "
        "is steepest, which corner turns more than 90 degrees, and where you would leave the lesson."
    )
