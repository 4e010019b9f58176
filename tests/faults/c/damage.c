/* Damage: damage SEED DRAWN
 *
 * A unit that has been played, so that no number has its factory values. Then, in every record:
 * - every single bit is flipped, and DRAWN bursts and DRAWN flips of two and of three bits: each costs the record
 *   that it is in and nothing else, as the product's own C says;
 * - every burst up to the checksum's width, in the order in which the algorithm takes bits and across the edge
 *   between fields and checksum, and every two and three bits: whether the checksum notices, by its linearity
 *   (what a pattern does to it is the sum of what its bits do, which is held against the drawn ones).
 * A burst of a trial that changes its revision byte takes the fingerprint out of the cover as well: those are
 * counted apart. */
#include "unit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_BITS = 8 * 256 };

static struct {
    uint32_t records, single, drawn, bursts, missed, turned, turned_missed, two, two_missed, three, three_missed,
        four_missed;
} counts;

static struct played before;
static p_identity identity;
#if HAS_BENCH
static p_trims trims;
#endif
static uint8_t whole[P_MEMORY];

static uint32_t remainders[MOST_BITS]; /* what each bit does to the checksum, in the algorithm's order */
static uint32_t uncovered;             /* what leaving the fingerprint out of the cover does */
static uint32_t bits;

static void flip(const struct place *place, uint32_t bit)
{
    memory.cells[place->address + bit / 8u] ^= (uint8_t)(SUM_REFLECTED ? 1u << bit % 8u : 0x80u >> bit % 8u);
}

static void begin(void)
{
    play_everything();
    memcpy(whole, memory.cells, sizeof whole);
    hear(&before);
    memset(&identity, 0, sizeof identity);
    if (before.unit != P_SOUND || p_identity_get(&store, &identity) != P_SOUND) {
        lost("a unit that was played is not sound");
    }
#if HAS_BENCH
    if (p_load_trims(&store, &trims) != P_SOUND) {
        lost("a new unit has no trims");
    }
#endif
}

/* Hears everything after damage in a record, and puts the record back. */
static void costs_that_record_alone(uint16_t at, uint16_t number)
{
    struct played now;
    struct sound standard;
    uint16_t i;
    p_identity who;
    power_up();
    hear(&now);
    for (i = 0u; i < NUMBERS; i++) {
        if (i == number) {
            factory_sound(i, &standard);
            standard.answer = P_MISSING;
        } else {
            standard = before.of[i];
        }
        if (!same(&now.of[i], &standard)) {
            note("number", i);
            describe(&now.of[i]);
            lost("damage in a record is overheard, or costs another one");
        }
    }
    /* A released record whose revision became 0 cannot be told from one of some trial. */
    if (now.unit != (number == NOWHERE ? P_SOUND : P_DAMAGED)
        && !(now.unit == P_TRIAL && memory.cells[places[at].address] == 0u && places[at].trial_cover == 0u)) {
        note("unit", now.unit);
        lost("the unit says something else than that it is damaged");
    }
    memset(&who, 0, sizeof who);
    if (p_identity_get(&store, &who) != P_SOUND || !IDENTITY_SAME(who, identity)) {
        lost("damage in one mirror costs identity");
    }
#if HAS_BENCH
    {
        p_trims measured;
        if (p_load_trims(&store, &measured) != P_SOUND || !TRIMS_SAME(measured, trims)) {
            lost("damage in one mirror costs trims");
        }
    }
#endif
    memcpy(&memory.cells[places[at].address], &whole[places[at].address], places[at].length);
}

/* Flips drawn patterns of a record: a burst whose first and last bits flip, or so many bits anywhere. */
static void draw(uint16_t at, uint16_t number, uint32_t many)
{
    const struct place *place = &places[at];
    uint32_t expected = 0u;
    uint32_t flipped[SUM_WIDTH];
    uint32_t count = 0u;
    uint32_t i;
    uint32_t j;
    if (many == 0u) {
        uint32_t length = 2u + below(SUM_WIDTH - 1u);
        uint32_t start = below(bits - length + 1u);
        for (i = 0u; i < length; i++) {
            if (i == 0u || i == length - 1u || below(2u) != 0u) {
                flipped[count++] = start + i;
            }
        }
    } else {
        while (count < many) {
            flipped[count] = below(bits);
            for (j = 0u; j < count && flipped[j] != flipped[count]; j++) {
            }
            count += (uint32_t)(j == count);
        }
    }
    for (i = 0u; i < count; i++) {
        note("bit", flipped[i]);
        flip(place, flipped[i]);
        expected ^= remainders[flipped[i]];
    }
    if (place->trial_cover != 0u && memory.cells[place->address] != 0u) {
        expected ^= uncovered;
    }
    if (remainder_of(memory.cells, at) != expected) {
        lost("the checksum is not linear");
    }
    if (expected == 0u && place->trial_cover != 0u && memory.cells[place->address] != 0u) {
        /* one of those that are counted apart */
        memcpy(&memory.cells[place->address], &whole[place->address], place->length);
        return;
    }
    costs_that_record_alone(at, number);
    counts.drawn++;
}

