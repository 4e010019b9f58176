/* Wear: wear SEED ROUNDS, or wear SEED 0 SAVES
 *
 * ROUNDS times three units that wear out:
 * - cells stop taking writes after a number that is drawn for each;
 * - free places of the presets die one after the other: saving goes on until no spare is left, then it says so;
 * - the place of a preset dies while it reads sound: its old copy can never be retired.
 * After every save, with the supply off and on, each number plays what it was last given with a good answer.
 *
 * With 0 rounds: that many saves on one number of each kind, and what the hardest-worked cell and page had to do. */
#include "unit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct {
    uint32_t saves, worn, cells, places, ended, untold;
} counts;

/* Does a thing on a memory that wears out. Answers 0 where it said that no place is left. */
static int try(const struct deed *deed, struct played *now)
{
    struct played after = *now;
    p_answer answer;
    uint16_t i;
    note("asked for", deed->what);
    note("of number", deed->number);
    if (perform(deed, &answer) != THROUGH || (answer != P_SOUND && answer != P_WORN)) {
        note("answer", answer);
        lost("a save ends with another answer than that it is done, or that the memory is worn");
    }
    counts.saves++;
    counts.worn += (uint32_t)(answer == P_WORN);
    if (answer == P_SOUND) {
        expect(deed, now, &after);
    }
    power_up();
    hear(now);
    for (i = 0u; i < NUMBERS; i++) {
        if (!same(&now->of[i], &after.of[i])) {
            note("number", i);
            describe(&now->of[i]);
            describe(&after.of[i]);
            lost("a number plays what it had not and was not asked for");
        }
    }
    return answer == P_SOUND;
}

static void some_save(uint16_t number, struct deed *deed)
{
    memset(deed, 0, sizeof *deed);
    deed->what = SAVE;
    deed->number = number;
    some_sound(number, &deed->sound);
}

static void begin(struct played *now)
{
    uint32_t i;
    wearing = 0u;
    play_everything();
    hear(now);
    for (i = 0u; i < P_MEMORY; i++) {
        life[i] = UINT32_MAX;
    }
    spent = 0u;
    wearing = 1u;
}

static void kill(uint16_t place)
{
    memset(&life[places[place].address], 0, places[place].size * sizeof life[0]);
    counts.places++;
}

static void cells_end(void)
{
    struct played now;
    struct deed deed;
    uint32_t i;
    uint32_t saves;
    uint32_t worn = 0u;
    begin(&now);
    for (i = 0u; i < P_MEMORY; i++) {
        life[i] = 20u + below(300u);
    }
    for (saves = 0u; saves < 4000u && worn < 40u; saves++) {
        uint32_t before = spent;
        some_save((uint16_t)below(NUMBERS), &deed);
        if (!try(&deed, &now)) {
            worn++;
            if (before == 0u && spent == 0u) {
                lost("a save is refused before a single cell has worn out");
            }
        }
    }
    counts.cells += spent;
    counts.ended += (uint32_t)(worn != 0u);
}

/* A place of the presets without a good record, or NOWHERE. */
static uint16_t free_place(void)
{
    uint16_t at;
    uint16_t number;
    for (at = 0u; at < PLACES; at++) {
        if (places[at].number == PRESET_1 && life[places[at].address] != 0u && !place_passes(memory.cells, at, &number)) {
            return at;
        }
    }
    return NOWHERE;
}

static void spares_end(void)
{
    struct played now;
    struct deed deed;
    uint32_t dead;
    uint32_t i;
    begin(&now);
    for (dead = 0u; dead <= P_SPARES; dead++) {
        for (i = 0u; i < 40u; i++) {
            int done;
            some_save((uint16_t)(PRESET_1 + below(P_SLOTS)), &deed);
            done = same(&deed.sound, &now.of[deed.number]) || try(&deed, &now);
            if (done != (dead < P_SPARES)) {
                note("dead places", dead);
                lost("saving ends while there are spares, or goes on without");
            }
        }
        if (dead < P_SPARES) {
            kill(free_place());
        }
    }
    /* The first save since the unit was switched on says how it stands with the spares. */
    some_save(PRESET_1, &deed);
    if (!same(&deed.sound, &now.of[PRESET_1])) {
        p_answer answer;
        (void)perform(&deed, &answer);
        if (answer != P_WORN || p_spares_left(&store) != 0u) {
            lost("no spare is left, and the firmware does not say so");
        }
    }
    some_save(STATE, &deed);
    if (!try(&deed, &now)) {
        lost("what keeps presets from being saved keeps state as well");
    }
    counts.ended++;
}

static void old_copy_stays(void)
{
    struct played now;
    struct deed deed;
    uint16_t at;
    uint16_t number = NOWHERE;
    uint16_t whose = (uint16_t)(below(4u) == 0u ? STATE : PRESET_1 + below(P_SLOTS));
    uint32_t i;
    uint32_t told = 0u;
    begin(&now);
    for (at = 0u; at < PLACES; at++) {
        if (places[at].look && place_passes(memory.cells, at, &number) && number == whose) {
            break;
        }
    }
    if (places[at].spares < 2u) {
        return; /* a single spare, which the old copy takes up */
    }
    kill(at);
    for (i = 0u; i < 300u; i++) {
        some_save(below(4u) == 0u ? (uint16_t)below(NUMBERS) : whose, &deed);
        if (same(&deed.sound, &now.of[deed.number])) {
            continue;
        }
        if (try(&deed, &now)) {
            told += (uint32_t)(deed.number == whose);
        } else if (deed.number != whose) {
            lost("an old copy of one number keeps another from being saved");
        } else {
            counts.untold++;
        }
    }
    if (told < 60u || told > 127u) {
        note("saves", told);
        lost("saves beside an old copy end too early, or go on where they cannot be told from it");
    }
}

static void figures(uint32_t saves)
{
    uint16_t number;
    for (number = 0u; number <= PRESET_1; number++) {
        static const char *const kinds[3] = {"state", HAS_SETUP ? "setup" : "presets", "presets"};
        struct played now;
        struct deed deed;
        uint32_t i;
        uint32_t cell = 0u;
        uint32_t page = 0u;
        begin(&now);
        memset(worked, 0, sizeof worked);
        memset(cycled, 0, sizeof cycled);
        memory.way = PAGE == 1 ? BYTES : CYCLES;
        for (i = 0u; i < saves;) {
            some_save(number, &deed);
            if (same(&deed.sound, &now.of[number])) {
                continue;
            }
            (void)try(&deed, &now);
            i++;
        }
        for (i = 0u; i < P_MEMORY; i++) {
            cell = worked[i] > cell ? worked[i] : cell;
            page = cycled[i] > page ? cycled[i] : page;
        }
        printf("%s_cell %u\n%s_page %u\n", kinds[number], cell, kinds[number], page);
    }
}

int main(int argc, char **argv)
{
    uint32_t rounds;
    uint32_t i;
    if (argc < 3) {
        return MISUSED;
    }
    chance_begin(strtoull(argv[1], NULL, 10));
    rounds = (uint32_t)strtoul(argv[2], NULL, 10);
    if (rounds == 0u && argc > 3) {
        figures((uint32_t)strtoul(argv[3], NULL, 10));
        return 0;
    }
    for (i = 0u; i < rounds; i++) {
        note("round", i);
        cells_end();
        spares_end();
        old_copy_stays();
    }
    printf("saves %u\nworn %u\ncells %u\nplaces %u\nended %u\nuntold %u\n", counts.saves, counts.worn, counts.cells,
           counts.places, counts.ended, counts.untold);
    return 0;
}
