"""A program that prints everything the emitted C says, and the same worked out without it.

What is stored and what is computed come from the independent reader, which knows the layout file alone. Only
numbers are printed: the chips that the program runs on have little room for words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from paramc.layout.layout import Layout
from paramc.tables.knob import scaled_reading
from tests.target.emitted import Emitted
from tests.target.independent import Reader, table_entries, table_value, text_bytes
from tests.target.older import reader_of

ANSWERS = ("sound", "older", "newer", "blank", "damaged", "trial", "foreign", "missing")
STARTS = ("muted", "bypassed", "engaged")
DEEDS = (
    "bypass", "flip", "next preset", "while held", "reset look", "reset slot", "enter", "leave",
    "learn", "tap",
)  # fmt: skip
NO_CODE = 0xFFFF

Line = list[int]

READING = """static @_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    board_eeprom_read((uint32_t)*(uint16_t *)context * %(size)du + address, to, length);
    return @@_OK;
}
"""
OPENING = """
#include "%(name)s.h"
#include "board.h"

""" + READING + """
static void out(uint32_t value)
{
    board_print_u32(value);
    board_putchar(' ');
}

static void end(void)
{
    board_putchar('\\n');
}
"""

TABLES_OPENING = """
static uint32_t mixed(uint32_t hash, uint32_t value)
{
    return (hash ^ value) * 16777619u;
}
"""


def dump_program(emitted: Emitted, memories: int, tables: bool = True) -> Path:
    """The program for so many memories, one behind the other; without tables it prints of these alone."""
    size = emitted.layout.product.chip.size
    text = (OPENING if memories else OPENING.replace(READING, "")) % {"name": emitted.name, "size": size}
    if memories:
        text += "\n".join(["static void memory(uint16_t image)", "{", *_memory(emitted), "}", ""])
    if tables:
        text += "\n".join(["static void panel(void)", "{", *_panel(emitted), "}", ""])
        if emitted.layout.engines or emitted.layout.knobs:
            text += TABLES_OPENING
        text += "\n".join(["static void tables(void)", "{", *_tables(emitted), "}", ""])
    calls = "    panel();\n    tables();\n" if tables else ""
    if memories:
        each = f"for (image = 0u; image < {memories}u; image++) {{ memory(image); }}"
        calls = f"    uint16_t image;\n    {each}\n{calls}"
    text += f"\nint main(void)\n{{\n{calls}    return 0;\n}}\n"
    return emitted.write("dump.c", text)


def expected(emitted: Emitted, memories: Sequence[bytes], tables: bool = True) -> str:
    """What the program prints."""
    lines = [line for memory in memories for line in _memory_lines(emitted, memory)]
    if tables:
        lines += [*_panel_lines(emitted), *_table_lines(emitted)]
    return "".join("".join(f"{value} " for value in line) + "\n" for line in lines)


def row_numbers(emitted: Emitted) -> tuple[int, dict[str, int]]:
    """The number of no item, and the number of each row by the name of its field."""
    names: list[str] = []
    for kind in ("setup", "state", "bench", "identity"):
        for field in emitted.fields(kind):
            names += [field["name"]] * {"fingerprint": 2, "serial": 0}.get(field["kind"], 1)
    places = sum(len(record["places"]) for record in emitted.file["records"])
    nothing = 0xFF if max(len(names), places) < 0xFF else 0xFFFF
    return nothing, {name: names.index(name) for name in names}


# ---- memories


def _memory(emitted: Emitted) -> Iterator[str]:
    holds = emitted.file["product"]["holds"]
    serial, names = holds["serial_characters"], holds["preset_names"]
    yield "    @_store store;\n    @_driver driver;\n    @_identity identity;"
    yield "    @_look look;\n    uint8_t slot;"
    if emitted.has("bench"):
        yield "    @_trims trims;"
    if names:
        yield "    char name[@@_NAME + 1u];"
    if names or serial:
        yield "    uint8_t i;"
    yield """    driver.read = reading;
    driver.context = &image;
    @_open(&store, &driver);
    while (@_open_step(&store) == @@_MORE) {
    }
    @_factory_state(&look);"""
    if emitted.has("setup"):
        yield "    @_factory_setup(&look);"
    yield "    out(@_unit(&store)); out(@_start(&store, &look)); end();"
    members = ("product", "fingerprint_high", "fingerprint_low", "hardware", "trial")
    yield from (f"    identity.{member} = 0u;" for member in members)
    if serial:
        yield "    identity.serial[0] = '\\0';"
    yield "    out(@_identity_get(&store, &identity));"
    yield from (f"    out(identity.{member});" for member in members)
    if serial:
        yield "    for (i = 0u; identity.serial[i] != '\\0'; i++) { out((uint8_t)identity.serial[i]); }"
    yield "    end();"
    if emitted.has("bench"):
        yield "    out(@_load_trims(&store, &trims));"
        yield from (f"    out(trims.{_member(field)});" for field in emitted.fields("bench"))
        yield "    end();"
    for kind in ("setup", "state"):
        if emitted.has(kind):
            yield f"    out(@_load_{kind}(&store, &look));"
            yield from (f"    out(look.{_member(field)});" for field in emitted.fields(kind))
            yield "    out(@_look_ok(&store, &look)); end();"
    yield "    out(@_start(&store, &look)); end();"
    yield "    for (slot = 0u; slot <= @@_SLOTS; slot++) {\n        out(@_load_preset(&store, slot, &look));"
    yield from (f"        out(look.{name});" for name in _sound_names(emitted))
    yield "        out(look.last_preset); out(@_look_ok(&store, &look));"
    if names:
        yield "        out(@_preset_name(&store, slot, name));"
        yield "        for (i = 0u; name[i] != '\\0'; i++) { out((uint8_t)name[i]); }"
    yield "        end();\n    }"


def _member(field: dict[str, Any]) -> str:
    name = str(field["name"])
    if field["kind"] in ("end low", "end high"):
        control, _, end = name.rpartition("_")
        return f"{control}_ends.{end}"
    return name


def _sound_names(emitted: Emitted) -> list[str]:
    return [field["name"] for field in emitted.fields("presets") if field["kind"] == "item"]


def _memory_lines(emitted: Emitted, memory: bytes) -> Iterator[Line]:
    reader = reader_of(emitted, memory)
    nothing, rows = row_numbers(emitted)
    yield [ANSWERS.index(reader.unit()), STARTS.index("muted")]
    yield _identity_line(emitted, reader)
    for kind in ("bench", "setup", "state"):
        if emitted.has(kind):
            state, codes, replaced = reader.codes(kind)
            line = [ANSWERS.index(state), *(codes[field["name"]] for field in emitted.fields(kind))]
            yield line if kind == "bench" else [*line, rows.get(replaced or "", nothing)]
    yield [STARTS.index(reader.start())]
    yield from _preset_lines(emitted, reader, nothing, rows)


def _identity_line(emitted: Emitted, reader: Reader) -> Line:
    found = reader.number("identity")
    values = found.values if found.state == "sound" else {}
    own = values.get("product_code", emitted.layout.product.code) == emitted.layout.product.code
    high, low = divmod(values.get("fingerprint", 0), 1 << 16)
    width = 8 * emitted.layout.product.holds.serial_characters
    return [
        ANSWERS.index(found.state if own else "foreign"), values.get("product_code", 0), high, low,
        values.get("hardware", 0), values.get("trial", 0), *text_bytes(values.get("serial", 0), width, "big"),
    ]  # fmt: skip


def _preset_lines(emitted: Emitted, reader: Reader, nothing: int, rows: dict[str, int]) -> Iterator[Line]:
    holds = emitted.layout.product.holds
    sound: dict[str, int] = {}
    replaced: str | None = None
    for slot in range(holds.preset_slots + 1):
        # A slot that is not there changes nothing: the codes stay, and so does what was replaced in them.
        state = "missing"
        if slot < holds.preset_slots:
            state, sound, replaced = reader.codes("presets", slot)
        line = [ANSWERS.index(state), *(sound[name] for name in _sound_names(emitted))]
        line += [min(slot, holds.preset_slots - 1), rows.get(replaced or "", nothing)]
        if holds.preset_names:
            name = sound["name"] if slot < holds.preset_slots else 0
            order = emitted.layout.product.chip.order.value
            line += [ANSWERS.index(state), *text_bytes(name, 8 * holds.preset_names, order)]
        yield line


# ---- the panel

MODES = """    for (i = 0u; @_mode_get(i, &mode) != 0u; i++) {
        out(mode.leave_after_ms); out(mode.open); out(mode.hidden); end();
    }"""
GESTURES = """    for (i = 0u; @_gesture_get(i, &gesture) != 0u; i++) {
        out(gesture.hold_ms); out(gesture.at_most_ms); out(gesture.about); out(gesture.mode);
        out(gesture.gesture); out(gesture.first); out(gesture.second); out(gesture.deed); out(gesture.flags);
        end();
    }"""
SHOWS = """    for (i = 0u; @_shows_get(i, &shows) != 0u; i++) {
        out(shows.period_ms); out(shows.mode); out(shows.lamp); out(shows.state); end();
    }"""
SETS = """    for (i = 0u; i <= @@_MODES; i++) {
        for (control = 0u; control <= @@_CONTROLS; control++) { out(@_sets(i, control)); }
        end();
    }"""


def _panel(emitted: Emitted) -> Iterator[str]:
    modes = emitted.file["product"]["modes"]
    parts = {
        SETS: ("uint8_t control", any(mode["sets"] for mode in modes)),
        MODES: ("@_mode mode", bool(modes)),
        GESTURES: ("@_gesture gesture", any(_gestures(mode) for mode in modes)),
        SHOWS: ("@_shows shows", any(mode["shows"] for mode in modes)),
    }
    if modes:
        yield "    uint8_t i;"
    yield from (f"    {declared};" for declared, there in parts.values() if there)
    yield from (part for part, (_, there) in parts.items() if there)
    yield "    out(@_self_test(@@_BUILD)); out(@_self_test(@@_BUILD + 1u)); end();"


def _gestures(mode: dict[str, Any]) -> list[dict[str, Any]]:
    made = [mode["enter"], mode["leave"], *(does["gesture"] for does in mode["does"])]
    return [gesture for gesture in made if gesture is not None]


def _milliseconds(seconds: str | None) -> int:
    return 0 if seconds is None else round(1000 * Fraction(seconds))


def _panel_lines(emitted: Emitted) -> Iterator[Line]:
    product = emitted.file["product"]
    nothing, rows = row_numbers(emitted)
    modes, controls = product["modes"], [control["name"] for control in product["panel"]]
    if any(mode["sets"] for mode in modes):
        for mode in [*modes, {"sets": []}]:
            sets = {line["control"]: rows[line["item"]] for line in mode["sets"]}
            yield [sets.get(control, nothing) for control in [*controls, "none"]]
    for mode in modes:
        yield [_milliseconds(mode["leave_after"]), int(mode["enter"] is None), int(mode["hidden"])]
    yield from _gesture_lines(modes, controls, rows, product["tap"])
    for at, mode in enumerate(modes):
        for shows in mode["shows"]:
            blinks = 0 if shows["blinks"] is None else round(1000 / Fraction(shows["blinks"]))
            state = 2 if shows["blinks"] is not None else ["off", "on"].index(shows["state"])
            yield [blinks, at, controls.index(shows["lamp"]), state]
    yield [0, 1]


def _gesture_lines(
    modes: list[Any], controls: list[str], rows: dict[str, int], tap: dict[str, Any] | None
) -> Iterator[Line]:
    found = [gesture["jumper"] for mode in modes for gesture in _gestures(mode) if "jumper" in gesture]
    jumpers = list(dict.fromkeys(found))

    def line(gesture: dict[str, Any], where: int, deed: str, about: int, at_most: int, flags: int) -> Line:
        first, second, hold = 0, 0xFF, 0
        match gesture["kind"]:
            case "press":
                kind, first = 0, controls.index(gesture["control"])
            case "hold":
                kind, hold = 1, _milliseconds(gesture["seconds"])
                first, second = [*(controls.index(control) for control in gesture["controls"]), 0xFF][:2]
                flags |= int(gesture["at_power_up"])
            case _:
                kind, first = 2, jumpers.index(gesture["jumper"])
        return [hold, at_most, about, where, kind, first, second, DEEDS.index(deed), flags]

    for at, mode in enumerate(modes):
        if mode["enter"] is not None:
            yield line(mode["enter"], 0xFF, "enter", at, 0, 0)
        if mode["leave"] is not None:
            yield line(mode["leave"], at, "leave", at, 0, 0)
        for does in mode["does"]:
            deed = does["deed"]
            word = " ".join([deed["kind"], *([deed["scope"]] if "scope" in deed else [])])
            about = rows[deed.get("flag") or deed["item"]] if word in ("flip", "while held") else 0
            if word == "learn":
                about = controls.index(deed["pedal"])
            flags = 2 * does["undoes_press"] + 4 * does["twice"]
            where = 0xFF if mode["enter"] is None else at
            yield line(does["gesture"], where, word, about, _milliseconds(deed.get("at_most")), flags)
    if tap is not None:
        yield line({"kind": "press", "control": tap["control"]}, 0xFF, "tap", rows[tap["item"]], 0, 0)


# ---- tables


def _stride(adc_bits: int) -> int:
    """Every reading of 10 bits and less is tried; of wider ones so many that a slow chip comes to an end."""
    return max(1, (1 << adc_bits) // 1000)


def _ends_tried(layout: Layout, control: str) -> tuple[tuple[int, int], ...]:
    """The file's own ends; others, wired the other way round; and a pair that is none."""
    knob = next(knob for knob in layout.product.knobs if knob.name == control)
    inside = (min(knob.ends) + 7, max(knob.ends) - 3)
    falling = knob.ends[1] < knob.ends[0]
    return (knob.ends, inside if falling else inside[::-1], (inside[0], inside[0]))


