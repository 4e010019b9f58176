"""A product as the next revision of what was released: held to it, with its places and counts."""

from __future__ import annotations

from paramc.layout.earlier.controllers import controllers
from paramc.layout.earlier.envelope import changed, with_counts
from paramc.layout.earlier.followed import followed
from paramc.layout.earlier.things import Earlier
from paramc.layout.earlier.ways import with_places
from paramc.model.product import Product
from paramc.text.diagnostic import Checked, Diagnostic, has_stop


def follow(product: Product, past: Earlier) -> Checked[Product]:
    """The product with what the releases leave to it; None where something in it breaks with them.

    Without a release it is the product itself.
    """
    if not past.layouts:
        return Checked(product)
    found: list[Diagnostic] = [*followed(product, past), *controllers(product, past)]
    product = with_counts(with_places(product, past, found), past)
    found += changed(product, past)
    return Checked(None if has_stop(found) else product, tuple(found))
