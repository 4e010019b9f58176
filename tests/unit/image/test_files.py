"""The image files, form by form: what is written, what is read, and the sentence for each fault."""

from __future__ import annotations

import pytest

from paramc.image.files import Chunk, Form, to_hex, to_srec
from paramc.image.reading import MOST_BYTES, Flat, Loaded, Note, Problem, flatten, read_image

CASES = [
    b"\x00",
    b"\xff",
    bytes(range(15)),
    bytes(range(16)),
    bytes(range(17)),
    bytes(range(256)) * 5 + b"end",
]
ADDRESSES = [0, 0x10, 0xFFF8, 0xFFFF, 0x1_0000, 0x81_0000, 0xFF_FFF0, 0x100_0000, 0xFFFF_0000]


def hex_line(body: str) -> bytes:
    """A line of Intel HEX with its check: the sum of all bytes is 0 modulo 256."""
    return f":{body}{-sum(bytes.fromhex(body)) % 256:02X}\n".encode()


def srec_line(kind: int, body: str) -> bytes:
    """An S-record with its length and check: the sum of all bytes is 255 modulo 256."""
    counted = f"{len(body) // 2 + 1:02X}{body}"
    return f"S{kind}{counted}{(255 - sum(bytes.fromhex(counted))) % 256:02X}\n".encode()


HEX_END = b":00000001FF\n"
A_BYTE = hex_line("0100100041")
SREC_BYTE = srec_line(1, "001041")


def loaded(blob: bytes) -> Loaded:
    answer = read_image(blob)
    assert isinstance(answer, Loaded), answer
    return answer


# Writing


@pytest.mark.parametrize("address", ADDRESSES)
@pytest.mark.parametrize("data", CASES, ids=len)
def test_what_is_written_is_read_back_without_a_note(address: int, data: bytes) -> None:
    assert read_image(to_hex(address, data)) == Loaded(Form.HEX, (Chunk(address, data),), ())
    assert read_image(to_srec(address, data, "HDR")) == Loaded(Form.SREC, (Chunk(address, data),), ())


@pytest.mark.parametrize("address", [0, 0xFFF8, 0xFFF0, 0x1_FFFF, 0x81_0000])
def test_records_hold_sixteen_bytes_and_never_cross_a_64_kib_edge(address: int) -> None:
    for line in to_hex(address, bytes(70_000)).splitlines():
        octets = bytes.fromhex(line[1:].decode())
        if octets[3] == 0:
            assert 1 <= octets[0] <= 16
            assert int.from_bytes(octets[1:3], "big") + octets[0] <= 0x1_0000


def test_upper_address_records_stand_only_where_the_upper_address_changes() -> None:
    def upper(address: int, size: int) -> list[bytes]:
        return [line for line in to_hex(address, bytes(size)).splitlines() if line[7:9] == b"04"]

    assert upper(0, 0x1_0000) == []
    assert upper(0xFFFF, 1) == []
    assert upper(0xFFFF, 2) == [b":020000040001F9"]
    assert upper(0x81_0000, 0x1_0001) == [b":02000004008179", b":02000004008278"]
    assert upper(0xFFFF_0000, 0x1_0000) == [b":02000004FFFFFC"]


@pytest.mark.parametrize(
    ("address", "size", "data_type", "end"),
    [
        (0, 1, b"S1", b"S9030000FC"),
        (0xFFFF, 1, b"S1", b"S9030000FC"),
        (0xFFFF, 2, b"S2", b"S804000000FB"),
        (0xFF_FFFF, 1, b"S2", b"S804000000FB"),
        (0xFF_FFFF, 2, b"S3", b"S70500000000FA"),
        (0xFFFF_FFFF, 1, b"S3", b"S70500000000FA"),
    ],
)
def test_the_highest_address_chooses_one_type_for_the_whole_s_record_file(
    address: int, size: int, data_type: bytes, end: bytes
) -> None:
    lines = to_srec(address, bytes(size), "").splitlines()
    assert lines[0] == b"S0030000FC"
    assert {line[:2] for line in lines[1:-2]} == {data_type}
    assert lines[-1] == end


