"""Change one number of the data by one unit and ask whether any case notices.

A number that no case notices is either not used or not tested. The numbers are changed in the parsed data, in
memory, and put back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from advisor.lessons import lessons
from advisor.limits import table
from tests import fixed_cases, rule_cases

#: One unit is one of the printed unit; of a ratio it is its last printed place.
_SMALL = {"wind_to_airspeed": 0.01, "stall_margin": 0.01, "factor": 0.1, "aloft_floor_factor": 0.1}


@dataclass(frozen=True, slots=True)
class Number:
    """One number of the shipped data: where it is, and how to change it."""

    name: str
    home: Any  # dict or list that holds it
    key: Any
    unit: float
    checks: tuple[Callable[[], list[str]], ...] = ()

    @contextmanager
    def changed(self, by: float) -> Iterator[None]:
        """The number changed while the block runs."""
        before = self.home[self.key]
        self.home[self.key] = round(before + by, 6)
        try:
            yield
        finally:
            self.home[self.key] = before


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def numbers() -> list[Number]:
    """Every number of the limits file and every stop of the lessons file."""
    data, checks = table(), fixed_cases.CHECKS
    out = []
    for quantity, row in data["limit"].items():
        unit = _SMALL.get(quantity, 1.0)
        for stage, pair in row.items():
            if stage == "floor":
                out.append(Number(f"limit {quantity} floor", row, stage, unit, checks["floor"]))
            elif isinstance(pair, list):
                for i, word in enumerate(("care", "stop")):
                    if _is_number(pair[i]):
                        out.append(Number(f"limit {quantity} {stage} {word}", pair, i, unit))
    for name, row in data["own_cap"].items():
        out += [Number(f"own_cap {name} {k}", row, k, 1.0) for k, v in row.items() if _is_number(v)]
    for name, row in data["stage"].items():
        out += [Number(f"stage {name} {k}", row, k, 1.0, checks["stage"]) for k, v in row.items() if _is_number(v)]
    for name, row in data["fixed"].items():
        out.append(Number(f"fixed {name}", row, "value", 1.0, checks["fixed"]))
    out += [Number(f"teaching {k}", data["teaching"], k, 1.0) for k in data["teaching"]]
    for name, value in data["height_wind"].items():
        if _is_number(value):
            out.append(_height(name, data["height_wind"], name))
            continue
        for key, inner in value.items():
            if isinstance(inner, list):
                out += [_height(f"{name} {key} {i}", inner, i) for i in range(len(inner))]
            else:
                out.append(_height(f"{name} {key}", value, key))
    for lesson in lessons():
        for what in ("mean_stop_kt", "spread_stop_kt"):
            stops = getattr(lesson, what)
            out += [Number(f"lesson {lesson.key} {what} {stage}", stops, stage, 1.0) for stage in stops]
    return out


def _height(name: str, home: Any, key: Any) -> Number:
    return Number(f"height_wind {name}", home, key, _SMALL.get(str(key), 1.0), fixed_cases.CHECKS["height_wind"])


def noticed(number: Number, by: float) -> str | None:
    """The first case that fails with the number changed; ``None`` when every case still holds."""
    with number.changed(by):
        found = rule_cases.faults()
        for check in number.checks:
            if found:
                break
            found = check()
    return found[0] if found else None


def baseline() -> list[str]:
    """Cases that fail with the data as shipped: none, or nothing below means anything."""
    checks = {check for group in fixed_cases.CHECKS.values() for check in group}
    return [*rule_cases.faults(), *(x for check in sorted(checks, key=lambda c: c.__name__) for x in check())]
