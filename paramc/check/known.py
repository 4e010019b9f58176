"""What a file declares, whether or not it could be made: a name whose block failed is still known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace

from paramc.check.name_rules import UNKNOWN_NAME
from paramc.check.nearest import Nearest
from paramc.check.words import called, capital, counted, short
from paramc.frozen import dataclass
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span

_USES_SHOWN = 5


@dataclass(frozen=True, slots=True)
class Declared:
    """A control or item as it was declared: kind and label as messages call it, and where."""

    kind: str
    label: str
    place: Span

    def __str__(self) -> str:
        return called(self.kind, self.label)


@dataclass(frozen=True, slots=True)
class Known:
    """The items and controls of a file by name, the first of each."""

    items: Mapping[str, Declared]
    controls: Mapping[str, Declared]
    _near_items: Nearest = field(init=False, repr=False, compare=False)
    _near_controls: Nearest = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_near_items", Nearest(self.items))
        object.__setattr__(self, "_near_controls", Nearest(self.controls))

    def item(self, name: nodes.Name, what: str, found: list[Diagnostic]) -> Declared | None:
        """The item of a name; a stop where there is none. what: who speaks of it: mode "Deep"."""
        item = self.items.get(name.text)
        if item is None:
            sentence = f"{capital(what)} speaks of an item {short(name.text)}, and there is none."
            try_ = self._near_items.to(name.text) or ""
            found.append(Diagnostic(UNKNOWN_NAME, sentence, name.span, try_=try_))
        return item

    def control(self, name: nodes.Control, what: str, found: list[Diagnostic]) -> Declared | None:
        """The control of a name; a stop where there is none."""
        control = self.controls.get(name.text)
        if control is None:
            sentence = f"{capital(what)} speaks of a control {short(name.text)}, and the panel has none."
            try_ = self._near_controls.to(name.text) or ""
            found.append(Diagnostic(UNKNOWN_NAME, sentence, name.span, try_=try_))
        return control


def known(items: Iterable[nodes.Item], panels: Iterable[nodes.Panel]) -> Known:
    """Everything that these blocks declare."""
    named: dict[str, Declared] = {}
    for item in items:
        named.setdefault(item.name.text, Declared(item.kind.text, item.label.value, item.name.span))
    parts: dict[str, Declared] = {}
    for panel in panels:
        for group in panel.controls:
            for part in group.parts:
                declared = Declared(group.kind.text, part.label.value, part.control.span)
                parts.setdefault(part.control.text, declared)
    return Known(named, parts)


def each_name_once(found: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """The same diagnostics, those about one unknown name drawn together into the first of them.

    A name that was mistyped where it is declared is one mistake, however often it is used.
    """
    uses: dict[str, list[Diagnostic]] = {}
    kept = []
    for one in found:
        if one.rule is not UNKNOWN_NAME or one.place is None:
            kept.append(one)
            continue
        same = uses.setdefault(one.place.text, [])
        if not same:
            kept.append(one)
        same.append(one)
    return tuple(
        _with_uses(one, uses[one.place.text]) if one.rule is UNKNOWN_NAME and one.place else one
        for one in kept
    )


def _with_uses(first: Diagnostic, all_of_them: list[Diagnostic]) -> Diagnostic:
    places = [one.place for one in all_of_them[1:] if one.place is not None]
    also = tuple(Mark(place, "spoken of here too") for place in places[:_USES_SHOWN])
    left = len(places) - len(also)
    because = (f"It is spoken of in {counted(left, 'more place')}.",) if left else ()
    return replace(first, also=first.also + also, because=first.because + because)
