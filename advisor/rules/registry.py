"""What a rule is, and the catalogue of all of them.

A rule returns a *level* for each row of conditions. One table, ``CAP``, turns a level into the best suitability
left; caps combine by minimum. A rule never looks at another rule.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum
from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np

from advisor.errors import DataFileError, UnknownRule
from advisor.records import dataclass

if TYPE_CHECKING:
    from advisor.rules.context import Context

Array = np.ndarray[Any, np.dtype[Any]]


class Level(IntEnum):
    """What a rule found in a row."""

    QUIET = 0
    NOTE = 1  # worth saying, caps nothing
    CARE = 2  # care limit
    CARE_ONLY = 3  # with care at every stage, alone included (carburettor ice)
    ASK_OR_HOLD = 4  # a row with a cap of its own: ask first with an instructor, hold alone
    STOP_HIGH = 5  # stop limit passed only by the high end of an estimate
    STOP = 6  # stop limit
    STORM = 7  # stops everything in its hour, in TEMPO and PROB too
    MISSING = 8  # an input that the lesson depends on is not there


class Suitability(IntEnum):
    """Ordered for taking minima. ``NOT_RATED`` stands outside the order of advice: a hold found from what was
    read wins over it, and it wins over everything else. ``NOT_TAUGHT`` is put on last."""

    HOLD = 0
    NOT_RATED = 1
    ASK_FIRST = 2
    WITH_CARE = 3
    SUITED = 4
    NOT_TAUGHT = 5

    @property
    def words(self) -> str:
        """As printed."""
        return _WORDS[self]


#: What a suited hour reads for a student alone: never a permission.
INSIDE = "inside the default limits"
RELEASE = "your instructor must release you"
_WORDS = {
    Suitability.HOLD: "hold",
    Suitability.NOT_RATED: "not rated",
    Suitability.ASK_FIRST: "ask first",
    Suitability.WITH_CARE: "with care",
    Suitability.SUITED: "suited",
    Suitability.NOT_TAUGHT: "not taught at this stage",
}

_H, _N, _A, _C, _S = (
    Suitability.HOLD,
    Suitability.NOT_RATED,
    Suitability.ASK_FIRST,
    Suitability.WITH_CARE,
    Suitability.SUITED,
)
#: CAP[level, possible, alone]: rows are levels; within each: solid aboard, solid alone; possible aboard, possible alone.
CAP = np.array(
    [
        [[_S, _S], [_S, _S]],  # QUIET
        [[_S, _S], [_S, _S]],  # NOTE
        [[_C, _A], [_C, _A]],  # CARE
        [[_C, _C], [_C, _C]],  # CARE_ONLY
        [[_A, _H], [_A, _H]],  # ASK_OR_HOLD
        [[_A, _A], [_A, _A]],  # STOP_HIGH
        [[_H, _H], [_A, _H]],  # STOP
        [[_H, _H], [_H, _H]],  # STORM
        [[_N, _N], [_N, _N]],  # MISSING: in TEMPO and PROB too, or a group would be better for being unreadable
    ],
    dtype=np.uint8,
)

#: Families counted by the three-family rule, one bit each. Notes, missing inputs and carburettor ice have none.
FAMILIES: tuple[str, ...] = (
    "wind",
    "gust",
    "variable",
    "crosswind",
    "demand",
    "ceiling",
    "visibility",
    "temperature",
    "fog",
    "icing",
    "thunder",
    "shear",
    "disagreement",
    "age",
    "light",
    "source",
)
UNCOUNTED = ("carburettor", "note", "missing")

SCOPES: tuple[str, ...] = ("all", "height", "pattern", "circle", "pylons")
AXES: tuple[str, ...] = ("row", "stage", "lesson")
SECTIONS: tuple[str, ...] = ("What it watches", "Why it matters", "Worked example", "Source")
FAMILY_FILES = (
    "wind",
    "gusts",
    "runway",
    "sky",
    "thunder",
    "shear",
    "cold_and_heat",
    "fog",
    "light",
    "data",
    "demand",
)


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    ``cites`` is the table column that names the group a caution comes from: the row's own, the storm group it lies
    near, or the report its temperature is carried from. ``worse`` names the table columns the rule is monotone in:
    ``+`` worse when larger, ``-`` worse when smaller.
    ``calm_hazard`` marks rules about calm air, exempt from "more wind is never better". ``say`` writes the
    message of one shown row: ``say(context, stage, lesson, row) -> str``. ``figure`` is the number in it, larger when
    worse: of rows that cap alike the worst is shown.
    """

    code: str
    name: str
    family: str
    axes: str
    scope: str
    uses: tuple[str, ...]
    sources: tuple[str, ...]
    worse: tuple[str, ...]
    calm_hazard: bool
    cites: str
    level: Callable[[Context], Array]
    figure: Callable[[Context], Array] | None
    say: Callable[[Context, int, int, int], str]
    doc: str

    @property
    def title(self) -> str:
        """First line of the documentation."""
        return self.doc.strip().splitlines()[0]

    @property
    def family_bit(self) -> int:
        """Bit of the three-family count, 0 for families that are not counted."""
        return 0 if self.family in UNCOUNTED else 1 << FAMILIES.index(self.family)


