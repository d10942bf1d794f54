"""Real forecasts against the government decode, over any folder in the sample's format (``--reports DIR``).

``decoded_sample.csv`` rows of kind TAF_PERIOD: US government aviation weather data server (public domain).
Every period's wind and times must be right and its visibility and ceiling never better than decoded. The
one way out is a row of ``EXPLAINED``: a difference that is not listed fails, and so does a listing that no
longer differs.
"""

from __future__ import annotations

import csv
import re
from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from advisor.errors import DecodeError
from advisor.reports.decode_taf import decode_taf
from advisor.reports.taf_timeline import taf_at, timeline
from advisor.reports.types import CeilingState, Taf, TafPeriod
from advisor.wind import Wind, WindState

#: (start of the report, period number in the decode, what differs) -> who is right, and why.
EXPLAINED: dict[tuple[str, str, str], str] = {}

STEERING = ("BASE", "FM", "BECMG")
# Independent of the decoder: a whole wind group, and a head nobody could misread.
WIND_WORD = re.compile(r"(?<!\S)(\d{3}|VRB)(\d{2,3})(?:G(\d{2,3}))?(KT|MPS)(?!\S)")
PLAIN_HEAD = re.compile(
    r"TAF (?:AMD |COR )?[A-Z][A-Z0-9]{3} (?:(?:[0-2]\d|3[01])(?:[01]\d|2[0-3])[0-5]\dZ )?"
    r"(?:AMD |COR )?"
    r"(?:(?:0[1-9]|[12]\d|3[01])(?:[01]\d|2[0-4])/(?:0[1-9]|[12]\d|3[01])(?:[01]\d|2[0-4]) |NIL)"
)


def rows(path: Path, **options: Any) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as handle:
        return list(csv.DictReader(handle, **options))


def decoded_periods(folder: Path) -> dict[tuple[str, str], list[dict[str, str]]]:
    """TAF_PERIOD rows by report."""
    found: dict[tuple[str, str], list[dict[str, str]]] = defaultdict(list)
    for row in rows(folder / "decoded_sample.csv"):
        if row["kind"] == "TAF_PERIOD":
            found[row["raw"], row["observed_or_issued"]].append(row)
    return found


def sample(folder: Path) -> list[tuple[str, datetime]]:
    """Raw forecasts with a moment to read each by: its issue date where kept, else its day of some month."""
    out = []
    for row in rows(folder / "taf_sample.tsv", delimiter="\t", quoting=csv.QUOTE_NONE):
        if row["issued"]:
            now = datetime.fromisoformat(row["issued"])
            now = now.replace(tzinfo=UTC) if now.tzinfo is None else now
        else:
            day = re.search(r"(?<!\S)(\d\d)\d{4}Z|(?<!\S)(\d\d)\d\d/\d{4}(?!\S)", row["raw"])
            now = datetime(2024, 1, int(day.group(1) or day.group(2)) if day else 15, 12, tzinfo=UTC)
        out.append((row["raw"], now))
    return out


def as_decoded(wind: Wind | None) -> tuple[str, str, str] | None:
    """A wind as the decode prints it; None when there is none."""
    if wind is None or not wind.known:
        return None
    direction = {WindState.VARIABLE: "VRB", WindState.CALM: "CALM"}.get(wind.state, str(wind.from_deg_true))
    return direction, str(wind.speed_kt), "" if wind.gust_kt is None else str(wind.gust_kt)


def ends(taf: Taf) -> dict[int, datetime]:
    """End of each period as the decode draws it: BASE, FM and BECMG run until the next of them starts."""
    steering = sorted((p for p in taf.periods if p.change in STEERING), key=lambda p: p.start)
    until = [*(p.start for p in steering[1:]), taf.valid_to]
    found = {id(p): p.end for p in taf.periods}
    found.update({id(p): end for p, end in zip(steering, until, strict=True)})
    return found


