#include "unit.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct memory memory;
uint32_t worked[P_MEMORY];
uint32_t life[P_MEMORY];
uint8_t wearing;
uint32_t spent;
uint32_t cycled[P_MEMORY];
p_store store;

/* ---- Findings */

enum { NOTES = 16 };
static const char *note_words[NOTES];
static uint32_t note_values[NOTES];

void note(const char *words, uint32_t value)
{
    int at = 0;
    while (at < NOTES - 1 && note_words[at] != NULL && strcmp(note_words[at], words) != 0) {
        at++;
    }
    note_words[at] = words;
    note_values[at] = value;
}

void lost(const char *words)
{
    int at;
    uint32_t i;
    printf("LOST: %s\n", words);
    for (at = 0; at < NOTES && note_words[at] != NULL; at++) {
        printf("  %s %lu\n", note_words[at], (unsigned long)note_values[at]);
    }
    printf("  memory");
    for (i = 0u; i < P_MEMORY; i++) {
        if (i % 32u == 0u) {
            printf("\n   %04lX", (unsigned long)i);
        }
        printf(" %02X", memory.cells[i]);
    }
    printf("\n");
    exit(LOST);
}

/* ---- Chance: xorshift64* (Vigna 2016, "An experimental exploration of Marsaglia's xorshift generators"). */

static uint64_t chance_state;

void chance_begin(uint64_t seed)
{
    chance_state = (seed + 1u) * 0x9E3779B97F4A7C15u;
    if (chance_state == 0u) {
        chance_state = 1u;
    }
    (void)chance();
    (void)chance();
}

uint32_t chance(void)
{
    chance_state ^= chance_state >> 12;
    chance_state ^= chance_state << 25;
    chance_state ^= chance_state >> 27;
    return (uint32_t)((chance_state * 0x2545F4914F6CDD1Du) >> 32);
}

uint32_t below(uint32_t end)
{
    return (uint32_t)(((uint64_t)chance() * end) >> 32);
}

/* ---- The memory */

static jmp_buf supply;

void memory_begin(const uint8_t *cells)
{
    memset(&memory, 0, sizeof memory);
    memcpy(memory.cells, cells, sizeof memory.cells);
    memory.cut = NEVER;
    memory.slip = NEVER;
    memory.slip_write = NEVER;
    memory.dead = NOWHERE;
    memory.torn = NOWHERE;
}

void memory_read(FILE *file, uint8_t *cells)
{
    uint32_t i;
    unsigned int cell;
    int other;
    for (i = 0u; i < P_MEMORY; i++) {
        if (fscanf(file, "%2x", &cell) != 1) {
            rewind(file);
            if (i != 0u || fscanf(file, "%2x", &cell) != 1) {
                lost("a file without memories");
            }
        }
        cells[i] = (uint8_t)cell;
    }
    do {
        other = fgetc(file);
    } while (other != '\n' && other != EOF);
}

const struct place *place_at(uint16_t address)
{
    static uint16_t index[P_MEMORY]; /* a place and one, by address */
    uint16_t at;
    uint16_t i;
    if (index[places[0].address] == 0u) {
        for (at = 0u; at < PLACES; at++) {
            for (i = 0u; i < places[at].size; i++) {
                index[places[at].address + i] = (uint16_t)(at + 1u);
            }
        }
    }
    return index[address] == 0u ? NULL : &places[index[address] - 1u];
}

static uint8_t torn_byte(enum tear tear, uint8_t old, uint8_t fresh)
{
    static const enum tear kinds[TEARS] = {KEPT, DONE, ONES, ZEROS, ANYTHING};
    switch (tear == MIXED ? kinds[below(TEARS)] : tear) {
    case KEPT:
        return old;
    case DONE:
        return fresh;
    case ONES:
        return 0xFFu;
    case ZEROS:
        return 0x00u;
    default:
        return (uint8_t)chance();
    }
}

