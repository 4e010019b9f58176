"""Tap tempo as C: exact integers from intervals to a code."""

from __future__ import annotations

from fractions import Fraction

from paramc.emit.constants import Constants, numbers, unsigned
from paramc.emit.escape import c_comment
from paramc.emit.looked_up import looked_up
from paramc.emit.wording import value_text
from paramc.frozen import dataclass
from paramc.model.items import Param
from paramc.model.product import Product
from paramc.model.scale import Scale, Stepped
from paramc.model.tap import Fold, Tap
from paramc.model.tap_arithmetic import tap_arithmetic
from paramc.numbers.real import Real, ceil, multiply


@dataclass(frozen=True, slots=True)
class TapView:
    """What p_tap_ITEM and p_tempo_ITEM are made of. Times are whole numbers of `unit`; wide: the type
    that holds all of them times what they are divided by in the end."""

    item: str
    label: str
    unit: str
    gap: str
    gap_text: str
    most: str
    chosen: bool
    taps: str
    taps_code: str
    way: str
    ways: str
    way_bits: str
    needs_look: bool
    wide: str
    longest: str
    shortest: str
    step: str
    even: bool
    uneven: bool
    codes: str
    base: str
    sign: str
    halves: bool
    stops: bool
    ignores: bool
    fold_text: str
    constants: tuple[Constants, ...]


def tap_views(product: Product) -> tuple[TapView, ...]:
    """The product's tap tempo, where it has one."""
    return () if product.tap is None else (_tap(product, product.tap),)


def _tap(product: Product, tap: Tap) -> TapView:
    item = product.item(tap.item)
    assert isinstance(item, Param) and not item.scale.off_at_stop
    scale = item.scale
    milliseconds = scale.unit.factor * 1000
    rising = scale.first < scale.last
    whole = tap_arithmetic(product, tap)
    assert whole.fits  # a stop, where it does not
    unit, low, high, step, even = whole.unit, whole.low, whole.high, whole.step, whole.even
    up, down, gap, most = whole.up, whole.down, whole.gap, whole.most
    taps_code, taps = "0u", unsigned(tap.taps)
    constants: list[Constants] = []
    if tap.taps_from is not None:
        setting = product.item(tap.taps_from)
        assert isinstance(setting, Param) and isinstance(setting.scale.grid, Stepped)
        counts = [int(setting.scale.first + setting.scale.signed_step * k) for k in range(setting.codes)]
        made = looked_up(
            counts, product.prefix, f"taps_of_{setting.name}", c_comment(f"taps of {setting.label}")
        )
        taps_code, taps, constants = f"look->{setting.name}", made.expression, list(made.constants)
    bits = next(width for width in (8, 16, 32) if max(*up, *down) < 1 << width)
    if not even:
        edges = [int(low / unit), *(ceil(multiply(edge, milliseconds / unit)) for edge in _edges(scale))]
        constants.append(
            Constants(
                f"{product.prefix}_tap_edges_{item.name}",
                c_comment(f"the shortest times of the codes of {item.label}, the shortest code first"),
                "uint32_t",
                f"{len(edges)}u * sizeof(uint32_t)",
                numbers(edges, "u"),
            )
        )
    for word, values in (("up", up), ("down", down)):
        constants.append(
            Constants(
                f"{product.prefix}_tap_{word}_{item.name}",
                "what intervals are multiplied by" if word == "up" else "and divided by, one a way",
                f"uint{bits}_t",
                f"{len(values)}u * sizeof(uint{bits}_t)",
                numbers(values, "u"),
            )
        )
    return TapView(
        item=item.name,
        label=c_comment(item.label),
        unit=f"{unit} ms",
        gap=unsigned(gap),
        gap_text=f"{gap} ms",
        most=unsigned(tap.taps),
        chosen=tap.taps_from is not None,
        taps=taps,
        taps_code=taps_code,
        way="0u" if tap.chooser is None else f"look->{tap.chooser}",
        ways=unsigned(len(up)),
        way_bits=str(bits),
        needs_look=tap.chooser is not None or tap.taps_from is not None,
        wide="uint32_t" if most < 2**32 else "uint64_t",
        longest=unsigned(int(high / unit)),
        shortest=unsigned(int(low / unit)),
        step=unsigned(int(step / unit)),
        even=even,
        uneven=not even,
        codes=unsigned(scale.codes),
        base=unsigned(0 if rising else scale.codes - 1),
        sign="+" if rising else "-",
        halves=tap.fold is Fold.HALVE,
        stops=tap.fold is Fold.STOP,
        ignores=tap.fold is Fold.IGNORE,
        fold_text=_fold_text(tap.fold, c_comment(value_text(item, scale.codes - 1 if rising else 0))),
        constants=tuple(constants),
    )


def _edges(scale: Scale) -> list[Real]:
    """The times half a code's travel from one code to the next, rising."""
    top = 2 * (scale.codes - 1)
    edges = [scale.at(Fraction(edge, top)) for edge in range(1, top, 2)]
    return edges if scale.first < scale.last else edges[::-1]


def _fold_text(fold: Fold, longest: str) -> str:
    match fold:
        case Fold.HALVE:
            return f"is halved until it is at most {longest}"
        case Fold.STOP:
            return f"becomes {longest}"
        case Fold.IGNORE:
            return "changes nothing"
