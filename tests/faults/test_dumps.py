"""A hundred damaged dumps of the invented products: what is sound is recovered, the rest is named, and no
trim comes from nowhere. Which records are sound is known by the bytes that were changed, not by reading."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

import pytest

from paramc.cli.renderers.account import as_text
from paramc.cli.renderers.table import table
from paramc.image.account import account, account_of
from paramc.image.choose import ENOUGH_RECORDS
from paramc.image.factory import factory_values, put
from paramc.image.files import Chunk, to_hex
from paramc.image.memory import UnitAnswer, read_memory
from paramc.image.reading import Loaded, read_image
from paramc.image.recognise import AtHand, Recognised, recognise
from paramc.image.records import State, encode
from paramc.image.restore import Fate, Restored, Wish, restore_contents
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import Kind, Layout
from tests.stories import story

NAMES = ("teasel_pinch", "long_causeway", "hob_and_kiln")
DUMPS = 100

Intact: TypeAlias = dict[tuple[Kind, int], tuple[int, ...]]
"""By kind and address the values of a record whose bytes are all as the unit had them."""


@dataclass(frozen=True)
class Damage:
    """A dump, and where the unit's bytes stand in it. kept: for each address of the memory whether its byte
    is the unit's own still and the dump has it."""

    dump: bytes
    kept: list[bool]


def latest(name: str) -> Layout:
    return story(name)[-1].layout


@cache
def at_hand() -> tuple[AtHand, ...]:
    return tuple(AtHand(one.layout.product.name, one.layout, True) for name in NAMES for one in story(name))


def played(layout: Layout, chance: random.Random) -> bytes:
    """A unit that was measured at the bench and then used: presets saved over, some in spare places."""
    found = [trim for trim in layout.product.trims if chance.random() < 0.7]
    trims = [(trim.name, chance.randrange(trim.codes)) for trim in found]
    board = max(layout.product.boards)
    unit = Unit(f"AB-{chance.randrange(10**6):06}", board, tuple(trims))
    memory = bytearray(stamp_image(layout, unit))
    presets = layout.record(Kind.PRESETS)
    assert presets is not None
    for number in range(presets.numbers):
        if chance.random() < 0.6:
            values = list(factory_values(layout, presets, number))
            for at, field in enumerate(presets.fields):
                if field.number is not None:
                    values[at] = chance.randrange(field.codes)
            place = presets.places[number]
            put(memory, place, encode(layout, presets, place, chance.randrange(2, 200), values))
    return bytes(memory)


# ---- kinds of damage


def cut(layout: Layout, memory: bytes, chance: random.Random) -> Damage:
    """The dump breaks off, begins late, or has a hole."""
    kept = [True] * len(memory)
    low, high = sorted(chance.sample(range(len(memory) + 1), 2))
    lost = chance.choice([range(high, len(memory)), range(0, low), range(low, high)])
    for at in lost:
        kept[at] = False
    rest = ((0, lost.start), (lost.stop, len(memory)))
    parts = [Chunk(low, memory[low:high]) for low, high in rest if low < high]
    lines = b"".join(to_hex(part.address, part.data).rsplit(b":", 1)[0] for part in parts)
    return Damage(lines + b":00000001FF\n", kept)


def flipped(layout: Layout, memory: bytes, chance: random.Random) -> Damage:
    """Bits that turned over, from one to a hundred."""
    spoilt = bytearray(memory)
    for _ in range(chance.choice([1, 3, 10, 40, 100])):
        spoilt[chance.randrange(len(memory))] ^= 1 << chance.randrange(8)
    return Damage(bytes(spoilt), [one == other for one, other in zip(memory, spoilt, strict=True)])


def shifted(layout: Layout, memory: bytes, chance: random.Random) -> Damage:
    """Everything too high or too low by some bytes, and a few bits turned over."""
    damage = flipped(layout, memory, chance)
    by = chance.choice([-9, -2, -1, 1, 2, 7, 33, 200])
    if by < 0:
        return Damage(damage.dump[-by:], [kept and at >= -by for at, kept in enumerate(damage.kept)])
    return Damage(bytes(chance.randrange(256) for _ in range(by)) + damage.dump, damage.kept)


