"""Checksums against published values, two CRC libraries and the standard library.

crc-vectors.json holds the parameters and check values of the public CRC catalogue and the CRCs of seven
messages. The messages are those of the AUTOSAR specification of CRC routines; the sums, for algorithms
that it does not list too, were reproduced by crccheck and anycrc.
"""

from __future__ import annotations

import binascii
import json
import random
import re
import zlib
from pathlib import Path

import anycrc
import crccheck.crc
import pytest

from paramc.numbers import crc
from paramc.numbers.crc import CATALOGUE, Algorithm

VECTORS = json.loads(Path(__file__).with_name("crc-vectors.json").read_text(encoding="utf-8"))
NAMES = tuple(VECTORS["algorithms"])
MESSAGES = tuple(bytes.fromhex(text) for text in VECTORS["messages_hex"])

# Residues of the public CRC catalogue, in its sense: the register after message and checksum, before the
# final value.
RESIDUES = {
    "CRC-8/SMBUS": 0x00, "CRC-8/MAXIM-DOW": 0x00, "CRC-8/NRSC-5": 0x00, "CRC-8/AUTOSAR": 0x42,
    "CRC-8/SAE-J1850": 0xC4, "CRC-8/BLUETOOTH": 0x00,
    "CRC-16/ARC": 0x0000, "CRC-16/MODBUS": 0x0000, "CRC-16/USB": 0xB001, "CRC-16/UMTS": 0x0000,
    "CRC-16/IBM-3740": 0x0000, "CRC-16/XMODEM": 0x0000, "CRC-16/SPI-FUJITSU": 0x0000,
    "CRC-16/GENIBUS": 0x1D0F, "CRC-16/KERMIT": 0x0000, "CRC-16/MCRF4XX": 0x0000,
    "CRC-16/IBM-SDLC": 0xF0B8, "CRC-16/CDMA2000": 0x0000, "CRC-16/DNP": 0x66C5,
    "CRC-24/OPENPGP": 0x000000,
    "CRC-32/ISO-HDLC": 0xDEBB20E3, "CRC-32/JAMCRC": 0x00000000, "CRC-32/BZIP2": 0xC704DD7B,
    "CRC-32/MPEG-2": 0x00000000, "CRC-32/CKSUM": 0xC704DD7B, "CRC-32/ISCSI": 0xB798B438,
    "CRC-32/AUTOSAR": 0x904CDDBF,
}

# Reflected algorithms with a start value that is not its own mirror image, which the catalogue of ours does
# not hold but a product may spell out. Parameters and check values of the public CRC catalogue.
LOPSIDED = (
    Algorithm("CRC-16/RIELLO", 16, 0x1021, 0xB2AA, True, 0x0000, 0x63D0),
    Algorithm("CRC-16/TMS37157", 16, 0x1021, 0x89EC, True, 0x0000, 0x26B1),
    Algorithm("CRC-16/ISO-IEC-14443-3-A", 16, 0x1021, 0xC6C6, True, 0x0000, 0xBF05),
)


def algorithm(name: str) -> Algorithm:
    found = crc.find(name)
    assert found is not None
    return found


# --- the catalogue -------------------------------------------------------------------------------------


def test_the_catalogue_is_the_published_one() -> None:
    ours = {
        a.name: {
            "width": a.width, "poly": a.poly, "init": a.init,
            "refin": int(a.reflected), "refout": int(a.reflected), "xorout": a.xorout, "check": a.check,
        }
        for a in CATALOGUE.values()
    }
    assert ours == VECTORS["algorithms"]
    assert list(CATALOGUE) == [name.lower() for name in NAMES]


def test_names_are_found_in_any_case_and_by_the_whole_name_only() -> None:
    for name in NAMES:
        assert algorithm(name) is algorithm(name.lower()) is algorithm(name.upper())
    assert crc.find("CRC-16/\N{KELVIN SIGN}ERMIT") is None  # its small letter is a plain k
    for other in ("", "crc-16", "crc-16-ccitt", "crc-16/ccitt-false", "kermit", " crc-16/arc"):
        assert crc.find(other) is None


