"""The revisions of the invented products: their releases, units of each, and every way from one to another.

examples/releases has what their files give today. revisions/NAME.rN.hex is a unit of each revision that was
measured and played; these stay as they are, as units in the field do. revisions/NAME.rI-rJ.txt is what
becomes of such a unit in another revision, and NAME.rI-rJ.compare.txt what is said of the change.

    python -m pytest tests/cases --update       writes releases and texts anew, and units that are missing
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from paramc.cli.renderers import comparison
from paramc.cli.renderers.account import carried_text
from paramc.driver import understand
from paramc.image.account import account
from paramc.image.convert import Fate, Moved, become, move
from paramc.image.factory import factory_image, factory_values, put
from paramc.image.files import to_hex
from paramc.image.memory import UnitAnswer, read_memory
from paramc.image.reading import Loaded, flatten, read_image
from paramc.image.records import encode
from paramc.image.restore import Restored, Wish, restore_contents
from paramc.image.revisions import read_revisions
from paramc.image.stamp import Unit, stamp_image
from paramc.layout.layout import LOOK, FieldKind, Kind, Layout, Record
from paramc.model.items import Item, Param, Trim, is_in_use
from paramc.model.scale import Stepped
from paramc.release.compare import compare
from paramc.release.freeze import release_file
from paramc.release.read import read_release
from paramc.release.release import Release
from paramc.text.source import Source
from tests.stories import AT, PAIRS, RELEASES, REVISIONS, story, text_of

pytestmark = pytest.mark.slow

UNITS = Path(__file__).parent / "revisions"
EVERY = [(name, revision) for name, last in REVISIONS.items() for revision in range(1, last + 1)]


def layout_of(name: str, revision: int) -> Layout:
    return story(name)[revision - 1].layout


def layouts(name: str) -> tuple[Layout, ...]:
    return tuple(release.layout for release in story(name))


# ---- the releases


@pytest.mark.parametrize(("name", "revision"), EVERY)
def test_a_release_is_what_its_source_gives(name: str, revision: int, update: bool) -> None:
    path = RELEASES / f"{name}.r{revision}.json"
    made = release_file(story(name)[revision - 1])
    if update:
        path.write_bytes(made)
    assert path.read_bytes() == made, f"{path.name} is old; run with --update and read the difference"
    back = read_release(made)
    assert isinstance(back, Release)
    assert (back.layout, back.image) == (
        layout_of(name, revision), factory_image(layout_of(name, revision)),
    )  # fmt: skip


@pytest.mark.parametrize("name", ["teasel_pinch", "long_causeway"])
def test_what_a_product_borrows_counts_as_standing_in_it(name: str) -> None:
    release = story(name)[AT[name] - 1]
    assert [one.name for one in release.sources] == [f"{name}.paramc", "house/saltpan_quay.paramc"]
    before = tuple(one.layout for one in story(name)[: AT[name] - 1])
    alone = understand(Source(f"{name}.paramc", text_of(name)), before, trial=False).value
    assert alone is not None and alone.layout == release.layout


def test_every_release_belongs_to_a_revision() -> None:
    files = {path.name for path in RELEASES.iterdir()}
    assert files == {f"{name}.r{revision}.json" for name, revision in EVERY}


@pytest.mark.parametrize("name", REVISIONS)
def test_all_revisions_have_one_envelope(name: str) -> None:
    first, *later = layouts(name)
    for layout in later:
        for record in layout.records:
            old = first.record(record.kind)
            assert old is not None
            assert (record.places, record.length, record.place_bytes) == (
                old.places, old.length, old.place_bytes,
            )  # fmt: skip


# ---- units


def a_unit(layout: Layout) -> bytes:
    """A unit with serial and trims, on which presets 1 and 2 and the settings were changed and saved."""
    product = layout.product
    trims = tuple((trim.name, trim.codes * 2 // 3) for trim in product.trims)
    board = product.hardware_places[-1]
    memory = bytearray(stamp_image(layout, Unit("SQ-000417", board, trims)))
    for record in layout.records:
        if record.kind in LOOK:
            for number in range(min(record.numbers, 2)):
                values = changed(layout, record, number)
                place = record.places[number]
                put(memory, place, encode(layout, record, place, 5 + number, values))
    return bytes(memory)


def changed(layout: Layout, record: Record, number: int) -> tuple[int, ...]:
    """Values a player might have saved: each item well away from its default, differing from slot to slot."""
    values = []
    for at, (field, value) in enumerate(
        zip(record.fields, factory_values(layout, record, number), strict=True)
    ):
        if field.kind is FieldKind.ITEM:
            item = layout.product.item(field.name)
            codes = [code for code in range(item.codes) if is_in_use(item, code)]
            value = codes[(len(codes) * (3 + number) // 5 + at) % len(codes)]
        values.append(value)
    return tuple(values)


def kept(name: str, revision: int) -> bytes:
    """The memory of the unit that is kept."""
    loaded = read_image((UNITS / f"{name}.r{revision}.hex").read_bytes())
    assert isinstance(loaded, Loaded)
    chip = layout_of(name, revision).product.chip
    flat = flatten(loaded.chunks, chip.hex_at, chip.size, chip.blank)
    assert flat.gaps == ()
    return flat.data


@pytest.mark.parametrize(("name", "revision"), EVERY)
def test_a_unit_of_each_revision_is_read_by_its_own(name: str, revision: int, update: bool) -> None:
    path, layout = UNITS / f"{name}.r{revision}.hex", layout_of(name, revision)
    if update and not path.exists():
        path.write_bytes(to_hex(layout.product.chip.hex_at, a_unit(layout)))
    memory = kept(name, revision)
    contents = read_memory(layout, memory)
    assert contents.answer is UnitAnswer.SOUND and contents.made_by_layout
    assert contents.identity is not None and contents.identity.serial == "SQ-000417"
    presets = contents.held(Kind.PRESETS)
    assert presets is not None
    assert presets.numbers[1].values == changed(layout, presets.record, 1)


@pytest.mark.parametrize(("name", "one", "other"), PAIRS)
def test_what_becomes_of_a_unit_in_another_revision(name: str, one: int, other: int, update: bool) -> None:
    target = layout_of(name, other)
    read = read_revisions(target, layouts(name), kept(name, one))
    text = "\n".join([*carried_text(account(read.contents, read.carried).carried, other), ""])
    path = UNITS / f"{name}.r{one}-r{other}.txt"
    if update:
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "one", "other"), PAIRS)
def test_a_unit_moves_to_another_revision(name: str, one: int, other: int) -> None:
    target, memory = layout_of(name, other), kept(name, one)
    read = read_revisions(target, layouts(name), memory)
    answer = restore_contents(read.contents, memory, Wish())
    if name == "hob_and_kiln":
        # Its boards differ, so that no unit of the one revision takes the other.
        assert isinstance(answer, tuple) and "board is not one that revision" in answer[0]
        return
    assert isinstance(answer, Restored)
    moved = read_memory(target, answer.image)
    assert moved.answer is UnitAnswer.SOUND and moved.made_by_layout
    assert moved.identity is not None and moved.identity.serial == "SQ-000417"
    for before, after in zip(read.contents.kinds, moved.kinds, strict=True):
        if before.record.kind is not Kind.IDENTITY:
            assert [n.values for n in before.numbers] == [n.values for n in after.numbers]


@pytest.mark.parametrize(("name", "one", "other"), PAIRS)
def test_what_a_change_does(name: str, one: int, other: int, update: bool) -> None:
    found = compare(layout_of(name, one), layout_of(name, other))
    assert not isinstance(found, str)
    text = "\n".join([*comparison.as_text(found), "", *comparison.as_notes(found), ""])
    path = UNITS / f"{name}.r{one}-r{other}.compare.txt"
    if abs(one - other) == 1:
        if update:
            path.write_text(text, encoding="utf-8")
        assert text == path.read_text(encoding="utf-8")
    # The other way round it is the same change.
    back = compare(layout_of(name, other), layout_of(name, one))
    assert not isinstance(back, str) and found.units is not None and back.units is not None
    assert (found.units.there, found.units.back) == (back.units.back, back.units.there)
    assert [it.item for it in found.added] == [it.item for it in back.gone]
    assert {it.number for it in found.presets if it.sounds} == {it.number for it in back.presets if it.sounds}


# ---- one value after another


Case = tuple[str, int, int, Kind, int, tuple[int, ...]]
"""Product, two revisions, a kind of record of the first, which of them, and its values."""


@st.composite
def records(draw: st.DrawFn) -> Case:
    """A product, two of its revisions, and any record of the first of them."""
    name, one, other = draw(st.sampled_from(PAIRS))
    old = layout_of(name, one)
    record = draw(st.sampled_from([it for it in old.records if it.kind is not Kind.IDENTITY]))
    number = draw(st.integers(0, record.numbers - 1))
    values = []
    for field, factory in zip(record.fields, factory_values(old, record, number), strict=True):
        item = old.product.item(field.name) if field.kind is FieldKind.ITEM else None
        codes = [] if item is None else [code for code in range(item.codes) if is_in_use(item, code)]
        if field.kind is FieldKind.MEASURED:
            codes = [0, 1]
        values.append(draw(st.sampled_from(codes)) if codes else factory)
    return name, one, other, record.kind, number, tuple(values)


def layouts_and_record(case: Case) -> tuple[Layout, Layout, Record]:
    name, one, other, kind, _, _ = case
    record = layout_of(name, one).record(kind)
    assert record is not None
    return layout_of(name, one), layout_of(name, other), record


@settings(deadline=None, max_examples=60)
@given(records())
def test_there_and_back_is_the_same_where_nothing_was_narrowed(case: Case) -> None:
    old, new, record = layouts_and_record(case)
    *_, number, values = case
    there, told = move(old, new, record.kind, values, number)
    back, _ = move(new, old, record.kind, there, number)
    if all(value.fate in (Fate.SAME, Fate.NEW) for value in told):
        assert back == values


@pytest.mark.parametrize(("name", "one", "other"), PAIRS)
def test_every_code_that_nothing_narrows_comes_back(name: str, one: int, other: int) -> None:
    old, new = layout_of(name, one), layout_of(name, other)
    here, there = items_of(old), items_of(new)
    kept = 0
    for number in here.keys() & there.keys():
        was, item = here[number], there[number]
        for code in range(was.codes):
            if is_in_use(was, code):
                now, fate = become(was, item, code, narrows=False)
                if fate is Fate.SAME:
                    assert become(item, was, now, narrows=False) == (code, Fate.SAME), (was.name, code)
                    kept += 1
    assert kept > 500


def items_of(layout: Layout) -> dict[int, Item]:
    """A revision's stored items by their permanent numbers."""
    return {
        field.number: layout.product.item(field.name)
        for record in layout.records
        for field in record.fields
        if field.kind is FieldKind.ITEM and field.number is not None
    }


