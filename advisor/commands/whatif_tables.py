"""Numbers of ``advisor whatif``: a wind and a lesson in, tables and sentences out. No reports, no clock.

Only what the lesson needs is imported.
"""

from __future__ import annotations

from advisor.commands.whatif_model import Answer, Question


def answer(q: Question) -> Answer:
    """Tables and sentences for one lesson.

    Parameters
    ----------
    q : Question
        The wind at height, the speed and what is flown.

    Returns
    -------
    Answer
        Exact over the whole range of wind.

    Raises
    ------
    GeometryError
        For lengths, banks or speeds that make no sense, or a pattern without a runway.
    ImpossibleTriangle
        When the wind reaches the airspeed.
    """
    out = Answer()
    if q.lesson in ("tracking", "crosswind-pattern"):
        from advisor.commands import whatif_lines as lines

        (lines.tracking_tables if q.lesson == "tracking" else lines.pattern_tables)(q, out)
        return out
    from advisor.commands import whatif_circles as circles

    by_lesson = {
        "rectangular-course": circles.rectangle_tables,
        "s-turns": circles.s_turns_tables,
        "turns-around-a-point": circles.point_tables,
        "eights-on-pylons": circles.on_pylons_tables,
    }
    by_lesson.get(q.lesson, circles.eight_tables)(q, out)
    return out
