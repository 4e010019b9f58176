/* Memories that playing leaves: aged SEED MEMORIES FILE [BEGINNINGS]
 *
 * So many lines of FILE, each a unit's memory after a handful of saves and resets, now and then after so many that a
 * counter has wrapped, and every other time after one that was cut off. The units begin as new ones, or as those
 * of a file in turn. */
#include "unit.h"

#include <stdlib.h>
#include <string.h>

static struct { uint32_t saves, cut, doubled; } counts;

static void do_one(struct played *now, uint16_t number)
{
    struct deed deed;
    p_answer answer;
    some_deed(now, &deed);
    if (number != NOWHERE) {
        deed.what = SAVE;
        deed.number = number;
        some_sound(number, &deed.sound);
    }
    power_up(); /* a reset of the whole look opens the unit anew */
    if (perform(&deed, &answer) == CUT_OFF) {
        counts.cut++;
        return;
    }
    if (answer != P_SOUND) {
        note("answer", answer);
        lost("a save that nothing kept from it did not succeed");
    }
    counts.saves++;
}

static void age(const uint8_t *cells)
{
    struct played now;
    uint32_t saves = below(12u);
    uint16_t number;
    memory_begin(cells);
    power_up();
    hear(&now);
    if (now.unit == P_NEWER) {
        lost("a unit is newer than what is to play on it");
    }
    if (below(16u) == 0u) {
        uint32_t wraps = 256u + below(20u);
        number = (uint16_t)below(NUMBERS);
        while (wraps-- != 0u) {
            do_one(&now, number);
        }
    }
    while (saves-- != 0u) {
        do_one(&now, NOWHERE);
    }
    if (below(2u) == 0u) {
        /* Somewhere in the save of one number: its last write retires what the number had. */
        uint32_t before = memory.events;
        struct memory ready = memory;
        uint64_t seed = chance();
        number = (uint16_t)below(NUMBERS);
        memory.way = below(2u) == 0u ? BYTES : CYCLES;
        ready.way = memory.way;
        chance_begin(seed);
        do_one(&now, number);
        ready.tear = (enum tear)below(TEARS);
        if (memory.events != before) {
            uint32_t events = memory.events - before;
            memory = ready;
            memory.cut = before + below(events);
            if (below(2u) == 0u) {
                /* Before the last: what is newest is whole, and what it takes the place of not retired. */
                memory.cut = before + events - 1u;
                memory.tear = KEPT;
            }
            chance_begin(seed);
            do_one(&now, number);
        }
    }
    for (number = 0u; number < NUMBERS; number++) {
        counts.doubled += (uint32_t)(copies(memory.cells, number) > 1);
    }
}

int main(int argc, char **argv)
{
    uint8_t cells[P_MEMORY];
    struct played now;
    uint32_t memories;
    FILE *file;
    FILE *beginnings;
    if (argc < 4) {
        return MISUSED;
    }
    chance_begin(strtoull(argv[1], NULL, 10));
    file = fopen(argv[3], "w");
    beginnings = argc > 4 ? fopen(argv[4], "r") : NULL;
    if (file == NULL || (argc > 4 && beginnings == NULL)) {
        return MISUSED;
    }
    memcpy(cells, factory, sizeof cells);
    for (memories = (uint32_t)strtoul(argv[2], NULL, 10); memories != 0u; memories--) {
        if (beginnings != NULL) {
            memory_read(beginnings, cells);
        }
        age(cells);
        power_up();
        hear(&now);
        write_down(file, &now);
    }
    fclose(file);
    printf("saves %u\ncut %u\ndoubled %u\n", counts.saves, counts.cut, counts.doubled);
    return 0;
}
