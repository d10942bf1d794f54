"""What a user gives: numbers on the command line, and text from a file or a pipe."""

from __future__ import annotations

import codecs
import math
from typing import Any

import click


class Number(click.FloatRange):
    """A number within bounds. ``nan`` lies within any bounds and would switch the limit it is given for off."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number; fails for ``nan``, ``inf`` and what is no number."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number.", param, ctx)
        return number


def as_text(data: bytes) -> str:
    """Text of a file of reports: UTF-8, or UTF-16 by its mark (some shells write that); damage shows as U+FFFD."""
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    return data.decode("utf-16" if wide else "utf-8", errors="replace")
