"""Memories of a product: as the factory makes them, used, damaged, of others, and by chance."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

from tests.target.independent import LOOK, TEXTS, Layout, Reader, text, write

SERIAL = b"A17-00042".ljust(32, b"\0")


def factory_memory(layout: Layout) -> bytes:
    """A new unit: identity and bench in all their places, slot i in place i, one setup, one state."""
    memory = _blank(layout)
    for record in layout["records"]:
        for at, address in enumerate(record["places"]):
            if record["kind"] in ("identity", "bench") or at < record["numbers"]:
                values = _factory(layout, record, at if record["kind"] == "presets" else 0)
                _put(memory, address, write(layout, record["kind"], address, values))
    return bytes(memory)


def damaged_memories(layout: Layout) -> Iterator[tuple[str, bytes]]:
    """Memories by what is the matter with them, the unit's answer first. Small chips try the first ones."""
    product = layout["product"]
    factory = factory_memory(layout)
    records = {record["kind"]: record for record in layout["records"]}
    own = product["revision"]
    yield "sound: new", factory
    yield "sound: played, with newer copies beside older ones", _played(layout, factory)
    yield "damaged: the second preset and one bench mirror", _flipped(layout, factory)
    yield "newer: the state" if own < 254 else "sound: the last revision", _aged(layout, factory, own + 1)
    yield "blank: erased", bytes(_blank(layout))
    yield (
        "damaged: another fill than erased",
        bytes([0xA5 ^ product["chip"]["blank"]]) * product["chip"]["size"],
    )
    yield "damaged: identity", _without(layout, factory, "identity")
    yield "damaged: state", _without(layout, factory, "state")
    if "bench" in records:
        yield "damaged: bench", _without(layout, factory, "bench")
    yield "older: all of look" if own > 1 else "sound: the first revision", _aged(layout, factory, own - 1)
    yield "sound: released records of this revision", _aged(layout, factory, own)
    yield "foreign: another product's identity", _identity(layout, factory, product_code=product["code"] ^ 1)
    other = "trial" if layout["trial"] else "sound"
    yield f"{other}: identity of another build", _identity(layout, factory, fingerprint=1)
    yield "trial: look of another trial", _identity(layout, _other_trial(layout, factory), fingerprint=1)
    stray = "damaged" if layout["trial"] else "trial"
    yield f"{stray}: look of another trial on a unit of this build", _other_trial(layout, factory)
    of_release = "sound" if layout["trial"] else "trial"
    yield (
        f"{of_release}: identity of the other sort, release or trial",
        _identity(layout, factory, trial=1 - int(layout["trial"])),
    )
    yield "sound: codes that are not in use", _all_ones(layout, factory)
    yield "damaged: a record that is not sealed", _unsealed(layout, factory)
    yield "damaged: a state of the revision of erased memory", _state(layout, layout, factory, 0xFF)
    bare = {**layout, "trial": False}
    yield f"{stray}: a state of revision 0 that needs no fingerprint", _state(layout, bare, factory, 0)


def random_memory(layout: Layout, chance: random.Random) -> bytes:
    """Every place with something: nothing, noise, a record, an old one, one that is torn or flipped."""
    memory = _blank(layout)
    calm = chance.random() < 0.5
    if calm:
        memory[:] = factory_memory(layout)
    for record in layout["records"]:
        for address in record["places"]:
            if calm and chance.random() < 0.8:
                continue
            blob = _random_record(layout, record, address, chance)
            _put(memory, address, blob)
    return bytes(memory)


# ---- the parts


def _blank(layout: Layout) -> bytearray:
    chip = layout["product"]["chip"]
    return bytearray([chip["blank"]]) * chip["size"]


def _put(memory: bytearray, address: int, blob: bytes) -> None:
    memory[address : address + len(blob)] = blob


