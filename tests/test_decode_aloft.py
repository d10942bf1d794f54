"""Winds-aloft bulletins: published cells, columns, times, interpolation, and damaged input."""

from __future__ import annotations

import contextlib
import csv
import json
import random
from datetime import UTC, datetime
from pathlib import Path

import pytest

from advisor.errors import DecodeError
from advisor.reports.decode_aloft import decode_winds_aloft, interpolate_aloft, read_cell
from advisor.reports.types import AloftLevel, WindsAloft
from tests.proportion import tries_at_two_sizes

ROOT = Path(__file__).resolve().parent.parent
NOW = datetime(2026, 4, 25, 14, 0, tzinfo=UTC)
LOW = (ROOT / "fixtures/aloft/made_up_low.txt").read_text()
HIGH = (ROOT / "fixtures/aloft/made_up_high.txt").read_text()
with (ROOT / "shared/published_values.csv").open(newline="") as handle:
    CELLS = [row for row in csv.DictReader(handle) if row["topic"] == "fb_winds"]


def by_station(text: str, now: datetime = NOW) -> dict[str, WindsAloft]:
    return {row.station: row for row in decode_winds_aloft(text, now)}


def level(height: int, direction: int | None, speed: int | None, temperature: float | None = None) -> AloftLevel:
    return AloftLevel(height, direction, speed, temperature, light_and_variable=direction is None)


def row_of(*levels: AloftLevel) -> WindsAloft:
    return WindsAloft("XBR", NOW, NOW, NOW, NOW, levels)


@pytest.mark.parametrize("row", CELLS, ids=lambda row: f"{row['id']} {row['inputs']}")
def test_published_cells(row: dict[str, str]) -> None:
    # FB winds and temperatures aloft code; the source is in each row
    expected = json.loads(row["expected"])
    got = read_cell(row["inputs"], 39000 if len(row["inputs"]) == 6 else 9000)
    assert got is not None
    if expected.get("light_variable"):
        assert (got.light_and_variable, got.from_deg_true, got.speed_kt) == (True, None, None)
        return
    assert (got.from_deg_true, got.speed_kt, got.temperature_c) == (
        expected["wdir"],
        expected["wspd"],
        expected.get("temp"),
    )
    assert got.speed_bound == ("at_least" if row["inputs"][2:4] == "99" else None)
    assert not got.light_and_variable


@pytest.mark.parametrize(
    ("text", "height"),
    [
        ("0012", 9000),  # no direction 000
        ("3712", 9000),
        ("4512", 9000),
        ("8712", 9000),
        ("9901", 9000),  # light and variable has no speed
        ("231", 9000),
        ("23125", 9000),
        ("2312+5", 9000),
        ("2312+055", 9000),
        ("23I2+05", 9000),
        ("231205", 9000),  # an unsigned temperature below 24,000 ft
        ("231205", 24000),
        ("2312+05", 30000),  # a positive one above
        ("", 9000),
        ("٢٣١٢", 9000),  # digits of another script
    ],
)
def test_malformed_cells(text: str, height: int) -> None:
    assert read_cell(text, height) is None


def test_signs_and_zero() -> None:
    assert read_cell("2312-00", 9000) == level(9000, 230, 12, 0.0)
    assert str(getattr(read_cell("2312-00", 9000), "temperature_c", None)) == "0.0"
    assert read_cell("2312-30", 30000) == level(30000, 230, 12, -30.0)
    assert read_cell("3600", 9000) == level(9000, 360, 0)


@pytest.mark.parametrize(
    ("text", "from_deg", "speed"), [("5112", 10, 112), ("8600", 360, 100), ("3699", 360, 99), ("0101", 10, 1)]
)
def test_a_hundred_knots_and_more_is_50_on_the_direction_from_north_round_to_north(
    text: str, from_deg: int, speed: int
) -> None:
    """The FB code, from memory: tens of degrees 01 to 36, with 50 added where 100 kt were taken off."""
    got = read_cell(text, 9000)
    assert got is not None
    assert (got.from_deg_true, got.speed_kt) == (from_deg, speed)


