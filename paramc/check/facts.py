"""The product block: what the unit is, how it wakes and what it is fed with."""

from __future__ import annotations

import re
from collections.abc import Iterable

from paramc.check import bounds
from paramc.check.fact_rules import (
    FIRST_OUTSIDE_SLOTS,
    HARDWARE_LIST,
    LANGUAGE_FORM,
    PREFIX_FORM,
    SUPPLY_FORM,
    WAKES_FROM,
)
from paramc.check.known import Known
from paramc.check.statements import Statements, read_statements
from paramc.check.words import called, capital, listed, quoted
from paramc.frozen import dataclass
from paramc.model.items import Item, Selector
from paramc.model.product import Holds, Inside, Supply, Wakes
from paramc.numbers.units import Dimension
from paramc.syntax import nodes
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span

# Erased memory reads FFFF and zeroed memory 0000 where a unit keeps its product code.
LOWEST_CODE, HIGHEST_CODE = 0x0001, 0xFFFE
LOWEST_REVISION, HIGHEST_REVISION = 1, 254
MOST_HARDWARE = 255
LAST_SLOT = 255
WAKING_WAYS = ("bypassed", "engaged", "last")

_PREFIX = re.compile(r"[a-z]{1,8}")
_LANGUAGE = re.compile(r"[a-z]{2,3}")


@dataclass(frozen=True, slots=True)
class Facts:
    """What the product block says; fields as in model.product.Product.

    wakes_from and first_place keep their places, since slots and items are not known here.
    """

    name: str
    label: str
    code: int
    prefix: str
    revision: int
    hardware: tuple[str, ...]
    about: str | None
    language: str | None
    wakes: Wakes
    wakes_from: nodes.Name | None
    first_preset: int
    first_place: Span | None
    supply: Supply | None
    inside: Inside | None
    hot: tuple[str, ...]
    battery: tuple[str, ...]
    reads_from: int
    place: Span


def read_facts(block: nodes.Product, found: list[Diagnostic]) -> Facts | None:
    """The facts of a product block; None where one that has no default is missing or wrong."""
    owner = called("product", block.label.value)
    place = block.name.span
    said = read_statements(block.lines, owner, place, found, several=(nodes.Hot, nodes.Battery))
    code = _code(said, found)
    prefix = _prefix(said, found)
    revision = _revision(said, found)
    hardware = _hardware(said, found)
    language = _language(said, found)
    first = said.get(nodes.First)
    first_preset = _first(first, owner, found)
    supply = _supply(said.get(nodes.Supply), owner, found)
    if code is None or prefix is None or revision is None:
        return None
    about, inside, wakes = said.get(nodes.About), said.get(nodes.Inside), said.get(nodes.Wakes)
    return Facts(
        name=block.name.text,
        label=block.label.value,
        code=code,
        prefix=prefix,
        revision=revision,
        hardware=hardware,
        about=about.text.value if about else None,
        language=language,
        wakes=Wakes(wakes.how.text) if wakes and isinstance(wakes.how, nodes.Word) else Wakes.BYPASSED,
        wakes_from=wakes.how if wakes and isinstance(wakes.how, nodes.Name) else None,
        first_preset=first_preset,
        first_place=first.preset.span if first else None,
        supply=supply,
        inside=Inside(inside.kind.text) if inside else None,
        hot=tuple(line.text.value for line in block.lines if isinstance(line, nodes.Hot)),
        battery=tuple(line.text.value for line in block.lines if isinstance(line, nodes.Battery)),
        reads_from=_reads(said, revision, found),
        place=place,
    )


def check_first_preset(facts: Facts, holds: Holds, found: list[Diagnostic]) -> None:
    """The preset that the unit starts with is one of its slots."""
    if facts.first_preset > holds.preset_slots:
        owner = called("product", facts.label)
        ends = f"1 to {holds.preset_slots}"
        sentence = f"The first preset of {owner}, {facts.first_preset}, is outside its slots, {ends}."
        also = () if holds.place is None else (Mark(holds.place, "says how many"),)
        try_ = f"first preset {holds.preset_slots}"
        found.append(Diagnostic(FIRST_OUTSIDE_SLOTS, sentence, facts.first_place, also, try_=try_))


def check_wakes_from(facts: Facts, known: Known, items: Iterable[Item], found: list[Diagnostic]) -> None:
    """The item that says how the unit wakes is a selector whose ways can say it."""
    name = facts.wakes_from
    owner = called("product", facts.label)
    declared = None if name is None else known.item(name, owner, found)
    if name is None or declared is None:
        return
    if declared.kind != "selector":
        sentence = f"{capital(owner)} wakes from {declared}, which is no selector."
        found.append(Diagnostic(WAKES_FROM, sentence, name.span, (Mark(declared.place),)))
        return
    ways = (item.ways for item in items if isinstance(item, Selector) and item.name == name.text)
    for way in next(ways, ()):
        if way.name not in WAKING_WAYS:
            sentence = f"{capital(owner)} wakes from {declared}, whose way {way.name} says nothing of waking."
            because = (f"Its ways are named {listed(WAKING_WAYS, 'or')}.",)
            found.append(Diagnostic(WAKES_FROM, sentence, name.span, (Mark(declared.place),), because))


