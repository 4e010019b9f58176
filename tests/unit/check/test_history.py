"""What a file says of earlier revisions, as the model has it."""

from __future__ import annotations

import pytest

from paramc.check.example import DOORBELL, changed
from paramc.model.history import NO_HISTORY, Became, History, Retired, Since
from paramc.model.items import Item, Selector
from tests.unit.check.told import only, product_of, told

THIRD = changed("revision 1", "revision 3")
OLD = "\nretired old since 2"
MIX = 'param mix "Mix" { range 0 % .. 9 %  step 1 %  default 9 %  '


def item(text: str, more: str = "") -> Item:
    """The last item of the example with a block behind it."""
    return product_of(f"{THIRD}{text}\n{more}\n").items[-1]


def test_what_says_nothing_has_no_history() -> None:
    product = product_of(DOORBELL)
    assert {one.history for one in product.items} == {NO_HISTORY}
    assert (product.retired, product.reads_from) == ((), 1)


@pytest.mark.parametrize(("text", "history"), [
    ('flag dim "Dim" { default off  since 2 formerly on }', History((Since(2, 1),))),
    ('flag dim "Dim" { default off  since 3 }', History((Since(3),))),
    (MIX + 'since 2 formerly 4 % }', History((Since(2, 4),))),
    ('param mix "Mix" { range -9 dB .. 0 dB  step 1 dB  off at stop  default 0 dB  since 2 formerly off }',
     History((Since(2, 0),))),
    ('selector feel "Feel" { way a "A"  way b "B"  default a  since 2 formerly b }', History((Since(2, 1),))),
    ('trim null "Null" { range -9 .. 9  step 1  nominal 0  safe 0  since 2 }', History((Since(2),))),
    ('param mix "Mix" { range 0 % .. 8 %  step 1 %  was blend  was wet  narrowed to nearest }',
     History((), ("blend", "wet"), True)),
    ('flag dim "Dim" { default off  since 3 formerly off  since 2 formerly on }',
     History((Since(3, 0), Since(2, 1)))),
])  # fmt: skip
def test_what_an_item_was(text: str, history: History) -> None:
    assert item(text).history == history


def test_the_first_coming_behind_a_revision_counts() -> None:
    history = History((Since(3, 0), Since(2, 1)))
    assert [history.since_before(revision) for revision in (1, 2, 3)] == [Since(2, 1), Since(3, 0), None]


def test_a_selector_that_was_split() -> None:
    ways = 'way a "A"  way b "B"  default a'
    split = f'selector feel "Feel" {{ {ways}  since 3 formerly by old {{ x to a  y to b }} }}'
    found = item(split, "retired old since 3").history
    assert found == History((Since(3, by="old", became=(Became("x", 0), Became("y", 1))),))
    flag = 'flag dim "Dim" { default off  since 3 formerly by old { x to off  y to on } }'
    assert item(flag, "retired old since 3").history.since[0].became == (Became("x", 0), Became("y", 1))


def test_earlier_names_of_a_way() -> None:
    found = item('selector feel "Feel" { way a was c, d "A"  way b "B"  default a }')
    assert isinstance(found, Selector)
    assert [way.was for way in found.ways] == [("c", "d"), ()]
    assert (found.places, found.codes) == ((0, 1), 2)


def test_what_is_retired_and_read() -> None:
    text = changed("revision 3", "revision 3  reads revisions from 2", THIRD) + "retired old since 2\n"
    product = product_of(text)
    assert product.retired == (Retired("old", 2),) and product.reads_from == 2


@pytest.mark.parametrize(("text", "rule"), [
    ('flag dim "Dim" { default off  since 1 formerly on }', "out-of-bounds"),
    ('flag dim "Dim" { default off  since 4 formerly on }', "history-ahead"),
    ('flag dim "Dim" { default off  since 2 formerly maybe }', "value-kind"),
    (MIX + 'since 2 formerly 10 % }', "value-outside-range"),
    (MIX + 'since 2 formerly 1.5 % }', "value-off-grid"),
    ('flag dim "Dim" { default off  since 2 formerly on  since 2 formerly off }', "said-twice"),
    ('flag dim "Dim" { default off  narrowed to nearest }', "misplaced"),
    ('flag dim "Dim" { default off  was level }', "name-again"),
    ('flag dim "Dim" { default off  was dim }', "name-again"),
    ('flag dim "Dim" { default off  was old }' + OLD, "name-again"),
    ("retired level since 2", "name-again"),
    ("retired old since 2\nretired old since 3", "said-twice"),
    ("retired old since 1", "out-of-bounds"),
    ("retired old since 9", "history-ahead"),
    ('selector feel "Feel" { way a was b "A"  way b "B"  default a }', "name-again"),
    ('selector feel "Feel" { way a was c "A"  way b was c "B"  default a }', "name-again"),
    ('flag dim "Dim" { default off  since 2 formerly by old { x to on } }', "formerly-by"),
    ('flag dim "Dim" { default off  since 2 formerly by old { } }' + OLD, "formerly-by"),
    ('flag dim "Dim" { default off  since 2 formerly by old { x to on  x to off } }' + OLD,
     "said-twice"),
    ('selector feel "Feel" { way a "A"  way b "B"  default a  since 2 formerly by old { x to c } }'
     + OLD, "way-unknown"),
    ('param mix "Mix" { range 0 % .. 8 %  step 1 %  since 2 formerly by old { x to on } }' + OLD,
     "formerly-by"),
])  # fmt: skip
def test_each_mistake_is_told_once(text: str, rule: str) -> None:
    assert told(f"{THIRD}{text}\n") == [rule]
    assert only(f"{THIRD}{text}\n").place is not None


def test_a_firmware_reads_from_a_revision_that_there_is() -> None:
    assert told(changed("revision 3", "revision 3  reads revisions from 4", THIRD)) == ["out-of-bounds"]