def differences(taf: Taf, period: TafPeriod, end: datetime, row: dict[str, str]) -> list[str]:
    """What differs between one period and its decoded row."""
    out = []
    if end != datetime.fromisoformat(row["period_to"]):
        out.append("end")
    if row["prob"] and str(period.probability) != row["prob"]:
        out.append("probability")
    # Where a BECMG restates nothing the decode may carry the element over; so does our timeline, at its end.
    merged = taf_at(taf, min(period.end, taf.valid_to - timedelta(minutes=1))).prevailing
    theirs = (row["wdir"], row["wspd_kt"], row["wgst_kt"]) if row["wspd_kt"] else None
    ours = as_decoded(period.wind)
    if ours is None and theirs is not None and period.change == "BECMG" and merged is not None:
        ours = as_decoded(merged.wind)
    if ours != theirs:
        out.append("wind")
    miles = None if period.visibility is None else period.visibility.miles
    if miles is not None and (not row["vis_sm"] or miles > float(row["vis_sm"]) + 0.02):
        out.append("visibility")
    if period.visibility is not None and miles is None and row["vis_sm"] and period.visibility.raw == "":
        out.append("visibility lost")
    sky = period.sky
    if sky is not None and sky.ceiling_state is not CeilingState.UNKNOWN:
        theirs_ft = int(float(row["ceiling_ft"])) if row["ceiling_ft"] else None
        better = theirs_ft is not None and (sky.ceiling_ft_agl is None or sky.ceiling_ft_agl > theirs_ft)
        if better or (sky.ceiling_ft_agl is not None and theirs_ft is None and row["sky"]):
            out.append("ceiling")
    return out