def _tables(emitted: Emitted) -> Iterator[str]:
    engines, knobs = emitted.layout.engines, emitted.layout.knobs
    if engines or knobs:
        yield "    uint32_t hash;\n    uint16_t k;"
    if knobs:
        yield "    uint16_t code;\n    @_ends ends;"
    for engine in engines:
        function = f"@_engine_{engine.item}"
        yield "    hash = 0u;"
        yield f"    for (k = 0u; k < {engine.table.entries + 2}u; k++) {{"
        yield f"        hash = mixed(hash, (uint32_t){function}(k));\n    }}"
        yield f"    out(hash); out((uint32_t){function}(0xFFFFu)); end();"
    for knob in knobs:
        top, stride, function = (1 << knob.adc_bits) - 1, _stride(knob.adc_bits), f"@_knob_{knob.name}"
        for low, high in _ends_tried(emitted.layout, knob.controls[0]):
            yield f"    ends.low = {low}u; ends.high = {high}u; hash = 0u; code = @@_FRESH;"
            yield f"    for (k = 0u; k < {top - stride}u; k = (uint16_t)(k + {stride}u)) {{"
            yield f"        hash = mixed(hash, {function}(k, &ends, @@_FRESH));"
            yield f"        code = {function}(k, &ends, code); hash = mixed(hash, code);\n    }}"
            yield f"    for (k = {top}u; k > {stride}u; k = (uint16_t)(k - {stride}u)) {{"
            yield f"        code = {function}(k, &ends, code); hash = mixed(hash, code);\n    }}"
            yield "    out(hash); end();"


