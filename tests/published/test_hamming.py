"""Hamming distances against published limits and against programs that look at every pattern.

The limits, in data bits, were computed apart from this code: those of 8 and 16 bits from the exact weight
distribution of the dual code (MacWilliams' identity), those of 24 and 32 bits by search. Where P. Koopman's
published tables list a polynomial, they agree.
"""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations

import pytest

from paramc.numbers import crc, hamming
from paramc.numbers.crc import CATALOGUE, Algorithm
from paramc.numbers.hamming import AT_LEAST, MOST_DATA_BITS, distance, false_pass, false_pass_text


def spelled(width: int, poly: int) -> Algorithm:
    return Algorithm("", width, poly, 0, False, 0, 0)


# (distance, the last number of data bits that has it), ascending; after the last, distance 2, or, where the
# entry ends with MOST_DATA_BITS, nothing that can be asked.
LIMITS = {
    (8, 0x07): [(4, 119)],
    (8, 0x31): [(4, 119)],
    (8, 0x2F): [(5, 3), (4, 119)],
    (8, 0xA7): [(5, 3), (4, 119)],
    (8, 0x1D): [(5, 6), (4, 13), (3, 247)],
    (8, 0xD5): [(5, 2), (4, 85)],
    (16, 0x8005): [(4, 32751)],
    (16, 0x1021): [(4, 32751)],
    (16, 0xC867): [(5, 44), (4, 361), (3, 65519)],
    (16, 0x3D65): [(5, 135)],
    (16, 0x8BB7): [(5, 47), (4, 353), (3, 32767)],
    (16, 0x2F15): [(5, 67), (4, 178), (3, 32767)],
    (24, 0x864CFB): [(5, 517), (4, MOST_DATA_BITS)],
    (32, 0x04C11DB7): [(5, 2974), (4, 91607), (3, MOST_DATA_BITS)],
    (32, 0x1EDC6F41): [(5, 5243), (4, MOST_DATA_BITS)],
    (32, 0xF4ACFB13): [(5, 32736), (4, 65502)],
}
OPEN_ENDED = {(16, 0x8BB7, 32767), (16, 0x2F15, 32767)}  # how far beyond 33000 bits is not published


@pytest.mark.slow
@pytest.mark.parametrize(("width", "poly"), LIMITS, ids=[f"{w}-{p:X}" for w, p in LIMITS])
def test_published_limits(width: int, poly: int) -> None:
    a = spelled(width, poly)
    limits = LIMITS[width, poly]
    for (here, last), (after, _) in zip(limits, [*limits[1:], (2, 0)], strict=True):
        assert distance(a, last) == here
        if last < MOST_DATA_BITS and (width, poly, last) not in OPEN_ENDED:
            assert distance(a, last + 1) == after


@pytest.mark.parametrize(
    ("name", "distances"),
    [
        # Data bytes 14, 15, 64, 256, 1024, 4092, 4093, 4094 from the same tables.
        ("crc-8/smbus", (4, 2, 2, 2, 2, 2, 2, 2)),
        ("crc-16/ibm-3740", (4, 4, 4, 4, 4, 4, 4, 2)),
        ("crc-16/modbus", (4, 4, 4, 4, 4, 4, 4, 2)),
        ("crc-24/openpgp", (5, 5, 5, 4, 4, 4, 4, 4)),
        ("crc-32/iso-hdlc", (5, 5, 5, 5, 4, 4, 4, 4)),
        ("crc-32/iscsi", (5, 5, 5, 5, 4, 4, 4, 4)),
    ],
)
def test_records_of_whole_bytes(name: str, distances: tuple[int, ...]) -> None:
    lengths = (14, 15, 64, 256, 1024, 4092, 4093, 4094)
    assert tuple(distance(CATALOGUE[name], 8 * n) for n in lengths) == distances


def test_double_error_correcting_codes_have_five_to_their_full_length() -> None:
    """BCH codes correct two errors, which is a distance of 5, to a length at which x has gone round once.

    Lin and Costello, Error Control Coding, table of generators: (255, 239), t = 2, octal 267543.
    """
    bch = spelled(16, 0o267543 ^ 1 << 16)
    assert [distance(bch, bits) for bits in (1, 50, 238, 239, 240)] == [5, 5, 5, 5, 2]


