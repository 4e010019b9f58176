/* Fuzzing: fuzz SEED UNITS CALLS
 *
 * UNITS units with memories of any contents, on each CALLS calls of any function in any order with any arguments
 * that the header allows, on a memory that is busy, refuses, misreads and answers nonsense. Built with sanitizers.
 * Whatever comes: every access lies where it may, every answer is one that the function has, and no code that is
 * handed out is out of range. */
#include "unit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct {
    uint32_t units, calls, reads, writes, sound, saved;
} counts;

static uint32_t trouble; /* one access in so many fails; 0: none */

static p_answer some_answer(void)
{
    static const uint8_t answers[5] = {P_AGAIN, P_AGAIN, P_REFUSED, 77u, 255u};
    return answers[below(5u)];
}

static p_answer reading(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    uint8_t i;
    counts.reads++;
    if (context != &counts || length == 0u || length > P_PIECE || (uint32_t)address + length > P_MEMORY) {
        lost("a read that is not in the memory");
    }
    memcpy(to, &memory.cells[address], length);
    if (trouble != 0u && below(trouble) == 0u) {
        i = (uint8_t)below(length);
        to[i] = (uint8_t)chance();
        return below(2u) == 0u ? P_OK : some_answer();
    }
    return P_OK;
}

static p_answer writing(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    const struct place *place = place_at(address);
    counts.writes++;
    if (context != &counts || length == 0u || (uint32_t)address + length > P_MEMORY || place == NULL || !place->look
        || (uint32_t)address + length > (uint32_t)place->address + place->length) {
        lost("a write that is not in one place of the look");
    }
    if (address / PAGE != (address + length - 1) / PAGE) {
        lost("a write across a page edge");
    }
    if (trouble != 0u && below(trouble) == 0u) {
        if (below(2u) == 0u) {
            memory.cells[address] = (uint8_t)chance();
        }
        return below(2u) == 0u ? P_OK : some_answer();
    }
    memcpy(&memory.cells[address], from, length);
    return P_OK;
}

static void some_memory(void)
{
    uint32_t i;
    uint32_t many;
    switch (below(6u)) {
    case 0u:
        for (i = 0u; i < P_MEMORY; i++) {
            memory.cells[i] = (uint8_t)chance();
        }
        break;
    case 1u:
        memset(memory.cells, (int)below(256u), P_MEMORY);
        break;
    case 2u:
        play_everything();
        break;
    default:
        memcpy(memory.cells, unwell[below(UNWELL)], P_MEMORY);
        break;
    }
    many = below(3u) == 0u ? below(40u) : 0u;
    for (i = 0u; i < many; i++) {
        memory.cells[below(P_MEMORY)] ^= (uint8_t)(1u << below(8u));
    }
}

static void open_it(void)
{
    p_driver driver;
    memset(&driver, 0, sizeof driver);
    driver.read = reading;
    driver.write = below(16u) == 0u ? NULL : writing;
    driver.context = &counts;
    p_open(&store, &driver);
}

/* A look with codes of the product, or with anything in it. */
static void some_look(p_look *look)
{
    uint16_t item;
    uint32_t i;
    memset(look, 0, sizeof *look);
    for (item = 0u; item < ITEMS; item++) {
        (void)p_set(look, (p_index)items[item].row, (uint16_t)below(items[item].codes + 1u));
    }
    look->last_preset = (uint8_t)below(P_SLOTS);
    look->engaged = (uint8_t)below(2u);
    if (below(8u) == 0u) {
        for (i = 0u; i < sizeof *look; i++) {
            ((uint8_t *)look)[i] = (uint8_t)chance();
        }
    }
}

static void one_of(p_answer answer, p_answer last, const char *words)
{
    if (answer > last) {
        note("answer", answer);
        lost(words);
    }
    counts.sound += (uint32_t)(answer == P_SOUND);
}

static void in_range(const p_look *look)
{
    uint16_t item;
    for (item = 0u; item < ITEMS; item++) {
        if (p_get(look, (p_index)items[item].row) >= items[item].codes) {
            lost("a load hands out a code that is out of range");
        }
    }
}

static void step(p_answer (*next)(p_store *), uint32_t most)
{
    p_answer answer = P_MORE;
    uint32_t i;
    for (i = 0u; i < most && (answer == P_MORE || answer == P_AGAIN || answer == P_REFUSED); i++) {
        answer = next(&store);
        one_of(answer, P_WORN, "a step has an answer that it does not have");
    }
    counts.saved += (uint32_t)(answer == P_SOUND);
}