def test_the_count_is_s5_up_to_65535_records_and_s6_from_then_on() -> None:
    assert to_srec(0, bytes(16 * 65535), "").splitlines()[-2] == b"S503FFFFFE"
    assert to_srec(0, bytes(16 * 65536), "").splitlines()[-2] == b"S604010000FA"


def test_text_is_upper_case_ascii_with_lf_and_a_last_line_end() -> None:
    for text in (to_hex(0xABCD, bytes(range(256))), to_srec(0xABCD, bytes(range(256)), "name rev 3")):
        assert text == text.upper()
        assert text.endswith(b"\n")
        assert b"\r" not in text and b"\n\n" not in text


@pytest.mark.parametrize(
    ("address", "data"), [(0, b""), (-1, b"a"), (0xFFFF_FFFF, b"ab"), (1 << 32, b"a")], ids=repr
)
def test_an_image_outside_the_address_space_is_a_fault_of_the_caller(address: int, data: bytes) -> None:
    with pytest.raises(ValueError, match="32-bit"):
        to_hex(address, data)
    with pytest.raises(ValueError, match="32-bit"):
        to_srec(address, data, "")


def test_the_header_is_bounded_printable_ascii() -> None:
    whole = to_srec(0, b"a", "x" * 252).splitlines()[0]
    assert whole.startswith(b"S0FF0000")
    assert isinstance(read_image(to_srec(0, b"a", "x" * 252)), Loaded)
    for header in ("x" * 253, "line\nbreak", "\x1b[31m", "Größe"):
        with pytest.raises(ValueError, match="header"):
            to_srec(0, b"a", header)


# Telling the forms apart


@pytest.mark.parametrize(
    "blob",
    [
        b"\x00",
        b"\xff" * 512,
        b":\x00\x01\x02",
        b"S1\x00\xff\x80\n\n",
        b":10\xff\xfe" + bytes(range(128, 200)),
        b"\xff\xfe:\x00" + bytes(range(128, 200)),
        b"\n\r\n \x00",
        b"\xff" * 40 + b"\n:00000001FF\n" + b"\xff" * 40,
    ],
    ids=repr,
)
def test_raw_binary_may_begin_like_text(blob: bytes) -> None:
    assert read_image(blob) == Loaded(Form.RAW, (Chunk(0, blob),), ())


@pytest.mark.parametrize("blob", [b"serial,hardware\nTP-1,B\n", b"{}", b"S", b"Some text\n"], ids=repr)
def test_plain_text_without_a_record_is_raw_binary_with_a_note(blob: bytes) -> None:
    note = Note(None, "The file is nearly all plain text without a record; it is read as raw binary.")
    assert read_image(blob) == Loaded(Form.RAW, (Chunk(0, blob),), (note,))


@pytest.mark.parametrize(
    ("blob", "problem"),
    [
        (b"", Problem(None, "The file is empty.")),
        (b" \t\r\n\n", Problem(None, "The file holds nothing but blank space.")),
        (
            b":hello\n",
            Problem(1, 'Character 2 of this record is "h", not a hexadecimal digit.'),
        ),
        (
            b"; read on Monday\n" + A_BYTE + HEX_END,
            Problem(1, 'This line starts with ";", but a line of the form Intel HEX starts with a colon.'),
        ),
        (
            b"unit 7\n" + SREC_BYTE,
            Problem(1, 'This line starts with "u", but a line of the form S-record starts with a capital S.'),
        ),
        (
            b":01001000\x9e1AE\n" + A_BYTE + HEX_END,
            Problem(1, "Character 10 of this record is the byte 0x9E, not a hexadecimal digit."),
        ),
    ],
    ids=repr,
)
def test_text_that_means_to_be_records_is_never_taken_for_raw_binary(blob: bytes, problem: Problem) -> None:
    assert read_image(blob) == problem


