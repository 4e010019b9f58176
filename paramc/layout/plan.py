"""Product -> Layout: the floor's way through, on one screen."""

from __future__ import annotations

from paramc.layout.engines import engine_tables
from paramc.layout.fields import contents
from paramc.layout.fingerprint import fingerprints
from paramc.layout.knobs import knob_tables
from paramc.layout.layout import FORMAT, Layout
from paramc.layout.mends import mends
from paramc.layout.places import placed
from paramc.layout.room import does_not_fit
from paramc.layout.texts import safety_texts
from paramc.model.product import Product
from paramc.text.diagnostic import Checked


def plan(product: Product, *, trial: bool = True) -> Checked[Layout]:
    """Where everything of a product lies and what each bit means; None where it does not fit.

    trial: no release froze the source that the product comes from.
    """
    needed = contents(product)
    found = tuple(mends(product, needed))
    over = does_not_fit(product, needed)
    if over is not None:
        return Checked(None, (over, *found))
    records = placed(product.chip, needed)
    whole, look, bench = fingerprints(product, records)
    layout = Layout(
        format=FORMAT,
        product=product,
        trial=trial,
        fingerprint=whole,
        look_fingerprint=look,
        bench_fingerprint=bench,
        records=records,
        engines=engine_tables(product),
        knobs=knob_tables(product),
        texts=safety_texts(product),
    )
    return Checked(layout, found)
