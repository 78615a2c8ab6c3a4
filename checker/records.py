"""Frozen records with slots, as `@dataclass(frozen=True, slots=True)` makes them, made quicker.

A dataclass writes the text of six methods for each class and has Python compile it: half a
millisecond a class, and a check from a cold start makes a hundred. Here the methods are plain
functions over the names of the fields. All else is the dataclass's own: a record is one, so that
`fields`, `replace` and `asdict` know it. Its instances are made as fast as a dataclass's.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform

_Made = TypeVar("_Made")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: type[_Made]) -> type[_Made]:
    """Make a class a frozen record; two of a class are equal when all their fields are."""
    return _with_methods(dataclass(init=False, repr=False, eq=False, slots=True)(cls))


@dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(field,))
def record_by_name(cls: type[_Made]) -> type[_Made]:
    """Make a class a record whose fields are given by name only."""
    made = dataclass(init=False, repr=False, eq=False, slots=True, kw_only=True)(cls)
    return _with_methods(made)


def _with_methods(cls: type[_Made]) -> type[_Made]:
    names = tuple(each.name for each in fields(cls))  # type: ignore[arg-type]  # it is one by now
    # A slot's own setter goes past the `__setattr__` that refuses.
    setters = [getattr(cls, name).__set__ for name in names]
    methods = {
        "__init__": _initializer(cls, setters),
        "__setattr__": _refuse_to_set,
        "__delattr__": _refuse_to_delete,
        **_shown_and_compared(names),
        **_carried(names, setters),
    }
    for name, method in methods.items():
        setattr(cls, name, method)
    return cls


def _initializer(cls: type[Any], setters: Sequence[Callable[..., None]]) -> Callable[..., None]:
    names = [each.name for each in fields(cls)]
    count = len(names)
    by_place = 0 if any(each.kw_only for each in fields(cls)) else count
    look_at = getattr(cls, "__post_init__", None)
    optional = {each.name: each.default for each in fields(cls) if each.default is not MISSING}
    makers = {
        each.name: each.default_factory
        for each in fields(cls)
        if each.default_factory is not MISSING
    }

    def in_order(values: Sequence[Any], named: dict[str, Any]) -> list[Any]:
        """A value for each field: as stated, else its default."""
        stated = dict(zip(names, values, strict=False)) | named if values else named
        once = len(stated) == len(values) + len(named)
        if len(stated) < count:
            stated = optional | {name: make() for name, make in makers.items()} | stated
        if len(values) > by_place or not once or len(stated) != count:
            given = f"{len(values)} values by place and, by name, {', '.join(named) or 'none'}"
            raise TypeError(f"{cls.__qualname__} wants {', '.join(names)}; found {given}")
        return [stated[name] for name in names]

    def made(self: Any, *values: Any, **named: Any) -> None:
        given: Sequence[Any] = values
        if named or not by_place or len(values) != count:
            given = in_order(values, named)
        for put, value in zip(setters, given, strict=True):
            put(self, value)
        if look_at is not None:
            look_at(self)

    return made


def _shown_and_compared(names: Sequence[str]) -> Mapping[str, Callable[..., Any]]:
    # For one name `attrgetter` would give the value alone.
    values = attrgetter(*names) if len(names) > 1 else lambda self: (getattr(self, names[0]),)

    def shown(self: Any) -> str:
        stated = ", ".join(f"{name}={getattr(self, name)!r}" for name in names)
        return f"{type(self).__qualname__}({stated})"

    def equal(self: Any, other: object) -> Any:
        return values(self) == values(other) if type(other) is type(self) else NotImplemented

    def hashed(self: Any) -> int:
        return hash(values(self))

    return {"__repr__": shown, "__eq__": equal, "__hash__": hashed}


def _carried(
    names: Sequence[str], setters: Sequence[Callable[..., None]]
) -> Mapping[str, Callable[..., Any]]:
    """What copying, and another process, ask of a class with slots that cannot be set."""

    def state(self: Any) -> list[Any]:
        return [getattr(self, name) for name in names]

    def restore(self: Any, state: Sequence[Any]) -> None:
        for put, value in zip(setters, state, strict=True):
            put(self, value)

    return {"__getstate__": state, "__setstate__": restore}


def _refuse_to_set(_self: object, name: str, _value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(_self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")