def test_the_size_of_a_file_is_bounded() -> None:
    assert isinstance(read_image(bytes(MOST_BYTES)), Loaded)
    assert read_image(bytes(MOST_BYTES + 1)) == Problem(
        None, "The file is larger than 2 MiB, the most for an image file."
    )


def test_the_bound_holds_64_kib_at_one_byte_a_record_in_the_longest_form() -> None:
    lines = [srec_line(3, f"{address:08X}FF").replace(b"\n", b"\r\n") for address in range(0x1_0000)]
    assert loaded(b"".join(lines)).chunks == (Chunk(0, b"\xff" * 0x1_0000),)


@pytest.mark.parametrize(
    ("codec", "mark"), [("utf-8", b"\xef\xbb\xbf"), ("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff")]
)
def test_a_byte_order_mark_is_noted(codec: str, mark: bytes) -> None:
    note = Note(1, f"The file begins with a byte order mark; it is read as {codec.upper()} text.")
    text = (A_BYTE + HEX_END).decode()
    answer = read_image(mark + text.encode(codec))
    assert answer == Loaded(Form.HEX, (Chunk(0x10, b"A"),), (note,))
    broken = read_image(mark + text.replace(":01", ":0é").encode(codec))
    assert broken == Problem(1, "Character 3 of this record is the byte 0xE9, not a hexadecimal digit.")


# Reading: what is refused

HEX_FAULTS = [
    (b":010010004\n", 1, "This record has an odd number of digits: one is missing, or one too many."),
    (b":01001000 41AE\n", 1, "Character 10 of this record is the byte 0x20, not a hexadecimal digit."),
    (b":0100100041AG\n", 1, 'Character 13 of this record is "G", not a hexadecimal digit.'),
    (b':01"\n', 1, "Character 4 of this record is the byte 0x22, not a hexadecimal digit."),
    (b":\n", 1, "This record has 0 bytes, but the shortest of its type has 5."),
    (b":01001000\n", 1, "This record has 4 bytes, but the shortest of its type has 5."),
    (b":0200100041AE\n", 1, "The length byte of this record asks for 2 data bytes, but the record has 1."),
    (b":0100100041AF\n", 1, "The checksum of this record is AF, but its bytes give AE."),
    (hex_line("00000006"), 1, "The record type 06 is unknown; Intel HEX has the types 00 to 05."),
    (hex_line("0100000141"), 1, "A record of type 01 has 0 data bytes, but this one has 1."),
    (hex_line("0100000441"), 1, "A record of type 04 has 2 data bytes, but this one has 1."),
    (hex_line("00000002"), 1, "A record of type 02 has 2 data bytes, but this one has 0."),
    (hex_line("020000050000"), 1, "A record of type 05 has 4 data bytes, but this one has 2."),
    (hex_line("021234040001"), 1, "A record of type 04 has the offset 0000, but this one has 1234."),
    (A_BYTE + SREC_BYTE, 2, "This line has the form S-record, but the file has the form Intel HEX."),
    (
        A_BYTE + b"// end\n",
        2,
        'This line starts with "/", but a line of the form Intel HEX starts with a colon.',
    ),
    (
        A_BYTE + b"\x1a\n",
        2,
        "This line starts with the byte 0x1A, but a line of the form Intel HEX starts with a colon.",
    ),
    (A_BYTE + HEX_END + A_BYTE, 3, "This line stands after the end record in line 2; nothing may follow it."),
    (
        A_BYTE + HEX_END + b"\n" + HEX_END,
        4,
        "This line stands after the end record in line 2; nothing may follow it.",
    ),
    (
        hex_line("020000021000") + hex_line("020000040001"),
        2,
        "This record of type 04 follows one of type 02; a file has segments or linear addresses, not both.",
    ),
    (
        hex_line("020000021000") + hex_line("02FFFF004142"),
        2,
        "This record runs past the end of its 64 KiB segment.",
    ),
    (
        hex_line("02000004FFFF") + hex_line("02FFFF004142"),
        2,
        "This record runs past 0xFFFFFFFF, the highest address.",
    ),
    (
        A_BYTE + A_BYTE + HEX_END,
        2,
        "This record gives the byte at address 0x0010 once more, after line 1; a byte is given once.",
    ),
    (
        A_BYTE + hex_line("03000F00404142"),
        2,
        "This record gives the byte at address 0x0010 once more, after line 1; a byte is given once.",
    ),
    (
        hex_line("03000F00404142") + hex_line("0200100041FF"),
        2,
        "This record gives 0xFF at address 0x0011, but line 1 gives 0x42 there.",
    ),
    (
        hex_line("0200100041FF") + hex_line("03000F00404142") + HEX_END,
        2,
        "This record gives 0x42 at address 0x0011, but line 1 gives 0xFF there.",
    ),
    (HEX_END, None, "No record of the file has data."),
    (hex_line("00000000") + HEX_END, None, "No record of the file has data."),
]