def _code(said: Statements, found: list[Diagnostic]) -> int | None:
    line = said.need(nodes.Code, "code 0x1234", found)
    if line is None:
        return None
    return bounds.whole(line.value, f"code of {said.owner}", LOWEST_CODE, HIGHEST_CODE, found)


def _revision(said: Statements, found: list[Diagnostic]) -> int | None:
    line = said.need(nodes.Revision, "revision 1", found)
    if line is None:
        return None
    what = f"revision of {said.owner}"
    return bounds.whole(line.value, what, LOWEST_REVISION, HIGHEST_REVISION, found)


def _reads(said: Statements, revision: int, found: list[Diagnostic]) -> int:
    line = said.get(nodes.Reads)
    if line is None:
        return LOWEST_REVISION
    what = f"first revision that {said.owner} reads"
    number = bounds.whole(line.revision, what, LOWEST_REVISION, revision, found)
    return LOWEST_REVISION if number is None else number


def _prefix(said: Statements, found: list[Diagnostic]) -> str | None:
    line = said.need(nodes.Prefix, f"prefix {_initial(said.place.text)}", found)
    if line is None or _PREFIX.fullmatch(line.value.text):
        return None if line is None else line.value.text
    letters = re.sub("[^a-z]", "", line.value.text)[:8]
    sentence = f"The prefix of {said.owner}, {line.value.text}, is not 1 to 8 letters a to z."
    try_ = f"prefix {letters or 'p'}"
    found.append(Diagnostic(PREFIX_FORM, sentence, line.value.span, try_=try_))
    return None


def _initial(name: str) -> str:
    """A prefix to propose: the first letters of the words of a name."""
    return "".join(word[0] for word in re.findall("[a-z]+", name))[:8] or "p"


def _hardware(said: Statements, found: list[Diagnostic]) -> tuple[str, ...]:
    line = said.get(nodes.Hardware)
    if line is None:
        return ()
    if len(line.names) > MOST_HARDWARE:
        sentence = f"There are {len(line.names)} board revisions in hardware; {MOST_HARDWARE} are the most."
        found.append(Diagnostic(HARDWARE_LIST, sentence, line.names[MOST_HARDWARE].span))
    first: dict[str, nodes.Text] = {}
    for name in line.names:
        if not name.value.strip():
            found.append(Diagnostic(HARDWARE_LIST, "A board revision in hardware has no name.", name.span))
            continue
        before = first.setdefault(name.value.casefold(), name)
        if before is not name:
            sentence = f"The board revision {quoted(name.value)} stands in hardware twice."
            also = (Mark(before.span, "first here"),)
            found.append(Diagnostic(HARDWARE_LIST, sentence, name.span, also))
    return tuple(name.value for name in line.names)


def _language(said: Statements, found: list[Diagnostic]) -> str | None:
    line = said.get(nodes.Language)
    if line is None:
        return None
    if not _LANGUAGE.fullmatch(line.value.text):
        sentence = f"The language of {said.owner}, {line.value.text}, is not two or three letters."
        try_ = f"language {line.value.text[:2]}"
        found.append(Diagnostic(LANGUAGE_FORM, sentence, line.value.span, try_=try_))
    return line.value.text


def _first(line: nodes.First | None, owner: str, found: list[Diagnostic]) -> int:
    if line is None:
        return 1
    number = bounds.whole(line.preset, f"first preset of {owner}", 1, LAST_SLOT, found)
    return 1 if number is None else number


def _supply(line: nodes.Supply | None, owner: str, found: list[Diagnostic]) -> Supply | None:
    if line is None:
        return None
    volts = bounds.measure(line.voltage, f"supply of {owner}", Dimension.VOLTAGE, found)
    amperes = bounds.measure(line.current, f"supply current of {owner}", Dimension.CURRENT, found)
    for what, value, node in (("voltage", volts, line.voltage), ("current", amperes, line.current)):
        if value is not None and value <= 0:
            sentence = f"The supply {what} of {owner}, {node.amount}, is not above zero."
            found.append(Diagnostic(SUPPLY_FORM, sentence, node.span))
    alternating = line.current_kind.text == "ac"
    polarity = line.polarity.text
    if alternating and polarity != "no polarity":
        sentence = f"The supply of {owner} is ac, which has no poles, and says {polarity}."
        also = (Mark(line.current_kind.span, "alternating"),)
        found.append(Diagnostic(SUPPLY_FORM, sentence, line.polarity.span, also, try_="no polarity"))
    if volts is None or amperes is None:
        return None
    words = (f"{line.voltage.amount} {line.current_kind.text}", polarity, str(line.current.amount))
    return Supply(volts, alternating, polarity, amperes, ", ".join(words))
