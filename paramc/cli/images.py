"""Dumps read and images written, in any of the three forms."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from paramc.cli.files import Trouble, read_bytes
from paramc.cli.layouts import Found
from paramc.cli.say import plain
from paramc.image.alike import writer
from paramc.image.factory import factory_image
from paramc.image.file_records import counted
from paramc.image.files import Form, to_hex, to_srec
from paramc.image.memory import identities
from paramc.image.reading import MOST_BYTES, Loaded, Problem, read_image
from paramc.image.recognise import AtHand, Recognised, recognise
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


def image_writer(layout: Layout, form: Form) -> Callable[[bytes], bytes]:
    """What makes the files of the whole memories of many units, as image_file does."""
    return writer(form, layout.product.chip.hex_at, factory_image(layout), layout.product.name)


def read_dump(path: str) -> Loaded:
    """The bytes that a dump carries. Raises Trouble with a sentence."""
    answer = read_image(read_bytes(path, MOST_BYTES))
    if isinstance(answer, Problem):
        where = "" if answer.line is None else f", line {answer.line}"
        raise Trouble(f"{plain(path)}{where} cannot be read as a dump. {plain(answer.sentence)}")
    return answer


def recognised(
    dump: str, at_hand: Sequence[Found], revision: int | None = None
) -> tuple[Recognised, list[str]]:
    """The layout that a dump is of, and what there is to say about the reading of it.

    Raises Trouble where the dump cannot be read, or no layout is the dump's.
    """
    loaded = read_dump(dump)
    answer = recognise(loaded, [AtHand(it.name, it.layout, it.released) for it in at_hand], revision)
    if isinstance(answer, str):
        whole = (note.sentence for note in loaded.notes if note.line is None)
        raise Trouble(plain(" ".join((answer, *whole))))
    return answer, _notes(loaded, answer)


def _notes(loaded: Loaded, found: Recognised) -> list[str]:
    memory = found.chosen.candidate.memory
    size = found.chosen.candidate.layout.product.chip.size
    notes = [
        f"{'' if note.line is None else f'Line {note.line} of the dump: '}{plain(note.sentence)}"
        for note in loaded.notes
    ]
    if found.shift:
        notes.append(
            f"The whole memory stands {counted(abs(found.shift), 'byte')} too"
            f" {'high' if found.shift > 0 else 'low'} in the dump; it is read where it stands."
        )
    if memory.gaps:
        notes.append(f"The dump does not give {stretches(memory.gaps)} of the memory.")
    stray = sum(len(chunk.data) for chunk in memory.outside)
    if stray and not (found.again is not None and stray == size):
        notes.append(
            f"The dump has {counted(stray, 'byte')} outside the memory of this product; they are left aside."
        )
    if found.again is not None:
        alike = "the same" if not found.again else f"not the same in {counted(found.again, 'byte')}"
        notes.append(
            f"Behind its {size} bytes the dump gives the memory once more, {alike}; the first is read."
        )
    records, by = found.elsewhere
    if records:
        notes.append(
            f"{counted(records, 'more record')} would be sound if all after some byte stood"
            f" {counted(abs(by), 'byte')} {'lower' if by > 0 else 'higher'}: the dump has bytes too"
            f" {'many' if by > 0 else 'few'}. Read the unit again; nothing is taken from there."
        )
    serials = sorted({serial for _, serial in identities(found.chosen.contents)})
    if len(serials) > 1:
        both = " and ".join(map(plain, serials))
        notes.append(
            f"Sound copies of identity name different units, {both}: the dump may be a mix of them, and"
            " records of two units of one product cannot be told apart."
        )
    if found.chosen.known_by:
        notes.append(
            "No copy of identity is sound; the product is known by"
            f" {found.chosen.known_by} other records that are."
        )
    return notes


def stretches(ranges: Sequence[range]) -> str:
    """Ranges of addresses for a sentence: "12 bytes (0x0000 to 0x0003, 0x0010 to 0x0017)"."""
    total = sum(map(len, ranges))
    some = ", ".join(f"0x{one.start:04X} to 0x{one.stop - 1:04X}" for one in ranges[:_SHOWN])
    more = f", and {len(ranges) - _SHOWN} more" if len(ranges) > _SHOWN else ""
    return f"{total} byte{'' if total == 1 else 's'} ({some}{more})"


_SHOWN = 4
