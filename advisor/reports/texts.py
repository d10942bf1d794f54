"""Cutting a text into single reports: one a line, bulletins, collectives and gateway files."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime

from advisor.reports.identity import METAR, TAF, WINDS_ALOFT, clean, identify

_DATE_LINE = re.compile(r"(\d{4})/(\d{2})/(\d{2}) (\d{2}):(\d{2})")
# WMO heading, a line of figures, a single word such as the name of a collective
_FRAME = re.compile(r"[A-Z]{4}\d{2} [A-Z]{4} \d{6}(?: [A-Z]{3})?|\d{3}|[A-Z]{2,3}\d?[A-Z0-9]{2,3}|NNNN")
_TAF_GOES_ON = re.compile(r"(?:FM|BECMG|TEMPO|PROB|INTER|TX|TN|AMD|QNH|RMK|LAST|NEXT|WS0)")
_FRAMING_CHARACTERS = re.compile(r"[\x01-\x08\x0b-\x1f]+")


@dataclass(frozen=True, slots=True)
class TextReport:
    """One report cut out of a text: on one line, except that a winds-aloft bulletin keeps its lines. ``near``
    is the date line that stood above it, UTC, or ``None``. ``kind`` and ``station`` are "" when unknown."""

    raw: str
    kind: str = ""
    station: str = ""
    near: datetime | None = None


@dataclass(slots=True)
class _Cut:
    found: list[TextReport] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    near: datetime | None = None
    kind: str = ""

    def finish(self) -> None:
        """Close the report being read."""
        if self.lines:
            joined = "\n".join(self.lines)
            raw = joined if self.kind == WINDS_ALOFT else clean(joined)
            who = identify(raw if self.kind == WINDS_ALOFT else raw[:200])
            if raw:
                self.found.append(
                    TextReport(raw, who.kind, who.station, self.near)
                    if who
                    else TextReport(raw, near=self.near)
                )
            self.near = None
        self.lines, self.kind = [], ""


def split_reports(text: str) -> list[TextReport]:
    """The reports in a text, in order. Never raises.

    A line starts a report when it begins as one does. In a text that closes its reports with ``=``, all up to
    the sign belongs together; without it, an indented line or one that begins as a forecast goes on does, and
    any other line stands by itself, so that a damaged report never spoils its neighbour.
    """
    cut = _Cut()
    word = ""  # METAR, SPECI or TAF on a line of its own speaks for the reports under it
    closed = re.search(r"=\s*$", text, re.MULTILINE) is not None
    for line in _FRAMING_CHARACTERS.sub("\n", text).splitlines():
        stripped = line.strip()
        if not stripped:
            if cut.kind != WINDS_ALOFT:
                cut.finish()
            continue
        if "DATA BASED ON" in line:
            cut.finish()
            cut.kind, cut.lines, word = WINDS_ALOFT, [line.rstrip()], ""
            continue
        date = _DATE_LINE.fullmatch(stripped)
        if date:
            cut.finish()
            cut.near, word = _date(date), ""
            continue
        if stripped in ("METAR", "SPECI", "TAF", "TAF AMD", "TAF COR"):
            cut.finish()
            word = stripped
            continue
        if cut.kind != WINDS_ALOFT and not cut.lines and _FRAME.fullmatch(stripped):
            continue
        for piece in re.split(r"(?<==)", line):
            if piece.strip("= \t"):
                word = _take(cut, piece, word, closed)
            if piece.rstrip().endswith("="):
                cut.finish()
                word = word.split(" ")[0]
    cut.finish()
    return cut.found


def _take(cut: _Cut, piece: str, word: str, closed: bool) -> str:
    """Add one line, or part of one, to the report it belongs to; gives back the word that stays in force."""
    stripped = piece.strip()
    own_word = stripped.split(maxsplit=1)[0] in ("METAR", "SPECI", "TAF")
    if own_word or identify(stripped) is not None:
        near = cut.near if not cut.lines else None
        cut.finish()
        cut.near = near
        if own_word:
            word = ""
        who = identify(f"{word} {stripped}")
        cut.kind = who.kind if who else METAR
        cut.lines = [f"{word} {stripped}" if word else stripped]
    elif cut.kind == WINDS_ALOFT:
        if re.fullmatch(_FRAME, stripped):  # the heading of the next bulletin
            cut.finish()
        else:
            cut.lines.append(piece.rstrip())
    elif cut.lines and (closed or piece[:1].isspace() or (cut.kind == TAF and _TAF_GOES_ON.match(stripped))):
        cut.lines.append(stripped)
    else:
        cut.finish()
        cut.lines = [stripped]
    return word


def _date(match: re.Match[str]) -> datetime | None:
    year, month, day, hour, minute = (int(g) for g in match.groups())
    try:
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:
        return None
