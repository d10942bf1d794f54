"""Grammar of single groups shared by the METAR and TAF decoders: visibility, sky, weather; wind: ``wind_tokens``.

Every pattern is anchored at both ends and holds no nested quantifier, so a group costs time in
proportion to its length. Nothing here raises on any string, and a group that leaves its grammar is said
to be not understood, never guessed. Sources: the NWS/FAA key to METAR and TAF, WMO No. 306 FM 15 and FM 51.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from advisor.patterns import pattern
from advisor.reports.types import CeilingState, Sky, SkyLayer, Visibility

_SM_PER_M = 1.0 / 1609.344
#: No well-formed group of wind, visibility, sky or weather is longer.
LONGEST_TOKEN = 24
#: Fractions are printed up to about 3 miles; "11 1/2SM" is a slip.
_MOST_WITH_FRACTION_SM = 5
#: Stands in a list of sky groups for one that could not be read, so that no ceiling is promised past it.
UNREADABLE_SKY = "?"
AT_LEAST = "at_least"
LESS_THAN = "less_than"
#: 9999 and CAVOK: 10 km or more.
TEN_KM_SM = 10_000 * _SM_PER_M
CLEAR_TOKENS = frozenset({"CLR", "SKC", "NSC", "NCD"})

_METRES = pattern(r"([PM])?(\d{4})(NDV|NE|NW|SE|SW|N|E|S|W)?", re.ASCII)
_DIRECTIONAL = pattern(r"([PM])?(\d{4})(NE|NW|SE|SW|N|E|S|W)", re.ASCII)
_MILES = pattern(r"([PM])?(\d{1,3})(?:/(\d{1,2}))?SM", re.ASCII)
_FRACTION = pattern(r"(\d{1,2})/(\d{1,2})SM", re.ASCII)
_KILOMETRES = pattern(r"(\d{1,3})KM", re.ASCII)
_VISIBILITY_LIKE = pattern(r"[A-Z0-9/]{0,6}(?:SM|KM)[A-Z0-9]{0,3}|[PM]?\d{3,5}[A-Z]{0,3}|-?\d{4}[NESW]{1,2}|\d{4}//")
_SKY = pattern(
    r"(FEW|SCT|BKN|OVC|///)(\d{3}|///)(CB|TCU|CU|SC|ST|AC|AS|NS|CI|CS|CC|ACC)?(?:///)?|VV(\d{3}|///)(?:///)?",
    re.ASCII,
)
_TYPE_ONLY = pattern(r"(?:///){1,2}(CB|TCU)")
_SKY_LIKE = pattern(
    r"(?:FEW|SCT|BKN|OVC|VV|CLR|SKC|NSC|NCD|///).*|.{1,6}(?:FEW|SCT|BKN|[O0]VC|VV)[\dO/].*|[0D]VC.*"
    r"|[A-Z]{2,3}\d{3}(?:CB|TCU)?|[A-Z][A-Z0]{2}\d{2,4}[A-Z]*"
)
_WEATHER = pattern(
    r"(?:[-+]?VC|[-+])?(?:MI|PR|BC|DR|BL|SH|TS|FZ|DZ|RA|SN|SG|IC|PL|PE|GR|GS|UP|BR|FG|FU|VA|DU|SA|HZ|PY|PO|SQ|FC|SS|DS){1,5}[-+]?"
)
_DESCRIPTOR_ONLY = pattern(r"(?:[-+]?VC|[-+])?(?:MI|PR|BC|DR|BL|FZ)+")


def parse_visibility(tokens: Sequence[str], i: int) -> tuple[Visibility, int]:
    """Visibility starting at ``tokens[i]``.

    Parameters
    ----------
    tokens : sequence of str
        The groups of one report.
    i : int
        Where to look.

    Returns
    -------
    (Visibility, int)
        The least of the prevailing and any directional figures, and how many groups were used. 0 groups
        means ``tokens[i]`` is no visibility; 1 or more with ``miles`` None means it is printed as missing or
        cannot be read (``raw`` then holds it: slashes when missing). 10SM, P6SM, 9999 and CAVOK are
        ``at_least``; M1/4SM is ``less_than``. Never raises.
    """
    if i >= len(tokens):
        return Visibility(), 0
    token = tokens[i]
    following = tokens[i + 1] if i + 1 < len(tokens) else ""
    single = _single_visibility(token)
    if single is None:
        detached = _detached_unit(tokens[i : i + 3])
        return detached if detached[1] else _two_part_visibility(token, following)
    if single.miles is not None and token[-1] not in "MK" and following and _DIRECTIONAL.fullmatch(following[:9]):
        return _with_directional(single, tokens, i)
    return single, 1


def _with_directional(least: Visibility, tokens: Sequence[str], i: int) -> tuple[Visibility, int]:
    used = 1
    # Four sectors is more than any code form allows; the cap keeps a corrupt report from being eaten whole.
    while used < 5 and i + used < len(tokens) and _DIRECTIONAL.fullmatch(tokens[i + used]):
        other = _single_visibility(tokens[i + used])
        if other is not None and other.miles is not None and least.miles is not None and other.miles < least.miles:
            least = other
        used += 1
    return replace(least, raw=" ".join(tokens[i : i + used])), used


def _detached_unit(tokens: Sequence[str]) -> tuple[Visibility, int]:
    """``10 SM``, ``3/4 SM`` and ``1 1/2 SM``: a blank slipped in before the unit."""
    for words in (1, 2):
        if len(tokens) > words and tokens[words] == "SM":
            text = " ".join(tokens[:words])
            joined = f"{text}SM"
            found = _single_visibility(joined) if words == 1 else _two_part_visibility(*joined.split())[0]
            if found is not None and found.raw:
                return replace(found, raw=f"{text} SM"), words + 1
    return Visibility(), 0


def _two_part_visibility(token: str, following: str) -> tuple[Visibility, int]:
    if not (len(token) <= 3 and token.isascii() and token.isdigit()):
        return Visibility(), 0
    raw = f"{token} {following}"
    fraction = _FRACTION.fullmatch(following) if len(following) <= 7 else None
    if fraction is not None:
        part = _fraction(int(fraction.group(1)), int(fraction.group(2)))
        if part is not None and part < 1 and int(token) <= _MOST_WITH_FRACTION_SM:
            return Visibility(int(token) + part, None, raw), 2
        return Visibility(raw=raw), 2
    if following.endswith("SM") and len(following) <= 8:
        return Visibility(raw=raw), 2  # "1 6SM": neither 1 nor 6 can be trusted
    return Visibility(), 0


@lru_cache(maxsize=4096)
def _single_visibility(token: str) -> Visibility | None:
    if token == "CAVOK":
        return Visibility(TEN_KM_SM, AT_LEAST, token)
    if token in ("////", "////SM", "////NDV", "///SM", "//SM"):
        return Visibility(raw=token)
    if len(token) > 9:
        return None
    match = _METRES.fullmatch(token)
    if match is not None:
        sign, metres, _ = match.groups()
        if metres == "9999":
            return Visibility(TEN_KM_SM, AT_LEAST, token) if sign != "M" else Visibility(raw=token)
        bound = AT_LEAST if sign == "P" else LESS_THAN if sign == "M" else None
        return Visibility(int(metres) * _SM_PER_M, bound, token)
    match = _MILES.fullmatch(token)
    if match is not None:
        sign, whole, denominator = match.groups()
        miles: float | None = float(whole)
        if denominator is not None:
            miles = _fraction(int(whole), int(denominator))
        # Above 15 miles only fives are reported, and M stands before a fraction (FMH-1, from memory): 18SM, M14SM are slips.
        odd = denominator is None and (sign == "M" or (int(whole) > 15 and int(whole) % 5 > 0))
        if miles is None or miles > 200 or odd:
            return Visibility(raw=token)
        bound = AT_LEAST if sign == "P" or (miles == 10 and not sign) else LESS_THAN if sign == "M" else None
        return Visibility(miles, bound, token)
    match = _KILOMETRES.fullmatch(token)
    if match is not None:
        return Visibility(int(match.group(1)) * 1000 * _SM_PER_M, None, token)
    return None


def _fraction(numerator: int, denominator: int) -> float | None:
    if denominator not in (2, 4, 8, 16):
        return None
    if 0 < numerator < denominator:
        return numerator / denominator
    # 11/2SM is 1 1/2 with its blank lost, not five and a half miles.
    whole, part = divmod(numerator, 10)
    if whole > 0 and 0 < part < denominator:
        return whole + part / denominator
    return None


def looks_like_visibility(token: str) -> bool:
    """True when a reader would take the group for an attempt at a visibility (``80000``, ``8SM18``)."""
    return len(token) <= LONGEST_TOKEN and _VISIBILITY_LIKE.fullmatch(token) is not None


@lru_cache(maxsize=8192)
def parse_sky_group(token: str) -> SkyLayer | str | None:
    """One sky group.

    Returns
    -------
    SkyLayer, str or None
        A layer; one of CLR, SKC, NSC, NCD; or ``None`` when the group is not of the sky grammar. A layer
        whose amount is printed as slashes has cover ``"///"`` (``///CB``, ``///015``,
        ``//////``). Never raises.
    """
    if token in CLEAR_TOKENS:
        return token
    match = _SKY.fullmatch(token) if len(token) <= 12 else None
    if match is None:
        type_only = _TYPE_ONLY.fullmatch(token) if len(token) <= 9 else None
        return None if type_only is None else SkyLayer("///", None, type_only.group(1))
    cover, base, cloud, vertical = match.groups()
    if vertical is not None:
        return SkyLayer("VV", None if vertical == "///" else int(vertical) * 100)
    return SkyLayer(cover, None if base == "///" else int(base) * 100, cloud if cloud in ("CB", "TCU") else None)


def looks_like_sky(token: str) -> bool:
    """True when a reader would take the group for an attempt at a sky group (``BKN09``, ``BKN``)."""
    return len(token) <= LONGEST_TOKEN and _SKY_LIKE.fullmatch(token) is not None


def sky_from_groups(groups: Sequence[SkyLayer | str]) -> Sky:
    """Sky of one report or forecast period.

    Parameters
    ----------
    groups : sequence of SkyLayer or str
        In printed order: layers, clear-sky words (CLR SKC NSC NCD CAVOK) and ``UNREADABLE_SKY`` where a group
        could not be read.

    Returns
    -------
    Sky
        The ceiling is the lowest BKN, OVC or VV. It is ``unknown`` when there is no group, or when a broken,
        overcast, vertical-visibility, unknown-amount or unreadable group without a height might lie lower
        than every ceiling printed before it (groups are printed lowest first). ``///CB`` beside other layers
        names a cloud, not a layer, and does not hide them. Never raises.
    """
    layers: list[SkyLayer] = []
    word: str | None = None
    ceiling: int | None = None
    unknown = False
    told = False
    for group in groups:
        if isinstance(group, str):
            if group == UNREADABLE_SKY:
                unknown = unknown or ceiling is None
            else:
                word, told = word or group, True
            continue
        layers.append(group)
        cover, base = group.cover, group.base_ft_agl
        if cover in ("FEW", "SCT"):
            told = True
        elif cover == "///":
            # An amount that is not known may be a ceiling, at the printed height or anywhere.
            if group.cloud_type is None:
                unknown = unknown or ceiling is None or (base is not None and base < ceiling)
        elif base is None:
            unknown = unknown or ceiling is None
        elif ceiling is None or base < ceiling:
            ceiling = base
    if unknown or (ceiling is None and not told):
        return Sky(tuple(layers), word, CeilingState.UNKNOWN)
    if ceiling is None:
        return Sky(tuple(layers), word, CeilingState.NONE)
    return Sky(tuple(layers), word, CeilingState.AT, ceiling)


@lru_cache(maxsize=4096)
def is_weather(token: str) -> bool:
    """True for a present-weather group such as ``-RA``, ``VCTS``, ``BCFG``; NSW is not one."""
    return len(token) <= 14 and _WEATHER.fullmatch(token) is not None and _DESCRIPTOR_ONLY.fullmatch(token) is None
