"""The program's ``dataclass`` keeps every law of the standard one, which stands beside it as the reference."""

from __future__ import annotations

import copy
import dataclasses
import importlib
import inspect
import math
import pickle
import pkgutil
import re
from collections.abc import Callable
from dataclasses import FrozenInstanceError, dataclass, field
from pathlib import Path
from typing import Any, ClassVar

import pytest

import advisor
from advisor import records
from advisor.demo import Demo


def classes(decorate: Callable[..., Any]) -> dict[str, type]:
    """The same classes, made by one decorator or by the other."""

    @decorate(frozen=True, slots=True)
    class Wind:
        """Fields with and without defaults, of each kind."""

        speed_kt: float
        direction: int | None = None
        gusts: tuple[int, ...] = ()
        notes: list[str] = field(default_factory=list)
        word: str = field(default="steady")

        def __post_init__(self) -> None:
            if self.speed_kt < 0:
                raise ValueError("speed below zero")

        @property
        def calm(self) -> bool:
            return self.speed_kt == 0

    @decorate(frozen=True, slots=True)
    class Other:
        """The same fields as Wind, yet another class."""

        speed_kt: float
        direction: int | None = None
        gusts: tuple[int, ...] = ()
        notes: list[str] = field(default_factory=list)
        word: str = field(default="steady")

    @decorate(frozen=True, slots=True)
    class One:
        """One field: a getter of one name gives no tuple by itself."""

        value: float

    @decorate(frozen=True, slots=True)
    class Empty:
        """No field at all."""

    @decorate(frozen=True, slots=True)
    class Own:
        """Methods of its own are kept."""

        value: int

        def __eq__(self, other: object) -> bool:
            return True

        def __hash__(self) -> int:
            return 7

        def __repr__(self) -> str:
            return "own"

    @decorate(slots=True)
    class Sheet:
        """Fields that can be set again."""

        title: str
        lines: list[str] = field(default_factory=list)
        width: int = 96

    @decorate(frozen=True, slots=True)
    class Nest:
        """Records inside records."""

        wind: Any
        also: tuple[Any, ...] = ()

    return {c.__name__: c for c in (Wind, Other, One, Empty, Own, Sheet, Nest)}


OURS, STANDARD = classes(records.dataclass), classes(dataclass)
BOTH = pytest.mark.parametrize("made", [OURS, STANDARD], ids=["ours", "standard"])
#: class and arguments, right and wrong
CALLS: list[tuple[str, tuple[Any, ...], dict[str, Any]]] = [
    ("Wind", (12.0,), {}),
    ("Wind", (12.0, 220, (18,), ["a"], "b"), {}),
    ("Wind", (), {"speed_kt": 3.0, "word": "w", "notes": []}),
    ("Wind", (), {}),
    ("Wind", (1.0, 2, (), [], "", 6), {}),
    ("Wind", (1.0,), {"speed_kt": 2.0}),
    ("Wind", (1.0,), {"speed": 2.0}),
    ("Wind", (-1.0,), {}),
    ("One", (math.nan,), {}),
    ("One", (), {}),
    ("Empty", (), {}),
    ("Empty", (1,), {}),
    ("Own", (1,), {}),
    ("Sheet", ("t",), {}),
    ("Sheet", (), {"title": "t", "lines": ["x"], "width": 40}),
    ("Nest", (None,), {"also": (1, 2)}),
]


def outcome(made: dict[str, type], name: str, args: tuple[Any, ...], given: dict[str, Any]) -> object:
    """What a call gives, in words that both kinds of class share: fields and print, or the error."""
    try:
        one = made[name](*args, **given)
    except Exception as error:
        return type(error), str(error)
    return {f.name: getattr(one, f.name) for f in dataclasses.fields(one)}, repr(one)


@pytest.mark.parametrize(("name", "args", "given"), CALLS)
def test_a_call_gives_the_same_fields_print_or_error(name: str, args: tuple[Any, ...], given: dict[str, Any]):
    assert str(outcome(OURS, name, args, given)) == str(outcome(STANDARD, name, args, given))


@pytest.mark.parametrize(("name", "args", "given"), CALLS)
def test_the_first_record_and_the_hundredth_are_alike(name: str, args: tuple[Any, ...], given: dict[str, Any]):
    """``__init__`` is compiled once a class has been used a while, or at the first call that does not fit."""
    fresh = classes(records.dataclass)
    expected = str(outcome(STANDARD, name, args, given))
    assert {str(outcome(fresh, name, args, given)) for _ in range(records.PATIENCE * 3)} == {expected}