_RULES: dict[str, Rule] = {}
#: Codes once used and given up; never used again.
RETIRED: dict[str, str] = {}


def rule(
    code: str,
    name: str,
    *,
    family: str,
    say: Callable[[Context, int, int, int], str],
    axes: str = "stage",
    scope: str = "all",
    uses: tuple[str, ...] = (),
    sources: tuple[str, ...] = ("common-practice",),
    worse: tuple[str, ...] = (),
    calm_hazard: bool = False,
    cites: str = "group",
    figure: Callable[[Context], Array] | None = None,
) -> Callable[[Callable[[Context], Array]], Callable[[Context], Array]]:
    """Register a rule; malformed ones fail at import.

    Raises
    ------
    DataFileError
        The code is taken or malformed, the family, scope or axes unknown, or a section of the docstring missing.
    """

    def register(level: Callable[[Context], Array]) -> Callable[[Context], Array]:
        doc = level.__doc__ or ""
        faults = []
        if not (len(code) == len("XX00") and code[:2].isalpha() and code[2:].isdigit()):
            faults.append("codes are two letters and two digits")
        if code in _RULES or code in RETIRED:
            faults.append("the code is taken")
        if family not in FAMILIES + UNCOUNTED:
            faults.append(f"family {family!r} is unknown")
        if axes not in AXES or scope not in SCOPES:
            faults.append("axes or scope unknown")
        faults += [f"docstring lacks {section!r}" for section in SECTIONS if section not in doc]
        if faults:
            raise DataFileError(f"rule {code} {name}: {'; '.join(faults)}")
        _RULES[code] = Rule(
            code, name, family, axes, scope, uses, sources, worse, calm_hazard, cites, level, figure, say, doc
        )
        return level

    return register


@lru_cache(maxsize=1)
def all_rules() -> tuple[Rule, ...]:
    """Every rule, in order of code."""
    for name in FAMILY_FILES:
        import_module(f"advisor.rules.{name}")
    return tuple(_RULES[code] for code in sorted(_RULES))


def find_rule(code: str) -> Rule:
    """The rule of that code or name.

    Raises
    ------
    UnknownRule
        With the known codes.
    """
    known = all_rules()
    found = _RULES.get(code.upper()) or next((r for r in known if r.name == code.lower()), None)
    if found is not None:
        return found
    if code.upper() in RETIRED:
        raise UnknownRule(f"Rule {code.upper()} is retired: {RETIRED[code.upper()]}")
    near = [
        r for r in known if len(code) > 1 and (code.lower() in (r.family, r.code[:2].lower()) or code.lower() in r.name)
    ]
    words = ", ".join(f"{r.code} {r.name}" for r in near or known)
    raise UnknownRule(f"No rule {code[:40]!r}. {'Did you mean one of' if near else 'Known'}: {words}.")
