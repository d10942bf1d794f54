"""Our METAR decodes beside the government data server's, and the kinds of difference that are explained.

A difference is explained by its *kind*, a predicate that looks at the printed report itself, so that a larger
set of the same reports can be judged by the same list. Each kind is listed in fixtures/adjudicated_metar.csv
with an example; a kind whose example no longer shows the difference is stale and fails.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.types import CeilingState, Metar
from advisor.wind import WindState

#: Reports without a date of their own; any date serves, for no date is compared.
UNDATED = datetime(2022, 10, 23, 12, tzinfo=UTC)
FIELDS = ("wind", "gust", "visibility", "ceiling", "temperature", "dewpoint", "altimeter")


@dataclass(frozen=True)
class Theirs:
    """One row of the government decode; a blank is ``None``."""

    raw: str
    observed: datetime
    wind_from: str  # degrees, VRB, CALM or blank
    speed_kt: int | None
    gust_kt: int | None
    visibility_sm: float | None
    ceiling_ft: int | None
    temperature_c: float | None
    dewpoint_c: float | None
    altimeter_inhg: float | None


def when(text: str) -> datetime:
    """A time of the samples: ISO, a bare date or blank."""
    if not text:
        return UNDATED
    found = datetime.fromisoformat(text)
    return found if found.tzinfo else found.replace(hour=found.hour or 12, tzinfo=UTC)


def read_decodes(path: Path) -> list[Theirs]:
    """METAR rows of decoded_sample.csv."""

    def number(text: str) -> float | None:
        return float(text) if text else None

    def whole(text: str) -> int | None:
        return round(float(text)) if text else None

    with path.open(newline="", encoding="utf-8") as handle:
        return [
            Theirs(
                row["raw"],
                when(row["observed_or_issued"]),
                row["wdir"],
                whole(row["wspd_kt"]),
                whole(row["wgst_kt"]),
                number(row["vis_sm"]),
                whole(row["ceiling_ft"]),
                number(row["temp_c"]),
                number(row["dewp_c"]),
                number(row["altim_inhg"]),
            )
            for row in csv.DictReader(handle)
            if row["kind"] == "METAR"
        ]


def read_raw(path: Path) -> Iterator[tuple[str, datetime]]:
    """Reports of metar_sample.tsv (time, raw) or malformed_sample.tsv (raw, note)."""
    with path.open(encoding="utf-8") as handle:
        header = handle.readline().rstrip("\n").split("\t")
        at = header.index("raw")
        for line in handle:
            cells = line.rstrip("\n").split("\t")
            yield cells[at], when(cells[0]) if at else UNDATED


def body(raw: str) -> str:
    """What is printed before remarks and trend: the part the compared fields come from."""
    return re.split(r" (?:RMK|TEMPO|BECMG|NOSIG|INTER|FM\d{4})\b", " ".join(raw.split()))[0]


# --- comparison ---


def wind_verdict(ours: Metar, theirs: Theirs) -> str:
    """same, missing, flagged (not understood), wrong, or ours-only."""
    wind = ours.wind
    if wind.state is WindState.NOT_UNDERSTOOD:
        return "flagged" if theirs.speed_kt is not None else "both without"
    if wind.state is WindState.MISSING:
        return "both without" if theirs.speed_kt is None or theirs.wind_from == "" else "missing"
    if theirs.speed_kt is None:
        return "ours-only"
    direction = {WindState.CALM: "CALM", WindState.VARIABLE: "VRB"}.get(wind.state, str(wind.from_deg_true))
    calm_as_zero = wind.state is WindState.CALM and theirs.wind_from in ("0", "CALM")
    same = (direction == theirs.wind_from or calm_as_zero) and wind.speed_kt == theirs.speed_kt
    return "same" if same else "wrong"


def gust_verdict(ours: Metar, theirs: Theirs) -> str:
    """As for the wind; a gust that only one of the two has is wrong."""
    if not ours.wind.known:
        return "both without" if theirs.gust_kt is None else "flagged"
    if ours.wind.gust_missing and theirs.gust_kt is None:
        return "both without"
    return "same" if ours.wind.gust_kt == theirs.gust_kt else "wrong"


def visibility_verdict(ours: Metar, theirs: Theirs) -> str:
    """same, worse (lower, or unknown, or less than), or better (which must be explained)."""
    miles = ours.visibility.miles
    if miles is None:
        return "both without" if theirs.visibility_sm is None else "unknown"
    if theirs.visibility_sm is None:
        return "better"
    if abs(miles - theirs.visibility_sm) <= 0.011:
        return "same"
    return "better" if miles > theirs.visibility_sm else "worse"


def ceiling_verdict(ours: Metar, theirs: Theirs) -> str:
    """same, worse, unknown or better; a blank of theirs is no ceiling or no sky, and never beaten."""
    sky = ours.sky
    if sky.ceiling_state is CeilingState.UNKNOWN:
        return "both without" if theirs.ceiling_ft is None else "unknown"
    if theirs.ceiling_ft is None:
        return "worse" if sky.ceiling_state is CeilingState.AT else "same"
    if sky.ceiling_ft_agl is None or sky.ceiling_ft_agl > theirs.ceiling_ft:
        return "better"
    return "same" if sky.ceiling_ft_agl == theirs.ceiling_ft else "worse"


def _near(ours: float | None, theirs: float | None, within: float) -> str:
    if ours is None or theirs is None:
        return "both without" if ours is theirs else "missing" if ours is None else "ours-only"
    return "same" if abs(ours - theirs) <= within else "differs"


VERDICTS: dict[str, Callable[[Metar, Theirs], str]] = {
    "wind": wind_verdict,
    "gust": gust_verdict,
    "visibility": visibility_verdict,
    "ceiling": ceiling_verdict,
    "temperature": lambda o, t: _near(o.temperature_c, t.temperature_c, 0.05),
    "dewpoint": lambda o, t: _near(o.dewpoint_c, t.dewpoint_c, 0.05),
    "altimeter": lambda o, t: _near(o.altimeter_inhg, t.altimeter_inhg, 0.011),
}
#: Verdicts that need an explanation.
MUST_EXPLAIN = {
    "wind": ("wrong", "ours-only"),
    "gust": ("wrong",),
    "visibility": ("better",),
    "ceiling": ("better",),
}

# --- explained kinds: each looks at the print, independently of the decoder ---

_PLAIN_VISIBILITY = re.compile(
    r"(?<!\S)(?:(?P<m>\d{4})(?:NDV)?|(?P<w>\d{1,3}) ?SM|P(?:(?P<pm>\d{4})|(?P<pw>\d)SM)|(?P<km>\d{1,2})KM"
    r"|(?:(?P<mw>\d) )?(?P<a>\d{1,2})/(?P<b>\d{1,2})SM)(?!\S)"
)
_PLAIN_WIND = re.compile(r"(?<!\S)(\d{3}|VRB)(\d{2})(?:G(\d{2}))?KT(?!\S)")
_PLAIN_CEILING = re.compile(r"(?<!\S)(?:BKN|OVC|VV)(\d{3})")


def _printed_miles(raw: str) -> list[float]:
    found = []
    for match in _PLAIN_VISIBILITY.finditer(body(raw)):
        metres, km = match["m"] or match["pm"], match["km"]
        if metres:
            found.append((10_000 if metres == "9999" else int(metres)) / 1609.344)
        elif km:
            found.append(int(km) / 1.609344)
        elif match["a"]:
            found.append(int(match["mw"] or 0) + int(match["a"]) / int(match["b"]))
        else:
            found.append(float(match["w"] or match["pw"]))
    return found


def _ours_is_the_only_print(ours: Metar, raw: str) -> bool:
    printed = _printed_miles(raw)
    return len(printed) == 1 and ours.visibility.miles is not None and abs(printed[0] - ours.visibility.miles) < 0.001


def _ndv(ours: Metar, theirs: Theirs) -> bool:
    return theirs.visibility_sm is None and "NDV" in body(theirs.raw) and _ours_is_the_only_print(ours, theirs.raw)


def _blank_but_printed(ours: Metar, theirs: Theirs) -> bool:
    return theirs.visibility_sm is None and _ours_is_the_only_print(ours, theirs.raw)


def _figure_not_printed(ours: Metar, theirs: Theirs) -> bool:
    return theirs.visibility_sm is not None and _ours_is_the_only_print(ours, theirs.raw)


def _ceiling_not_printed(ours: Metar, theirs: Theirs) -> bool:
    heights = [int(text) * 100 for text in _PLAIN_CEILING.findall(body(theirs.raw))]
    return (
        theirs.ceiling_ft is not None
        and theirs.ceiling_ft not in heights
        and ours.sky.ceiling_ft_agl == min(heights, default=None)
    )


def _vrb_written_zero(ours: Metar, theirs: Theirs) -> bool:
    return (
        theirs.wind_from == "0"
        and ours.wind.state is WindState.VARIABLE
        and ours.wind.speed_kt == theirs.speed_kt
        and " VRB" in body(theirs.raw)
    )


def _blank_but_printed_wind(ours: Metar, theirs: Theirs) -> bool:
    printed = _PLAIN_WIND.findall(body(theirs.raw))
    return (
        theirs.speed_kt is None
        and len(printed) == 1
        and int(printed[0][1]) == ours.wind.speed_kt
        and int(printed[0][2] or -1) == (ours.wind.gust_kt or -1)
    )


KINDS: dict[str, Callable[[Metar, Theirs], bool]] = {
    "ndv-dropped": _ndv,
    "blank-but-printed": _blank_but_printed,
    "figure-not-printed": _figure_not_printed,
    "ceiling-not-printed": _ceiling_not_printed,
    "vrb-written-zero": _vrb_written_zero,
    "blank-but-printed-wind": _blank_but_printed_wind,
}


@dataclass(frozen=True)
class Listing:
    """One line of the adjudicated list."""

    kind: str
    field: str
    example: str
    theirs: str
    reason: str

    def their_row(self) -> Theirs:
        """The example with the source's reading of the listed field; the others as we read them."""
        ours = decode_metar(self.example, UNDATED)
        parts: dict[str, object] = {
            "wind_from": str(ours.wind.from_deg_true or "VRB"),
            "speed_kt": ours.wind.speed_kt,
            "gust_kt": ours.wind.gust_kt,
            "visibility_sm": ours.visibility.miles,
            "ceiling_ft": ours.sky.ceiling_ft_agl,
        }
        if self.field == "wind":
            direction, speed, gust = self.theirs.split("/")
            parts |= {
                "wind_from": direction,
                "speed_kt": int(speed) if speed else None,
                "gust_kt": int(gust) if gust else None,
            }
        elif self.field == "visibility":
            parts["visibility_sm"] = float(self.theirs) if self.theirs else None
        else:
            parts["ceiling_ft"] = int(self.theirs) if self.theirs else None
        return Theirs(self.example, UNDATED, temperature_c=None, dewpoint_c=None, altimeter_inhg=None, **parts)  # type: ignore[arg-type]


