"""The desk's morning as JSON (schema ``morning/1``), CSV and a DataFrame.

Absent is null, never 0. Times are ISO 8601 with Z. Keys are only added within a version; a change of meaning
makes ``morning/2``::

    schema, made_at, do_not_use_after, posted_by, school, made_up_demo, block_min, every_min,
    previous_posting_at (null: none to compare with), notes [sentence], columns {name: meaning},
    standing [sentence], unserved [{station, sentence}],
    stations, worst first [{
      station, name, time_zone, do_not_use_after, do_not_use_after_because, next_update, report, report_kind,
      report_at, report_age_min, forecast,
      now {from report|forecast|null, wind {from_deg_true, mean_kt, gust_kt, variable, low_kt, high_kt, gaps (true: part
           of the time unknown), possible_peak_kt (what TEMPO and PROB say above mean and gust)}, ceiling_ft,
           ceiling_none},
      trend [{at, wind, visibility_sm, ceiling_ft, ceiling_none, spread_c, altimeter_inhg}], trend_words,
      hazards [{code, name, family, message, layer, group, from, to, doubt}],
      blocks [{slot (nominal start), from, to, wind {as in now}, ceiling_ft, ceiling_none,
               columns {solo|dual|pattern|area: {suitability, stage, lesson, teaching, code, reason, codes, layer,
                                                 group}}}],
      aloft [{from, to, speed_kt, height_ft_agl}],
      runways [{name, bearing_deg_true, head_kt, cross_kt, cross_peak_kt, tail_peak_kt, side, best,
                bearing_estimated}], best_runway,
      practice_areas [{name, where, ground_ft_msl, ceiling_now_ft, ceiling_now_none, ceiling_lowest_ft,
                       ceiling_lowest_none}],
      notices, sunrise, sunset, changes, assumptions}]

A ceiling that was reported and is not there has ``..._ft`` null and ``..._none`` true; one that is unknown has null
and false.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from datetime import datetime
from functools import lru_cache
from typing import Any

from advisor.morning import DEFINITIONS, Block, Cell, MorningSummary, StationMorning, WindLayer
from advisor.morning.changes import SCHEMA
from advisor.present.day_json import iso, plain
from advisor.present.morning_lines import assumed_lines
from advisor.present.morning_words import standing_of

COLUMNS = (
    "station", "made_at", "from", "to", "column", "suitability", "stage", "lesson", "teaching", "code", "reason",
    "wind_from_deg_true", "wind_mean_kt", "wind_gust_kt", "height_wind_low_kt", "height_wind_high_kt",
    "do_not_use_after", "made_up_demo", "report_age_min",
)  # fmt: skip
#: Some fields of a row, in the order of ``COLUMNS``.
_Values = tuple[Any, ...]


def _maybe(when: datetime | None) -> str | None:
    return None if when is None else iso(when)


def _ceiling(feet: float | None, name: str = "ceiling") -> dict[str, Any]:
    none = feet == float("inf")
    return {f"{name}_ft": None if none else plain(feet), f"{name}_none": none}


def _wind(w: WindLayer) -> dict[str, Any]:
    return {
        "from_deg_true": plain(w.from_deg_true),
        "mean_kt": plain(w.mean_kt),
        "gust_kt": plain(w.gust_kt),
        "variable": w.variable,
        "low_kt": plain(w.low_kt),
        "high_kt": plain(w.high_kt),
        "gaps": w.wind_gaps,
        "possible_peak_kt": plain(w.possible_peak_kt),
    }


def _cell(c: Cell) -> dict[str, Any]:
    return {
        "suitability": c.suitability.words,
        "stage": c.stage,
        "lesson": c.lesson,
        "teaching": c.teaching.words if c.teaching is not None else None,
        "code": c.code or None,
        "reason": c.reason or None,
        "codes": list(c.codes),
        "layer": c.layer or None,
        "group": c.group or None,
    }


def _block(b: Block) -> dict[str, Any]:
    return {
        "slot": iso(b.slot),
        "from": iso(b.start),
        "to": iso(b.end),
        "wind": _wind(b.wind),
        **_ceiling(b.wind.ceiling_ft),
        "columns": {name: _cell(c) for name, c in b.cells.items()},
    }


def station_json(s: StationMorning) -> dict[str, Any]:
    """One field. Never raises."""
    source = s.day.station.source
    observation, place = s.day.station.observation, source.site.station
    return {
        "station": s.station,
        "name": s.name,
        "time_zone": place.time_zone,
        "do_not_use_after": iso(s.day.expires_at),
        "do_not_use_after_because": s.day.expires_because,
        "next_update": iso(s.next_update),
        "report": observation.raw if observation is not None else None,
        "report_kind": observation.kind if observation is not None else None,
        "report_at": iso(observation.observed_at) if observation is not None else None,
        "report_age_min": plain(s.day.station.age_min),
        "forecast": source.taf.raw if source.taf is not None else None,
        "now": {"from": s.now_from or None, "wind": _wind(s.wind_now), **_ceiling(s.wind_now.ceiling_ft)},
        "trend": [
            {
                "at": iso(p.observed_at),
                "wind": p.wind,
                "visibility_sm": plain(p.visibility_sm),
                **_ceiling(p.ceiling_ft),
                "spread_c": plain(p.spread_c),
                "altimeter_inhg": plain(p.altimeter_inhg),
            }
            for p in s.trend
        ],
        "trend_words": list(s.trend_words),
        "hazards": [
            {
                "code": h.code,
                "name": h.name,
                "family": h.family,
                "message": h.message,
                "layer": h.layer,
                "group": h.group,
                "from": iso(h.start),
                "to": iso(h.end),
                "doubt": h.doubt,
            }
            for h in s.hazards
        ],
        "blocks": [_block(b) for b in s.blocks],
        "aloft": [
            {"from": iso(a), "to": iso(b), "speed_kt": plain(kt), "height_ft_agl": plain(feet)}
            for a, b, kt, feet in s.aloft
        ],
        "runways": [
            {
                "name": r.name,
                "bearing_deg_true": plain(r.bearing_deg_true),
                "head_kt": plain(r.head_kt),
                "cross_kt": plain(r.cross_kt),
                "cross_peak_kt": plain(r.cross_peak_kt),
                "tail_peak_kt": plain(r.tail_peak_kt),
                "side": r.side,
                "best": r.best,
                "bearing_estimated": r.estimated,
            }
            for r in s.runways
        ],
        "best_runway": s.best_runway.name if s.best_runway is not None else None,
        "practice_areas": [
            {
                "name": a.name,
                "where": a.where,
                "ground_ft_msl": plain(a.ground_ft_msl),
                **_ceiling(a.ceiling_now_ft, "ceiling_now"),
                **_ceiling(a.ceiling_lowest_ft, "ceiling_lowest"),
            }
            for a in s.areas
        ],
        "notices": list(source.notices),
        "sunrise": _maybe(s.sunrise),
        "sunset": _maybe(s.sunset),
        "changes": list(s.changes),
        "assumptions": assumed_lines(s),
    }


# no record holds itself; looking for that in every cell takes a tenth of the time
encode = json.JSONEncoder(ensure_ascii=False, check_circular=False).encode


def station_json_text(s: StationMorning) -> str:
    """:func:`station_json` written out. Never raises."""
    return encode(station_json(s))


def head_json(summary: MorningSummary) -> dict[str, Any]:
    """The posting without its fields. Never raises."""
    return {
        "schema": SCHEMA,
        "made_at": iso(summary.made_at),
        "do_not_use_after": iso(summary.expires_at),
        "posted_by": summary.posted_by or None,
        "school": summary.school or None,
        "made_up_demo": summary.made_up,
        "block_min": summary.block_min,
        "every_min": summary.every_min,
        "previous_posting_at": _maybe(summary.previous_at),
        "notes": list(summary.notes),
        "columns": dict(DEFINITIONS),
        "standing": standing_of(summary),
        "unserved": [{"station": u.station, "sentence": u.sentence} for u in summary.unserved],
    }


def morning_json(summary: MorningSummary) -> dict[str, Any]:
    """The whole posting. Never raises."""
    return {**head_json(summary), "stations": [station_json(s) for s in summary.stations]}


def morning_json_text(summary: MorningSummary) -> str:
    """The whole posting as JSON text, a field to a line, with a closing newline."""
    return joined(head_json(summary), [station_json_text(s) for s in summary.stations])


def joined(head: dict[str, Any], records: list[str]) -> str:
    """JSON of a posting from its head and its fields already written out."""
    fields = ",\n".join(records)
    return f'{encode(head)[:-1]}, "stations": [\n{fields}\n]}}\n'


def _of_cell(name: str, c: Cell) -> _Values:
    teaches = c.teaching.words if c.teaching is not None else None
    return name, c.suitability.words, c.stage, c.lesson, teaches, c.code or None, c.reason or None


def _of_wind(w: WindLayer) -> _Values:
    return w.from_deg_true, w.mean_kt, w.gust_kt, plain(w.low_kt), plain(w.high_kt)


def _blocks(summary: MorningSummary) -> Iterator[tuple[_Values, list[_Values], _Values]]:
    """The rows of each block in three parts: how all begin, what each column says, how all end.

    A field nothing is shown for has one row.
    """
    made = iso(summary.made_at)
    for u in summary.unserved:
        nothing = (None, "not rated", None, None, None, None, u.sentence)
        stamp = (iso(summary.expires_at), summary.made_up, None)
        yield (u.station, made, None, None), [nothing], (*[None] * 5, *stamp)
    for s in summary.stations:
        stamp = (iso(s.day.expires_at), summary.made_up, plain(s.day.station.age_min))
        for b in s.blocks:
            when = (s.station, made, iso(b.start), iso(b.end))
            yield when, [_of_cell(name, c) for name, c in b.cells.items()], (*_of_wind(b.wind), *stamp)


def morning_rows(summary: MorningSummary) -> list[dict[str, Any]]:
    """One dict for each field, block and column; a field nothing is shown for has one row. Never raises."""
    return [
        dict(zip(COLUMNS, (*when, *said, *rest), strict=True))
        for when, cells, rest in _blocks(summary)
        for said in cells
    ]


def morning_csv(summary: MorningSummary) -> str:
    """CSV text of :func:`morning_rows` with a header line. Never raises."""
    lines = [_line(COLUMNS)]
    for when, cells, rest in _blocks(summary):
        first, last = _line(when), _line(rest)
        lines += [f"{first},{_cell_line(*said)},{last}" for said in cells]
    return "\n".join(lines) + "\n"


class _Echo:
    """A file that hands back what is written to it, as ``writerow`` then does."""

    def write(self, text: str) -> str:
        return text


_write_row = csv.writer(_Echo(), lineterminator="\n").writerow


def _line(values: _Values) -> str:
    """Fields of a CSV line, quoted where they need it, without the end of the line."""
    line: Any = _write_row(values)
    return str(line[:-1])


@lru_cache(maxsize=16384)
def _cell_line(*said: str | None) -> str:
    """As :func:`_line`; cells say much the same all over a posting."""
    return _line(said)


def morning_frame(summary: MorningSummary) -> Any:
    """The same as a pandas DataFrame, one row a field, block and column."""
    import pandas as pd

    return pd.DataFrame(morning_rows(summary), columns=list(COLUMNS))
