"""Savings that lose, made of the right one: what each campaign of cuts has to find.

A mutant is a change of the emitted C as text, written for the prefix p. Each piece has to be there exactly
once, so that a change of the templates cannot turn a mutant into the right thing in silence.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paramc.emit.templating import prefixed
from tests.target.emitted import Emitted

CUTS = ("cuts", 1, 0, 300_000, "bytes")
CYCLES = ("cuts", 1, 0, 300_000, "cycles")
WEAR = ("wear", 1, 40)
"""Programs and their arguments."""


@dataclass(frozen=True)
class Mutant:
    """The product and the campaign that it is tried in, and the pieces that change: from and to."""

    product: str
    campaign: tuple[Any, ...]
    pieces: tuple[tuple[str, str], ...]


def mutated(emitted: Emitted, mutant: Mutant) -> Path:
    """The mutant's source, beside the right one."""
    prefix = emitted.layout.product.prefix
    text = emitted.source.read_text(encoding="utf-8")
    for old, new in mutant.pieces:
        old, new = prefixed(old, prefix), prefixed(new, prefix)
        assert text.count(old) == 1, (text.count(old), old)
        text = text.replace(old, new)
    path = emitted.folder / "mutant.c"
    path.write_text(text, encoding="utf-8")
    return path


BEFORE_CHECK = "retire before verify"

_OPEN = """    } else if (store->bytes[store->of.body] != P_BROKEN_) {
        if (p_give_up(store) == 0u) {
            p_unseal(store);
        }
    } else if (p_seal(store) != 0u) {
        store->saving = P_FILL_;
        store->done = 0u;
        store->until = store->of.body;
"""
_CHAIN = """    if (p_equal(store, store->until) == 0u) {
        (void)p_give_up(store);
    } else if (store->saving == P_FILL_) {
        store->saving = P_COMMIT_;
        store->until = store->of.length;
        store->tried = 0u;
    } else {
        store->live = store->to;
        store->twice = P_NOTHING;
        p_go_through(store, P_RETIRE_);
    }
"""
_FILL = """        store->saving = P_FILL_;
        store->done = 0u;
        store->until = store->of.body;
"""

MUTANTS = {
    "no open step": Mutant("short", CUTS, (
        (_OPEN, """    } else if (p_seal(store) != 0u) {
""" + _FILL),
    )),
    "seal before body": Mutant("short", CUTS, (
        (_FILL, """        store->saving = P_COMMIT_;
        store->done = store->of.body;
        store->until = store->of.length;
"""),
        (_CHAIN, """    if (store->saving == P_COMMIT_) {
        store->done = 0u;
        store->until = store->of.body;
        store->saving = P_FILL_;
    } else {
        store->live = store->to;
        store->twice = P_NOTHING;
        p_go_through(store, P_RETIRE_);
    }
"""),
    )),
    BEFORE_CHECK: Mutant("bytes", CUTS, (
        (_CHAIN, """    if (p_equal(store, store->until) == 0u) {
        (void)p_give_up(store);
    } else if (store->saving == P_FILL_) {
        store->live = store->to;
        store->twice = P_NOTHING;
        store->same = 2u;
        p_go_through(store, P_RETIRE_);
    } else {
        store->saving = P_RETIRE_;
        store->tries = 0u;
    }
"""),
        ("""        answer = (store->saving == P_SEEK_) ? P_WORN : P_SOUND;
        store->saving = P_IDLE_;
""", """        answer = (store->saving == P_SEEK_) ? P_WORN : P_SOUND;
        store->saving = P_IDLE_;
        if (store->same == 2u) {
            answer = P_MORE;
            store->same = 0u;
            store->saving = P_COMMIT_;
            store->tries = 1u;
            store->done = store->of.body;
            store->until = store->of.length;
        }
"""),
    )),
    "counter restarted at 1": Mutant("bytes", CUTS, (
        ("    store->record[1] = store->newest;\n", "    store->record[1] = 0u;\n"),
    )),
    "one-pass write": Mutant("short", CYCLES, (
        (_OPEN, """    } else if (p_seal(store) != 0u) {
        store->saving = P_COMMIT_;
        store->done = 0u;
        store->until = store->of.length;
"""),
    )),
    "no read-back": Mutant("bytes", CUTS, (
        ("    if (p_equal(store, store->until) == 0u) {\n", "    if (store->until == 0u) {\n"),
    )),
    "no retiring": Mutant("bytes", CUTS, (
        ("""        store->live = store->to;
        store->twice = P_NOTHING;
        p_go_through(store, P_RETIRE_);
""", """        store->twice = P_NOTHING;
        store->tries = 0u;
        store->saving = P_RETIRE_;
"""),
    )),
    "a checksum that does not seal": Mutant("short", CUTS, (
        ("    uint8_t sealed = 1u;\n", "    uint8_t sealed = 2u;\n"),
        ("""        if ((*byte == 0x00u) || (*byte == 0xFFu)) {
            sealed = 0u;
""", """        if (sealed == 0u) {
            sealed = 1u;
"""),
    )),
    "a counter that cannot be told from an old copy's": Mutant("pages", WEAR, (
        ("for (ahead = store->behind; ", "for (ahead = 0u; "),
    )),
}  # fmt: skip
"""By what is wrong."""

UPDATE_MUTANTS = {
    BEFORE_CHECK: Mutant("teasel_pinch", (1, 10_000, "bytes"), MUTANTS[BEFORE_CHECK].pieces),
    "the places of earlier revisions count as free": Mutant("teasel_pinch", (1, 10_000, "bytes"), (
        ("    if (P_GOOD_(found) && (number != store->saved)) {\n",
         "    if (P_GOOD_(found) && (found != P_OLDER) && (number != store->saved)) {\n"),
    )),
    "earlier counters are not counted on from": Mutant("teasel_pinch", (1, 10_000, "bytes"), (
        ("        if (P_GOOD_(found)) {\n            p_weigh(store);\n",
         "        if (found == P_SOUND) {\n            p_weigh(store);\n"),
    )),
    "codes are not converted": Mutant("long_causeway", (1, 500, "cycles"), (
        ("    uint16_t code = k;\n    switch (table) {\n",
         "    uint16_t code = k;\n    switch (table & 0u) {\n"),
    )),
    "what is new is not told from what is old": Mutant("teasel_pinch", (1, 500, "cycles"), (
        ("        if (table != P_CONSTANT_) {\n",
         "        if ((table != P_CONSTANT_) || (row != P_NOTHING)) {\n"),
    )),
}  # fmt: skip
"""Of the cuts after an update: the revision that left the memories, how many cuts and which way."""