def test_bulletin_by_columns_and_missing_columns() -> None:
    found = by_station(LOW)
    assert list(found) == ["XBR", "XHL", "XSN", "XMT"]
    assert [entry.height_ft_msl for entry in found["XBR"].levels] == [
        3000, 6000, 9000, 12000, 18000, 24000, 30000, 34000, 39000,
    ]  # fmt: skip
    assert found["XHL"].levels[0] == level(6000, 150, 9)
    assert found["XMT"].levels[0] == level(12000, 270, 22, -2.0)
    assert found["XSN"].levels[1] == level(6000, None, None, 16.0)
    assert found["XBR"].levels[-2] == level(34000, 270, 108, -46.0)
    assert all(row.not_understood == () for row in found.values())
    high = by_station(HIGH)
    assert high["XHL"].levels == (level(53000, 260, 45, -59.0),)
    assert high["XBR"].levels[0] == level(45000, 270, 61, -60.0)


def test_times() -> None:
    low, high = decode_winds_aloft(LOW, NOW)[0], decode_winds_aloft(HIGH, NOW)[0]
    assert [f"{t:%m%d %H}" for t in (low.based_on, low.valid_at, low.use_from, low.use_to)] == [
        "0425 12", "0425 18", "0425 14", "0425 21",
    ]  # fmt: skip
    assert [f"{t:%m%d %H}" for t in (high.based_on, high.valid_at, high.use_from, high.use_to)] == [
        "0425 12", "0426 06", "0426 02", "0426 11",
    ]  # fmt: skip


def test_times_over_midnight_month_and_year() -> None:
    text = LOW.replace("251200Z", "311800Z").replace("251800Z", "010000Z").replace("1400-2100Z", "2000-0300Z")
    row = decode_winds_aloft(text, datetime(2027, 1, 1, 1, tzinfo=UTC))[0]
    assert (row.based_on, row.valid_at) == (
        datetime(2026, 12, 31, 18, tzinfo=UTC),
        datetime(2027, 1, 1, 0, tzinfo=UTC),
    )
    assert (row.use_from, row.use_to) == (
        datetime(2026, 12, 31, 20, tzinfo=UTC),
        datetime(2027, 1, 1, 3, tzinfo=UTC),
    )


def test_two_bulletins_in_one_text_and_framing() -> None:
    framed = "\x01\r\r\n875 \r\r\n" + LOW.replace("\nX", "\r\r\n\x1eX") + "\r\r\n\x03NNNN\n" + HIGH
    rows = decode_winds_aloft(framed, NOW)
    assert [row.station for row in rows] == ["XBR", "XHL", "XSN", "XMT", "XBR", "XHL"]
    assert rows[:4] == decode_winds_aloft(LOW, NOW)
    assert rows[4:] == decode_winds_aloft(HIGH, NOW)


@pytest.mark.parametrize(
    ("old", "new", "lost", "unread"),
    [
        ("2118+14", "21I8+14", 6000, "21I8+14"),
        ("2118+14", "4118+14", 6000, "4118+14"),
        ("267539", "26759", 30000, "26759"),
        ("2118+14", "2118 14", 6000, "14"),
    ],
)
def test_a_damaged_cell_is_no_level_and_spares_the_rest(old: str, new: str, lost: int, unread: str) -> None:
    whole, spoilt = by_station(LOW), by_station(LOW.replace(old, new))
    assert unread in spoilt["XBR"].not_understood
    kept = {entry.height_ft_msl: entry for entry in spoilt["XBR"].levels}
    for entry in whole["XBR"].levels:
        if entry.height_ft_msl != lost:
            assert kept[entry.height_ft_msl] == entry
    assert lost not in kept
    assert spoilt["XHL"] == whole["XHL"]


def test_a_row_whose_blanks_were_lost_is_not_counted_from_the_left() -> None:
    squeezed = LOW.replace("XMT" + " " * 22, "XMT ")
    row = by_station(squeezed)["XMT"]
    assert row.levels == ()
    assert len(row.not_understood) == 6


@pytest.mark.parametrize(
    "row",
    [
        "XBR 2118+14 2325+09 2430+04 2545-11 2660-23 267539 770846 771055",  # the cell of 3,000 ft fell out
        "XBR 2012 2325+09 2430+04 2545-11 2660-23 267539 770846 771055",  # of 6,000 ft: every later one is a level low
        "XBR 2012 2118+14 2325+09 2430+04 2545-11 267539 770846 771055",
        "XHL 1509 1812+07 2016+01 2324-14 2435-26 244541 245249 245858",  # its blanks lost
        "XHL      1509 18 12+07 2016+01 2324-14 2435-26 244541 245249 245858",  # as many pieces as columns
        "XHL      1809+15 1812+07 2016+01 2324-14 2435-26 244541 24 5249 245858",
    ],
)
def test_a_row_with_a_cell_lost_or_broken_puts_no_wind_at_another_height(row: str) -> None:
    true = {level.height_ft_msl: level for level in by_station(LOW)[row[:3]].levels}
    true[6000] = level(6000, 180, 9, 15.0) if "1809+15" in row else true[6000]
    damaged = by_station(LOW[: LOW.index("XBR ")] + row)[row[:3]]
    assert damaged.not_understood
    assert all(true.get(level.height_ft_msl) == level for level in damaged.levels)


