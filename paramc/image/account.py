"""What a memory says, in plain words: the data that decode prints and other programs read.

decode.schema.json beside this file is the published form of it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final

from paramc.frozen import dataclass
from paramc.image.codes import code_text
from paramc.image.convert import Moved
from paramc.image.factory import factory_values
from paramc.image.memory import Answer, Contents, Held, Number, UnitAnswer
from paramc.image.recognise import Recognised, Stray
from paramc.image.records import State, text_bytes
from paramc.image.revisions import Carry
from paramc.layout.codec import Codec, Derived, Json
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record
from paramc.model.items import Item, Selector, Trim, is_in_use
from paramc.numbers.real import compare

FORMAT = 1
"""The number of the form of this data."""


@dataclass(frozen=True, slots=True)
class Value:
    """An item's code and what it stands for.

    value: as a person writes it; meaning: the label of a selector's way, None of anything else.
    in_use: whether the code means anything; one that does not plays as the item's default, which
    is then the value. factory: what a new unit has here.
    """

    item: str
    label: str
    code: int
    in_use: bool
    value: str
    meaning: str | None
    factory: str

    @property
    def differs(self) -> bool:
        """Whether the unit plays another value than a new one."""
        return self.value != self.factory


@dataclass(frozen=True, slots=True)
class TrimValue:
    """A trim. measured: on this unit, else nominal; plausible: whether the value lies where it should."""

    item: str
    label: str
    code: int
    in_use: bool
    value: str
    measured: bool
    plausible: bool


@dataclass(frozen=True, slots=True)
class Ends:
    """The ADC counts of a control at both ends of its turn."""

    control: str
    label: str
    low: int
    high: int
    measured: bool


@dataclass(frozen=True, slots=True)
class Identity:
    """Whose memory it is; everything but the answer is None where no copy is sound."""

    answer: Answer
    product_code: str | None
    serial: str | None
    hardware: str | None
    fingerprint: str | None
    trial: bool | None


@dataclass(frozen=True, slots=True)
class Bench:
    """What was measured on the unit."""

    answer: Answer
    trims: tuple[TrimValue, ...]
    ends: tuple[Ends, ...]


@dataclass(frozen=True, slots=True)
class Preset:
    """A slot. name: None where the product's presets have none in memory; factory_label: the factory
    sound of the slot, None where it has none; values: () unless sound."""

    number: int
    answer: Answer
    name: str | None
    factory_label: str | None
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Setup:
    """What is kept once."""

    answer: Answer
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Playing:
    """What plays now. last_preset: from 1; None where the stored number is no slot."""

    answer: Answer
    last_preset: int | None
    engaged: bool | None
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """One place. preset: the one that it holds, from 1; None where it holds none or is no preset's.
    revision: the one that saved what it holds, 0 a trial; None unless its checksum holds. of: whose record
    it is, where it is another product's."""

    kind: Kind
    address: int
    state: State
    preset: int | None
    revision: int | None
    of: str | None


@dataclass(frozen=True, slots=True)
class FromRevision:
    """A record that another revision saved, and its values on their way to this one. preset: from 1; None
    of a record that is no preset's."""

    kind: Kind
    preset: int | None
    revision: int
    values: tuple[Moved, ...]


@dataclass(frozen=True, slots=True)
class Account:
    """The whole of it. answer: of the unit, as its firmware would give it; shift: by how many bytes its
    memory stands too high in the dump; bench, setup: None where the product has none; missing: revisions
    that saved something which counts and whose release is not at hand."""

    format: int
    product: str
    label: str
    code: str
    revision: int
    trial: bool
    fingerprint: str
    answer: UnitAnswer
    shift: int
    identity: Identity
    bench: Bench | None
    presets: tuple[Preset, ...]
    setup: Setup | None
    state: Playing
    places: tuple[Place, ...]
    carried: tuple[FromRevision, ...]
    missing: tuple[int, ...]


_DIFFERS: Final = Derived(
    "differs", bool, lambda whole, it: it.differs, "Whether the unit plays another value than a new one."
)
_CODEC: Final = Codec(Account, MappingProxyType({Value: (_DIFFERS,)}))


def account_value(said: Account) -> Json:
    """An account as a JSON value."""
    return _CODEC.encode(said)


def refusal_value(problems: tuple[str, ...]) -> Json:
    """What stands in place of an account where the dump could not be read, as a JSON value."""
    return {"format": FORMAT, "problems": list(problems)}


