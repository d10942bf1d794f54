"""Surface wind as a report states it, with calm, variable, missing and not understood kept apart.

Convention: direction is where the wind blows FROM, degrees TRUE, 1 to 360 with 360 for north; a calm
wind has direction ``None`` and speed 0. Speeds are whole knots. A missing wind has no direction, speed or gust.
"""

from __future__ import annotations

from enum import StrEnum

from advisor.records import dataclass


class WindState(StrEnum):
    """What a wind group said."""

    CALM = "calm"
    STEADY = "steady"  # a direction and a speed; it may still swing (dddVddd)
    VARIABLE = "variable"  # VRB: a speed and no direction
    MISSING = "missing"  # no group at all, or slashes
    NOT_UNDERSTOOD = "not_understood"  # a group is there and cannot be trusted


@dataclass(frozen=True, slots=True)
class Wind:
    """One wind group.

    ``speed_kt`` is the mean, ``gust_kt`` the peak after G or ``None`` when no gust was reported (which is
    not the same as no gusts). ``gust_missing`` marks a gust printed as slashes. ``*_bound`` is
    ``"at_least"`` for a P-prefixed figure such as P49KT. ``varying_from_deg``/``varying_to_deg`` are the
    ends of dddVddd, read clockwise. ``undirected_kt`` and ``undirected_gust_kt`` are the figures of ///28G40KT: the
    wind is missing for want of a direction, but it may be too strong from anywhere. ``raw`` is the group as
    printed.
    """

    state: WindState
    from_deg_true: int | None = None
    speed_kt: int | None = None
    gust_kt: int | None = None
    varying_from_deg: int | None = None
    varying_to_deg: int | None = None
    speed_bound: str | None = None
    gust_bound: str | None = None
    gust_missing: bool = False
    raw: str = ""
    undirected_kt: int | None = None
    undirected_gust_kt: int | None = None

    def __post_init__(self) -> None:
        if self.state in (WindState.MISSING, WindState.NOT_UNDERSTOOD):
            if self.speed_kt is not None or self.from_deg_true is not None or self.gust_kt is not None:
                raise ValueError(f"a {self.state} wind carries no numbers, got {self!r}")
            return
        if self.speed_kt is None or self.speed_kt < 0:
            raise ValueError(f"speed_kt must be 0 or more, got {self.speed_kt}; a missing wind has its own state")
        if self.state is WindState.STEADY and not (self.from_deg_true is not None and 1 <= self.from_deg_true <= 360):
            raise ValueError(f"from_deg_true must be 1 to 360, got {self.from_deg_true}")

    @property
    def known(self) -> bool:
        """True when there is a usable mean speed."""
        return self.speed_kt is not None

    @property
    def peak_kt(self) -> int | None:
        """Larger of mean and gust, kt, or ``None`` when the wind is not known."""
        if self.speed_kt is None:
            return None
        return self.speed_kt if self.gust_kt is None else max(self.speed_kt, self.gust_kt)

    @property
    def spread_kt(self) -> int | None:
        """Gust minus mean, kt; ``None`` when no gust was reported or the wind is not known."""
        if self.speed_kt is None or self.gust_kt is None:
            return None
        return self.gust_kt - self.speed_kt

    @property
    def swing_deg(self) -> int:
        """Width of dddVddd clockwise, degrees; 360 for VRB, 0 when steady."""
        if self.state is WindState.VARIABLE:
            return 360
        if self.varying_from_deg is None or self.varying_to_deg is None:
            return 0
        return (self.varying_to_deg - self.varying_from_deg) % 360


MISSING = Wind(WindState.MISSING)
CALM = Wind(WindState.CALM, speed_kt=0, raw="00000KT")
