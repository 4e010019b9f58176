"""Products turned into C and into programs that print everything the C can say of a memory."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paramc.driver import understand
from paramc.emit.c import emit_c
from paramc.layout.json_form import to_json
from paramc.layout.layout import Layout
from paramc.tables.knob import scaled_reading
from paramc.tables.table import evaluate
from paramc.text.source import Source
from tests.target.independent import Reader, text_bytes

ANSWERS = {
    "sound": 0, "older": 1, "newer": 2, "blank": 3, "damaged": 4, "trial": 5, "foreign": 6, "missing": 7,
}
STARTS = {"muted": 0, "bypassed": 1, "engaged": 2}
NO_CODE = 0xFFFF


@dataclass(frozen=True)
class Emitted:
    """A product's layout, the same as its layout file says it, and the folder that its C is in."""

    layout: Layout
    file: dict[str, Any]
    folder: Path

    @property
    def name(self) -> str:
        return self.layout.product.name

    @property
    def source(self) -> Path:
        return self.folder / f"{self.name}.c"

    @property
    def header(self) -> Path:
        return self.folder / f"{self.name}.h"


def layout_of(product: str) -> Layout:
    """The layout of a product text that builds."""
    understood = understand(Source("product.paramc", product))
    said = "\n".join(f"{found.rule.name}: {found.sentence}" for found in understood.diagnostics)
    assert understood.value is not None, said
    return understood.value.layout


def emit(layout: Layout, folder: Path) -> Emitted:
    """The C of a layout, in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for artifact in emit_c(layout):
        (folder / artifact.name).write_bytes(artifact.data)
    return Emitted(layout, json.loads(to_json(layout)), folder)


# ---- the program


def dump_program(emitted: Emitted, images: int, tables: bool = True) -> Path:
    """A program that prints what `expected` gives for so many memories lying one behind the other.

    It prints numbers alone: the chips that it runs on have little room for words.
    """
    parts = [*_opening(emitted), *_memory(emitted)]
    body = ["    uint16_t image;", f"    for (image = 0u; image < {images}u; image++) {{", "        memory(image);", "    }"]
    if tables:
        parts += [*_panel(emitted), *_tables(emitted)]
        body += ["    panel();", "    tables();"]
    text = "\n".join([*parts, "int main(void)", "{", *body, "    return 0;", "}", ""])
    path = emitted.folder / "dump.c"
    path.write_text(prefixed(text, emitted), encoding="utf-8")
    return path


def prefixed(text: str, emitted: Emitted) -> str:
    """C in which @ stands for the prefix and @@ for the same in capitals."""
    prefix = emitted.layout.product.prefix
    return text.replace("@@", prefix.upper()).replace("@", prefix)


def _stride(adc_bits: int) -> int:
    """Every reading of 10 bits and less is tried; of wider ones so many that a slow chip comes to an end."""
    return max(1, (1 << adc_bits) // 1000)


def _opening(emitted: Emitted) -> Iterator[str]:
    size = emitted.layout.product.chip.size
    yield f'#include "{emitted.name}.h"'
    yield '#include "board.h"'
    yield f"""
static @_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{{
    board_eeprom_read((uint32_t)*(uint16_t *)context * {size}u + address, to, length);
    return @@_OK;
}}

static void out(uint32_t value)
{{
    board_print_u32(value);
    board_putchar(' ');
}}

