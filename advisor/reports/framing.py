"""Cuts any text of reports into single reports: bulletins, gateway files, service answers, pasted lines.

Bulletins carry a heading (``SAUS70 KWBC 221800``), sometimes one word ``METAR`` or ``TAF`` for many reports,
and end each report with ``=`` and each line with CR CR LF; the national gateway's files put a date line first,
and archives the date and time in front of the report; other text has one report a line, with continuation lines
indented or starting with a group. Sources: WMO No. 386 for the heading and the line ends; the gateway's, the
archives' and the service's own answers for the rest.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports import metar_groups as g

METAR, TAF, WINDS_ALOFT, UNKNOWN = "metar", "taf", "winds-aloft", "unknown"


@dataclass(frozen=True, slots=True)
class RawReport:
    """One report as found. ``kind`` is metar, taf, winds-aloft or unknown; ``date_hint`` is the time of a
    date line above it, aware UTC, or ``None``."""

    kind: str
    text: str
    date_hint: datetime | None = None


_HEADING = pattern(r"([A-Z]{2})[A-Z]{2}\d{0,2} [A-Z]{4} \d{6}(?: [A-Z]{3})?", re.ASCII)
_EXTRACTED = pattern(r"\(EXTRACTED FROM F[BD].{0,40}")
_ALOFT_LINE = pattern(r"DATA BASED ON \d{6}Z?.{0,40}|FT +3000\b.{0,80}", re.ASCII)
_PRODUCT = pattern(r"(?:MTR|TAF|FD\d|FB\d)[A-Z0-9]{2,3}", re.ASCII)
_NUMBER = pattern(r"\d{3,5}|NNNN|ZCZC.{0,20}", re.ASCII)
_DATE_LINE = pattern(r"(\d{4}/\d\d/\d\d) (\d\d:\d\d)(?: UTC|Z)?", re.ASCII)
_DATE_IN_FRONT = pattern(r"(?:(\d{4}/\d\d/\d\d) (\d\d:\d\d)|(20\d{6}|19\d{6})(\d{4})) (?=[A-Z])", re.ASCII)
_WORD_ALONE = pattern(r"(METAR|SPECI|TAF)(?: (?:AMD|COR|NIL))?")
_START = pattern(
    r"(?:(?:COR )?(METAR|SPECI|TAF)\b.{0,24}"
    r"|(?:COR |AMD |RTD |CC[A-X] )?[A-Z][A-Z0-9]{3} (?:(?:COR|CC[A-Z]|RTD|AMD) )?\d{6}Z?(?: (\d{4}/\d{4}|\d{6})\b)?)",
    re.ASCII,
)
_TAF_PERIOD = pattern(r"[A-Z][A-Z0-9]{3} (?:COR |AMD )?(?:\d{6}Z? )?\d{4}/\d{4}\b", re.ASCII)
_FORECAST_WORDS = ("FM", "TEMPO", "BECMG", "PROB", "TX", "TN", "QNH", "WS0", "AMD", "LAST", "NSW", "CNL")
_KIND_OF_HEADING = {"SA": METAR, "SP": METAR, "FT": TAF, "FC": TAF, "FB": WINDS_ALOFT, "FD": WINDS_ALOFT}
#: Bulletins end their lines in CR CR LF; the second CR is no blank line, which would end a report.
_LINE_END = pattern(r"(?<!\r)\r+\n")  # from the first CR on: else a run of them is read once for each
_CONTROL = dict.fromkeys(range(32), " ") | {127: " ", 10: "\n", 13: "\n", 0x1E: None, 0xFEFF: None}


def split_reports(text: str) -> list[RawReport]:
    """Single reports in the order they stand.

    Parameters
    ----------
    text : str
        Anything: one report, a file, a bulletin, several bulletins one after the other.

    Returns
    -------
    list of RawReport
        METARs and TAFs on one line each, without the closing ``=``; a winds-aloft bulletin kept whole with
        its line breaks; a line that starts no report and continues none by itself as ``unknown``, so that
        nothing is dropped without a trace. Headings, numbers and control characters are left out. Never
        raises; time is linear in the text.
    """
    splitter = _Splitter()
    text = _LINE_END.sub("\n", text)
    for line in text.translate(_CONTROL).split("\n"):
        splitter.take(line)
    splitter.flush()
    return splitter.found


class _Splitter:
    def __init__(self) -> None:
        self.found: list[RawReport] = []
        self.lines: list[str] = []
        self.kind = UNKNOWN
        self.word = ""  # METAR or TAF standing once above many reports
        self.heading_kind: str | None = None
        self.date_hint: datetime | None = None

    def flush(self) -> None:
        lines, self.lines = self.lines, []
        if not lines:
            return
        if self.kind == WINDS_ALOFT:
            self.found.append(RawReport(WINDS_ALOFT, "\n".join(lines), self.date_hint))
        else:
            self.found.append(RawReport(self.kind, " ".join(lines), self.date_hint))
        self.kind = UNKNOWN

    def take(self, line: str) -> None:
        stripped = line.strip()
        dated = _DATE_IN_FRONT.match(stripped) if stripped[:1].isdigit() else None
        if dated is not None:
            self.flush()
            day, clock, figures, minutes = dated.groups()
            if figures is not None:
                day, clock = f"{figures[:4]}/{figures[4:6]}/{figures[6:]}", f"{minutes[:2]}:{minutes[2:]}"
            self._read_date(day, clock)
            line = stripped = stripped[dated.end() :]
        upper = stripped.upper()
        # Most lines start a report; a short one may be the word METAR alone.
        starts = len(upper) > 12 and _START.match(upper) is not None
        if not starts and self._is_framing(upper):
            return
        if self.kind == WINDS_ALOFT and self.lines and not starts:
            if upper:
                self.lines.append(line.rstrip())
            return
        if not upper:
            self.flush()
            return
        indented = line[:1] in (" ", "\t")
        parts = stripped.split("=")
        for position, part in enumerate(parts):
            if part.strip():
                self._take_part(part.strip(), indented and position == 0)
            if position < len(parts) - 1:
                self.flush()

    def _is_framing(self, upper: str) -> bool:
        """True for a line that frames reports and belongs to none."""
        heading = _HEADING.fullmatch(upper)
        if heading is not None or _EXTRACTED.fullmatch(upper):
            self.flush()
            self.word = ""
            self.heading_kind = _KIND_OF_HEADING.get(heading.group(1)) if heading else WINDS_ALOFT
            if self.heading_kind == WINDS_ALOFT:
                self.kind, self.lines = WINDS_ALOFT, [upper]
            return True
        if _ALOFT_LINE.fullmatch(upper) and self.kind != WINDS_ALOFT:
            self.flush()
            self.kind, self.lines = WINDS_ALOFT, [upper]
            return True
        date = _DATE_LINE.fullmatch(upper)
        if date is not None:
            self.flush()
            self._read_date(*date.groups())
            return True
        if _NUMBER.fullmatch(upper) or (_PRODUCT.fullmatch(upper) and self.kind != WINDS_ALOFT):
            self.flush()
            return True
        if _WORD_ALONE.fullmatch(upper):
            self.flush()
            self.word = upper
            return True
        return False

    def _read_date(self, day: str, time: str) -> None:
        try:
            self.date_hint = datetime.strptime(f"{day} {time}", "%Y/%m/%d %H:%M").replace(tzinfo=UTC)
        except ValueError:
            self.date_hint = None

    def _take_part(self, part: str, indented: bool) -> None:
        upper = " ".join(part.upper().split())
        start = _START.match(upper)
        if start is None and self.lines and (indented or self._continues(upper)):
            self.lines.append(part)
            return
        self.flush()
        self.kind = self._kind_of(upper, start)
        if self.word and self.kind != UNKNOWN and not upper.startswith(("METAR", "SPECI", "TAF")):
            part = f"{self.word} {part}"
        self.lines = [part]

    def _kind_of(self, upper: str, start: re.Match[str] | None) -> str:
        first = start.group(1) if start is not None else None
        if first is not None:
            return TAF if first == "TAF" else METAR
        if self.word:
            return TAF if self.word.startswith("TAF") else METAR
        if (start is not None and start.group(2)) or _TAF_PERIOD.match(upper):
            return TAF
        if start is None:
            return UNKNOWN
        return TAF if self.heading_kind == TAF else METAR

    def _continues(self, upper: str) -> bool:
        """True when a line that starts no report can only be more of the one before it."""
        first, _, rest = upper.partition(" ")
        if self.heading_kind is not None or self.word:
            return True  # in a bulletin a report ends at "=", at a blank line or where the next one starts
        if self.kind == TAF and first.startswith(_FORECAST_WORDS):
            return True
        kind = g.classify(first)[0]
        if kind in (g.UNKNOWN, g.BAD_WIND, g.BAD_SKY, g.BAD_VISIBILITY, g.NUMBER):
            return kind == g.NUMBER and rest.split(" ", 1)[0].endswith("SM")
        # A wind where there is one already belongs to another report whose start was lost.
        return not (kind in (g.WIND, g.AUTO, g.COR) and self.kind != TAF and len(self.lines[-1]) > 24)
