"""The archive decoder gives, report by report, what the one-at-a-time decoder gives.

Its truth is ``decode_metar``, which has outside checks of its own. Reports here are made by hand in the form
of real ones (NWS/FAA key to METAR); the last tests run over a folder of real reports.
"""

from __future__ import annotations

import csv
import random
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from advisor.archive.decode import Decoded, decode_archive
from advisor.archive.text import Chunk
from advisor.archive.words import Words
from advisor.errors import AdvisorError
from advisor.reports.decode_metar import decode_metar
from advisor.reports.metar_groups import WIND
from advisor.segments import SEGMENT_COLUMNS, from_minutes, observation_segment, to_minutes

NEAR = to_minutes(datetime(2026, 4, 25, 18, tzinfo=UTC))
WITHIN = 60.0

#: Reports that must not need the one-at-a-time decoder: an archive is made of these.
PLAIN = """
XBRK 251753Z 22012KT 10SM CLR 15/05 A3005
XBRK 251753Z AUTO 22012G19KT 180V260 10SM FEW050 BKN250 15/05 A3005 RMK AO2 SLP123 T01500050 10172 52014
METAR XBRK 251753Z 00000KT 9999 NSC 26/23 Q1006 NOSIG
SPECI XBRK 251805Z VRB05KT 1 1/2SM -RA BR OVC008 06/05 A2995 RMK AO2 P0002 $
XBRK 251753Z 16008MPS CAVOK M02/M10 Q1024 R24/CLRD70 NOSIG RMK QFE756
XBRK 251753Z AUTO 31015G27KT 10SM TS SCT045CB 22/16 A2984 RMK AO2 PK WND 30034/1741 LTG DSNT W TSB44
XBRK 251753Z 31015KT 10SM VCTS FEW045TCU 22/16 A2984 RMK OCNL LTGICCG OHD TS OHD MOV E TCU SE CB DSNT N
XBRK 251753Z 31015KT 5SM BR VV004 02/02 A2984 RMK VIS 1/2V2 CIG 003V007 WSHFT 1715 FROPA WND DATA ESTMD TSNO
XBRK 251753Z 09005KT 6000 -SHRA FEW012 SCT///CB BKN040 14/12 Q1011 TEMPO 3000 SHRA BKN008
XBRK 251753Z /////KT //// // ////// 12/11 Q1013
XBRK 251753Z 08012G//KT 9999 // BKN/// ///CB 12/11 Q1013
XBRK 251753Z 13022KT M1/4SM R13/1400FT +FZRA FZFG VV001 M01/M01 A2990
XBRK 251753Z 27010KT P6SM HZ BKN030 30/ A3001 RMK T0302
XBRK 251753Z 27010KT 9999 4000SE BKN030 OVC020 10/09 Q1001 A2957
XBRK 251753Z 27010KT 10SM BKN030 10/09 A3001 RMK T11450272
XBRK 251753Z 27010KT 2 1/4SM RETS BKN030 10/09 A3001 RMK PK WND 29045/0230
XBRK 251753Z 27010KT 10SM BKN030 10/09 A3001 RMK AO2 PK WND 29045/1653
XBRK 251753Z 27010KT 10SM BKN030 10/09 A3001 RMK AO2 PK WND 29045/1652
XBRK 251753Z COR 27010KT 10SM CLR 10/09 A3001
METAR COR XBRK 251753Z 27010KT 10SM CLR 10/09 A3001
XBRK 251753Z AUTO 10SM CLR 10/09 A3001 RMK AO1
xbrk 251753z 27010kt 10sm clr 10/09 a3001=
""".strip().splitlines()

