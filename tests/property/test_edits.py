"""Random edits of random products: refused by a rule, or every stored value keeps what it meant.

A product is made here as data, changed at random, sometimes without the words that a change asks for, and
written as text. What the compiler takes is then held against units that the first revision saved: the second
road is plain fractions, worked out from the data and not from the model.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field, replace
from fractions import Fraction

import pytest

from paramc.driver import understand
from paramc.image.factory import factory_values, put
from paramc.image.memory import read_memory
from paramc.image.records import encode
from paramc.image.restore import Restored, Wish, restore_contents
from paramc.image.revisions import read_revisions
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout
from paramc.model.items import is_in_use
from paramc.text.diagnostic import has_stop
from paramc.text.source import Source
from tests.released import released

STORIES = 120
SAVED = 6


@dataclass(frozen=True)
class Item:
    """A param, flag, selector or trim. identity: stays with it through every edit. low, high, step: whole
    numbers of its unit; ways: of a selector, their names. words: what the edit has to say."""

    identity: int
    kind: str
    name: str
    low: int = 0
    high: int = 100
    step: int = 1
    taper: str = ""
    once: bool = False
    ways: tuple[str, ...] = ()
    words: str = ""

    def text(self) -> str:
        words = f"{self.words} {'kept once' if self.once else ''}"
        match self.kind:
            case "param":
                grid = f"range {self.low} ms .. {self.high} ms step {self.step} ms {self.taper}"
                return f'param {self.name} "P" {{ {grid} default {self.low} ms {words} }}'
            case "trim":
                grid = f"range {self.low} counts .. {self.high} counts step {self.step} counts"
                return f'trim {self.name} "T" {{ {grid} nominal {self.low} counts {self.words} }}'
            case "flag":
                return f'flag {self.name} "F" {{ default off {words} }}'
            case _:
                ways = " ".join(f'way {way} "W"' for way in self.ways)
                return f'selector {self.name} "S" {{ {ways} default {self.ways[0].split()[0]} {words} }}'

    def value(self, code: int) -> Fraction:
        return Fraction(self.low + code * self.step)


@dataclass(frozen=True)
class Product:
    revision: int
    items: tuple[Item, ...]
    retired: tuple[str, ...] = ()
    growth: int = 6
    said: tuple[str, ...] = field(default=(), compare=False)

    def text(self) -> str:
        trims = any(item.kind == "trim" for item in self.items)
        once = any(item.once for item in self.items)
        bench = f"bench 2 copies growth {self.growth} bytes if lost play" if trims else ""
        setup = f"setup 2 copies saves 1 per day growth {self.growth} bytes" if once else ""
        return "\n".join(
            [
                f'product edit "Edit" {{ code 0x4544 prefix ed revision {self.revision} inside low voltage',
                "supply 9 V dc centre negative 20 mA }",
                "chip { size 1024 bytes page 1 byte endurance 100_000 writes brown-out 2.7 V }",
                f"holds {{ identity 2 copies serial 8 characters {bench} {setup}",
                f"presets 3 slots spare 1 saves 5 per day growth {self.growth} bytes",
                f"state 4 copies saves 10 per day growth {self.growth} bytes }}",
                'panel { footswitch FOOT "Foot" }',
                *(item.text() for item in self.items),
                *(f"retired {name} since {self.revision}" for name in self.retired),
                "mode main { press FOOT does bypass }",
            ]
        )


def some_item(chance: random.Random, identity: int, kind: str = "") -> Item:
    kind = kind or chance.choice(["param", "param", "param", "flag", "selector", "trim"])
    low, step = chance.randrange(0, 50), chance.randrange(1, 6)
    high = low + step * chance.randrange(4, 60)
    ways = tuple(f"w{at}" for at in range(chance.randrange(2, 6)))
    once = kind != "trim" and chance.random() < 0.3
    return Item(identity, kind, f"i{identity}", low, high, step, "", once, ways if kind == "selector" else ())


def some_product(chance: random.Random) -> Product:
    # One of each, so that every kind of record is there from the first revision on.
    kinds = ["param", "flag", "trim"] + [""] * chance.randrange(1, 5)
    items = [some_item(chance, at, kind) for at, kind in enumerate(kinds)]
    items[1] = replace(items[1], once=True)
    return Product(1, tuple(items))


def edited(chance: random.Random, product: Product) -> Product:
    """The next revision. Nine times out of ten an edit says what it has to."""
    items = [replace(item, words="") for item in product.items]
    retired: list[str] = []
    says = chance.random() < 0.9
    for _ in range(chance.randrange(1, 4)):
        at = chance.randrange(len(items))
        item = items[at]
        match chance.choice(
            ["add", "widen", "narrow", "rename", "retire", "reorder", "taper", "step", "way", "once"]
        ):
            case "add":
                new = some_item(chance, 100 + len(items) + 50 * product.revision)
                formerly = {
                    "param": f"{new.high} ms",
                    "flag": "on",
                    "selector": new.ways[-1] if new.ways else "",
                }
                since = f"since {product.revision + 1}"
                if new.kind != "trim":
                    since += f" formerly {formerly[new.kind]}"
                items.insert(at, replace(new, words=since if says else ""))
            case "widen" if item.kind in ("param", "trim"):
                items[at] = replace(item, low=max(0, item.low - item.step), high=item.high + 3 * item.step)
            case "narrow" if item.kind in ("param", "trim"):
                words = f"{item.words} narrowed to nearest" if says else item.words
                items[at] = replace(item, high=item.high - item.step, words=words)
            case "rename" if " was " not in f" {item.words}":
                words = f"{item.words} was {item.name}" if says else item.words
                items[at] = replace(item, name=f"{item.name}x", words=words)
            case "retire" if len(items) > 4:
                if says:
                    retired.append(item.name)
                del items[at]
            case "reorder":
                chance.shuffle(items)
            case "taper" if item.kind == "param":
                items[at] = replace(item, taper="taper audio 20 %")
            case "step" if item.kind in ("param", "trim"):
                step = chance.randrange(1, 9)
                items[at] = replace(item, step=step, high=item.low + step * chance.randrange(3, 60))
            case "way" if item.kind == "selector":
                items[at] = replace(item, ways=(*item.ways, f"v{product.revision}"))
            case "once":
                items[at] = replace(item, once=not item.once and item.kind != "trim")
            case _:
                pass
    return Product(product.revision + 1, tuple(items), tuple(retired))


def saved_unit(chance: random.Random, layout: Layout) -> bytes:
    """A unit with serial and trims, every record of it with values by chance."""
    trims = tuple((trim.name, chance.randrange(trim.codes)) for trim in layout.product.trims)
    memory = bytearray(stamp_image(layout, Unit("ED-00017", None, trims)))
    for record in layout.records:
        if record.kind in LOOK:
            for number in range(record.numbers):
                values = []
                for one, value in zip(record.fields, factory_values(layout, record, number), strict=True):
                    if one.kind is FieldKind.ITEM:
                        item = layout.product.item(one.name)
                        value = chance.choice([code for code in range(one.codes) if is_in_use(item, code)])
                    values.append(value)
                place = record.places[number]
                put(memory, place, encode(layout, record, place, 3, values))
    return bytes(memory)


def held(layout: Layout, memory: bytes) -> dict[tuple[Kind, int, str], int]:
    """Every item's code by kind, number and name."""
    contents = read_memory(layout, memory)
    return {
        (one.record.kind, number.number, spot.name): value
        for one in contents.kinds
        for number in one.numbers
        if number.values is not None
        for spot, value in zip(one.record.fields, number.values, strict=True)
        if spot.kind in (FieldKind.ITEM, FieldKind.MEASURED, FieldKind.SERIAL)
    }


