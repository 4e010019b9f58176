"""Product -> Layout: the floor's way through, on one screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from paramc.layout.earlier.envelope import fixed_records, too_much, within
from paramc.layout.earlier.follow import follow
from paramc.layout.earlier.things import earlier
from paramc.layout.fields import contents
from paramc.layout.fingerprint import fingerprints
from paramc.layout.layout import FORMAT, EngineTable, KnobTable, Layout
from paramc.layout.mends import mends
from paramc.layout.places import placed
from paramc.layout.promises import promise_stops
from paramc.layout.settle import settled
from paramc.layout.texts import safety_texts
from paramc.model.product import Product
from paramc.text.diagnostic import Checked

if TYPE_CHECKING:
    from paramc.tables.choose import Known


def plan(
    product: Product,
    *,
    trial: bool = True,
    before: Sequence[Layout] = (),
    tables: bool = True,
    known: Known | None = None,
) -> Checked[Layout]:
    """Where everything of a product lies and what each bit means; None where it does not fit.

    trial: no release froze the source that the product comes from. before: the releases of the product
    with lower revisions, whose numbers, places and envelope are kept. The layout's product has settled
    what its file leaves open. tables: False leaves them out, for who wants to hear what there is to say and
    makes nothing of the layout. known: what was fitted before, which is not fitted again.
    """
    past = earlier(before)
    next_one = follow(product, past)
    if next_one.value is None:
        return Checked(None, next_one.diagnostics)
    product = replace(next_one.value, holds=settled(next_one.value))
    needed = within(contents(product, past), past)
    found = (*next_one.diagnostics, *mends(product, needed))
    over = too_much(product, needed, past)
    if over:
        return Checked(None, (*over, *found))
    broken = tuple(promise_stops(product, ()))
    if broken:
        return Checked(None, (*broken, *found))
    records = placed(product.chip, needed, fixed_records(past))
    whole, look, bench = fingerprints(product, records)
    engines, knobs = _fitted(product, known) if tables else ((), ())
    layout = Layout(
        format=FORMAT,
        product=product,
        trial=trial,
        fingerprint=whole,
        look_fingerprint=look,
        bench_fingerprint=bench,
        records=records,
        engines=engines,
        knobs=knobs,
        texts=safety_texts(product),
    )
    return Checked(layout, found)


def _fitted(
    product: Product, known: Known | None
) -> tuple[tuple[EngineTable, ...], tuple[KnobTable, ...]]:
    # Here, because a check fits no table.
    from paramc.layout.fitted import fitted_tables

    return fitted_tables(product, known)
