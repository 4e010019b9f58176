/* Plays a trace of the panel: bytes in the board's memory say what happens, lines say what comes of it.
 * @ stands for a product's prefix and @@ for the same in capitals. Parts that are not wanted are left out by
 * the names that the test defines. */
#include "product.h"
#include "board.h"

#include <stddef.h>

static uint32_t at;

static uint8_t byte(void)
{
    uint8_t read[1];
    board_eeprom_read(at, read, 1u);
    at++;
    return read[0];
}

static uint16_t word(void)
{
    uint16_t low = byte();
    return (uint16_t)(low + (uint16_t)(byte() * 256u));
}

static void out(uint32_t value)
{
    board_putchar(' ');
    board_print_u32(value);
}

#ifdef WITH_FEET
static @_feet feet;

static void play_feet(uint8_t kind)
{
    @_panel_now now;
    @_event events[@@_EVENTS];
    uint8_t told;
    uint8_t bits;
    uint8_t i;
    if (kind == 1u) {
        @_feet_begin(&feet);
    } else {
        now.elapsed_ms = word();
        now.mode = byte();
        bits = byte();
        now.down[@@_FOOT_LEFT] = bits & 1u;
        now.down[@@_FOOT_RIGHT] = (bits >> 1) & 1u;
        now.down[@@_FOOT_MIDDLE] = (bits >> 2) & 1u;
        now.moved = (bits >> 3) & 1u;
        now.closed[0] = (bits >> 4) & 1u;
        told = @_feet_step(&feet, &now, events);
        for (i = 0u; i < told; i++) {
            out(events[i].gesture);
            out(events[i].what);
        }
    }
}
#else
static void play_feet(uint8_t kind)
{
    (void)kind;
}
#endif

#ifdef WITH_FOLLOW
static @_follow follow;

static void play_follow(uint8_t kind)
{
    uint16_t knob;
    uint16_t code;
    uint8_t how;
    if (kind == 3u) {
        knob = word();
        code = word();
        @_follow_begin(&follow, knob, code);
    } else if (kind == 4u) {
        how = byte();
        knob = word();
        code = word();
        out(@_follow_turn(&follow, how, knob, code, word()));
    } else {
        @_follow_handed(&follow);
    }
}
#else
static void play_follow(uint8_t kind)
{
    (void)kind;
}
#endif

#ifdef WITH_LOOK
static @_look look;
static @_taps taps;
static @_midi midi;
static uint8_t dump[@@_DUMP];
static uint8_t kept[@@_DUMP];
static @_pedal pedal;
static @_learn learn;

static void play_taps(uint8_t kind)
{
    uint16_t code = 0xFFFFu;
    if (kind == 6u) {
        @_taps_begin(&taps);
    } else if (kind == 7u) {
        @_taps_wait(&taps, word());
    } else if (kind == 8u) {
        @_tap_time(&taps);
    } else if (kind == 9u) {
        @_taps_undo(&taps);
    } else {
        out(@_tempo_time(&taps, &look, &code));
        out(code);
    }
}

static void hex(const uint8_t *bytes, uint16_t length)
{
    uint16_t i;
    board_putchar(' ');
    for (i = 0u; i < length; i++) {
        board_print_hex(bytes[i]);
    }
}

static void play_midi(uint8_t kind)
{
    @_midi_event event;
    uint8_t bytes[6];
    uint8_t told;
    uint8_t item;
    if (kind == 11u) {
        @_midi_begin(&midi, (byte() != 0u) ? kept : NULL);
    } else if (kind == 12u) {
        event.item = @@_NOTHING;
        event.code = 0u;
        event.slot = 0u;
        told = @_midi_byte(&midi, @_midi_channel(&look), byte(), &event);
        out(told);
        if (told == @@_MIDI_SET) {
            out(event.item);
            out(event.code);
        } else if (told == @@_MIDI_PRESET) {
            out(event.slot);
        } else {
            /* no more to say */
        }
    } else if (kind == 13u) {
        item = byte();
        told = @_midi_send(&look, item, byte(), bytes);
        hex(bytes, told);
    } else {
        item = byte();
        told = @_midi_send_preset(item, byte(), bytes);
        hex(bytes, told);
    }
}

static void play_pedal(uint8_t kind)
{
    @_ends ends;
    @_index item = @@_NOTHING;
    uint16_t code = 0u;
    uint16_t adc;
    uint8_t told;
    if (kind == 15u) {
        @_pedal_begin(&pedal);
    } else if (kind == 16u) {
        adc = word();
        ends.low = word();
        ends.high = word();
        told = @_pedal_EXP(&pedal, adc, &ends, &look, &item, &code);
        out(told);
        if (told != @@_PEDAL_NOTHING) {
            out(item);
            out(code);
        }
    } else if (kind == 17u) {
        @_learn_begin(&learn, word());
    } else if (kind == 18u) {
        @_learn_step(&learn, word());
    } else {
        ends.low = 1u;
        ends.high = 2u;
        out(@_learn_end(&learn, word(), &ends));
        out(ends.low);
        out(ends.high);
    }
}

static void play_dump(uint8_t kind)
{
    char name[@@_NAME + 1u] = "Salt";
    @_look other;
    uint8_t slot = 99u;
    uint16_t where;
    uint8_t i;
    if (kind == 20u) {
        name[@@_NAME] = '\0';
        @_dump_write(byte(), &look, name, dump);
        hex(dump, (uint16_t)@@_DUMP);
    } else if (kind == 21u) {
        where = word();
        dump[where] = (uint8_t)(dump[where] ^ byte());
    } else {
        @_factory_setup(&other);
        @_factory_preset(0u, &other);
        out(@_dump_read((kind == 22u) ? dump : kept, word(), &slot, &other, name));
        out(slot);
        for (i = 0u; i < @@_ROWS; i++) {
            out(@_get(&other, i));
        }
        hex((const uint8_t *)name, 12u);
    }
}

static void play_look(uint8_t kind)
{
    uint8_t item;
    if (kind == 24u) {
        @_factory_setup(&look);
        @_factory_state(&look);
        @_factory_preset(0u, &look);
    } else {
        item = byte();
        out(@_set(&look, item, word()));
    }
}

static void play_rest(uint8_t kind)
{
    if (kind < 11u) {
        play_taps(kind);
    } else if (kind < 15u) {
        play_midi(kind);
    } else if (kind < 20u) {
        play_pedal(kind);
    } else if (kind < 24u) {
        play_dump(kind);
    } else {
        play_look(kind);
    }
}
#else
static void play_rest(uint8_t kind)
{
    (void)kind;
}
#endif

int main(void)
{
    uint8_t kind = byte();
    while (kind != 255u) {
        board_putchar('>');
        if (kind < 3u) {
            play_feet(kind);
        } else if (kind < 6u) {
            play_follow(kind);
        } else {
            play_rest(kind);
        }
        board_putchar('\n');
        kind = byte();
    }
    return 0;
}
