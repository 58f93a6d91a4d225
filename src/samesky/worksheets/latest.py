"""What need not be worked out again? The latest few of a kind, for whichever thread asks."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Generic, TypeVar

Key = TypeVar("Key")
Value = TypeVar("Value")


class Latest(Generic[Key, Value]):
    """At most ``most`` values; the one that was longest not asked for goes first."""

    def __init__(self, most: int):
        self._most = most
        self._held: OrderedDict[Key, Value] = OrderedDict()
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._held)

    def get(self, key: Key) -> Value | None:
        """What is held under this key; None where nothing is, or no longer."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
            return self._held.get(key)

    def keep(self, key: Key, value: Value) -> Value:
        """Hold a value, and give it back."""
        with self._lock:
            self._held[key] = value
            self._held.move_to_end(key)
            while len(self._held) > self._most:
                self._held.popitem(last=False)
        return value

    def pop(self, key: Key) -> Value | None:
        """What is held under this key, once."""
        with self._lock:
            return self._held.pop(key, None)

    def forget(self, which: Callable[[Key], bool]) -> None:
        """Let go of every value whose key is one of these."""
        with self._lock:
            for key in [key for key in self._held if which(key)]:
                del self._held[key]