def test_init_is_compiled_when_it_pays():
    fresh = classes(records.dataclass)["One"]
    names = []
    for i in range(records.PATIENCE + 2):
        assert fresh(i).value == i
        names.append(fresh.__init__.__code__.co_varnames)
    assert names[records.PATIENCE - 1] != names[-1]
    assert names[-1] == ("self", "value")


@pytest.mark.parametrize("name", OURS)
def test_the_class_shows_the_same_to_whoever_looks(name: str):
    ours, standard = OURS[name], STANDARD[name]

    def shown(cls: type) -> list[object]:
        parts = dataclasses.fields(cls)
        signature = inspect.signature(cls)
        return [
            [(f.name, f.type, f.init, f.repr, f.compare, f.hash) for f in parts],
            list(signature.parameters),
            [p.kind for p in signature.parameters.values()],
            [p.annotation for p in signature.parameters.values()],
            cls.__match_args__,
            cls.__slots__,
            cls.__doc__,
            cls.__init__.__qualname__,
            cls.__eq__.__qualname__,
            cls.__hash__ is None,
            dataclasses.is_dataclass(cls),
        ]

    assert shown(ours) == shown(standard)


@BOTH
def test_equal_is_the_same_class_and_the_same_fields(made: dict[str, type]):
    wind, other, one = made["Wind"], made["Other"], made["One"]
    assert wind(12.0, 220) == wind(12.0, 220)
    assert wind(12.0, 220) != wind(12.0, 230)
    assert wind(12.0) != wind(12.0, word="other")
    assert wind(12.0) != other(12.0)
    assert wind(12.0) != (12.0, None, (), [], "steady")
    assert wind(12.0).__eq__(12.0) is NotImplemented
    assert one(1.0) == one(1.0)
    if made["One"].__eq__.__module__ == records.__name__:
        # the standard decorator says so up to Python 3.12 only; ours must not change its answer with the version
        assert one(math.nan) == one(math.nan), "the very same NaN is equal inside a tuple"
    assert one(float("nan")) != one(float("nan"))
    assert made["Empty"]() == made["Empty"]()
    assert made["Own"](1) == made["Own"](2)
    assert made["Sheet"]("t") == made["Sheet"]("t")


@BOTH
def test_hashes_go_with_equality(made: dict[str, type]):
    one, empty = made["One"], made["Empty"]
    assert hash(one(4.0)) == hash((4.0,))
    assert hash(empty()) == hash(())
    assert hash(made["Nest"](one(4.0), (1,))) == hash((one(4.0), (1,)))
    assert {one(1.0), one(1.0), one(2.0)} == {one(2.0), one(1.0)}
    assert hash(made["Own"](1)) == 7
    with pytest.raises(TypeError, match="unhashable type: 'list'"):
        hash(made["Wind"](1.0))
    with pytest.raises(TypeError, match="unhashable type: 'Sheet'"):
        hash(made["Sheet"]("t"))


@BOTH
def test_a_frozen_record_refuses_to_change(made: dict[str, type]):
    wind = made["Wind"](12.0)
    with pytest.raises(FrozenInstanceError, match=r"^cannot assign to field 'speed_kt'$"):
        wind.speed_kt = 13.0
    # the standard one trips over its own super() here (fixed in later Pythons) and says so as a TypeError
    with pytest.raises((FrozenInstanceError, TypeError)):
        wind.unknown = 1
    with pytest.raises(FrozenInstanceError, match=r"^cannot delete field 'speed_kt'$"):
        del wind.speed_kt
    assert wind == made["Wind"](12.0)
    assert not hasattr(wind, "__dict__")
    assert wind.calm is False


@BOTH
def test_a_sheet_changes_and_takes_no_other_field(made: dict[str, type]):
    sheet = made["Sheet"]("t")
    sheet.title = "u"
    assert sheet == made["Sheet"]("u")
    with pytest.raises(AttributeError):
        sheet.unknown = 1
    del sheet.title
    with pytest.raises(AttributeError):
        _ = sheet.title


@BOTH
def test_each_record_has_its_own_default(made: dict[str, type]):
    first, second = made["Wind"](1.0), made["Wind"](1.0)
    assert first.notes is not second.notes
    first.notes.append("x")
    assert second.notes == []


