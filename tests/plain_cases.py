"""Made-up reports crowded round every limit, for holding the rules to the plain rating of ``plain_rating.py``."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from advisor.conditions import StationInput
from advisor.places import RunwayEnd
from advisor.reports.decode_metar import decode_metar
from advisor.reports.decode_taf import decode_taf
from advisor.site import Site
from tests.day_case import FIELD, MAGNETIC, VARIATION_DEG

#: 25 April 2026 at the made-up field: the sun is up from 1135Z to 0117Z.
_SUNRISE, _SUNSET = datetime(2026, 4, 25, 11, 35, tzinfo=UTC), datetime(2026, 4, 26, 1, 17, tzinfo=UTC)
_MEANS = (0, 1, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 25, 26, 30)
_PEAKS = (17, 18, 19, 24, 25, 26, 29, 30, 31)
_SPREADS = (0, 3, 6, 7, 8, 9, 10, 11, 12, 13, 15, 16)
_CEILINGS = (4, 10, 14, 15, 16, 18, 19, 20, 21, 24, 25, 26, 27, 29, 30, 31, 34, 35, 36, 42, 69, 70, 71)
_MILES = (
    "1/2SM",
    "2SM",
    "2 1/2SM",
    "3SM",
    "4SM",
    "5SM",
    "6SM",
    "7SM",
    "10SM",
    "P6SM",
    "M1/4SM",
    "9999",
    "4800",
    "8000",
)
_WARMTH = (-22, -19, -18, -17, -16, -15, -14, -11, -10, -9, -8, -7, -1, 0, 1, 2, 3, 5, 9, 10, 11, 15, 20, 21, 24, 27, 29,
           31, 32, 33, 37, 38, 39, 40, 41)  # fmt: skip
_WEATHER = ("-RA", "-SN", "SHRA", "TS", "VCTS", "+TSRA", "FZRA", "-FZDZ", "SQ", "+FC", "BR", "FG", "MIFG", "HZ", "VCSH",
            "VCFG", "PL", "GR", "BLSN", "IC", "SG", "UP", "FZUP", "FU", "DZ", "VCSN", "DRSN")  # fmt: skip
_REMARKS = ("TSNO", "PWINO", "FZRANO", "VIRGA", "LTG DSNT W", "LTGICCG VC", "CB DSNT N", "TCU NE", "WSHFT 1720 FROPA",
            "WND DATA ESTMD", "CIG 014V019", "VIS 2V4", "TSB24", "FUNNEL CLOUD", "RAB10", "$", "TS DSNT SW", "FRQ LTGCG OHD",
            "PRESFR")  # fmt: skip


def _wind(pick: random.Random) -> str:
    roll = pick.random()
    mean = pick.choice(_MEANS)
    if roll < 0.03:
        return pick.choice(("/////KT", "", "36015G10KT", "40010KT", "///18KT", "///12G26KT"))
    gust = ""
    if pick.random() < 0.45:
        peak = pick.choice(_PEAKS) if pick.random() < 0.5 else mean + pick.choice(_SPREADS)
        if peak >= mean:
            gust = "G//" if pick.random() < 0.03 else f"G{peak:02d}"
    if roll < 0.13:
        return f"VRB{mean:02d}{gust}KT"
    if mean == 0 or roll < 0.16:
        return "00000KT"
    direction = pick.randrange(1, 37) * 10
    swing = ""
    if pick.random() < 0.2:
        width = pick.choice((40, 50, 60, 70, 90, 120, 180, 240))
        start = (direction - pick.choice((10, 20, width // 20 * 10))) % 360
        swing = f" {start or 360:03d}V{(start + width) % 360 or 360:03d}"
    return f"{direction:03d}{mean:02d}{gust}KT{swing}"


def _sky(pick: random.Random) -> str:
    roll = pick.random()
    if roll < 0.35:
        return pick.choice(("CLR", "SKC", "FEW050", "SCT060", "SCT025 FEW010", "FEW030CB", "SCT040TCU", "NSC"))
    if roll < 0.38:
        return pick.choice(("", "//////", "BKN///"))
    first = pick.choice(_CEILINGS)
    words = [f"{pick.choice(('BKN', 'OVC', 'VV'))}{first:03d}{pick.choice(('', '', '', '', 'CB', 'TCU'))}"]
    if pick.random() < 0.3:
        words.insert(0, f"FEW{max(first - 5, 1):03d}")
    return " ".join(words)


def _air(pick: random.Random) -> tuple[str, str]:
    """The body's group and the remark in tenths."""
    if pick.random() < 0.05:
        return pick.choice(("", "/////", "15///")), ""
    warm = pick.choice(_WARMTH) + pick.choice((0.0, 0.0, 0.0, 0.1, -0.1, 0.4))
    dew = warm - pick.choice((0.0, 0.9, 1.0, 1.1, 1.9, 2.0, 2.1, 2.9, 3.0, 3.1, 3.9, 4.0, 4.1, 7.0, 10.0, 15.0))

    def whole(x: float) -> str:
        return f"{'M' if round(x, 1) < 0 else ''}{abs(int(x + (0.5 if x >= 0 else -0.49999))):02d}"

    def tenths(x: float) -> str:
        return f"{int(round(x, 1) < 0)}{abs(round(x * 10)):03d}"

    remark = f"T{tenths(warm)}{tenths(dew)}" if pick.random() < 0.6 else ""
    return f"{whole(warm)}/{whole(dew)}", remark