def account_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of either."""
    made = _CODEC.schema()
    refusal = {
        "description": "Why the dump could not be read: whole sentences.",
        "type": "object",
        "properties": {
            "format": {"const": FORMAT},
            "problems": {"type": "array", "items": {"type": "string"}, "minItems": 1},
        },
        "required": ["format", "problems"],
        "additionalProperties": False,
    }
    made["$defs"]["Account"]["properties"]["format"] = {"const": FORMAT}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:paramc:decode:{FORMAT}",
        "title": "What a dump of a product's memory says",
        "anyOf": [{"$ref": made["$ref"]}, {"$ref": "#/$defs/Refusal"}],
        "$defs": {**made["$defs"], "Refusal": refusal},
    }


def schema_file() -> bytes:
    """The bytes of decode.schema.json."""
    return (json.dumps(account_schema(), indent=1, ensure_ascii=True) + "\n").encode("ascii")


def account_of(found: Recognised) -> Account:
    """What a dump says."""
    chosen = found.chosen
    said = account(chosen.contents, chosen.carried, found.strays)
    return replace(said, shift=found.shift, missing=chosen.missing)


def account(contents: Contents, carried: Sequence[Carry] = (), strays: Sequence[Stray] = ()) -> Account:
    """What a memory says. carried: the records in it that other revisions saved; strays: those of other
    products."""
    layout = contents.layout
    product = layout.product
    held = {held.record.kind: held for held in contents.kinds}
    return Account(
        format=FORMAT,
        product=product.name,
        label=product.label,
        code=f"0x{product.code:04X}",
        revision=product.revision,
        trial=layout.trial,
        fingerprint=f"{layout.fingerprint:08X}",
        answer=contents.answer,
        shift=0,
        identity=_identity(contents, held[Kind.IDENTITY].numbers[0].answer),
        bench=_bench(layout, held[Kind.BENCH]) if Kind.BENCH in held else None,
        presets=tuple(_preset(layout, held[Kind.PRESETS], one) for one in held[Kind.PRESETS].numbers),
        setup=_setup(layout, held[Kind.SETUP]) if Kind.SETUP in held else None,
        state=_state(layout, held[Kind.STATE]),
        places=tuple(_places(contents, strays)),
        carried=tuple(
            FromRevision(
                one.kind, one.number + 1 if one.kind is Kind.PRESETS else None, one.revision, one.values
            )
            for one in carried
        ),
        missing=(),
    )


def _identity(contents: Contents, answer: Answer) -> Identity:
    identity = contents.identity
    if identity is None:
        return Identity(answer, None, None, None, None, None)
    # A board that this revision does not fit any more has its name in an earlier one.
    boards = {
        place: name
        for layout in (*contents.at_hand, contents.layout)
        for place, name in layout.product.boards.items()
    }
    hardware = None
    if identity.hardware is not None:
        hardware = boards.get(identity.hardware, f"number {identity.hardware}, which is not known")
    return Identity(
        answer=answer,
        product_code=f"0x{identity.product_code:04X}",
        serial=identity.serial,
        hardware=hardware,
        fingerprint=f"{identity.fingerprint:08X}",
        trial=identity.trial,
    )


def _bench(layout: Layout, held: Held) -> Bench:
    number = held.numbers[0]
    if number.values is None:
        return Bench(number.answer, (), ())
    trims = []
    ends = []
    told = list(zip(held.record.fields, number.values, strict=True))
    for at, (field, value) in enumerate(told):
        if field.kind is FieldKind.ITEM:
            trims.append(_trim(layout, field.name, value, bool(told[at + 1][1])))
        elif field.kind is FieldKind.END_LOW:
            control = field.name.removesuffix("_low").upper()
            label = layout.product.control(control).label
            ends.append(Ends(control, label, value, told[at + 1][1], bool(told[at + 2][1])))
    return Bench(number.answer, tuple(trims), tuple(ends))


def _trim(layout: Layout, name: str, code: int, measured: bool) -> TrimValue:
    trim = layout.product.item(name)
    assert isinstance(trim, Trim)
    played = _played(trim, code)
    plausible = True
    if trim.plausible is not None:
        value = trim.scale.value(played)
        low, high = trim.plausible
        plausible = compare(low, value) <= 0 <= compare(high, value)
    return TrimValue(name, trim.label, code, played == code, code_text(trim, played), measured, plausible)


def _preset(layout: Layout, held: Held, number: Number) -> Preset:
    factory = next(
        (preset.label for preset in layout.product.presets if preset.number == number.number + 1), None
    )
    name = None
    for field, value in zip(held.record.fields, number.values or (), strict=False):
        if field.kind is FieldKind.NAME:
            name = text_bytes(value, field, held.record.order).decode("utf-8", "backslashreplace")
    values = _values(layout, held.record, number)
    return Preset(number.number + 1, number.answer, name, factory, values)


def _setup(layout: Layout, held: Held) -> Setup:
    return Setup(held.numbers[0].answer, _values(layout, held.record, held.numbers[0]))


def _state(layout: Layout, held: Held) -> Playing:
    number = held.numbers[0]
    if number.values is None:
        return Playing(number.answer, None, None, ())
    said = {field.kind: value for field, value in zip(held.record.fields, number.values, strict=True)}
    last = said[FieldKind.LAST_PRESET]
    return Playing(
        answer=number.answer,
        last_preset=last + 1 if last < layout.product.holds.preset_slots else None,
        engaged=bool(said[FieldKind.ENGAGED]),
        values=_values(layout, held.record, number),
    )


def _values(layout: Layout, record: Record, number: Number) -> tuple[Value, ...]:
    """The items of a sound record; () of any other."""
    if number.values is None:
        return ()
    factory = factory_values(layout, record, number.number)
    fields: Iterator[tuple[Field, int, int]] = zip(record.fields, number.values, factory, strict=True)
    return tuple(
        _value(layout.product.item(field.name), code, made)
        for field, code, made in fields
        if field.kind is FieldKind.ITEM
    )


def _value(item: Item, code: int, made: int) -> Value:
    played = _played(item, code)
    return Value(
        item=item.name,
        label=item.label,
        code=code,
        in_use=played == code,
        value=code_text(item, played),
        meaning=item.way(played).label if isinstance(item, Selector) else None,
        factory=code_text(item, made),
    )


def _played(item: Item, code: int) -> int:
    """The code that the firmware plays: one that is not in use counts as the default."""
    return code if is_in_use(item, code) else item.default


def _places(contents: Contents, strays: Sequence[Stray]) -> Iterator[Place]:
    whose = {(stray.kind, stray.address): stray.of for stray in strays}
    for held in contents.kinds:
        kind = held.record.kind
        for place in held.places:
            holds = place.number is not None
            preset = place.number + 1 if place.number is not None and kind is Kind.PRESETS else None
            revision = place.revision if holds else None
            of = whose.get((kind, place.address))
            yield Place(kind, place.address, place.state, preset, revision, of)
