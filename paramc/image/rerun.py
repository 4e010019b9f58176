"""A unit of a list as it is to be stamped, by what a log knows of it: what was measured once stays."""

from __future__ import annotations

from collections.abc import Collection

from paramc.frozen import dataclass
from paramc.image.codes import Meant, code_text, meant_by
from paramc.image.log import Attempt, LoggedTrim
from paramc.image.stamp import Unit
from paramc.layout.layout import Layout
from paramc.model.items import Trim
from paramc.model.product import Product
from paramc.numbers.real import compare

HARDWARE = "hardware"
"""The word by which a board revision is taken anew."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A unit that is to be stamped. trims: all of the product's, as its image has them. ignored: those of
    the list that an earlier attempt had measured otherwise."""

    unit: Unit
    trims: tuple[LoggedTrim, ...]
    ignored: tuple[str, ...]


def planned(layout: Layout, unit: Unit, before: Attempt | None, again: Collection[str] = ()) -> Planned | str:
    """What to stamp, or why this unit cannot be stamped: a clause, with its end.

    before: the last attempt of this serial that made an image. again: names of trims, and "hardware", that
    are taken from the list even so. A trim that was never measured is taken from the list as well.
    """
    product = layout.product
    listed = dict(unit.trims)
    earlier = {} if before is None else {trim.item: trim.value for trim in before.trims if trim.measured}
    if before is not None and (fault := _other_board(layout, unit, before, again)):
        return fault
    codes: list[tuple[str, int]] = []
    trims: list[LoggedTrim] = []
    ignored: list[str] = []
    for trim in product.trims:
        kept = trim.name in earlier and trim.name not in again
        code = listed.get(trim.name)
        if kept:
            known = _earlier_code(product, trim, earlier[trim.name])
            if isinstance(known, str):
                return known
            if code is not None and code != known:
                ignored.append(trim.name)
            code = known
        if code is not None:
            codes.append((trim.name, code))
        text = code_text(trim, trim.nominal if code is None else code)
        trims.append(LoggedTrim(trim.name, text, code is not None, kept))
    return Planned(Unit(unit.serial, unit.hardware, tuple(codes)), tuple(trims), tuple(ignored))


def _other_board(layout: Layout, unit: Unit, before: Attempt, again: Collection[str]) -> str | None:
    board = None if unit.hardware is None else layout.product.boards[unit.hardware]
    if board == before.hardware or before.hardware is None or board is None or HARDWARE in again:
        return None
    return (
        f"serial {unit.serial} was stamped for hardware {before.hardware}, and the list says {board}; if the"
        f" board was changed, say --again {HARDWARE}."
    )


def _earlier_code(product: Product, trim: Trim, text: str) -> int | str:
    """The code of a value that an earlier attempt has measured, under the same rules as a new one."""
    meant = meant_by(product, trim, text)
    if isinstance(meant, Meant):
        value = trim.scale.value(meant.code)
        low, high = trim.plausible or (trim.scale.low, trim.scale.high)
        if compare(low, value) <= 0 <= compare(high, value):
            return meant.code
    return (
        f"trim {trim.name} was measured as {text}, which this release does not take; measure it again, and"
        f" say --again {trim.name}."
    )