def _factory(layout: Layout, record: Any, number: int) -> dict[str, int]:
    values = Reader(layout, bytes(_blank(layout))).factory(record["kind"], number)
    if record["kind"] == "bench":
        items = {item["name"]: item for item in layout["product"]["items"]}
        values |= {name: items[name]["nominal"] for name in values if name in items}
    if record["kind"] == "identity":
        values |= {
            "product_code": layout["product"]["code"], "hardware": 0xFF,
            "fingerprint": layout["fingerprint"], "trial": int(layout["trial"]),
        }  # fmt: skip
    return values


def _played(layout: Layout, factory: bytes) -> bytes:
    """Serial and trims measured; setup, presets and state saved often, the counters past their wrap."""
    memory = bytearray(factory)
    chance = random.Random(1)
    for record in layout["records"]:
        kind = record["kind"]
        for number in range(record["numbers"]):
            values = _random_values(record, chance, in_use=True)
            if kind == "identity":
                values |= {
                    "product_code": layout["product"]["code"],
                    "fingerprint": layout["fingerprint"],
                    "trial": int(layout["trial"]),
                    "serial": int.from_bytes(SERIAL, "big") >> 8 * len(SERIAL) - _bits(record, "serial"),
                }
            if kind == "presets":
                values["slot"] = number
            mirrors = kind in ("identity", "bench")
            # The new copy stands in the last place, and an old one of counter 250 in the first.
            for at, address in enumerate(record["places"]):
                if mirrors or (kind != "presets" and at == len(record["places"]) - 1):
                    _put(memory, address, write(layout, kind, address, values, 3))
                elif kind != "presets" and at == 0:
                    old = _random_values(record, chance, in_use=True)
                    _put(memory, address, write(layout, kind, address, old, 250))
                elif at == number + 1 and kind == "presets" and number == record["numbers"] - 1:
                    _put(memory, address, write(layout, kind, address, values, 9))
    return bytes(memory)


def _bits(record: Any, name: str) -> int:
    return sum(field["width"] for field in record["fields"] if field["name"] == name)


def _flipped(layout: Layout, factory: bytes) -> bytes:
    memory = bytearray(factory)
    records = {record["kind"]: record for record in layout["records"]}
    if "bench" in records:
        memory[records["bench"]["places"][0] + 3] ^= 0x10
    memory[records["presets"]["places"][min(1, records["presets"]["numbers"] - 1)] + 3] ^= 0x01
    return bytes(memory)


def _aged(layout: Layout, factory: bytes, revision: int) -> bytes:
    """The same values in records of another revision: released ones, without a fingerprint in their cover."""
    if not 1 <= revision <= 254:
        return factory
    memory = bytearray(factory)
    for record in layout["records"]:
        if record["kind"] in LOOK:
            for number in range(record["numbers"]):
                address = record["places"][number]
                values = _factory(layout, record, number)
                _put(memory, address, write(layout, record["kind"], address, values, 7, revision))
    return bytes(memory)