def check(
    old: Product,
    new: Product,
    before: dict[tuple[Kind, int, str], int],
    after: dict[tuple[Kind, int, str], int],
) -> int:
    """How many values were held against what they meant."""
    now = {item.identity: item for item in new.items}
    count = 0
    for (kind, number, name), code in before.items():
        was = next((item for item in old.items if item.name == name), None)
        if was is None:
            if name == "serial":
                assert after[kind, number, name] == code
            continue
        item = now.get(was.identity)
        if item is None:
            continue
        assert (kind, number, item.name) in after, (name, kind)
        found = after[kind, number, item.name]
        count += 1
        if was.kind in ("param", "trim"):
            wanted, got = was.value(code), item.value(found)
            inside = item.low <= wanted <= item.high
            if inside:
                assert abs(got - wanted) <= Fraction(item.step, 2), (was, item, code, found)
            else:
                assert "narrowed" in item.words
                if was.kind == "param":
                    assert got in (item.low, item.high)
        elif was.kind == "flag":
            assert found == code
        else:
            assert item.ways[found].split()[0] == was.ways[code].split()[0]
    for item in new.items:
        if (
            item.identity >= 100
            and item.kind == "param"
            and item.identity not in {one.identity for one in old.items}
        ):
            for (kind, _, name), code in after.items():
                if name == item.name and kind is not Kind.BENCH:
                    # Units from before it sound as the file says, whatever its default is.
                    assert item.value(code) == item.high
                    count += 1
    return count


@pytest.mark.slow
def test_an_edit_is_refused_or_keeps_every_value() -> None:
    counts: Counter[str] = Counter()
    rules: Counter[str] = Counter()
    for seed in range(STORIES):
        chance = random.Random(seed)
        old = some_product(chance)
        layouts = released([old.text()])
        new = edited(chance, old)
        answer = understand(Source("edit.paramc", new.text()), layouts, trial=False)
        if answer.value is None or has_stop(answer.diagnostics):
            assert has_stop(answer.diagnostics)
            counts["refused"] += 1
            rules.update({one.rule.name for one in answer.diagnostics})
            continue
        counts["taken"] += 1
        target = answer.value.layout
        for _ in range(SAVED):
            memory = saved_unit(chance, layouts[0])
            read = read_revisions(target, (*layouts, target), memory)
            moved = restore_contents(read.contents, memory, Wish())
            assert isinstance(moved, Restored), moved
            counts["values"] += check(old, new, held(layouts[0], memory), held(target, moved.image))
    print(f"\n{dict(counts)}; refused by {dict(rules)}")
    assert counts["taken"] > STORIES // 3 and counts["refused"] > STORIES // 10 and counts["values"] > 5000