static void put(uint16_t address, uint8_t byte)
{
    worked[address]++;
    if (wearing) {
        if (life[address] == 0u) {
            return;
        }
        life[address]--;
        spent += (uint32_t)(life[address] == 0u);
    }
    memory.cells[address] = byte;
}

/* The supply fails in a cycle: so many bytes were to be written from an address on. */
static void tear_cycle(const struct place *place, uint16_t address, const uint8_t *from, uint8_t length)
{
    uint16_t start = address;
    uint16_t end = (uint16_t)(address + length);
    uint16_t i;
    int as_before = 1;
    int as_after = 1;
    if (memory.way == PAGES) {
        start = (uint16_t)(address - address % PAGE);
        end = (uint16_t)(start + PAGE);
    }
    for (i = start; i < end; i++) {
        uint8_t old = memory.cells[i];
        if (!SHARED && place_at(i) != NULL && place_at(i) != place) {
            lost("a cycle spoils another place");
        }
        uint8_t fresh = (i >= address && i < address + length) ? from[i - address] : old;
        memory.cells[i] = torn_byte(memory.tear, old, fresh);
        if (i < place->address + place->length) {
            as_before = as_before && memory.cells[i] == old;
            as_after = as_after && memory.cells[i] == fresh;
        }
    }
    memory.garbage = (uint8_t)(!as_before && !as_after);
}

static p_answer writing(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    const struct place *place = place_at(address);
    uint8_t i;
    (void)context;
    if (length == 0u || (uint32_t)address + length > P_MEMORY || place == NULL
        || (uint32_t)address + length > (uint32_t)place->address + place->length) {
        lost("a write that is not in one place");
    }
    if (!place->look) {
        lost("a write to what the bench owns");
    }
    if (PAGE > 1 && address / PAGE != (address + length - 1) / PAGE) {
        lost("a write across a page edge");
    }
    if (memory.writes++ == memory.slip_write) {
        return memory.slip_says;
    }
    if (memory.dead != NOWHERE && place == &places[memory.dead]) {
        return P_OK;
    }
    cycled[address / PAGE]++;
    if (memory.way == BYTES) {
        for (i = 0u; i < length; i++) {
            uint16_t at = (uint16_t)(address + i);
            if (memory.events == memory.cut) {
                memory.cells[at] = torn_byte(memory.tear, memory.cells[at], from[i]);
                memory.torn = (uint16_t)(place - places);
                longjmp(supply, 1);
            }
            put(at, from[i]);
            memory.events++;
        }
    } else {
        if (memory.events == memory.cut) {
            tear_cycle(place, address, from, length);
            memory.torn = (uint16_t)(place - places);
            longjmp(supply, 1);
        }
        for (i = 0u; i < length; i++) {
            put((uint16_t)(address + i), from[i]);
        }
        memory.events++;
    }
    return P_OK;
}

static p_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    (void)context;
    if (length == 0u || length > P_PIECE || (uint32_t)address + length > P_MEMORY) {
        lost("a read that is not in the memory");
    }
    memcpy(to, &memory.cells[address], length);
    if (memory.reads++ == memory.slip) {
        if (memory.slip_says != P_OK) {
            memset(to, 0x5A, length);
            return memory.slip_says;
        }
        to[memory.slip_bit / 8u % length] ^= (uint8_t)(1u << (memory.slip_bit % 8u));
    }
    return P_OK;
}

static uint32_t add_to_sum(uint32_t sum, uint8_t byte)
{
    int bit;
    for (bit = 0; bit < 8; bit++) {
        uint32_t in = (uint32_t)(SUM_REFLECTED ? byte >> bit : byte >> (7 - bit)) & 1u;
        uint32_t out = (sum >> (SUM_WIDTH - 1)) ^ in;
        sum = (sum << 1) & SUM_MASK;
        if (out & 1u) {
            sum ^= SUM_POLY;
        }
    }
    return sum;
}

