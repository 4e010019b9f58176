"""What a later revision keeps of the releases before it: numbers, bits, places, addresses, lengths."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given

from paramc.driver import understand
from paramc.image.factory import factory_image, look_pieces
from paramc.image.memory import UnitAnswer, read_memory
from paramc.layout.earlier.things import earlier, numbered
from paramc.layout.json_form import from_json, to_json
from paramc.layout.layout import Kind, Layout
from paramc.layout.plan import plan
from paramc.model.history import History, Since
from paramc.model.items import Flag, Item, Selector
from paramc.model.product import Product
from paramc.tables.forms import value_at
from paramc.text.source import Source
from tests.released import released
from tests.unit.layout.anything import products
from tests.unit.layout.products import product as of_parts
from tests.unit.layout.products import selector, stepped, trim

FIRST = """
product gate_post "Gate Post" {
  code 0x4750  prefix gp  revision 1  hardware "A"
  supply 9 V dc centre negative 20 mA  inside low voltage
}
chip { size 512 bytes  page 1 byte  endurance 100_000 writes  brown-out 2.7 V }
holds {
  identity 2 copies  serial 8 characters
  presets 3 slots  spare 1  growth 2 bytes  names 6 bytes  saves 5 per day
  state 4 copies  growth 2 bytes  saves 10 per day
}
panel {
  knob DEPTH "Depth" { adc 10 bits }
  footswitch FOOT "Foot"
}
param depth "Depth" { range 10 ms .. 400 ms  taper audio 20 %  step 2 ms  default 40 ms }
selector shape "Shape" { way round "Round"  way edge "Edge"  way odd "Odd"  default edge  engine u8 }
flag tail "Tail" { default on }
mode main { DEPTH sets depth  press FOOT does bypass }
preset 1 "Near" { depth 20 ms  shape odd }
"""


def changed(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def second(*changes: tuple[str, str]) -> str:
    return changed(FIRST, ("revision 1", "revision 2"), *changes)


def last(*texts: str) -> Layout:
    """The layout of the last of some revisions, each released after those before it."""
    return released(texts)[-1]


def fields(layout: Layout, kind: Kind) -> dict[str, tuple[int | None, int, int]]:
    """By name the number, first bit and width of every field that has a number."""
    record = layout.record(kind)
    assert record is not None
    return {
        field.name: (field.number, field.bit, field.width)
        for field in record.fields
        if field.number is not None
    }


def test_a_new_field_stands_behind_all_others_and_nothing_moves() -> None:
    new = 'param mix "Mix" { range 0 % .. 60 %  step 1 %  default 50 %  since 2 formerly 0 % }\n'
    first, then = released((FIRST, second(("param depth", f"{new}param depth"))))
    for kind in (Kind.PRESETS, Kind.STATE):
        was, now = fields(first, kind), fields(then, kind)
        assert {name: now[name] for name in was} == was
        assert now["mix"] == (4, was["tail"][1] + was["tail"][2], 6)
        old, grown = first.record(kind), then.record(kind)
        assert old is not None and grown is not None
        assert (grown.places, grown.length, grown.place_bytes) == (old.places, old.length, old.place_bytes)
        assert old.growth == 2 and grown.growth == 1
    identity = (first.record(Kind.IDENTITY), then.record(Kind.IDENTITY))
    assert identity[0] == identity[1]


def test_the_name_of_a_preset_stays_behind_the_fields() -> None:
    new = 'flag wet "Wet" { default on  since 2 formerly off }\n'
    then = last(FIRST, second(("flag tail", f"{new}flag tail"))).record(Kind.PRESETS)
    assert then is not None
    assert [field.name for field in then.fields] == ["slot", "depth", "shape", "tail", "wet", "name"]


def test_a_number_is_given_once() -> None:
    retired = second(('flag tail "Tail" { default on }\n', "retired tail since 2\n"))
    third = changed(
        retired,
        ("revision 2", "revision 3"),
        ("retired tail", 'flag wet "Wet" { default on  since 3 formerly off }\nretired tail'),
    )
    layouts = released((FIRST, retired, third))
    assert [fields(one, Kind.PRESETS).keys() for one in layouts] == [
        {"depth", "shape", "tail"}, {"depth", "shape"}, {"depth", "shape", "wet"},
    ]  # fmt: skip
    assert fields(layouts[0], Kind.PRESETS)["tail"][0] == 3
    assert fields(layouts[2], Kind.PRESETS)["wet"][0] == 4
    # The bits of what was retired are free again; the record keeps its length.
    assert fields(layouts[2], Kind.PRESETS)["wet"][1] == fields(layouts[0], Kind.PRESETS)["tail"][1]
    assert len({one.record(Kind.PRESETS).length for one in layouts if one.record(Kind.PRESETS)}) == 1  # type: ignore[union-attr]


def test_a_renamed_item_keeps_its_number_over_several_names() -> None:
    one = second(('flag tail "Tail" { default on }', 'flag trail "Trail" { default on  was tail }'))
    two = changed(
        one,
        ("revision 2", "revision 3"),
        ('flag trail "Trail" { default on  was tail }', 'flag wake "Wake" { default on  was trail }'),
    )
    layouts = released((FIRST, one, two))
    assert fields(layouts[2], Kind.PRESETS)["wake"] == fields(layouts[0], Kind.PRESETS)["tail"]
    gone = changed(
        two,
        ("revision 3", "revision 4"),
        ('flag wake "Wake" { default on  was trail }', "retired wake since 4"),
    )
    assert "wake" not in fields(last(FIRST, one, two, gone), Kind.PRESETS)


def test_a_wider_field_moves_those_behind_it_and_takes_growth() -> None:
    then = last(FIRST, second(("range 10 ms .. 400 ms", "range 10 ms .. 800 ms")))
    was, now = fields(last(FIRST), Kind.STATE), fields(then, Kind.STATE)
    assert (was["depth"][2], now["depth"][2]) == (8, 9)
    assert now["shape"][1] == was["shape"][1] + 1


# ---- ways


def shape(layout: Layout) -> Selector:
    found = layout.product.item("shape")
    assert isinstance(found, Selector)
    return found


def codes(layout: Layout) -> dict[str, int]:
    found = shape(layout)
    return {way.name: code for code, way in zip(found.places, found.ways, strict=True)}


def test_a_way_keeps_its_place_and_one_that_went_leaves_it_empty() -> None:
    fewer = second(('way edge "Edge"  way odd', "way odd was edge"), ("default edge", "default odd"))
    more = changed(
        fewer, ("revision 2", "revision 3"), ('"Odd"', '"Odd"  way soft "Soft"'), ("shape odd", "shape soft")
    )
    layouts = released((FIRST, fewer, more))
    assert codes(layouts[1]) == {"round": 0, "odd": 2}
    assert codes(layouts[2]) == {"round": 0, "odd": 2, "soft": 3}
    assert (shape(layouts[2]).codes, shape(layouts[2]).default) == (4, 2)
    # Presets, engine values, image and file all go by the place.
    assert layouts[2].product.presets[0].codes[1] == 3
    assert layouts[2].engines[0].table.entries == 4
    assert from_json(to_json(layouts[2])) == layouts[2]
    contents = read_memory(layouts[2], factory_image(layouts[2]))
    assert contents.answer is UnitAnswer.SOUND


def test_a_code_that_no_way_has_counts_as_the_default() -> None:
    merged = ('way edge "Edge"  way odd', "way odd was edge")
    fewer = last(FIRST, second(merged, ("default edge", "default odd")))
    assert shape(fewer).way(1).name == "odd"
    assert [value_at(fewer.engines[0].table, code) for code in range(3)] == [0, 2, 2]


def test_a_renamed_way_keeps_its_place() -> None:
    then = last(FIRST, second(("way edge", "way sharp was edge"), ("default edge", "default sharp")))
    assert codes(then) == {"round": 0, "sharp": 1, "odd": 2}


def test_what_was_formerly_follows_the_places_too() -> None:
    feel = (
        'selector feel "Feel" { way calm "Calm"  way wild "Wild"  way loose "Loose"  default calm'
        "  since 2 formerly by shape { round to calm  edge to wild  odd to wild } }\n"
        "retired shape since 2\n"
    )
    two = second(
        (next(line for line in FIRST.splitlines() if line.startswith("selector")), feel),
        ("  shape odd", "  feel wild"),
    )
    three = changed(
        two,
        ("revision 2", "revision 3"),
        ('way calm "Calm"  way wild', "way wild was calm"),
        ("default calm", "default wild"),
        ("round to calm", "round to wild"),
    )
    then = last(FIRST, two, three).product.item("feel")
    assert {became.code for became in then.history.since[0].became} == {1} and then.default == 1


# ---- the envelope


def test_places_are_added_behind_the_last() -> None:
    first, then = released((FIRST, second(("state 4 copies", "state 6 copies"), ("spare 1", "spare 2"))))
    end = first.end
    for kind, more in ((Kind.PRESETS, 1), (Kind.STATE, 2)):
        old, new = first.record(kind), then.record(kind)
        assert old is not None and new is not None
        assert new.places[: len(old.places)] == old.places
        assert len(new.places) == len(old.places) + more
        assert all(place >= end for place in new.places[len(old.places) :])
    assert from_json(to_json(then)) == then


def test_a_kind_comes_behind_the_last() -> None:
    once = 'flag dim "Dim" { default off  kept once  since 2 formerly off }\n'
    first, then = released((FIRST, second(("flag tail", f"{once}flag tail"))))
    setup = then.record(Kind.SETUP)
    assert setup is not None and setup.places[0] == first.end
    assert [record.kind for record in then.records] == [
        Kind.IDENTITY, Kind.SETUP, Kind.PRESETS, Kind.STATE,
    ]  # fmt: skip
    assert from_json(to_json(then)) == then


def test_a_kind_that_is_empty_for_a_while_keeps_its_place() -> None:
    first = FIRST + 'flag dim "Dim" { default off  kept once }\n'
    two = changed(
        first,
        ("revision 1", "revision 2"),
        ('flag dim "Dim" { default off  kept once }', "retired dim since 2"),
    )
    three = changed(
        two,
        ("revision 2", "revision 3"),
        ("retired dim", 'flag wet "Wet" { default off  kept once  since 3 formerly off }\nretired dim'),
    )
    layouts = released((first, two, three))
    setups = [one.record(Kind.SETUP) for one in layouts]
    assert setups[0] is not None and setups[1] is None and setups[2] is not None
    assert setups[0].places == setups[2].places
    assert setups[0].length == setups[2].length


def test_the_look_alone_leaves_out_a_bench_that_came_behind_it() -> None:
    bench = 'trim null "Null" { range -8 .. 7  step 1  nominal 0  safe 0  since 2 }\n'
    more = ("state 4 copies", "state 6 copies")
    two = second(("flag tail", f"{bench}flag tail"))
    first, _, then = released((FIRST, two, changed(two, ("revision 2", "revision 3"), more)))
    held = then.record(Kind.BENCH)
    assert held is not None and held.places[0] == first.end
    pieces = look_pieces(then, bytes(range(256)) * 2)
    covered = {at for piece in pieces for at in range(piece.address, piece.end)}
    assert len(pieces) == 2
    assert not covered & {at for place in held.places for at in range(place, place + held.place_bytes)}
    state = then.record(Kind.STATE)
    assert state is not None
    assert covered >= {at for place in state.places for at in range(place, place + state.place_bytes)}


def test_counts_that_a_file_leaves_open_are_those_of_the_releases() -> None:
    open_now = [("state 4 copies  growth 2 bytes", "state  growth 2 bytes"), ("  spare 1", "")]
    first, then = released((FIRST, second(*open_now)))
    assert [record.places for record in then.records] == [record.places for record in first.records]


def test_a_checksum_may_be_written_out() -> None:
    numbers = "checksum width 16 poly 0x1021 start 0xFFFF final 0 check 0x29B1"
    assert last(FIRST, second(("brown-out 2.7 V", f"brown-out 2.7 V  {numbers}")))


def test_a_trial_of_the_next_revision_has_its_numbers() -> None:
    before = released((FIRST,))
    text = second(("flag tail", 'flag wet "Wet" { default on  since 2 formerly off }\nflag tail'))
    answer = understand(Source("next.paramc", text), before)
    assert answer.value is not None and answer.value.layout.trial
    assert answer.value.layout.fingerprint == last(FIRST, text).fingerprint
    alone = understand(Source("next.paramc", text)).value
    assert alone is not None and alone.layout.fingerprint != answer.value.layout.fingerprint


def test_the_release_of_its_own_revision_and_later_ones_are_not_before_it() -> None:
    two = second(("flag tail", 'flag wet "Wet" { default on  since 2 formerly off }\nflag tail'))
    both = released((FIRST, two))
    again = understand(Source("first.paramc", FIRST), both)
    assert again.value is not None and again.diagnostics == ()
    assert again.value.layout.fingerprint == both[0].fingerprint


def test_things_are_known_by_number_whatever_they_are_called() -> None:
    two = second(('flag tail "Tail" { default on }', 'flag trail "Trail" { default on  was tail }'))
    past = earlier(released((FIRST, two)))
    thing = past.things[past.by_name["trail"]]
    assert thing.names == ("tail", "trail") and thing.last[0] == 2
    heir = past.heir(past.layouts[0].product, thing.number)
    assert heir is not None and heir.name == "tail"


# ---- any product


def _grown(product: Product) -> Product:
    """The same with a new flag in front of everything, in the next revision."""
    flag = Flag("fresh", "Fresh", 0, history=History((Since(2, 0),)))
    presets = tuple(replace(preset, codes=(0, *preset.codes)) for preset in product.presets)
    return replace(product, revision=2, items=(flag, *product.items), presets=presets)


@pytest.mark.slow
@given(products())
def test_every_product_can_be_followed(product: Product) -> None:
    first = plan(product, trial=False).value
    assert first is not None
    then = plan(_grown(product), trial=False, before=(first,))
    if then.value is None:
        assert "growth-spent" in [found.rule.name for found in then.diagnostics]
        return
    was = {field.name: field.number for field in numbered(first)}
    now = {field.name: field.number for field in numbered(then.value)}
    assert {name: now[name] for name in was} == was
    assert now["fresh"] == max([0, *filter(None, was.values())]) + 1
    for old, new in zip(first.records, then.value.records, strict=True):
        assert (old.places, old.length) == (new.places, new.length)
    assert from_json(to_json(then.value)) == then.value


@pytest.mark.parametrize("item", [
    trim("null", stepped("dB", "-3", "3", "0.1"), "0"), selector("mode_of", "a b c", "b"),
])  # fmt: skip
def test_nothing_changes_where_nothing_changed(item: Item) -> None:
    first = plan(of_parts((item,)), trial=False).value
    assert first is not None
    again = plan(replace(first.product, revision=2), trial=False, before=(first,)).value
    assert again is not None
    assert again.records == first.records and again.fingerprint == first.fingerprint
