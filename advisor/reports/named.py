"""What a group that cannot be read names all the same: a thunderstorm, weather behind a stray sign, a CB.

The group stays listed as not understood; what it names only adds caution. Source of the words: WMO No. 306 code
table 4678 and the contractions of US observers (TSTM, from memory).
"""

from __future__ import annotations

import re

from advisor.patterns import pattern
from advisor.reports.tokens import is_weather
from advisor.reports.types import SkyLayer

_STRAY = "?.,;:!()*_"
_THUNDER_LIKE = pattern(r"[-+]?(?:VC)?TS[A-Z]{0,6}[-+]?|T[SH]TMS?|THDR", re.ASCII)


def named_cloud(group: str) -> SkyLayer | None:
    """The CB or TCU in an unreadable sky group (``SCTCB008``), as a cloud without a layer; else ``None``."""
    kind = "CB" if "CB" in group else "TCU" if "TCU" in group else None
    return None if kind is None else SkyLayer("///", None, kind)


def named_weather(group: str) -> str | None:
    """The weather in an unreadable group: RA in ``?RA``, TS in ``TSTM``, VCTS in ``VCTSX``; else ``None``."""
    core = group.strip(_STRAY)
    if core != group and is_weather(core):
        return core
    if _THUNDER_LIKE.fullmatch(core[:16]) and core != "TSNO":
        return "VCTS" if "VC" in core else "TS"
    return None
