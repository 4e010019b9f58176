/* Power cuts: cuts SEED FIRST CUTS WAY [SAMPLE [BEGINNINGS]]
 *
 * Scenario after scenario from number FIRST on, until there were so many cuts; WAY is bytes, cycles or pages. Each
 * scenario brings the memory into some state that playing brings about, does one thing and is cut off at every
 * event of it, in every way that the event can end; what plays after that must be as before or as asked for. Then
 * comes another thing that is cut off, then one that is not and must succeed. SAMPLE: a file that gets some of the
 * memories after a cut with what was heard in them, for another reader; - is none. BEGINNINGS: a file of memories,
 * each in a line, which the scenarios begin with one after the other; all of them come into the sample. */
#include "unit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MIXES = 3 }; /* further draws of a cycle whose bytes end differently */

static struct {
    uint32_t scenarios, given, wrapped, dead, blank, older, newer, slips, deeds, first, second, through, late, revived, garbage, passed, mixed, heard;
} counts;

static enum way way;
static FILE *sample;
static FILE *beginnings;
static uint32_t sampled;

static void explain(uint16_t number, const struct sound *got, const struct sound *old, const struct sound *asked)
{
    note("number", number);
    printf("heard ");
    describe(got);
    printf("before ");
    describe(old);
    printf("asked ");
    describe(asked);
}

static void record(const struct played *played)
{
    if (sample != NULL && sampled != 250u && below(256u) == 0u) {
        sampled++;
        write_down(sample, played);
    }
}

/* Whether a number plays what it did before, or what was asked for; else also what a save that was cut off
 * earlier was asked for, where there is one: what it left may still be completed. */
static const struct played *origin; /* what played before a reset that was cut off first; null: no reset was */

static int fits(uint16_t number, const struct sound *now, const struct played *before, const struct played *after,
                const struct played *earlier)
{
    int fit = same(now, &before->of[number]) || same(now, &after->of[number]);
    if (!fit && earlier != NULL && same(now, &earlier->of[number])) {
        counts.late++;
        fit = 1;
    }
    /* A torn byte of a seal may come out as it once was. What was being retired is then sound again: of copies of
     * today an older one, which is none the worse; of a later revision one that hides what took its place, until
     * the reset that was cut off is asked for again. */
    if (!fit && earlier != NULL && origin != NULL && now->answer == P_NEWER && same(now, &origin->of[number])) {
        counts.revived++;
        fit = 1;
    }
    return fit;
}

/* Hears everything; each number has to fit. */
static void check(const struct played *before, const struct played *after, const struct played *earlier,
                  struct played *now)
{
    uint16_t number;
    power_up();
    hear(now);
    counts.heard++;
    for (number = 0u; number < NUMBERS; number++) {
        if (!fits(number, &now->of[number], before, after, earlier)) {
            explain(number, &now->of[number], &before->of[number], &after->of[number]);
            lost("a number plays what it had not and was not asked for");
        }
    }
    record(now);
}

/* One time in four, the memory is busy or refuses once in what comes. (A misread bit is slips.c's: what a cut
 * has left may be one bit away from a checksum that passes.) */
static void slip(void)
{
    if (below(4u) == 0u) {
        memory.slip_says = below(2u) == 0u ? P_AGAIN : P_REFUSED;
        if (below(2u) == 0u) {
            memory.slip = memory.reads + below(100u);
        } else {
            memory.slip_write = memory.writes + below(8u);
        }
        counts.slips++;
    }
}

/* Does a thing to its end, which must be a good one. */
static void succeed(const struct deed *deed, const struct played *before, struct played *now)
{
    struct played after;
    p_answer answer;
    note("asked for", deed->what);
    note("of number", deed->number);
    memory.cut = NEVER;
    if (perform(deed, &answer) != THROUGH || answer != P_SOUND) {
        note("answer", answer);
        lost("a save that nothing kept from it did not succeed");
    }
    memory.slip = NEVER;
    memory.slip_write = NEVER;
    counts.deeds++;
    expect(deed, before, &after);
    check(&after, &after, NULL, now);
}

