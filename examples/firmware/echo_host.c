/* The board of echo.c on a computer: a script on standard input plays the panel and the MIDI input, standard output
 * tells what the unit does. The memory is a file named on the command line, which is written at once:
 * echo MEMORY.bin < script
 *
 *     at 500 analog 0 700    from 500 ms on knob 0 reads 700; the pedal is control 10
 *     at 900 foot 1 1        the tap switch goes down; 0: up
 *     at 1000 position 7 2   the rotary goes to its third position
 *     at 1500 midi 176       a byte comes in
 *     at 2000 busy 300       the memory does not answer for 300 ms
 *     at 5000 end            power goes, whatever is being done
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "echo_board.h"
#include "script.h"

static unsigned long now;
static unsigned long busy_until;
static uint16_t analog[LC_CONTROLS];
static uint8_t position[LC_CONTROLS];
static uint8_t feet[LC_FEET];
static uint8_t incoming[EVENTS];
static int incoming_count;
static int incoming_read;
static int running = 1;
static uint8_t memory[LC_MEMORY];

static void play_events(void)
{
    const event *e;
    while ((e = script_next(now)) != NULL) {
        if (strcmp(e->what, "analog") == 0 && e->which < LC_CONTROLS) {
            analog[e->which] = (uint16_t)e->value;
        } else if (strcmp(e->what, "position") == 0 && e->which < LC_CONTROLS) {
            position[e->which] = (uint8_t)e->value;
        } else if (strcmp(e->what, "foot") == 0 && e->which < LC_FEET) {
            feet[e->which] = (uint8_t)e->value;
        } else if (strcmp(e->what, "midi") == 0) {
            incoming[incoming_count] = (uint8_t)e->which;
            incoming_count++;
        } else if (strcmp(e->what, "busy") == 0) {
            busy_until = e->at + e->which;
        } else {
            running = 0;
        }
    }
}

int main(int argc, char **argv);
int echo_main(void);

int main(int argc, char **argv)
{
    if (!memory_open(argc, argv, memory, sizeof memory)) {
        return 2;
    }
    (void)echo_main();
    return memory_close() ? 0 : 1;
}

void board_begin(void)
{
    static const lc_ends pedal = LC_ENDS_EXP;
    unsigned i;
    for (i = 0; i < LC_CONTROLS; i++) {
        analog[i] = 2048u;
    }
    analog[LC_CONTROL_EXP] = pedal.low;
    position[LC_CONTROL_SHAPE] = LC_DEFAULT_MOD_SHAPE;
    position[LC_CONTROL_BEAT] = LC_DEFAULT_SUBDIVISION;
    script_read();
    play_events();
}

uint32_t board_milliseconds(void)
{
    return (uint32_t)now;
}

/* Each look at the clock of the main loop is a millisecond. */
uint8_t board_runs(void)
{
    now++;
    play_events();
    if (script_is_over() && now > 60000u) {
        running = 0;
    }
    return running ? 1u : 0u;
}

uint16_t board_analog(uint8_t control)
{
    return analog[control];
}

uint8_t board_position(uint8_t control)
{
    return position[control];
}

uint8_t board_foot(uint8_t foot)
{
    return feet[foot];
}

uint8_t board_jumper(void)
{
    return 0u;
}

uint8_t board_midi_in(uint8_t *byte)
{
    if (incoming_read == incoming_count) {
        return 0u;
    }
    *byte = incoming[incoming_read];
    incoming_read++;
    return 1u;
}

void board_midi_out(const uint8_t *bytes, uint8_t length)
{
    uint8_t i;
    printf("%lu midi", now);
    for (i = 0; i < length; i++) {
        printf(" %02X", bytes[i]);
    }
    putchar('\n');
}

void board_path(uint8_t path)
{
    static const char *const words[] = {"muted", "bypassed", "engaged"};
    printf("%lu path %s\n", now, words[path]);
}

void board_engine(lc_index item, int32_t value)
{
    printf("%lu item %u %ld\n", now, (unsigned)item, (long)value);
}

void board_effect(uint8_t way)
{
    printf("%lu effect %u\n", now, (unsigned)way);
}

lc_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    (void)context;
    if (now < busy_until) {
        return LC_AGAIN;
    }
    memcpy(to, &memory[address], length);
    return LC_OK;
}

/* A write keeps the memory busy for 5 ms. */
lc_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    (void)context;
    if (now < busy_until) {
        return LC_AGAIN;
    }
    if (!memory_write(memory, address, from, length)) {
        return LC_REFUSED;
    }
    busy_until = now + 5u;
    return LC_OK;
}
