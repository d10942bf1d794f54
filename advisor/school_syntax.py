"""Lines of a school's file that are not TOML, all at once, each with what to write instead."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from advisor.errors import DataFileError, printable

#: Slips named at once; a file with more is not a school's file.
MOST = 20
#: Letters of a line that are looked at: no line a person writes is longer, and none may keep the reader busy.
LETTERS = 400
_LINE = re.compile(r" \(at line (\d+), column \d+\)$")
_OPEN = re.compile(r"=\s*\[[^\]]*$")
#: What people write, and what to write instead; the first that fits a line is said.
_INSTEAD = tuple(
    (re.compile(expression), words)
    for expression, words in (
        (r"[\u201c\u201d\u2018\u2019]", 'use straight quotes, "like this"'),
        (r"^\s*[\w-]+\s*:", "write = between a name and its value, not a colon"),
        (r"\d\s+[\w-]+\s*=", "put a comma between the values in the braces"),
        (r"=\s*\d{1,4}[/.]\d{1,2}[/.]\d{1,4}", "write a date as year-month-day, such as 2026-11-26"),
        (r"=\s*\d{1,2}[:.h]\d{2}\s*(#|$)", 'write a time in quotes, such as "07:30"'),
        (r"(?i)=\s*(yes|no|on|off|true|false)\s*(#|$)", "write true or false, in small letters"),
        (r"=\s*\d{1,3}(,\d{3})+\s*(#|$)", "write a number without a comma, such as 1420"),
        (r"=\s*-?\d+,\d+\s*(#|$)", "write a decimal number with a point, such as 37.87"),
        (
            r"=\s*\d+\D*[°'′]",
            "write decimal degrees without a sign or letter, such as 37.87; south and west are negative",
        ),
        (r"=\s*0\d+\s*(#|$)", "write a number without a zero in front, such as 90"),
        (r"=\s*[-+]?\d+(\.\d+)?\s*[A-Za-z%]", "write the number alone; its unit is in the name"),
        (r"^\s*\[+[^\[\]=]*\]?\s*(#|$)", "close the heading with as many brackets as it opens with"),
        (r"\{[^}]*$", "close the braces"),
        (r"=\s*\[[^\]]*$", "close the brackets"),
        (r"\"\s+\"", "put a comma between the values in the brackets"),
        (r"^[^\"]*\"([^\"]*\"[^\"]*\")*[^\"]*$", "close the quotes"),
        (r"=\s*[^\W\d][^\"]*$", 'write text in quotes, "like this"'),
        (r"=\s*(#|$)", "a value is missing after ="),
    )
)


def _instead(line: str, says: str) -> str:
    if "overwrite" in says or "twice" in says:
        return "this name or heading is given twice; keep one"
    found = next((words for expression, words in _INSTEAD if expression.search(line[:LETTERS])), None)
    return found or says[:1].lower() + says[1:]


def _blamed(lines: list[str], number: int, says: str) -> int:
    """The line a slip stands in: a list that is never closed is noticed only later, at a heading or at the end."""
    if says.startswith("Unclosed array"):
        opened = (i for i in range(min(number, len(lines) - 1), -1, -1) if _OPEN.search(lines[i][:LETTERS]))
        return next(opened, number)
    return number


def read_toml(text: str, file_name: str) -> dict[str, Any]:
    """The file as TOML.

    A line that cannot be read is taken out and the rest is read on, so that its faults are named together.

    Parameters
    ----------
    text : str
    file_name : str
        For the message.

    Raises
    ------
    DataFileError
        Every line that cannot be read, with its number, what stands there and what to write instead.
    """
    lines = text.splitlines()
    faults: list[str] = []
    seen: set[int] = set()
    while len(faults) < MOST:
        try:
            data = tomllib.loads("\n".join(lines) if seen else text)
        except RecursionError:
            faults.append("brackets or braces inside one another without end.")
            break
        except ValueError as error:
            says = str(error)
            at = _LINE.search(says)
            number = _blamed(lines, int(at[1]) - 1 if at is not None else len(lines), says)
            if number in seen or not 0 <= number < len(lines):
                faults += [] if faults else [f"{says}."]
                break
            line = lines[number]
            faults.append(f"line {number + 1}, {printable(line.strip(), 60)}: {_instead(line, _LINE.sub('', says))}.")
            if line.lstrip().startswith("["):
                break  # what follows belongs under this heading: nothing more can be said of it
            seen.add(number)
            lines[number] = ""
        else:
            if not faults:
                return data
            break
    listed = "\n".join(f"  {fault}" for fault in faults)
    raise DataFileError(f"The school file {file_name} cannot be read as TOML; correct this first:\n{listed}")
