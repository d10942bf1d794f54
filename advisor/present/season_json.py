"""A season as JSON: the answers, the long table, and what a reader must know."""

from __future__ import annotations

import json
from typing import Any

from advisor.archive.report import TABLE_COLUMNS, SeasonReport, table_rows
from advisor.lessons import lessons
from advisor.present.season_words import answer, held_down, standing_lines

SCHEMA = 1


def season_json(report: SeasonReport) -> str:
    """One JSON document (schema 1), ending in a line break.

    ``answers`` holds one object a station, stage and lesson: shares of daylight hours, the best windows (local
    hours, last included) and the rules that hold most hours down. ``columns`` and ``rows`` are the long table.
    Never raises.
    """
    answers: list[dict[str, Any]] = []
    for season in report.seasons():
        answers.append(
            {
                "station": season.station,
                "stage": season.setup.stage,
                "lesson": lessons()[season.lesson].key,
                "hours": season.total,
                "worth_scheduling_share": _share(season.worth_share),
                "teaches_share": _share(season.teaches()),
                "windows": [
                    {
                        "month": w.month,
                        "first_hour": w.first_hour,
                        "last_hour": w.last_hour,
                        "share": _share(w.share),
                        "hours": w.hours,
                    }
                    for w in season.windows()
                ],
                "held_down_by": [
                    {"rule": code, "words": words, "share": _share(share)} for code, words, share in season.blockers()
                ],
                "answer": answer(season),
                "held_down": held_down(season),
            }
        )
    document = {
        "schema": SCHEMA,
        "kind": "season",
        "standing": standing_lines(),
        "told": report.told(),
        "answers": answers,
        "columns": [name for name, _ in TABLE_COLUMNS],
        "rows": [list(row) for row in table_rows(report)],
    }
    return json.dumps(document, ensure_ascii=False) + "\n"


def _share(value: float) -> float | None:
    return None if value != value else round(value, 4)