def test_a_row_that_ends_early_keeps_what_stands_in_its_place() -> None:
    """Cells under 3,000 to 9,000 ft with a temperature where the code has one: only the heights above are missing."""
    whole = next(line for line in LOW.splitlines() if line.startswith("XBR "))
    found = by_station(LOW.replace(whole, whole[:24]))["XBR"]
    assert [x.height_ft_msl for x in found.levels] == [3000, 6000, 9000]
    assert found.not_understood == ()


def test_a_height_missing_from_the_header_moves_no_cell() -> None:
    true = by_station(LOW)
    for height in ("   9000", "  12000"):
        for row in decode_winds_aloft(LOW.replace(height, " " * 7).replace(height, ""), NOW):
            known = {level.height_ft_msl: level for level in true[row.station].levels}
            assert all(known[level.height_ft_msl] == level for level in row.levels)


def test_blanks_all_lost_in_a_full_table() -> None:
    squeezed = "\n".join(" ".join(line.split()) for line in LOW.splitlines())
    assert by_station(squeezed)["XBR"].levels == by_station(LOW)["XBR"].levels
    assert by_station(squeezed)["XHL"].levels == ()


def test_a_bulletin_in_another_form_does_not_borrow_the_header_before_it() -> None:
    # the form of Canada's own bulletins: no Z, no FT, its own columns (as in a public test of a gateway)
    other = "FCST BASED ON 251200 DATA VALID 260000 FOR USE 21-06\n    3000 6000    9000\nXYZ      3124-04 2922-11=\n"
    rows = decode_winds_aloft(LOW + other, NOW)
    assert [row.station for row in rows] == ["XBR", "XHL", "XSN", "XMT"]
    assert rows[-1].not_understood == ("3000 6000    9000", "XYZ      3124-04 2922-11=")


def test_a_bulletin_set_in_reads_like_one_at_the_margin() -> None:
    assert decode_winds_aloft("\n".join(f"    {line}" for line in LOW.splitlines()), NOW) == decode_winds_aloft(
        LOW, NOW
    )


def test_a_line_that_is_no_row_is_listed() -> None:
    rows = decode_winds_aloft(LOW + "GARBLED LINE 2012\n", NOW)
    assert rows[-1].not_understood == ("GARBLED LINE 2012",)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no line of heights"),
        ("TAF XBRK 251120Z 2512/2612 18008KT", "no line of heights"),
        (LOW.replace("FT  3000", "XX  3000"), "no line of heights"),
        (LOW.split("XBR")[0], "no line of heights"),
        (LOW.replace("   9000   12000", "   9000   6000 "), "do not rise"),
        (LOW.replace("VALID", "V"), "lacks its"),
        (LOW.replace("BASED ON", "BASED"), "lacks its"),
        (LOW.replace("FOR USE 1400-2100Z", ""), "lacks its"),
        (LOW.replace("251800Z", "321800Z"), "no time"),
        (LOW.replace("251800Z", "252900Z"), "no time"),
        (LOW.replace("251800Z", "211800Z"), "is based on"),  # valid before it was made
    ],
)
def test_no_bulletin_is_a_sentence(text: str, words: str) -> None:
    with pytest.raises(DecodeError, match=words) as caught:
        decode_winds_aloft(text, NOW)
    assert str(caught.value).endswith(".")


# --- between the levels -------------------------------------------------------------------------------


def test_interpolation_is_of_vectors() -> None:
    # halfway from 270/20 to 360/20 is (10, 10) kt: 315 degrees at 14.14 kt
    row = row_of(level(3000, 270, 20), level(6000, 360, 20, 10.0), level(9000, 360, 40, 4.0))
    got = interpolate_aloft(row, 4500)
    assert (got.position, got.lower_ft_msl, got.upper_ft_msl) == ("between", 3000, 6000)
    assert got.from_deg_true == pytest.approx(315.0)
    assert got.speed_kt == pytest.approx(200**0.5)
    assert got.speed_low_kt == got.speed_high_kt == got.speed_kt
    assert got.temperature_c is None
    higher = interpolate_aloft(row, 7000)
    assert (higher.from_deg_true, higher.speed_kt) == (pytest.approx(360.0), pytest.approx(80 / 3))
    assert higher.temperature_c == pytest.approx(8.0)


