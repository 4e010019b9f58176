"""Savings that lose, made of the right one: what each campaign of cuts has to find.

A mutant is a change of the emitted C as text, written for the prefix p. Each piece has to be there exactly
once, so that a change of the templates cannot turn a mutant into the right thing in silence.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

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
    campaign: tuple[object, ...]
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


_OPEN = """        store->saving = P_BREAK_;
        p_unseal(store);
        if (store->differs == 0u) {
            store->done++; /* it is broken already */
        }
"""
_CHAIN = """            if (store->saving == P_BREAK_) {
                p_range(store, 0u, store->body);
            } else if (store->saving == P_FILL_) {
                (void)p_close(store, store->record[1]);
                p_range(store, store->body, P_STORED_);
            } else {
                store->live = store->to;
                p_go_through(store, P_COMMIT_);
            }
            store->saving++;
            answer = P_MORE;
"""

MUTANTS = {
    "no open step": Mutant("short", CUTS, (
        (_OPEN, """        store->saving = P_FILL_;
        p_unseal(store);
        p_range(store, 0u, store->body);
"""),
    )),
    "seal before body": Mutant("short", CUTS, (
        (_CHAIN, """            answer = P_MORE;
            if (store->saving == P_BREAK_) {
                (void)p_close(store, store->record[1]);
                p_range(store, store->body, P_STORED_);
                store->saving = P_COMMIT_;
            } else if (store->saving == P_COMMIT_) {
                p_range(store, 0u, store->body);
                store->saving = P_FILL_;
            } else {
                store->live = store->to;
                p_go_through(store, P_RETIRE_);
            }
"""),
    )),
    "retire before verify": Mutant("bytes", CUTS, (
        (_CHAIN, """            answer = P_MORE;
            if (store->saving == P_BREAK_) {
                p_range(store, 0u, store->body);
                store->saving = P_FILL_;
            } else if (store->saving == P_FILL_) {
                store->live = store->to;
                p_go_through(store, P_RETIRE_);
            } else {
                answer = p_end_save(store, P_SOUND);
            }
"""),
        ("""    default:
        answer = p_end_save(store, P_SOUND);
""", """    default:
        (void)p_close(store, store->record[1]);
        p_range(store, store->body, P_STORED_);
        store->saving = P_COMMIT_;
"""),
    )),
    "counter restarted at 1": Mutant("bytes", CUTS, (
        ("    uint8_t counter = store->newest;\n", "    uint8_t counter = 0u;\n"),
    )),
    "one-pass write": Mutant("short", CYCLES, (
        (_OPEN, """        store->saving = P_COMMIT_;
        p_range(store, 0u, (p_index)(store->body + P_STORED_));
"""),
    )),
    "no read-back": Mutant("bytes", CUTS, (
        ("""        } else if (store->differs == 0u) {
            if (store->saving == P_BREAK_) {
""", """        } else if (store->differs < 2u) {
            if (store->saving == P_BREAK_) {
"""),
    )),
    "no retiring": Mutant("bytes", CUTS, (
        ("            store->saving++;\n            answer = P_MORE;\n", """            store->saving++;
            answer = P_MORE;
            if (store->saving == P_RETIRE_) {
                answer = p_end_save(store, P_SOUND);
            }
"""),
    )),
    "a checksum that does not seal": Mutant("short", CUTS, (
        ("""        if ((*byte == 0x00u) || (*byte == 0xFFu)) {
            sealed = 0u;
""", """        if (*byte == 0x00u) {
            sealed = 1u;
"""),
    )),
    "a counter that cannot be told from an old copy's": Mutant("pages", WEAR, (
        ("for (ahead = store->behind; ", "for (ahead = 0u; "),
    )),
}  # fmt: skip
"""By what is wrong."""