/* What is left of a record's checksum when the one that should stand there is taken away: 0 where it is right. */
static uint32_t remainder_with(const uint8_t *cells, uint16_t place, int fingerprint)
{
    const struct place *at = &places[place];
    const uint8_t *record = &cells[at->address];
    uint16_t body = (uint16_t)(at->length - SUM_WIDTH / 8);
    uint32_t sum = SUM_INIT;
    uint32_t stored = 0u;
    uint32_t turned = 0u;
    uint16_t i;
    uint16_t bit;
    for (i = body; i < at->length; i++) {
        stored |= (uint32_t)record[i] << 8 * (SUM_REFLECTED ? i - body : at->length - 1 - i);
    }
    for (i = 0u; i < at->covered; i++) {
        if (i < at->covered - at->trial_cover || fingerprint) {
            sum = add_to_sum(sum, at->cover[i]);
        }
    }
    for (i = 0u; i < body; i++) {
        sum = add_to_sum(sum, record[i]);
    }
    if (SUM_REFLECTED) {
        for (bit = 0u; bit < SUM_WIDTH; bit++) {
            turned |= (sum >> bit & 1u) << (SUM_WIDTH - 1 - bit);
        }
        sum = turned;
    }
    return sum ^ SUM_XOROUT ^ stored;
}

uint32_t remainder_of(const uint8_t *cells, uint16_t place)
{
    return remainder_with(cells, place, cells[places[place].address] == 0u);
}

uint32_t remainder_without(const uint8_t *cells, uint16_t place)
{
    return remainder_with(cells, place, 0);
}

int place_passes(const uint8_t *cells, uint16_t place, uint16_t *number)
{
    const struct place *at = &places[place];
    const uint8_t *record = &cells[at->address];
    uint16_t i;
    uint16_t bit;
    for (i = (uint16_t)(at->length - SUM_WIDTH / 8); i < at->length; i++) {
        if (record[i] == 0x00u || record[i] == 0xFFu) {
            return 0;
        }
    }
    *number = at->number;
    if (at->number == PRESET_1) {
        for (bit = 0u; bit < NUMBER_BITS; bit++) {
            uint8_t byte = record[2 + bit / 8];
            if (BIG) {
                i = (uint16_t)(NUMBER_BITS - 1 - bit);
                *number = (uint16_t)((uint32_t)*number + ((uint32_t)(byte >> (7 - bit % 8) & 1) << i));
            } else {
                *number = (uint16_t)((uint32_t)*number + ((uint32_t)(byte >> (bit % 8) & 1) << bit));
            }
        }
    }
    return remainder_of(cells, place) == 0u;
}

int copies(const uint8_t *cells, uint16_t number)
{
    int found = 0;
    uint16_t at;
    uint16_t whose;
    for (at = 0u; at < PLACES; at++) {
        if (places[at].look && place_passes(cells, at, &whose) && whose == number) {
            found++;
        }
    }
    return found;
}

/* ---- What plays */

enum { MOST_STEPS = 20000 }; /* far more than a reset of the whole look takes */

void power_up(void)
{
    p_driver driver;
    uint32_t step = 0u;
    memset(&driver, 0, sizeof driver);
    driver.read = reading;
    driver.write = writing;
    memset(&store, 0xA5, sizeof store);
    p_open(&store, &driver);
    while (p_open_step(&store) == P_MORE) {
        if (++step == MOST_STEPS) {
            lost("opening does not end");
        }
    }
}

void hear(struct played *played)
{
    uint8_t slot;
    memset(played, 0, sizeof *played);
    played->unit = p_unit(&store);
    played->of[STATE].answer = p_load_state(&store, &played->of[STATE].look);
#if HAS_SETUP
    played->of[1].answer = p_load_setup(&store, &played->of[1].look);
#endif
    for (slot = 0u; slot < P_SLOTS; slot++) {
        struct sound *sound = &played->of[PRESET_1 + slot];
        sound->answer = p_load_preset(&store, slot, &sound->look);
#if HAS_NAMES
        if (p_preset_name(&store, slot, sound->name) != sound->answer) {
            lost("a name has another answer than its preset");
        }
#endif
    }
}

