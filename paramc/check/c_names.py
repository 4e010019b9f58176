"""Names in the generated C: none that C keeps for itself, no two that fall together.

The names are made like this, P being the prefix in capitals: constants P_ITEM_WAY, beside
P_LABEL_ITEM and others of one word and a name; members of structures named after items,
item_measured for a trim, and control_low, control_high, control_ends and control_measured in
lower case for measured ends. Functions, p_engine_item and p_knob_item, meet nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from paramc.check.name_rules import C_NAME_CLASH, C_WORD
from paramc.check.words import called
from paramc.frozen import dataclass
from paramc.model.items import Selector, kind_word
from paramc.model.panel import Footswitch, Knob, Pedal, control_word
from paramc.model.product import Product
from paramc.text.diagnostic import Diagnostic, Mark
from paramc.text.source import Span

# ISO/IEC 9899:2011, 6.4.1, and 9899:2024 for what came later, as far as it could be a name here.
_C_KEYWORDS = """
    auto break case char const continue default do double else enum extern float for goto if inline
    int long register restrict return short signed sizeof static struct switch typedef union unsigned
    void volatile while alignas alignof bool constexpr false nullptr static_assert thread_local true
    typeof typeof_unqual
"""
# ISO/IEC 14882:2020, 5.11, with the alternative tokens, beyond those of C.
_CPP_KEYWORDS = """
    and and_eq asm bitand bitor catch char16_t char32_t char8_t class co_await co_return co_yield compl
    concept consteval constinit const_cast decltype delete dynamic_cast explicit export friend mutable
    namespace new noexcept not not_eq operator or or_eq private protected public reinterpret_cast
    requires static_cast template this throw try typeid typename using virtual wchar_t xor xor_eq
"""
# Macros in lower case of <errno.h>, <stdio.h>, <complex.h>, <stdnoreturn.h>, <assert.h> and <stddef.h>;
# those that GNU compilers define for their hosts; keywords that compilers for small processors add;
# types of <stdint.h> and <stddef.h>.
_DEFINED = """
    errno stdin stdout stderr complex imaginary noreturn assert offsetof unix linux i386
    near far interrupt
    int8_t int16_t int32_t int64_t uint8_t uint16_t uint32_t uint64_t size_t ptrdiff_t
"""
# How records call their own fields, beside items in structures, dumps and tables.
_RECORD_WORDS = """
    slot name last_preset engaged product_code hardware fingerprint trial serial
"""

TAKEN: Mapping[str, str] = {
    word: reason
    for words, reason in (
        (_C_KEYWORDS, "a keyword of C"),
        (_CPP_KEYWORDS, "a keyword of C++"),
        (_DEFINED, "defined by C compilers or their headers"),
        (_RECORD_WORDS, "how records call a field of their own"),
    )
    for word in words.split()
}
"""Words that no item can be called, and why."""

# Constants of two words that the generated C has whatever the product, without the prefix.
_CONSTANTS = """
    DEED_BYPASS DEED_FLIP DEED_NEXT DEED_WHILE_HELD DEED_RESET_LOOK DEED_RESET_SLOT DEED_ENTER DEED_LEAVE
    DEED_LEARN DEED_TAP MIDI_NOTHING MIDI_SET MIDI_PRESET MIDI_DUMP PEDAL_NOTHING PEDAL_SET PEDAL_GONE
    LAMP_OFF LAMP_ON LAMP_BLINKS AT_POWER_UP UNDOES_PRESS
    FLASH_U8 FLASH_U16 FLASH_U32 FLASH_S8 FLASH_S16 FLASH_S32
