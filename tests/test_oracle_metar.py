"""METAR decoding against two other decoders: wind, visibility and ceiling.

Every disagreement must be of a kind in ``EXPLAINED``; each kind carries an example that must still disagree,
so a kind nobody needs any more fails as stale. Over the seeds, the known traps and the published groups, and
over real reports with ``--reports DIR``.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest

from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.types import CeilingState, Metar
from advisor.wind import WindState
from tests.metar_agreement import body, read_raw
from tests.metar_oracles import ORACLES, Reading, disagreements, ours_as_reading
from tests.mutator import plain_miles, plain_wind, seeds
from tests.test_decode_metar import NOW, TRAPS

pytestmark = pytest.mark.oracle

# --- explained kinds: each looks at the print, independently of the three decoders ---

_SOUND_WIND = re.compile(r"(?<!\S)(?:\d{3}|VRB|///)(?:P?\d{2,3}|//)(?:G(?:P?\d{2,3}|//))?(?:KT|MPS|KMH)(?!\S)")


@dataclass(frozen=True)
class Explained:
    """One kind of disagreement: whose, in which field, when it may occur, why we are right, and an example."""

    oracles: tuple[str, ...]
    field: str
    name: str
    applies: Callable[[str, Metar, Reading], bool]
    why: str
    example: str


def _printed(miles: float | None, raw: str) -> bool:
    return miles is not None and any(abs(miles - x) < 0.02 for x in plain_miles(body(raw).upper().split()))


def _flagged_wind(raw: str, ours: Metar, theirs: Reading) -> bool:
    groups = _SOUND_WIND.findall(body(raw))
    sound = len(groups) == 1 and plain_wind(groups[0]) is not None
    return ours.wind.state is WindState.NOT_UNDERSTOOD and not sound


def _implausible(raw: str, ours: Metar, theirs: Reading) -> bool:
    match = re.search(r"\b(?:\d{3}|VRB)(\d{2,3})G(\d{2,3})KT\b", body(raw))
    return (
        ours.wind.state is WindState.NOT_UNDERSTOOD
        and match is not None
        and (int(match[2]) < int(match[1]) or int(match[2]) >= 100)
    )


def _only_ours_printed(raw: str, ours: Metar, theirs: Reading) -> bool:
    groups = _SOUND_WIND.findall(body(raw))
    return len(groups) == 1 and plain_wind(groups[0]) == (
        ours.wind.state.value,
        ours.wind.from_deg_true,
        ours.wind.speed_kt,
        ours.wind.gust_kt,
    )


def _with(pattern: str) -> Callable[[str, Metar, Reading], bool]:
    compiled = re.compile(pattern)
    return lambda raw, ours, theirs: compiled.search(raw) is not None and _only_ours_printed(raw, ours, theirs)


def _estimated(raw: str, ours: Metar, theirs: Reading) -> bool:
    return theirs.wind is None and re.search(r" E(?:\d{5}|VRB\d\d)(?:G\d\d)?KT ", raw) is not None


def _theirs_without(raw: str, ours: Metar, theirs: Reading) -> bool:
    return theirs.visibility_sm is None and _printed(ours.visibility.miles, raw)


def _lower_of_two(raw: str, ours: Metar, theirs: Reading) -> bool:
    mine, other = ours.visibility.miles, theirs.visibility_sm
    return mine is not None and other is not None and mine < other and _printed(mine, raw) and _printed(other, raw)


def _flagged_visibility(raw: str, ours: Metar, theirs: Reading) -> bool:
    return ours.visibility.miles is None and any(ours.visibility.raw in x for x in ours.not_understood)


def _trend_leak(raw: str, ours: Metar, theirs: Reading) -> bool:
    return re.search(r" (?:FM\d{4}|INTER) ", raw) is not None and _printed(ours.visibility.miles, raw)


def _unread_group(raw: str, ours: Metar, theirs: Reading) -> bool:
    return ours.sky.ceiling_state is CeilingState.UNKNOWN and bool(ours.not_understood)


REST = "10SM CLR 22/12 A2992"
EXPLAINED = (
    Explained(
        ("mivek", "avwx"),
        "wind",
        "no sound group",
        _flagged_wind,
        "no single wind group keeps its grammar; a guess is no wind",
        f"XBRK 231851Z 25005KY {REST}",
    ),
    Explained(
        ("mivek", "avwx"),
        "wind",
        "contradicts itself",
        _implausible,
        "a gust below the mean, or of 100 kt and more over a light mean",
        f"XBRK 231851Z 27020G15KT {REST}",
    ),
    Explained(
        ("mivek",),
        "wind",
        "estimated",
        _estimated,
        "E marks an estimate; the wind behind it is printed",
        f"XBRK 231851Z E33009G15KT {REST}",
    ),
    Explained(
        ("mivek",),
        "wind",
        "later digits",
        _with(r" \d{5,8}(?:///?\d\d)? "),
        "any later group of digits overwrites its wind",
        "XBRK 231851Z 18006KT 9999 FEW015 262103 GG 22/12",
    ),
    Explained(
        ("mivek",),
        "wind",
        "three figures of speed",
        _with(r" \d{6}KT"),
        "210006KT is 6 kt: two of its three figures are read",
        f"XBRK 231851Z 210006KT {REST}",
    ),
    Explained(
        ("mivek",),
        "wind",
        "trend",
        _with(r" (?:FM\d{4}|INTER) "),
        "the trend's wind is taken for the report's",
        "XBRK 231830Z 15010KT 9999 BKN028 22/19 Q1018 INTER 1930/2100 16020G30KT 3000",
    ),
    Explained(
        ("mivek", "avwx"),
        "wind",
        "more than",
        _with(r"\d{3}P\d\d"),
        "P49 is at least 49; they give no speed",
        f"XBRK 231851Z 270P49KT {REST}",
    ),
    Explained(
        ("avwx",),
        "wind",
        "after a correction mark",
        _with(r" CC[A-Z] "),
        "nothing after CCA is read as wind",
        f"XBRK 231851Z CCA 15012KT {REST}",
    ),
    Explained(
        ("avwx",),
        "wind",
        "not first",
        _with(r"SM .*KT "),
        "only the first place is searched",
        "XBRK 231851Z 10SM 10005KT SCT055 OVC065 12/04 A2992",
    ),
    Explained(
        ("mivek", "avwx"),
        "visibility",
        "theirs without",
        _theirs_without,
        "the printed figure is read by us and left out by them",
        "XBRK 231851Z 27010KT 1/16SM FG CLR 22/12 A2992",
    ),
    Explained(
        ("avwx",),
        "visibility",
        "lower of two",
        _lower_of_two,
        "a sector or minimum below the prevailing figure counts",
        "XBRK 231850Z 24008KT 9000 2000E NSC 12/04 Q1013",
    ),
    Explained(
        ("mivek",),
        "visibility",
        "not understood",
        _flagged_visibility,
        "1 6SM may be 1, 6, 16 or 1 1/6 miles",
        "XBRK 231851Z 27010KT 1 6SM CLR 22/12 A2992",
    ),
    Explained(
        ("avwx",),
        "visibility",
        "not understood",
        _flagged_visibility,
        "a group outside the grammar is not repaired",
        "XBRK 231850Z 18008KT 4000M HZ NSC 27/20 Q1007",
    ),
    Explained(
        ("mivek",),
        "visibility",
        "trend",
        _trend_leak,
        "the trend's visibility is taken for the report's",
        "XBRK 231830Z 15010KT 9999 BKN028 22/19 Q1018 INTER 1930/2100 16020G30KT 3000",
    ),
    Explained(
        ("mivek", "avwx"),
        "ceiling",
        "unread group",
        _unread_group,
        "a layer that cannot be read may be the lowest",
        "XBRK 231851Z 27010KT 9999 BKN09 OVC030 22/12 Q1009",
    ),
)


@pytest.mark.parametrize(
    ("kind", "oracle"),
    [(kind, oracle) for kind in EXPLAINED for oracle in kind.oracles],
    ids=lambda x: x if isinstance(x, str) else f"{x.field}: {x.name}",
)
def test_no_kind_is_stale(kind: Explained, oracle: str):
    ours = decode_metar(kind.example, NOW)
    theirs = ORACLES[oracle](kind.example, NOW)
    assert theirs is not None
    assert kind.field in disagreements(ours, theirs), "they agree now: drop this kind"
    assert kind.applies(kind.example, ours, theirs)


def test_a_difference_of_no_kind_is_seen():
    raw = f"XBRK 231851Z 27010KT {REST}"
    ours = decode_metar(raw, NOW)
    for wrong in (
        Reading((280, 10, None), 10.0, None),
        Reading((270, 11, None), 10.0, None),
        Reading((270, 10, 20), 10.0, None),
        Reading((270, 10, None), 3.0, None),
        Reading((270, 10, None), 10.0, 900),
    ):
        (field,) = disagreements(ours, wrong)
        assert not [k.name for k in EXPLAINED if k.field == field and k.applies(raw, ours, wrong)]


def judge(name: str, cases: Iterable[tuple[str, datetime]]) -> tuple[Counter[str], list[str]]:
    """Counts by field and kind, and the differences no kind explains."""
    counts: Counter[str] = Counter()
    unexplained = []
    for raw, when in cases:
        try:
            ours = decode_metar(raw, when)
        except AdvisorError:
            counts["refused by us"] += 1
            continue
        theirs = ORACLES[name](raw, when)
        if theirs is None:
            counts["not read by them"] += 1
            continue
        counts["compared"] += 1
        for field in disagreements(ours, theirs):
            kind = next(
                (k.name for k in EXPLAINED if name in k.oracles and k.field == field and k.applies(raw, ours, theirs)),
                None,
            )
            if kind is None:
                unexplained.append(f"{field}: {ours_as_reading(ours)} against {theirs}: {raw}")
            else:
                counts[f"{field}: {kind}"] += 1
    return counts, unexplained


@pytest.mark.parametrize("oracle", ORACLES)
def test_seeds_and_traps(oracle: str):
    cases = [(raw, NOW) for raw in seeds()] + [(case[1].upper(), NOW) for case in TRAPS]
    counts, unexplained = judge(oracle, cases)
    assert not unexplained, "\n".join(unexplained)
    assert counts["compared"] > 50


@pytest.mark.parametrize("oracle", ORACLES)
def test_real_reports(oracle: str, reports_dir: Path, capsys: pytest.CaptureFixture[str]):
    cases = [*read_raw(reports_dir / "metar_sample.tsv"), *read_raw(reports_dir / "malformed_sample.tsv")]
    counts, unexplained = judge(oracle, cases)
    with capsys.disabled():
        print(f"\n{oracle}: " + ", ".join(f"{name} {count}" for name, count in counts.most_common()))
    assert not unexplained, f"{len(unexplained)} unexplained:\n" + "\n".join(unexplained)
    assert counts["compared"] > 0.9 * len(cases)