int same(const struct sound *a, const struct sound *b)
{
    return memcmp(a, b, sizeof *a) == 0;
}

void describe(const struct sound *sound)
{
    uint16_t item;
    printf("answer %d codes", sound->answer);
    for (item = 0u; item < ITEMS; item++) {
        printf(" %d", p_get(&sound->look, (p_index)items[item].row));
    }
    printf(" last %d engaged %d", sound->look.last_preset, sound->look.engaged);
#if HAS_NAMES
    printf(" name %s", sound->name);
#endif
    printf("\n");
}

void write_down(FILE *file, const struct played *played)
{
    uint32_t i;
    uint16_t item;
    for (i = 0u; i < P_MEMORY; i++) {
        fprintf(file, "%02X", memory.cells[i]);
    }
    for (i = 0u; i < NUMBERS; i++) {
        const struct sound *sound = &played->of[i];
        fprintf(file, " %d", sound->answer);
        for (item = 0u; item < ITEMS; item++) {
            if (items[item].once == (i != STATE && i < PRESET_1)) {
                fprintf(file, ",%d", p_get(&sound->look, (p_index)items[item].row));
            }
        }
        if (i == STATE) {
            fprintf(file, ",%d,%d", sound->look.last_preset, sound->look.engaged);
        } else if (i < PRESET_1) {
            PRINT_ENDS(file, sound->look)
        } else {
#if HAS_NAMES
            const char *letter = sound->name;
            fprintf(file, ",");
            for (; *letter != '\0'; letter++) {
                fprintf(file, "%02X", (unsigned char)*letter);
            }
#endif
        }
    }
    fprintf(file, "\n");
}

static void clear(struct sound *sound)
{
    memset(sound, 0, sizeof *sound);
}

/* The members of a sound that its number keeps, of a look with all members; the others stay 0. */
static void keep(uint16_t number, const p_look *look, struct sound *sound)
{
    uint16_t item;
    clear(sound);
    for (item = 0u; item < ITEMS; item++) {
        p_index row = (p_index)items[item].row;
        if (items[item].once == (number != STATE && number < PRESET_1) && !p_set(&sound->look, row, p_get(look, row))) {
            lost("a code that the layout has is out of range");
        }
    }
    if (number != STATE && number < PRESET_1) {
        KEEP_ENDS(sound->look, look)
    }
    if (number == STATE) {
        sound->look.last_preset = look->last_preset;
        sound->look.engaged = look->engaged;
    } else if (number >= PRESET_1) {
        sound->look.last_preset = (uint8_t)(number - PRESET_1);
    }
}

void factory_sound(uint16_t number, struct sound *sound)
{
    p_look look;
    memset(&look, 0, sizeof look);
#if HAS_SETUP
    p_factory_setup(&look);
#endif
    if (number == STATE) {
        p_factory_state(&look);
    } else {
        p_factory_preset((uint8_t)(number < PRESET_1 ? 0 : number - PRESET_1), &look);
    }
    keep(number, &look, sound);
#if HAS_NAMES
    if (number >= PRESET_1) {
        memcpy(sound->name, factory_names[number - PRESET_1], sizeof sound->name);
    }
#endif
}

void some_sound(uint16_t number, struct sound *sound)
{
    p_look look;
    uint16_t item;
    memset(&look, 0, sizeof look);
    for (item = 0u; item < ITEMS; item++) {
        (void)p_set(&look, (p_index)items[item].row, (uint16_t)below(items[item].codes));
    }
    look.last_preset = (uint8_t)below(P_SLOTS);
    look.engaged = (uint8_t)below(2u);
    SOME_ENDS(look)
    keep(number, &look, sound);
#if HAS_NAMES
    if (number >= PRESET_1) {
        uint32_t length = below(P_NAME + 1u);
        uint32_t i;
        for (i = 0u; i < length; i++) {
            sound->name[i] = (char)(0x20u + below(0x5Fu));
        }
    }
#endif
}

