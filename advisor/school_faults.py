"""Faults of a school's file in sentences: where, what is wrong and what may stand there."""

from __future__ import annotations

import re
from typing import Any

from pydantic import BaseModel, ValidationError

from advisor import school_model

_KINDS = {
    "float_type": "a number", "int_type": "a whole number", "int_from_float": "a whole number",
    "string_type": "text in quotes", "bool_type": "true or false", "list_type": "a list",
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
            text = f"is not a known name here; known: {', '.join(_names(model, location))}"
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
        else:
            text = f"must be {_KINDS[kind]}" if kind in _KINDS else item["msg"]
        found.append(f"{where}: {text}.")
    return list(dict.fromkeys(found))
