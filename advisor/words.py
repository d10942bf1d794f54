"""Words the advisor must never use: it describes and ranks, and a person decides.

The one list of approval words, and the search for them that the tests run over every page, message and
docstring. "Go around" is an instruction every pilot needs and is let through.
"""

from __future__ import annotations

import re

#: Phrases that would read as leave to fly. Each is matched as whole words, in any case, across line breaks.
APPROVAL_WORDS: tuple[str, ...] = (
    "safe to fly",
    "good to go",
    "no-go",
    "go/no-go",
    "cleared",
    "approved",
    "authorised",
    "authorized",
    "permitted",
    "legal to",
)

_SPACES = r"[\s\-‐‑–]+"
_PHRASES = [
    (
        phrase,
        re.compile(rf"(?<!\w){_SPACES.join(map(re.escape, re.split(r'[ -]', phrase)))}(?!\w)", re.IGNORECASE),
    )
    for phrase in APPROVAL_WORDS
]

# "go" as a verdict: alone in a line or a cell, or after a word that introduces a verdict
_VERDICT_GO = re.compile(
    r"""(?: ^[ \t]*go[ \t]*[.!]?[ \t]*$
        |   [|:=>,][ \t]*go[ \t]*(?=[|<,.;!]|$)
        |   \b(?:a|is|are|it's|verdict|decision|rating|status|answer)[ \t]+go\b(?![ \t-]+around)
        |   (?-i:\bGO\b)(?![ \t-]+(?:AROUND|around)) )""",
    re.IGNORECASE | re.MULTILINE | re.VERBOSE,
)


def find_approval_words(text: str) -> list[str]:
    """Approval words in a text.

    Parameters
    ----------
    text : str
        Anything a user may read: a page, a message, a docstring.

    Returns
    -------
    list of str
        Each find with a few words around it, in order; empty when the text only describes. Never raises.
    """
    spans = [m.span() for _, pattern in _PHRASES for m in pattern.finditer(text)]
    spans += [m.span() for m in _VERDICT_GO.finditer(text)]
    return [" ".join(text[max(0, start - 25) : end + 25].split()) for start, end in sorted(set(spans))]
