"""The answer of ``advisor whatif`` as text, JSON or CSV; computes nothing."""

from __future__ import annotations

import csv
import io
import json
import textwrap
from collections.abc import Callable
from typing import Any

from advisor.commands.whatif_model import Answer, Question, Row, Value
from advisor.directions import bearing

SCHEMA = "whatif/1"
DECIDES = "Numbers for a briefing. Your instructor decides."
WIDTH = 96


def _side(angle_deg: float) -> str:
    whole = round(abs(angle_deg))
    return "0" if whole == 0 else f"{whole} {'R' if angle_deg > 0 else 'L'}"


def _cell(key: str, value: Value) -> str:
    """One value as printed: whole numbers, a side for crab, three figures for directions."""
    if value is None:
        return "any"
    if isinstance(value, str):
        return value
    ends = value if isinstance(value, tuple) else (value,)
    if any(x != x for x in ends):
        return "cannot be flown"
    if key.startswith(("heading_deg", "course_deg")):
        shown = [bearing(x) for x in ends]
    elif key == "crab_deg":
        shown = [_side(x) for x in ends]
    else:
        shown = [f"{round(x) + 0:,}" for x in ends]
    return shown[0] if shown[0] == shown[-1] else f"{shown[0]} to {shown[-1]}"


def _head(key: str) -> tuple[str, str]:
    """A key as a column's head: its name and its unit."""
    for ending in ("_deg_true", "_deg_magnetic", "_deg", "_kt", "_ft", "_s"):
        if key.endswith(ending):
            return key.removesuffix(ending).replace("_", " "), ending[1:].replace("_", " ")
    return key.replace("_", " "), ""


def _text(question: Question, facts: list[str], found: Answer) -> str:
    lines = [f"What if: {question.lesson}", *_wrapped(facts)]
    for title, rows in found.tables:
        lines += ["", title, *_columns(rows)]
    lines += ["", *_wrapped(found.says)] if found.says else []
    lines += ["", "Assumed:", *_wrapped(found.assumed, "- ")] if found.assumed else []
    north = "Directions are degrees true; winds are from. L and R: nose left or right of the course."
    if question.variation_deg is not None:
        east = "E" if question.variation_deg >= 0 else "W"
        size = f"{abs(question.variation_deg):g} {east}"
        north = north.replace("true;", f"true, or magnetic where it says so (variation {size});")
    steady = "Steady wind, level coordinated flight, one airspeed. No weather, terrain or traffic was looked at."
    lines += ["", *_wrapped([north, steady])]
    return "\n".join([*lines, DECIDES]) + "\n"


def _wrapped(sentences: list[str], mark: str = "") -> list[str]:
    indent = " " * len(mark)
    return [x for s in sentences for x in textwrap.wrap(s, WIDTH, initial_indent=mark, subsequent_indent=indent)]


def _columns(rows: list[Row]) -> list[str]:
    keys = list(rows[0])
    heads = [_head(k) for k in keys]
    cells = [
        [h[0] for h in heads],
        [h[1] for h in heads],
        *([_cell(k, row[k]) for k in keys] for row in rows),
    ]
    widths = [max(len(row[i]) for row in cells) for i in range(len(keys))]
    return ["  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in cells]


def _plain(value: Value) -> Any:
    if isinstance(value, tuple):
        return [_plain(x) for x in value]
    if isinstance(value, float):
        return None if value != value or abs(value) == float("inf") else round(value, 3) + 0.0
    return value


def _json(question: Question, facts: list[str], found: Answer) -> str:
    page = {
        "schema": SCHEMA,
        "lesson": question.lesson,
        "true_airspeed_kt": _plain(question.tas_kt),
        "wind_at_height": {
            "low_kt": _plain(question.wind.low_kt),
            "high_kt": _plain(question.wind.high_kt),
            "from_start_deg_true": _plain(question.wind.from_start_deg_true) if question.wind.directed else None,
            "from_width_deg": _plain(question.wind.width_deg),
        },
        "facts": facts,
        "tables": [
            {"title": title, "rows": [{k: _plain(v) for k, v in row.items()} for row in rows]}
            for title, rows in found.tables
        ],
        "says": found.says,
        "assumed": found.assumed,
        "decides": DECIDES,
    }
    return json.dumps(page, indent=2, ensure_ascii=False) + "\n"


def _csv(question: Question, facts: list[str], found: Answer) -> str:
    """Long form: one line for each number, low and high beside each other; sentences follow as notes."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(("lesson", "table", "row", "quantity", "low", "high", "text"))
    for title, rows in found.tables:
        for row in rows:
            keys = list(row)
            for key in keys[1:]:
                value = row[key]
                if isinstance(value, str) or value is None:
                    ends, words = ["", ""], value or "any"
                else:
                    pair = value if isinstance(value, tuple) else (value, value)
                    ends, words = ["" if x is None else x for x in map(_plain, pair)], ""
                writer.writerow((question.lesson, title, row[keys[0]], key, *ends, words))
    for kind, lines in (
        ("fact", facts),
        ("says", found.says),
        ("assumed", found.assumed),
        ("decides", [DECIDES]),
    ):
        for line in lines:
            writer.writerow((question.lesson, kind, "", "", "", "", line))
    return stream.getvalue()


#: --format -> printer.
PRINTERS: dict[str, Callable[[Question, list[str], Answer], str]] = {
    "text": _text,
    "json": _json,
    "csv": _csv,
}