def read_listings(path: Path) -> list[Listing]:
    """The adjudicated list."""
    with path.open(newline="", encoding="utf-8") as handle:
        return [Listing(**row) for row in csv.DictReader(handle)]


def stale(listing: Listing) -> str | None:
    """Why a listing no longer explains anything, or ``None``."""
    theirs = listing.their_row()
    ours = decode_metar(listing.example, UNDATED)
    verdict = VERDICTS[listing.field](ours, theirs)
    if verdict not in MUST_EXPLAIN[listing.field]:
        return f"{listing.kind}: its example is now {verdict}, so there is nothing to explain"
    if not KINDS[listing.kind](ours, theirs):
        return f"{listing.kind}: the kind no longer covers its own example"
    return None


@dataclass
class Agreement:
    """What a run over many reports found."""

    rows: int
    verdicts: dict[str, Counter[str]]
    explained: Counter[str]
    unlisted: list[str]
    refused: list[str]

    def table(self) -> str:
        """Counts a field and verdict, for people."""
        lines = [f"{self.rows} reports with a government decode; {len(self.refused)} refused with a sentence"]
        for field in FIELDS:
            counts = ", ".join(f"{name} {count}" for name, count in self.verdicts[field].most_common())
            lines.append(f"  {field:<12} {counts}")
        lines.append("  explained    " + (", ".join(f"{k} {n}" for k, n in self.explained.items()) or "none"))
        lines += [f"  UNLISTED     {line}" for line in self.unlisted]
        return "\n".join(lines)


def compare(decodes: list[Theirs], listings: list[Listing]) -> Agreement:
    """Every field of every report, and which differences the list explains."""
    verdicts: dict[str, Counter[str]] = {field: Counter() for field in FIELDS}
    explained: Counter[str] = Counter()
    unlisted: list[str] = []
    refused: list[str] = []
    for theirs in decodes:
        try:
            ours = decode_metar(theirs.raw, theirs.observed)
        except AdvisorError as error:
            refused.append(f"{theirs.raw[:60]}: {error}")
            if theirs.speed_kt is not None:
                unlisted.append(f"refused although the source reads a wind: {theirs.raw}: {error}")
            continue
        for field in FIELDS:
            verdict = VERDICTS[field](ours, theirs)
            verdicts[field][verdict] += 1
            if verdict not in MUST_EXPLAIN.get(field, ()):
                continue
            kind = next((x.kind for x in listings if x.field == field and KINDS[x.kind](ours, theirs)), None)
            if kind is None:
                unlisted.append(f"{field} {verdict}: {theirs} | ours {ours.wind} {ours.visibility} {ours.sky}")
            else:
                explained[kind] += 1
    return Agreement(len(decodes), verdicts, explained, unlisted, refused)
