"""The text of a forecast cut into its change groups, and the hours each of them names.

A group whose time is damaged keeps ``start`` None and the damaged tokens in ``bad``; nothing is placed by guessing.
After AMD, LAST, NO, RMK and the like nothing is forecast until the next change word, so the hours in such
notes are never read as a wind. Sources: the NWS/FAA key to METAR and TAF, WMO No. 306 FM 51.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import field
from datetime import datetime, timedelta

from advisor.patterns import pattern
from advisor.records import dataclass
from advisor.reports.decode_taf_groups import UNKNOWN, classify, number_list
from advisor.reports.decode_taf_header import HOURS, LONGEST, PERIOD, STAMP, Header, later_clock
from advisor.reports.decode_taf_times import near, next_clock
from advisor.reports.wind_tokens import is_wind

_FROM = pattern(r"FM(?:(\d{2}))?(\d{2})(\d{2})Z?", re.ASCII)
_PROBABILITY = pattern(r"PROB([1-9]0)", re.ASCII)
_CHANGE_WORDS = {"TEMPO": "TEMPO", "INTER": "TEMPO", "BECMG": "BECMG"}
# Words that open a note; what follows is shown, never forecast.
_NOTE_WORDS = frozenset(
    ("RMK", "AMD", "AMDS", "LAST", "NO", "NEXT", "NXT", "LTD", "LIMITED", "FCST", "AUTOMATED", "COR")
)
#: Words after FM that open a warning of turbulence or icing for aircraft, not a forecast (Australia).
_WARNING_WORDS = frozenset({"MOD", "SEV", "MODERATE", "SEVERE"})
#: M131700, ,FM131700, FN131700: a change whose word is damaged must not become part of the TEMPO before it.
_LOST_FROM = pattern(r"[.,;:]?[A-Z]{0,4}[.,;:]?[0-3]\d[0-2]\d[0-5]\dZ?[.,;:]?", re.ASCII)
#: 2514/2516, TEMO2514/2516, 2514/2516TSRA: hours with no change word that can be read.
_LOST_PERIOD = pattern(r"[A-Z.,;:]{0,6}\d{4}/\d{4}[A-Z.,;:+-]{0,6}", re.ASCII)
_AFTER = pattern(r"(\d{2})(\d{2})(\d{2})?Z?", re.ASCII)


@dataclass(slots=True)
class Group:
    """One change group while it is being cut out of the text."""

    change: str
    start: datetime | None
    end: datetime | None = None
    probability: int | None = None
    raw: list[str] = field(default_factory=list)
    tokens: list[str] = field(default_factory=list)
    bad: list[str] = field(default_factory=list)  # tokens of a damaged time or probability

    @property
    def steers(self) -> bool:
        """True for the groups that state every element: the first one and FM."""
        return self.change in ("BASE", "FM")


def cut(tokens: Sequence[str], head: Header) -> tuple[list[Group], list[str], Sequence[str]]:
    """Change groups, notes, and the start of a second forecast when there is one."""
    groups = [Group("BASE", head.valid_from)]
    notes: list[list[str]] = []
    in_note = False
    i, n = 0, len(tokens)
    while i < n:
        token = tokens[i]
        lead = token[0]
        change = ""
        if lead in "TIBPF":
            if token[:5] in _CHANGE_WORDS:
                change = token[:5]
            elif token[:4] == "PROB":
                change = "PROB"
            elif token[:2] == "FM" and (len(token) > 2 or _is_digits(tokens, i + 1)):
                change = "FM"
        if change == "FM" and i + 1 < n and tokens[i + 1] in _WARNING_WORDS:
            in_note = True
            notes.append([token])
            i += 1
            continue
        if change:
            group, used = _open(tokens, i, change, head, groups)
            groups.append(group)
            in_note = False
            i += used
            continue
        if token == "TAF" or (token == head.station and i + 1 < n and STAMP.fullmatch(tokens[i + 1])):
            return groups, [" ".join(note) for note in notes], tokens[i:]
        if in_note:
            notes[-1].append(token)
        elif token == "WND" and (later := _wind_after(tokens, i, head, groups[-1])) is not None:
            groups.append(later)
            i += 4
            continue
        elif token in _NOTE_WORDS or token.startswith(("RMK", "LAST")):
            in_note = True
            notes.append([token])
        elif "/" in token and _LOST_PERIOD.fullmatch(token):
            # A change of unknown kind.
            groups.append(Group("BECMG", None, None, None, [token], [], [token]))
        elif _LOST_FROM.fullmatch(token):
            groups.append(Group("FM", None, None, None, [token], [], [token]))
        elif token in ("T", "Q") and (used := number_list(tokens, i)) > 1:
            groups[-1].raw.extend(tokens[i : i + used])
            i += used
            continue
        else:
            groups[-1].raw.append(token)
            groups[-1].tokens.append(token)
        i += 1
    return groups, [" ".join(note) for note in notes], ()


def _wind_after(tokens: Sequence[str], i: int, head: Header, group: Group) -> Group | None:
    """WND 17022KT AFT 2320 (AFMAN 15-124; AFTR too): from that time the group's wind is another, the rest stays."""
    words = tokens[i : i + 4]
    if (
        len(words) < 4
        or not is_wind(words[1])
        or words[2] not in ("AFT", "AFTR")
        or not any(map(is_wind, group.tokens))
    ):
        return None
    match = _AFTER.fullmatch(words[3])
    if match is None:
        return None
    start = near(int(match.group(1)), int(match.group(2)), int(match.group(3) or 0), head.valid_from)
    if start is not None and not head.valid_from <= start <= head.valid_to:
        start = None
    return Group("BECMG", start, start, None, list(words), [words[1]], [] if start else [words[3]])


