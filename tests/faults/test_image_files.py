"""Hostile and damaged image files: no exception, no other data in silence, no work without bound."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.image.files import ADDRESS_SPACE, Chunk, Form, to_hex, to_srec
from paramc.image.reading import MOST_BYTES, Loaded, Problem, flatten, read_image

IMAGE = Chunk(0xFFF0, bytes.fromhex("002A1EFF0A0D3A5331C0FFEE0180FE7F1234567890ABCDEF"))
"""A full record and a part of one, on both sides of a 64 KiB edge; some values look like text."""

FILES = {
    "hex": to_hex(IMAGE.address, IMAGE.data),
    "hex with CRLF": to_hex(IMAGE.address, IMAGE.data).replace(b"\n", b"\r\n"),
    "S1": to_srec(0x10, IMAGE.data, "HDR"),
    "S2": to_srec(IMAGE.address, IMAGE.data, "HDR"),
    "S3": to_srec(0x81_0000 << 8, IMAGE.data, "HDR"),
}


unhurried = settings(deadline=None)
"""A busy machine is no failure."""


def check_well_formed(blob: bytes) -> Loaded | Problem:
    """Reads the file and checks everything that holds for every answer."""
    answer = read_image(blob)
    sayings = [answer] if isinstance(answer, Problem) else answer.notes
    for saying in sayings:
        assert saying.line is None or 1 <= saying.line <= len(blob)
        assert saying.sentence.endswith(".") and saying.sentence.isascii() and saying.sentence.isprintable()
    if isinstance(answer, Loaded):
        end = -1
        for chunk in answer.chunks:
            assert chunk.data and chunk.address > end and chunk.end <= ADDRESS_SPACE
            end = chunk.end
        assert answer.chunks
        if answer.form is Form.RAW:
            assert answer.chunks == (Chunk(0, blob),)
    return answer


def one_change(blob: bytes) -> Iterator[bytes]:
    """Every file that differs in one byte: another one, one more, one less, or all behind it cut off."""
    for at in range(len(blob) + 1):
        before, behind = blob[:at], blob[at:]
        yield before
        yield before + behind[1:]
        for value in range(256):
            byte = bytes((value,))
            yield before + byte + behind
            yield before + byte + behind[1:]


@pytest.mark.slow
@pytest.mark.parametrize("name", FILES)
def test_one_changed_byte_never_gives_other_data_in_silence(name: str) -> None:
    blob = FILES[name]
    sound = read_image(blob)
    assert isinstance(sound, Loaded) and not sound.notes
    for damaged in one_change(blob):
        answer = check_well_formed(damaged)
        assert isinstance(answer, Problem) or answer.chunks == sound.chunks or answer.notes, damaged


@pytest.mark.parametrize("name", FILES)
def test_a_lost_line_leaves_a_problem_a_note_or_a_gap(name: str) -> None:
    blob = FILES[name]
    sound = read_image(blob)
    assert isinstance(sound, Loaded)
    lines = blob.splitlines(keepends=True)
    for lost in range(len(lines)):
        answer = read_image(b"".join(lines[:lost] + lines[lost + 1 :]))
        if isinstance(answer, Loaded) and not answer.notes and answer.chunks != sound.chunks:
            start, size = sound.chunks[0].address, len(sound.chunks[0].data)
            assert flatten(answer.chunks, start, size, 0xFF).gaps


@unhurried
@given(st.binary(max_size=400))
def test_random_bytes(blob: bytes) -> None:
    check_well_formed(blob)


@unhurried
@given(st.text(alphabet=":S0123456789ABCDEFabcdef \t\r\n", max_size=200))
def test_random_text_of_the_right_characters(text: str) -> None:
    check_well_formed(text.encode())


@unhurried
@given(
    st.sampled_from(sorted(FILES)),
    st.lists(
        st.tuples(st.integers(0, 200), st.integers(0, 2), st.binary(min_size=1, max_size=3)), max_size=8
    ),
)
def test_many_changes(name: str, changes: list[tuple[int, int, bytes]]) -> None:
    blob = FILES[name]
    for at, removed, added in changes:
        blob = blob[:at] + added + blob[at + removed :]
    check_well_formed(blob)


def record(form: Form, address: int, data: bytes) -> str:
    """A data record built anew from the specifications; S3 in an S-record file."""
    if form is Form.HEX:
        body = bytes((len(data),)) + (address & 0xFFFF).to_bytes(2, "big") + b"\0" + data
        upper = b"\2\0\0\4" + (address >> 16).to_bytes(2, "big")
        return "".join(f":{part.hex()}{-sum(part) % 256:02x}\n" for part in (upper, body))
    body = bytes((len(data) + 5,)) + address.to_bytes(4, "big") + data
    return f"S3{body.hex()}{255 - sum(body) % 256:02x}\n"


@unhurried
@given(st.data())
def test_any_order_width_case_and_line_end_give_the_same_chunks(data: st.DataObject) -> None:
    form = data.draw(st.sampled_from([Form.HEX, Form.SREC]))
    memory = data.draw(st.binary(min_size=1, max_size=300))
    start = data.draw(st.integers(0, ADDRESS_SPACE - len(memory)))
    cuts = data.draw(st.sets(st.integers(0, len(memory)), max_size=12))
    edges = {edge for edge in range(0, len(memory)) if (start + edge) % 0x1_0000 == 0}
    widest = set(range(0, len(memory), 200))
    places = sorted(cuts | edges | widest | {0, len(memory)})
    pieces = [(start + low, memory[low:high]) for low, high in pairwise(places)]
    order = data.draw(st.permutations(pieces))
    text = "".join(record(form, address, piece) for address, piece in order)
    text = text.replace("\n", data.draw(st.sampled_from(["\n", "\r\n", "\r", "\n\n"])))
    text = text.upper() if data.draw(st.booleans()) else text
    answer = check_well_formed(text.encode())
    assert isinstance(answer, Loaded), answer
    assert answer.chunks == (Chunk(start, memory),)


@unhurried
@given(st.integers(0, ADDRESS_SPACE - 1), st.binary(min_size=1, max_size=200))
def test_written_and_read_back(address: int, data: bytes) -> None:
    address = min(address, ADDRESS_SPACE - len(data))
    for form, blob in ((Form.HEX, to_hex(address, data)), (Form.SREC, to_srec(address, data, "HDR"))):
        assert read_image(blob) == Loaded(form, (Chunk(address, data),), ())


@unhurried
@given(
    st.lists(st.tuples(st.integers(0, 40), st.binary(min_size=1, max_size=6)), max_size=6),
    st.integers(0, 40),
    st.integers(0, 40),
)
def test_a_memory_agrees_with_one_byte_at_a_time(
    pieces: list[tuple[int, bytes]], start: int, size: int
) -> None:
    chunks: list[Chunk] = []
    for address, data in sorted(pieces):
        if not chunks or address > chunks[-1].end:
            chunks.append(Chunk(address, data))
    given_bytes = {chunk.address + at: byte for chunk in chunks for at, byte in enumerate(chunk.data)}
    flat = flatten(chunks, start, size, 0xEE)
    assert list(flat.data) == [given_bytes.get(start + at, 0xEE) for at in range(size)]
    gaps = [at for gap in flat.gaps for at in gap]
    assert gaps == [at for at in range(size) if start + at not in given_bytes]
    outside = {chunk.address + at: byte for chunk in flat.outside for at, byte in enumerate(chunk.data)}
    assert outside == {
        address: byte for address, byte in given_bytes.items() if not start <= address < start + size
    }


@pytest.mark.slow
@pytest.mark.parametrize(
    "blob",
    [
        b":" * MOST_BYTES,
        b":\n" * (MOST_BYTES // 2),
        b"x\n" + b":\n" * (MOST_BYTES // 2 - 1),
        b"S\n" * (MOST_BYTES // 2),
        b":" + b"0" * (MOST_BYTES - 1),
        b"S1" + b"F" * (MOST_BYTES - 2),
        b"\n" * (MOST_BYTES - 1) + b":",
        b"\xff\xfe" + b":\0" * (MOST_BYTES // 2 - 1),
        b"\xef\xbb\xbf" + b"\xff" * (MOST_BYTES - 3),
    ],
    ids=lambda blob: repr(blob[:8]),
)
def test_the_largest_files_of_the_worst_kinds(blob: bytes) -> None:
    assert len(blob) <= MOST_BYTES
    check_well_formed(blob)


def test_bytes_4_gib_apart_are_two_chunks_and_no_memory_between() -> None:
    blob = b":0100000041BE\n:02000004FFFFFC\n:01FFFF0042BF\n:00000001FF\n"
    answer = check_well_formed(blob)
    assert isinstance(answer, Loaded)
    assert answer.chunks == (Chunk(0, b"A"), Chunk(0xFFFF_FFFF, b"B"))


def test_many_records_that_each_give_one_byte_twice_stop_at_the_first() -> None:
    line = b":0100000041BE\n"
    assert read_image(line * 100_000) == Problem(
        2, "This record gives the byte at address 0x0000 once more, after line 1; a byte is given once."
    )
