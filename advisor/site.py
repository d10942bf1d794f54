"""The field advice is for: where it is, its runways, and the ground of the practice area."""

from __future__ import annotations

from advisor.places import RunwayEnd, Station
from advisor.records import dataclass


@dataclass(frozen=True, slots=True)
class Closure:
    """A runway end that a notice closes from ``start_min`` up to, not including, ``end_min`` (UTC minutes since 1970)."""

    end_name: str
    start_min: int
    end_min: int


@dataclass(frozen=True, slots=True)
class Site:
    """A field with everything that rules and geometry need to know about it.

    ``runways`` are the known ends; an empty tuple means that none is known, which is itself a caution. ``closures``
    are those that end, or begin later; an end marked closed itself is so for good.
    ``area_ground_ft`` is the highest ground of the practice area (MSL), the field's own elevation when no
    area is described. ``named_runway`` is the end the asker named, if any. ``assumptions`` are sentences the
    page prints.
    """

    station: Station
    runways: tuple[RunwayEnd, ...] = ()
    area_ground_ft: float | None = None
    named_runway: str | None = None
    pattern_side: str | None = None  # "left" or "right" when the asker or the school says so
    assumptions: tuple[str, ...] = ()
    made_up: bool = False
    closures: tuple[Closure, ...] = ()

    @property
    def elevation_ft(self) -> float:
        """Field elevation, ft MSL."""
        return float(self.station.elevation_ft)

    @property
    def ground_above_field_ft(self) -> float:
        """Height of the practice-area ground above the field, ft; what a ceiling loses over the area."""
        return 0.0 if self.area_ground_ft is None else self.area_ground_ft - self.elevation_ft

    @property
    def northern(self) -> bool:
        """True north of the equator; wind veers with height there and backs in the south."""
        return self.station.latitude_deg >= 0.0

    @property
    def usable_ends(self) -> tuple[RunwayEnd, ...]:
        """Runway ends that are not closed for good; only the named one when the asker named one."""
        open_ends = tuple(end for end in self.runways if not end.closed)
        if self.named_runway is None:
            return open_ends
        return tuple(end for end in open_ends if end.name == self.named_runway)

    def closed_during(self, start_min: int, end_min: int) -> frozenset[str]:
        """Names of the ends that are closed for good, or at some minute of a stretch. Never raises."""
        spells = {x.end_name for x in self.closures if x.start_min < end_min and start_min < x.end_min}
        return frozenset(spells | {end.name for end in self.runways if end.closed})

    def closed_at(self, minute: int) -> frozenset[str]:
        """Names of the ends closed at a minute. Never raises."""
        return self.closed_during(minute, minute + 1)