def test_an_unknown_name_brings_what_it_may_have_meant() -> None:
    # One trade name, six CRCs with six check values.
    meant = crc.nearest_names("CRC-16-CCITT")
    assert sorted(algorithm(name).check for name in meant) == [0x2189, 0x29B1, 0x31C3, 0x6F91, 0x906E, 0xE5CC]
    assert crc.nearest_names("CRC-16/CCITT-FALSE") == ("crc-16/ibm-3740",)
    assert crc.nearest_names("X-25") == ("crc-16/ibm-sdlc",)
    assert crc.nearest_names("crc32c") == ("crc-32/iscsi",)
    assert crc.nearest_names("autosar") == ("crc-8/autosar", "crc-32/autosar")
    assert crc.nearest_names("crc-16/ibm-3470")[0] == "crc-16/ibm-3740"
    assert crc.nearest_names("crc-16/kermitt")[0] == "crc-16/kermit"
    assert crc.nearest_names("parity") == () == crc.nearest_names("")
    assert len(crc.nearest_names("crc-16/" + "m" * 1_000_000)) <= 6
    for key in CATALOGUE:
        assert crc.nearest_names(key) == (key,)
    for offered in crc._MEANINGS.values():
        assert offered and all(name in CATALOGUE for name in offered)


@pytest.mark.parametrize(
    ("numbers", "says"),
    [
        ((12, 0x80F, 0, 0, 0), "8, 16, 24 or 32 bits wide, not 12"),
        ((16, 0x11021, 0, 0, 0), "write 0x1021"),
        ((16, 0x8408, 0, 0, 0), "no lowest term; read from the other end it is 0x1021"),
        ((16, 0x0002, 0, 0, 0), "no lowest term."),
        ((8, 0x07, 0x100, 0, 0), "start value 0x100 does not fit into 8 bits"),
        ((8, 0x07, 0, 0x1FF, 0), "final value 0x1FF does not fit"),
        ((8, 0x07, 0, 0, 0x29B1), "check value 0x29B1 does not fit"),
        ((16, 0x31021, 0, 0, 0), "polynomial 0x31021 does not fit into 16 bits"),
        ((8, -1, 0, 0, 0), "polynomial is negative"),
    ],
)
def test_numbers_that_make_no_checksum_are_told(numbers: tuple[int, int, int, int, int], says: str) -> None:
    width, poly, init, xorout, check = numbers
    sentence = crc.fault(width, poly, init, xorout, check)
    assert sentence is not None and says in sentence and sentence.endswith(".")
    with pytest.raises(ValueError, match=re.escape(sentence)):
        Algorithm("", width, poly, init, False, xorout, check)


def test_good_numbers_have_no_fault() -> None:
    for a in CATALOGUE.values():
        assert crc.fault(a.width, a.poly, a.init, a.xorout, a.check) is None
        assert a == Algorithm(a.name, a.width, a.poly, a.init, a.reflected, a.xorout, a.check)
        assert a.size * 8 == a.width


# --- published values ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_check_value(name: str) -> None:
    assert crc.self_check(algorithm(name)) == VECTORS["algorithms"][name]["check"]


@pytest.mark.parametrize("name", NAMES)
def test_residue_is_what_every_sealed_message_leaves(name: str) -> None:
    a = algorithm(name)
    assert crc.residue(a) == RESIDUES[name]
    for message in (*MESSAGES, crc.CHECK_MESSAGE):
        whole = message + crc.stored(a, crc.compute(a, message))
        assert crc.update(a, crc.start(a), whole) == RESIDUES[name]


@pytest.mark.parametrize("name", NAMES)
def test_seven_messages(name: str) -> None:
    a = algorithm(name)
    assert [crc.compute(a, message) for message in MESSAGES] == VECTORS["crc_of_messages"][name]


@pytest.mark.parametrize("spelled", LOPSIDED, ids=lambda a: a.name)
def test_start_value_of_a_reflected_algorithm_is_written_highest_bit_first(spelled: Algorithm) -> None:
    assert crc.self_check(spelled) == spelled.check


def test_iscsi_vectors() -> None:
    """RFC 3720 (2004), B.4. It prints the bytes on the wire, low byte first."""
    read_pdu = bytes.fromhex(
        "01c000000000000000000000000000001400000000000400"
        "000000140000001828000000000000000200000000000000"
    )
    iscsi = algorithm("crc-32/iscsi")
    for message, wire in (
        (bytes(32), "aa36918a"),
        (b"\xff" * 32, "43aba862"),
        (bytes(range(32)), "4e79dd46"),
        (bytes(range(31, -1, -1)), "5cdb3f11"),
        (read_pdu, "563a96d9"),
    ):
        assert crc.stored(iscsi, crc.compute(iscsi, message)) == bytes.fromhex(wire)


