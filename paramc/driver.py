"""The stages in order: a source becomes a module, a product, a layout, and what comes out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from paramc.catalogue import RULES
from paramc.check.accept import apply_accepts
from paramc.check.check import check
from paramc.frozen import dataclass
from paramc.layout.layout import Layout
from paramc.layout.line import line as line_of
from paramc.layout.line_rules import RULES as LINE_RULES
from paramc.layout.plan import plan
from paramc.model.product import Product
from paramc.syntax.borrow import Joined, Reader, assembled, nothing_beside
from paramc.syntax.nodes import Module
from paramc.syntax.nodes import Product as Product_
from paramc.text.diagnostic import Checked, Diagnostic, Severity, has_stop, in_reading_order
from paramc.text.source import Source

if TYPE_CHECKING:
    from paramc.emit.artifact import Artifact
    from paramc.tables.choose import Known


@dataclass(frozen=True, slots=True)
class Understood:
    """What a source means and where it lies in memory. before: the releases that it follows."""

    product: Product
    layout: Layout
    before: tuple[Layout, ...] = ()


def understand(
    source: Source, released: Sequence[Layout] = (), *, trial: bool = True, read: Reader = nothing_beside
) -> Checked[Understood]:
    """Everything that can be said about a source, and its layout where no stop forbids it.

    released: every release of the product. trial: unless this very source is one of them, or about to be.
    read: gives the files that it borrows.
    The barriers are those of the stages: a text that cannot be read has no names to check, and a
    product with a stop has no layout.
    """
    return understood(module_of(assembled(source, read)), released, trial=trial)


def module_of(joined: Checked[Joined]) -> Checked[Module]:
    """The module of a source and of what it borrows."""
    return Checked(None if joined.value is None else joined.value.module, joined.diagnostics)


def understood(
    module: Checked[Module],
    released: Sequence[Layout] = (),
    *,
    trial: bool = True,
    tables: bool = True,
    known: Known | None = None,
) -> Checked[Understood]:
    """The same of a source that has been read. tables, known: as `plan` takes them."""
    if module.value is None:
        return Checked(None, module.diagnostics)
    product = check(module.value)
    if product.value is None or has_stop(product.diagnostics):
        return Checked(None, _settled(product.value, product.diagnostics))
    before, same = _sorted_out(product.value, released)
    layout = plan(product.value, trial=trial, before=before, tables=tables, known=known)
    again: tuple[Diagnostic, ...] = ()
    if trial and released:
        # Here, because most products that are checked have no release yet.
        from paramc.image.again import against

        again = against(product.value, layout.value, same, released)
    # What breaks with older releases is news only where the file is not about to take another number.
    of_layout = () if same is not None and has_stop(again) else layout.diagnostics
    said = _settled(product.value, product.diagnostics + of_layout + again)
    if layout.value is None or has_stop(said):
        return Checked(None, said)
    return Checked(Understood(product.value, layout.value, before), said)


def line(products: Sequence[Understood]) -> tuple[Diagnostic, ...]:
    """What is wrong between several products, without the mends that the one told of accepts, in reading
    order. Each product by itself is not looked at."""
    accepted = {
        (one.product.place.source.name, accept.rule, accept.subject)
        for one in products if one.product.place is not None for accept in one.product.accepts
    }

    def is_open(found: Diagnostic) -> bool:
        file = "" if found.place is None else found.place.source.name
        meets = {(file, found.rule.name, ""), (file, found.rule.name, found.subject)} & accepted
        return not meets or found.severity is Severity.STOP

    told = line_of([one.layout for one in products])
    return in_reading_order([found for found in told if is_open(found)])


def product_name(module: Module) -> str | None:
    """The name of the product that a file is of, by which its releases are found; None where it has none."""
    return next((block.name.text for block in module.blocks if isinstance(block, Product_)), None)


def outputs(layout: Layout, before: Sequence[Layout] = ()) -> tuple[Artifact, ...]:
    """Everything that a build writes but for the depfile, which speaks of folders. before: the releases with
    lower revisions, whose records the firmware reads."""
    # Here, because a check needs neither templates nor images.
    from paramc.emit.artifact import Artifact
    from paramc.emit.c import emit_c
    from paramc.emit.presets_schema import presets_schema
    from paramc.emit.vectors import vectors
    from paramc.image.factory import factory_image, look_pieces
    from paramc.image.files import Chunk, hex_of, to_hex, to_srec
    from paramc.image.older import old_records
    from paramc.image.record_vectors import record_vectors
    from paramc.layout.json_form import to_json

    name, start = layout.product.name, layout.product.chip.hex_at
    factory = factory_image(layout)
    look = [Chunk(start + piece.address, piece.data) for piece in look_pieces(layout, factory)]
    return (
        *emit_c(layout, old_records(layout, before)),
        Artifact(f"{name}.factory.hex", to_hex(start, factory)),
        Artifact(f"{name}.factory.srec", to_srec(start, factory, name)),
        Artifact(f"{name}.factory.bin", factory),
        Artifact(f"{name}.look.hex", hex_of(look)),
        Artifact(f"{name}.layout.json", to_json(layout)),
        Artifact(f"{name}.presets.schema.json", presets_schema(layout)),
        Artifact(f"{name}.vectors.json", vectors(layout, factory, record_vectors(layout))),
    )


def _sorted_out(product: Product, released: Sequence[Layout]) -> tuple[tuple[Layout, ...], Layout | None]:
    """Of the releases of a product those that come before its revision, and the one of its own."""
    before = tuple(one for one in released if one.product.revision < product.revision)
    return before, next((one for one in released if one.product.revision == product.revision), None)


def _settled(product: Product | None, said: tuple[Diagnostic, ...]) -> tuple[Diagnostic, ...]:
    """Without the mends that the product accepts, in reading order."""
    if product is not None:
        said = apply_accepts(product.accepts, said, RULES, frozenset(rule.name for rule in LINE_RULES))
    return in_reading_order(said)
