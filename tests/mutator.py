"""Seeded damage to real-shaped METARs, and what must still hold of the decode.

Every mutant is judged against a second, plain reading of the *damaged* text made here, never against the
decoder: whatever wind, visibility or ceiling comes out must be printed in it. Used with 2,000 mutants in the
tests and by ``python -m tests.bulk.mutate --count 200000``.
"""

from __future__ import annotations

import csv
import json
import random
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.schema import metar_object
from advisor.reports.types import CeilingState, Metar
from advisor.wind import WindState

NOW = datetime(2026, 11, 23, 19, tzinfo=UTC)
SEEDS = Path(__file__).resolve().parent.parent / "fixtures" / "metar" / "seeds.csv"
_CHARACTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/+-$V"
_STRANGERS = ("/////KT", "////", "RMK", "TEMPO", "=", "NIL", "TAF", "CAVOK", "\x00", "É", "٣")

# --- the plain reading of a group ---

_WIND = re.compile(r"(\d{3}|VRB)(P?)(\d{2,3})(?:G(?:P?(\d{2,3})|//))?(KT|MPS|KMH)")
_NO_WIND = re.compile(r"(?:\d{3}|VRB|///)(?:\d{2,3}|///?)(?:G(?:\d{2,3}|///?))?(?:KT|MPS|KMH)")
_METRES = re.compile(r"[PM]?(\d{4})(?:NDV|[NS][EW]?|[EW])?")
_MILES = re.compile(r"[PM]?(\d{1,3})SM")
_FRACTION = re.compile(r"[PM]?(\d{1,2})/(\d{1,2})SM")
_KM = re.compile(r"(\d{1,3})KM")
_LAYER = re.compile(r"(?:(FEW|SCT|BKN|OVC)(\d{3}|///)|(VV)(\d{3}|///))(?:CB|TCU|CU|SC|ST|AC|AS|NS|CI|CS|CC|///)?")
_CLEAR = ("CLR", "SKC", "NSC", "NCD", "CAVOK")
_SLASHED = re.compile(r"/{1,9}(?:CB|TCU|SM|NDV|\d{3}.*)?|/+V/+")
_TEMPERATURE = re.compile(r"(?:M?\d{1,2}|//|XX|M{1,2})?/(?:M?\d{1,2}|//|XX|M{1,2})?")
_PRESSURE = re.compile(r"(?:A|Q|QNH)(?:\d{4}|////)?(?:INS)?")
_FACTOR = {"KT": 1.0, "MPS": 3600 / 1852, "KMH": 1000 / 1852}
_END = re.compile(r"RMK.*|TEMPO|BECMG|NOSIG.*|INTER|FM\d{4,6}|PROB[34]0")


def plain_wind(group: str) -> tuple[str, int | None, int, int | None] | None:
    """(state, from, mean, gust) in whole knots of a sound wind group, else ``None``."""
    match = _WIND.fullmatch(group)
    if match is None:
        return None
    direction, prefix, speed, gust, unit = match.groups()
    if (prefix and int(speed) < 49) or ("GP" in group and int(gust) < 49):
        return None
    mean = int(int(speed) * _FACTOR[unit] + 0.5)
    peak = None if gust is None else int(int(gust) * _FACTOR[unit] + 0.5)
    if direction == "VRB":
        return "variable", None, mean, peak
    if int(direction) > 360:
        return None
    if int(direction) == 0:
        return ("calm", None, 0, None) if mean == 0 and not peak else None
    return "steady", int(direction), mean, peak