@pytest.mark.parametrize(("name", "one", "other"), [pair for pair in PAIRS if pair[0] != "hob_and_kiln"])
def test_a_unit_comes_back_from_another_revision(name: str, one: int, other: int) -> None:
    """The whole unit that is kept, there and back: each number as it was of which nothing was told."""
    memory, every = kept(name, one), layouts(name)
    read = read_revisions(layout_of(name, other), every, memory)
    there = restore_contents(read.contents, memory, Wish())
    assert isinstance(there, Restored)
    again = read_revisions(layout_of(name, one), every, there.image)
    back = restore_contents(again.contents, there.image, Wish())
    assert isinstance(back, Restored)
    before, after = read_memory(layout_of(name, one), memory), read_memory(layout_of(name, one), back.image)
    assert before.identity is not None and after.identity is not None
    assert before.identity.serial == after.identity.serial
    same = {(carry.kind, carry.number) for carry in read.carried
            if all(value.fate in (Fate.SAME, Fate.NEW) for value in carry.values)}  # fmt: skip
    assert (Kind.BENCH, 0) in same and len(same) >= before.kinds[-1].record.numbers + 1
    for was, now in zip(before.kinds, after.kinds, strict=True):
        for at, (old, new) in enumerate(zip(was.numbers, now.numbers, strict=True)):
            if (was.record.kind, at) in same:
                assert old.values == new.values, (was.record.kind, at)


