"""The base of all nodes: frozen like a dataclass, at a fraction of its start-up cost.

The tree has over a hundred classes. The standard decorator compiles several functions for each,
70 ms at every start of the command, several times what reading a product takes; here all
classes share the functions below.
"""

from __future__ import annotations

import inspect
from typing import Any, ClassVar, dataclass_transform

from paramc.text.source import Span


@dataclass_transform(frozen_default=True)
class _Fields:
    """Makes a class of its annotations: positions, an __init__ that takes them, and no changes after."""

    __match_args__: ClassVar[tuple[str, ...]] = ()
    takes_rest: ClassVar[bool] = False
    """Whether the last field is a tuple, which takes whatever stands behind the others."""

    def __init_subclass__(cls) -> None:
        own = inspect.get_annotations(cls)
        type.__setattr__(cls, "__match_args__", (*cls.__match_args__, *own))
        cls.takes_rest = bool(own) and str(list(own.values())[-1]).startswith("tuple[")

    def __init__(self, *values: Any) -> None:
        names = self.__match_args__
        if len(values) != len(names):
            raise TypeError(f"{type(self).__name__} takes {', '.join(names)}; it was given {len(values)}")
        self.__dict__.update(zip(names, values, strict=True))

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a {type(self).__name__} does not change")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"a {type(self).__name__} does not change")

    def _values(self) -> tuple[Any, ...]:
        return tuple(getattr(self, name) for name in self.__match_args__)

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and isinstance(other, _Fields) and self._values() == other._values()

    def __hash__(self) -> int:
        return hash((type(self), self._values()))

    def __repr__(self) -> str:
        # The span comes first and would fill the line with the whole source.
        told = (f"{name}={getattr(self, name)!r}" for name in self.__match_args__[1:])
        return f"{type(self).__name__}({', '.join(told)})"


class Node(_Fields):
    """Anything that was written, with its place. Fields are the annotations, those of a base first.

    Two nodes are equal when their classes and fields are, places included.
    """

    span: Span
