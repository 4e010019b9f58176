"""A memory that is busy, refuses, or is misread once, at every single reading.

Nothing wrong is taken for right, nothing half read is handed out, and trying again gives what a quiet memory
gives.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.target.chips import host, run_host_board
from tests.target.emitted import Emitted, emit, layout_of
from tests.target.memories import damaged_memories
from tests.target.products import ALL

PROGRAM = """
#include "{name}.h"
#include "board.h"
#include <string.h>

enum {{ QUIET, BUSY, REFUSES, ODD, MISREAD }};

static uint8_t memory[{size}];
static uint32_t calls;
static uint32_t faulty;   /* the call at which something happens */
static uint8_t fault;
static uint8_t misread;   /* the byte of the piece that is read wrongly, and the bit */

static @_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{{
    (void)context;
    if (length == 0u || length > @@_PIECE || (uint32_t)address + length > sizeof memory) {{
        board_exit(90);
    }}
    memcpy(to, &memory[address], length);
    if (calls++ == faulty) {{
        if (fault == BUSY) {{
            memset(to, 0x5A, length);
            return @@_AGAIN;
        }}
        if (fault == REFUSES) {{
            return @@_REFUSED;
        }}
        if (fault == ODD) {{
            return 77u;
        }}
        if (fault == MISREAD) {{
            to[misread / 8u % length] ^= (uint8_t)(1u << (misread % 8u));
        }}
    }}
    return @@_OK;
}}

static uint32_t hash;

static void mix(const void *from, uint32_t length)
{{
    const uint8_t *bytes = (const uint8_t *)from;
    uint32_t i;
    for (i = 0u; i < length; i++) {{
        hash = (hash ^ bytes[i]) * 16777619u;
    }}
}}

/* Whether to try again; a load that answers so must have changed nothing. */
static int again(@_answer answer, const void *before, const void *after, uint32_t length)
{{
    if (answer != @@_AGAIN && answer != @@_REFUSED) {{
        return 0;
    }}
    if (fault == QUIET || memcmp(before, after, length) != 0) {{
        board_exit(91);
    }}
    if ((answer == @@_REFUSED) != (fault == REFUSES || fault == ODD)) {{
        board_exit(92);
    }}
    return 1;
}}

static void everything(void)
{{
    static @_store store;
    @_driver driver;
    @_identity identity, identity_before;
    @_look look, look_before;
{declared}
    @_answer answer;
    uint8_t slot;
    memset(&identity, 0, sizeof identity);
    memset(&look, 0, sizeof look);
    hash = 2166136261u;
    calls = 0u;
    driver.read = reading;
    driver.context = NULL;
    @_open(&store, &driver);
    do {{
        if (@_start(&store, &look) != @@_MUTED) {{
            board_exit(93);
        }}
        answer = @_open_step(&store);
    }} while (answer == @@_MORE || again(answer, &look, &look, sizeof look));
    if (answer != @_unit(&store)) {{
        board_exit(94);
    }}
    mix(&answer, sizeof answer);
    identity_before = identity;
    do {{
        answer = @_identity_get(&store, &identity);
    }} while (again(answer, &identity_before, &identity, sizeof identity));
    mix(&answer, sizeof answer);
    mix(&identity.product, sizeof identity.product);
{loads}
    look_before = look;
    do {{
        answer = @_load_state(&store, &look);
        if (answer >= @@_MORE && @_start(&store, &look) != @@_MUTED) {{
            board_exit(95);
        }}
    }} while (again(answer, &look_before, &look, sizeof look));
    mix(&answer, sizeof answer);
    mix(&look, sizeof look);
    slot = @_start(&store, &look);
    mix(&slot, sizeof slot);
    for (slot = 0u; slot < @@_SLOTS; slot++) {{
        look_before = look;
        do {{
            answer = @_load_preset(&store, slot, &look);
        }} while (again(answer, &look_before, &look, sizeof look));
        mix(&answer, sizeof answer);
        mix(&look, sizeof look);
{names}
    }}
}}

int main(void)
{{
    uint32_t quiet, count, at, bit;
    board_eeprom_read(0u, memory, sizeof memory);
    fault = QUIET;
    faulty = UINT32_MAX;
    everything();
    quiet = hash;
    count = calls;
    for (fault = BUSY; fault <= ODD; fault++) {{
        for (at = 0u; at < count; at++) {{
            faulty = at;
            everything();
            if (hash != quiet) {{
                return 2;
            }}
        }}
    }}
    fault = MISREAD;
    for (at = 0u; at < count; at++) {{
        for (bit = 0u; bit < 8u * @@_PIECE; bit += {every}u) {{
            faulty = at;
            misread = (uint8_t)bit;
            everything();
            if (hash != quiet) {{
                board_print_u32(at);
                board_putchar(' ');
                board_print_u32(bit);
                return 3;
            }}
        }}
    }}
    board_print_u32(count);
    return 0;
}}
"""

TRIMS = """    @_trims trims, trims_before;"""
LOAD_TRIMS = """    memset(&trims, 0, sizeof trims);
    trims_before = trims;
    do {
        answer = @_load_trims(&store, &trims);
    } while (again(answer, &trims_before, &trims, sizeof trims));
    mix(&answer, sizeof answer);
    mix(&trims, sizeof trims);"""
LOAD_SETUP = """    look_before = look;
    do {
        answer = @_load_setup(&store, &look);
    } while (again(answer, &look_before, &look, sizeof look));
    mix(&answer, sizeof answer);"""
NAMES = """        do {
            answer = @_preset_name(&store, slot, name);
        } while (again(answer, "", "", 0u));
        mix(name, sizeof name[0] * (uint32_t)strlen(name));"""


def fault_program(emitted: Emitted, every: int) -> Path:
    """The program; of the bits of a piece every so manyth is misread."""
    names = bool(emitted.layout.product.holds.preset_names)
    text = PROGRAM.format(
        name=emitted.name,
        size=emitted.layout.product.chip.size,
        every=every,
        declared="\n".join([TRIMS] * emitted.has("bench") + ["    char name[@@_NAME + 1u];"] * names),
        loads="\n".join([LOAD_TRIMS] * emitted.has("bench") + [LOAD_SETUP] * emitted.has("setup")),
        names=NAMES if names else "",
    )
    return emitted.write("faults.c", text)


@pytest.mark.slow
@pytest.mark.needs("gcc")
@pytest.mark.parametrize(("product", "every"), [("pinch", 1), ("causeway", 29), ("pier_light", 5)])
def test_one_bad_reading_changes_nothing(product: str, every: int, tmp_path: Path) -> None:
    emitted = emit(layout_of(ALL[product]), tmp_path)
    program = host(
        [fault_program(emitted, every), emitted.source], [emitted.folder], sanitize=False, extra=["-O2"]
    )
    memories = dict(damaged_memories(emitted.file))
    for name in ("sound: new", "sound: played, with newer copies beside older ones", "damaged: state"):
        run = run_host_board(program, eeprom=memories[name], seconds=300)
        assert int(run.stdout) > 50, name
