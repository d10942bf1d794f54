"""The aircraft a lesson is flown in: three numbers, from the shipped file or the school's."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from advisor.datafiles import data_toml
from advisor.errors import DataFileError
from advisor.records import dataclass


@dataclass(frozen=True, slots=True)
class Aircraft:
    """What geometry and rules need to know of an aircraft.

    ``practice_kias`` is the indicated airspeed of the lessons; ``stall_kcas`` the calibrated stall speed,
    wings level, as the lesson is flown; ``demonstrated_crosswind_kt`` the handbook's demonstrated figure.
    ``generic`` marks a shipped stand-in, which every page must say.
    """

    name: str
    practice_kias: float
    stall_kcas: float
    demonstrated_crosswind_kt: float
    title: str = ""
    generic: bool = False

    def assumption(self) -> str:
        """A sentence saying which figures are used. Never raises."""
        kind = "not your aircraft's own figures: " if self.generic else ""
        return (
            f"Aircraft: {self.title or self.name}, {kind}practice {self.practice_kias:g} KIAS, stall "
            f"{self.stall_kcas:g} KCAS, demonstrated crosswind {self.demonstrated_crosswind_kt:g} kt."
        )


@lru_cache(maxsize=1)
def shipped() -> dict[str, Aircraft]:
    """Every generic aircraft by name, the default first. Never raises with the shipped file."""
    data = data_toml("aircraft.toml")
    rows: dict[str, dict[str, str | float]] = data["aircraft"]
    order = [data["default"], *(name for name in rows if name != data["default"])]
    return {
        name: Aircraft(
            name,
            float(rows[name]["practice_kias"]),
            float(rows[name]["stall_kcas"]),
            float(rows[name]["demonstrated_crosswind_kt"]),
            str(rows[name]["title"]),
            generic=True,
        )
        for name in order
    }


def find_aircraft(name: str | None = None, own: Iterable[Aircraft] = ()) -> Aircraft:
    """An aircraft by name.

    Parameters
    ----------
    name : str or None
        Case does not matter. ``None``: the school's first aircraft, or the generic trainer.
    own : iterable of Aircraft
        The school's, which come first.

    Returns
    -------
    Aircraft

    Raises
    ------
    DataFileError
        No such aircraft; the message lists the known ones.
    """
    fleet = {a.name.casefold(): a for a in own}
    known = {**{n.casefold(): a for n, a in shipped().items() if n.casefold() not in fleet}, **fleet}
    if name is None:
        return next(iter(fleet.values()), next(iter(shipped().values())))
    found = known.get(name.strip().casefold())
    if found is None:
        names = ", ".join(a.name for a in [*fleet.values(), *shipped().values()])
        raise DataFileError(f"No aircraft is called '{name.strip()[:40]}'. Known: {names}.")
    return found