@settings(deadline=None, max_examples=60)
@given(records())
def test_every_value_is_told_of_once_and_fits_its_field(case: Case) -> None:
    old, new, record = layouts_and_record(case)
    *_, number, values = case
    there, told = move(old, new, record.kind, values, number)
    target = new.record(record.kind)
    assert target is not None
    for field, value in zip(target.fields, there, strict=True):
        if field.kind is FieldKind.ITEM:
            assert is_in_use(new.product.item(field.name), value)
    items = [field.name for field in target.fields if field.kind is FieldKind.ITEM]
    assert [value.item for value in told if value.now is not None] == items
    assert all(value.was is not None or value.now is not None for value in told)


@settings(deadline=None, max_examples=60)
@given(records())
def test_a_stepped_value_becomes_the_nearest(case: Case) -> None:
    """A second road: the distance to every code of the new grid, counted out."""
    old, new, record = layouts_and_record(case)
    *_, number, values = case
    there, told = move(old, new, record.kind, values, number)
    by_number = {field.number: value for field, value in zip(record.fields, values, strict=True)
                 if field.kind is FieldKind.ITEM}  # fmt: skip
    names = {field.number: field.name for field in record.fields if field.kind is FieldKind.ITEM}
    fates = {value.item: value for value in told}
    target = new.record(record.kind)
    assert target is not None
    for field, now in zip(target.fields, there, strict=True):
        if field.kind is not FieldKind.ITEM or field.number not in by_number:
            continue
        was, item = old.product.item(names[field.number]), new.product.item(field.name)
        check_nearest(was, item, by_number[field.number], now, fates[field.name])


