/* A unit on the host: a memory that can be cut off, wear out, refuse and misread; the product's own C on it; and
 * what it plays, as it is heard through the product's functions alone.
 *
 * "subject.h" is made for each product: its facts as its layout file says them. All of it is written for the
 * prefix p, as the product's C is. A finding prints what is wrong and ends the program with LOST. */
#ifndef UNIT_H
#define UNIT_H

#include "subject.h"

#include <stdint.h>
#include <stdio.h>

enum { LOST = 1, MISUSED = 2 }; /* what the program ends with; anything else but 0 is a fault of the tests */

/* ---- Chance: the same numbers on every machine. */

void chance_begin(uint64_t seed);
uint32_t chance(void);
uint32_t below(uint32_t end); /* 0 to end - 1, evenly enough for ends that are small */

/* ---- The memory */

enum way {
    BYTES, /* bytes go in one after the other, and the one that is cut comes out as any tear */
    CYCLES, /* what one call writes goes in at once, and each byte of it comes out as any tear */
    PAGES /* the same, and all other bytes of the page with it */
};

enum tear { KEPT, DONE, ONES, ZEROS, ANYTHING, TEARS, MIXED = TEARS };

enum { NOWHERE = 0xFFFF };
#define NEVER UINT32_MAX

struct memory {
    uint8_t cells[P_MEMORY];
    enum way way;
    enum tear tear;
    uint32_t events; /* so many bytes (BYTES) or calls have been written */
    uint32_t cut;    /* the event that the supply fails in */
    uint32_t writes; /* calls of the driver */
    uint16_t dead;   /* the place (in places) that keeps what it has, whatever is written, or NOWHERE */
    uint16_t torn;   /* the place that the cut was in */
    uint8_t garbage; /* 1: the record there is neither as before the cycle nor as after it */
    uint32_t reads;
    uint32_t slip;       /* the read that something happens in */
    uint32_t slip_write; /* the same of a write, which then takes nothing */
    uint8_t slip_says;   /* what the driver answers then */
    uint32_t slip_bit;   /* with P_OK: the bit of the piece that is misread */
};

extern struct memory memory;

/* Apart from the memory, which is copied often: writes that each cell was asked for, and where wearing is 1 those
 * that it still takes. */
extern uint32_t worked[P_MEMORY];
extern uint32_t life[P_MEMORY];
extern uint8_t wearing;
extern uint32_t spent;             /* cells whose life has ended */
extern uint32_t cycled[P_MEMORY];  /* writes to each page */

void memory_begin(const uint8_t *cells); /* quiet, with these contents */
/* The next memory of a file that has one in each line, as write_down writes it, of which the rest is passed over;
 * behind the last comes the first again. */
void memory_read(FILE *file, uint8_t *cells);
const struct place *place_at(uint16_t address); /* null where no record stands */

/* Whether the place has a sealed record with a right checksum, worked out from the layout file; *number then
 * says whose, as below. */
int place_passes(const uint8_t *cells, uint16_t place, uint16_t *number);
/* What is left of the record's checksum: 0 where it is right, sealed or not; and the same with no trial's
 * fingerprint in its cover, whatever its revision. */
uint32_t remainder_of(const uint8_t *cells, uint16_t place);
uint32_t remainder_without(const uint8_t *cells, uint16_t place);
/* So many places have a record of the number that passes. */
int copies(const uint8_t *cells, uint16_t number);

/* ---- What plays. Numbers: STATE, then SETUP where there is one, then the presets. */

enum { STATE = 0, PRESET_1 = 1 + HAS_SETUP, NUMBERS = PRESET_1 + P_SLOTS };

struct sound {
    p_look look;
    p_answer answer;
#if HAS_NAMES
    char name[P_NAME + 1u];
#endif
};

struct played {
    p_answer unit;
    struct sound of[NUMBERS];
};

extern p_store store;

void power_up(void); /* a new store, opened */
void hear(struct played *played); /* loads everything */
int same(const struct sound *a, const struct sound *b);
void describe(const struct sound *sound);
/* A line of the memory and of what was heard in it, for another reader: number after number its answer and the
 * codes that it keeps, behind them the last preset and engaged, learned ends, or the letters of a name. */
void write_down(FILE *file, const struct played *played);

/* What a deed makes of what plays. */
enum what { SAVE, RESET_SLOT, RESET_LOOK };
struct deed {
    enum what what;
    uint16_t number;
    struct sound sound; /* of SAVE */
};

void factory_sound(uint16_t number, struct sound *sound); /* as a reset saves it */
void some_sound(uint16_t number, struct sound *sound);
void some_deed(const struct played *now, struct deed *deed); /* one that can be done there */
void expect(const struct deed *deed, const struct played *before, struct played *after);

/* Does it, one step after the other, as often as it says P_MORE, P_AGAIN and P_REFUSED. */
enum ended { THROUGH, CUT_OFF };
enum ended perform(const struct deed *deed, p_answer *answer);

/* A new unit on which every number has been saved often, none with its factory values; it is on. */
void play_everything(void);

void lost(const char *words) __attribute__((noreturn));
void note(const char *words, uint32_t value); /* printed where something is lost */

#endif
