"""The advice an instructor would expect, case by case (common practice, no source, unless a case names one)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.day_case import check, load_cases


@pytest.mark.parametrize("case", load_cases(), ids=lambda c: f"{c['id']} {c['about']}")
def test_case_is_met(case: dict[str, Any]) -> None:
    faults = check(case)
    assert not faults, "\n".join(faults)
