"""The product block."""

from __future__ import annotations

from fractions import Fraction

import pytest

from paramc.check.example import DOORBELL, changed, followed_by
from paramc.model.product import Inside, Supply, Wakes
from tests.unit.check.told import checked, only, product_of, stops, told


def _with(lines: str) -> str:
    return changed("revision 1", f"revision 1  {lines}")


def test_what_is_said_is_what_is_read() -> None:
    product = product_of(
        _with(
            'hardware "B", "C"  about "A bell"  language en  wakes as it was  first preset 2'
            ' hot "U3" hot "U4"  battery "one 9 V block"'
        )
    )
    assert (product.name, product.label, product.code) == ("doorbell", "Doorbell", 0x1234)
    assert (product.prefix, product.revision, product.hardware) == ("db", 1, ("B", "C"))
    assert (product.about, product.language) == ("A bell", "en")
    assert (product.wakes, product.wakes_from, product.first_preset) == (Wakes.AS_IT_WAS, None, 2)
    assert (product.hot, product.battery) == (("U3", "U4"), ("one 9 V block",))
    assert product.inside is Inside.LOW
    assert product.supply == Supply(
        Fraction(9), False, "centre negative", Fraction(1, 50), "9 V dc, centre negative, 20 mA"
    )


def test_what_is_not_said() -> None:
    product = product_of(
        changed("  supply 9 V dc centre negative 20 mA  inside low voltage\n", "")
    )
    assert (product.hardware, product.about, product.language) == ((), None, None)
    assert (product.wakes, product.wakes_from, product.first_preset) == (Wakes.BYPASSED, None, 1)
    assert (product.supply, product.inside, product.hot, product.battery) == (None, None, (), ())


@pytest.mark.parametrize(("statement", "try_"), [
    ("code 0x1234", "code 0x1234"),
    ("prefix db", "prefix d"),
    ("revision 1", "revision 1"),
])
def test_what_has_to_be_said(statement: str, try_: str) -> None:
    found = only(changed(statement, ""))
    assert found.rule.name == "unsaid"
    assert found.try_ == try_
    assert found.place is not None and found.place.text == "doorbell"


@pytest.mark.parametrize("code", ["0x1", "0xFFFE", "1", "65534"])
def test_a_code_of_16_bits(code: str) -> None:
    assert told(changed("0x1234", code)) == []


@pytest.mark.parametrize("code", ["0", "0xFFFF", "0x10000", "0x" + "F" * 30])
def test_a_code_that_erased_or_zeroed_memory_reads_as_or_that_is_too_long(code: str) -> None:
    found = only(changed("0x1234", code))
    assert found.rule.name == "out-of-bounds"
    assert ("0x1 to 0xFFFE" if code.startswith("0x") else "1 to 65534") in found.sentence


@pytest.mark.parametrize(("prefix", "rules"), [
    ("a", []), ("abcdefgh", []), ("abcdefghi", ["prefix-form"]), ("a1", ["prefix-form"]),
    ("a_b", ["prefix-form"]), ("_", ["prefix-form"]),
])
def test_a_prefix_is_1_to_8_letters(prefix: str, rules: list[str]) -> None:
    assert told(changed("prefix db", f"prefix {prefix}")) == rules


@pytest.mark.parametrize(("revision", "rules"), [
    ("0", ["out-of-bounds"]), ("1", []), ("254", []), ("255", ["out-of-bounds"]),
])
def test_a_revision_is_1_to_254(revision: str, rules: list[str]) -> None:
    assert told(changed("revision 1", f"revision {revision}")) == rules


@pytest.mark.parametrize("line", [
    "code 0x1234", "prefix db", "revision 1", 'hardware "B"', 'about "a"', "language en", "wakes engaged",
    "first preset 1", "supply 9 V dc centre negative 20 mA", "inside low voltage",
])
def test_a_statement_is_said_once_and_both_places_are_told(line: str) -> None:
    twice = _with(line if line in DOORBELL else f"{line}  {line}")
    found = only(twice)
    assert found.rule.name == "said-twice"
    assert found.place is not None and found.place.text == line
    assert [mark.span.text for mark in found.also] == [line]
    assert found.also[0].span.start != found.place.start