def _without(layout: Layout, factory: bytes, kind: str) -> bytes:
    """Every copy of a kind half written: what a cut leaves."""
    memory = bytearray(factory)
    for record in layout["records"]:
        if record["kind"] == kind:
            for address in record["places"]:
                _put(
                    memory,
                    address + record["length"] // 2,
                    bytes([0xFF]) * (record["length"] - record["length"] // 2),
                )
    return bytes(memory)


def _identity(layout: Layout, memory: bytes, **changed: int) -> bytes:
    other = bytearray(memory)
    record = next(record for record in layout["records"] if record["kind"] == "identity")
    for address in record["places"]:
        values = _factory(layout, record, 0) | changed
        _put(other, address, write(layout, "identity", address, values))
    return bytes(other)


def _other_trial(layout: Layout, factory: bytes) -> bytes:
    memory = bytearray(factory)
    other = {
        **layout, "look_fingerprint": layout["look_fingerprint"] ^ 0xFF, "trial": True, "revision_byte": 0,
    }  # fmt: skip
    for record in layout["records"]:
        if record["kind"] in LOOK:
            for number in range(record["numbers"]):
                address = record["places"][number]
                _put(memory, address, write(other, record["kind"], address, _factory(layout, record, number)))
    return bytes(memory)


def _all_ones(layout: Layout, factory: bytes) -> bytes:
    """Every field of look and bench all ones, which most items do not use."""
    memory = bytearray(factory)
    for record in layout["records"]:
        if record["kind"] == "identity":
            continue
        for at, address in enumerate(record["places"]):
            if record["kind"] == "bench" or at < record["numbers"]:
                values = {field["name"]: (1 << field["width"]) - 1 for field in record["fields"]}
                values |= {field["name"]: 0 for field in record["fields"] if field["kind"] in TEXTS}
                if record["kind"] == "presets":
                    values["slot"] = at
                _put(memory, address, write(layout, record["kind"], address, values))
    return bytes(memory)


def _state(layout: Layout, source: Layout, factory: bytes, revision: int) -> bytes:
    """A single state, of a revision, with the checksum that the source gives it."""
    memory = bytearray(_without(layout, factory, "state"))
    record = next(record for record in layout["records"] if record["kind"] == "state")
    address = record["places"][0]
    _put(memory, address, write(source, "state", address, _factory(layout, record, 0), revision=revision))
    return bytes(memory)


def _unsealed(layout: Layout, factory: bytes) -> bytes:
    """A state whose checksum is right, and has a byte that erased or zeroed memory has."""
    memory = bytearray(_without(layout, factory, "state"))
    record = next(record for record in layout["records"] if record["kind"] == "state")
    size = layout["product"]["chip"]["checksum"]["width"] // 8
    address = record["places"][0]
    values = _factory(layout, record, 0)
    for counter in range(256):
        for engaged in (0, 1):
            blob = write(layout, "state", address, values | {"engaged": engaged}, counter, sealed=False)
            if {0x00, 0xFF} & set(blob[-size:]):
                _put(memory, address, blob)
                return bytes(memory)
    raise AssertionError("every counter seals")


def _random_values(record: Any, chance: random.Random, in_use: bool) -> dict[str, int]:
    values = {}
    for field in record["fields"]:
        if field["kind"] in TEXTS:
            width = field["width"]
            short = bytes(chance.randrange(1, 256) for _ in range(chance.randrange(width // 8 + 1)))
            values[field["name"]] = text(short, width, record["order"])
        else:
            values[field["name"]] = chance.randrange(field["codes"] if in_use else 1 << field["width"])
    return values


def _random_record(layout: Layout, record: Any, address: int, chance: random.Random) -> bytes:
    kind, length = record["kind"], record["length"]
    values = _random_values(record, chance, in_use=chance.random() < 0.7)
    if kind == "identity":
        if chance.random() < 0.8:
            values["product_code"] = layout["product"]["code"]
        if chance.random() < 0.6:
            values |= {"fingerprint": layout["fingerprint"], "trial": int(layout["trial"])}
    own = layout["product"]["revision"]
    revision = chance.choice(
        [layout["revision_byte"]] * 12 + [own, max(1, own - 1), min(254, own + 1), chance.randrange(256)]
    )
    source: Layout = layout
    if chance.random() < 0.1:
        source = {**layout, "look_fingerprint": 5, "bench_fingerprint": 6, "trial": True}
        revision = chance.choice([0, revision])
    # Few counters, so that equal ones, wraps and copies too far apart to compare all happen.
    counter = chance.choice([0, 1, 2, 126, 127, 128, 129, 254, 255, chance.randrange(256)])
    blob = bytearray(write(source, kind, address, values, counter, revision, chance.random() < 0.9))
    fate = chance.random()
    if fate < 0.1:
        blob[chance.randrange(length)] ^= 1 << chance.randrange(8)
    elif fate < 0.2:
        cut = chance.randrange(length)
        blob[cut:] = bytes([layout["product"]["chip"]["blank"]]) * (length - cut)
    elif fate < 0.25:
        blob = bytearray(chance.randbytes(length))
    elif fate < 0.3:
        blob = bytearray([chance.choice([0x00, 0xFF])]) * length
    return bytes(blob)
