"""A second reader and writer of memories. It knows the layout file alone and imports nothing of paramc.

Written from the description of the memory, not from the code that packs or unpacks it, so that both have to
be wrong in the same way before a test is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

Layout = Mapping[str, Any]
RecordOf = Mapping[str, Any]
Values = dict[str, int]

LOOK = ("setup", "presets", "state")
TEXTS = ("name", "serial")


def crc(checksum: Mapping[str, Any], message: bytes) -> int:
    """Bit by bit, as a division of polynomials is done on paper."""
    width, register = checksum["width"], checksum["init"]
    for byte in message:
        for place in range(8) if checksum["reflected"] else range(7, -1, -1):
            out = register >> width - 1 ^ byte >> place & 1
            register = register << 1 & (1 << width) - 1 ^ out * checksum["poly"]
    if checksum["reflected"]:
        register = int(f"{register:0{width}b}"[::-1], 2)
    return register ^ checksum["xorout"]


def stored_sum(checksum: Mapping[str, Any], message: bytes) -> bytes:
    """The checksum as it lies in memory."""
    order = "little" if checksum["reflected"] else "big"
    return crc(checksum, message).to_bytes(checksum["width"] // 8, order)


@dataclass(frozen=True)
class Place:
    """What a place holds: sound, older, newer, trial, blank or damaged; fields by their names."""

    state: str
    revision: int
    counter: int
    values: Values
    address: int = 0

    @property
    def good(self) -> bool:
        return self.state in ("sound", "older", "newer")


Older = Callable[[str, Place], "tuple[Values, str | None] | None"]
"""What the good record of an earlier revision is today, and the first field whose code was not in use; None
where the firmware does not read that revision."""


class Reader:
    """Answers for a memory what the firmware has to answer. older: without it no earlier revision is read."""

    def __init__(self, layout: Layout, memory: bytes, older: Older | None = None) -> None:
        self.layout = layout
        self.older = older
        self.product = layout["product"]
        self.memory = memory
        self.records = {record["kind"]: record for record in layout["records"]}

    # ---- one place

    def place(self, kind: str, address: int) -> Place:
        record = self.records[kind]
        stored = self.memory[address : address + record["length"]]
        checksum = self.product["chip"]["checksum"]
        size = checksum["width"] // 8
        revision, counter = stored[0], stored[1]
        sealed = not {0x00, 0xFF} & set(stored[-size:])
        passes = stored[-size:] == stored_sum(checksum, self._cover(kind, address, revision) + stored[:-size])
        values = unpack(record, stored)
        if all(byte == self.product["chip"]["blank"] for byte in stored):
            state = "blank"
        elif not sealed or revision == 0xFF or values.get("slot", 0) >= record["numbers"]:
            state = "damaged"
        elif passes:
            state = "sound" if kind == "identity" else self._age(revision)
        else:
            state = "trial" if revision == 0 else "damaged"
        return Place(state, revision, counter, values, address)

    def _age(self, revision: int) -> str:
        if revision == 0:
            return "sound" if self.layout["trial"] else "trial"
        own = self.product["revision"]
        return "sound" if revision == own else "older" if revision < own else "newer"

    def _cover(self, kind: str, address: int, revision: int) -> bytes:
        return cover(self.layout, kind, address, revision)

    def places(self, kind: str) -> Iterator[Place]:
        return (self.place(kind, address) for address in self.records[kind]["places"])

    # ---- one number

    def number(self, kind: str, number: int = 0) -> Place:
        """The newest good copy; state missing where there is none, newer where any copy is."""
        best = Place("missing", 0, 0, {})
        for place in self.places(kind):
            if not place.good or place.values.get("slot", 0) != number:
                continue
            if place.state == "newer":
                return place
            if best.state == "missing" or 0 < (place.counter - best.counter) % 256 < 128:
                best = place
        return best

    def codes(self, kind: str, number: int = 0) -> tuple[str, Values, str | None]:
        """The answer, the values that play, and the first field whose code was not in use."""
        found = self.number(kind, number)
        if kind != "identity" and found.state == "older":
            today = None if self.older is None else self.older(kind, found)
            if today is None:
                return "missing", self.factory(kind, number), None
            # Bench keeps the revision that it was written with.
            return "sound" if kind == "bench" else "older", *today
        if kind == "identity" or found.state != "sound":
            return found.state, found.values if found.state == "sound" else self.factory(kind, number), None
        values, replaced = dict(found.values), None
        for field in self.records[kind]["fields"]:
            name = field["name"]
            if not self._in_use(field, values[name]):
                values[name] = self._default(field)
                replaced = replaced or name
        return "sound", values, replaced

    def _in_use(self, field: Mapping[str, Any], code: int) -> bool:
        if field["kind"] == "item":
            item = self._item(field["name"])
            if item["kind"] == "selector":
                return code in item["places"]
        return field["kind"] in TEXTS or code < field["codes"]

    # ---- the unit

    def numbers(self) -> Iterator[tuple[str, int]]:
        for kind, record in self.records.items():
            for number in range(record["numbers"]):
                yield kind, number

    def unit(self) -> str:
        seen = {kind: list(self.places(kind)) for kind in self.records}
        everything = [place for places in seen.values() for place in places]
        identities = [place for place in seen["identity"] if place.state == "sound"]
        trial = self.layout["trial"]
        own = [
            place for place in identities
            if place.values["product_code"] == self.product["code"] and place.values["trial"] == 1
        ]
        mine = [trial and place.values["fingerprint"] == self.layout["fingerprint"] for place in own]
        copies = {
            (kind, number): [
                place.state for place in seen[kind] if place.good and place.values.get("slot", 0) == number
            ]
            for kind, number in self.numbers()
        }
        missing = not all(copies.values())
        if all(place.state == "blank" for place in everything):
            return "blank"
        if any(place.values["product_code"] != self.product["code"] for place in identities):
            return "foreign"
        if not all(mine):
            return "trial"
        if missing and not any(mine) and any(place.state == "trial" for place in everything):
            return "trial"
        if any(place.state == "newer" for place in everything):
            return "newer"
        if missing:
            return "damaged"
        if any(kind in LOOK and set(states) == {"older"} for (kind, _), states in copies.items()):
            return "older"
        return "sound"

    def start(self) -> str:
        """How the unit starts when everything has been loaded."""
        product = self.product
        trims = any(item["kind"] == "trim" for item in product["items"]) and "bench" in self.records
        if trims and self.codes("bench")[0] != "sound" and product["holds"]["if_lost"] != "play":
            return {"mute": "muted", "bypass": "bypassed"}[product["holds"]["if_lost"]]
        state, values, _ = self.codes("state")
        chosen = product["wakes_from"]
        setup: Values = {}
        answer = "sound"
        if chosen is not None and any(field["name"] == chosen for field in self._fields("setup")):
            answer, setup, _ = self.codes("setup")
        if self.unit() in ("blank", "newer", "trial", "foreign"):
            return "bypassed"
        if not {state, answer} <= {"sound", "older"}:
            return "bypassed"
        if chosen is None:
            wakes = product["wakes"]
        else:
            [item] = [item for item in product["items"] if item["name"] == chosen]
            wakes = item["ways"][{**values, **setup}[chosen]]["name"]
        if wakes in ("as it was", "last"):
            wakes = "engaged" if values["engaged"] else "bypassed"
        return str(wakes)

    def _fields(self, kind: str) -> list[Mapping[str, Any]]:
        return self.records[kind]["fields"] if kind in self.records else []

    # ---- what stands in for a loss

    def factory(self, kind: str, number: int = 0) -> Values:
        """Factory values; of lost trims their safe ones."""
        values: Values = {}
        presets = {preset["number"]: preset for preset in self.product["presets"]}
        slot = self.product["first_preset"] - 1 if kind == "state" else number
        preset = presets.get(slot + 1)
        sounds = [
            item["name"] for item in self.product["items"]
            if item["kind"] != "trim" and not item.get("kept_once")
        ]
        for field in self._fields(kind):
            name = field["name"]
            if field["kind"] == "item" and kind in ("presets", "state") and preset is not None:
                values[name] = preset["codes"][sounds.index(name)]
            elif field["kind"] == "item":
                item = self._item(name)
                values[name] = self._default(field)
                if kind == "bench" and item["safe"] is not None:
                    values[name] = item["safe"]
            elif field["kind"] == "name":
                label = "" if preset is None else preset["label"]
                values[name] = text(label.encode(), field["width"], self.records[kind]["order"])
            elif field["kind"] == "slot":
                values[name] = number
            elif field["kind"] == "engaged":
                values[name] = int(self.wakes_engaged())
            else:
                values[name] = self._default(field)
        return values

    def wakes_engaged(self) -> bool:
        chosen = self.product["wakes_from"]
        if chosen is None:
            return bool(self.product["wakes"] == "engaged")
        item = self._item(chosen)
        return bool(item["ways"][item["default"]]["name"] == "engaged")

    def _item(self, name: str) -> Mapping[str, Any]:
        return next(item for item in self.product["items"] if item["name"] == name)

    def _default(self, field: Mapping[str, Any]) -> int:
        name, kind = field["name"], field["kind"]
        if kind == "item":
            item = self._item(name)
            return int(item["nominal"] if item["kind"] == "trim" else item["default"])
        if kind == "last preset":
            return int(self.product["first_preset"]) - 1
        if kind in ("end low", "end high"):
            control = name.rpartition("_")[0].upper()
            knob = next(one for one in self.product["panel"] if one["name"] == control)
            return int(knob["ends"][kind == "end high"])
        return 0


def cover(layout: Layout, kind: str, address: int, revision: int) -> bytes:
    """What the checksum takes before a record: product code, address, and a trial's fingerprint."""
    if kind == "identity":
        return address.to_bytes(2, "big")
    fed = layout["product"]["code"].to_bytes(2, "big") + address.to_bytes(2, "big")
    if layout["trial"] and revision == 0:
        which = "bench_fingerprint" if kind == "bench" else "look_fingerprint"
        fed += layout[which].to_bytes(4, "big")
    return fed