#: Reports that need it, or that no decoder can read.
ODD = """
XBRK 251753Z E33009G15KT 10SM CLR 10/09 A3001
XBRK 251753Z 27010KT 18035G50KT 10SM CLR 10/09 A3001
XBRK 251753Z 27020G15KT 10SM CLR 10/09 A3001
XBRK 251753Z 27010 9999 SCT030 32/23 Q1013
XBRK 251753Z 27010KT 10 SM CLR 10/09 A3001
XBRK 251753Z 27010KT 1 6SM CLR 10/09 A3001
XBRK 251753Z 27010KT 10SM CLR 99/09 A3001
XBRK 251753Z 27010KT 10SM CLR 10/09 A1001
XBRK 251753Z 27010KT 10SM CLR 10/09 Q1013 A3030
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 $
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 RMKAO2 TSNO
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 = TSRA
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 XHLW 251753Z 27010KT 10SM CLR 10/09 A3001
XBRK 251753Z 27010KT 9999 NOSIG XHLW 251753Z 27010KT
XBRK 251753Z 27010KT 10SM BKN09 10/09 A3001 WS R22
XBRK 251753Z 27010KT 10SM FEW020 10/09 A3001 OVC005 5000
XBRK 251753Z NIL
XBRK 251753Z 2518/2618 27010KT P6SM SKC
TAF XBRK 251753Z 2518/2618 27010KT P6SM SKC
XBRK 27010KT 10SM CLR 10/09 A3001
XBRK 257753Z 27010KT 10SM CLR
2026/04/25 17:53 XBRK 251753Z 27010KT 10SM CLR 10/09 A3001
27010KT
XBRK 251753Z
XBRK 251753Z 270\u0661\u0660KT 10SM CLR 10/09 A3001
XBRK 251753Z 27010KT\t10SM\nCLR\x00 10/09\x7fA3001 RMK\r AO2 PK WND
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 RMK PK WND 99999/9999 PK WND 28030/1740 PK WND 28040/1745
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 RMK LTG DSNT N AND VC LTG DSNT S TS DSNT W VIS 2V1 VIS 1V2 CIG 5
XBRK 251753Z 27010KT 10SM CLR 10/09 A3001 RMK WND DATA WSHFT 2561 T01000090 T01100090 CIG 012V018 CIG 010V020
""".strip("\n").split("\n")  # fmt: skip
ODD = [line.replace("\\u0661\\u0660", "\u0661\u0660") for line in ODD]
ODD += [
    "",
    " ",
    "=",
    "\n",
    "RMK",
    "XBRK 251753Z " + "27010KT " * 70,
    "X" * 500,
    "XBRK 251753Z 27010KT " + "Q" * 90,
]


def one_at_a_time(raw: str, near_min: int) -> dict[str, object] | None:
    near = from_minutes(near_min)
    try:
        metar = decode_metar(raw, near, near)
    except AdvisorError:
        return None
    segment = observation_segment(metar, 0, WITHIN)
    row = {name: getattr(segment, name) for name in SEGMENT_COLUMNS}
    return {"station": metar.station, "observed_min": segment.start_min, **row}


def assert_same(got: Decoded, raws: list[str], near_min: list[int]) -> None:
    different: list[str] = []
    for i, (raw, near) in enumerate(zip(raws, near_min, strict=True)):
        want = one_at_a_time(raw, near)
        if want is None:
            if got.read[i]:
                different.append(f"read though refused: {raw!r}")
            continue
        have = {"station": got.station[i].decode(), "observed_min": int(got.observed_min[i])}
        have |= {name: got.columns[name][i].item() for name in SEGMENT_COLUMNS}
        if not got.read[i]:
            different.append(f"refused though read: {raw!r}")
        for name, value in want.items():
            both_nan = value != value and have[name] != have[name]
            if have[name] != value and not both_nan:
                different.append(f"{name} {have[name]} for {value}: {raw!r}")
    assert not different, f"{len(different)} differences\n" + "\n".join(different[:20])


def decode(raws: list[str], near_min: list[int]) -> Decoded:
    return decode_archive(raws, np.array(near_min), WITHIN)


def test_plain_reports_equal_and_need_no_other_decoder() -> None:
    got = decode(PLAIN, [NEAR] * len(PLAIN))
    assert_same(got, PLAIN, [NEAR] * len(PLAIN))
    slow = [raw for raw, asked in zip(PLAIN, got.one_at_a_time, strict=True) if asked]
    assert not slow


def test_odd_reports_equal() -> None:
    got = decode(ODD, [NEAR] * len(ODD))
    assert_same(got, ODD, [NEAR] * len(ODD))
    assert 0 < got.read.sum() < len(ODD)


def test_an_archive_of_nothing() -> None:
    assert decode([], []).read.shape == (0,)


@pytest.mark.parametrize("order", [1, -1], ids=["forward", "backward"])
def test_a_report_never_takes_from_its_neighbour(order: int) -> None:
    raws = (PLAIN + ODD)[::order]
    together = decode(raws, [NEAR] * len(raws))
    for i, raw in enumerate(raws):
        alone = decode([raw], [NEAR])
        for name in SEGMENT_COLUMNS:
            np.testing.assert_array_equal(alone.columns[name][0], together.columns[name][i], err_msg=f"{name} {raw!r}")


