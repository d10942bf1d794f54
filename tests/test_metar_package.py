"""Reading a METAR within its time, without a warning, and never past what the package was given."""

from __future__ import annotations

import contextlib
import time
import warnings
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest

from advisor.errors import AdvisorError
from advisor.reports import decode_metar as gate
from advisor.reports.decode_metar import decode_metar
from advisor.wind import WindState
from tests.test_decode_metar import NOW, REST, TRAPS


def hostile(kilobytes: int) -> list[str]:
    """Texts that hang careless patterns, of about that length."""
    n = kilobytes * 1024
    head = f"KEWR 231851Z 27010KT {REST} RMK "
    return [
        head + "LTG " + "NE" * (n // 2) + "x",
        head + "LTG " + "NE-" * (n // 3),
        head + "TS " + "NE AND " * (n // 7) + "x",
        head + "PK WND " * (n // 7),
        head + "VIS 1 " * (n // 6),
        head + "OCNL " * (n // 5),
        head + "TSB01E02" * (n // 8),
        head + "T00" * (n // 3),
        head + "CB/" + "N/" * (n // 2),
        "KEWR 231851Z " + "9" * n,
        "KEWR 231851Z " + "/" * n,
        "KEWR 231851Z " + "0" * n + "KT",
        "KEWR 231851Z 27010KT TEMPO " + "BKN010 " * (n // 7),
        "A" * n,
        " " * n,
    ]


@pytest.mark.parametrize("case", range(len(hostile(1))))
def test_no_text_takes_more_than_10_ms_a_kilobyte(case: int):
    """G19: a corrupt remark hung the package for minutes."""
    text = hostile(64)[case]
    best = min(_seconds(text) for _ in range(3))
    assert best / (len(text) / 1024) < 0.010


def _seconds(text: str) -> float:
    start = time.process_time()
    with contextlib.suppress(AdvisorError):
        decode_metar(text, NOW)
    return time.process_time() - start


def test_no_warning_and_no_foreign_exception():
    """G25: warnings of the package never surface, whatever the filter."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for raw in (case[1] for case in TRAPS):
            assert decode_metar(raw, NOW).observed_at - NOW < timedelta(days=1)


@pytest.fixture
def package(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[Callable[[Any, str], Any]], None]]:
    """Puts something in the package's place: it is given the package and the text it is asked to read."""
    real = gate.PackageMetar
    gate._package_reading.cache_clear()

    def put(stand_in: Callable[[Any, str], Any]) -> None:
        gate._package_reading.cache_clear()
        monkeypatch.setattr(
            gate,
            "PackageMetar",
            lambda text, month, year: stand_in(lambda body: real(body, month=month, year=year), text),
        )

    yield put
    gate._package_reading.cache_clear()


@pytest.mark.parametrize(
    ("raw", "now_reads"),
    [
        ("27010KT", "28010KT"),
        ("27010KT", "27011KT"),
        ("27010KT", "27010G20KT"),
        ("27010KT", "VRB10KT"),
        ("27010KT", "/////KT"),
        ("27010G20KT", "27010G21KT"),
        ("27010G20KT", "27010KT"),
        ("VRB03KT", "27003KT"),
        ("00000KT", "VRB00KT"),
        ("00000KT", "00003KT"),
        ("/////KT", "27010KT"),
    ],
)
def test_another_wind_from_the_package_is_not_understood(package: Any, raw: str, now_reads: str):
    """The gate itself: what the two do not agree on must not pass in silence."""
    package(lambda real, text: real(text.replace(raw, now_reads)))
    metar = decode_metar(f"KEWR 231851Z {raw} {REST}", NOW)
    assert (metar.wind.state, metar.wind.speed_kt) == (WindState.NOT_UNDERSTOOD, None)
    assert metar.not_understood == (raw,)
    assert (metar.visibility.miles, metar.temperature_c) == (10.0, 22.0)


@pytest.mark.parametrize("now_reads", ["3SM", "9SM", "////"])
def test_another_visibility_from_the_package_is_not_understood(package: Any, now_reads: str):
    package(lambda real, text: real(text.replace("10SM", now_reads)))
    metar = decode_metar(f"KEWR 231851Z 27010KT {REST}", NOW)
    assert (metar.wind.speed_kt, metar.temperature_c) == (10, 22.0)
    assert (metar.visibility.miles, metar.not_understood) == (None, ("10SM",))


def test_a_package_that_fails_confirms_nothing(package: Any):
    def broken(real: Any, text: str) -> Any:
        raise RuntimeError("inside the package")

    package(broken)
    metar = decode_metar(f"KEWR 231851Z 27010KT {REST}", NOW)
    assert (metar.wind.state, metar.visibility.miles) == (WindState.NOT_UNDERSTOOD, None)
    assert metar.not_understood == ("27010KT", "10SM")


def test_the_package_reads_only_the_groups_that_passed(package: Any):
    handed: list[str] = []

    def listen(real: Any, text: str) -> Any:
        handed.append(text.split("Z ")[1])
        return real(text)

    package(listen)
    decode_metar(f"KEWR 231851Z 27010KT 10 SM CLR 22/12 A2992 RMK LTG {'NE' * 40}x", NOW)
    decode_metar("KEWR 231851Z 0200 FG VV001 12/12 A2992", NOW)
    decode_metar(f"KEWR 231851Z 27010KT 18035G50KT {REST}", NOW)
    assert handed == ["27010KT 10SM", "/////KT 0200", "/////KT 10SM"]