def test_every_decoded_period_has_its_wind_and_times(reports_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unlisted: list[str] = []
    seen: set[tuple[str, str, str]] = set()
    present: set[str] = set()
    counts: Counter[str] = Counter()
    for (raw, issued), expected in decoded_periods(reports_dir).items():
        counts["forecasts"] += 1
        head = raw[:40]
        present.add(head)
        taf = decode_taf(raw, datetime.fromisoformat(issued))
        drawn = ends(taf)
        for row in expected:
            counts["periods"] += 1
            change = row["change"] or "BASE"
            start = datetime.fromisoformat(row["period_from"])
            same = [p for p in taf.periods if p.start == start and p.change in (change, _plain(change))]
            if len(same) > 1:  # two of a kind from the same hour: told apart by chance, end or wind
                same = [p for p in same if not differences(taf, p, drawn[id(p)], row)] or same
            found = differences(taf, same[0], drawn[id(same[0])], row) if same else ["period not found"]
            counts["agree" if not found else "differ"] += 1
            for what in found:
                key = (head, row["period"], what)
                seen.add(key)
                if key not in EXPLAINED:
                    unlisted.append(f"{key}: {row['period_from']} {change} {same[0].raw if same else ''}")
    stale = [key for key in EXPLAINED if key[0] in present and key not in seen]
    with capsys.disabled():
        print(f"\nTAF periods against the decode: {dict(counts)}, explained {len(seen)}")
    assert counts["periods"] > 0
    assert unlisted == []
    assert stale == []


def _plain(change: str) -> str:
    """PROB with TEMPO is TEMPO with a probability here."""
    return "TEMPO" if change.startswith("PROB") else change


def test_every_forecast_with_a_plain_head_decodes(reports_dir: Path, capsys: pytest.CaptureFixture[str]) -> None:
    counts: Counter[str] = Counter()
    refused: list[str] = []
    for raw, now in sample(reports_dir):
        counts["forecasts"] += 1
        try:
            taf = decode_taf(raw, now)
        except DecodeError:
            counts["no forecast"] += 1
            refused.append(raw)
            continue
        counts["no content"] += taf.nil or taf.cancelled
        counts["unreliable group"] += bool(taf.unreliable)
        counts["not understood token"] += any(p.not_understood for p in taf.periods)
        counts["periods"] += len(taf.periods)
        unread = [p for p in taf.periods if p.wind is not None and p.wind.state is WindState.NOT_UNDERSTOOD]
        counts["wind not understood"] += len(unread)
        prevailing = [s for s in timeline(taf) if s.layer == "prevailing"]
        if taf.periods:
            assert (prevailing[0].start, prevailing[-1].end) == (taf.valid_from, taf.valid_to)
    with capsys.disabled():
        print(f"\nTAF sample: {dict(counts)}")
    assert counts["forecasts"] > 0
    assert [raw for raw in refused if PLAIN_HEAD.match(raw)] == []
    assert counts["no forecast"] <= 0.02 * counts["forecasts"]
    assert counts["unreliable group"] <= 0.05 * counts["forecasts"]


def test_printed_winds_are_the_decoded_winds(reports_dir: Path) -> None:
    """Against a bare pattern over the text: none invented, none dropped without being listed."""
    checked = dropped = 0
    for raw, now in sample(reports_dir):
        try:
            taf = decode_taf(raw, now)
        except DecodeError:
            continue
        listed = " ".join([*taf.not_understood, taf.limits_note or ""])
        printed = Counter(WIND_WORD.findall(raw)) - Counter(WIND_WORD.findall(listed))
        decoded: Counter[tuple[str, ...]] = Counter()
        for period in (*taf.periods, *taf.unreliable):
            wind = period.wind
            for token in period.not_understood:
                printed -= Counter(WIND_WORD.findall(token))
            if wind is None or wind.state is WindState.MISSING:
                continue
            if wind.state is WindState.NOT_UNDERSTOOD:
                dropped += 1
                printed -= Counter(WIND_WORD.findall(wind.raw))
                continue
            (word,) = WIND_WORD.findall(wind.raw.split()[0])
            decoded[word] += 1
            _, speed, gust, unit = word
            factor = 1.0 if unit == "KT" else 3600 / 1852
            assert wind.speed_kt == pytest.approx(int(speed) * factor, abs=0.51), raw
            assert wind.gust_kt == (pytest.approx(int(gust) * factor, abs=0.51) if gust else None), raw
            assert wind.from_deg_true == (int(word[0]) if wind.state is WindState.STEADY else None), raw
            checked += 1
        for period in taf.unreliable:  # its text is in the forecast's own list as well
            printed += Counter(WIND_WORD.findall(period.raw))
        assert printed - decoded == Counter(), raw
        assert decoded - printed == Counter(), raw
    assert checked > 0
    assert dropped <= 0.001 * checked


def test_printed_hours_are_the_decoded_hours(reports_dir: Path) -> None:
    """Every DDHH/DDHH and FMDDHHMM read back from the decoded times."""
    checked = 0
    for raw, now in sample(reports_dir):
        try:
            taf = decode_taf(raw, now)
        except DecodeError:
            continue
        assert timedelta(0) <= taf.valid_to - taf.valid_from <= timedelta(hours=48), raw
        for period in taf.periods:
            stamp = re.match(r"FM(\d\d)(\d\d)(\d\d)(?!\d)", period.raw)
            hours = re.search(r"(\d\d)(\d\d)/(\d\d)(\d\d)", period.raw)
            if stamp is not None:
                day, hour, minute = map(int, stamp.groups())
                assert printed(period.start - timedelta(minutes=minute), day, hour), raw
            elif hours is not None and period.change != "BASE":
                day, hour, end_day, end_hour = map(int, hours.groups())
                assert printed(period.start, day, hour), raw
                assert printed(period.end, end_day, end_hour), raw
                assert period.start < period.end, raw
            else:
                continue
            assert taf.valid_from - timedelta(hours=24) <= period.start <= taf.valid_to, raw
            checked += 1
    assert checked > 0


def printed(time: datetime, day: int, hour: int) -> bool:
    if hour == 24:
        time -= timedelta(hours=24)
        hour = 0
    return (time.day, time.hour, time.minute) == (day, hour, 0)
