"""A reader of images that knows NAME.layout.json and FORMAT.md and nothing of paramc: a second road.

read(layout, memory) gives, for each kind, by number, the values of each sound record by name.
"""

from __future__ import annotations

from typing import Any


def crc(algorithm: dict[str, Any], data: bytes) -> int:
    """Bit by bit, as the six numbers say."""
    width, top = algorithm["width"], 1 << algorithm["width"] - 1
    register = algorithm["init"]
    for byte in data:
        bits = f"{byte:08b}"
        for bit in bits[::-1] if algorithm["reflected"] else bits:
            out = (register & top != 0) ^ (bit == "1")
            register = (register << 1 & (1 << width) - 1) ^ (algorithm["poly"] if out else 0)
    if algorithm["reflected"]:
        register = int(f"{register:0{width}b}"[::-1], 2)
    return register ^ algorithm["xorout"]


def bit(blob: bytes, at: int, order: str) -> int:
    return blob[at // 8] >> (at % 8 if order == "little" else 7 - at % 8) & 1


def value(blob: bytes, field: dict[str, Any], order: str) -> int:
    bits = [bit(blob, field["bit"] + at, order) for at in range(field["width"])]
    return sum(one << at for at, one in enumerate(bits if order == "little" else bits[::-1]))


def read(layout: dict[str, Any], memory: bytes) -> dict[str, dict[int, dict[str, int]]]:
    algorithm = layout["product"]["chip"]["checksum"]
    size, end = algorithm["width"] // 8, "little" if algorithm["reflected"] else "big"
    found: dict[str, dict[int, dict[str, int]]] = {}
    for record in layout["records"]:
        newest: dict[int, tuple[int, dict[str, int]]] = {}
        for place in record["places"]:
            blob = memory[place : place + record["length"]]
            cover = bytes.fromhex(record["cover_before"]) + place.to_bytes(2, "big")
            cover += bytes.fromhex(record["cover_behind"])
            stored = blob[-size:]
            if {0x00, 0xFF} & set(stored) or blob[0] != layout["revision_byte"]:
                continue
            if crc(algorithm, cover + blob[:-size]) != int.from_bytes(stored, end):
                continue
            said = {field["name"]: value(blob, field, record["order"]) for field in record["fields"]}
            number = said["slot"] if record["kind"] == "presets" else 0
            if number not in newest or 0 < (blob[1] - newest[number][0]) % 256 < 128:
                newest[number] = (blob[1], said)
        found[record["kind"]] = {number: said for number, (_, said) in newest.items()}
    return found
