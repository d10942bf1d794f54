"""A pattern that is compiled late is the pattern, and every pattern of the program can be compiled."""

from __future__ import annotations

import copy
import importlib
import pickle
import pkgutil
import re

import pytest

import advisor
from advisor.patterns import pattern

TEXTS = ["22012KT", "22012G18KT", " 22012KT", "", "VRB03KT", "22012kt"]


def program_patterns() -> list[tuple[str, pattern]]:
    found = []
    for info in pkgutil.walk_packages(advisor.__path__, "advisor."):
        if info.name != "advisor.__main__":
            module = importlib.import_module(info.name)
            found += [(f"{info.name}.{k}", v) for k, v in vars(module).items() if isinstance(v, pattern)]
    return found


def test_every_pattern_of_the_program_can_be_compiled():
    seen = program_patterns()
    assert len(seen) > 70
    for where, one in seen:
        assert isinstance(one.pattern, str), where


@pytest.mark.parametrize("flags", [0, re.ASCII, re.IGNORECASE | re.VERBOSE])
def test_it_answers_as_the_compiled_one(flags: int):
    text = r"(\d{3}|VRB)(\d{2})(?:G(?P<gust>\d{2}))?KT"
    late, now = pattern(text, flags), re.compile(text, flags)
    for _ in range(2):  # before and after it was compiled
        for given in TEXTS:
            for method in ("match", "fullmatch", "search"):
                mine, theirs = getattr(late, method)(given), getattr(now, method)(given)
                assert (mine and (mine.groups(), mine.groupdict(), mine.span())) == (
                    theirs and (theirs.groups(), theirs.groupdict(), theirs.span())
                )
            assert late.sub("-", given) == now.sub("-", given)
            assert late.split(given) == now.split(given)
    assert (late.pattern, late.flags, late.groups) == (now.pattern, now.flags, now.groups)


def test_it_is_compiled_at_the_first_use_and_once():
    late = pattern("a(b")
    with pytest.raises(re.error):
        late.match("ab")
    fine = pattern("a(b)")
    assert "_compiled" not in vars(fine)
    assert fine.match("ab")
    assert vars(fine)["match"] is fine.match, "the second look-up does not end in the object"
    first = vars(fine)["_compiled"]
    assert fine.search("cab")
    assert vars(fine)["_compiled"] is first


def test_what_no_pattern_has_it_has_not():
    with pytest.raises(AttributeError):
        _ = pattern("a").unknown
    with pytest.raises(AttributeError):
        _ = pattern("a").__len__


def test_copies_and_pickles_find_the_same():
    for one in (
        copy.copy(pattern("a+")),
        copy.deepcopy(pattern("a+")),
        pickle.loads(pickle.dumps(pattern("a+"))),
    ):
        assert one.fullmatch("aaa")
        assert not one.fullmatch("aab")
