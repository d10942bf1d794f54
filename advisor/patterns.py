"""Regular expressions compiled when first used: there are about eighty, and most reports need a few dozen.

Compiling all of them took a twentieth of a quick command. After the first use of a method a pattern answers as
fast as a compiled one.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:

    def pattern(text: str, flags: int = 0) -> re.Pattern[str]:
        """As ``re.compile``."""

else:

    class pattern:
        """As ``re.compile``, put off until a method or attribute of the pattern is asked for."""

        def __init__(self, text: str, flags: int = 0) -> None:
            self._text, self._flags = text, flags

        def __getattr__(self, name: str) -> Any:
            """Attribute of the compiled pattern, kept so that the next look-up ends in this object."""
            if name.startswith("_"):  # never part of a pattern: copies and pickles ask for such names
                raise AttributeError(name)
            if "_compiled" not in vars(self):
                self._compiled = re.compile(self._text, self._flags)
            found = getattr(self._compiled, name)
            setattr(self, name, found)
            return found

        def __repr__(self) -> str:
            return f"pattern({self._text!r})"