def test_across_north() -> None:
    got = interpolate_aloft(row_of(level(3000, 350, 10), level(6000, 10, 10)), 4500)
    assert got.from_deg_true == pytest.approx(360.0)
    assert got.speed_kt == pytest.approx(9.848, abs=1e-3)  # 10 cos 10


def test_opposite_winds_have_no_direction() -> None:
    got = interpolate_aloft(row_of(level(3000, 90, 10), level(6000, 270, 10)), 4500)
    assert got.from_deg_true is None
    assert got.speed_kt == pytest.approx(0.0, abs=1e-9)


def test_light_and_variable_is_up_to_five_knots_from_anywhere() -> None:
    row = row_of(level(3000, None, None), level(6000, 270, 20))
    at_level = interpolate_aloft(row, 3000)
    assert (at_level.from_deg_true, at_level.speed_low_kt, at_level.speed_high_kt) == (None, 0.0, 5.0)
    assert at_level.light_and_variable
    half = interpolate_aloft(row, 4500)
    assert half.from_deg_true == pytest.approx(270.0)
    assert (half.speed_low_kt, half.speed_high_kt) == (pytest.approx(7.5), pytest.approx(12.5))
    low = interpolate_aloft(row, 3300)  # 2 kt of known wind under 4.5 kt of unknown
    assert low.from_deg_true is None
    assert (low.speed_low_kt, low.speed_high_kt) == (0.0, pytest.approx(6.5))
    both = interpolate_aloft(row_of(level(3000, None, None), level(6000, None, None)), 4000)
    assert (both.light_and_variable, both.speed_low_kt, both.speed_high_kt) == (True, 0.0, 5.0)


def test_nothing_is_extrapolated_without_saying_so() -> None:
    row = row_of(level(6000, 270, 20), level(9000, 300, 30))
    for height, position, speed in (
        (1000, "below_lowest", 20),
        (6000, "at_level", 20),
        (9000, "at_level", 30),
        (9001, "above_highest", 30),
    ):
        got = interpolate_aloft(row, height)
        assert (got.position, got.speed_kt) == (position, speed)
    assert interpolate_aloft(row_of(), 3000).position == "no_levels"
    assert interpolate_aloft(row, float("nan")).position == "no_levels"


def test_bounds_and_unread_levels_are_passed_on() -> None:
    row = by_station(LOW)["XSN"]
    assert interpolate_aloft(row, 32000).speed_bound == "at_least"
    assert interpolate_aloft(row, 7000).speed_bound is None
    assert not interpolate_aloft(row, 7000).levels_unread
    damaged = by_station(LOW.replace("2118+14", "21I8+14"))["XBR"]
    got = interpolate_aloft(damaged, 7000)
    assert got.levels_unread
    assert (got.lower_ft_msl, got.upper_ft_msl) == (3000, 9000)


# --- nothing a text may do ----------------------------------------------------------------------------


def test_mutants_raise_nothing_but_our_own() -> None:
    rng = random.Random(20260425)
    decoded = 0
    for _ in range(2000):
        text = rng.choice((LOW, HIGH))
        for _ in range(rng.randint(1, 6)):
            spot = rng.randrange(len(text))
            junk = rng.choice("0123456789+- ABFTXZ\n\x00\x1eé²٣")
            text = text[:spot] + junk * rng.randint(0, 2) + text[spot + rng.randint(0, 1) :]
        with contextlib.suppress(DecodeError):
            for row in decode_winds_aloft(text, NOW):
                interpolate_aloft(row, rng.uniform(-1000, 60000))
                assert [entry.height_ft_msl for entry in row.levels] == sorted(
                    {entry.height_ft_msl for entry in row.levels}
                )
            decoded += 1
    assert decoded > 400


@pytest.mark.parametrize("filler", ["XBR 2012\n", "2012 ", "FT 3000 6000\n", "GARBLED LINE\n", "VALID ", " "])
def test_hostile_text_takes_time_in_proportion(filler: str) -> None:
    def read(text: str) -> None:
        with contextlib.suppress(DecodeError):
            decode_winds_aloft(text, NOW)

    tries = tries_at_two_sizes(read, lambda size: LOW + filler * (size // len(filler)))
    assert any(large <= 8.0 * small + 0.005 for small, large in tries), tries