SREC_FAULTS = [
    (b"S1\n", 1, "This record has 0 bytes, but the shortest of its type has 4."),
    (b"S10300FC\n", 1, "This record has 3 bytes, but the shortest of its type has 4."),
    (b"S105001041A9\n", 1, "The length byte of this record asks for 5 bytes, but the record has 4."),
    (b"S104001041AB\n", 1, "The checksum of this record is AB, but its bytes give AA."),
    (b"S10400104\n", 1, "This record has an odd number of digits: one is missing, or one too many."),
    (b"S10400?041AA\n", 1, 'Character 7 of this record is "?", not a hexadecimal digit.'),
    (
        b"S4030000FC\n",
        1,
        'The record type behind the S is "4"; S-records have the types 0 to 3 and 5 to 9.',
    ),
    (
        SREC_BYTE + b"S\n",
        2,
        "The record type behind the S is missing; S-records have the types 0 to 3 and 5 to 9.",
    ),
    (
        SREC_BYTE + b"s9030000FC\n",
        2,
        'This line starts with "s", but a line of the form S-record starts with a capital S.',
    ),
    (SREC_BYTE + HEX_END, 2, "This line has the form Intel HEX, but the file has the form S-record."),
    (SREC_BYTE + srec_line(9, "000000"), 2, "A record of type S9 has no data, but this one has 1 byte."),
    (SREC_BYTE + srec_line(5, "00010203"), 2, "A record of type S5 has no data, but this one has 2 bytes."),
    (SREC_BYTE + srec_line(5, "0002"), 2, "This record counts 2 data records, but the file has 1."),
    (
        srec_line(6, "000001") + srec_line(9, "0000"),
        1,
        "This record counts 1 data record, but the file has 0.",
    ),
    (
        srec_line(0, "0000484452") + srec_line(0, "0000484452") + SREC_BYTE,
        2,
        "This is a header record, S0, but not the first record of the file.",
    ),
    (
        SREC_BYTE + b"S9030000FC\n" + SREC_BYTE,
        3,
        "This line stands after the end record in line 2; nothing may follow it.",
    ),
    (srec_line(3, "FFFFFFFF0102"), 1, "This record runs past 0xFFFFFFFF, the highest address."),
    (
        SREC_BYTE + srec_line(2, "00001042"),
        2,
        "This record gives 0x42 at address 0x0010, but line 1 gives 0x41 there.",
    ),
    (
        SREC_BYTE + SREC_BYTE,
        2,
        "This record gives the byte at address 0x0010 once more, after line 1; a byte is given once.",
    ),
    (b"S9030000FC\n", None, "No record of the file has data."),
    (srec_line(0, "0000484452"), None, "No record of the file has data."),
]


@pytest.mark.parametrize(("blob", "line", "sentence"), HEX_FAULTS + SREC_FAULTS)
def test_a_fault_has_its_line_and_its_sentence(blob: bytes, line: int | None, sentence: str) -> None:
    assert read_image(blob) == Problem(line, sentence)


