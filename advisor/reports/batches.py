"""Asking for many stations in batches, and counting what comes back.

The service limits records, not ids, and does not say when it left some out; so ids asked and ids returned
are compared, and what is lacking is asked for again.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from advisor.errors import FetchError
from advisor.reports.answers import FetchReport
from advisor.reports.faults import PassingFault
from advisor.reports.gathered import named

#: The service answers with at most this many records.
RECORD_LIMIT = 400

Ids = tuple[str, ...]
#: Takes ids; gives bytes received, rows, and sentences on what was odd. Raises FetchError.
Asker = Callable[[Ids], tuple[int, list[Any], list[str]]]
#: Takes rows and the ids asked for; gives what was read by station, and a sentence for each reason a row
#: was dropped.
Reader = Callable[[list[Any], Ids], tuple[dict[str, list[Any]], list[str]]]


def collect(wanted: Ids, size: int, ask: Asker, read: Reader, what: str) -> tuple[dict[str, list[Any]], FetchReport]:
    """Everything the service has for the ids, and how the asking went.

    A full answer (``RECORD_LIMIT`` rows) is asked for again in halves. When a batch brought some ids and not
    others, the others are asked for once more by themselves: if that brings any, the answer had been cut.
    A failing batch does not stop the next, unless the service itself is down.

    Parameters
    ----------
    wanted : tuple of str
        Identifiers, each once.
    size : int
        Most ids in one request.
    ask, read : callable
        See ``Asker`` and ``Reader``.
    what : str
        Who is asked, for the sentences.

    Raises
    ------
    FetchError
        When no request succeeded: the first fault.
    """
    report = FetchReport(wanted)
    found: dict[str, list[Any]] = {}
    unreached: list[str] = []
    first_error: FetchError | None = None
    todo = [(wanted[i : i + size], False) for i in range(0, len(wanted), size)]
    while todo:
        asked, again = todo.pop(0)
        report.requests += 1
        try:
            received, rows, odd = ask(asked)
        except FetchError as error:
            first_error = first_error or error
            unreached += asked
            report.faults.append(f"{error} Stations concerned: {named(asked)}.")
            if isinstance(error, PassingFault):  # do not make the user wait out every batch
                report.down = True
                rest = [i for later, _ in todo for i in later]
                unreached += rest
                if rest:
                    report.faults.append(f"Not asked for after that: {named(rest)}.")
                break
            continue
        report.answers += 1
        report.bytes += received
        by_station, faults = read(rows, asked)
        report.faults += odd + faults
        for station, items in by_station.items():
            found.setdefault(station, []).extend(items)
        if again and by_station:
            report.cut_short += 1
        lacking = tuple(i for i in asked if i not in found)
        if len(rows) >= RECORD_LIMIT and len(asked) > 1:
            report.cut_short += not again
            half = len(asked) // 2
            todo[:0] = [(asked[:half], False), (asked[half:], False)]
        elif by_station and lacking:
            todo.insert(0, (lacking, True))
    if first_error is not None and not report.answers:
        raise first_error
    report.returned = tuple(i for i in wanted if i in found)
    report.unreached = tuple(i for i in dict.fromkeys(unreached) if i not in found)
    if report.cut_short:
        report.faults.append(
            f"{what} cut {report.cut_short} of its answers short without saying so; the stations left out "
            "were asked for again."
        )
    report.faults = list(dict.fromkeys(report.faults))
    return found, report
