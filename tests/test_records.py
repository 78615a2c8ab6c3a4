"""A record does what a frozen dataclass with slots does; the dataclass is the referee."""

import copy
import pickle
from collections.abc import Callable, Mapping
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, replace
from typing import Any

import pytest

from checker.records import record, record_by_name


@record
class Strap:
    """A record with both kinds of default."""

    name: str
    limit: float = 0.0
    notes: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.limit < 0:
            raise ValueError(f"limit of {self.name} is not negative")

    @property
    def label(self) -> str:
        return f"{self.name} at {self.limit}"


@record
class Alone:
    """A record of one field."""

    only: str


@record_by_name
class Placed:
    """A record whose fields are named."""

    x: float
    y: float = 0.0


@dataclass(frozen=True, slots=True)
class Twin:
    """The dataclass that `Strap` is held against."""

    name: str
    limit: float = 0.0
    notes: Mapping[str, int] = field(default_factory=dict)


CALLS: list[Callable[[Any], Any]] = [
    lambda cls: cls("a", 2.0, {"n": 1}),
    lambda cls: cls("a"),
    lambda cls: cls("a", notes={"n": 1}),
    lambda cls: cls(notes={"n": 1}, limit=2.0, name="a"),
    lambda cls: replace(cls("a", 2.0), limit=3.0),
]


@pytest.mark.parametrize("call", CALLS)
def test_a_record_is_made_shown_and_told_as_a_dataclass(call: Callable[[Any], Any]) -> None:
    ours, theirs = call(Strap), call(Twin)
    assert asdict(ours) == asdict(theirs)
    assert repr(ours) == repr(theirs).replace("Twin", "Strap")
    assert [each.name for each in fields(Strap)] == [each.name for each in fields(Twin)]
    assert Strap.__match_args__ == Twin.__match_args__


@pytest.mark.parametrize(
    "call",
    [
        lambda cls: cls(),
        lambda cls: cls("a", 1.0, {}, "more"),
        lambda cls: cls("a", name="b"),
        lambda cls: cls("a", strange=1),
        lambda cls: cls("a", 1.0, {}, strange=1),
        lambda cls: cls(limit=1.0),
    ],
)
def test_what_a_dataclass_refuses_a_record_refuses(call: Callable[[Any], Any]) -> None:
    with pytest.raises(TypeError, match="argument"):
        call(Twin)
    with pytest.raises(TypeError, match="Strap wants name, limit, notes; found"):
        call(Strap)


def test_fields_by_name_are_not_taken_by_place() -> None:
    assert Placed(x=1.0) == Placed(y=0.0, x=1.0)
    with pytest.raises(TypeError, match="Placed wants x, y; found 1 values by place"):
        Placed(1.0)  # type: ignore[misc]
    with pytest.raises(TypeError, match="found 2 values by place"):
        Placed(1.0, 2.0)  # type: ignore[misc]


def test_a_default_that_is_made_is_made_for_each() -> None:
    assert Strap("a").notes is not Strap("a").notes


def test_two_are_equal_when_all_their_fields_are() -> None:
    assert Strap("a", 1.0) == Strap("a", 1.0)
    assert Strap("a", 1.0) != Strap("a", 2.0)
    assert Strap("a", 1.0) != Twin("a", 1.0)
    assert Alone("a") == Alone("a")
    assert Alone("a") != Alone("b")
    assert hash(Alone("a")) == hash(Alone("a"))
    assert len({Placed(x=1.0), Placed(x=1.0), Placed(x=2.0)}) == 2
    with pytest.raises(TypeError, match="unhashable"):
        hash(Strap("a"))


def test_nothing_in_a_record_is_set_or_deleted() -> None:
    strap = Strap("a")
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'limit'"):
        strap.limit = 2.0  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError, match="cannot assign to field 'new'"):
        strap.new = 2.0  # type: ignore[attr-defined]
    with pytest.raises(FrozenInstanceError, match="cannot delete field 'limit'"):
        del strap.limit
    assert strap == Strap("a")
    assert not hasattr(strap, "__dict__")


def test_a_record_looks_at_itself_when_it_is_made() -> None:
    with pytest.raises(ValueError, match="limit of a is not negative"):
        Strap("a", -1.0)
    with pytest.raises(ValueError, match="limit of a is not negative"):
        replace(Strap("a"), limit=-1.0)
    assert Strap("a", 1.0).label == "a at 1.0"


@pytest.mark.parametrize("each", [Strap("a", 1.0, {"n": 1}), Placed(x=1.0, y=2.0)])
def test_a_record_travels_whole(each: object) -> None:
    for other in (pickle.loads(pickle.dumps(each)), copy.copy(each), copy.deepcopy(each)):  # noqa: S301 - our own bytes
        assert other == each
        assert other is not each
