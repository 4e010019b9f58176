"""What changes a fingerprint, and what must not."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from paramc.layout.fingerprint import ALL, canonical
from paramc.layout.layout import Kind, Layout
from paramc.layout.plan import plan
from paramc.model.engine import AsStored, Engine
from paramc.model.items import Flag, Item, Note, Param, Selector, Signal, Trim, Way
from paramc.model.panel import Knob
from paramc.model.product import Order, Product
from paramc.model.scale import Coded, Geometric, Scale, Straight, ThreePoint
from paramc.numbers.crc import CATALOGUE
from paramc.numbers.quantity import Quantity
from paramc.numbers.units import NO_UNIT, SPELLINGS
from tests.unit.layout.products import doorbell, form, stepped, teasel_pinch

Change = Callable[[Product], Product]


def laid_out(of: Product) -> Layout:
    layout = plan(of).value
    assert layout is not None
    return layout


def moved(change: Change) -> set[str]:
    """Which fingerprints a change of the example moves."""
    before, after = laid_out(doorbell()), laid_out(change(doorbell()))
    return {
        name
        for name, old, new in (
            ("all", before.fingerprint, after.fingerprint),
            ("look", before.look_fingerprint, after.look_fingerprint),
            ("bench", before.bench_fingerprint, after.bench_fingerprint),
        )
        if old != new
    }


def chip(**changed: Any) -> Change:
    return lambda of: replace(of, chip=replace(of.chip, **changed))


def holds(**changed: Any) -> Change:
    return lambda of: replace(of, holds=replace(of.holds, **changed))


def item(which: str, **changed: Any) -> Change:
    def change(of: Product) -> Product:
        items = tuple(replace(it, **changed) if it.name == which else it for it in of.items)
        return replace(of, items=items)

    return change


def level(unit: str = "%", first: str = "0", last: str = "100", step: str = "1") -> Change:
    return item("level", scale=stepped(unit, first, last, step))


HUM = Scale(SPELLINGS["Hz"], Fraction(20), Fraction(2000), ThreePoint(Fraction(200)), Coded(5))


@pytest.mark.parametrize(
    ("change", "moves"),
    [
        (chip(order=Order.BIG), {"all", "look", "bench"}),
        (chip(checksum=CATALOGUE["crc-16/xmodem"]), {"all", "look", "bench"}),
        (chip(page=16, size=1024), {"all", "look", "bench"}),
        (chip(leave_first=5), {"all", "look", "bench"}),
        (holds(identity_copies=3), {"all", "look", "bench"}),  # the rest moves up
        (holds(state_copies=5), {"all", "look"}),
        (holds(state_growth=2), {"all", "look"}),
        (holds(preset_spare=2), {"all", "look"}),
        (holds(preset_names=7), {"all", "look"}),
        (holds(bench_growth=2), {"all", "look", "bench"}),
        (item("level", name="loudness"), {"all", "look"}),
        (level(step="0.5"), {"all", "look"}),
        (level(first="1", last="101"), {"all", "look"}),
        (level(first="100", last="0"), {"all", "look"}),
        (level(unit="ms"), {"all", "look"}),
        (item("level", scale=stepped("%", "0", "100", "1", off_at_stop=True)), {"all", "look"}),
        (item("level", kept_once=True), {"all", "look"}),
        (item("hum", scale=replace(HUM, law=ThreePoint(Fraction(201)))), {"all", "look"}),
        (item("hum", scale=replace(HUM, law=Straight())), {"all", "look"}),
        (item("hum", scale=replace(HUM, last=Fraction(2001))), {"all", "look"}),
        (item("chime", ways=(Way("low", "L"), Way("mid", "M"), Way("top", "H"))), {"all", "look"}),
        (
            item(
                "chime",
                ways=tuple(
                    Way(name, name, Quantity(Fraction(number), NO_UNIT))
                    for name, number in (("low", "1/2"), ("mid", "1"), ("high", "3"))
                ),
            ),
            {"all", "look"},
        ),
        (item("pitch", scale=stepped("cents", "-10", "10", "1")), {"all", "bench"}),  # as long as before
        (lambda of: replace(of, hardware=("A", "C")), {"all"}),
        (lambda of: replace(of, items=(of.items[1], of.items[0], *of.items[2:])), {"all", "look"}),
    ],
)
def test_what_changes_the_meaning_of_a_stored_bit_moves_it(change: Change, moves: set[str]) -> None:
    assert moved(change) == moves


@pytest.mark.parametrize(
    "change",
    [
        lambda of: of,
        lambda of: replace(of, label="Gong", name="gong", prefix="gg", about="Rings"),
        lambda of: replace(of, code=0x1111, revision=9),  # stored or fed in by themselves
        lambda of: replace(of, hot=("U1",), supply=None, inside=None, first_preset=2),
        lambda of: replace(of, presets=()),
        lambda of: replace(of, modes=()),
        chip(endurance=5, brown_out=None, blank=0, hex_at=0x810000, size=512),
        chip(checksum=replace(CATALOGUE["crc-16/ibm-3740"], name="width 16 ...")),
        holds(state_saves=99, preset_saves=99),
        item("level", label="Loudness", default=3),
        item("level", notes=(Note(Signal.HELP, "Louder."),)),
        item("level", engine=Engine(form("u8"), AsStored())),
        # On a grid of steps the taper is the knob's business, not the code's.
        item("level", scale=stepped("%", "0", "100", "1", "10")),
        item("hum", scale=replace(HUM, unit=SPELLINGS["kHz"], first=Fraction(1, 50), last=Fraction(2),
                                  law=ThreePoint(Fraction(1, 5)))),
        item("chime", default=0),
        item("pitch", safe=1, probe="TP1", nominal=3),
        lambda of: replace(of, panel=tuple(
            replace(part, noise=9, ends=(3, 1000)) if isinstance(part, Knob) else part for part in of.panel
        )),
    ],
)
def test_what_does_not_change_it_leaves_every_fingerprint(change: Change) -> None:
    assert moved(change) == set()


def test_a_trial_and_a_release_have_the_same_fingerprints() -> None:
    released = plan(doorbell(), trial=False).value
    assert released is not None
    trial = laid_out(doorbell())
    assert replace(released, trial=True) == trial
    assert (released.revision_byte, trial.revision_byte) == (1, 0)


def test_each_is_of_the_lines_of_its_kinds() -> None:
    layout = laid_out(teasel_pinch())
    for kinds, found in (
        (ALL, layout.fingerprint),
        ((Kind.SETUP, Kind.PRESETS, Kind.STATE), layout.look_fingerprint),
        ((Kind.BENCH,), layout.bench_fingerprint),
    ):
        text = canonical(layout.product, layout.records, kinds)
        assert f"{found:08x}" == hashlib.sha256(text.encode()).hexdigest()[:8]
        assert [line.split()[1] for line in text.splitlines() if line.startswith("record ")] == [
            kind.value for kind in kinds
        ]


def test_the_form_is_plain_ascii_whatever_the_file_says() -> None:
    of = replace(doorbell(), hardware=("Grün\n", 'a"b'))
    layout = laid_out(of)
    text = canonical(of, layout.records, ALL)
    assert text.isascii() and text.endswith("\n") and "\n\n" not in text
    assert 'board "Gr\\u00fcn\\n"\nboard "a\\"b"\n' in text


def test_every_way_of_saying_what_a_code_means_has_its_lines() -> None:
    items: tuple[Item, ...] = (
        Param("a", "A", stepped("ms", "1", "2", "1", off_at_stop=True), 0),
        Param("b", "B", replace(HUM, law=Geometric()), 0),
        Param("c", "C", Scale(SPELLINGS["dBu"], Fraction(0), Fraction(-3), Straight(), Coded(2)), 0),
        Selector("d", "D", (Way("on", "On"), Way("off", "Off")), 0),
        Flag("e", "E", 0, kept_once=True),
        Trim("f", "F", stepped("kohm", "1", "2", "1/3"), 0),
    )
    of = replace(doorbell(), items=items, modes=(), presets=())
    text = canonical(of, laid_out(of).records, ALL)
    for lines in (
        "measures time\noff 0\nfirst 1/1000\neach 1/1000\n",
        "measures frequency\nfirst 20\nlast 2000\ncoded 5\nlaw geometric\n",
        "measures level-dbu\nfirst 0\nlast -3\ncoded 2\nlaw straight\n",
        "way on\nway off\n",
        "way off\nway on\n",
        "measures resistance\nfirst 1000\neach 1000/3\n",
    ):
        assert lines in text