static void end(void)
{{
    board_putchar('\\n');
}}
"""


def _memory(emitted: Emitted) -> Iterator[str]:
    file = emitted.file
    kinds = {record["kind"]: record for record in file["records"]}
    yield "static void memory(uint16_t image)\n{"
    yield "    @_store store;\n    @_driver driver;\n    @_identity identity;\n    @_look look;"
    if "bench" in kinds:
        yield "    @_trims trims;"
    names = any(field["kind"] == "name" for field in kinds["presets"]["fields"])
    if names:
        yield "    char name[@@_NAME + 1u];"
    yield "    uint8_t slot;"
    if names or file["product"]["holds"]["serial_characters"]:
        yield "    uint8_t i;"
    yield "    driver.read = reading;\n    driver.context = &image;\n    @_open(&store, &driver);"
    yield "    while (@_open_step(&store) == @@_MORE) {\n    }"
    yield "    @_factory_state(&look);"
    if "setup" in kinds:
        yield "    @_factory_setup(&look);"
    yield "    out(@_unit(&store)); out(@_start(&store, &look)); end();"
    yield "    identity.product = 0u; identity.fingerprint_high = 0u; identity.fingerprint_low = 0u;"
    yield "    identity.hardware = 0u; identity.trial = 0u;"
    if file["product"]["holds"]["serial_characters"]:
        yield "    identity.serial[0] = '\\0';"
    yield "    out(@_identity_get(&store, &identity)); out(identity.product); out(identity.fingerprint_high);"
    yield "    out(identity.fingerprint_low); out(identity.hardware); out(identity.trial);"
    if file["product"]["holds"]["serial_characters"]:
        yield "    for (i = 0u; identity.serial[i] != '\\0'; i++) { out((uint8_t)identity.serial[i]); }"
    yield "    end();"
    if "bench" in kinds:
        yield "    out(@_load_trims(&store, &trims));"
        yield from (f"    out(trims.{_member(field)});" for field in kinds["bench"]["fields"])
        yield "    end();"
    if "setup" in kinds:
        yield "    out(@_load_setup(&store, &look));"
        yield from (f"    out(look.{field['name']});" for field in kinds["setup"]["fields"])
        yield "    out(@_look_ok(&store, &look)); end();"
    yield "    out(@_load_state(&store, &look));"
    yield from (f"    out(look.{field['name']});" for field in kinds["state"]["fields"])
    yield "    out(@_look_ok(&store, &look)); end();"
    yield "    out(@_start(&store, &look)); end();"
    yield "    for (slot = 0u; slot <= @@_SLOTS; slot++) {"
    yield "        out(@_load_preset(&store, slot, &look));"
    for field in kinds["presets"]["fields"]:
        if field["kind"] == "item":
            yield f"        out(look.{field['name']});"
    yield "        out(look.last_preset); out(@_look_ok(&store, &look));"
    if names:
        yield "        out(@_preset_name(&store, slot, name));"
        yield "        for (i = 0u; name[i] != '\\0'; i++) { out((uint8_t)name[i]); }"
    yield "        end();\n    }\n}\n"


def _member(field: dict[str, Any]) -> str:
    name = str(field["name"])
    if field["kind"] in ("end low", "end high"):
        control, _, end = name.rpartition("_")
        return f"{control}_ends.{end}"
    return name


def _panel(emitted: Emitted) -> Iterator[str]:
    product = emitted.layout.product
    yield "static void panel(void)\n{"
    if any(mode.sets for mode in product.modes):
        yield "    uint8_t mode;\n    uint8_t control;"
        yield "    for (mode = 0u; mode <= @@_MODES; mode++) {"
        yield "        for (control = 0u; control <= @@_CONTROLS; control++) { out(@_sets(mode, control)); }"
        yield "        end();\n    }"
    if product.modes:
        yield "    {\n    uint8_t i;\n    @_mode facts;"
        yield "    for (i = 0u; @_mode_get(i, &facts) != 0u; i++) {"
        yield "        out(facts.leave_after_ms); out(facts.open); out(facts.hidden); end();\n    }\n    }"
    if _gestures(product):
        yield "    {\n    uint8_t i;\n    @_gesture g;"
        yield "    for (i = 0u; @_gesture_get(i, &g) != 0u; i++) {"
        yield "        out(g.hold_ms); out(g.at_most_ms); out(g.about); out(g.mode); out(g.gesture);"
        yield "        out(g.first); out(g.second); out(g.deed); out(g.flags); end();\n    }\n    }"
    if any(mode.shows for mode in product.modes):
        yield "    {\n    uint8_t i;\n    @_shows s;"
        yield "    for (i = 0u; @_shows_get(i, &s) != 0u; i++) {"
        yield "        out(s.period_ms); out(s.mode); out(s.lamp); out(s.state); end();\n    }\n    }"
    yield "    out(@_self_test(@@_BUILD)); out(@_self_test(@@_BUILD + 1u)); end();\n}\n"


def _gestures(product: Any) -> list[Any]:
    found = [(mode.enter, mode.leave, *mode.does) for mode in product.modes]
    return [gesture for gestures in found for gesture in gestures if gesture is not None]


def _tables(emitted: Emitted) -> Iterator[str]:
    if not emitted.layout.engines and not emitted.layout.knobs:
        yield "static void tables(void)\n{\n}\n"
        return
    yield "static uint32_t mixed(uint32_t hash, uint32_t value)\n{\n    return (hash ^ value) * 16777619u;\n}\n"
    yield "static void tables(void)\n{\n    uint32_t hash = 0u;\n    uint16_t k;\n    uint16_t code = @@_FRESH;\n    @_ends ends;" \
        if emitted.layout.knobs else "static void tables(void)\n{\n    uint32_t hash = 0u;\n    uint16_t k = 0u;"
    for engine in emitted.layout.engines:
        top = engine.table.entries + 2
        yield "    hash = 0u;"
        yield f"    for (k = 0u; k < {top}u; k++) {{ hash = mixed(hash, (uint32_t)@_engine_{engine.item}(k)); }}"
        yield f"    out(hash); out((uint32_t)@_engine_{engine.item}(0xFFFFu)); end();"
    for knob in emitted.layout.knobs:
        top, stride, function = (1 << knob.adc_bits) - 1, _stride(knob.adc_bits), f"@_knob_{knob.name}"
        for low, high in _ends_tried(emitted.layout, knob.controls[0]):
            yield f"    ends.low = {low}u; ends.high = {high}u; hash = 0u; code = @@_FRESH;"
            yield f"    for (k = 0u; k < {top - stride}u; k = (uint16_t)(k + {stride}u)) {{"
            yield f"        hash = mixed(hash, {function}(k, &ends, @@_FRESH));"
            yield f"        code = {function}(k, &ends, code); hash = mixed(hash, code);\n    }}"
            yield f"    for (k = {top}u; k > {stride}u; k = (uint16_t)(k - {stride}u)) {{"
            yield f"        code = {function}(k, &ends, code); hash = mixed(hash, code);\n    }}"
            yield "    out(hash); end();"
    if emitted.layout.knobs:
        yield "    (void)code; (void)ends;"
    yield "    (void)hash; (void)k;\n}\n"


def _ends_tried(layout: Layout, control: str) -> tuple[tuple[int, int], ...]:
    knob = next(knob for knob in layout.product.knobs if knob.name == control)
    low, high = knob.ends
    # The file's own, wired the other way round, and worn ones with no fine factor; and a pair that is no pair.
    inside = (min(low, high) + 7, max(low, high) - 3)
    return (knob.ends, inside[:: -1 if low < high else 1], (inside[0], inside[0]))


# ---- what it has to print


def expected(emitted: Emitted, images: Sequence[bytes], tables: bool = True) -> str:
    """What the program prints, worked out by the independent reader and by the models of tables."""
    lines = [line for image in images for line in _memory_lines(emitted, image)]
    if tables:
        lines += [*_panel_lines(emitted), *_table_lines(emitted)]
    return "".join("".join(f"{value} " for value in line) + "\n" for line in lines)


def _memory_lines(emitted: Emitted, image: bytes) -> Iterator[list[int]]:
    reader = Reader(emitted.file, image)
    fields = {record["kind"]: record["fields"] for record in emitted.file["records"]}
    holds = emitted.file["product"]["holds"]
    nothing, rows = row_numbers(emitted)
    yield [ANSWERS[reader.unit()], STARTS["muted"]]
    identity = reader.number("identity")
    values = identity.values if identity.state == "sound" else {}
    other = values.get("product_code", emitted.layout.product.code) != emitted.layout.product.code
    fingerprint = values.get("fingerprint", 0)
    serial = b""
    if holds["serial_characters"]:
        serial = text_bytes(values.get("serial", 0), 8 * holds["serial_characters"], "big")
    yield [
        ANSWERS["foreign" if other else identity.state], values.get("product_code", 0), fingerprint >> 16,
        fingerprint & 0xFFFF, values.get("hardware", 0), values.get("trial", 0), *serial,
    ]  # fmt: skip
    for kind in ("bench", "setup", "state"):
        if kind in fields:
            state, codes, replaced = reader.codes(kind)
            line = [ANSWERS[state], *(codes[field["name"]] for field in fields[kind])]
            yield line if kind == "bench" else [*line, nothing if replaced is None else rows[replaced]]
    yield [STARTS[reader.start()]]
    # A slot that is not there changes nothing.
    sound = {}
    for slot in range(holds["preset_slots"] + 1):
        there = slot < holds["preset_slots"]
        state, codes, replaced = reader.codes("presets", slot) if there else ("missing", sound, None)
        sound = codes
        if not there:
            # The store still names what the load before had to replace.
            replaced = last_replaced
        last_replaced = replaced
        yield [
            ANSWERS[state],
            *(codes[field["name"]] for field in fields["presets"] if field["kind"] == "item"),
            min(slot, holds["preset_slots"] - 1),
            nothing if replaced is None else rows[replaced],
            *([ANSWERS[state], *_name_bytes(emitted, codes if there else {"name": 0})] if holds["preset_names"] else ()),
        ]


def _name_bytes(emitted: Emitted, codes: dict[str, int]) -> bytes:
    width = 8 * emitted.file["product"]["holds"]["preset_names"]
    return text_bytes(codes["name"], width, emitted.file["product"]["chip"]["order"])


def row_numbers(emitted: Emitted) -> tuple[int, dict[str, int]]:
    """The number of no item, and the number of each row by the name of its field."""
    fields = {record["kind"]: record["fields"] for record in emitted.file["records"]}
    names: list[str] = []
    for kind in ("setup", "state", "bench", "identity"):
        for field in fields.get(kind, []):
            halves = 2 if field["kind"] == "fingerprint" else 0 if field["kind"] == "serial" else 1
            names += [field["name"]] * halves
    places = sum(len(record["places"]) for record in emitted.file["records"])
    nothing = 0xFF if max(len(names), places) < 0xFF else 0xFFFF
    return nothing, {name: names.index(name) for name in names}


def _panel_lines(emitted: Emitted) -> Iterator[list[int]]:
    product = emitted.file["product"]
    nothing, rows = row_numbers(emitted)
    modes, controls = product["modes"], [control["name"] for control in product["panel"]]
    if any(mode["sets"] for mode in modes):
        for mode in [*modes, {"sets": []}]:
            sets = {line["control"]: rows[line["item"]] for line in mode["sets"]}
            yield [sets.get(control, nothing) for control in [*controls, "none"]]
    for mode in modes:
        after = 0 if mode["leave_after"] is None else round(1000 * _number(mode["leave_after"]))
        yield [after, int(mode["enter"] is None), int(mode["hidden"])]
    jumpers: list[str] = []
    for mode in modes:
        for gesture in (mode["enter"], mode["leave"], *(does["gesture"] for does in mode["does"])):
            if gesture is not None and gesture["kind"] == "jumper" and gesture["jumper"] not in jumpers:
                jumpers.append(gesture["jumper"])

    def row(gesture: dict[str, Any], where: int, deed: int, about: int, at_most: int, flags: int) -> list[int]:
        first, second, hold = 0, 0xFF, 0
        kind = {"press": 0, "hold": 1, "jumper": 2}[gesture["kind"]]
        if gesture["kind"] == "press":
            first = controls.index(gesture["control"])
        elif gesture["kind"] == "hold":
            numbers = [controls.index(control) for control in gesture["controls"]]
            first, second = numbers[0], numbers[1] if len(numbers) > 1 else 0xFF
            hold = round(1000 * _number(gesture["seconds"]))
            flags |= int(gesture["at_power_up"])
        else:
            first = jumpers.index(gesture["jumper"])
        return [hold, at_most, about, where, kind, first, second, deed, flags]

    for at, mode in enumerate(modes):
        if mode["enter"] is not None:
            yield row(mode["enter"], 0xFF, 6, at, 0, 0)
        if mode["leave"] is not None:
            yield row(mode["leave"], at, 7, at, 0, 0)
        for does in mode["does"]:
            deed = does["deed"]
            word = deed["kind"] + (f" {deed['scope']}" if "scope" in deed else "")
            number = ["bypass", "flip", "next preset", "while held", "reset look", "reset slot"].index(word)
            about = rows[deed.get("flag") or deed["item"]] if number in (1, 3) else 0
            at_most = round(1000 * _number(deed["at_most"])) if number == 3 else 0
            flags = 2 * does["undoes_press"] + 4 * does["twice"]
            yield row(does["gesture"], 0xFF if mode["enter"] is None else at, number, about, at_most, flags)
    for at, mode in enumerate(modes):
        for shows in mode["shows"]:
            blinks = 0 if shows["blinks"] is None else round(1000 / _number(shows["blinks"]))
            state = 2 if shows["blinks"] is not None else ["off", "on"].index(shows["state"])
            yield [blinks, at, controls.index(shows["lamp"]), state]
    yield [0, 1]


def _number(text: str) -> Any:
    from fractions import Fraction

    return Fraction(text)


def _table_lines(emitted: Emitted) -> Iterator[list[int]]:
    layout = emitted.layout
    for engine in layout.engines:
        item = layout.product.item(engine.item)
        values = [evaluate(engine.table, code) % 2**32 for code in range(engine.table.entries)]
        standard = values[item.default]
        yield [_mixed([*values, standard, standard]), standard]
    for knob in layout.knobs:
        top = (1 << knob.adc_bits) - 1
        default = layout.product.item(knob.item).default
        codes = [evaluate(knob.table, reading) for reading in range(top + 1)]
        for low, high in _ends_tried(layout, knob.controls[0]):
            stride = _stride(knob.adc_bits)
            yield [_knob_hash(codes, low, high, knob.hysteresis, top, default, stride)]


def _knob_hash(
    codes: list[int], low: int, high: int, slack: int, top: int, default: int, stride: int
) -> int:
    if low == high:
        at = [default] * (top + 1)
    else:
        at = [codes[scaled_reading(adc, low, high, top)] for adc in range(top + 1)]

    def settled(adc: int, last: int) -> int:
        one, other = at[max(adc - slack, 0)], at[min(adc + slack, top)]
        return last if min(one, other) <= last <= max(one, other) else at[adc]

    mixed: list[int] = []
    code = NO_CODE
    for adc in range(0, top - stride, stride):
        code = settled(adc, code)
        mixed += [settled(adc, NO_CODE), code]
    for adc in range(top, stride, -stride):
        code = settled(adc, code)
        mixed.append(code)
    return _mixed(mixed)


def _mixed(values: Sequence[int]) -> int:
    number = 0
    for value in values:
        number = (number ^ value) * 16777619 % 2**32
    return number
