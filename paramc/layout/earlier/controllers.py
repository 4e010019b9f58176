"""MIDI controllers: a number keeps its item for good, so that what players have set up goes on working."""

from __future__ import annotations

from collections.abc import Iterator

from paramc.check.words import called, capital
from paramc.layout.earlier.rules import CC_AGAIN, CC_MOVED
from paramc.layout.earlier.things import Earlier
from paramc.model.items import Item, kind_word
from paramc.model.midi import Cc
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic


def controllers(product: Product, past: Earlier) -> Iterator[Diagnostic]:
    """Numbers that set something else before, and items that had another number in the last release."""
    if product.midi is None:
        return
    register = _register(past)
    for cc in product.midi.ccs:
        item = product.item(cc.item)
        number = past.number_of(item)
        taken = next((one for one in cc.numbers if one in register and register[one][0] != number), None)
        if taken is not None:
            _, revision, before = register[taken]
            now, then = called(kind_word(item), item.label), called(kind_word(before), before.label)
            sentence = f"Controller {taken} sets {now}, and in revision {revision} it set {then}."
            yield Diagnostic(CC_AGAIN, sentence, cc.place, try_="Take a number that no release has used.")
            continue
        was = None if number is None else _last(past, number)
        if was is not None and (was.number, was.fine) != (cc.number, cc.fine):
            owner = capital(called(kind_word(item), item.label))
            sentence = f"{owner} has controller {_text(cc)}, and in the last release it had {_text(was)}."
            yield Diagnostic(CC_MOVED, sentence, cc.place, try_=f"cc {_text(was)}", subject=item.name)


def _register(past: Earlier) -> dict[int, tuple[int, int, Item]]:
    """For each controller of a release: its item's permanent number, the first revision, and the item."""
    register: dict[int, tuple[int, int, Item]] = {}
    for layout in past.layouts:
        midi = layout.product.midi
        for cc in () if midi is None else midi.ccs:
            for number in cc.numbers:
                item = layout.product.item(cc.item)
                register.setdefault(number, (past.by_name[cc.item], layout.product.revision, item))
    return register


def _last(past: Earlier, number: int) -> Cc | None:
    """The controller that a thing had in the last release."""
    midi = past.layouts[-1].product.midi
    ccs = () if midi is None else midi.ccs
    return next((cc for cc in ccs if past.by_name[cc.item] == number), None)


def _text(cc: Cc) -> str:
    return f"{cc.number} fine" if cc.fine else str(cc.number)