static void call(void)
{
    p_look look;
    p_identity identity;
    uint8_t slot = (uint8_t)(below(4u) == 0u ? chance() : below(P_SLOTS));
    uint32_t most = below(4u) == 0u ? below(300u) : below(12u);
    p_answer answer;
#if HAS_NAMES
    char name[2 * P_NAME + 2];
    uint32_t i;
    uint32_t length = below(2u * P_NAME + 2u);
    for (i = 0u; i < sizeof name; i++) {
        name[i] = (char)(i == length ? 0 : (int)(1u + below(255u)));
    }
    name[sizeof name - 1u] = '\0';
#endif
    memset(&look, 0, sizeof look);
    memset(&identity, 0, sizeof identity);
    counts.calls++;
    switch (below(24u)) {
    case 0u:
        open_it();
        break;
    case 1u:
    case 2u:
    case 3u:
        step(p_open_step, most);
        break;
    case 4u:
        one_of(p_identity_get(&store, &identity), P_REFUSED, "identity has an answer that it does not have");
        break;
    case 5u:
    case 6u:
        answer = p_load_preset(&store, slot, &look);
        one_of(answer, P_REFUSED, "a load has an answer that it does not have");
        in_range(&look);
        break;
    case 7u:
        one_of(p_load_state(&store, &look), P_REFUSED, "a load has an answer that it does not have");
        in_range(&look);
        if (look.last_preset >= P_SLOTS) {
            lost("state names a slot that is not there");
        }
        break;
    case 8u:
#if HAS_SETUP
        one_of(p_load_setup(&store, &look), P_REFUSED, "a load has an answer that it does not have");
        in_range(&look);
#endif
        break;
    case 9u: {
#if HAS_BENCH
        p_trims trims;
        one_of(p_load_trims(&store, &trims), P_REFUSED, "a load has an answer that it does not have");
        p_nominal_trims(&trims);
#endif
        break;
    }
    case 10u:
        p_factory_preset(slot, &look);
#if HAS_SETUP
        p_factory_setup(&look);
#endif
        in_range(&look);
        p_factory_state(&look);
        in_range(&look);
        break;
    case 11u:
        some_look(&look);
        one_of(p_unit(&store), P_MORE, "a unit is in no state that there is");
        (void)p_look_ok(&store, &look);
        if (p_start(&store, &look) > P_ENGAGED) {
            lost("a unit starts in no way that there is");
        }
        (void)p_get(&look, (p_index)chance());
        (void)p_set(&look, (p_index)chance(), (uint16_t)chance());
        if (p_spares_left(&store) > P_SPARES) {
            lost("more spares than there are");
        }
        break;
    case 12u:
#if HAS_NAMES
        one_of(p_preset_name(&store, slot, name), P_REFUSED, "a name has an answer that it does not have");
        if (strlen(name) > P_NAME) {
            lost("a name does not end");
        }
#endif
        break;
    case 13u:
    case 14u:
        some_look(&look);
#if HAS_NAMES
        answer = p_save_preset(&store, slot, &look, below(4u) == 0u ? NULL : name);
#else
        answer = p_save_preset(&store, slot, &look);
#endif
        one_of(answer, P_RANGE, "a save has an answer that it does not have");
        break;
    case 15u:
        some_look(&look);
        one_of(p_save_state(&store, &look), P_RANGE, "a save has an answer that it does not have");
        break;
    case 16u:
#if HAS_SETUP
        some_look(&look);
        one_of(p_save_setup(&store, &look), P_RANGE, "a save has an answer that it does not have");
#endif
        break;
    case 17u:
        one_of(p_reset_preset(&store, slot), P_RANGE, "a reset has an answer that it does not have");
        break;
    case 18u:
        step(p_reset_look_step, below(4u) == 0u ? 3000u : most);
        break;
    case 19u:
        if (below(4u) == 0u) {
            p_save_abandon(&store);
        }
        break;
    default:
        step(p_save_step, most);
        break;
    }
}

int main(int argc, char **argv)
{
    uint32_t units;
    uint32_t calls;
    uint32_t unit;
    uint32_t i;
    uint64_t seed;
    static const uint32_t troubles[4] = {0u, 4u, 40u, 400u};
    if (argc < 4) {
        return MISUSED;
    }
    seed = strtoull(argv[1], NULL, 10);
    units = (uint32_t)strtoul(argv[2], NULL, 10);
    calls = (uint32_t)strtoul(argv[3], NULL, 10);
    for (unit = 0u; unit < units; unit++) {
        chance_begin(seed << 32 ^ unit);
        note("unit", unit);
        some_memory();
        trouble = troubles[below(4u)];
        memset(&store, (int)below(256u), sizeof store);
        open_it();
        for (i = 0u; i < calls; i++) {
            note("call", i);
            call();
        }
        if (p_self_test(P_BUILD) != 0u || p_self_test(P_BUILD ^ 1u) != 1u) {
            lost("the self test says something else than it has to");
        }
        counts.units++;
    }
    printf("units %u\ncalls %u\nreads %u\nwrites %u\nsound %u\nsaved %u\n", counts.units, counts.calls, counts.reads,
           counts.writes, counts.sound, counts.saved);
    return 0;
}
