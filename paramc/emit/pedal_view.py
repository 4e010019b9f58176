"""Expression pedals as C: what each sets in a mode, between which shares of travel."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.emit.constants import Constants, unsigned
from paramc.emit.escape import c_comment
from paramc.emit.layout_rows import Rows
from paramc.emit.looked_up import looked_up
from paramc.frozen import dataclass
from paramc.model.items import Param, Selector
from paramc.model.modes import ExpressionTargets, Mode
from paramc.model.panel import Pedal
from paramc.model.product import Product
from paramc.numbers.real import multiply, nearest

SPAN = 16384
"""All of a travel, as shares of it are counted for pedals."""

_PERCENT = Fraction(SPAN, 100)


@dataclass(frozen=True, slots=True)
class TargetView:
    """An item that a pedal sets: its number, its name, and the code of the way that chooses it."""

    item: str
    name: str
    code: str


@dataclass(frozen=True, slots=True)
class PedalView:
    """p_pedal_NAME. targets: its items, each once. ways: those of the selector that chooses."""

    name: str
    comment: str
    targets: tuple[TargetView, ...]
    ways: tuple[TargetView, ...]
    chosen: bool
    about: str
    ranged: bool
    heel: str
    toe: str
    heel_of: str
    toe_of: str
    reads_look: bool
    unplugs: bool
    unplugged: str
    slack: str
    top: str
    top_text: str
    low: str
    high: str
    control: str
    learned: bool


def pedalled_items(product: Product) -> tuple[str, ...]:
    """The items that pedals set, each once, in reading order of the pedals' lines."""
    found = (item for mode in product.modes for targets in mode.expressions for item in targets.items)
    return tuple(dict.fromkeys(found))


def pedals_of(product: Product, rows: Rows) -> tuple[tuple[PedalView, ...], tuple[Constants, ...]]:
    """The pedals of a product, once for each mode in which one sets anything; and what they read."""
    views: list[PedalView] = []
    constants: list[Constants] = []
    for name, targets in _named(product):
        pedal = next(pedal for pedal in product.pedals if pedal.name == targets.pedal)
        view, read = _pedal(product, rows, name, pedal, targets)
        views.append(view)
        constants += read
    return tuple(views), tuple(constants)


def _named(product: Product) -> Iterator[tuple[str, ExpressionTargets]]:
    """The function of each line: the pedal's name, with the mode's from the second mode on."""
    seen: set[str] = set()
    for mode in product.modes:
        for targets in mode.expressions:
            yield _name(mode, targets, targets.pedal in seen), targets
            seen.add(targets.pedal)


def _name(mode: Mode, targets: ExpressionTargets, again: bool) -> str:
    return f"{targets.pedal}_in_{mode.name}" if again else targets.pedal


def _pedal(
    product: Product, rows: Rows, name: str, pedal: Pedal, targets: ExpressionTargets
) -> tuple[PedalView, tuple[Constants, ...]]:
    codes: tuple[int, ...] = ()
    if targets.chooser is not None:
        chooser = product.item(targets.chooser)
        assert isinstance(chooser, Selector)
        codes = chooser.places
    ways = tuple(
        TargetView(unsigned(rows.number(item)), item, unsigned(code))
        for item, code in zip(targets.items, codes, strict=False)
    )
    heel, toe = "0u", "0u"
    constants: list[Constants] = []
    if targets.heel is not None and targets.toe is not None:
        heel, read = _shares(product, targets.heel)
        toe, more = _shares(product, targets.toe)
        names = {one.name for one in read}
        constants = [*read, *(one for one in more if one.name not in names)]
    low, high = pedal.unplugged or (0, 0)
    ranged = targets.heel is not None and targets.toe is not None
    prefix = product.prefix
    return (
        PedalView(
            name=name,
            comment=c_comment(
                f"{pedal.label}: sets {', '.join(product.item(item).label for item in targets.items)}."
            ),
            targets=tuple(
                TargetView(unsigned(rows.number(item)), item, "0u") for item in dict.fromkeys(targets.items)
            ),
            ways=ways,
            chosen=targets.chooser is not None,
            about=f"{prefix}_for_{name}(look->{targets.chooser})"
            if targets.chooser is not None
            else unsigned(rows.number(targets.items[0])),
            ranged=ranged,
            heel=heel,
            toe=toe,
            heel_of=f"{prefix}_heel_{name}(look->{targets.heel})" if ranged else "0u",
            toe_of=f"{prefix}_toe_{name}(look->{targets.toe})" if ranged else f"{prefix.upper()}_SPAN_",
            reads_look=ranged or targets.chooser is not None,
            unplugs=pedal.unplugged is not None,
            unplugged=_between(low, high, pedal.top),
            slack=unsigned(pedal.noise + 1),
            top=unsigned(pedal.top),
            top_text=str(pedal.top),
            low=unsigned(pedal.ends[0]),
            high=unsigned(pedal.ends[1]),
            control=pedal.name,
            learned=pedal.learned,
        ),
        tuple(constants),
    )


def _between(low: int, high: int, top: int) -> str:
    """Whether a count is of an empty socket; what always holds for a converter is not asked."""
    if low == 0:
        return f"adc <= {unsigned(high)}"
    if high == top:
        return f"adc >= {unsigned(low)}"
    return f"(adc >= {unsigned(low)}) && (adc <= {unsigned(high)})"


def _shares(product: Product, name: str) -> tuple[str, tuple[Constants, ...]]:
    """The share of travel that each code of a param in % means, in SPAN-ths."""
    item = product.item(name)
    assert isinstance(item, Param)
    shares = []
    for code in range(item.codes):
        off = code == 0 and item.scale.off_at_stop
        shares.append(0 if off else nearest(multiply(item.scale.value(code), _PERCENT)))
    made = looked_up(shares, product.prefix, f"shares_of_{name}", c_comment(f"travel that {item.label} says"))
    return made.expression, made.constants