@pytest.mark.parametrize(
    ("near", "stamp"),
    [
        ("2026-03-01T00:10", "282355"), ("2024-03-01T00:10", "292355"), ("2026-02-28T23:50", "010005"),
        ("2026-01-01T00:00", "312350"), ("2026-05-31T12:00", "311150"), ("2026-04-30T23:00", "310000"),
        ("2026-12-31T23:59", "010000"), ("2026-07-15T12:00", "010000"), ("2026-07-15T12:00", "290000"),
    ],
)  # fmt: skip
def test_the_month_is_that_of_the_archive_row(near: str, stamp: str) -> None:
    raws = [f"XBRK {stamp}Z 27010KT 10SM CLR 10/09 A3001"]
    near_min = [to_minutes(datetime.fromisoformat(near).replace(tzinfo=UTC))]
    assert_same(decode(raws, near_min), raws, near_min)


def mutants(raws: list[str], count: int, seed: int) -> list[str]:
    """Reports with groups lost, doubled, swapped and moved between reports, and with characters changed."""
    rng = random.Random(seed)
    letters = "0123456789/KTGVRBSMQAPN$ =-+Z"
    out = []
    for _ in range(count):
        groups = rng.choice(raws).split(" ")
        for _ in range(rng.randint(1, 3)):
            at = rng.randrange(len(groups))
            match rng.randrange(6):
                case 0:
                    del groups[at]
                case 1:
                    groups.insert(at, groups[at])
                case 2:
                    to = rng.randrange(len(groups))
                    groups[at], groups[to] = groups[to], groups[at]
                case 3:
                    groups.insert(at, rng.choice(rng.choice(raws).split(" ")))
                case _:
                    text = groups[at]
                    k = rng.randrange(len(text) + 1)
                    groups[at] = text[:k] + rng.choice(letters) + text[k + rng.randrange(2) :]
            if not groups:
                break
        out.append(" ".join(groups))
    return out


def test_mutants_equal() -> None:
    raws = mutants(4 * PLAIN + [o for o in ODD if o.isascii() and len(o) < 200], 2000, seed=7)
    near = [NEAR] * len(raws)
    got = decode(raws, near)
    assert_same(got, raws, near)
    assert 0.2 < got.one_at_a_time.mean() < 0.9  # both ways were tried


def test_words_keep_their_number_through_growth() -> None:
    words = Words()
    texts = [f"{i:05d}KT" for i in range(300)] + [f"Q{i}LONGERTHANEIGHT" for i in range(300)]
    texts += [f"T{i}ONEOFTWENTYFOURCHARS"[:24] for i in range(100)] + [f"K{i}" for i in range(20000)]
    chunk = Chunk([" ".join(texts)])
    every = np.arange(len(texts))
    first = words.numbers(chunk.words(every[:700]))
    again = words.numbers(chunk.words(every))
    np.testing.assert_array_equal(again[:700], first)
    assert len(np.unique(again)) == len(texts)
    assert again.min() > 0
    np.testing.assert_array_equal(words.numbers(chunk.words(every[::-1])), again[::-1])
    assert words.kind[again[0]] == WIND


def real_reports(path: Path) -> tuple[list[str], list[int]]:
    raws, near = [], []
    with path.open(encoding="utf-8", newline="") as handle:
        for row in csv.DictReader(handle, delimiter="\t" if path.suffix == ".tsv" else ","):
            if row.get("kind", "METAR") != "METAR":
                continue
            stamp = row.get("observed_utc") or row.get("observed_or_issued")
            when = datetime.fromisoformat(stamp) if stamp else datetime(2022, 10, 23)
            raws.append(row["raw"])
            near.append(to_minutes(when.replace(tzinfo=UTC)))
    return raws, near


@pytest.mark.parametrize("name", ["metar_sample.tsv", "decoded_sample.csv", "malformed_sample.tsv"])
def test_real_reports_equal(reports_dir: Path, name: str) -> None:
    raws, near = real_reports(reports_dir / name)
    assert len(raws) > 100
    assert_same(decode(raws, near), raws, near)


def test_few_real_reports_need_the_other_decoder(reports_dir: Path) -> None:
    raws, near = real_reports(reports_dir / "metar_sample.tsv")
    share = decode(raws, near).one_at_a_time.mean()
    assert share <= 0.02, f"{share:.2%} of {len(raws)} reports went one at a time"


def test_mutants_of_real_reports_equal(reports_dir: Path) -> None:
    raws, _ = real_reports(reports_dir / "metar_sample.tsv")
    raws = mutants([raw for raw in raws if raw.isascii()], 2500, seed=11)
    near = [to_minutes(datetime(2022, 10, 23, tzinfo=UTC))] * len(raws)
    assert_same(decode(raws, near), raws, near)
