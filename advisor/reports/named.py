"""What groups say of each other, and what one that cannot be read names all the same: a thunderstorm, a CB.

The group stays listed as not understood; what it names only adds caution. Source of the words: WMO No. 306 code
table 4678 and the contractions of US observers (TSTM, from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from advisor.patterns import pattern
from advisor.reports.tokens import is_weather, parse_sky_group, parse_visibility
from advisor.reports.types import SkyLayer, Visibility

#: Fog is under 5/8 mile; a figure this far above it is a slip, not a rounding.
FAR_FOR_FOG_SM = 2.0
_STRAY = "?.,;:!()*_"
_LONGEST = 24
_RUNWAY = pattern(r"R\d\d[LCR]?/[\dPMVFTUDN/]{4,16}", re.ASCII)
_THUNDER_LIKE = pattern(r"[-+]?(?:V?C)?TS[A-Z]{0,6}[-+]?|T[SH]TMS?|THDR", re.ASCII)
_CUT_CLOUD = pattern(r".{0,6}\d{3}(C|TC?|CU?U)", re.ASCII)


def named_cloud(group: str) -> SkyLayer | None:
    """The CB or TCU in an unreadable sky group (``SCTCB008``), as a cloud without a layer; else ``None``."""
    kind = "CB" if "CB" in group else "TCU" if "TCU" in group else None
    if kind is None and (cut := _CUT_CLOUD.fullmatch(group)) is not None:
        kind = "CB" if cut.group(1) == "C" else "TCU"
    return None if kind is None else SkyLayer("///", None, kind)


def named_weather(group: str) -> str | None:
    """The weather in an unreadable group: RA in ``?RA``, TS in ``TSTM``, VCTS in ``VCTSX``; else ``None``."""
    core = group.strip(_STRAY)
    if core != group and is_weather(core):
        return core
    beside = _beside_another(core)
    if beside is not None:
        return beside
    if core[-1:] == core[-2:-1] and is_weather(core[:-1]):
        return core[:-1]  # FGG
    if core[:1] == "Z" and is_weather(f"F{core}"):
        return f"F{core}"
    if _THUNDER_LIKE.fullmatch(core[:16]) and core != "TSNO":
        return "VCTS" if "CTS" in core else "TS"
    return None


def contradicts_fog(visibility: Visibility, weather: Iterable[str]) -> bool:
    """True for miles of visibility beside fog, which is under 5/8 mile or 1 km: 12SM FG was 1/2SM (FMH-1, FM 15)."""
    if visibility.miles is None or visibility.miles < FAR_FOR_FOG_SM:
        return False
    return any(group.lstrip("+-") in ("FG", "FZFG") for group in weather)


def _beside_another(core: str) -> str | None:
    """The weather that ran into a visibility, a layer or a runway's range: TS of ``9999TS``, FG of ``FGSKC``."""
    for cut in range(2, len(core) - 1) if 4 <= len(core) <= _LONGEST else ():
        left, right = core[:cut], core[cut:]
        if is_weather(right) and (parse_visibility((left,), 0)[1] or parse_sky_group(left) or _RUNWAY.fullmatch(left)):
            return right
        if is_weather(left) and parse_sky_group(right):
            return left
    return None
