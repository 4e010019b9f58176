"""Dumps read and images written, in any of the three forms."""

from __future__ import annotations

from collections.abc import Sequence

from paramc.cli.files import Trouble, read_bytes
from paramc.cli.layouts import Found, layouts_at
from paramc.cli.say import plain
from paramc.image.choose import Candidate, Chosen, choose
from paramc.image.files import Form, to_hex, to_srec
from paramc.image.reading import MOST_BYTES, Loaded, Problem, flatten, read_image
from paramc.layout.layout import Layout

FORMS = {"hex": Form.HEX, "srec": Form.SREC, "bin": Form.RAW}
"""The forms by the endings of their files."""


def image_file(layout: Layout, image: bytes, form: Form) -> bytes:
    """The bytes of a file that carries a whole memory."""
    at = layout.product.chip.hex_at
    match form:
        case Form.HEX:
            return to_hex(at, image)
        case Form.SREC:
            return to_srec(at, image, layout.product.name)
        case Form.RAW:
            return image


def read_dump(path: str) -> Loaded:
    """The bytes that a dump carries. Raises Trouble with a sentence."""
    answer = read_image(read_bytes(path, MOST_BYTES))
    if isinstance(answer, Problem):
        where = "" if answer.line is None else f", line {answer.line}"
        raise Trouble(f"{plain(path)}{where} cannot be read as a dump. {plain(answer.sentence)}")
    return answer


def recognised(dump: str, releases: str, revision: int | None = None) -> tuple[Chosen, list[str]]:
    """The layout of a folder that a dump is of, and what there is to say about the reading of both.

    Raises Trouble where the dump or the layouts cannot be read, or none of them is the dump's.
    """
    loaded = read_dump(dump)
    layouts, troubles = layouts_at(releases)
    chosen = choose([_candidate(found, loaded) for found in layouts], revision)
    if isinstance(chosen, str):
        raise Trouble(" ".join([*troubles, plain(chosen)]))
    return chosen, [*troubles, *_notes(loaded, chosen)]


def _candidate(found: Found, loaded: Loaded) -> Candidate:
    chip = found.layout.product.chip
    memory = flatten(loaded.chunks, loaded.origin(chip.hex_at), chip.size, chip.blank)
    return Candidate(found.name, found.layout, memory, found.released)


def _notes(loaded: Loaded, chosen: Chosen) -> list[str]:
    memory = chosen.candidate.memory
    notes = [
        f"{'' if note.line is None else f'Line {note.line} of the dump: '}{plain(note.sentence)}"
        for note in loaded.notes
    ]
    if memory.gaps:
        notes.append(f"The dump does not give {stretches(memory.gaps)} of the memory.")
    if memory.outside:
        stray = sum(len(chunk.data) for chunk in memory.outside)
        notes.append(f"The dump has {stray} bytes outside the memory of this product; they are left aside.")
    if chosen.known_by:
        notes.append(
            f"No copy of identity is sound; the product is known by {chosen.known_by} other records that are."
        )
    return notes


def stretches(ranges: Sequence[range]) -> str:
    """Ranges of addresses for a sentence: "12 bytes (0x0000 to 0x0003, 0x0010 to 0x0017)"."""
    total = sum(map(len, ranges))
    some = ", ".join(f"0x{one.start:04X} to 0x{one.stop - 1:04X}" for one in ranges[:_SHOWN])
    more = f", and {len(ranges) - _SHOWN} more" if len(ranges) > _SHOWN else ""
    return f"{total} byte{'' if total == 1 else 's'} ({some}{more})"


_SHOWN = 4
