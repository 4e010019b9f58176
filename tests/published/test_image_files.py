"""Image files against published lines and against other readers and writers.

Published: lines of the Intel HEX article of an encyclopaedia and of the avr-libc manual, whose check bytes
follow from the Intel Hexadecimal Object File Format Specification, revision A, 1988; the sample file of
srec_motorola(5) of SRecord; the S-record samples of the M68000 family manuals.
Second roads: the libraries intelhex and bincopy, and the program srec_cat of SRecord.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import bincopy  # type: ignore[import-untyped]
import pytest
from intelhex import IntelHex

from paramc.image.files import Chunk, Form, to_hex, to_srec
from paramc.image.reading import Loaded, Problem, read_image

# A line, and the address and data that it gives. At first the samples of the encyclopaedia.
HEX_LINES = [
    (":0300300002337A1E", 0x30, "02337A"),
    (":0B0010006164647265737320676170A7", 0x10, b"address gap".hex()),
    (":10010000214601360121470136007EFE09D2190140", 0x100, "214601360121470136007EFE09D21901"),
    (":100110002146017E17C20001FF5F16002148011928", 0x110, "2146017E17C20001FF5F160021480119"),
    (":10012000194E79234623965778239EDA3F01B2CAA7", 0x120, "194E79234623965778239EDA3F01B2CA"),
    (":100130003F0156702B5E712B722B732146013421C7", 0x130, "3F0156702B5E712B722B732146013421"),
    # The demo program of the avr-libc manual.
    (":1000000020E0A0E6B0E001C01D92A336B207E1F700", 0, "20E0A0E6B0E001C01D92A336B207E1F7"),
    (":0800D000F89400C0F894FFCF82", 0xD0, "F89400C0F894FFCF"),
]

# The M68000 family manuals' samples; the "Hello, World" line is of srec_motorola(5).
SREC_LINES = [
    ("S1130000285F245F2212226A000424290008237C2A", 0, "285F245F2212226A000424290008237C"),
    ("S107003000144ED492", 0x30, "00144ED4"),
    ("S1137AF00A0A0D0000000000000000000000000061", 0x7AF0, "0A0A0D00000000000000000000000000"),
    ("S110000048656C6C6F2C20576F726C640A9D", 0, b"Hello, World\n".hex()),
]

TWENTY = bytes(range(1, 21))
"""The bytes 01 to 14: avr-objcopy, intelhex and bincopy write them alike at 16 bytes a line."""


def text(*lines: str) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


def test_published_hex_lines_are_read_and_written() -> None:
    for line, address, digits in HEX_LINES:
        data = bytes.fromhex(digits)
        whole = text(line, ":00000001FF")
        assert read_image(whole) == Loaded(Form.HEX, (Chunk(address, data),), ())
        if len(data) <= 16:
            assert to_hex(address, data) == whole


def test_published_lines_that_follow_one_another_are_one_chunk() -> None:
    lines = [line for line, address, _ in HEX_LINES if 0x100 <= address < 0x140]
    data = bytes.fromhex("".join(digits for _, address, digits in HEX_LINES if 0x100 <= address < 0x140))
    whole = text(*lines, ":00000001FF")
    assert read_image(whole) == Loaded(Form.HEX, (Chunk(0x100, data),), ())
    assert to_hex(0x100, data) == whole


@pytest.mark.parametrize(
    ("line", "base"),
    [
        # Type 04: the upper half. 0081 is where avr-gcc places EEPROM: 0x810000 in its ELF space (avr-libc).
        (":020000040800F2", 0x0800_0000),
        (":02000004FFFFFC", 0xFFFF_0000),
        (":02000004008179", 0x0081_0000),
        # Type 02: a segment base, times 16.
        (":020000021200EA", 0x0001_2000),
    ],
)
def test_published_address_records(line: str, base: int) -> None:
    whole = text(line, ":0300300002337A1E", ":00000001FF")
    data = bytes.fromhex("02337A")
    assert read_image(whole) == Loaded(Form.HEX, (Chunk(base + 0x30, data),), ())
    if line[8] == "4":
        assert to_hex(base + 0x30, data) == whole


@pytest.mark.parametrize("line", [":0400000300003800C1", ":04000005000000CD2A"])
def test_published_start_records_are_passed_over_with_a_note(line: str) -> None:
    answer = read_image(text(":0300300002337A1E", line, ":00000001FF"))
    assert isinstance(answer, Loaded)
    assert answer.chunks == (Chunk(0x30, bytes.fromhex("02337A")),)
    assert [note.line for note in answer.notes] == [2]


def test_twenty_bytes_as_avr_objcopy_intelhex_and_bincopy_write_them() -> None:
    assert to_hex(0, TWENTY) == text(
        ":100000000102030405060708090A0B0C0D0E0F1068", ":0400100011121314A2", ":00000001FF"
    )
    assert to_srec(0, TWENTY, "HDR").splitlines()[1:3] == [
        b"S11300000102030405060708090A0B0C0D0E0F1064",
        b"S1070010111213149E",
    ]


def test_a_64_kib_edge_as_avr_objcopy_intelhex_and_bincopy_write_it() -> None:
    assert to_hex(0xFFF8, bytes(range(16))) == text(
        ":08FFF8000001020304050607E5", ":020000040001F9", ":0800000008090A0B0C0D0E0F9C", ":00000001FF"
    )


def test_published_s_record_lines_are_read_and_written() -> None:
    for line, address, digits in SREC_LINES:
        data = bytes.fromhex(digits)
        assert read_image(text(line, "S9030000FC")) == Loaded(Form.SREC, (Chunk(address, data),), ())
        assert to_srec(address, data, "HDR").splitlines()[1] == line.encode()


def test_the_sample_file_of_the_manual_page_is_our_own_output_byte_for_byte() -> None:
    # srec_motorola(5), EXAMPLE.
    sample = text("S00600004844521B", "S110000048656C6C6F2C20576F726C640A9D", "S5030001FB", "S9030000FC")
    assert to_srec(0, b"Hello, World\n", "HDR") == sample
    assert read_image(sample) == Loaded(Form.SREC, (Chunk(0, b"Hello, World\n"),), ())


def test_published_header_and_count_records() -> None:
    header = "S00F000068656C6C6F202020202000003C"
    one, three = "S5030001FB", "S5030003F9"
    lines = [line for line, _, _ in SREC_LINES[:3]]
    for whole, size in ((text(header, lines[1], one), 4), (text(header, *lines, three, "S9030000FC"), 36)):
        answer = read_image(whole)
        assert isinstance(answer, Loaded), answer
        assert sum(len(chunk.data) for chunk in answer.chunks) == size
    assert read_image(text(header, *lines[:2], three)) == Problem(
        4, "This record counts 3 data records, but the file has 2."
    )


@pytest.mark.parametrize(
    ("address", "end"), [(0, "S9030000FC"), (0x1_0000, "S804000000FB"), (0x100_0000, "S70500000000FA")]
)
def test_published_end_records(address: int, end: str) -> None:
    whole = to_srec(address, b"a", "HDR")
    assert whole.splitlines()[-1] == end.encode()
    assert read_image(whole) == Loaded(Form.SREC, (Chunk(address, b"a"),), ())


# Second roads

PLACES = [
    (0, 1),
    (0, 4096),
    (0x100, 1000),
    (0xFFF8, 16),
    (0xFFFF, 3),
    (0x1_0000, 512),
    (0x81_0000, 1024),
    (0xFF_FFF1, 40),
    (0x1234_5678, 300),
    (0xFFFF_0000, 0x1_0000),
    (0xFFFF_FFFF, 1),
]


def some_bytes(size: int) -> bytes:
    """Every byte value, in an order without a short period."""
    return bytes((place * place + 7 * place + (place >> 8)) & 0xFF for place in range(size))


def as_intelhex(blob: bytes) -> dict[int, int]:
    """What intelhex reads, byte by byte."""
    image = IntelHex(io.StringIO(blob.decode()))
    return {address: image[address] for address in image.addresses()}


def as_bincopy(blob: bytes, form: Form) -> dict[int, int]:
    image = bincopy.BinFile()
    (image.add_ihex if form is Form.HEX else image.add_srec)(blob.decode())
    return {segment.address + at: byte for segment in image.segments for at, byte in enumerate(segment.data)}


def as_ours(blob: bytes) -> dict[int, int]:
    answer = read_image(blob)
    assert isinstance(answer, Loaded), answer
    return {chunk.address + at: byte for chunk in answer.chunks for at, byte in enumerate(chunk.data)}


@pytest.mark.parametrize(("address", "size"), PLACES)
def test_intelhex_and_bincopy_read_what_we_write(address: int, size: int) -> None:
    data = some_bytes(size)
    meant = dict(enumerate(data, address))
    assert as_intelhex(to_hex(address, data)) == meant
    assert as_bincopy(to_hex(address, data), Form.HEX) == meant
    assert as_bincopy(to_srec(address, data, "HDR"), Form.SREC) == meant


@pytest.mark.parametrize(("address", "size"), PLACES)
def test_we_read_what_intelhex_and_bincopy_write(address: int, size: int) -> None:
    data = some_bytes(size)
    meant = (Chunk(address, data),)
    for width in (7, 16, 32, 255):
        image = IntelHex()
        image.frombytes(data, address)
        out = io.StringIO()
        image.write_hex_file(out, byte_count=width)
        assert read_image(out.getvalue().encode()) == Loaded(Form.HEX, meant, ())
        other = bincopy.BinFile()
        other.add_binary(data, address)
        for written in (other.as_ihex(width), other.as_srec(min(width, 250), 32)):
            answer = read_image(written.encode())
            assert isinstance(answer, Loaded), answer
            assert answer.chunks == meant


# bincopy begins a new line at every multiple of 16, we at every 16th byte.
@pytest.mark.parametrize(("address", "size"), [place for place in PLACES if place[0] % 16 == 0])
def test_bincopy_writes_the_same_lines_as_we_do(address: int, size: int) -> None:
    data = some_bytes(size)
    other = bincopy.BinFile()
    other.add_binary(data, address)
    width = 16 if address + size <= 1 << 16 else 24 if address + size <= 1 << 24 else 32
    ours = to_srec(address, data, "HDR").decode().splitlines()
    assert ours[1:-1] == other.as_srec(16, width).splitlines()
    assert to_hex(address, data).decode() == other.as_ihex(16)


@pytest.fixture
def srec_cat() -> str:
    found = shutil.which("srec_cat")
    if found is None:
        pytest.fail("srec_cat is the second road of this test and is not installed: apt-get install srecord")
    return found


@pytest.mark.parametrize(("address", "size"), PLACES)
def test_srec_cat_reads_what_we_write(srec_cat: str, tmp_path: Path, address: int, size: int) -> None:
    data = some_bytes(size)
    files = ((to_hex(address, data), "-intel"), (to_srec(address, data, "HDR"), "-motorola"))
    for blob, form in files:
        (tmp_path / "in").write_bytes(blob)
        command = [srec_cat, "in", form, "-offset", f"-{address:#x}", "-o", "out", "-binary"]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stderr) == (0, "")
        assert (tmp_path / "out").read_bytes() == data


@pytest.mark.parametrize(("address", "size"), PLACES)
def test_we_read_what_srec_cat_writes(srec_cat: str, tmp_path: Path, address: int, size: int) -> None:
    data = some_bytes(size)
    (tmp_path / "in").write_bytes(data)
    for form, option in ((Form.HEX, "-intel"), (Form.SREC, "-motorola")):
        command = [srec_cat, "in", "-binary", "-offset", f"{address:#x}", "-o", "out", option]
        subprocess.run(command, cwd=tmp_path, capture_output=True, check=True)
        answer = read_image((tmp_path / "out").read_bytes())
        assert isinstance(answer, Loaded), answer
        assert (answer.form, answer.chunks) == (form, (Chunk(address, data),))
        # srec_cat crosses 64 KiB edges within a record and changes the S-record type in mid-file.
        for note in answer.notes:
            assert "64 KiB edge" in note.sentence or "types of the data" in note.sentence


# How readers treat odd input: measured with bincopy 20.1, intelhex 2.3, srec_cat 1.64 and avr-objcopy 2.26

DATA = ":100000000102030405060708090A0B0C0D0E0F1068"
MORE = ":0400100011121314A2"
END = ":00000001FF"

ODD_AND_READ = [
    # What all four readers accept, with our notes beside it.
    ("CRLF", f"{DATA}\r\n{MORE}\r\n{END}\r\n", []),
    ("LF", f"{DATA}\n{MORE}\n{END}\n", []),
    ("no last line end", f"{DATA}\n{MORE}\n{END}", []),
    ("lower case", f"{DATA.lower()}\n{MORE}\n{END.lower()}\n", ["lower case"]),
    ("blank line", f"{DATA}\n\n{MORE}\n\n{END}\n\n", []),
    ("end record with an address", f"{DATA}\n{MORE}\n:00123401B9\n", ["start address"]),
    ("upper address 0000 written out", f":020000040000FA\n{DATA}\n{MORE}\n{END}\n", []),
    ("start address", f"{DATA}\n{MORE}\n:04000005000000CD2A\n{END}\n", ["start address"]),
    # srec_cat accepts these two with a warning.
    ("no end record", f"{DATA}\n{MORE}\n", ["no end record"]),
    ("records out of order", f"{MORE}\n{DATA}\n{END}\n", []),
]

ODD_AND_REFUSED = [
    # bincopy, intelhex and avr-objcopy refuse these too; srec_cat skips a line of text with a warning.
    ("wrong checksum", f"{DATA[:-1]}9\n{END}\n", 1, "checksum"),
    ("type 06", f"{DATA}\n:00000006FA\n{END}\n", 2, "unknown"),
    ("line of text", f"{DATA}\n# EEPROM\n{END}\n", 2, "starts with"),
    ("line of text at the top", f"# EEPROM\n{DATA}\n{END}\n", 1, "starts with"),
    # bincopy loads it; intelhex, srec_cat and avr-objcopy drop it.
    ("data after the end", f"{DATA}\n{END}\n{MORE}\n", 3, "after the end record in line 2"),
    # bincopy and intelhex refuse it; srec_cat warns; avr-objcopy accepts it.
    ("same bytes twice", f"{DATA}\n{DATA}\n{END}\n", 2, "once more, after line 1"),
    # avr-objcopy accepts it; the three others refuse it.
    ("other bytes twice", f"{DATA}\n:010003000AF2\n{END}\n", 2, "gives 0x0A at address 0x0003"),
    # srec_cat and avr-objcopy refuse it; bincopy and intelhex read it as nothing.
    ("only an end record", f"{END}\n", None, "No record of the file has data"),
]


@pytest.mark.parametrize(("case", "blob", "notes"), ODD_AND_READ)
def test_odd_input_that_we_read_like_the_others(case: str, blob: str, notes: list[str]) -> None:
    answer = read_image(blob.encode())
    assert isinstance(answer, Loaded), answer
    assert answer.chunks == (Chunk(0, TWENTY),)
    assert len(answer.notes) == len(notes)
    assert all(word in note.sentence for word, note in zip(notes, answer.notes, strict=True))
    assert as_ours(blob.encode()) == as_intelhex(blob.encode()) == as_bincopy(blob.encode(), Form.HEX)


@pytest.mark.parametrize(("case", "blob", "line", "words"), ODD_AND_REFUSED)
def test_odd_input_that_we_refuse(case: str, blob: str, line: int | None, words: str) -> None:
    answer = read_image(blob.encode())
    assert isinstance(answer, Problem), answer
    assert answer.line == line
    assert words in answer.sentence


def test_why_data_after_the_end_is_refused() -> None:
    blob = f"{DATA}\n{END}\n{MORE}\n".encode()
    assert len(as_bincopy(blob, Form.HEX)) == 20
    assert len(as_intelhex(blob)) == 16


def test_why_a_record_across_the_end_of_a_segment_is_refused(srec_cat: str, tmp_path: Path) -> None:
    # The specification wraps offsets modulo 64 KiB in segmented mode. srec_cat does so, the libraries do not.
    blob = text(":020000020000FC", ":02FFFF0041427D", END)
    assert sorted(as_intelhex(blob)) == sorted(as_bincopy(blob, Form.HEX)) == [0xFFFF, 0x1_0000]
    (tmp_path / "in").write_bytes(blob)
    command = [srec_cat, "in", "-intel", "-o", "out", "-binary"]
    subprocess.run(command, cwd=tmp_path, capture_output=True, check=True)
    assert (tmp_path / "out").read_bytes()[0] == 0x42
    assert read_image(blob) == Problem(2, "This record runs past the end of its 64 KiB segment.")
