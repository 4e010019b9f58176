"""What restore did, for people and as data."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import Any

from paramc.cli.layouts import cautions, cautions_data
from paramc.cli.renderers.account import carried_text
from paramc.cli.renderers.table import table
from paramc.cli.say import plain
from paramc.frozen import dataclass
from paramc.image.account import Account, account_value
from paramc.image.codes import code_text
from paramc.image.documents import Document
from paramc.image.memory import Answer
from paramc.image.restore import Fate, Origin, Restored
from paramc.layout.layout import Layout

FORMAT = 2
"""The number of the form of the data."""

NOMINAL = "nominal"
"""Where a trim comes from that was never measured on the unit."""

_FROM = {Origin.DUMP: "the dump", Origin.LOG: "the record of what was shipped"}
_FATES = (
    (Fate.KEPT, "Kept from the dump"),
    (Fate.MOVED, "Taken from the dump of the other unit"),
    (Fate.RESET, "As the factory makes it, as asked"),
    (Fate.FACTORY, "As the factory makes it, for want of a sound copy"),
)


@dataclass(frozen=True, slots=True)
class Done:
    """A unit made whole. before: what its dump says, None without one; after: what the image says; carried:
    by account, what other revisions saved in the dumps and how it came over; notes: whole sentences."""

    layout: Layout
    before: Account | None
    after: Account
    answer: Restored
    document: Document | None
    notes: tuple[str, ...]
    path: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Trim:
    """A trim or a pair of measured ends in the image. came: where from, as a word for data; said: for
    people."""

    item: str
    value: str
    came: str
    said: str


def trims(done: Done) -> Iterator[Trim]:
    """Each trim and pair of ends with where it comes from: never from nowhere."""
    bench, origin = done.after.bench, done.answer.bench
    if bench is None or origin is None:
        return
    values = [(trim.item, trim.value, trim.measured) for trim in bench.trims]
    values += [(ends.control, f"{ends.low} to {ends.high} counts", ends.measured) for ends in bench.ends]
    for item, value, measured in values:
        if measured:
            yield Trim(item, value, origin.value, f"measured once, carried over from {_FROM[origin]}")
        else:
            yield Trim(item, value, NOMINAL, "nominal, not measured on this unit")


def fates(answer: Restored) -> Iterator[tuple[str, Fate]]:
    """What became of each of the player's records, each called as in a sentence."""
    for number, fate in enumerate(answer.presets, 1):
        yield f"preset {number}", fate
    if answer.setup is not None:
        yield "setup", answer.setup
    yield "what plays now", answer.state


def report_data(done: Done) -> dict[str, Any]:
    """As JSON would have it."""
    answer, after = done.answer, done.after
    return {
        "format": FORMAT,
        "problems": [],
        "product": after.product,
        "revision": after.revision,
        "fingerprint": after.fingerprint,
        "serial": after.identity.serial,
        "hardware": after.identity.hardware,
        "identity": answer.identity.value,
        "bench": None if answer.bench is None else answer.bench.value,
        "trims": [{"item": trim.item, "value": trim.value, "from": trim.came} for trim in trims(done)],
        "presets": [{"number": at, "fate": fate.value} for at, fate in enumerate(answer.presets, 1)],
        "setup": None if answer.setup is None else answer.setup.value,
        "state": answer.state.value,
        "carried": [] if done.before is None else account_value(done.before)["carried"],
        "notes": list(done.notes),
        "file": done.path,
        "bytes": len(done.data),
        "sha256": hashlib.sha256(done.data).hexdigest(),
        "texts": cautions_data(done.layout, "restore"),
    }


def report_text(done: Done) -> list[str]:
    """Lines for a terminal, everything in them fit for one."""
    answer, after = done.answer, done.after
    lines = [*cautions(done.layout, "restore"), "", whose(after), ""]
    lines.append(f"Identity, carried over from {_FROM[answer.identity]}.")
    rows = [(f"  {trim.item}", trim.value, trim.said) for trim in trims(done)]
    if rows:
        lines += ["Trims:", *table(rows[0], rows[1:], "lll")]
    lines.append("")
    found = list(fates(answer))
    for fate, said in _FATES:
        names = [name for name, one in found if one is fate]
        if names or fate in (Fate.KEPT, Fate.FACTORY):
            lines.append(f"{said}: {', '.join(names) or 'nothing'}.")
    if done.document is not None:
        lines += ["Replaced by the document:", *_replaced(done, done.document)]
    if done.before is not None and done.before.carried:
        lines += ["", *carried_text(done.before.carried, after.revision)]
    if done.notes:
        lines += ["", *done.notes]
    return [*lines, "", f"Written: {plain(done.path)}, {len(answer.image)} bytes of memory."]


def whose(after: Account) -> str:
    """Which unit it is, as a sentence."""
    serial, hardware = after.identity.serial or "none", after.identity.hardware or "not said"
    label = f"{plain(after.label)}, revision {after.revision}"
    return f"{label}, serial {plain(serial)}, hardware {plain(hardware)}."


def _replaced(done: Done, document: Document) -> Iterator[str]:
    """A table a slot, and one of the settings: what was, and what is now."""
    items = done.layout.product.per_preset
    before = done.before
    slots = {new.slot: new for new in document.presets}
    for slot, fate in enumerate(done.answer.presets):
        if fate is not Fate.REPLACED:
            continue
        new = slots[slot]
        values = () if before is None else before.presets[slot].values
        was = {value.item: value.value for value in values}
        named = f' "{plain(new.name)}"' if new.name else ""
        yield f"  preset {slot + 1}{named}"
        rows: Sequence[tuple[str, ...]] = [
            (
                f"  {item.name}",
                was.get(item.name, "lost"),
                code_text(item, code),
                "" if item.name in new.said else "not in the document: the default",
            )
            for item, code in zip(items, new.codes, strict=True)
        ]
        yield from table(("  item", "was", "now", ""), rows, "llll")
    if done.answer.setup is Fate.REPLACED:
        setup = None if before is None else before.setup
        was = {value.item: value.value for value in (() if setup is None else setup.values)}
        sound = setup is not None and setup.answer is not Answer.MISSING
        yield f"  setup{'' if sound else ', what it does not say as the factory makes it'}"
        rows = [
            (f"  {name}", was.get(name, "lost"), code_text(done.layout.product.item(name), code))
            for name, code in document.setup
        ]
        yield from table(("  item", "was", "now"), rows, "lll")
    if Fate.REPLACED not in (*done.answer.presets, done.answer.setup):
        yield "  nothing"
