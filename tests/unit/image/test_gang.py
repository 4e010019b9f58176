"""One file for a programmer with several sockets: image behind image, by our writer and two other readers."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace

import bincopy
import intelhex
import pytest

from paramc.image.files import ADDRESS_SPACE, Form
from paramc.image.gang import gang_pieces, room
from paramc.image.stamp import Unit, stamper
from paramc.layout.layout import Layout
from tests.unit.image.layouts import every_layout, gravel_weir, released


def images(layout: Layout, units: int) -> list[bytes]:
    image_of = stamper(layout)
    return [image_of(Unit(f"A{at}", None)) for at in range(units)]


def at_address(layout: Layout, address: int) -> Layout:
    return replace(layout, product=replace(layout.product, chip=replace(layout.product.chip, hex_at=address)))


def read_by_bincopy(blob: bytes, form: Form) -> tuple[int, bytes]:
    file = bincopy.BinFile()
    (file.add_ihex if form is Form.HEX else file.add_srec)(blob.decode("ascii"))
    [segment] = file.segments
    return segment.minimum_address, bytes(segment.data)


@pytest.mark.parametrize("layout", every_layout(), ids=lambda layout: layout.product.name)
@pytest.mark.parametrize("form", Form)
def test_each_next_image_stands_right_behind_the_one_before(layout: Layout, form: Form) -> None:
    wanted = images(layout, 5)
    blob = b"".join(gang_pieces(layout, wanted, 5, form))
    if form is Form.RAW:
        assert blob == b"".join(wanted)
    else:
        assert read_by_bincopy(blob, form) == (layout.product.chip.hex_at, b"".join(wanted))


def test_across_64_kib_edges_by_the_other_library() -> None:
    layout = at_address(released("teasel_pinch").layout, 0xFF80)
    wanted = images(layout, 300)
    file = intelhex.IntelHex()
    file.loadhex(io.StringIO(b"".join(gang_pieces(layout, wanted, 300, Form.HEX)).decode("ascii")))
    assert (file.minaddr(), file.tobinstr()) == (0xFF80, b"".join(wanted))


@pytest.mark.parametrize(
    ("address", "most", "kind"),
    [
        (0, 256, b"S1"), (0, 257, b"S2"), (0xFFFF00, 1, b"S2"), (0xFFFF00, 2, b"S3"),
    ],
)  # fmt: skip
def test_the_most_units_choose_the_width_of_addresses(address: int, most: int, kind: bytes) -> None:
    """The last image is not known when the first is written: a unit may yet fail."""
    layout = at_address(released("teasel_pinch").layout, address)
    assert layout.product.chip.size == 256
    lines = b"".join(gang_pieces(layout, images(layout, 1), most, Form.SREC)).splitlines()
    assert {line[:2] for line in lines[1:-2]} == {kind}


def test_an_image_is_asked_for_only_when_the_one_before_is_written() -> None:
    layout = gravel_weir()
    asked: list[int] = []

    def one_by_one() -> Iterator[bytes]:
        for at, image in enumerate(images(layout, 3)):
            asked.append(at)
            yield image

    pieces = gang_pieces(layout, one_by_one(), 3, Form.HEX)
    seen = [len(asked) for _ in pieces]
    assert seen == [1, 2, 3, 3]  # the last piece is the end of the file


@pytest.mark.parametrize("form", [Form.HEX, Form.SREC])
def test_the_room_is_what_addresses_can_say(form: Form) -> None:
    layout = at_address(released("teasel_pinch").layout, ADDRESS_SPACE - 512)
    assert room(layout, form) == 2
    assert read_by_bincopy(b"".join(gang_pieces(layout, images(layout, 2), 2, form)), form)[0] == 0xFFFFFE00
    with pytest.raises(ValueError, match="32-bit"):
        list(gang_pieces(layout, images(layout, 3), 3, form))
    assert room(layout, Form.RAW) is None
