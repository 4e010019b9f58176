"""Image files of units that differ in a few rows: what they share is written out once."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from typing import Final

from paramc.image.files import Form, data_record, row_edges, to_hex, to_srec

_DATA_TYPES: Final = {Form.HEX: (slice(7, 9), (b"00",)), Form.SREC: (slice(1, 2), (b"1", b"2", b"3"))}
"""Where the type of a record stands in its line, and the types that carry data."""


def writer(form: Form, address: int, model: bytes, header: str) -> Callable[[bytes], bytes]:
    """What writes the files of images that are as long as a model, and stand at its address.

    It gives the very bytes of to_hex, of to_srec with the header, or the image itself. Every image may have
    any bytes; the fewer rows differ from the model's, the sooner it is written. ValueError as there, and of
    what is returned where an image has another length.
    """
    if form is Form.RAW:
        return bytes
    text = to_hex(address, model) if form is Form.HEX else to_srec(address, model, header)
    lines = text.splitlines(keepends=True)
    where, types = _DATA_TYPES[form]
    ends = accumulate(map(len, lines))
    starts = [end - len(line) for end, line in zip(ends, lines, strict=True) if line[where] in types]
    edges = row_edges(address, len(model))

    def write(image: bytes) -> bytes:
        if len(image) != len(model):
            raise ValueError(f"the image has {len(image)} bytes, and the model {len(model)}")
        out = bytearray(text)
        for row in _unlike(model, image, edges):
            low, high = edges[row], edges[row + 1]
            record = data_record(form, address + low, image[low:high], address + len(model) - 1)
            out[starts[row] : starts[row] + len(record)] = record
        return bytes(out)

    return write


def _unlike(one: bytes, other: bytes, edges: Sequence[int]) -> Iterator[int]:
    """The rows in which two images differ, found by halves: most of what is compared is long and alike."""
    halves = [(0, len(edges) - 1)]
    while halves:
        low, high = halves.pop()
        if one[edges[low] : edges[high]] == other[edges[low] : edges[high]]:
            continue
        if high - low == 1:
            yield low
        else:
            middle = (low + high) // 2
            halves += [(low, middle), (middle, high)]