def mixed(layout: Layout, memory: bytes, chance: random.Random) -> Damage:
    """Stretches of another product's memory in place of its own."""
    spoilt = bytearray(memory)
    others = [name for name in NAMES if name != layout.product.name]
    other = played(latest(chance.choice(others)), chance)
    for _ in range(chance.choice([1, 2, 4])):
        low = chance.randrange(len(memory))
        high = min(low + chance.randrange(1, len(memory) // 3), len(memory), len(other))
        if low < high:
            spoilt[low:high] = other[low:high]
    return Damage(bytes(spoilt), [one == another for one, another in zip(memory, spoilt, strict=True)])


KINDS: tuple[Callable[[Layout, bytes, random.Random], Damage], ...] = (cut, flipped, shifted, mixed)


# ---- what has to come of it


def loaded(dump: bytes) -> Loaded:
    answer = read_image(dump)
    assert isinstance(answer, Loaded)
    return answer


def counted(name: str, kind: Callable[[Layout, bytes, random.Random], Damage], seed: int) -> Counter[str]:
    """One dump, held to what is known of it."""
    chance = random.Random(f"{name} {kind.__name__} {seed}")
    layout = latest(name)
    memory = played(layout, chance)
    damage = kind(layout, memory, chance)
    before = read_memory(layout, memory)
    intact = {
        (held.record.kind, place.address): place.values
        for held in before.kinds
        for place in held.places
        if place.state is State.SOUND
        and all(damage.kept[place.address : place.address + held.record.length])
    }
    counts = Counter({"dumps": 1, "sound": len(intact)})
    found = recognise(loaded(damage.dump), at_hand())
    if isinstance(found, str):
        # Too little is left to say whose it is: then nothing is taken for anybody's.
        identity = any(of is Kind.IDENTITY for of, _ in intact)
        others = sum(of is not Kind.IDENTITY for of, _ in intact)
        assert not identity and others < ENOUGH_RECORDS, found
        assert found.endswith((".", "?"))
        return Counter({"dumps": 1, "unknown": 1, "left": len(intact)})
    if found.chosen.candidate.layout is not layout:
        # Its own identity was overwritten by another product's: then it is the other one's dump, and the
        # own records are strangers in it.
        assert kind is mixed and not any(of is Kind.IDENTITY for of, _ in intact)
        assert found.chosen.known_by == 0
        assert layout.product.label in {stray.of for stray in found.strays} or not intact
        return Counter({"dumps": 1, "another's": 1, "left": len(intact)})
    _held_to_the_bytes(found, intact, counts)
    _restored(found, layout, memory, intact, counts)
    return counts


def _held_to_the_bytes(found: Recognised, intact: Intact, counts: Counter[str]) -> None:
    """Every record that is whole is read as it was, and nothing else is called sound."""
    contents = found.chosen.contents
    for held in contents.kinds:
        for place in held.places:
            where = (held.record.kind, place.address)
            assert (place.state is State.SOUND) == (where in intact), (where, place.state)
            if where in intact:
                assert place.values == intact[where]
                counts["recovered"] += 1
    said = account_of(found)
    text = "\n".join(as_text(said))
    for one in said.places:
        if one.state not in (State.SOUND, State.BLANK, State.UNSEALED):
            counts["named"] += 1
            assert f"{one.kind.value} at 0x{one.address:04X}: {one.state.value}" in text
    for preset in said.presets:
        if not preset.values:
            assert f"Preset {preset.number}" in text and "no sound copy" in text
            counts["presets lost"] += 1


def _restored(
    found: Recognised,
    layout: Layout,
    memory: bytes,
    intact: Intact,
    counts: Counter[str],
) -> None:
    """Either a whole image with the unit's own serial and trims, or a sentence."""
    chosen = found.chosen
    answer = restore_contents(chosen.contents, chosen.candidate.memory.data, Wish())
    kinds = {kind for kind, _ in intact}
    if not isinstance(answer, Restored):
        assert not {Kind.IDENTITY, Kind.BENCH} <= kinds, answer
        assert all(sentence.endswith(".") for sentence in answer)
        counts["refused"] += 1
        return
    assert {Kind.IDENTITY, Kind.BENCH} <= kinds
    counts["restored"] += 1
    after = read_memory(layout, answer.image)
    assert after.answer is UnitAnswer.SOUND
    then, now = account(read_memory(layout, memory)), account(after)
    assert (now.identity.serial, now.identity.hardware, now.bench) == (
        then.identity.serial,
        then.identity.hardware,
        then.bench,
    )
    for number, fate in enumerate(answer.presets):
        if fate is Fate.KEPT:
            assert now.presets[number].values == then.presets[number].values
        else:
            assert not any(value.differs for value in now.presets[number].values)


ROWS = (
    "dumps",
    "unknown",
    "another's",
    "left",
    "sound",
    "recovered",
    "named",
    "presets lost",
    "restored",
    "refused",
)


@pytest.mark.slow
def test_a_hundred_damaged_dumps() -> None:
    totals: dict[str, Counter[str]] = {kind.__name__: Counter() for kind in KINDS}
    for seed in range(DUMPS):
        kind = KINDS[seed % len(KINDS)]
        totals[kind.__name__] += counted(NAMES[seed // len(KINDS) % len(NAMES)], kind, seed)
    rows = [(name, *(str(counts[row]) for row in ROWS)) for name, counts in totals.items()]
    print("\n".join(table(("damage", *ROWS), rows, "l" + "r" * len(ROWS))))
    whole = sum(totals.values(), Counter())
    assert whole["dumps"] == DUMPS
    assert whole["restored"] + whole["refused"] + whole["unknown"] + whole["another's"] == DUMPS
    assert whole["recovered"] == whole["sound"] > 500
    # No way out may be one that is never taken.
    assert whole["restored"] > 20 and whole["refused"] > 5 and whole["unknown"] > 5
