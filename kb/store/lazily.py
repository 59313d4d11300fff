"""Tables that come out of the file line by line: what nobody asks for is never taken apart."""

from __future__ import annotations

import json
from collections.abc import Callable, ItemsView, Iterable, Iterator, KeysView, Mapping, ValuesView
from typing import Any, Generic, TypeVar

V = TypeVar("V")


def to_lines(rows: Iterable[tuple[str, Any]]) -> bytes:
    """Write rows as lines of a key, a tab and JSON."""
    return "".join(f"{key}\t{_json(value)}\n" for key, value in rows).encode()


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _cells(blob: bytes) -> list[tuple[str, bytes]]:
    found = []
    for line in blob.splitlines():
        key, tab, text = line.partition(b"\t")
        if not tab:
            raise ValueError("a line of the file has no key")
        found.append((key.decode(), text))
    return found


class LazyTable(dict[str, V], Generic[V]):
    """A dictionary whose values are made when they are first asked for.

    Parameters
    ----------
    blob : bytes
        What ``to_lines`` wrote.
    make : callable
        Makes a value of what stood in JSON.
    """

    def __init__(self, blob: bytes, make: Callable[[Any], V]) -> None:
        super().__init__()
        self._raw = dict(_cells(blob))
        self._make = make

    def __missing__(self, key: str) -> V:
        """Make the value of a key."""
        found = self[key] = self._make(json.loads(self._raw[key]))
        return found

    def get(self, key: str, default: Any = None) -> Any:
        """Return the value of a key, or the default."""
        found = super().get(key)
        if found is not None:
            return found
        return self[key] if key in self._raw else default

    def __contains__(self, key: object) -> bool:
        return key in self._raw

    def __iter__(self) -> Iterator[str]:
        return iter(self._raw)

    def __len__(self) -> int:
        return len(self._raw)

    def __bool__(self) -> bool:
        return bool(self._raw)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Mapping) and dict(self.items()) == dict(other.items())

    __hash__ = None

    def keys(self) -> KeysView[str]:  # type: ignore[override]
        """Return the keys in the order of the file."""
        return self._raw.keys()

    def items(self) -> ItemsView[str, V]:  # type: ignore[override]
        """Return keys and values; all are made."""
        return self._whole().items()

    def values(self) -> ValuesView[V]:  # type: ignore[override]
        """Return the values; all are made."""
        return self._whole().values()

    def _whole(self) -> dict[str, V]:
        return {key: self[key] for key in self._raw}


class LazyRows(list[V], Generic[V]):
    """A list whose items are made when they are first asked for.

    Parameters
    ----------
    blob : bytes
        Lines of JSON behind keys; the keys do not count.
    make : callable
        Makes an item of what stood in JSON.
    """

    def __init__(self, blob: bytes, make: Callable[[Any], V]) -> None:
        super().__init__()
        self._raw = [text for _, text in _cells(blob)]
        self._make = make
        self._made: dict[int, V] = {}

    def at(self, place: int) -> V:
        """Return the item at a place."""
        found = self._made.get(place)
        if found is None:
            found = self._made[place] = self._make(json.loads(self._raw[place]))
        return found

    def __getitem__(self, place: Any) -> Any:
        if isinstance(place, slice):
            return [self.at(n) for n in range(*place.indices(len(self)))]
        return self.at(range(len(self))[place])

    def __iter__(self) -> Iterator[V]:
        return map(self.at, range(len(self._raw)))

    def __len__(self) -> int:
        return len(self._raw)

    def __bool__(self) -> bool:
        return bool(self._raw)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, list) and list(iter(self)) == list(iter(other))

    __hash__ = None

    def __add__(self, more: Any) -> Any:
        return [*self, *more]
