"""The day as CSV: one line for each stage, hour and lesson."""

from __future__ import annotations

import csv
import io
from typing import Any

from advisor.advice import PracticeDay, StageDay
from advisor.lessons import lesson_keys
from advisor.present.day_json import iso, plain
from advisor.present.words import rating_words
from advisor.rules.registry import Suitability

COLUMNS = (
    "station", "stage", "from", "to", "daylight", "lesson", "suitability", "teaching", "rules", "reason",
    "made_at", "do_not_use_after", "made_up_demo", "report_age_min", "open",
)  # fmt: skip


def _release(suit: Suitability, stage: StageDay) -> str:
    """What a hour without a caution reads: for a student alone, that the instructor must release."""
    reads = rating_words(suit, stage.setup)
    return "" if reads == suit.words else reads


def day_rows(day: PracticeDay) -> list[dict[str, Any]]:
    """One dict for each stage, hour and taught lesson; ``rules`` names the codes that cap it, ``open`` whether the
    school's doors are. Never raises."""
    out = []
    ident = day.station.source.site.station.station
    # a row is soon apart from the page it came from: each says how old it is
    page = {
        "made_at": iso(day.made_at),
        "do_not_use_after": iso(day.expires_at),
        "made_up_demo": day.station.source.site.made_up,
        "report_age_min": plain(day.station.age_min),
    }
    for stage in day.stages:
        for hour in stage.hours:
            for index, key in enumerate(lesson_keys()):
                suit = hour.suitability[key]
                if suit is Suitability.NOT_TAUGHT:
                    continue
                found = [c for c in day.cautions(stage.index, index, hour.cells) if not c.is_note]
                out.append(
                    {
                        "station": ident,
                        "stage": stage.setup.stage,
                        "from": iso(hour.start),
                        "to": iso(hour.end),
                        "daylight": hour.daylight,
                        "lesson": key,
                        "suitability": suit.words,
                        "teaching": hour.teaching[key].words if suit is not Suitability.NOT_RATED else "",
                        "rules": " ".join(c.code for c in found),
                        "reason": found[0].message if found else _release(suit, stage),
                        **page,
                        "open": hour.open,
                    }
                )
    return out


def day_csv(day: PracticeDay) -> str:
    """CSV text with a header line."""
    stream = io.StringIO()
    writer = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(day_rows(day))
    return stream.getvalue()


def day_frame(day: PracticeDay) -> Any:
    """The same as a pandas DataFrame."""
    import pandas as pd

    return pd.DataFrame(day_rows(day), columns=list(COLUMNS))