def _times(pick: random.Random) -> tuple[datetime, int]:
    """Now, and how old the report is, minutes."""
    edges = [
        _SUNRISE,
        _SUNRISE + timedelta(minutes=90),
        _SUNSET - timedelta(minutes=90),
        _SUNSET - timedelta(minutes=60),
    ]
    if pick.random() < 0.5:
        now = datetime(2026, 4, 25, 18, tzinfo=UTC) + timedelta(minutes=pick.randrange(120))
    else:
        now = pick.choice([*edges, _SUNSET]) + timedelta(minutes=pick.choice((-30, -1, 0, 1, 20)))
    return now, pick.choice((0, 5, 20, 50, 59, 60, 61, 74, 75, 76)) if pick.random() < 0.8 else pick.randrange(60, 120)


def site(pick: random.Random) -> Site:
    """The made-up field: with its runways, with one, with none; low or high, over level or rising ground."""
    names = pick.choice((list(MAGNETIC), list(MAGNETIC), ["04", "22"], ["13"], []))
    ends = tuple(RunwayEnd(n, MAGNETIC[n] + VARIATION_DEG, 3000, "asphalt") for n in names)
    height = pick.choice((0.0, 1200.0, 1200.0, 5400.0))
    ground = pick.choice((None, None, height + 600.0, height - 100.0))
    return Site(replace(FIELD, elevation_ft=height), ends, ground, made_up=True)


def observation(pick: random.Random, reported: datetime) -> str:
    """One report with values on and beside the limits; most have something missing, low or storming."""
    air, tenths = _air(pick)
    words = ["METAR XBRK", f"{reported:%d%H%M}Z", "AUTO" if pick.random() < 0.3 else "", _wind(pick)]
    words.append("" if pick.random() < 0.02 else "////SM" if pick.random() < 0.02 else pick.choice(_MILES))
    if pick.random() < 0.5:
        words[-1] = "10SM"
    if pick.random() < 0.2:
        words.append(pick.choice(_WEATHER))
    words += [_sky(pick), air, "" if pick.random() < 0.05 else pick.choice(("A2992", "A3040", "A2940", "Q1013"))]
    if pick.random() < 0.02:
        words.append(pick.choice(("WS R22", "RETS", "XYZZY")))
    remarks = [r for r in _REMARKS if pick.random() < 0.02]
    if pick.random() < 0.06:
        at = reported - timedelta(minutes=pick.choice((5, 30, 59)))
        remarks.append(f"PK WND 220{pick.choice((18, 19, 26, 30, 31, 35))}/{at:%H%M}")
    remarks.append(tenths)
    if any(remarks):
        words += ["RMK AO2", *remarks]
    return " ".join(w for w in words if w)


def observations(seed: int, count: int) -> Sequence[StationInput]:
    """Fields with one observation each."""
    pick = random.Random(seed)
    out: list[StationInput] = []
    while len(out) < count:
        now, age = _times(pick)
        reported = now - timedelta(minutes=age)
        metar = decode_metar(observation(pick, reported), now, None)
        out.append(StationInput(site(pick), now, (metar,), horizon_min=30))
    return out


def _group(pick: random.Random, whole: bool) -> str:
    """What a forecast group says; all of it, or some."""
    words = []
    if whole or pick.random() < 0.6:
        words.append(_wind(pick).split(" ")[0] or "22008KT")
    if whole or pick.random() < 0.5:
        words.append(pick.choice(("P6SM", "P6SM", "6SM", "5SM", "4SM", "3SM", "2SM", "9999", "CAVOK")))
    if pick.random() < 0.35:
        words.append(pick.choice((*_WEATHER, "NSW", "TSRA", "VCTS")))
    if (whole or pick.random() < 0.5) and "CAVOK" not in words:
        words.append(_sky(pick) or "SKC")
    if whole and pick.random() < 0.1:
        words.append(pick.choice(("WS020/22040KT", "WSCONDS")))
    return " ".join(words) or "22008KT"


def forecast(pick: random.Random) -> str:
    """A forecast of 24 hours with FM, BECMG, TEMPO and PROB groups, some of them over each other."""
    words = ["TAF XBRK 251130Z 2512/2612", _group(pick, whole=True)]
    hour = 12
    while (hour := hour + pick.randrange(1, 7)) < 34:

        def span(a: int, b: int) -> str:
            return "/".join(f"{25 + h // 24:02d}{h % 24:02d}" for h in (a, min(b, 36)))

        kind = pick.choice(("FM", "TEMPO", "TEMPO", "PROB30", "PROB40 TEMPO", "BECMG"))
        length = pick.choice((1, 2, 2, 4))
        if kind == "FM":
            words.append(
                f"FM{25 + hour // 24:02d}{hour % 24:02d}{pick.choice((0, 0, 30)):02d} {_group(pick, whole=True)}"
            )
        else:
            words.append(f"{kind} {span(hour, hour + length)} {_group(pick, whole=False)}")
        if pick.random() < 0.3:
            hour -= 2
    return " ".join(words)


def days(seed: int, count: int) -> Sequence[StationInput]:
    """Fields with a forecast, most with a report as well, asked at any hour of the day."""
    pick = random.Random(seed)
    out: list[StationInput] = []
    while len(out) < count:
        now = datetime(2026, 4, 25, 12, tzinfo=UTC) + timedelta(minutes=pick.randrange(0, 13 * 60, 10))
        metars = ()
        if pick.random() < 0.7:
            reported = now - timedelta(minutes=pick.choice((0, 7, 30, 59, 60, 74, 75, 76, 90, 119, 120, 121, 150)))
            text = f"METAR XBRK {reported:%d%H%M}Z 22008KT 10SM CLR 15/05 A3000"
            metars = (decode_metar(text if pick.random() < 0.4 else observation(pick, reported), now, None),)
        out.append(StationInput(site(pick), now, metars, decode_taf(forecast(pick), now)))
    return out
