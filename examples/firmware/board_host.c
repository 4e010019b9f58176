/* The board of pedal.c on a computer: a script on standard input plays the panel, standard output tells what
 * the unit does. The memory is a file named on the command line, which is written at once: pedal MEMORY.bin < script
 *
 *     at 500 knob 0 700      from 500 ms on knob 0 reads 700
 *     at 900 foot 1          the footswitch goes down; 0: up
 *     at 1000 toggle 2       the toggle goes to its third position
 *     at 2000 busy 300       the memory does not answer for 300 ms
 *     at 5000 end            power goes, whatever is being done
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "board.h"
#include "script.h"

static unsigned long now;
static uint16_t knobs[TP_CONTROLS];
static uint8_t toggle_position = TP_DEFAULT_TONE;
static uint8_t foot;
static int running = 1;
static uint8_t memory[TP_MEMORY];
static unsigned memory_busy; /* so many times it does not answer */
static unsigned long busy_until;

static void play_events(void)
{
    const event *e;
    while ((e = script_next(now)) != NULL) {
        if (strcmp(e->what, "knob") == 0 && e->which < TP_CONTROLS) {
            knobs[e->which] = (uint16_t)e->value;
        } else if (strcmp(e->what, "foot") == 0) {
            foot = (uint8_t)e->which;
        } else if (strcmp(e->what, "toggle") == 0) {
            toggle_position = (uint8_t)e->which;
        } else if (strcmp(e->what, "busy") == 0) {
            busy_until = e->at + e->which;
        } else {
            running = 0;
        }
    }
}

int main(int argc, char **argv);
int pedal_main(void);

int main(int argc, char **argv)
{
    if (!memory_open(argc, argv, memory, sizeof memory)) {
        return 2;
    }
    (void)pedal_main();
    return memory_close() ? 0 : 1;
}

void board_begin(void)
{
    unsigned i;
    for (i = 0; i < TP_CONTROLS; i++) {
        knobs[i] = 512u;
    }
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

uint16_t board_knob(uint8_t control)
{
    return knobs[control];
}

uint8_t board_toggle(uint8_t control)
{
    (void)control;
    return toggle_position;
}

uint8_t board_foot(void)
{
    return foot;
}

uint8_t board_jumper(void)
{
    return 0u;
}

void board_path(uint8_t path)
{
    static const char *const words[] = {"muted", "bypassed", "engaged"};
    printf("%lu path %s\n", now, words[path]);
}

void board_engine(tp_index item, int32_t value)
{
    printf("%lu item %u %ld\n", now, (unsigned)item, (long)value);
}

static int is_busy(void)
{
    if (memory_busy != 0u) {
        memory_busy--;
        return 1;
    }
    return now < busy_until;
}

tp_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    (void)context;
    if (is_busy()) {
        return TP_AGAIN;
    }
    memcpy(to, &memory[address], length);
    return TP_OK;
}

tp_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    (void)context;
    if (is_busy()) {
        return TP_AGAIN;
    }
    if (!memory_write(memory, address, from, length)) {
        return TP_REFUSED;
    }
    memory_busy = 4u;
    return TP_OK;
}