static void play(uint32_t saves, uint16_t number, struct played *now)
{
    struct deed deed;
    while (saves-- != 0u) {
        some_deed(now, &deed);
        if (number != NOWHERE) {
            deed.what = SAVE;
            deed.number = number;
            some_sound(number, &deed.sound);
        }
        slip();
        succeed(&deed, now, now);
    }
}

/* Some state of the memory. */
static void prepare(struct played *now)
{
    static uint8_t erased[P_MEMORY];
    uint16_t number;
    uint32_t draw = below(12u);
    memory_begin(factory);
    if (draw < 2u) {
        memset(erased, BLANK, sizeof erased);
        memory_begin(erased);
        counts.blank++;
#if HAS_OLDER
    } else if (draw < 4u) {
        memory_begin(older);
        counts.older++;
#endif
#if HAS_NEWER
    } else if (draw == 4u) {
        memory_begin(newer);
        counts.newer++;
#endif
    } else {
        /* a new unit */
    }
    memory.way = way;
    power_up();
    hear(now);
    for (number = 0u; number < NUMBERS; number++) {
        struct sound sound;
        factory_sound(number, &sound);
        sound.answer = now->of[number].answer;
        if (!same(&now->of[number], &sound)) {
            explain(number, &now->of[number], &sound, &sound);
            lost("a new unit does not play its factory values");
        }
    }
    if (now->unit == P_NEWER) {
        return;
    }
    if (below(4u) == 0u) {
        play(256u + below(20u), (uint16_t)below(NUMBERS), now);
        counts.wrapped++;
    }
    play(below(7u), NOWHERE, now);
    if (below(3u) == 0u) {
        uint16_t dead = (uint16_t)below(PLACES);
        if (places[dead].look && places[dead].spares > 1u) {
            memory.dead = dead;
            counts.dead++;
            play(below(4u), NOWHERE, now);
        }
    }
}

/* The next of the memories that are given. */
static void begin(struct played *now)
{
    uint8_t cells[P_MEMORY];
    memory_read(beginnings, cells);
    memory_begin(cells);
    memory.way = way;
    power_up();
    hear(now);
    counts.given++;
    if (sample != NULL) {
        write_down(sample, now);
    }
}

/* In what pages do to garbage, chance alone may let it pass: then what plays is not held against what was. */
static int garbage_passes(void)
{
    uint16_t number;
    if (!memory.garbage) {
        return 0;
    }
    counts.garbage++;
    return place_passes(memory.cells, memory.torn, &number);
}

/* The number of events of a thing, and what plays after it. */
static uint32_t rehearse(const struct deed *deed, const struct played *now, struct played *after)
{
    static struct memory start;
    uint32_t events = memory.events;
    uint32_t i;
    struct played heard;
    start = memory;
    memset(worked, 0, sizeof worked);
    power_up();
    succeed(deed, now, &heard);
    events = memory.events - events;
    for (i = 0u; i < P_MEMORY; i++) {
        if (deed->what != RESET_LOOK && worked[i] > 2u) {
            lost("a save writes to a cell three times");
        }
    }
    if (events != 0u && memory.dead == NOWHERE && deed->what != RESET_LOOK && copies(memory.cells, deed->number) != 1) {
        note("copies", (uint32_t)copies(memory.cells, deed->number));
        lost("a save leaves more than one copy");
    }
    expect(deed, now, after);
    memory = start;
    return events;
}

/* One thing, cut off at an event that ends so. Answers 0 where garbage passes and nothing more can be said. */
static int cut(const struct deed *deed, uint32_t event, enum tear tear, const struct played *before,
               const struct played *after, const struct played *earlier, struct played *now)
{
    p_answer answer;
    uint16_t number;
    memory.cut = memory.events + event;
    memory.tear = tear;
    memory.garbage = 0u;
    note("event", event);
    note("tear", tear);
    power_up();
    if (perform(deed, &answer) != CUT_OFF) {
        lost("a save is not the same each time");
    }
    if (way != PAGES || !garbage_passes()) {
        check(before, after, earlier, now);
        return 1;
    }
    counts.passed++;
    power_up();
    hear(now);
    for (number = 0u; number < NUMBERS; number++) {
        if (!fits(number, &now->of[number], before, after, earlier)) {
            counts.mixed++;
            break;
        }
    }
    return 0;
}

