"""`paramc plot`: a taper in the terminal, as a table or as a picture."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from paramc.check.nearest import Nearest
from paramc.cli import say
from paramc.cli.either import layout_of
from paramc.cli.files import Trouble, write_one
from paramc.cli.renderers import curve as renderer
from paramc.cli.say import plain
from paramc.frozen import dataclass
from paramc.layout.layout import Layout
from paramc.model.items import Flag, Item, Selector, kind_word
from paramc.numbers.quantity import decimal_text
from paramc.plot.curve import FORMAT, Curve, Third, Zone, curve_of, set_by, zones_of
from paramc.plot.svg import as_svg
from paramc.release.pairs import pairs


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for. against: a product file, release or layout file. svg: the file to write."""

    item: str
    table: bool
    as_json: bool
    svg: str | None
    against: str | None
    force: bool


def run(file: str, wanted: Wanted) -> int:
    """Exit status: 0 shown, 1 a file at fault or an item that it does not have."""
    try:
        old = None if wanted.against is None else layout_of(wanted.against)
        layout = layout_of(file, old)
        item = _item(layout, wanted.item, file)
        if isinstance(item, Selector | Flag):
            return _zones(layout, item, wanted)
        curve = curve_of(layout, item)
        older = None if old is None or wanted.against is None else _older(old, layout, item, wanted.against)
        values = () if older is None else _in_unit(older, curve)
        if wanted.svg is not None:
            write_one(wanted.svg, as_svg(curve, values), force=wanted.force)
    except Trouble as trouble:
        if wanted.as_json:
            say.data({"format": FORMAT, "problems": [str(trouble)]})
        say.person(str(trouble))
        return 1
    if wanted.as_json:
        say.data({"format": FORMAT, "curve": _data(curve), "old": None if older is None else _data(older)})
    else:
        picture = not wanted.table and wanted.svg is None
        say.out(*renderer.as_text(curve, older, values, picture=picture))
    if wanted.svg is not None:
        say.person(f"Written: {plain(wanted.svg)}.")
    return 0


def _item(layout: Layout, name: str, file: str) -> Item:
    names = [item.name for item in layout.product.items]
    if name in names:
        return layout.product.item(name)
    near = Nearest(names).to(name)
    known = (
        f"did you mean {near}?"
        if near is not None
        else f"it has {', '.join(names[:8])}" + (" and others." if len(names) > 8 else ".")
    )
    raise Trouble(f"{plain(file)} has no item called {plain(name[:40])}; {known}")


def _zones(layout: Layout, item: Selector | Flag, wanted: Wanted) -> int:
    if wanted.svg is not None or wanted.against is not None:
        what = f"{kind_word(item).capitalize()} {item.name}"
        raise Trouble(f"{what} has no taper to draw; leave out --svg and --against.")
    zones = zones_of(layout, item)
    if wanted.as_json:
        say.data({"format": FORMAT, "item": item.name, "zones": [_zone_data(one) for one in zones]})
    else:
        by = set_by(layout, item)
        say.out(*renderer.zones_text(f'{kind_word(item).capitalize()} "{plain(item.label)}"', by, zones))
    return 0


def _older(old: Layout, new: Layout, item: Item, file: str) -> Curve:
    """The same item as it was, also under another name; of another product the one with the same name."""
    if old.product.code == new.product.code:
        was = next((pair.was for pair in pairs(old, new) if pair.now is item), None)
    else:
        was = next((other for other in old.product.items if other.name == item.name), None)
    if was is None or isinstance(was, Selector | Flag):
        raise Trouble(f"{plain(file)} has no taper that {item.name} could be held against.")
    return curve_of(old, was)


def _in_unit(older: Curve, curve: Curve) -> tuple[Fraction, ...]:
    if older.unit.dimension is not curve.unit.dimension:
        raise Trouble(
            f"{curve.item} is a {curve.unit.dimension.value} now and was a {older.unit.dimension.value}:"
            " the two do not go into one drawing."
        )
    factor = older.unit.factor / curve.unit.factor
    return tuple(value * factor for value in older.values)


def _data(curve: Curve) -> dict[str, Any]:
    return {
        "item": curve.item,
        "label": curve.label,
        "range": curve.range,
        "noon": curve.noon,
        "turn": decimal_text(curve.turn),
        "set_by": curve.set_by,
        "positions": [
            {"clock": one.clock, "value": one.value, "code": one.code, "engine": one.engine}
            for one in curve.positions
        ],
        "thirds": [_third_data(third) for third in curve.thirds],
    }


def _third_data(third: Third) -> dict[str, str]:
    return {
        "low": third.low,
        "high": third.high,
        "from": third.begins,
        "to": third.ends,
        "travel": f"{decimal_text(third.share * 100)} %",
    }


def _zone_data(zone: Zone) -> dict[str, Any]:
    return {
        "way": zone.way,
        "label": zone.label,
        "code": zone.code,
        "from": zone.begins or None,
        "to": zone.ends or None,
        "engine": zone.engine,
    }
