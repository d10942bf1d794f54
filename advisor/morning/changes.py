"""What moved since the last posting, read from the JSON that posting left behind.

The file may be old, another version's or damaged: then nothing is compared, and a sentence says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from advisor.records import dataclass

if TYPE_CHECKING:
    from advisor.morning.model import StationMorning

#: A posting older than this is another day's: nothing is compared with it.
MAX_AGE = timedelta(hours=18)
#: The wind counts as moved from these on (trade practice for posting anew; common practice, no source).
SPEED_KT = 5
DIRECTION_DEG = 30
#: A direction of a wind weaker than this says nothing.
DIRECTION_FROM_KT = 5
SCHEMA = "morning/1"
#: File of what is compared: beside a site's whole posting, or alone in the store.
LAST_POSTING = "morning-last.json"


@dataclass(frozen=True, slots=True)
class Previous:
    """A past posting that can be compared with."""

    made_at: datetime
    stations: Mapping[str, Mapping[str, Any]]


def usable_previous(data: Mapping[str, Any] | None, now: datetime) -> tuple[Previous | None, str]:
    """The past posting when it can be compared with, else a sentence why not. Never raises.

    Parameters
    ----------
    data : mapping or None
        JSON of a posting; ``None`` when there is none.
    now : datetime
        Aware UTC.
    """
    if data is None:
        return None, ""
    try:
        made = datetime.fromisoformat(str(data["made_at"]).replace("Z", "+00:00")).astimezone(UTC)
        stations = {str(s["station"]): s for s in data["stations"] if isinstance(s, dict)}
        known = data["schema"] == SCHEMA
    except (KeyError, TypeError, ValueError):
        known, made, stations = False, now, {}
    if not known:
        return None, "The last posting on file is not one of this form; no changes are listed."
    if made > now:
        return None, f"The last posting on file is stamped {made:%d %H%MZ}, after this one; no changes are listed."
    if now - made > MAX_AGE:
        return None, f"The last posting on file is of {made:%d %H%MZ}, too long ago to list changes from."
    return Previous(made, stations), ""


def changes_since(previous: Previous, station: StationMorning) -> tuple[str, ...]:
    """Changes of one field in sentences; empty when nothing moved. Never raises.

    Words of the blocks both postings show, the wind by 5 kt or 30 degrees, gusts, the best runway, hazards.
    """
    old = previous.stations.get(station.station)
    if old is None:
        return ("not in the last posting",)
    try:
        return tuple(_changes(old, station))
    except (KeyError, TypeError, ValueError, AttributeError):
        return ("the last posting of this field could not be read; no changes are listed",)


def _changes(old: Mapping[str, Any], s: StationMorning) -> list[str]:
    out = []
    zone = s.day.zone
    for block in s.blocks:
        slot = f"{block.slot:%Y-%m-%dT%H:%MZ}"
        then = next((b for b in old["blocks"] if b["slot"] == slot), None)
        if then is None:
            continue
        moved = [
            f"{column} {then['columns'][column]['suitability']} to {cell.suitability.words}"
            for column, cell in block.cells.items()
            if then["columns"][column]["suitability"] != cell.suitability.words
        ]
        if moved:
            out.append(f"block {block.slot.astimezone(zone):%H:%M}: {', '.join(moved)}")
    out += _wind(old["now"]["wind"], s)
    before = old.get("best_runway")
    after = s.best_runway.name if s.best_runway is not None else None
    if before is not None and after is not None and before != after:
        out.append(f"best runway {before} to {after}")
    codes = {h["code"] for h in old["hazards"]}
    here = {h.code for h in s.hazards}
    out += [f"new: {h.name} ({h.code})" for h in s.hazards if h.code not in codes]
    out += [f"no longer: {h['name']} ({h['code']})" for h in old["hazards"] if h["code"] not in here]
    return out


def _wind(old: Mapping[str, Any], s: StationMorning) -> list[str]:
    now = s.wind_now
    if (old["mean_kt"] is None) != (now.mean_kt is None):
        return ["the wind is no longer known" if now.mean_kt is None else "the wind is known again"]
    if now.mean_kt is None or old["mean_kt"] is None:
        return []
    out = []
    if abs(now.mean_kt - old["mean_kt"]) >= SPEED_KT:
        out.append(f"wind {old['mean_kt']:.0f} to {now.mean_kt:.0f} kt")
    a, b = old["from_deg_true"], now.from_deg_true
    if a is not None and b is not None and max(now.mean_kt, old["mean_kt"]) >= DIRECTION_FROM_KT:
        turned = (b - a + 180.0) % 360.0 - 180.0
        if abs(turned) >= DIRECTION_DEG:
            way = "veered" if turned > 0 else "backed"
            out.append(f"wind {way} {abs(turned):.0f} degrees, {a:03.0f} to {b:03.0f} true")
    if (old["gust_kt"] is None) != (now.gust_kt is None):
        out.append("gusts are gone" if now.gust_kt is None else f"gusts to {now.gust_kt:.0f} kt now reported")
    elif now.gust_kt is not None and abs(now.gust_kt - old["gust_kt"]) >= SPEED_KT:
        out.append(f"gusts {old['gust_kt']:.0f} to {now.gust_kt:.0f} kt")
    return out
