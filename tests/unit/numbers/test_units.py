from __future__ import annotations

import unicodedata
from fractions import Fraction

import pytest

from paramc.numbers.units import NO_UNIT, SPELLINGS, UNITS, Dimension, difference_unit

BASES = ("s", "Hz", "dB", "dBu", "dBV", "%", "V", "A", "ohm", "cents", "deg", "BPM", ":1", "")


def test_every_dimension_has_a_base_unit_and_every_unit_its_canonical_spelling() -> None:
    assert [unit.dimension for unit in map(SPELLINGS.__getitem__, BASES)] == list(Dimension)
    assert all(SPELLINGS[base].factor == 1 for base in BASES)
    assert all(SPELLINGS[unit.symbol] is unit for unit in UNITS)
    assert set(SPELLINGS.values()) == set(UNITS)
    assert len({unit.symbol for unit in UNITS}) == len(UNITS)


@pytest.mark.parametrize(
    ("spelling", "symbol"),
    [
        ("cent", "cents"), ("semitone", "semitones"), ("octave", "octaves"),
        ("tap", "taps"), ("count", "counts"), ("bit", "bits"), ("ohms", "ohm"),
        ("\N{MICRO SIGN}s", "us"), ("\N{GREEK SMALL LETTER MU}s", "us"),
        ("\N{MICRO SIGN}V", "uV"), ("\N{GREEK SMALL LETTER MU}V", "uV"),
        ("\N{OHM SIGN}", "ohm"), ("\N{GREEK CAPITAL LETTER OMEGA}", "ohm"),
        ("k\N{OHM SIGN}", "kohm"), ("M\N{GREEK CAPITAL LETTER OMEGA}", "Mohm"),
    ],
)  # fmt: skip
def test_other_spellings_are_understood(spelling: str, symbol: str) -> None:
    assert SPELLINGS[spelling].symbol == symbol


def test_every_spelling_is_known_in_every_normal_form() -> None:
    for spelling, unit in SPELLINGS.items():
        for form in ("NFC", "NFD", "NFKC", "NFKD"):
            assert SPELLINGS[unicodedata.normalize(form, spelling)] is unit


@pytest.mark.parametrize("spelling", ["db", "hz", "MS", "S", "v", "uA", "dBm", "bpm", "°", "X", "k", " "])
def test_nothing_else_is_a_unit(spelling: str) -> None:
    assert spelling not in SPELLINGS


def test_the_table_cannot_be_written_to() -> None:
    with pytest.raises(TypeError):
        SPELLINGS["furlong"] = NO_UNIT  # type: ignore[index]


@pytest.mark.parametrize(
    ("small", "large", "ratio"),
    [
        ("us", "ms", 1000), ("ms", "s", 1000), ("Hz", "kHz", 1000),
        ("uV", "mV", 1000), ("mV", "V", 1000), ("mA", "A", 1000),
        ("ohm", "kohm", 1000), ("kohm", "Mohm", 1000),
        ("cents", "semitones", 100), ("semitones", "octaves", 12),
        ("x", ":1", 1), ("", "taps", 1), ("", "Q", 1),
    ],
)  # fmt: skip
def test_factors(small: str, large: str, ratio: int) -> None:
    assert SPELLINGS[large].factor / SPELLINGS[small].factor == Fraction(ratio)
    assert SPELLINGS[large].dimension is SPELLINGS[small].dimension


def test_levels_differ_by_decibels_and_everything_else_by_itself() -> None:
    changed = {unit.symbol: difference_unit(unit).symbol for unit in UNITS if difference_unit(unit) != unit}
    assert changed == {"dBu": "dB", "dBV": "dB"}
