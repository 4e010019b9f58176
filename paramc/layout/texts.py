"""The built-in texts for people: which of them a product's own words bring, and where each is shown.

The wording is fixed: these remind of what harms people, so nobody's file can change or drop one.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from paramc.layout.layout import SafetyText
from paramc.model.feedback import feeds_itself_above
from paramc.model.items import Param, Scaled, Signal, is_off
from paramc.model.modes import Jumper, Mode, WhileHeld
from paramc.model.panel import CLOCK_DEGREES, Knob, travel_of_clock
from paramc.model.product import Inside, Product
from paramc.model.scale import Scale
from paramc.numbers.quantity import Quantity
from paramc.numbers.real import compare
from paramc.numbers.wording import real_text

SHEET = ("owner", "bench", "developer")
PLACES = (*SHEET, "header", "readme", "stamp", "verify", "restore", "reply")
"""Every word that stands in SafetyText.where."""

_HEARING = (
    "Loud sound harms hearing for good, and loud tests add up over a day. Keep listening tests quiet and"
    " short. As a guide, 85 dB(A) for 8 hours; every 3 dB more halves the time. Follow your local rule."
)
_FEEDS_ITSELF = (
    "Above {value} this sound feeds itself and can grow very loud within a second. Start with the"
    " amplifier low. No headphones. To stop it: bypass, or turn {label} down."
)
_HELD = "A foot or a MIDI message can reach the loud end at once. Try each one at low volume first."
_FIRST_POWER_UP = (
    "After new firmware, a new image or a repair, take the first sound with the amplifier's volume at zero"
    " and no headphones. Pedal on first, amplifier last; off in reverse."
)
_HIGH_VOLTAGE = (
    "Voltages inside can kill, also long after unplugging. Only for people trained for it. Unplug,"
    " discharge through a resistor, measure that it is gone. If a trim must be set live: insulated tool,"
    " one hand, never alone, a meter rated for the voltage. Never lift the safety earth, nor clip a"
    " grounded probe to a live chassis. Local code comes first."
)
_POLARITY = (
    "Supply {supply} only. The same plug comes with other voltages, ac, or the poles swapped; these can"
    " burn out or heat the unit."
)
_STATIC = (
    "Touch ground or wear a wrist strap before you touch the board. Take the strap off for work on live"
    " high voltage. Place or pull jumpers with power off, and only {jumpers}."
)
_HOT = "{parts} and power resistors stay hot after switch-off. Wait, or test without touching."
_CELLS = (
    "Take cells out before soldering or programming. Never charge a non-rechargeable cell, solder on a"
    " cell, short it or use one that is swollen. Swallowed coin cell: emergency care at once."
)
_PROGRAMMING = (
    "Unplug amplifier and headphones first: a chip being written can put out full-scale noise. One supply"
    " only, the unit's or the programmer's; connect grounds first. Never on mains or high-voltage gear"
    " that is live. Do not pull the plug while it writes."
)
_ERASING = (
    "A full erase can wipe serial and trims. Read and save the unit first; check the erase setting."
)
_UNSAFE_TRIM = (
    "A wrong {label} can overheat parts. Unknown means {safe}, and output muted where the product says so."
    " Never copy this trim from another unit."
)
_REPLIES = "Do not open the unit. If it must be opened, send it to us or to a qualified technician."
_LAMP = "Lamps that flash more than 3 times a second can trigger seizures or migraine."

_WRITING = ("stamp", "restore", "bench", "readme")
_MOST_HERTZ = 3

def safety_texts(product: Product) -> tuple[SafetyText, ...]:
    """The built-in texts of a product, those about the whole of it and those beside its parts.

    Keys stay the same for good: translations are filed under them.
    """
    return tuple(_texts(product))


def _texts(product: Product) -> Iterator[SafetyText]:
    yield _text("hearing", Signal.WARNING, _HEARING, ("readme", *SHEET))
    for item in product.items:
        if isinstance(item, Param):
            yield from _feeds_itself(product, item)
    for name in _held(product):
        yield _text(f"held.{name}", Signal.CAUTION, _HELD, ("owner", "developer"), name)
    yield _text(
        "first-power-up", Signal.WARNING, _FIRST_POWER_UP, ("stamp", "verify", "bench", "reply")
    )
    if product.inside in (Inside.HIGH, Inside.MAINS):
        yield _text("high-voltage", Signal.DANGER, _HIGH_VOLTAGE, ("bench", "developer", "header", "readme"))
        for trim in product.trims:
            yield _text(
                f"high-voltage.{trim.name}", Signal.DANGER, _HIGH_VOLTAGE, ("bench", "developer"), trim.name
            )
    if product.supply is not None:
        polarity = _POLARITY.format(supply=product.supply.text)
        yield _text("supply-polarity", Signal.CAUTION, polarity, ("owner", "bench", "reply"))
    if jumpers := _jumpers(product):
        static = _STATIC.format(jumpers=_listed(jumpers))
        yield _text("static", Signal.NOTICE, static, ("bench", "stamp"))
    if product.hot:
        yield _text("hot-parts", Signal.CAUTION, _HOT.format(parts=", ".join(product.hot)), ("bench",))
    if product.battery:
        yield _text("cells", Signal.WARNING, _CELLS, ("owner", "bench"))
    yield _text("programming", Signal.WARNING, _PROGRAMMING, _WRITING)
    yield _text("erasing", Signal.NOTICE, _ERASING, _WRITING)
    for trim in product.trims:
        if trim.safe is not None:
            unsafe = _UNSAFE_TRIM.format(label=trim.label, safe=value_text(trim, trim.safe))
            yield _text(
                f"unsafe-trim.{trim.name}", Signal.WARNING, unsafe, ("bench", "developer"), trim.name
            )
    yield _text("replies", Signal.HELP, _REPLIES, ("reply",))
    for lamp in _fast_lamps(product):
        yield _text(f"fast-lamp.{lamp}", Signal.CAUTION, _LAMP, SHEET, lamp)


def _text(
    key: str, signal: Signal, text: str, where: tuple[str, ...], about: str = ""
) -> SafetyText:
    return SafetyText(key, signal, text, about, tuple(place for place in PLACES if place in where))


# ---- sound that feeds itself


def _feeds_itself(product: Product, item: Param) -> Iterator[SafetyText]:
    limit, scale = feeds_itself_above(item), item.scale
    if limit is None:
        return
    value = f"Q {limit}" if scale.unit.symbol == "Q" else str(Quantity(limit, scale.unit))
    turn = _turn(product, item)
    if turn is not None:
        value += f" ({_clock(crossing(scale, limit, turn))})"
    yield _text(
        f"feeds-itself.{item.name}",
        Signal.WARNING,
        _FEEDS_ITSELF.format(value=value, label=item.label),
        (*SHEET, "header", "reply"),
        item.name,
    )


def _turn(product: Product, item: Param) -> Fraction | None:
    """The turn in degrees of the first knob that sets an item; None where none does."""
    for _, sets in product.setters(item.name):
        control = product.control(sets.control)
        if isinstance(control, Knob):
            return control.turn
    return None


def crossing(scale: Scale, limit: Fraction, turn: Fraction = CLOCK_DEGREES) -> int:
    """The quarter hour nearest to where a taper crosses a value, in minutes past 12.

    A range that lies wholly beyond the value crosses it at its nearer end.
    """
    # Half a degree is a minute, so a knob points up to as many minutes from 12 as it has degrees of turn.
    most = int(turn) // 15
    rising = scale.last > scale.first
    for quarter in range(-most, most):
        border = scale.at(travel_of_clock(15 * quarter, turn) + Fraction(15, 4) / turn)
        if (compare(border, limit) >= 0) == rising:
            return 15 * quarter
    return 15 * most


def _clock(minutes: int) -> str:
    hour, minute = divmod(720 + minutes, 60)
    return f"{(hour - 1) % 12 + 1}:{minute:02}"


# ---- words of the file


def _held(product: Product) -> tuple[str, ...]:
    """What is done while a switch is held, each once in reading order."""
    deeds = [does.deed for mode in product.modes for does in mode.does]
    return tuple(dict.fromkeys(deed.item for deed in deeds if isinstance(deed, WhileHeld)))


def _jumpers(product: Product) -> tuple[str, ...]:
    gestures = [gesture for mode in product.modes for gesture in _gestures(mode)]
    return tuple(dict.fromkeys(gesture.jumper for gesture in gestures if isinstance(gesture, Jumper)))


def _gestures(mode: Mode) -> tuple[object, ...]:
    return (mode.enter, mode.leave, *(does.gesture for does in mode.does))


def _fast_lamps(product: Product) -> tuple[str, ...]:
    shows = [shows for mode in product.modes for shows in mode.shows]
    return tuple(
        dict.fromkeys(show.lamp for show in shows if show.blinks is not None and show.blinks > _MOST_HERTZ)
    )


def _listed(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def value_text(item: Scaled, code: int) -> str:
    """The value of a code for people: exact where a decimal is, else rounded, with "about"."""
    if is_off(item, code):
        return "off"
    return real_text(item.scale.value(code), item.scale.unit)
