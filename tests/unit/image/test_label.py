"""The check characters on a label."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from paramc.image.label import check_characters

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
SERIALS = st.text(ALPHABET, min_size=2, max_size=12)


def is_sound(text: str) -> bool:
    """ISO/IEC 7064, 7.1: the weighted sum of a protected text is 1 modulo the modulus."""
    total = sum(ALPHABET.index(char) * 36**place for place, char in enumerate(reversed(text)))
    return total % 1271 == 1


def test_the_example_of_the_standard() -> None:
    # ISO/IEC 7064:2003: the string ISO79 has the check characters 3W by MOD 1271-36.
    assert check_characters("ISO79") == "3W"
    assert check_characters("I-S-O-79") == "3W"


@given(SERIALS)
def test_the_sum_of_the_standard_comes_out(serial: str) -> None:
    assert is_sound(serial + check_characters(serial))


@given(SERIALS, st.data())
def test_one_wrong_character_and_two_exchanged_are_found(serial: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(serial) - 1))
    other = data.draw(st.sampled_from([char for char in ALPHABET if char != serial[at]]))
    check = check_characters(serial)
    assert check_characters(serial[:at] + other + serial[at + 1 :]) != check
    if at and serial[at - 1] != serial[at]:
        exchanged = serial[: at - 1] + serial[at] + serial[at - 1] + serial[at + 1 :]
        assert check_characters(exchanged) != check