def test_255_board_revisions_are_the_most() -> None:
    names = ", ".join(f'"R{number}"' for number in range(255))
    assert told(_with(f"hardware {names}")) == []
    assert told(_with(f'hardware {names}, "S"')) == ["hardware-list"]


@pytest.mark.parametrize("names", ['"B", "B"', '"B", "b"', '""', '"B", " "'])
def test_board_revisions_have_names_and_each_its_own(names: str) -> None:
    assert told(_with(f"hardware {names}")) == ["hardware-list"]


@pytest.mark.parametrize(("language", "rules"), [
    ("de", []), ("gsw", []), ("d", ["language-form"]), ("german", ["language-form"]),
    ("d3", ["language-form"]),
])
def test_a_language_is_two_or_three_letters(language: str, rules: list[str]) -> None:
    assert told(_with(f"language {language}")) == rules


@pytest.mark.parametrize(("supply", "rules"), [
    ("12 V ac no polarity 500 mA", []),
    ("9000 mV dc centre positive 0.1 A", []),
    ("9 V dc no polarity 20 mA", []),
    ("0 V dc centre negative 20 mA", ["supply-form"]),
    ("-9 V dc centre negative 20 mA", ["supply-form"]),
    ("9 V dc centre negative 0 mA", ["supply-form"]),
    ("9 V ac centre positive 20 mA", ["supply-form"]),
    ("9 ms dc centre negative 20 mA", ["wrong-unit"]),
    ("9 V dc centre negative 20 mV", ["wrong-unit"]),
    ("9 dc centre negative 20", ["wrong-unit", "wrong-unit"]),
])
def test_a_supply(supply: str, rules: list[str]) -> None:
    assert told(changed("9 V dc centre negative 20 mA", supply)) == rules


@pytest.mark.parametrize("first", ["0", "256"])
def test_a_first_preset_that_no_product_could_have(first: str) -> None:
    assert told(_with(f"first preset {first}")) == ["out-of-bounds"]


def test_a_first_preset_beyond_the_slots() -> None:
    found = only(_with("first preset 3"))
    assert found.rule.name == "first-outside-slots"
    assert "1 to 2" in found.sentence
    assert found.try_ == "first preset 2"


_WAKES = (
    'selector power_on "Power on" { way bypassed "Bypassed"  way engaged "Engaged"  way last "As it was"'
    "  default last }"
)


def test_waking_from_a_selector() -> None:
    product = product_of(_with("wakes from power_on") + _WAKES)
    assert product.wakes_from == "power_on"


def test_waking_from_something_else() -> None:
    assert only(_with("wakes from level")).rule.name == "wakes-from"
    unknown = only(_with("wakes from power_off") + _WAKES)
    assert unknown.rule.name == "unknown-name"


def test_the_nearest_name_is_proposed_where_one_is_near() -> None:
    assert only(_with("wakes from power_no") + _WAKES).try_ == "power_on"
    assert only(_with("wakes from nothing_like_it") + _WAKES).try_ == ""


def test_blocks_that_stand_once() -> None:
    for block in ("product", "chip", "holds"):
        start = DOORBELL.index(f"\n{block} ") + 1 if block != "product" else 0
        end = DOORBELL.index("}\n", start) + 2
        found = only(DOORBELL + DOORBELL[start:end])
        assert found.rule.name == "said-twice"
        assert block in found.sentence
        assert len(found.also) == 1


def test_blocks_that_have_to_be_there() -> None:
    found = checked('flag bright "Bright" { default off }').diagnostics
    assert [one.rule.name for one in found] == ["unsaid"] * 3
    assert [one.try_.split()[0] for one in found] == ["product", "chip", "holds"]
    assert stops("") == ["unsaid"] * 3


def test_what_is_proposed_for_missing_blocks_can_stand_in_a_source() -> None:
    found = checked("").diagnostics
    assert stops("\n".join(one.try_ for one in found)) == []


def test_a_label_is_cut_where_it_is_too_long_to_read() -> None:
    long = changed('"Doorbell"', '"' + "D" * 100_000 + '"').replace("revision 1", "revision 0")
    assert len(only(long).sentence) < 200


def test_a_second_name_does_not_hide_the_first() -> None:
    assert stops(followed_by('flag level "A" { default off }', 'flag level "B" { default off }')) == [
        "name-twice", "name-twice",
    ]