@pytest.mark.parametrize(("blob", "line", "sentence"), HEX_FAULTS + SREC_FAULTS)
def test_every_sentence_is_whole_printable_and_short(blob: bytes, line: int | None, sentence: str) -> None:
    answer = read_image(blob)
    assert isinstance(answer, Problem)
    assert answer.sentence.endswith(".") and answer.sentence[0].isupper()
    assert answer.sentence.isascii() and answer.sentence.isprintable() and len(answer.sentence) < 120


# Reading: what is accepted, and what is said about it

CUT = "The file has no end record, so it may have been cut short."
LOWER = "The file has digits in lower case; they are read like upper case."
START = "The start address of a program in this record is not used."
ACROSS = (
    "This record runs across a 64 KiB edge, where some readers turn back by 64 KiB; "
    "it is read on at the next address."
)
TYPES = (
    "The types of the data and end records do not all match one another; "
    "some tools write so, but a damaged type digit would look the same."
)


@pytest.mark.parametrize(
    ("blob", "chunks", "notes"),
    [
        (A_BYTE + HEX_END, [(0x10, b"A")], []),
        (b"\r\n  " + A_BYTE.replace(b"\n", b"\t\r\n\r\n") + HEX_END.strip(), [(0x10, b"A")], []),
        (A_BYTE.replace(b"\n", b"\r") + HEX_END.replace(b"\n", b"\r"), [(0x10, b"A")], []),
        (A_BYTE, [(0x10, b"A")], [Note(None, CUT)]),
        (A_BYTE + hex_line("01001100ab").lower() + HEX_END, [(0x10, b"A\xab")], [Note(2, LOWER)]),
        (A_BYTE + hex_line("00123401"), [(0x10, b"A")], [Note(2, START)]),
        (hex_line("0400000300003800") + A_BYTE + HEX_END, [(0x10, b"A")], [Note(1, START)]),
        (hex_line("04000005000000CD") + A_BYTE + HEX_END, [(0x10, b"A")], [Note(1, START)]),
        (hex_line("0400000500000000") + A_BYTE + HEX_END, [(0x10, b"A")], []),
        (hex_line("020000021200") + A_BYTE + HEX_END, [(0x1_2010, b"A")], []),
        (hex_line("02000002FFFF") + hex_line("01FFFF0041") + HEX_END, [(0x10_FFEF, b"A")], []),
        (
            hex_line("020000040081") + A_BYTE + hex_line("020000040000") + A_BYTE + HEX_END,
            [(0x10, b"A"), (0x81_0010, b"A")],
            [Note(None, "The data has 1 gap, 8454143 bytes in all; the first is 0x0011 to 0x81000F.")],
        ),
        (hex_line("02FFFF004142") + HEX_END, [(0xFFFF, b"AB")], [Note(1, ACROSS)]),
        (
            hex_line("020000040001") + hex_line("02FFFF004142") + HEX_END,
            [(0x1_FFFF, b"AB")],
            [Note(2, ACROSS)],
        ),
        (hex_line("0100110042") + A_BYTE + HEX_END, [(0x10, b"AB")], []),
        (
            hex_line("0100120042") + A_BYTE + hex_line("0100200043") + HEX_END,
            [(0x10, b"A"), (0x12, b"B"), (0x20, b"C")],
            [Note(None, "The data has 2 gaps, 14 bytes in all; the first is 0x0011 to 0x0011.")],
        ),
        (hex_line("00001000") + A_BYTE + HEX_END, [(0x10, b"A")], []),
        (SREC_BYTE + b"S9030000FC\n", [(0x10, b"A")], []),
        (SREC_BYTE, [(0x10, b"A")], [Note(None, CUT)]),
        (SREC_BYTE + srec_line(5, "0001"), [(0x10, b"A")], []),
        (SREC_BYTE + srec_line(6, "000001"), [(0x10, b"A")], []),
        (srec_line(5, "0001") + SREC_BYTE + srec_line(9, "0000"), [(0x10, b"A")], []),
        (SREC_BYTE + srec_line(9, "1234"), [(0x10, b"A")], [Note(2, START)]),
        (SREC_BYTE + srec_line(8, "000000"), [(0x10, b"A")], [Note(None, TYPES)]),
        (SREC_BYTE + srec_line(2, "00001142") + srec_line(9, "0000"), [(0x10, b"AB")], [Note(None, TYPES)]),
        (srec_line(2, "12345641") + srec_line(8, "000000"), [(0x12_3456, b"A")], []),
        (srec_line(3, "1234567841") + srec_line(7, "00000000"), [(0x1234_5678, b"A")], []),
        (srec_line(1, "FFFF4142") + srec_line(9, "0000"), [(0xFFFF, b"AB")], [Note(1, ACROSS)]),
        (srec_line(2, "FFFFFF4142") + srec_line(8, "000000"), [(0xFF_FFFF, b"AB")], [Note(1, ACROSS)]),
        (
            srec_line(0, "1234") + SREC_BYTE + srec_line(9, "0000"),
            [(0x10, b"A")],
            [Note(1, "The header record has the address 1234, not 0000.")],
        ),
        (srec_line(1, "0010ab") + srec_line(9, "0000"), [(0x10, b"\xab")], [Note(1, LOWER)]),
    ],
    ids=repr,
)
def test_what_is_accepted_and_noted(blob: bytes, chunks: list[tuple[int, bytes]], notes: list[Note]) -> None:
    answer = loaded(blob)
    assert answer.chunks == tuple(Chunk(address, data) for address, data in chunks)
    assert answer.notes == tuple(notes)


