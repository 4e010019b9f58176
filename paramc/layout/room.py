"""What to say where the memory is too small: the sum line by line, and what would make it fit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from paramc.frozen import dataclass
from paramc.layout.fields import Content, contents
from paramc.layout.places import bytes_needed, clear_zone
from paramc.layout.rules import DOES_NOT_FIT
from paramc.model.product import Holds, Product
from paramc.text.diagnostic import Diagnostic

LARGEST_MEMORY = 1 << 16
"""Addresses are two bytes in the checksum's cover."""


def does_not_fit(product: Product, needed: tuple[Content, ...]) -> Diagnostic | None:
    """The diagnostic where the places reach over the memory's end, else None."""
    chip = product.chip
    total = bytes_needed(chip, needed)
    if total <= chip.size:
        return None
    return Diagnostic(
        DOES_NOT_FIT,
        f"The memory has {_bytes(chip.size)} and {total} are needed: {total - chip.size} too many.",
        product.holds.place,
        because=(*_sum(product, needed), f"The sum is {_bytes(total)}."),
        try_="; or ".join(_ways_out(product, total)),
    )


def _sum(product: Product, needed: tuple[Content, ...]) -> Iterator[str]:
    page = product.chip.page
    yield f"The clear zone takes {_bytes(clear_zone(product.chip))}."
    for content in needed:
        size = content.place_bytes(page)
        record = f", each record of {_bytes(content.length)} on whole pages" if size != content.length else ""
        fewest = ", the fewest that are chosen" if content.kind.value in product.holds.chosen else ""
        yield (
            f"For {content.kind.value}: {_count(content.copies, 'place')}"
            f" x {_bytes(size)} = {_bytes(content.copies * size)}{fewest}{record}."
        )


@dataclass(frozen=True, slots=True)
class _Way:
    """A number of holds that may be made less, down to the least. said: how the file says it, with
    {} for the number and its word. unsaid: how it is said that there is none."""

    now: int
    least: int
    holds: Callable[[int], Holds]
    said: str
    word: str = ""
    unsaid: str = ""

    def named(self, number: int) -> str:
        if number == 0 and self.unsaid:
            return self.unsaid
        return self.said.format(_count(number, self.word) if self.word else number)


def _ways(product: Product) -> tuple[_Way, ...]:
    has = product.holds
    used = max([product.first_preset, *(preset.number for preset in product.presets)])
    # Nothing here goes down to where another rule would object: a spare place and second copies stay.
    return (
        _Way(has.preset_spare, 1, lambda n: replace(has, preset_spare=n), "spare {} for presets"),
        _Way(has.state_copies, 2, lambda n: replace(has, state_copies=n), "state {} copies"),
        _Way(has.setup_copies, 2, lambda n: replace(has, setup_copies=n), "setup {} copies"),
        _Way(has.bench_copies, 2, lambda n: replace(has, bench_copies=n), "bench {} copies"),
        _Way(has.identity_copies, 2, lambda n: replace(has, identity_copies=n), "identity {} copies"),
        _Way(has.preset_slots, used, lambda n: replace(has, preset_slots=n), "presets {}", "slot"),
        _Way(has.preset_names, 0, lambda n: replace(has, preset_names=n), "names {}", "byte", "no names"),
        _Way(has.preset_growth, 0, lambda n: replace(has, preset_growth=n), "growth {} for presets", "byte"),
        _Way(has.state_growth, 0, lambda n: replace(has, state_growth=n), "growth {} for state", "byte"),
        _Way(has.setup_growth, 0, lambda n: replace(has, setup_growth=n), "growth {} for setup", "byte"),
        _Way(has.bench_growth, 0, lambda n: replace(has, bench_growth=n), "growth {} for bench", "byte"),
    )


def _ways_out(product: Product, total: int) -> Iterator[str]:
    """Each single change that would do, as small as it can be, with what it frees; last a larger chip."""

    def needed(way: _Way, number: int) -> int:
        return bytes_needed(product.chip, contents(replace(product, holds=way.holds(number))))

    for way in _ways(product):
        if way.now <= way.least or needed(way, way.least) > product.chip.size:
            continue
        low, high = way.least, way.now
        while high - low > 1:
            middle = (low + high) // 2
            if needed(way, middle) <= product.chip.size:
                low = middle
            else:
                high = middle
        yield f"{way.named(low)}, which frees {_bytes(total - needed(way, low))}"
    if total <= LARGEST_MEMORY:
        yield f"a memory of {_bytes(1 << (total - 1).bit_length())}"


def _bytes(count: int) -> str:
    return _count(count, "byte")


def _count(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
