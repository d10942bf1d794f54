"""Present-weather groups as flags, so that rules can run on whole tables of reports.

A flag is set from what a report or forecast group says, in the body, the clouds or the remarks; it never
means "absent" when the group could not be read.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntFlag
from functools import lru_cache

from advisor.reports.types import Remarks, Sky


class Wx(IntFlag):
    """One bit for each kind of weather that a rule asks about, and for each sensor whose silence then says nothing."""

    THUNDER = 1  # TS at the field
    THUNDER_VICINITY = 2  # VCTS, thunder named in remarks, RETS, lightning not marked distant
    LIGHTNING_DISTANT = 4
    SQUALL = 8
    FUNNEL = 16
    FREEZING = 32  # freezing rain or drizzle
    CB = 64
    TCU = 128
    FOG = 256  # FG in any form, in the vicinity too
    MIST = 512
    SNOW = 1024  # snow, snow grains, ice pellets, hail
    PRECIPITATION = 2048  # anything falling
    DUST_SMOKE = 4096
    BLOWING = 8192
    SHOWER = 16384
    VIRGA = 65536  # falling and gone before it reaches the ground
    WEATHER_SENSOR_OUT = 131072  # PWINO: what falls would not be reported
    ICE_SENSOR_OUT = 262144  # FZRANO: freezing rain would not be reported


#: Weather that stops every lesson in the hour it is in.
STORM = Wx.THUNDER | Wx.SQUALL | Wx.FUNNEL | Wx.FREEZING

_CB, _TCU = int(Wx.CB), int(Wx.TCU)
_FROZEN = ("SN", "SG", "PL", "PE", "GR", "GS", "IC")
_FALLING = ("DZ", "RA", "UP", *_FROZEN)
_OBSCURING = ("HZ", "FU", "DU", "SA", "VA", "SS", "DS", "PO")


@lru_cache(maxsize=4096)
def token_flags(token: str) -> Wx:
    """Flags of one present-weather group such as ``-SHRA`` or ``VCTS``; an unknown group gives 0."""
    flags = Wx(0)
    body = token.lstrip("+-")
    vicinity = body.startswith("VC")
    if vicinity:
        body = body[2:]
    recent = body.startswith("RE") and len(body) > 2
    if recent:
        body = body[2:]
    parts = {body[i : i + 2] for i in range(0, len(body), 2)}
    if "TS" in parts:
        flags |= Wx.THUNDER_VICINITY if vicinity or recent else Wx.THUNDER
    if recent:
        return flags
    if "SQ" in parts:
        flags |= Wx.SQUALL
    if "FC" in parts:
        flags |= Wx.FUNNEL
    falling = parts.intersection(_FALLING)
    if "FZ" in parts and ("RA" in falling or "DZ" in falling or "UP" in falling):
        flags |= Wx.FREEZING
    if "FG" in parts:
        flags |= Wx.FOG
    if "BR" in parts:
        flags |= Wx.MIST
    if parts.intersection(_FROZEN):
        flags |= Wx.SNOW if not vicinity else Wx(0)
    if falling and not vicinity:
        flags |= Wx.PRECIPITATION
    if "SH" in parts:
        flags |= Wx.SHOWER
    if "BL" in parts or "DR" in parts:
        flags |= Wx.BLOWING
    if parts.intersection(_OBSCURING):
        flags |= Wx.DUST_SMOKE
    return flags


def weather_flags(
    tokens: Iterable[str], sky: Sky | None = None, remarks: Remarks | None = None, recent: Iterable[str] = ()
) -> Wx:
    """All flags of one report or forecast group.

    Parameters
    ----------
    tokens : iterable of str
        Present-weather groups as printed.
    sky : Sky or None
        Cloud groups; CB and TCU are taken from here.
    remarks : Remarks or None
        Lightning, thunder location, funnel cloud, CB, TCU and virga remarks of an observation; sensors that are out.
    recent : iterable of str
        Recent-weather groups (RETS); thunder just past counts as in the vicinity.

    Returns
    -------
    Wx

    Notes
    -----
    Never raises. An ended thunderstorm in remarks (TSE24) still counts as near: common practice, no source.
    """
    bits = 0  # plain numbers: a sum of flags takes ten times as long
    for token in tokens:
        bits |= int(token_flags(token))
    for token in recent:
        bits |= int(token_flags(token if token.startswith("RE") else f"RE{token}"))
    if sky is not None:
        for layer in sky.layers:
            if layer.cloud_type == "CB":
                bits |= _CB
            elif layer.cloud_type == "TCU":
                bits |= _TCU
    flags = Wx(bits)
    if remarks is not None:
        if remarks.lightning_near:
            flags |= Wx.THUNDER_VICINITY
        if remarks.lightning_distant:
            flags |= Wx.LIGHTNING_DISTANT
        if remarks.funnel_cloud:
            flags |= Wx.FUNNEL
        if remarks.virga:
            flags |= Wx.VIRGA
        if remarks.no_present_weather_sensor:
            flags |= Wx.WEATHER_SENSOR_OUT
        if remarks.no_freezing_rain_sensor:
            flags |= Wx.ICE_SENSOR_OUT
        for text in remarks.thunder_location:
            flags |= Wx.LIGHTNING_DISTANT if "DSNT" in text else Wx.THUNDER_VICINITY
        for text in remarks.cb_or_tcu:
            flags |= Wx.TCU if "TCU" in text and "CB" not in text else Wx.CB
    return flags
