"""Values worked out when first asked for, and kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class kept(Generic[T]):  # noqa: N801 - a decorator, named as one
    """``functools.cached_property`` without its lock, which takes longer than much of what the engine keeps.

    Two threads may work a value out at once; as everything here is a pure function of its object, they get the same.
    """

    def __init__(self, work: Callable[[Any], T]):
        self.work = work
        self.__doc__ = work.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    def __get__(self, thing: Any, owner: type) -> T:
        value = thing.__dict__[self.name] = self.work(thing)
        return value