def test_messages_as_long_as_a_memory() -> None:
    """Values that crccheck and anycrc both give for a counting, an erased and a zeroed memory."""
    rows = """
        16 inc    41 3B37 170A E7B4 513D CECEE288 D9C908EB
        64 inc    8E FD2F 2799 08D9 2BF5 100ECE8C FB6D36EB
        64 FF     2D F154 9041 BF01 278E 0F6187BA 2FCD4E66
        64 00     00 D6DA 0000 2F40 0000 758D6336 03C8EB67
        256 inc   14 3FBD BAD3 DE6C 7E55 29058C73 9C44184B
        256 FF    24 5B2F 5440 30FF 1AC7 FEA8A821 0F464A5C
        256 00    00 41E8 0000 64BF 0000 0D968558 B872B190
        1024 inc  12 758F 3840 ECFE C2E0 B70B4C26 2CDF6E8F
        1024 FF   D7 77EB 6440 B0FE C084 B83AFFF4 47E5CDE4
        4096 inc  05 0F69 4525 9ADB E0B6 A2912082 9C71FE32
        4096 FF   09 0FE1 6000 BFFE E03E F154670A 25C1FE13
        4096 00   00 EFDF 0000 DFFE 0000 C71C0011 98F94189
    """
    columns = (
        "crc-8/smbus", "crc-16/ibm-3740", "crc-16/arc", "crc-16/modbus",
        "crc-16/xmodem", "crc-32/iso-hdlc", "crc-32/iscsi",
    )
    for row in rows.split("\n")[1:-1]:
        length, fill, *sums = row.split()
        n = int(length)
        message = bytes(i & 0xFF for i in range(n)) if fill == "inc" else bytes.fromhex(fill) * n
        assert len(sums) == len(columns)
        for name, expected in zip(columns, sums, strict=True):
            assert crc.compute(algorithm(name), message) == int(expected, 16), (row, name)


# --- other programs ------------------------------------------------------------------------------------


def random_messages() -> list[bytes]:
    rng = random.Random(20240917)
    return [rng.randbytes(length) for length in (0, 1, 2, 3, 4, 5, 7, 8, 31, 64, 255, 256, 257, 1000, 4096)]


@pytest.mark.parametrize("a", [*CATALOGUE.values(), *LOPSIDED], ids=lambda a: a.name)
def test_two_libraries_agree_on_random_messages(a: Algorithm) -> None:
    # Both libraries look the name up in tables of their own; nothing of ours is handed to them but bytes.
    first = next(c for c in crccheck.crc.ALLCRCCLASSES if a.name in c._names)
    assert first.residue() == crc.residue(a)
    second = anycrc.Model(a.name.replace("CRC-", "CRC").replace("/", "-"))
    for message in random_messages():
        ours = crc.compute(a, message)
        assert ours == first.calc(message) == second.calc(message)
        assert crc.stored(a, ours) == first.calcbytes(message, byteorder="little" if a.reflected else "big")


def test_two_libraries_agree_on_parameters_that_nobody_named() -> None:
    rng = random.Random(77)
    for _ in range(200):
        width = rng.choice(crc.WIDTHS)
        poly, init, xorout = (rng.getrandbits(width) for _ in range(3))
        a = Algorithm("", width, poly | 1, init, rng.random() < 0.5, xorout, 0)
        first = crccheck.crc.Crc(a.width, a.poly, a.init, a.reflected, a.reflected, a.xorout)
        second = anycrc.CRC(a.width, a.poly, a.init, a.reflected, a.reflected, a.xorout)
        message = rng.randbytes(rng.randrange(40))
        first.process(message)
        assert crc.compute(a, message) == first.final() == second.calc(message)


def test_the_standard_library_agrees() -> None:
    for message in random_messages():
        zip_sum = crc.compute(algorithm("crc-32/iso-hdlc"), message)
        assert zip_sum == zlib.crc32(message) == binascii.crc32(message)
        assert crc.compute(algorithm("crc-16/xmodem"), message) == binascii.crc_hqx(message, 0)
        assert crc.compute(algorithm("crc-16/ibm-3740"), message) == binascii.crc_hqx(message, 0xFFFF)


@pytest.mark.parametrize("name", NAMES)
def test_a_message_may_come_in_parts(name: str) -> None:
    a = algorithm(name)
    rng = random.Random(name)
    message = rng.randbytes(60)
    whole = crc.compute(a, message)
    for cut in range(len(message) + 1):
        register = crc.update(a, crc.start(a), message[:cut])
        assert crc.finish(a, crc.update(a, register, message[cut:])) == whole


