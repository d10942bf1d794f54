"""Every number of the limits and lessons files is held by a case that fails when it moves by one unit."""

from __future__ import annotations

import pytest

from tests.sensitivity import Number, baseline, noticed, numbers

NUMBERS = numbers()


def test_every_case_holds_as_shipped() -> None:
    assert baseline() == []


@pytest.mark.parametrize("number", NUMBERS, ids=lambda n: n.name)
def test_a_unit_more_or_less_is_noticed(number: Number) -> None:
    before = number.home[number.key]
    silent = [by for by in (number.unit, -number.unit) if noticed(number, by) is None]
    assert number.home[number.key] == before
    assert not silent, f"{number.name} = {before}: no case notices a change of {silent}"