@BOTH
def test_the_standard_tools_work(made: dict[str, type]):
    wind = made["Wind"](12.0, 220, notes=["n"])
    assert dataclasses.replace(wind, speed_kt=3.0) == made["Wind"](3.0, 220, notes=["n"])
    with pytest.raises(ValueError, match="below zero"):
        dataclasses.replace(wind, speed_kt=-3.0)
    with pytest.raises(TypeError):
        dataclasses.replace(wind, unknown=1)
    plain = {"speed_kt": 12.0, "direction": 220, "gusts": (), "notes": ["n"], "word": "steady"}
    assert dataclasses.asdict(made["Nest"](wind, (wind,))) == {"wind": plain, "also": (plain,)}
    assert dataclasses.astuple(wind) == (12.0, 220, (), ["n"], "steady")
    assert copy.copy(wind) == wind
    deep = copy.deepcopy(wind)
    assert deep == wind
    assert deep.notes is not wind.notes
    match wind:
        case object(speed_kt=12.0, direction=found):
            assert found == 220
        case _:
            pytest.fail("the pattern did not fit")


@BOTH
def test_a_record_that_holds_itself_can_be_printed(made: dict[str, type]):
    sheet = made["Sheet"]("t")
    sheet.lines.append(sheet)
    assert repr(sheet).endswith("Sheet(title='t', lines=[...], width=96)")


def test_pickles_go_there_and_back():
    """Processes exchange records; a pickle finds its class by name, so these are the program's own."""
    from advisor.commands.common import Choices

    for one in (Demo(*("x",) * len(dataclasses.fields(Demo))), Choices(demo=True)):
        for protocol in range(2, pickle.HIGHEST_PROTOCOL + 1):
            back = pickle.loads(pickle.dumps(one, protocol))
            assert back == one
            assert type(back) is type(one)


class Base:
    """A class to inherit from."""


@pytest.mark.parametrize(
    "kwargs", [{"repr": False}, {"compare": False}, {"init": False, "default": 1}, {"kw_only": True}]
)
def test_what_it_does_not_know_it_refuses(kwargs: dict[str, Any]):
    with pytest.raises(TypeError, match=r"Odd\.value: a record knows"):

        @records.dataclass(frozen=True, slots=True)
        class Odd:
            value: int = field(**kwargs)


def test_a_base_class_or_no_slots_are_refused():
    with pytest.raises(TypeError, match="Odd has a base class"):

        @records.dataclass(frozen=True, slots=True)
        class Odd(Base):
            value: int

    with pytest.raises(TypeError, match="a record has slots"):

        @records.dataclass(slots=False)
        class Odder:
            value: int


def test_special_annotations_are_refused():
    with pytest.raises(TypeError, match="Odd: ClassVar, InitVar and KW_ONLY need the standard dataclass"):

        @records.dataclass(frozen=True, slots=True)
        class Odd:
            value: int
            shared: ClassVar[int] = 1


def test_a_default_must_come_after_what_has_none():
    with pytest.raises(TypeError, match="non-default argument 'second' follows default argument"):

        @records.dataclass(frozen=True, slots=True)
        class Odd:
            first: int = 1
            second: int


def program_classes() -> list[type]:
    """Every class of the program that has fields, found by importing all of it."""
    found = []
    for info in pkgutil.walk_packages(advisor.__path__, "advisor."):
        if info.name != "advisor.__main__":
            module = importlib.import_module(info.name)
            found += [
                thing
                for thing in vars(module).values()
                if isinstance(thing, type) and dataclasses.is_dataclass(thing) and thing.__module__ == info.name
            ]
    return found


def test_every_class_of_the_program_shows_its_fields():
    seen = program_classes()
    assert len(seen) > 100
    for cls in seen:
        parts = [f.name for f in dataclasses.fields(cls)]
        assert list(inspect.signature(cls).parameters) == parts, cls
        assert cls.__slots__ == tuple(parts), cls
        assert cls.__doc__, cls


def test_no_module_of_the_program_takes_the_standard_one(root: Path):
    """A class made by the standard decorator would bring back half a millisecond, unnoticed."""
    takes = re.compile(r"^from dataclasses import .*\bdataclass\b|\bdataclasses\.dataclass\b(?!\S*`)", re.MULTILINE)
    files = sorted((root / "advisor").rglob("*.py"))
    assert len(files) > 150
    found = [str(f.relative_to(root)) for f in files if takes.search(f.read_text("utf-8"))]
    assert found == ["advisor/records.py"]