static void learn(uint16_t at)
{
    const struct place *place = &places[at];
    uint32_t bit;
    bits = 8u * place->length;
    uncovered = 0u;
    if (place->trial_cover != 0u) {
        /* A bit of the revision byte, with the fingerprint in the cover and without it. */
        uncovered = remainder_without(memory.cells, at) ^ remainder_of(memory.cells, at);
    }
    for (bit = 0u; bit < bits; bit++) {
        flip(place, bit);
        remainders[bit] = remainder_of(memory.cells, at);
        if (place->trial_cover != 0u && bit < 8u) {
            remainders[bit] ^= uncovered;
        }
        flip(place, bit);
    }
}

static int smaller(const void *a, const void *b)
{
    uint32_t x = *(const uint32_t *)a;
    uint32_t y = *(const uint32_t *)b;
    return x < y ? -1 : x > y;
}

/* Every burst of the record, and where few is 1 every two and three bits, and whether four can be missed. */
static void all_patterns(uint16_t at, int few)
{
    static uint32_t pairs[MOST_BITS * (MOST_BITS - 1) / 2];
    uint32_t trial = places[at].trial_cover;
    uint32_t start;
    uint32_t i;
    uint32_t j;
    uint32_t count = 0u;
    for (start = 0u; start < bits; start++) {
        /* The first bit flips; what follows counts up in Gray's order, so that each step changes one bit. */
        uint32_t length = bits - start < SUM_WIDTH ? bits - start : SUM_WIDTH;
        uint64_t codes = (uint64_t)1 << (length - 1u);
        uint32_t sum = remainders[start];
        uint32_t pattern = 0u;
        uint64_t code;
        if (SUM_WIDTH > 24) {
            codes = codes < (1u << 20) ? codes : 1u << 20; /* the short ones: more than 4 billion are too many */
        }
        for (code = 1u;; code++) {
            if (trial != 0u && start < 8u) {
                counts.turned++;
                counts.turned_missed += (uint32_t)(sum == uncovered);
            } else {
                counts.bursts++;
                counts.missed += (uint32_t)(sum == 0u);
            }
            if (code == codes) {
                break;
            }
            i = (uint32_t)__builtin_ctzll(code);
            pattern ^= 1u << i;
            sum ^= remainders[start + 1u + i];
        }
    }
    if (!few) {
        return;
    }
    for (i = trial != 0u ? 8u : 0u; i < bits; i++) {
        for (j = i + 1u; j < bits; j++) {
            uint32_t sum = remainders[i] ^ remainders[j];
            uint32_t k;
            counts.two++;
            counts.two_missed += (uint32_t)(sum == 0u);
            pairs[count++] = sum;
            for (k = j + 1u; k < bits; k++) {
                counts.three++;
                counts.three_missed += (uint32_t)(sum == remainders[k]);
            }
        }
    }
    qsort(pairs, count, sizeof pairs[0], smaller);
    for (i = 1u; i < count; i++) {
        counts.four_missed += (uint32_t)(pairs[i] == pairs[i - 1u]);
    }
}

int main(int argc, char **argv)
{
    uint32_t drawn;
    uint32_t i;
    uint16_t at;
    uint16_t number;
    if (argc < 3) {
        return MISUSED;
    }
    chance_begin(strtoull(argv[1], NULL, 10));
    drawn = (uint32_t)strtoul(argv[2], NULL, 10);
    begin();
    for (at = 0u; at < PLACES; at++) {
        int first = at == 0u || places[at].length != places[at - 1u].length;
        note("place", at);
        if (!place_passes(memory.cells, at, &number)) {
            continue;
        }
        counts.records++;
        learn(at);
        for (i = 0u; i < bits; i++) {
            note("bit", i);
            flip(&places[at], i);
            costs_that_record_alone(at, number);
            counts.single++;
        }
        for (i = 0u; i < drawn; i++) {
            draw(at, number, 0u);
            draw(at, number, 2u);
            draw(at, number, 3u);
        }
        all_patterns(at, first);
        if (memcmp(whole, memory.cells, sizeof whole) != 0) {
            lost("listening writes");
        }
    }
    printf("records %u\nsingle %u\ndrawn %u\nbursts %u\nmissed %u\nturned %u\nturned_missed %u\ntwo %u\n"
           "two_missed %u\nthree %u\nthree_missed %u\nfour_missed %u\n",
           counts.records, counts.single, counts.drawn, counts.bursts, counts.missed, counts.turned,
           counts.turned_missed, counts.two, counts.two_missed, counts.three, counts.three_missed,
           counts.four_missed);
    return 0;
}