void some_deed(const struct played *now, struct deed *deed)
{
    uint32_t draw = below(16u);
    memset(deed, 0, sizeof *deed);
    deed->what = draw == 0u ? RESET_LOOK : draw == 1u ? RESET_SLOT : SAVE;
    if (now->unit == P_NEWER) {
        deed->what = RESET_LOOK;
    }
    if (deed->what == RESET_SLOT) {
        deed->number = (uint16_t)(PRESET_1 + below(P_SLOTS));
    } else if (deed->what == SAVE) {
        deed->number = (uint16_t)below(NUMBERS);
        some_sound(deed->number, &deed->sound);
    } else {
        /* all numbers */
    }
}

void expect(const struct deed *deed, const struct played *before, struct played *after)
{
    uint16_t number;
    *after = *before;
    switch (deed->what) {
    case SAVE:
        after->of[deed->number] = deed->sound;
        break;
    case RESET_SLOT:
        factory_sound(deed->number, &after->of[deed->number]);
        break;
    default:
        for (number = 0u; number < NUMBERS; number++) {
            factory_sound(number, &after->of[number]);
        }
        break;
    }
}

static p_answer start(const struct deed *deed)
{
    const p_look *look = &deed->sound.look;
    if (deed->what == RESET_LOOK) {
        return P_OK;
    }
    if (deed->what == RESET_SLOT) {
        return p_reset_preset(&store, (uint8_t)(deed->number - PRESET_1));
    }
    if (deed->number == STATE) {
        return p_save_state(&store, look);
    }
#if HAS_SETUP
    if (deed->number < PRESET_1) {
        return p_save_setup(&store, look);
    }
#endif
#if HAS_NAMES
    return p_save_preset(&store, (uint8_t)(deed->number - PRESET_1), look, deed->sound.name);
#else
    return p_save_preset(&store, (uint8_t)(deed->number - PRESET_1), look);
#endif
}

static int later(p_answer answer)
{
    return answer == P_AGAIN || answer == P_REFUSED;
}

static void go(const struct deed *deed, p_answer *answer)
{
    uint32_t writes = memory.writes;
    uint32_t steps = 0u;
    do {
        *answer = start(deed);
        if (memory.writes != writes) {
            lost("a save writes before its first step");
        }
    } while (later(*answer) && ++steps < MOST_STEPS);
    if (*answer != P_OK) {
        return;
    }
    do {
        writes = memory.writes;
        *answer = deed->what == RESET_LOOK ? p_reset_look_step(&store) : p_save_step(&store);
        if (memory.writes > writes + 1u) {
            lost("one step writes twice");
        }
        if (++steps == MOST_STEPS) {
            lost("a save does not end");
        }
    } while (*answer == P_MORE || later(*answer));
}

enum ended perform(const struct deed *deed, p_answer *answer)
{
    if (setjmp(supply) != 0) {
        memory.cut = NEVER;
        return CUT_OFF;
    }
    go(deed, answer);
    return THROUGH;
}

void play_everything(void)
{
    uint16_t round;
    uint16_t number;
    memory_begin(factory);
    power_up();
    for (round = 0u; round < 3u; round++) {
        for (number = 0u; number < NUMBERS; number++) {
            struct deed deed;
            struct sound standard;
            p_answer answer;
            memset(&deed, 0, sizeof deed);
            deed.what = SAVE;
            deed.number = number;
            factory_sound(number, &standard);
            do {
                some_sound(number, &deed.sound);
            } while (same(&standard, &deed.sound));
            if (perform(&deed, &answer) != THROUGH || answer != P_SOUND) {
                lost("a save that nothing kept from it did not succeed");
            }
        }
    }
    power_up();
}