def _table_lines(emitted: Emitted) -> Iterator[Line]:
    layout = emitted.layout
    for engine in emitted.file["engines"]:
        entries = table_entries(engine["table"])
        values = [table_value(engine["table"], code) % 2**32 for code in range(entries)]
        standard = values[layout.product.item(engine["item"]).default]
        yield [mixed([*values, standard, standard]), standard]
    for knob in emitted.file["knobs"]:
        top = (1 << knob["adc_bits"]) - 1
        default = layout.product.item(knob["item"]).default
        codes = [table_value(knob["table"], reading) for reading in range(top + 1)]
        for low, high in _ends_tried(layout, knob["controls"][0]):
            if low == high:
                at = [default] * (top + 1)
            else:
                at = [codes[scaled_reading(adc, low, high, top)] for adc in range(top + 1)]
            yield [mixed(_turned(at, knob["hysteresis"], _stride(knob["adc_bits"])))]


def _turned(at: list[int], slack: int, stride: int) -> Iterator[int]:
    """The codes of a knob that is turned up and down again, as it remembers and as if it did not."""
    top = len(at) - 1

    def settled(adc: int, last: int) -> int:
        one, other = at[max(adc - slack, 0)], at[min(adc + slack, top)]
        return last if min(one, other) <= last <= max(one, other) else at[adc]

    code = NO_CODE
    for adc in range(0, top - stride, stride):
        code = settled(adc, code)
        yield settled(adc, NO_CODE)
        yield code
    for adc in range(top, stride, -stride):
        code = settled(adc, code)
        yield code


def mixed(values: Sequence[int] | Iterator[int]) -> int:
    """One number of many, as the program makes it."""
    number = 0
    for value in values:
        number = (number ^ value) * 16777619 % 2**32
    return number
