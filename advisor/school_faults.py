"""Faults of a school's file in sentences: where, what is wrong and what may stand there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from pydantic import BaseModel, ValidationError

from advisor import school_model
from advisor.errors import printable

#: Units a name ends with, and how people write them behind the number.
_UNITS = {
    "ft": ("ft", "feet", "foot", "'"), "nm": ("nm",), "kt": ("kt", "kts", "knots"), "kias": ("kt", "kts", "knots", "kias"),
    "kcas": ("kt", "kts", "knots", "kcas"), "minutes": ("min", "minutes"), "true": ("°", "deg", "degrees", "true", "°t"),
    "magnetic": ("°", "deg", "degrees", "magnetic", "°m"),
    "care": (), "stop": (),
}  # fmt: skip
#: How alike a name must be to be asked for: ceiling_ft is not, since it may mean either of two ceilings.
NEAR = 0.82
_KINDS = {
    "float_type": "a number", "int_type": "a whole number", "int_from_float": "a whole number",
    "string_type": "text in quotes", "bool_type": "true or false, without quotes", "list_type": "a list in square brackets",
    "dict_type": "a table", "model_type": "a table", "model_attributes_type": "a table",
    "datetime_type": "a date and time",
    "date_type": "a date", "is_instance_of": "a date and time",
}  # fmt: skip


def _names(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    """Names known at a place inside a model, for the message about an unknown one."""
    here: Any = model
    for part in location[:-1]:
        if isinstance(part, int):
            continue
        field = here.model_fields.get(part)
        nested = re.search(r"(\w+Model)", repr(field.annotation)) if field is not None else None
        if nested is None:
            return []
        here = getattr(school_model, nested[1])
    return list(here.model_fields)


def near(name: str, known: Iterable[str]) -> str:
    """``did you mean closed? `` for a name that is part of a known one or nearly is one, else nothing. Never raises."""
    names = {x.casefold(): x for x in known}
    typed = name[:60].casefold()
    holding = [x for x in names if typed in x]
    if typed in names or not 0 < len(holding) <= 2:
        holding = get_close_matches(typed, names, 1, NEAR)
    return f"did you mean {' or '.join(names[x] for x in holding)}? " if holding else ""


def such_as(kind: type[BaseModel]) -> str:
    """``, such as { care = 10, stop = 12 }`` where a table of that kind is written in one line. Never raises."""
    example = getattr(kind, "example", "")
    return f", such as {example}" if example else ""


def _degrees(text: str) -> str:
    """Decimal degrees of degrees, minutes and seconds, or nothing where the text is not that."""
    parts = [float(x) for x in re.findall(r"\d+(?:\.\d+)?", text)]
    if (
        re.fullmatch(r"[\d\s.°º'′’\"″”NSEWnsew+-]{1,40}", text) is None
        or not 0 < len(parts) <= 3
        or max(parts[1:], default=0) >= 60
    ):
        return ""
    value = sum(part / 60.0**i for i, part in enumerate(parts))
    return f"{-value if re.search('^ *-|[SWsw]', text) else value:.4f}"


def _number(name: str, given: object) -> str:
    """What to write for a number given as text, where that is beyond doubt."""
    if not isinstance(given, str):
        return ""
    if name in ("latitude_deg", "longitude_deg"):
        found = _degrees(given)
        return (
            f", in degrees with decimals{f': {found}' if found else ', such as 37.8667'}; south and west are negative"
        )
    parts = re.fullmatch(r"\s*([-+]?\d[\d,]{0,9}(?:\.\d{1,9})?)\s*([^\d\s]*)\s*", given)
    known = _UNITS.get(name.rsplit("_", 1)[-1], ())
    if parts is None or (parts[2] and parts[2].casefold().rstrip(".") not in known):
        return ", without quotes or unit"
    return f", without quotes or unit: {parts[1].replace(',', '')}"


def _items(path: str, data: Mapping[str, Any]) -> list[str]:
    """Names of the items a path leads through: a field's identifier, a runway, an area, an aircraft."""
    here: Any = data
    names = []
    for part in path.split("."):
        try:
            here = here[int(part)] if isinstance(here, list) else here[part]
        except (KeyError, IndexError, TypeError, ValueError):
            break
        if part.isdecimal() and isinstance(here, dict):
            name = next((here[k] for k in ("station", "name", "text") if isinstance(here.get(k), str)), None)
            if "practice_areas" in path:
                name = here.get("name")
            if isinstance(name, str) and name.strip():
                names.append(printable(name))
    return names


def placed(fault: str, data: Mapping[str, Any]) -> str:
    """A fault with the names of the items it stands in: items are counted from 0, which nobody who writes a file does."""
    path, _, says = fault.partition(": ")
    names = _items(path, data)
    return f"{path}: {says.removesuffix('.')} (in {', '.join(names)})." if names else fault


def sentences(error: ValidationError, model: type[BaseModel], path: str) -> list[str]:
    """Every fault of one item as ``path: sentence``."""
    found: list[str] = []
    for item in error.errors(include_url=False):
        location = item["loc"]
        kind, context = item["type"], item.get("ctx", {})
        if kind in ("datetime_type", "date_type", "date_from_datetime_inexact", "datetime_from_date_parsing"):
            location = location[:1]  # the last part names the branch of "a date, or a date and time"
        where = ".".join([path, *map(str, location)]) if path else ".".join(map(str, location))
        if kind == "missing":
            text = "is missing"
        elif kind == "extra_forbidden":
            names = _names(model, location)
            text = f"is not a known name here; {near(str(location[-1]), names)}known: {', '.join(names)}"
        elif kind == "value_error":
            text = str(context["error"])
        elif kind == "literal_error":
            text = f"must be one of {context['expected']}"
        elif kind == "string_too_long":
            text = f"is longer than {context['max_length']} characters"
        elif kind in ("greater_than_equal", "less_than_equal", "greater_than", "less_than"):
            words = {"ge": "at least", "le": "at most", "gt": "more than", "lt": "less than"}
            text = "; ".join(f"must be {words[k]} {v:g}" for k, v in context.items() if k in words)
        elif kind == "finite_number":
            text = "must be an ordinary number"
        elif kind.startswith(("date", "datetime")):
            text = "must be a date or a date and time without quotes, such as 2026-04-26T18:00:00"
        elif kind == "string_type" and location[-1] in ("opens", "closes"):
            text = 'write the local time as "07:30", in quotes'
        elif kind in _KINDS:
            text = f"must be {_KINDS[kind]}"
            if kind.startswith("model"):
                text += such_as(getattr(school_model, context["class_name"]))
            elif kind in ("float_type", "int_type", "int_from_float"):
                text += _number(str(location[-1]), item["input"])
            elif kind == "list_type" and isinstance(item["input"], str):
                text += f': ["{printable(item["input"], 20)}"]'
        else:
            text = item["msg"]
        found.append(f"{where}: {text}.")
    return list(dict.fromkeys(found))