def test_only_raw_binary_begins_at_address_0_whatever_the_product_says() -> None:
    assert loaded(b"\x00\x01").origin(0x81_0000) == 0
    assert loaded(to_hex(0x81_0000, b"a")).origin(0x81_0000) == 0x81_0000
    assert loaded(to_srec(0x81_0000, b"a", "")).origin(0x81_0000) == 0x81_0000


# A memory from chunks


@pytest.mark.parametrize(
    ("chunks", "flat"),
    [
        ([], Flat(b"\xff" * 8, (range(0, 8),), ())),
        ([(100, b"abcdefgh")], Flat(b"abcdefgh", (), ())),
        ([(102, b"cd")], Flat(b"\xff\xffcd\xff\xff\xff\xff", (range(0, 2), range(4, 8)), ())),
        ([(100, b"ab"), (106, b"gh")], Flat(b"ab\xff\xff\xff\xffgh", (range(2, 6),), ())),
        (
            [(97, b"xyzabcdefghXYZ")],
            Flat(b"abcdefgh", (), (Chunk(97, b"xyz"), Chunk(108, b"XYZ"))),
        ),
        (
            [(0, b"low"), (99, b"za"), (107, b"hX"), (0x81_0000, b"high")],
            Flat(
                b"a\xff\xff\xff\xff\xff\xffh",
                (range(1, 7),),
                (Chunk(0, b"low"), Chunk(99, b"z"), Chunk(108, b"X"), Chunk(0x81_0000, b"high")),
            ),
        ),
        ([(92, b"01234567")], Flat(b"\xff" * 8, (range(0, 8),), (Chunk(92, b"01234567"),))),
        ([(108, b"01234567")], Flat(b"\xff" * 8, (range(0, 8),), (Chunk(108, b"01234567"),))),
    ],
)
def test_a_memory_has_its_bytes_its_gaps_and_what_lies_outside(
    chunks: list[tuple[int, bytes]], flat: Flat
) -> None:
    assert flatten([Chunk(address, data) for address, data in chunks], 100, 8, 0xFF) == flat


def test_the_blank_byte_is_the_products() -> None:
    assert flatten([Chunk(1, b"a")], 0, 3, 0x00).data == b"\x00a\x00"
