"""Damage in the images of the demo products is noticed, and costs the record that it is in and nothing else.

Two roads: the product's own C says what still plays, for every single bit and for drawn patterns of more; the
checksum's arithmetic says it for every burst and every two and three bits. Whole records in wrong places are
heard through the C and through a second reader.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from paramc.numbers.hamming import distance, false_pass
from tests.faults.campaign import DEMOS, PRODUCTS, RELEASED, build, make, run
from tests.target.chips import host, run_host_board
from tests.target.dump import dump_program, expected
from tests.target.independent import Reader, write
from tests.target.memories import factory_memory

pytestmark = [pytest.mark.slow, pytest.mark.needs("gcc")]

SUBJECTS = [(name, trial) for name in (*DEMOS, *PRODUCTS) for trial in (True, False)]
QUICK = [("teasel_pinch", False), *((name, name not in RELEASED) for name in PRODUCTS)]
DRAWN = 40
"""Patterns of each sort in each record."""


# ---- bits


@pytest.mark.parametrize(
    ("name", "trial"),
    [
        pytest.param(name, trial, marks=() if (name, trial) in QUICK else pytest.mark.slow)
        for name, trial in SUBJECTS
    ],
)
def test_flipped_bits_are_noticed_and_cost_their_record_alone(name: str, trial: bool, tmp_path: Path) -> None:
    emitted = make(name, tmp_path, trial)
    checksum = emitted.layout.product.chip.checksum
    counts = run(build(emitted, "damage"), 1, DRAWN)
    records = emitted.layout.records
    mirrors = sum(len(record.places) for record in records if record.kind.value in ("identity", "bench"))
    look = sum(record.numbers for record in records if record.kind.value not in ("identity", "bench"))
    assert counts["records"] == mirrors + look
    assert counts["single"] >= 8 * counts["records"] * min(record.length for record in records)
    assert counts["drawn"] >= 0.99 * 3 * DRAWN * counts["records"]
    # No burst up to the width is missed, whatever the record.
    assert counts["bursts"] > 1000 * counts["records"] and counts["missed"] == 0
    # In a trial a changed revision byte takes the fingerprint out of the cover: only chance makes that good.
    assert (counts["turned"] > 0) == trial
    likely = counts["turned"] / (1 << checksum.width)
    assert counts["turned_missed"] <= likely + 6 * likely**0.5 + 3
    # Two, three and four bits: the claims of the distance at the lengths that there are.
    claims = {distance(checksum, 8 * record.length - checksum.width) for record in records}
    assert counts["two"] > 1000 and counts["three"] > 10_000
    assert (counts["two_missed"] == 0) == (min(claims) > 2)
    assert (counts["three_missed"] == 0) == (min(claims) > 3 or checksum_is_even(checksum.poly))
    assert (counts["four_missed"] == 0) == (min(claims) > 4)


def checksum_is_even(poly: int) -> bool:
    """Whether x + 1 divides a polynomial (without its highest term), which finds any odd number of bits."""
    return (poly.bit_count() + 1) % 2 == 0


def test_the_chance_of_a_changed_revision_in_a_trial_is_the_one_of_the_width(tmp_path: Path) -> None:
    """With a checksum of 8 bits the patterns that pass are enough to count."""
    emitted = make("short", tmp_path, trial=True)
    counts = run(build(emitted, "damage"), 1, 1)
    likely = counts["turned"] * float(false_pass(emitted.layout.product.chip.checksum))
    assert 0 < counts["turned_missed"] < 3 * likely


# ---- records

Case = tuple[str, bytes, set[int]]
"""What has happened, the memory, and the addresses of places that have no good record now."""


def records_of(file: dict[str, Any], memory: bytes) -> list[tuple[Any, int]]:
    """Every good record by its kind and address."""
    reader = Reader(file, memory)
    return [
        (record, address) for record in file["records"] for address in record["places"]
        if reader.place(record["kind"], address).good
    ]  # fmt: skip


def cases(file: dict[str, Any], memory: bytes) -> Iterator[Case]:
    def changed(*pieces: tuple[int, bytes]) -> bytes:
        other = bytearray(memory)
        for address, piece in pieces:
            other[address : address + len(piece)] = piece
        return bytes(other)

    def at(address: int, length: int) -> bytes:
        return memory[address : address + length]

    standing = records_of(file, memory)
    for (record, one), (_, other) in combinations(standing, 2):
        length = record["length"]
        if one in record["places"] and other in record["places"]:
            yield "swapped", changed((one, at(other, length)), (other, at(one, length))), {one, other}
    blank = bytes([file["product"]["chip"]["blank"]])
    for record, address in standing:
        kind, length = record["kind"], record["length"]
        for place in set(record["places"]) - {address}:
            gone = {place} if (record, place) in standing else set()
            moved = changed((address, blank * length), (place, at(address, length)))
            yield "moved", moved, {address} | gone
            yield "doubled", changed((place, at(address, length))), gone
        for byte in (0x00, 0xFF):
            fill = bytes([byte]) * length
            yield f"all {byte:02X}", changed((address, fill)), {address}
            yield f"first half {byte:02X}", changed((address, fill[: length // 2])), {address}
            yield f"second half {byte:02X}", changed((address + length // 2, fill[length // 2 :])), {address}
        values = Reader(file, memory).place(kind, address).values
        if kind != "identity":
            stranger = {**file, "product": {**file["product"], "code": file["product"]["code"] ^ 0x0101}}
            yield "of another product", changed((address, write(stranger, kind, address, values))), {address}
    for record, address in standing:
        if record["kind"] == "state" or (record["kind"] == "presets" and address == record["places"][0]):
            for byte in range(256):
                if byte != memory[address]:
                    yield "of another revision", changed((address, bytes([byte]))), {address}


@pytest.mark.parametrize("name", ["teasel_pinch", pytest.param("hob_and_kiln", marks=pytest.mark.slow)])
def test_a_record_in_a_wrong_place_or_not_whole_costs_itself_alone(name: str, tmp_path: Path) -> None:
    emitted = make(name, tmp_path, trial=False)
    file = emitted.file
    memory = factory_memory(file)
    before = Reader(file, memory)
    assert before.unit() == "sound"
    tried = list(cases(file, memory))
    assert {"swapped", "moved", "doubled", "of another product"} <= {what for what, _, _ in tried}
    assert len(tried) > 700
    for what, damaged, lost in tried:
        reader = Reader(file, damaged)
        for kind, number in before.numbers():
            kept = [
                address for address in before.records[kind]["places"]
                if address not in lost and before.place(kind, address).good
                and before.place(kind, address).values.get("slot", 0) == number
            ]  # fmt: skip
            state = "sound" if kept else "missing"
            assert reader.number(kind, number).state == state, (what, kind, number, lost)
    memories = [damaged for _, damaged, _ in tried]
    source = dump_program(emitted, len(memories), tables=False)
    program = host([source, emitted.source], [emitted.folder], sanitize=False)
    heard = run_host_board(program, eeprom=b"".join(memories)).stdout
    assert heard == expected(emitted, memories, tables=False)
