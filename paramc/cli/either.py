"""A layout from whatever has one: a release, a layout file, or a product file with its releases."""

from __future__ import annotations

from paramc.cli import say
from paramc.cli.files import Trouble, read_bytes
from paramc.cli.layouts import read_layout
from paramc.cli.releases import layouts_of
from paramc.cli.renderers import text
from paramc.cli.say import plain
from paramc.cli.understanding import read_product
from paramc.driver import understood
from paramc.layout.json_form import LARGEST_FILE
from paramc.layout.layout import Layout
from paramc.layout.plan import plan
from paramc.text.diagnostic import has_stop


def layout_of(path: str, before: Layout | None = None) -> Layout:
    """The layout of a release, a layout file or a product file with its releases. Raises Trouble.

    before: what a product file is compared with; where it is an earlier revision that is not released, the
    file is taken for what follows it.
    """
    if read_bytes(path, LARGEST_FILE).lstrip()[:1] == b"{":
        return read_layout(path).layout
    read = read_product(path)
    released = layouts_of(read.releases)
    if read.frozen is not None or before is None:
        answer = read.understood()
    else:
        known = {layout.product.revision for layout in released}
        alone = plan(before.product, trial=False, before=_before(before, released), tables=False).value
        first = before.trial and before.product.revision not in known and alone is not None
        own = understood(read.module, released, tables=False).value
        follows = own is not None and own.product.revision > before.product.revision
        more = (alone,) if first and follows and alone is not None else ()
        answer = understood(read.module, (*released, *more))
    if answer.value is None or has_stop(answer.diagnostics):
        say.person(*text.render(answer.diagnostics).splitlines(), "")
        raise Trouble(f"{plain(path)} has stops, so there is nothing to compare or show.")
    return answer.value.layout


def _before(layout: Layout, released: tuple[Layout, ...]) -> tuple[Layout, ...]:
    return tuple(one for one in released if one.product.revision < layout.product.revision)