def check_nearest(was: Item, item: Item, code: int, now: int, told: Moved) -> None:
    if not (isinstance(was, Param | Trim) and isinstance(item, Param | Trim)):
        return
    if not (isinstance(was.scale.grid, Stepped) and isinstance(item.scale.grid, Stepped)):
        return
    if code == 0 and was.scale.off_at_stop:
        assert now == 0
        return
    value = was.scale.first + code * was.scale.signed_step
    away = [abs(item.scale.first + one * item.scale.signed_step - value) for one in range(item.codes)]
    first = 1 if item.scale.off_at_stop else 0
    inside = item.scale.low <= value <= item.scale.high
    nearest = [one for one in range(first, item.codes) if away[one] == min(away[first:])]
    if told.fate is Fate.LOST and isinstance(item, Trim):
        assert now == item.nominal and not inside
        return
    assert now in nearest and (len(nearest) == 1 or now % 2 == 0)
    assert (told.fate is Fate.SAME) == (away[now] == Fraction(0))
    assert (told.fate is Fate.LOST) == (not inside)


def fates(name: str, one: int, other: int, kind: Kind, **values: int) -> Sequence[Moved]:
    """What becomes of the first record of a kind with some values changed."""
    old = layout_of(name, one)
    record = old.record(kind)
    assert record is not None
    factory = factory_values(old, record)
    codes = [values.get(field.name, code) for field, code in zip(record.fields, factory, strict=True)]
    return move(old, layout_of(name, other), kind, codes, 0)[1]


def test_the_stories_in_words() -> None:
    [dry] = [it for it in fates("teasel_pinch", 1, 2, Kind.SETUP) if it.item == "dry_blend"]
    assert (dry.was, dry.now, dry.fate) == (None, "0 %", Fate.NEW)
    dropped = fates("teasel_pinch", 2, 1, Kind.SETUP, dry_blend=30)
    assert dropped[-1] == Moved("dry_blend", "30 %", None, Fate.LOST)
    assert all(it.item != "dry_blend" for it in fates("teasel_pinch", 2, 1, Kind.SETUP, dry_blend=0))
    split = fates("long_causeway", 1, 5, Kind.PRESETS, modulation=2)
    [shape] = [it for it in split if it.item == "mod_shape"]
    assert (shape.was, shape.now, shape.fate) == ("modulation loose", "drift", Fate.SAME)
    joined = fates("long_causeway", 5, 1, Kind.PRESETS, mod_shape=1)
    [mod] = [it for it in joined if it.item == "modulation"]
    assert (mod.was, mod.now, mod.fate) == ("mod_shape triangle", "warble", Fate.SAME)
    [time] = [it for it in fates("long_causeway", 2, 1, Kind.PRESETS, time=1000) if it.item == "time"]
    assert (time.was, time.now, time.fate) == ("1020 ms", "800 ms", Fate.LOST)
    halves = {45: ("22.5 %", "22 %"), 47: ("23.5 %", "24 %"), 44: ("22 %", "22 %")}
    for code, (was, now) in halves.items():
        [it] = [it for it in fates("long_causeway", 4, 5, Kind.PRESETS, repeats=code) if it.item == "repeats"]
        assert (it.was, it.now, it.fate is Fate.SAME) == (was, now, was == now)
    assert fates("long_causeway", 3, 4, Kind.SETUP, taps_averaged=0)[-1] == Moved(
        "taps_averaged", "2 taps", None, Fate.LOST
    )
    bench = {it.item: it for it in fates("hob_and_kiln", 1, 2, Kind.BENCH, hob_bias=140)}
    assert bench["hob_bias"] == Moved("hob_bias", "140", None, Fate.LOST)
    assert bench["hob_bias_128"] == Moved("hob_bias_128", None, "64", Fate.NEW)


def test_a_new_trim_is_not_measured_and_an_old_one_stays_so() -> None:
    old, new = layout_of("hob_and_kiln", 1), layout_of("hob_and_kiln", 2)
    record, target = old.record(Kind.BENCH), new.record(Kind.BENCH)
    assert record is not None and target is not None
    values = [1 if it.kind is FieldKind.MEASURED else code
              for it, code in zip(record.fields, factory_values(old, record), strict=True)]  # fmt: skip
    there, _ = move(old, new, Kind.BENCH, values, 0)
    bits = {it.name: value for it, value in zip(target.fields, there, strict=True)
            if it.kind is FieldKind.MEASURED}  # fmt: skip
    assert bits.pop("hob_bias_128_measured") == bits.pop("kiln_bias_128_measured") == 0
    assert set(bits.values()) == {1}
