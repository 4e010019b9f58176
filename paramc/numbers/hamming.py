"""What a CRC protects: the fewest flipped bits that it can miss, and the chance that garbage passes."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from paramc.numbers.crc import Algorithm

AT_LEAST: Final = 5
"""The distance that stands for itself and every greater one."""

MOST_DATA_BITS: Final = 8 * 65536
"""The longest record asked about: as long as the largest memory."""

_WALK: Final = 8
"""How far beyond the code word landmarks are sought, in their mean gaps: one path in e^8 = 2981 has none."""

_FINENESS: Final = 5
"""Landmarks are 16 to 32 in the length of a code word. The answer is the same for any number here."""


def distance(algorithm: Algorithm, data_bits: int) -> int:
    """The Hamming distance of the code words of data_bits (0 to MOST_DATA_BITS) and the checksum's bits.

    That is the least number of flipped bits, in data and stored checksum together, that the CRC can miss:
    2, 3 or 4, or AT_LEAST for 5 and more. Exact. Bytes that are fed in but not stored are no part of it.

    A pattern of flips is missed when the CRC's polynomial g divides it. Bit i alone leaves x^i mod g,
    here its syndrome, so a missed pattern is one whose syndromes cancel; since g has a lowest term, a
    missed pattern moved down until it begins at bit 0 (syndrome 1) is missed as well. For n bits in all:
    weight 2 is x^i = 1, a search of n; weight 3 is x^i + x^j = 1, a search of n in a set; weight 4 is
    `_weight_four`. Time and memory grow with n, and for weight 4 as said there: milliseconds for a
    record of 500 bits, tens of them for 5000; with the few polynomials of 32 bits that keep 5 so far,
    under a second for 4096 bytes and some seconds for 8188. ValueError outside the range of data_bits.
    """
    if not 0 <= data_bits <= MOST_DATA_BITS:
        raise ValueError(f"data_bits is {data_bits}, outside 0 .. {MOST_DATA_BITS}")
    if data_bits == 0:
        return AT_LEAST  # the checksum is a constant; there is one code word, and no distance
    n = data_bits + algorithm.width
    syndromes = _syndromes(algorithm, n)
    if 1 in syndromes[1:]:
        return 2
    # With x + 1 as a factor, which is an even number of terms, g divides no pattern of odd weight.
    even = (algorithm.poly.bit_count() + 1) % 2 == 0
    if not even and not set(syndromes).isdisjoint([s ^ 1 for s in syndromes]):
        return 3
    # With 5 or more, no two pairs have one sum, and no pair has that of a single bit or none: too long
    # a code word has more of them than there are sums. Pairs have even sums where x + 1 divides g.
    pairs = n * (n - 1) // 2
    if (pairs + 1 > 1 << algorithm.width - 1) if even else (pairs + n + 1 > 1 << algorithm.width):
        return 4
    return 4 if _weight_four(algorithm, n) else AT_LEAST


def false_pass(algorithm: Algorithm) -> Fraction:
    """The chance that a record of uniformly random bytes, checksum included, is taken for sound.

    The reader asks two things of the stored checksum: that no byte of it is FF or 00, and that it is the
    one of the bytes before it. It is drawn apart from those, so the first holds with (254/256)^size, and
    then the second with 2^-width, since every value of the stored checksum, sealed ones too, is met by
    the computed one with that chance. (The computed one is uniform because a CRC maps the records of at
    least its own width evenly onto its values.) The chance is the product.
    """
    return Fraction(254, 256) ** algorithm.size / (1 << algorithm.width)


def false_pass_text(algorithm: Algorithm) -> str:
    """The same for people, as "1 in 66 572", rounded down so that it never flatters."""
    return "1 in " + f"{int(1 / false_pass(algorithm)):,}".replace(",", " ")


def _syndromes(algorithm: Algorithm, count: int) -> list[int]:
    """x^0, x^1, ... mod g as integers."""
    poly = algorithm.poly | 1 << algorithm.width
    highest = 1 << algorithm.width - 1
    found = []
    power = 1
    for _ in range(count):
        found.append(power)
        power = power << 1 ^ poly if power & highest else power << 1
    return found


def _weight_four(algorithm: Algorithm, n: int) -> bool:
    """Whether g divides a pattern of four bits among n, where it divides none of two.

    The four bits 0 < i < j < k make two pairs of equal sum: 1 + x^k = x^i (1 + x^(j-i)). Call 1 + x^d
    the pair d; multiplied by x again and again it walks along a path, and the question is whether the
    path of a shorter pair, j-i, runs into the start of a longer one, k, within the code word. Comparing
    every step of every path would be n^2/2 sums, 540 million for 4096 bytes. But two paths that meet
    stay together, so it is enough to compare them at landmarks: steps whose highest bit is 1 and is 0 in
    the next few. (Zeros alone would do, but come in clusters; a 1 and zeros cannot overlap with itself.)
    Each pair, the longest first, looks up all landmarks of its path, then leaves word at the first of
    them. A pair that meets none in at least _WALK times their mean gap is taken by itself: for each of n
    places of a third bit, the fourth is looked up.

    The highest bit of x^t for all t is one long integer; XOR with itself shifted by d gives the highest
    bits along the whole path of pair d, and few shifts more find every landmark. So the time is some
    n^2/4 steps of a processor, a few dozen landmarks for each of n pairs, and n for each pair taken by
    itself, fewer than n/e^8 of them; the memory is a few times n integers, and n is below 2^17 (`distance`
    settles longer ones by counting).
    """
    mark = min(max(n.bit_length() - _FINENESS, 2), algorithm.width - 1)  # steps that make a landmark
    walk = _WALK << mark
    syndromes = _syndromes(algorithm, n + walk + mark)
    down = algorithm.width - 1
    highest = int("".join("1" if s >> down else "0" for s in reversed(syndromes)), 2)
    known = set(syndromes[:n])
    left: dict[int, list[int]] = {}  # landmark: how many steps before it longer pairs start
    for d in range(n - 1, 0, -1):
        # Steps that are looked at. A pair that is longer by e meets this path less than e steps after its
        # start and looks e steps less far, so the landmark where it left word is among the steps of this one.
        reach = n - d + walk
        path = (highest ^ highest >> d) & (1 << reach + mark) - 1
        after = path >> 1  # 1 where one of the next mark - 1 steps is 1, in doubling numbers of them
        seen = 1
        while seen < mark - 1:
            more = min(seen, mark - 1 - seen)
            after |= after >> more
            seen += more
        here = path & (1 << reach) - 1
        here ^= here & after
        first = None
        while here:
            first = here.bit_length() - 1
            here ^= 1 << first
            for far in left.get(syndromes[first] ^ syndromes[first + d], ()):
                if far < first and first - far + d < n:
                    return True
        if first is not None:
            left.setdefault(syndromes[first] ^ syndromes[first + d], []).append(first)
        elif len(known & {1 ^ syndromes[d] ^ s for s in known}) > 2:  # 1 and x^d themselves are two
            return True
    return False
