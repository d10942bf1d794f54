"""``dataclass``: the standard library's, made ten times faster for the records of this program.

The standard decorator writes and compiles up to six methods a class: half a millisecond, and a third of the time
``advisor day`` needs before it can answer, for more than fifty classes. Here a record sets its fields by a plain
loop, until a class is made often enough that compiling its ``__init__`` pays; the other methods are built from a
getter of all fields, which is as fast when they run. Everything else is the standard library's: ``fields``,
``replace``, ``asdict``, ``field``, ``__post_init__``, ``match``, pickles, and the error on assignment. For type
checkers it is the standard decorator.

The laws are held against the standard decorator in ``tests/test_records.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import MISSING, Field, FrozenInstanceError, fields
from dataclasses import dataclass as _standard
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

#: Gives all field values of a record, in order.
Values = Callable[[Any], tuple[Any, ...]]
#: Records made before ``__init__`` is compiled: by then the loop has cost what compiling costs (measured).
PATIENCE = 32

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(*, slots: bool, frozen: bool = False) -> Callable[[type], type]:
        """Decorate a class as ``dataclasses.dataclass(slots=True, frozen=...)`` does.

        Parameters
        ----------
        slots : bool
            Always true: a record has no attribute but its fields.
        frozen : bool, optional
            Whether fields can be set once only; then a record can be hashed as well.
        """
        if not slots:
            raise TypeError("a record has slots: write slots=True, or use the standard dataclass")

        def decorate(cls: type) -> type:
            return _finish(cls, frozen)

        return decorate


def _finish(cls: type, frozen: bool) -> type:
    """The class with slots, and with the methods it did not define itself."""
    if cls.__bases__ != (object,):
        raise TypeError(f"{cls.__name__} has a base class: use the standard dataclass")
    own, told = set(vars(cls)), cls.__annotations__
    if any(word in str(text) for text in told.values() for word in ("ClassVar", "InitVar", "KW_ONLY")):
        raise TypeError(f"{cls.__name__}: ClassVar, InitVar and KW_ONLY need the standard dataclass")
    # the standard decorator looks long at annotations that are text, in case they are one of those
    cls.__annotations__ = dict.fromkeys(told, object)
    made: type[Any] = _standard(init=False, repr=False, eq=False, slots=True)(cls)
    made.__annotations__ = told
    parts = fields(made)
    for f in parts:
        f.type = told[f.name]
    names = tuple(f.name for f in parts)
    values = _getter(names)
    made.__dataclass_params__.frozen = frozen
    made.__signature__ = _Signature()
    methods = {"__init__": _first_init(made, parts), **_shared(names, values)}
    if frozen:
        methods |= _frozen(names, values)
    elif "__hash__" not in own:
        made.__hash__ = None  # type: ignore[assignment]  # equal by value and changing: not to be hashed
    for name, method in methods.items():
        if name not in own:
            method.__qualname__ = f"{made.__qualname__}.{name}"
            setattr(made, name, method)
    return made


def _getter(names: tuple[str, ...]) -> Values:
    """Getter of all fields as a tuple; ``attrgetter`` gives one only from two names on."""
    if len(names) > 1:
        return attrgetter(*names)
    if not names:
        return lambda self: ()
    only = attrgetter(names[0])
    return lambda self: (only(self),)


class _Signature:
    """What ``inspect.signature`` of a record asks for, worked out only then."""

    def __get__(self, record: object, cls: type[Any]) -> Any:
        from inspect import signature

        of_init = signature(_compiled_init(cls, fields(cls)))
        return of_init.replace(parameters=list(of_init.parameters.values())[1:])


def _first_init(cls: type[Any], parts: tuple[Field[Any], ...]) -> Callable[..., None]:
    """``__init__`` of the first records; then, or when a call does not fit, the compiled one takes its place."""
    plain = True
    for f in parts:
        needed = f.default is MISSING and f.default_factory is MISSING
        if needed and not plain:
            raise TypeError(f"non-default argument {f.name!r} follows default argument")
        plain = needed
        if not f.init or f.kw_only or not (f.repr and f.compare and f.hash is None):
            raise TypeError(f"{cls.__name__}.{f.name}: a record knows field(default=..., default_factory=...) only")
    setters = [vars(cls)[f.name].__set__ for f in parts]  # the slot's own, past the __setattr__ that refuses
    post_init = getattr(cls, "__post_init__", None)
    left = PATIENCE

    def __init__(self: Any, *args: Any, **given: Any) -> None:
        nonlocal left
        left -= 1
        values = _bound(parts, args, given) if left >= 0 else None
        if values is None:
            cls.__init__ = _compiled_init(cls, parts)
            cls.__init__(self, *args, **given)
            return
        for put, value in zip(setters, values, strict=True):
            put(self, value)
        if post_init is not None:
            post_init(self)

    return __init__


def _bound(parts: tuple[Field[Any], ...], args: tuple[Any, ...], given: dict[str, Any]) -> Iterable[Any] | None:
    """A value for each field, or ``None`` for a call that does not fit: compiled code says best what is wrong."""
    if len(args) > len(parts):
        return None
    values, used = list(args), 0
    for f in parts[len(args) :]:
        if f.name in given:
            values.append(given[f.name])
            used += 1
        elif f.default is not MISSING:
            values.append(f.default)
        elif f.default_factory is not MISSING:
            values.append(f.default_factory())
        else:
            return None
    return values if used == len(given) else None


def _compiled_init(cls: type[Any], parts: tuple[Field[Any], ...]) -> Callable[..., None]:
    """``__init__`` as the standard decorator writes it."""
    known: dict[str, Any] = {"__name__": cls.__module__, "_ABSENT": MISSING}
    parameters, lines = ["self"], []
    for f in parts:
        value = f.name
        if f.default is not MISSING:
            known[f"_default_{f.name}"] = f.default
            parameters.append(f"{f.name}=_default_{f.name}")
        elif f.default_factory is not MISSING:
            known[f"_make_{f.name}"] = f.default_factory
            parameters.append(f"{f.name}=_ABSENT")
            value = f"_make_{f.name}() if {f.name} is _ABSENT else {f.name}"
        else:
            parameters.append(f.name)
        if cls.__dataclass_params__.frozen:
            known[f"_set_{f.name}"] = vars(cls)[f.name].__set__
            lines.append(f" _set_{f.name}(self, {value})")
        else:
            lines.append(f" self.{f.name} = {value}")
    if hasattr(cls, "__post_init__"):
        lines.append(" self.__post_init__()")
    exec(f"def __init__({', '.join(parameters)}):\n" + "\n".join(lines or [" pass"]), known)
    init: Callable[..., None] = known["__init__"]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    init.__annotations__ = {**{f.name: f.type for f in parts}, "return": None}
    return init


def _shared(names: tuple[str, ...], values: Values) -> dict[str, Callable[..., Any]]:
    """Equality and the printed form: the same law for every record."""

    def __eq__(self: Any, other: object) -> Any:
        if other.__class__ is self.__class__:
            return values(self) == values(other)
        return NotImplemented

    @recursive_repr()
    def __repr__(self: Any) -> str:
        shown = ", ".join(f"{name}={value!r}" for name, value in zip(names, values(self), strict=True))
        return f"{self.__class__.__qualname__}({shown})"

    return {"__eq__": __eq__, "__repr__": __repr__}


def _frozen(names: tuple[str, ...], values: Values) -> dict[str, Callable[..., Any]]:
    """What a record that cannot change needs: a hash, refusals, and pickling past them."""

    def __hash__(self: Any) -> int:
        return hash(values(self))

    def __setattr__(self: Any, name: str, value: Any) -> None:
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self: Any, name: str) -> None:
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def __getstate__(self: Any) -> list[Any]:
        return list(values(self))

    def __setstate__(self: Any, state: list[Any]) -> None:
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    methods = (__hash__, __setattr__, __delattr__, __getstate__, __setstate__)
    return {method.__name__: method for method in methods}
