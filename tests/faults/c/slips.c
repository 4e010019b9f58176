/* Slips: slips SEED
 *
 * On a unit that has been played, each number is saved, a slot reset and the look reset, again and again: in every
 * reading of it the memory is busy once, refuses once, or is misread by one bit, every bit in turn; in every write
 * it is busy once or refuses once. The save succeeds all the same, costs nothing else and no spare. */
#include "unit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FEW = 3 }; /* misread bits of each reading, drawn, of the reset of the look, which reads very often */

static struct {
    uint32_t deeds, busy, refused, misread, writes;
} counts;

static struct memory ready;
static struct played before;
static struct played after;

static void slip(const struct deed *deed, uint32_t reading, uint32_t write, p_answer says, uint32_t bit)
{
    struct played now;
    p_answer answer;
    uint16_t i;
    memory = ready;
    power_up();
    memory.reads = 0u;
    memory.writes = 0u;
    memory.slip = reading;
    memory.slip_write = write;
    memory.slip_says = says;
    memory.slip_bit = bit;
    note("asked for", deed->what);
    note("of number", deed->number);
    note("reading", reading);
    note("write", write);
    note("says", says);
    note("bit", bit);
    if (perform(deed, &answer) != THROUGH || answer != P_SOUND) {
        note("answer", answer);
        lost("a save does not outlive a slip of the memory");
    }
    if (deed->what != RESET_LOOK && p_spares_left(&store) != P_SPARES) {
        lost("a slip of the memory costs a spare");
    }
    memory.slip = NEVER;
    memory.slip_write = NEVER;
    power_up();
    hear(&now);
    for (i = 0u; i < NUMBERS; i++) {
        if (!same(&now.of[i], &after.of[i])) {
            note("number", i);
            lost("a number plays what it had not and was not asked for");
        }
        if (copies(memory.cells, i) != 1) {
            note("number", i);
            lost("a save leaves more than one copy");
        }
    }
}

static void all_slips(const struct deed *deed)
{
    uint32_t readings;
    uint32_t writes;
    uint32_t i;
    uint32_t bit;
    expect(deed, &before, &after);
    slip(deed, NEVER, NEVER, P_OK, 0u);
    memory = ready;
    power_up();
    memory.reads = 0u;
    memory.writes = 0u;
    {
        p_answer answer;
        (void)perform(deed, &answer);
    }
    readings = memory.reads;
    writes = memory.writes;
    counts.deeds++;
    for (i = 0u; i < readings; i++) {
        slip(deed, i, NEVER, P_AGAIN, 0u);
        slip(deed, i, NEVER, P_REFUSED, 0u);
        counts.busy++;
        counts.refused++;
        for (bit = 0u; bit < (deed->what == RESET_LOOK ? FEW : 8u * P_PIECE); bit++) {
            slip(deed, i, NEVER, P_OK, deed->what == RESET_LOOK ? chance() : bit);
            counts.misread++;
        }
    }
    for (i = 0u; i < writes; i++) {
        slip(deed, NEVER, i, P_AGAIN, 0u);
        slip(deed, NEVER, i, P_REFUSED, 0u);
        counts.writes += 2u;
    }
}

int main(int argc, char **argv)
{
    struct deed deed;
    uint16_t number;
    if (argc < 2) {
        return MISUSED;
    }
    chance_begin(strtoull(argv[1], NULL, 10));
    play_everything();
    ready = memory;
    hear(&before);
    for (number = 0u; number < NUMBERS; number++) {
        memset(&deed, 0, sizeof deed);
        deed.what = SAVE;
        deed.number = number;
        some_sound(number, &deed.sound);
        all_slips(&deed);
    }
    memset(&deed, 0, sizeof deed);
    deed.what = RESET_SLOT;
    deed.number = PRESET_1;
    all_slips(&deed);
    deed.what = RESET_LOOK;
    all_slips(&deed);
    printf("deeds %u\nbusy %u\nrefused %u\nmisread %u\nwrites %u\n", counts.deeds, counts.busy, counts.refused,
           counts.misread, counts.writes);
    return 0;
}