# --- stored bytes and the seal -------------------------------------------------------------------------


def test_stored_bytes_lie_in_the_order_of_the_algorithm() -> None:
    assert crc.stored(algorithm("crc-16/ibm-3740"), 0x29B1) == b"\x29\xb1"
    assert crc.stored(algorithm("crc-16/modbus"), 0x4B37) == b"\x37\x4b"
    assert crc.stored(algorithm("crc-24/openpgp"), 0x21CF02) == b"\x21\xcf\x02"
    assert crc.stored(algorithm("crc-32/iso-hdlc"), 0xCBF43926) == b"\x26\x39\xf4\xcb"
    assert crc.stored(algorithm("crc-32/bzip2"), 0xFC891918) == b"\xfc\x89\x19\x18"


def test_no_byte_of_a_sealed_checksum_is_erased_or_zeroed() -> None:
    for name in ("crc-16/ibm-3740", "crc-16/modbus"):
        a = algorithm(name)
        values = [value for value in range(1 << 16) if crc.sealed(a, value)]
        assert len(values) == 254**2
        assert all(value >> 8 not in (0, 0xFF) and value & 0xFF not in (0, 0xFF) for value in values)
    assert crc.sealed(algorithm("crc-32/iscsi"), 0xE3069283)
    assert not crc.sealed(algorithm("crc-32/iscsi"), 0xE3009283)


def test_a_record_passes_by_equal_and_sealed_bytes_only() -> None:
    modbus = algorithm("crc-16/modbus")
    assert crc.passes(modbus, 0x4B37, b"\x37\x4b")
    assert not crc.passes(modbus, 0x4B37, b"\x4b\x37")
    assert not crc.passes(modbus, 0x4B37, b"\x37")
    assert not crc.passes(modbus, 0xFF37, b"\x37\xff")


# Lengths, 1 to 4096, at which a record of one byte all over agrees with its own checksum when the seal is
# not asked for. From a separate bit-by-bit program, crccheck and anycrc.
EVERY = range(1, 4097)
ONLY_4 = range(4, 5)
NEVER = range(0)
BARE = {
    #                      all FF passes at          all 00 passes at
    "CRC-8/SMBUS":        (range(126, 4097, 127), EVERY),
    "CRC-8/MAXIM-DOW":    (range(126, 4097, 127), EVERY),
    "CRC-8/AUTOSAR":      (range(1, 4097, 127), range(127, 4097, 127)),
    "CRC-8/SAE-J1850":    (range(1, 4097, 255), range(255, 4097, 255)),
    "CRC-16/ARC":         (NEVER, EVERY),
    "CRC-16/XMODEM":      (NEVER, EVERY),
    "CRC-16/KERMIT":      (NEVER, EVERY),
    "CRC-16/IBM-3740":    (NEVER, NEVER),
    "CRC-16/MODBUS":      (NEVER, NEVER),
    "CRC-16/CDMA2000":    (NEVER, NEVER),
    "CRC-16/IBM-SDLC":    (range(2, 3), NEVER),
    "CRC-16/USB":         (range(2, 3), NEVER),
    "CRC-16/DNP":         (range(151, 4097, 151), NEVER),
    "CRC-24/OPENPGP":     (NEVER, NEVER),
    "CRC-32/ISO-HDLC":    (ONLY_4, NEVER),
    "CRC-32/ISCSI":       (ONLY_4, NEVER),
    "CRC-32/BZIP2":       (ONLY_4, NEVER),
    "CRC-32/AUTOSAR":     (ONLY_4, NEVER),
    "CRC-32/MPEG-2":      (NEVER, NEVER),
    "CRC-32/CKSUM":       (NEVER, NEVER),
}


@pytest.mark.parametrize("name", NAMES)
def test_erased_and_zeroed_records_fail_at_every_length(name: str) -> None:
    a = algorithm(name)
    for column, fill in enumerate((b"\xff", b"\x00")):
        found = fill * a.size
        register = crc.start(a)
        bare = []
        for length in EVERY:
            register = crc.update(a, register, fill)
            value = crc.finish(a, register)
            assert not crc.passes(a, value, found), f"{length} bytes of {fill.hex()} pass"
            if crc.stored(a, value) == found:
                bare.append(length)
        if name in BARE:
            assert bare == list(BARE[name][column])
