"""Codes that ways left which went: a table in C of rows of another table, each with such a code."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from paramc.emit.constants import unsigned
from paramc.frozen import dataclass

VACANCY_BYTES = 3


@dataclass(frozen=True, slots=True)
class VacancyView:
    """A row, and a code of it that is not in use."""

    row: str
    code: str


def vacancies(rows: Sequence[Sequence[int]]) -> tuple[VacancyView, ...]:
    """The table, from the vacant codes of each row."""
    return tuple(VacancyView(unsigned(row), unsigned(code)) for row, code in _pairs(rows))


def vacancy_data(rows: Sequence[Sequence[int]]) -> bytes:
    """What the self-test counts of it: each row in two bytes, high byte first, and its code."""
    return b"".join(row.to_bytes(2, "big") + bytes([code]) for row, code in _pairs(rows))


def _pairs(rows: Sequence[Sequence[int]]) -> Iterator[tuple[int, int]]:
    return ((row, code) for row, codes in enumerate(rows) for code in codes)
