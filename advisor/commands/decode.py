"""``advisor decode``: what reports say, in words or as JSON lines."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import IO, Any

import click

from advisor.clock import parse_now
from advisor.commands.given import as_text
from advisor.errors import AdvisorError, DecodeError
from advisor.reports.framing import METAR, TAF, UNKNOWN, WINDS_ALOFT, RawReport, split_reports

_KINDS = ("auto", METAR, TAF, WINDS_ALOFT)
_BATCH = 500
_encode = json.JSONEncoder(separators=(",", ":")).encode


@click.command("decode", short_help="Decode METAR, TAF or winds aloft, group by group.")
@click.argument("file", type=click.File("rb"), default="-", metavar="[FILE|-]")
@click.option("--kind", type=click.Choice(_KINDS), default="auto", help="What the text is. [auto]")
@click.option("--now", "now_text", default=None, help="Date reports by this time (ISO), not by the clock.")
@click.option(
    "--format",
    "form",
    type=click.Choice(("text", "jsonl")),
    default="text",
    help="Words or JSON. [text]",
)
def command(file: IO[bytes], kind: str, now_text: str | None, form: str) -> None:
    """Explain each group of each report in FILE, or in standard input.

    Any text of reports will do: one a line, bulletins with headings, the national gateway's files. Answers
    come in the order of the reports, one for each, also for one that could not be read (then it says why).

    \b
    Exit status: 0 when any report could be read, 1 when none.
    JSON lines: schema 1, documented in advisor.reports.schema.

    \b
    Examples:
      echo "KBDU 251753Z 22012G19KT 10SM CLR 15/05 A3005" | advisor decode
      advisor decode reports.txt --format jsonl --now 2026-04-25T18:00Z
    """
    now = datetime.now(UTC) if now_text is None else parse_now(now_text)
    text = as_text(file.read())
    reports = _forced(text, kind)
    read = failed = 0
    out: list[str] = []
    for report in reports:
        for good, answer in _answers(report, now, form):
            read, failed = read + good, failed + (not good)
            out.append(answer)
        if len(out) >= _BATCH:
            _write(out)
    _write(out)
    if not read:
        needs = "Each needs a station and a time, such as KBDU 251753Z 22012KT."
        if not failed:
            raise DecodeError(f"The text holds no report. {needs}")
        count = "The report" if failed == 1 else f"All {failed:,} reports"
        raise DecodeError(f"{count} could not be read; the reason stands with each. {needs}")


def _forced(text: str, kind: str) -> list[RawReport]:
    if kind == WINDS_ALOFT:
        return [RawReport(kind, text)] if text.strip() else []
    reports = split_reports(text)
    if kind == "auto":
        return reports
    return [RawReport(kind, report.text, report.date_hint) for report in reports]


def _write(out: list[str]) -> None:
    if out:
        sys.stdout.write("\n".join(out) + "\n")
        out.clear()


def _answers(report: RawReport, now: datetime, form: str) -> Iterator[tuple[bool, str]]:
    try:
        printed = _json_line if form == "jsonl" else _page
        for kind, found in _decoded(report, now):
            yield True, printed(kind, found)
    except AdvisorError as error:
        yield False, _failure(report, str(error), form)


def _failure(report: RawReport, sentence: str, form: str) -> str:
    if form == "jsonl":
        from advisor.reports.schema import error_object

        return _encode(error_object(report.kind, report.text, sentence))
    shown = " ".join(report.text.split())
    shown = shown if len(shown) <= 100 else shown[:97] + "..."
    line = "".join(c if c.isascii() and c.isprintable() else "?" for c in shown)
    return f"NOT READ  {line}\n  {sentence}\n"


def _decoded(report: RawReport, now: datetime) -> Iterator[tuple[str, Any]]:
    """Kind and decode of each report in the text; only the decoder it needs is imported."""
    if report.kind in (METAR, UNKNOWN):  # an unknown text is told what an observation would need
        from advisor.reports.decode_metar import decode_metar

        yield METAR, decode_metar(report.text, now, report.date_hint)
    elif report.kind == TAF:
        from advisor.reports.decode_taf import decode_taf

        yield TAF, decode_taf(report.text, report.date_hint or now)
    else:
        from advisor.reports.decode_aloft import decode_winds_aloft

        for aloft in decode_winds_aloft(report.text, report.date_hint or now):
            yield WINDS_ALOFT, aloft


def _json_line(kind: str, found: Any) -> str:
    from advisor.reports import schema

    make: dict[str, Callable[[Any], dict[str, object]]] = {
        METAR: schema.metar_object,
        TAF: schema.taf_object,
        WINDS_ALOFT: schema.aloft_object,
    }
    return _encode(make[kind](found))


def _page(kind: str, found: Any) -> str:
    from advisor.present import explain

    make: dict[str, Callable[[Any], str]] = {
        METAR: explain.explain_metar,
        TAF: explain.explain_taf,
        WINDS_ALOFT: explain.explain_aloft,
    }
    return make[kind](found) + "\n"
