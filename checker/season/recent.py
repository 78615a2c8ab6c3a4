"""What was asked for last, kept; the rest is made again when it is asked for again."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Recent(Generic[Key, Value]):
    """So many values by their keys, those asked for last."""

    def __init__(self, most: int) -> None:
        """Keep no more than `most`."""
        self.most = most
        self._kept: OrderedDict[Key, Value] = OrderedDict()

    def get(self, key: Key, make: Callable[[], Value]) -> Value:
        """The value of a key, made if it is not there."""
        value = self._kept[key] if key in self._kept else make()
        self.put(key, value)
        return value

    def put(self, key: Key, value: Value) -> None:
        """Keep a value as the one asked for last."""
        self._kept[key] = value
        self._kept.move_to_end(key)
        if len(self._kept) > self.most:
            self._kept.popitem(last=False)

    def known(self, key: Key) -> Value | None:
        """The value of a key if it is there."""
        return self._kept.get(key)
