"""The desk's morning as plain text for e-mail and chat.

ASCII only, no tabs, at most 78 columns, no columns that need a fixed-width font, hazards first.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from advisor.morning import DEFINITIONS, MorningSummary, StationMorning
from advisor.present import morning_words as w
from advisor.present.morning_lines import FieldLines, lines_of
from advisor.present.standing import MADE_UP
from advisor.present.words import US

WIDTH = 78


def ascii_text(text: str) -> str:
    """Text in ASCII: accents dropped, dashes and quotes made plain, anything else a question mark. Never raises."""
    if text.isascii():
        return text.replace("\t", " ")
    plain = text.translate(_PLAIN)
    folded = unicodedata.normalize("NFKD", plain)
    kept = "".join(c for c in folded if not unicodedata.combining(c))
    return kept.encode("ascii", "replace").decode("ascii").replace("\t", " ")


_PLAIN = str.maketrans({"–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "°": " degrees", "…": "..."})


@lru_cache(maxsize=16384)  # half of a posting's lines stand in it more than once
def wrap(text: str, indent: str = "", first: str | None = None, width: int = WIDTH) -> str:
    """Words put on lines of at most ``width``; a word longer than a line is cut. Never raises."""
    if not text.isascii() or "\t" in text:
        text = ascii_text(text)
    if "\n" in text or "  " in text or text[:1] == " " or text[-1:] == " ":
        text = " ".join(text.split())
    lead = indent if first is None else first
    if len(lead) + len(text) <= width:
        return f"{lead}{text}" if text else lead
    out, at = [], 0
    while len(text) - at > width - len(lead):
        room = width - len(lead)
        # the last space at which the line still fits, the one right behind it included
        space = text.rfind(" ", at, at + room + 1)
        end = space if space > at else at + room
        out.append(f"{lead}{text[at:end]}")
        at = end + (space > at)
        lead = indent
    out.append(f"{lead}{text[at:]}")
    return "\n".join(out)


def _list(lines: Iterable[str]) -> list[str]:
    return [wrap(x, "    ", "  - ") for x in lines]


def station_text(
    summary: MorningSummary, s: StationMorning, *, units: str = US, lines: FieldLines | None = None
) -> str:
    """One field's part of the posting.

    Parameters
    ----------
    summary : MorningSummary
    s : StationMorning
        One of its fields.
    units : str
        ``us`` or ``metric`` for heights.
    lines : FieldLines or None
        Its lines, when they are made already.

    Returns
    -------
    str
        Text with a closing newline. Never raises.
    """
    say = lines if lines is not None else lines_of(summary, s, units)
    out = [wrap(f"{s.station} {s.name}".upper()), wrap(f"Status: {say.status}.", "  ")]
    out += ["", "HAZARDS", *_list(_cited(say.hazards) or [say.none_found])]
    if say.doubts:
        out += ["DOUBTS ABOUT THE REPORTS", *_list(_cited(say.doubts))]
    out += ["", "CHANGED", *_list(say.changes)]
    out += ["", "NOW", *_list(say.now)]
    out += ["", "LAST REPORTS, newest first", *_list(say.trend)]
    out += ["", "LESSON BLOCKS, worst credible case of each", *_list(say.forecast)]
    for block in say.blocks:
        out += ["", wrap(f"{block.local} ({block.zulu})")]
        for said in w.said_of(block.cells):
            about = f"{w.joined(said.columns)}: {said.word.upper()}"
            about += f". {said.lesson}" if said.lesson else ""
            about += f". Because {said.reason}" if said.reason else ""
            about += f" [{said.group}]" if said.group else "."
            out.append(wrap(about, "    ", "  - "))
        out.append(wrap(block.wind, "    ", "  - "))
    if not say.blocks:
        out.append(wrap(f"N{w.no_block_words(s)[1:]}.", "    ", "  - "))
    out += ["", "WIND NOW AND ABOVE", *_list(say.winds)]
    out += ["", "RUNWAYS NOW", *_list(say.runways)]
    out += ["", "PRACTICE AREAS", *_list(say.areas)]
    out += ["", "RESTRICTIONS AND NOTICES", *_list(say.notices)]
    out += ["", "DAYLIGHT AND NEXT UPDATE", *_list(say.daylight)]
    out += ["", "ASSUMED", *_list(say.assumed)]
    return "\n".join(out) + "\n"


def _cited(pairs: Iterable[tuple[str, str]]) -> list[str]:
    return [f"{text} [{group}]" if group else text for text, group in pairs]


def head_text(summary: MorningSummary, *, only: StationMorning | None = None) -> str:
    """Title, times, who posted it, and the index of fields, worst first; of one field alone without the index."""
    made = w.made_words(summary) if only is None else w.station_made_words(summary, only)
    out = [wrap(w.heading(summary).upper()), wrap(made), wrap(w.posted_words(summary))]
    if summary.made_up:
        out.append(wrap(MADE_UP))
    out += _notes(summary)
    if only is None and summary.unserved:
        out += ["", "NOTHING CAN BE SHOWN FOR", *_list(w.unserved_lines(summary))]
    if only is None and len(summary.stations) + len(summary.unserved) > 1 and summary.stations:
        out += ["", "FIELDS, worst first"]
        out += [wrap(f"{s.station}: {w.status_line(s)}", "    ", "  - ") for s in summary.stations]
    return "\n".join(out) + "\n"


def _notes(summary: MorningSummary) -> list[str]:
    return [wrap(f"Note: {x}", "  ") for x in summary.notes]


def foot_text(summary: MorningSummary) -> str:
    """What the columns and the words mean, and the lines every posting carries."""
    out = ["WHAT THE WORDS MEAN"]
    out += _list(f"{name}: {meaning}." for name, meaning in DEFINITIONS.items())
    out += _list(
        (
            "hold, ask first, with care, suited: from worst to best. Not rated: the inputs it needs are missing.",
            "Each block shows the worst of its hours, TEMPO and PROB included. advisor rules CODE explains a code.",
        )
    )
    out += ["", *(wrap(x) for x in w.standing_of(summary))]
    return "\n".join(out) + "\n"


def morning_text(summary: MorningSummary, *, units: str = US) -> str:
    """The whole posting.

    Parameters
    ----------
    summary : MorningSummary
    units : str
        ``us`` or ``metric`` for heights.

    Returns
    -------
    str
        ASCII text of at most 78 columns with a closing newline. Never raises.
    """
    rule = "-" * 40
    parts = [head_text(summary)]
    parts += [f"{rule}\n{station_text(summary, s, units=units)}" for s in summary.stations]
    parts.append(f"{rule}\n{foot_text(summary)}")
    return "\n".join(parts)