"""
ITEM_CONSTANTS = ("LABEL", "ITEM", "CODES", "DEFAULT")
"""First words of the constants of an item. Those of a control are CONTROL and ENDS, of a mode MODE."""

CONSTANTS: frozenset[str] = frozenset(_CONSTANTS.split())
"""Constants of two words that are always there."""

# Names that <stdint.h> may define (7.20, 7.31.10); the generated C includes it.
_STDINT = re.compile(r"U?INT[A-Z0-9_]*_(MAX|MIN|C|WIDTH)|SIG_ATOMIC_(MAX|MIN)")


@dataclass(frozen=True, slots=True)
class _Made:
    """A name in C, what it is made for, and where that stands."""

    name: str
    owner: str
    place: Span | None


def check_c_names(product: Product, found: list[Diagnostic]) -> None:
    """Refuses items that C cannot take as members, and names that fall together."""
    for item in product.items:
        owner = called(kind_word(item), item.label)
        reason = TAKEN.get(item.name)
        if reason is not None:
            sentence = f"The name of {owner}, {item.name}, is {reason}."
            found.append(Diagnostic(C_WORD, sentence, item.place))
    _apart("member", _members(product), found)
    _apart("constant", _constants(product), found)


def _members(product: Product) -> Iterator[_Made]:
    for item in product.items:
        yield _Made(item.name, called(kind_word(item), item.label), item.place)
    for trim in product.trims:
        yield _Made(f"{trim.name}_measured", f"the measured bit of {called('trim', trim.label)}", trim.place)
    for pedal in product.pedals:
        if pedal.learned:
            owner = f"the learned ends of {called(control_word(pedal), pedal.label)}"
            for end in ("low", "high", "ends"):
                yield _Made(f"{pedal.name.lower()}_{end}", owner, pedal.place)
    for knob in product.knobs:
        if knob.measured:
            owner = f"the measured ends of {called(control_word(knob), knob.label)}"
            for end in ("low", "high", "ends", "measured"):
                yield _Made(f"{knob.name.lower()}_{end}", owner, knob.place)


def _constants(product: Product) -> Iterator[_Made]:
    prefix = product.prefix.upper()
    for constant in sorted(CONSTANTS):
        yield _Made(f"{prefix}_{constant}", "a constant of every product", None)
    for item in product.items:
        owner = called(kind_word(item), item.label)
        for word in ITEM_CONSTANTS:
            yield _Made(f"{prefix}_{word}_{item.name.upper()}", f"the {word.lower()} of {owner}", item.place)
    for control in product.panel:
        owner = called(control_word(control), control.label)
        yield _Made(f"{prefix}_CONTROL_{control.name}", f"the number of {owner}", control.place)
        if isinstance(control, Knob | Pedal):
            yield _Made(f"{prefix}_ENDS_{control.name}", f"the ends of {owner}", control.place)
        if isinstance(control, Knob):
            yield _Made(f"{prefix}_RECALL_{control.name}", f"what {owner} does after a recall", control.place)
        if isinstance(control, Footswitch):
            yield _Made(f"{prefix}_FOOT_{control.name}", f"the place of {owner}", control.place)
    for mode in product.modes:
        owner = called("mode", mode.label or mode.name)
        yield _Made(f"{prefix}_MODE_{mode.name.upper()}", f"the number of {owner}", mode.place)
    for item in product.items:
        if isinstance(item, Selector):
            for way in item.ways:
                name = f"{prefix}_{item.name}_{way.name}".upper()
                owner = f"{called('way', way.label)} of {called('selector', item.label)}"
                yield _Made(name, owner, item.place)


def _apart(what: str, made: Iterator[_Made], found: list[Diagnostic]) -> None:
    """A stop for each name that was made before or belongs to the C standard."""
    first: dict[str, _Made] = {}
    for one in made:
        before = first.setdefault(one.name, one)
        if before is not one:
            sentence = f"The {what} {one.name} in C would be {before.owner} and also {one.owner}."
            also = () if before.place is None else (Mark(before.place),)
            found.append(Diagnostic(C_NAME_CLASH, sentence, one.place, also))
        elif _STDINT.fullmatch(one.name):
            sentence = f"The {what} {one.name} in C, for {one.owner}, is a name that <stdint.h> may define."
            found.append(Diagnostic(C_NAME_CLASH, sentence, one.place))