# --- programs that look at everything ------------------------------------------------------------------


def least_weights(a: Algorithm, most_bits: int) -> list[int]:
    """The least weight among all code words of 1, 2, ... most_bits data bits, by writing all of them down.

    The words of one more bit are those before, and each of them added to the polynomial moved up.
    """
    generator = a.poly | 1 << a.width
    words, least, found = [0], 10**9, []
    for bit in range(most_bits):
        longer = [word ^ generator << bit for word in words]
        least = min(least, min(word.bit_count() for word in longer))
        found.append(least)
        words += longer
    return found


@pytest.mark.parametrize("width", crc.WIDTHS)
def test_every_code_word_of_short_records(width: int) -> None:
    rng = random.Random(width)
    polys = {a.poly for a in CATALOGUE.values() if a.width == width}
    polys |= {rng.getrandbits(width) | 1 for _ in range(12)} | {1, (1 << width) - 1}
    for poly in sorted(polys):
        a = spelled(width, poly)
        expected = [min(weight, AT_LEAST) for weight in least_weights(a, 11)]
        assert [distance(a, bits) for bits in range(1, 12)] == expected, hex(poly)


def lightest_missed(a: Algorithm, size: int) -> int:
    """The fewest bits, up to 4, that can be flipped in a stored record without a sign of it; else AT_LEAST.

    Flips are made in a record's bytes with its checksum as stored; CRC and stored bytes are linear, so what a
    set of flips does is the XOR of what each does.
    """
    data = bytes(range(17, 17 + size))
    whole = data + crc.stored(a, crc.compute(a, data))

    def mismatch(record: bytes) -> int:
        found = int.from_bytes(record[size:], "little" if a.reflected else "big")
        return crc.compute(a, record[:size]) ^ found

    assert mismatch(whole) == 0
    single = []
    for bit in range(8 * len(whole)):
        flipped = bytearray(whole)
        flipped[bit // 8] ^= 1 << bit % 8
        single.append(mismatch(bytes(flipped)))
    pairs = [x ^ y for x, y in combinations(single, 2)]
    if 0 in pairs:
        return 2
    if set(single) & set(pairs):
        return 3
    return 4 if len(set(pairs)) < len(pairs) else AT_LEAST


@pytest.mark.parametrize("a", CATALOGUE.values(), ids=lambda a: a.name)
def test_flips_in_stored_records(a: Algorithm) -> None:
    for size in (1, 2, 3, 5, 10, 15, 16, 20, 31, 32):
        assert distance(a, 8 * size) == lightest_missed(a, size), size


def naive(a: Algorithm, data_bits: int) -> int:
    """By every pair of bits: a sum that is nothing, a single bit, or another pair."""
    generator = a.poly | 1 << a.width
    single = []
    for bit in range(data_bits + a.width):
        rest = 1 << bit
        while rest.bit_length() > a.width:
            rest ^= generator << rest.bit_length() - a.width - 1
        single.append(rest)
    if len(set(single)) < len(single):
        return 2
    pairs = [x ^ y for x, y in combinations(single, 2)]
    if set(single) & set(pairs):
        return 3
    return 4 if len(set(pairs)) < len(pairs) else AT_LEAST


def test_random_polynomials_at_random_lengths() -> None:
    # All bits are uniform in one half; the other is a product of short factors, whose paths are short too.
    rng = random.Random(1913)
    seen: dict[tuple[int, int], int] = {}
    for turn in range(500):
        width = rng.choice(crc.WIDTHS)
        poly = 1
        while turn % 2 and poly.bit_length() <= width:
            factor, product = rng.choice((3, 7, 11, 19, 37, 131, 285, 1033, 69643)), 0
            for bit in range(factor.bit_length()):
                product ^= poly << bit if factor >> bit & 1 else 0
            if product.bit_length() > width + 1:
                break
            poly = product
        short = width + 1 - poly.bit_length()
        filler = rng.getrandbits(short) | 1 | 1 << short
        whole = 0
        for bit in range(short + 1):
            whole ^= poly << bit if filler >> bit & 1 else 0
        a = spelled(width, whole ^ 1 << width)
        data_bits = rng.randrange(1, 2 * width if rng.random() < 0.5 else 160)
        expected = naive(a, data_bits)
        assert distance(a, data_bits) == expected, (width, hex(a.poly), data_bits)
        seen[width, expected] = seen.get((width, expected), 0) + 1
    # Not all cases alike: each width met each answer that it can have here.
    assert {answer for _, answer in seen} == {2, 3, 4, 5}
    assert all(sum(n for (w, _), n in seen.items() if w == width) > 50 for width in crc.WIDTHS)


def test_the_landmarks_decide_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """How often landmarks come and how far they are sought is a matter of time only.

    With -40 for _FINENESS hardly any comes, and nearly every pair is compared with all others.
    """
    cases = [
        (spelled(16, 0xC867), range(38, 50)),
        (spelled(16, 0x2F15), range(60, 74)),
        (spelled(24, 0x864CFB), range(510, 525, 3)),
        (spelled(32, 0x04C11DB7), (200, 400)),
        (spelled(32, 0xF4ACFB13), (400,)),
        (spelled(16, 0o267543 ^ 1 << 16), (237, 238, 239)),
    ]
    answers = [[distance(a, bits) for bits in lengths] for a, lengths in cases]
    assert {n for row in answers for n in row} == {4, 5}
    for walk, fineness in ((0, -40), (0, 5), (1, 0), (8, 0), (8, 3), (3, 20)):
        monkeypatch.setattr(hamming, "_WALK", walk)
        monkeypatch.setattr(hamming, "_FINENESS", fineness)
        assert [[distance(a, bits) for bits in lengths] for a, lengths in cases] == answers


def test_the_ends_of_the_question() -> None:
    a = CATALOGUE["crc-16/ibm-3740"]
    assert distance(a, 0) == AT_LEAST  # nothing stored but a constant
    # One data bit: the words are 0 and the polynomial itself, x^16 + x^12 + x^5 + 1.
    assert distance(a, 1) == 4
    assert distance(spelled(8, 0x01), 1) == 2
    for outside in (-1, MOST_DATA_BITS + 1):
        with pytest.raises(ValueError, match="data_bits"):
            distance(a, outside)


# --- garbage -------------------------------------------------------------------------------------------


def test_chance_of_garbage_by_counting_all_of_it() -> None:
    """All 2^24 records of two bytes and an 8-bit checksum, one value of the checksum at a time."""
    for name in ("crc-8/smbus", "crc-8/autosar", "crc-8/maxim-dow"):
        a = CATALOGUE[name]
        passing = 0
        for high in range(256):
            register = crc.update(a, crc.start(a), bytes((high,)))
            for low in range(256):
                value = crc.finish(a, crc.update(a, register, bytes((low,))))
                # Of the 256 checksums that may stand there, the right one passes, if it is sealed.
                passing += crc.passes(a, value, crc.stored(a, value))
        assert Fraction(passing, 1 << 24) == false_pass(a)


def test_chance_of_garbage() -> None:
    assert false_pass(CATALOGUE["crc-8/smbus"]) == Fraction(254, 256) / 256
    assert false_pass(CATALOGUE["crc-16/modbus"]) == Fraction(254, 256) ** 2 / 65536
    assert false_pass(CATALOGUE["crc-24/openpgp"]) == Fraction(254**3, 1 << 48)
    for a in CATALOGUE.values():
        assert Fraction(3, 4) < false_pass(a) * (1 << a.width) < 1


def test_chance_in_words() -> None:
    # 256 * 256/254 = 258.02, 65536 * (256/254)^2 = 66572.1, then 17176656.9 and 4431847991.1.
    assert false_pass_text(CATALOGUE["crc-8/smbus"]) == "1 in 258"
    assert false_pass_text(CATALOGUE["crc-16/ibm-3740"]) == "1 in 66 572"
    assert false_pass_text(CATALOGUE["crc-24/openpgp"]) == "1 in 17 176 656"
    assert false_pass_text(CATALOGUE["crc-32/iscsi"]) == "1 in 4 431 847 991"
