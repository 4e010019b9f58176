"""A product against the release of its own revision, and those of later ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from paramc.image.codes import code_text
from paramc.image.factory import factory_values
from paramc.image.records import text_bytes
from paramc.layout.earlier.rules import RELEASED_LAYOUT, RELEASED_VALUES, REVISION_BEHIND
from paramc.layout.fingerprint import canonical
from paramc.layout.layout import Field, FieldKind, Kind, Layout, Record
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic

_SHOWN = 8
_OF_THE_BUILD = (FieldKind.FINGERPRINT, FieldKind.TRIAL)


def against(
    product: Product, layout: Layout | None, same: Layout | None, released: Sequence[Layout]
) -> tuple[Diagnostic, ...]:
    """What a file that is no release itself has to be told of its revision's number.

    layout: of the product, None where none could be made. same: the release of its revision.
    """
    highest = max((one.product.revision for one in released), default=0)
    write = f"revision {highest + 1}"
    if same is None:
        if product.revision > highest:
            return ()
        sentence = f"The file writes revision {product.revision}, and revision {highest} is released."
        return (Diagnostic(REVISION_BEHIND, sentence, product.place, try_=write),)
    number = same.product.revision
    if layout is None or layout.fingerprint != same.fingerprint:
        sentence = f"Revision {number} is released, and the file writes another layout under its number."
        facts = () if layout is None else tuple(_other_layout(layout, same))
        return (Diagnostic(RELEASED_LAYOUT, sentence, product.place, because=facts, try_=write),)
    facts = tuple(_other_values(layout, same))
    if not facts:
        return ()
    sentence = f"Revision {number} is released, and the file gives its new units other values."
    shown = facts if len(facts) <= _SHOWN else (*facts[: _SHOWN - 1], f"And {len(facts) - _SHOWN + 1} more.")
    return (Diagnostic(RELEASED_VALUES, sentence, product.place, because=shown, try_=write),)


def _other_layout(layout: Layout, same: Layout) -> Iterator[str]:
    kinds = {record.kind for one in (layout, same) for record in one.records}
    for kind in Kind:
        if kind not in kinds:
            continue
        now, was = (_fields(one, kind) for one in (layout, same))
        for names, what in ((now - was, "New in"), (was - now, "Gone from")):
            if names:
                yield f"{what} {kind.value}: {', '.join(islice(sorted(names), _SHOWN))}."
        texts = [canonical(one.product, one.records, (kind,)) for one in (layout, same)]
        if now == was and texts[0] != texts[1]:
            yield f"What is stored in {kind.value} means something else."


def _fields(layout: Layout, kind: Kind) -> set[str]:
    record = layout.record(kind)
    return set() if record is None else {field.name for field in record.fields}


def _other_values(layout: Layout, same: Layout) -> Iterator[str]:
    """What a new unit has otherwise, of two layouts of one meaning."""
    for record in layout.records:
        for number in range(record.numbers):
            where = f"preset {number + 1}" if record.kind is Kind.PRESETS else record.kind.value
            values = zip(
                record.fields,
                factory_values(layout, record, number),
                factory_values(same, record, number),
                strict=True,
            )
            for field, now, was in values:
                if now != was and field.kind not in _OF_THE_BUILD:
                    texts = (_text(layout, record, field, value) for value in (now, was))
                    yield f"In {where}, {field.name} is {next(texts)}, released as {next(texts)}."


def _text(layout: Layout, record: Record, field: Field, value: int) -> str:
    match field.kind:
        case FieldKind.ITEM:
            return code_text(layout.product.item(field.name), value)
        case FieldKind.NAME:
            name = text_bytes(value, field, record.order).decode("utf-8", "replace")
            return f'"{name}"'
        case FieldKind.LAST_PRESET:
            return str(value + 1)
        case FieldKind.ENGAGED:
            return "engaged" if value else "bypassed"
        case _:
            return str(value)
