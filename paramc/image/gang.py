"""The images of several units in one file, for a programmer with several sockets.

Raw: image after image. Intel HEX and S-record: the first image where the chip has its memory, each next one
right behind the one before. A programmer that counts serials up takes as many bytes a socket as an image has.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from paramc.image.files import ADDRESS_SPACE, Chunk, Form, hex_pieces, srec_pieces
from paramc.layout.layout import Layout


def room(layout: Layout, form: Form) -> int | None:
    """How many images one file can have; None where there is no bound."""
    chip = layout.product.chip
    return None if form is Form.RAW else (ADDRESS_SPACE - chip.hex_at) // chip.size


def gang_pieces(layout: Layout, images: Iterable[bytes], most: int, form: Form) -> Iterator[bytes]:
    """The file piece by piece. most: how many images there can be, which chooses the width of S-record
    addresses before the last image is known; room has to hold them."""
    chip = layout.product.chip
    chunks = (Chunk(chip.hex_at + at * chip.size, image) for at, image in enumerate(images))
    match form:
        case Form.RAW:
            yield from (chunk.data for chunk in chunks)
        case Form.HEX:
            yield from hex_pieces(chunks)
        case Form.SREC:
            yield from srec_pieces(chunks, chip.hex_at + most * chip.size - 1, layout.product.name)
