"""Our frozen dataclass does what the standard library's own does with the same classes."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import field
from typing import Any, ClassVar, Generic, TypeVar

import pytest

from paramc import frozen

T = TypeVar("T")


def made_by(dataclass: Callable[..., Any]) -> dict[str, Any]:
    """The same classes by either decorator."""

    @dataclass(frozen=True, slots=True)
    class Base(ABC):
        near: int = field(compare=False, repr=False)
        known: ClassVar[int] = 7

        @abstractmethod
        def within(self) -> int: ...

    @dataclass(frozen=True, slots=True)
    class Power(Base):
        base: int
        exponent: int = 2

        def within(self) -> int:
            return int(self.base**self.exponent)

    @dataclass(frozen=True, slots=True)
    class Box(Generic[T]):
        """A box."""

        value: T
        place: str | None = field(default=None, compare=False, repr=False)
        order: int = field(kw_only=True)
        twice: Any = field(init=False, repr=False)

        def __post_init__(self) -> None:
            if self.value is None:
                raise ValueError("nothing in it")
            object.__setattr__(self, "twice", (self.value, self.value))

    @dataclass(frozen=True, slots=True)
    class Empty:
        pass

    @dataclass(frozen=True, slots=True)
    class Named:
        name: str

        def __eq__(self, other: object) -> bool:
            return isinstance(other, Named) and self.name.lower() == other.name.lower()

        def __hash__(self) -> int:
            return hash(self.name.lower())

        def __repr__(self) -> str:
            return self.name

    @dataclass(frozen=True, slots=True, eq=False)
    class Alone:
        name: str

    return {one.__name__: one for one in (Base, Power, Box, Empty, Named, Alone)}


OURS, THEIRS = made_by(frozen.dataclass), made_by(dataclasses.dataclass)
MAKE: dict[str, Callable[[dict[str, Any]], Any]] = {
    "positions": lambda of: of["Power"](1, 2, 3),
    "default": lambda of: of["Power"](1, base=2),
    "words": lambda of: of["Box"](order=3, value="v"),
    "all": lambda of: of["Box"]("v", "here", order=3),
    "empty": lambda of: of["Empty"](),
    "named": lambda of: of["Named"]("Time"),
}
WRONG: dict[str, Callable[[dict[str, Any]], Any]] = {
    "missing": lambda of: of["Power"](1),
    "too many": lambda of: of["Power"](1, 2, 3, 4),
    "unknown word": lambda of: of["Power"](1, 2, more=3),
    "position for a word": lambda of: of["Box"]("v", None, 3),
    "abstract": lambda of: of["Base"](1),
    "refused": lambda of: of["Box"](None, order=1),
    "set": lambda of: setattr(of["Power"](1, 2), "base", 5),
    "delete": lambda of: delattr(of["Power"](1, 2), "base"),
    "replace what is not given": lambda of: dataclasses.replace(of["Box"]("v", order=1), twice=1),
}


@pytest.mark.parametrize("name", MAKE)
def test_objects(name: str) -> None:
    ours, theirs = MAKE[name](OURS), MAKE[name](THEIRS)
    assert repr(ours).rpartition(".")[2] == repr(theirs).rpartition(".")[2]
    assert dataclasses.asdict(ours) == dataclasses.asdict(theirs)
    assert dataclasses.astuple(ours) == dataclasses.astuple(theirs)
    assert ours == MAKE[name](OURS) and ours != theirs
    assert hash(ours) == hash(MAKE[name](OURS))
    assert not hasattr(ours, "__dict__")
    assert copy.deepcopy(ours) == copy.copy(ours) == ours
    assert dataclasses.replace(ours) == ours


@pytest.mark.parametrize("name", WRONG)
def test_mistakes(name: str) -> None:
    with pytest.raises(Exception) as theirs:
        WRONG[name](THEIRS)
    with pytest.raises(theirs.type):
        WRONG[name](OURS)


def test_nothing_is_added() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        OURS["Power"](1, 2).more = 5


@pytest.mark.parametrize("name", OURS)
def test_classes(name: str) -> None:
    ours, theirs = OURS[name], THEIRS[name]
    assert dataclasses.is_dataclass(ours)
    assert ours.__match_args__ == theirs.__match_args__
    assert ours.__slots__ == theirs.__slots__
    assert (ours.__name__, ours.__qualname__, ours.__module__) == (
        theirs.__name__, theirs.__qualname__, theirs.__module__
    )
    seen = ("name", "type", "default", "init", "repr", "compare", "kw_only", "metadata")
    assert [[getattr(one, key) for key in seen] for one in dataclasses.fields(ours)] == [
        [getattr(one, key) for key in seen] for one in dataclasses.fields(theirs)
    ]


def test_comparison_leaves_out_what_is_not_compared() -> None:
    for of in (OURS, THEIRS):
        assert of["Power"](1, 2) == of["Power"](9, 2) != of["Power"](1, 3)
        assert len({of["Power"](1, 2), of["Power"](9, 2), of["Power"](1, 3)}) == 2
        assert of["Named"]("Time") == of["Named"]("TIME")
        assert of["Alone"]("a") != of["Alone"]("a")
        assert of["Base"].known == 7
        assert of["Box"][int] is not None


def test_patterns() -> None:
    for of in (OURS, THEIRS):
        power = of["Power"]
        match power(1, 2, 3):
            case power(_, base, exponent):
                assert (base, exponent) == (2, 3)
            case other:
                raise AssertionError(other)


def test_kept_and_read_again() -> None:
    from paramc.numbers.quantity import Quantity
    from paramc.numbers.units import SPELLINGS

    one = Quantity(3, SPELLINGS["ms"])  # type: ignore[arg-type]
    assert pickle.loads(pickle.dumps(one)) == one
