"""How the unit starts: the conditions of P_start, and how the header says them."""

from __future__ import annotations

from paramc.emit.constants import unsigned
from paramc.frozen import dataclass
from paramc.layout.layout import Kind, Layout
from paramc.model.items import Selector
from paramc.model.product import IfLost, Product, Wakes


@dataclass(frozen=True, slots=True)
class WakesWay:
    """A way of the selector that says how the unit wakes, and the start that it asks for."""

    code: str
    start: str


@dataclass(frozen=True, slots=True)
class Start:
    """unanswered, unknown: conditions in C. text: the comment. start: the answer where all is well."""

    unanswered: str
    unknown: str
    lost_mutes: bool
    lost_bypasses: bool
    wakes_from: bool
    selector: str
    ways: tuple[WakesWay, ...]
    start: str
    uses_look: bool
    text: str


def start_of(layout: Layout) -> Start:
    """The start of a product.

    Whatever the file says of waking, the unit is not engaged while it does not know its memory. Trims
    count where there are any; setup counts where the way to wake is kept in it.
    """
    product = layout.product
    upper = product.prefix.upper()
    trims = bool(product.trims) and layout.record(Kind.BENCH) is not None
    selector = None if product.wakes_from is None else product.item(product.wakes_from)
    assert selector is None or isinstance(selector, Selector)
    setup = selector is not None and selector.kept_once
    asked = [name for name, said in (("trims", trims), ("setup", setup), ("state", True)) if said]
    known = [name for name in asked if name != "trims"]

    def loaded(name: str) -> str:
        return f"store->loaded[{upper}_{'BENCH' if name == 'trims' else name.upper()}_]"

    words = {
        "bypassed": f"{upper}_BYPASSED",
        "engaged": f"{upper}_ENGAGED",
        "last": f"(look->engaged != 0u) ? {upper}_ENGAGED : {upper}_BYPASSED",
    }
    start = {
        Wakes.BYPASSED: words["bypassed"], Wakes.ENGAGED: words["engaged"], Wakes.AS_IT_WAS: words["last"],
    }[product.wakes]  # fmt: skip
    ways = () if selector is None else tuple(
        WakesWay(unsigned(code), words[way.name])
        for code, way in zip(selector.places, selector.ways, strict=True)
    )
    return Start(
        # A load's answer is kept with the bit of P_MORE turned round.
        unanswered=" || ".join(
            [f"(store->unit >= {upper}_MORE)", *(f"({loaded(name)} < {upper}_MORE)" for name in asked)]
        ),
        unknown=" || ".join(
            [
                f"(store->unit == {upper}_{word})"
                for word in ("BLANK", "NEWER", "TRIAL", "FOREIGN")
            ]
            + [f"({loaded(name)} > ({upper}_OLDER ^ {upper}_MORE))" for name in known]
        ),
        lost_mutes=trims and product.holds.if_lost is IfLost.MUTE,
        lost_bypasses=trims and product.holds.if_lost is IfLost.BYPASS,
        wakes_from=selector is not None,
        selector="" if selector is None else selector.name,
        ways=ways,
        start=start,
        uses_look=selector is not None or product.wakes is Wakes.AS_IT_WAS,
        text=_text(product, upper, asked, known, trims),
    )


def _text(product: Product, upper: str, asked: list[str], known: list[str], trims: bool) -> str:
    lost = ""
    if trims and product.holds.if_lost is not IfLost.PLAY:
        muted = product.holds.if_lost is IfLost.MUTE
        lost = f" Lost trims: {upper}_{'MUTED' if muted else 'BYPASSED'}."
    if product.wakes_from is not None:
        wakes = f"as {product.wakes_from} says"
    else:
        wakes = {
            Wakes.BYPASSED: f"{upper}_BYPASSED", Wakes.ENGAGED: f"{upper}_ENGAGED",
            Wakes.AS_IT_WAS: "as the unit was left",
        }[product.wakes]  # fmt: skip
    return (
        f"How to start, from the answers so far. Until {upper.lower()}_open_step is through and"
        f" {_and(asked)} loaded without {upper}_AGAIN or {upper}_REFUSED: {upper}_MUTED.{lost} Where the"
        f" memory is blank, foreign, newer or a trial's, or has no good copy of {_or(known)}:"
        f" {upper}_BYPASSED. Otherwise {wakes}. look is what was loaded."
    )


def _and(words: list[str], word: str = "and") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {word} {words[-1]}"


def _or(words: list[str]) -> str:
    return _and(words, "or")