def plain_miles(groups: Sequence[str]) -> set[float]:
    """Every visibility, in statute miles, that can be read anywhere in the groups."""
    found: set[float] = set()
    for i, group in enumerate(groups):
        if group == "CAVOK" or group.strip("PM") == "9999":
            found.add(10_000 / 1609.344)
        if match := _METRES.fullmatch(group):
            found.add((10_000 if match[1] == "9999" else int(match[1])) / 1609.344)
        if match := _MILES.fullmatch(group):
            found.add(float(match[1]))
        if match := _KM.fullmatch(group):
            found.add(int(match[1]) / 1.609344)
        if group == "SM" and i and groups[i - 1].isdigit():
            found.add(float(groups[i - 1]))
        joined = f"{group}SM" if groups[i + 1 : i + 2] == ["SM"] else group
        if (match := _FRACTION.fullmatch(joined)) and int(match[2]):
            above, below = int(match[1]), int(match[2])
            found.add(above / below)
            found.add(above // 10 + (above % 10) / below)
            if i and groups[i - 1].isdigit():
                found.add(int(groups[i - 1]) + above / below)
    return found


def plain_heights(groups: Sequence[str]) -> list[int]:
    """Heights of every broken, overcast or vertical-visibility group printed, feet."""
    found = []
    for group in groups:
        match = _LAYER.fullmatch(group)
        if match and (match[1] in ("BKN", "OVC") or match[3]):
            height = match[2] or match[4]
            if height != "///":
                found.append(int(height) * 100)
    return found


def kind_of(group: str) -> str:
    """wind, visibility, sky, temperature, pressure, slashes or other, by the plain grammar."""
    if _NO_WIND.fullmatch(group.removeprefix("E")):
        return "wind"
    if re.fullmatch(r"\d{3}V\d{3}", group):
        return "swing"
    if group == "CAVOK" or any(p.fullmatch(group) for p in (_METRES, _MILES, _FRACTION, _KM)):
        return "visibility"
    if _LAYER.fullmatch(group) or group in _CLEAR:
        return "sky"
    if _SLASHED.fullmatch(group):
        return "slashes"
    if _TEMPERATURE.fullmatch(group):
        return "temperature"
    return "pressure" if _PRESSURE.fullmatch(group) else "other"


def body_end(groups: Sequence[str]) -> int:
    """Index where remarks or the trend begin."""
    return next((i for i, group in enumerate(groups) if _END.fullmatch(group)), len(groups))


# --- damage ---


@dataclass(frozen=True)
class Mutant:
    """A damaged report; ``deleted`` and ``damaged`` name a group kind when the damage is of that sort."""

    text: str
    original: str
    deleted: str | None = None
    damaged: str | None = None
    new_group: str = ""


def _edit(group: str, rng: random.Random) -> str:
    at = rng.randrange(len(group))
    how = rng.randrange(4)
    if how == 0:
        return group[:at] + rng.choice(_CHARACTERS) + group[at + 1 :]
    if how == 1:
        return group[:at] + rng.choice(_CHARACTERS) + group[at:]
    if how == 2:
        return group[:at] + group[at + 1 :]
    other = rng.randrange(len(group))
    letters = list(group)
    letters[at], letters[other] = letters[other], letters[at]
    return "".join(letters)


def _delete_kind(groups: list[str], rng: random.Random, original: str) -> Mutant | None:
    end = body_end(groups)
    kind = rng.choice(("wind", "visibility", "sky"))
    kept, removed = [], 0
    for i, group in enumerate(groups):
        two_part = kind == "visibility" and group.isdigit() and i + 1 < end and _FRACTION.fullmatch(groups[i + 1])
        both = group == "CAVOK" and kind in ("visibility", "sky")
        sector = kind == "wind" and re.fullmatch(r"\d{3}V\d{3}", group)
        slashed_sky = kind == "sky" and kind_of(group) == "slashes"
        if 2 <= i < end and (kind_of(group) == kind or two_part or both or sector or slashed_sky):
            removed += 1
        else:
            kept.append(group)
    return Mutant(" ".join(kept), original, deleted=kind) if removed else None


def _damage_one(groups: list[str], rng: random.Random, original: str) -> Mutant | None:
    i = rng.randrange(len(groups))
    kind = kind_of(groups[i]) if 2 <= i < body_end(groups) else None
    following = groups[i + 1] if i + 1 < len(groups) else ""
    if groups[i] == "SM" or (groups[i].isdigit() and (following == "SM" or _FRACTION.fullmatch(following))):
        kind = "visibility"
    if any(kind_of(group) in ("temperature", "pressure") for group in groups[2:i]) and kind == "sky":
        kind = None  # a layer after the temperature is out of place already
    new = _edit(groups[i], rng)
    if not new or new == groups[i]:
        return None
    return Mutant(" ".join([*groups[:i], new, *groups[i + 1 :]]), original, damaged=kind, new_group=new)


def _wreck(groups: list[str], rng: random.Random, original: str) -> Mutant:
    groups = list(groups)
    for _ in range(rng.randint(1, 6)):
        i = rng.randrange(len(groups))
        how = rng.randrange(10)
        if how == 0:
            groups.insert(i, rng.choice(groups))
        elif how == 1:
            j = rng.randrange(len(groups))
            groups[i], groups[j] = groups[j], groups[i]
        elif how == 2 and len(groups) > 1:
            del groups[i]
        elif how == 3 and i + 1 < len(groups):
            groups[i : i + 2] = [groups[i] + groups[i + 1]]
        elif how == 4 and len(groups[i]) > 1:
            at = rng.randrange(1, len(groups[i]))
            groups[i : i + 1] = [groups[i][:at], groups[i][at:]]
        elif how == 5:
            groups[i] = "".join(rng.choice(_CHARACTERS) for _ in range(rng.randint(1, 30)))
        elif how == 6:
            groups[i] = rng.choice(("/////KT", "////", "RMK", "TEMPO", "=", "NIL", "TAF", "CAVOK", "\x00", "É", "٣"))
        elif how == 7:
            groups = groups[: i + 1]
        else:
            groups[i] = _edit(groups[i], rng) or "X"
    return Mutant(" ".join(groups), original)


def mutate(original: str, rng: random.Random) -> Mutant:
    """One damaged copy of a report."""
    groups = original.split()
    for maker in rng.sample((_delete_kind, _damage_one, _damage_one, _wreck), 4):
        made = maker(groups, rng, original)
        if made is not None:
            return made
    return _wreck(groups, rng, original)


# --- what must hold ---


def faults(mutant: Mutant) -> list[str]:
    """Sentences on what is wrong with the decode of a mutant; empty when all holds.

    Any exception but ours passes through, so that the run stops on it.
    """
    try:
        ours = decode_metar(mutant.text, NOW)
    except AdvisorError as error:
        said = str(error)
        return [] if said.endswith(".") and len(said) < 500 else [f"poor sentence: {said[:200]}"]
    json.dumps(metar_object(ours), allow_nan=False)
    return _nothing_invented(ours, mutant) + _deletion(ours, mutant) + _one_damage(ours, mutant)


def _nothing_invented(ours: Metar, mutant: Mutant) -> list[str]:
    # as a reader of the damaged page sees it: control characters are blanks
    seen = "".join(c if c.isprintable() and c != "=" else " " for c in mutant.text.upper())
    groups = seen.split()
    found = []
    wind = ours.wind
    if wind.known:
        read = [plain_wind(x) or plain_wind(x[1:] if x[:1] == "E" else "") for x in groups]
        if (wind.state.value, wind.from_deg_true, wind.speed_kt, wind.gust_kt) not in read:
            found.append(f"wind {wind} is printed nowhere")
        if wind.gust_kt is not None and wind.gust_kt < (wind.speed_kt or 0):
            found.append("gust below mean")
    elif wind.state is WindState.NOT_UNDERSTOOD and wind.raw not in ours.not_understood:
        found.append("a wind not understood is not listed")
    miles = ours.visibility.miles
    if miles is not None and not any(abs(miles - x) < 1e-6 for x in plain_miles(groups)):
        found.append(f"visibility {ours.visibility} is printed nowhere")
    heights = plain_heights(groups)
    if ours.sky.ceiling_state is CeilingState.AT and ours.sky.ceiling_ft_agl not in heights:
        found.append(f"ceiling {ours.sky.ceiling_ft_agl} is printed nowhere")
    if ours.sky.ceiling_state is CeilingState.NONE:
        told = any(x in _CLEAR or x.startswith(("FEW", "SCT")) for x in groups)
        if not told:
            found.append("no ceiling, though no sky group is printed")
    if ours.altimeter_inhg is not None and not 25 <= ours.altimeter_inhg <= 32.04:
        found.append(f"altimeter {ours.altimeter_inhg}")
    if ours.temperature_c is not None and not -90 <= ours.temperature_c <= 61:
        found.append(f"temperature {ours.temperature_c}")
    return found


def _deletion(ours: Metar, mutant: Mutant) -> list[str]:
    if mutant.deleted == "wind":
        return [] if ours.wind.state is WindState.MISSING else [f"wind deleted, yet {ours.wind}"]
    if mutant.deleted == "visibility":
        gone = ours.visibility.miles is None and not ours.visibility.raw
        return [] if gone else [f"visibility deleted, yet {ours.visibility}"]
    if mutant.deleted == "sky":
        gone = ours.sky.ceiling_state is CeilingState.UNKNOWN and not ours.sky.layers
        return [] if gone else [f"sky deleted, yet {ours.sky}"]
    return []


def _one_damage(ours: Metar, mutant: Mutant) -> list[str]:
    """One body group changed: outside every grammar it must be listed, and its neighbours must be whole."""
    if mutant.damaged is None or kind_of(mutant.new_group) != "other" or mutant.damaged == "slashes":
        return []
    kind, group = mutant.damaged, mutant.new_group
    if _END.fullmatch(group) or any(c in group for c in "= $"):
        return []
    before = decode_metar(mutant.original, NOW)
    found = []
    if kind == "wind" and ours.wind.known and group[:1] != "E" and plain_wind(group) is None:
        found.append(f"damaged wind {group} still read as {ours.wind}")
    if kind == "wind" and ours.wind.state is WindState.MISSING:
        found.append(f"damaged wind {group} taken for missing")
    if kind == "sky" and ours.sky.ceiling_state is CeilingState.NONE:
        found.append(f"damaged sky {group} left the sky open")
    higher = (
        kind == "sky"
        and ours.sky.ceiling_state is CeilingState.AT
        and before.sky.ceiling_state is CeilingState.AT
        and (ours.sky.ceiling_ft_agl or 0) > (before.sky.ceiling_ft_agl or 0)
    )
    if higher:
        found.append(f"damaged sky {group} raised the ceiling to {ours.sky.ceiling_ft_agl}")
    if kind in ("wind", "visibility", "sky") and not any(group in x for x in ours.not_understood):
        listed = {*ours.weather, *ours.recent_weather, *ours.runway_visual_range}
        if group not in listed and not _known_otherwise(group):
            found.append(f"damaged {kind} {group} is not listed")
    if kind == "swing":  # the swing itself goes, the wind stays
        before, ours = _without_swing(before), _without_swing(ours)
    # Where no wind or visibility is printed, an unread group in its place may be taken for a broken one.
    if not before.wind.known and ours.wind.state is WindState.NOT_UNDERSTOOD:
        before = replace(before, wind=ours.wind)
    if before.visibility.miles is None and ours.visibility.miles is None:
        before = replace(before, visibility=ours.visibility)
    if kind != "wind" and ours.wind != before.wind:
        found.append(f"damage to the {kind} changed the wind to {ours.wind}")
    if kind not in ("visibility", "wind", "sky") and ours.visibility != before.visibility:
        found.append(f"damage to the {kind} changed the visibility to {ours.visibility}")
    if kind != "temperature" and ours.temperature_c != before.temperature_c:
        found.append(f"damage to the {kind} changed the temperature to {ours.temperature_c}")
    if kind != "pressure" and ours.altimeter_inhg != before.altimeter_inhg:
        found.append(f"damage to the {kind} changed the altimeter to {ours.altimeter_inhg}")
    return found


def _without_swing(metar: Metar) -> Metar:
    raw = metar.wind.raw.split()[0]
    return replace(metar, wind=replace(metar.wind, varying_from_deg=None, varying_to_deg=None, raw=raw))


def _known_otherwise(group: str) -> bool:
    """Groups that one edit may turn a wind, visibility or layer into, and that mean no weather to us."""
    return bool(re.fullmatch(r"AUTO|COR|CC[A-Z]|RTD|M{1,2}|XX|\d{1,2}|R/+|\d\d[0-9/]{6}|[AQ]|WS|E.*KT", group))


# --- runs ---


def seeds(reports: Path | None = None) -> list[str]:
    """Published and made-by-hand reports, and those of a folder in the sample's format when given."""
    with SEEDS.open(newline="", encoding="utf-8") as handle:
        found = [row["raw"].removeprefix("METAR ").removeprefix("SPECI ") for row in csv.DictReader(handle)]
    if reports is not None:
        lines = (reports / "metar_sample.tsv").read_text("utf-8").splitlines()[1:]
        found += [line.split("\t")[1] for line in lines]
    return [raw for raw in found if _sound(raw)]


def _sound(raw: str) -> bool:
    """A seed must itself be read without a fault, so that what a mutant shows is due to the damage."""
    try:
        return not decode_metar(raw, NOW).not_understood
    except AdvisorError:
        return False


@dataclass(frozen=True)
class Run:
    """What a run found."""

    count: int
    sorts: Counter[str]
    failures: list[str]


def run(texts: Sequence[str], count: int, seed: int, most_failures: int = 20) -> Run:
    """``count`` mutants of the texts, the same for the same seed."""
    rng = random.Random(seed)
    sorts: Counter[str] = Counter()
    failures: list[str] = []
    for _ in range(count):
        mutant = mutate(rng.choice(texts), rng)
        sorts["deleted" if mutant.deleted else "one group" if mutant.new_group else "wrecked"] += 1
        wrong = faults(mutant)
        if wrong:
            failures.append(f"{mutant.text!r}\n   from {mutant.original!r}\n   " + "; ".join(wrong))
            if len(failures) >= most_failures:
                break
    return Run(count, sorts, failures)