def _is_digits(tokens: Sequence[str], i: int) -> bool:
    return i < len(tokens) and tokens[i][:4].isdigit()


def _open(tokens: Sequence[str], i: int, word: str, head: Header, groups: Sequence[Group]) -> tuple[Group, int]:
    """The change group that begins at ``tokens[i]`` and how many tokens its head takes."""
    token = tokens[i]
    if token == "PROB" and i + 1 < len(tokens) and tokens[i + 1] in ("30", "40"):  # a blank slipped in
        tokens = [*tokens[:i], f"PROB{tokens[i + 1]}", *tokens[i + 2 :]]
        group, used = _open(tokens, i, word, head, groups)
        return group, used + 1
    if word == "FM":
        used = 1
        stamp = token
        if token == "FM":
            stamp, used = token + tokens[i + 1], 2
        start = _from_time(stamp, head, groups)
        raw = list(tokens[i : i + used])
        return Group("FM", start, raw=raw, bad=[] if start else [*raw]), used
    probability: int | None = None
    bad: list[str] = []
    used = 1
    kind = "PROB"
    rest = token[len(word) :]
    if word == "PROB":
        match = _PROBABILITY.fullmatch(token)
        rest = ""
        if match is None:
            bad.append(token)
        else:
            probability = int(match.group(1))
        following = tokens[i + 1] if i + 1 < len(tokens) else ""
        if following[:5] in ("TEMPO", "INTER"):
            kind, rest, used = "TEMPO", following[5:], 2
    else:
        kind = _CHANGE_WORDS[word]
    start = end = None
    if not rest and i + used < len(tokens):
        rest = tokens[i + used]
        used += 1
        start, end = _period(rest, head, groups)
        if start is None and not _was_a_time(rest):
            used -= 1  # no time printed at all
            rest = ""
    else:
        start, end = _period(rest, head, groups)
    if start is None and rest:
        bad.append(rest)
    return Group(kind, start, end, probability, list(tokens[i : i + used]), [], bad), used


def _was_a_time(token: str) -> bool:
    """Whether a token that is no element was meant as hours: mostly digits, perhaps a slash."""
    return classify(token)[0] == UNKNOWN and sum("0" <= letter <= "9" for letter in token) * 2 > len(token)


def _from_time(stamp: str, head: Header, groups: Sequence[Group]) -> datetime | None:
    match = _FROM.fullmatch(stamp)
    if match is None:
        return None
    day, hour, minute = match.groups()
    if day is not None:
        start = near(int(day), int(hour), int(minute), head.valid_from)
    elif head.old_style:
        start = next_clock(int(hour), int(minute), _clock_anchor(head, groups))
    else:
        return None  # FM1200 among day-and-hour times has lost two digits
    return start if start is not None and head.valid_from <= start <= head.valid_to else None


def _period(word: str, head: Header, groups: Sequence[Group]) -> tuple[datetime | None, datetime | None]:
    """Start and end of DDHH/DDHH, or of HHHH in an old-style forecast; both None when damaged."""
    start: datetime | None
    end: datetime | None
    if (match := PERIOD.fullmatch(word)) is not None:
        day, hour, end_day, end_hour = map(int, match.groups())
        start = near(day, hour, 0, head.valid_from)
        end = near(end_day, end_hour, 0, start) if start else None
    elif head.old_style and (match := HOURS.fullmatch(word)) is not None:
        hour, end_hour = map(int, match.groups())
        start = next_clock(hour, 0, _clock_anchor(head, groups))
        end = later_clock(end_hour, start) if start else None
    else:
        return None, None
    if start is None or end is None or not start < end <= start + LONGEST:
        return None, None
    if start >= head.valid_to or end <= head.valid_from:
        return None, None
    return start, end


def _clock_anchor(head: Header, groups: Sequence[Group]) -> datetime:
    """Hours without a day count from the start; past 24 hours of validity, from the group before."""
    if head.valid_to - head.valid_from <= timedelta(hours=24):
        return head.valid_from
    return max((group.start for group in groups if group.start is not None), default=head.valid_from)