/* What follows a cut: another thing that is cut off, then one that must succeed. */
static void follow(const struct deed *first, const struct played *asked, struct played *now)
{
    struct played before = *now;
    struct played after;
    struct deed deed = *first;
    uint32_t events;
    switch (below(5u)) {
    case 0u:
        break;
    case 1u:
    case 2u:
        some_deed(now, &deed);
        break;
    default:
        /* The number that the first was about, if it was one: what that has left behind is in the way. */
        if (now->unit == P_NEWER || deed.what == RESET_LOOK) {
            some_deed(now, &deed);
        } else {
            deed.what = SAVE;
            some_sound(deed.number, &deed.sound);
        }
        break;
    }
    note("then asked for", deed.what);
    note("then of number", deed.number);
    events = rehearse(&deed, &before, &after);
    if (events != 0u) {
        if (!cut(&deed, below(events), (enum tear)below(TEARS + 1u), &before, &after, asked, now)) {
            return;
        }
        counts.second++;
    }
    if (now->unit == P_NEWER || below(2u) == 0u) {
        some_deed(now, &deed);
    }
    slip();
    succeed(&deed, now, now);
    counts.through++;
}

static void scenario(void)
{
    static struct memory ready;
    struct played before;
    struct played after;
    struct deed deed;
    uint32_t events;
    uint32_t event;
    uint32_t draw;
    counts.scenarios++;
    if (beginnings != NULL) {
        begin(&before);
    } else {
        prepare(&before);
    }
    do {
        some_deed(&before, &deed);
    } while (beginnings != NULL && deed.what == RESET_LOOK); /* then it is about a save; a reset may follow */
    note("asked first for", deed.what);
    note("first of number", deed.number);
    origin = deed.what == RESET_LOOK ? &before : NULL;
    events = rehearse(&deed, &before, &after);
    ready = memory;
    for (event = 0u; event < events; event++) {
        for (draw = 0u; draw < (way == BYTES ? TEARS : TEARS + MIXES); draw++) {
            struct played now;
            memory = ready;
            note("first event", event);
            if (cut(&deed, event, (enum tear)(draw < TEARS ? draw : MIXED), &before, &after, NULL, &now)) {
                counts.first++;
                follow(&deed, &after, &now);
            }
        }
    }
}

int main(int argc, char **argv)
{
    uint64_t seed;
    uint64_t number;
    uint32_t wanted;
    if (argc < 5) {
        return MISUSED;
    }
    seed = strtoull(argv[1], NULL, 10);
    number = strtoull(argv[2], NULL, 10);
    wanted = (uint32_t)strtoul(argv[3], NULL, 10);
    way = strcmp(argv[4], "bytes") == 0 ? BYTES : strcmp(argv[4], "cycles") == 0 ? CYCLES : PAGES;
    sample = argc > 5 && strcmp(argv[5], "-") != 0 ? fopen(argv[5], "w") : NULL;
    beginnings = argc > 6 ? fopen(argv[6], "r") : NULL;
    if (argc > 6 && beginnings == NULL) {
        return MISUSED;
    }
    while (counts.first + counts.second + counts.passed < wanted) {
        note("scenario", (uint32_t)number);
        chance_begin(seed << 32 ^ number++);
        scenario();
    }
    if (sample != NULL) {
        fclose(sample);
    }
    printf("scenarios %u\ngiven %u\nwrapped %u\ndead %u\nblank %u\nolder %u\nnewer %u\nslips %u\ndeeds %u\nfirst %u\nsecond %u\nthrough %u\nheard %u\n"
           "late %u\nrevived %u\ngarbage %u\npassed %u\nmixed %u\n",
           counts.scenarios, counts.given, counts.wrapped, counts.dead, counts.blank, counts.older,
           counts.newer, counts.slips, counts.deeds, counts.first, counts.second,
           counts.through, counts.heard, counts.late, counts.revived, counts.garbage, counts.passed, counts.mixed);
    return 0;
}
