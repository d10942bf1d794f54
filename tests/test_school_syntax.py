"""Lines of a school's file that are not TOML: all named at once, with what to write instead."""

from __future__ import annotations

import tomllib

import pytest

from advisor.errors import DataFileError
from advisor.school_syntax import MOST, read_toml

#: What a person writes, what the line is to become (read by tomllib, the standard's own reader), and words of the advice.
SLIPS = [
    ("name = Prairie Flyers", 'name = "Prairie Flyers"', "write text in quotes"),
    ("name = “Prairie”", 'name = "Prairie"', "straight quotes"),
    ('name = "Prairie', 'name = "Prairie"', "close the quotes"),
    ('name: "Prairie"', 'name = "Prairie"', "not a colon"),
    ("opens = 7:00", 'opens = "07:00"', 'such as "07:30"'),
    ("opens = 07:00  # early", 'opens = "07:00"  # early', 'such as "07:30"'),
    ("lesson_minutes = 90 min", "lesson_minutes = 90", "write the number alone"),
    ("practice_kias = 80 kt", "practice_kias = 80", "write the number alone"),
    ("elevation_ft = 1,421", "elevation_ft = 1421", "without a comma"),
    ("longitude_deg = -97,2211", "longitude_deg = -97.2211", "with a point"),
    ("latitude_deg = 37°44'51\"N", "latitude_deg = 37.7475", "decimal degrees"),
    ("bearing_deg_true = 090", "bearing_deg_true = 90", "without a zero in front"),
    ("closed = no", "closed = false", "true or false"),
    ("closed = False", "closed = false", "true or false"),
    ("until = 26/11/2026", "until = 2026-11-26", "such as 2026-11-26"),
    ("until = 26.11.2026", "until = 2026-11-26", "such as 2026-11-26"),
    ("since =", "since = 2026-11-26", "a value is missing"),
    ('closed = ["monday" "tuesday"]', 'closed = ["monday", "tuesday"]', "comma between"),
    ("wind = { care = 12 stop = 15 }", "wind = { care = 12, stop = 15 }", "comma between"),
    ("wind = { care = 12 kt, stop = 15 }", "wind = { care = 12, stop = 15 }", "write the number alone"),
    ("wind = { care = 12, stop = 15", "wind = { care = 12, stop = 15 }", "close the braces"),
]


@pytest.mark.parametrize(("wrong", "right", "advice"), SLIPS)
def test_each_slip_is_named_with_its_line_and_what_to_write(wrong: str, right: str, advice: str) -> None:
    assert tomllib.loads(f"[one]\n{right}\n")["one"]
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(f"[one]\n{wrong}\n")
    with pytest.raises(DataFileError) as caught:
        read_toml(f"[one]\n{wrong}\nlength_ft = 6101\n", "s.toml")
    head, line = str(caught.value).splitlines()
    assert head == "The school file s.toml cannot be read as TOML; correct this first:"
    assert line.startswith("  line 2, ")
    assert advice in line
    assert read_toml(f"[one]\n{right}\n", "s.toml") == tomllib.loads(f"[one]\n{right}\n")


def test_all_slips_of_a_file_are_told_at_once() -> None:
    singles = [wrong for wrong, _, _ in SLIPS if "care" not in wrong]
    text = "\n".join(f"[t{i}]\n{wrong}" for i, wrong in enumerate(singles[:MOST]))
    with pytest.raises(DataFileError) as caught:
        read_toml(text, "s.toml")
    lines = str(caught.value).splitlines()[1:]
    assert [int(x.split(",")[0].removeprefix("  line ")) for x in lines] == [2 * i + 2 for i in range(len(singles))]


def test_a_list_that_is_never_closed_is_named_where_it_opens() -> None:
    for after in ("surface = 3\n", "[two]\nx = 1\n", ""):
        with pytest.raises(DataFileError, match=r"line 2, right_pattern = \[\"18\": close the brackets"):
            read_toml(f'[one]\nright_pattern = ["18"\n{after}', "s.toml")


def test_a_heading_given_twice_or_left_open_ends_the_reading() -> None:
    with pytest.raises(DataFileError, match=r"line 3, \[hours\]: this name or heading is given twice"):
        read_toml("[hours]\nx = 1\n[hours]\nopens = 7:00\n", "s.toml")
    with pytest.raises(DataFileError, match=r"line 1, \[\[aircraft\]: close the heading"):
        read_toml("[[aircraft]\nname = x\n", "s.toml")


@pytest.mark.parametrize(
    "text",
    [
        "a = 1 2 3\n" * 500,
        "x = [" * 40,
        '"""',
        "a = '''\n",
        "[[[[",
        "=",
        "\x00",
        "a = " + "{" * 3000,
        "=[" * 200_000,
    ],
)
def test_whatever_stands_there_ends_in_one_short_message(text: str) -> None:
    with pytest.raises(DataFileError) as caught:
        read_toml(text, "s.toml")
    assert len(str(caught.value).splitlines()) >= 2
    assert len(str(caught.value)) < 100 * (MOST + 2)
    assert "\x00" not in str(caught.value)