def unpack(record: RecordOf, stored: bytes) -> Values:
    """Every field of a record as a number; a text is the number that its bits make."""
    number = int.from_bytes(stored, record["order"])
    values = {}
    for field in record["fields"]:
        shift = field["bit"]
        if record["order"] == "big":
            shift = 8 * len(stored) - field["bit"] - field["width"]
        values[field["name"]] = number >> shift & (1 << field["width"]) - 1
    return values


def text(data: bytes, width: int, order: str) -> int:
    """The number whose bits are the bytes of a text, zeros behind."""
    return int.from_bytes(data.ljust(width // 8, b"\0"), "little" if order == "little" else "big")


def text_bytes(value: int, width: int, order: str) -> bytes:
    """The bytes of a text up to the first zero."""
    whole = value.to_bytes(width // 8, "little" if order == "little" else "big")
    return whole.partition(b"\0")[0]


def write(
    layout: Layout,
    kind: str,
    address: int,
    values: Mapping[str, int],
    counter: int = 1,
    revision: int | None = None,
    sealed: bool = True,
) -> bytes:
    """A record for a place. Its counter is the first from the given one on that seals, unless not sealed."""
    record = next(record for record in layout["records"] if record["kind"] == kind)
    checksum = layout["product"]["chip"]["checksum"]
    size = checksum["width"] // 8
    length = record["length"] - size
    revision = layout["revision_byte"] if revision is None else revision
    number = 0
    for field in record["fields"]:
        shift = field["bit"]
        if record["order"] == "big":
            shift = 8 * length - field["bit"] - field["width"]
        number |= values[field["name"]] << shift
    body = bytearray(number.to_bytes(length, record["order"]))
    for ahead in range(256):
        body[0], body[1] = revision, (counter + ahead) % 256
        found = stored_sum(checksum, cover(layout, kind, address, revision) + bytes(body))
        if not sealed or not {0x00, 0xFF} & set(found):
            return bytes(body) + found
    raise AssertionError("no counter seals")


# ---- tables


def table_value(table: Mapping[str, Any], k: int) -> int:
    """What a table gives for code or reading k."""
    kind = table["kind"]
    if kind == "full table":
        return int(table["values"][k])
    if kind == "offset table":
        return int(table["bases"][k >> table["spacing"]] + table["offsets"][k])
    if kind == "linear rule":
        change = (k * table["multiplier"] + table["offset"]) // 2 ** table["shift"]
        return int(table["base"] - change if table["falling"] else table["base"] + change)
    datum = table["datum"]
    height = HEIGHTS[kind](table, k) % 2 ** datum["width"]
    change = height * 2 ** -datum["shift"] if datum["shift"] < 0 else height // 2 ** datum["shift"]
    return int(datum["base"] - change if datum["falling"] else datum["base"] + change)


def table_entries(table: Mapping[str, Any]) -> int:
    """How many codes a table answers for."""
    longest = {"full table": "values", "offset table": "offsets"}.get(table["kind"])
    if longest is not None:
        return len(table[longest])
    return int(table["codes"][-1] + 1 if table["kind"] == "free knots" else table["entries"])


def _between(table: Mapping[str, Any], at: int, fraction: int) -> int:
    """From knot to knot in 256ths, to the nearest, a tie upwards; the way is counted modulo a word."""
    one, other = table["knots"][at : at + 2]
    return int(one + ((other - one) % 2 ** table["datum"]["width"] * fraction + 128) // 256)


def _even_grid(table: Mapping[str, Any], k: int) -> int:
    at, rest = divmod(k, 2 ** table["spacing"])
    return _between(table, at, rest * 256 // 2 ** table["spacing"])


def _blocks(table: Mapping[str, Any], k: int) -> int:
    block, rest = divmod(k, 2 ** table["size"])
    first, end = table["starts"][block : block + 2]
    part, rest = divmod(rest * (end - first), 2 ** table["size"])
    return _between(table, first + part, rest * 256 // 2 ** table["size"])


def _free_segments(table: Mapping[str, Any], k: int) -> int:
    at = max(at for at, start in enumerate(table["starts"]) if start <= k)
    unit = 2 ** table["shift"]
    way = table["slopes"][at] * (k - table["starts"][at]) + unit // 2
    return int(table["bases"][at] + way // unit)


def _free_knots(table: Mapping[str, Any], k: int) -> int:
    at = max(at for at, code in enumerate(table["codes"][:-1]) if code <= k)
    (start, stop), (one, other) = table["codes"][at : at + 2], table["heights"][at : at + 2]
    return int(one + ((other - one) * (k - start) + (stop - start) // 2) // (stop - start))


HEIGHTS: dict[str, Callable[[Mapping[str, Any], int], int]] = {
    "even grid": _even_grid, "blocks": _blocks, "free segments": _free_segments, "free knots": _free_knots,
}  # fmt: skip
