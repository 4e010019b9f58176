/* made by paramc from doorbell.paramc; change that file, not this one.
 *
 * Doorbell
 *
 * How it is used. Give db_open the functions that read and write the memory, call db_open_step until it
 * answers something else than DB_MORE and DB_AGAIN, then load trims, setup and state, and do as db_start
 * says: until then, mute. To save, call db_save_state or its like once, then db_save_step from the main loop
 * as long as it answers DB_MORE and DB_AGAIN.
 * Nothing here blocks, waits, allocates or keeps anything but what is in a db_store, a db_look and a
 * db_trims.
 *
 * What stays with the firmware:
 * - to act on db_start and on every answer, and which lamp shows which;
 * - one context for each db_store, which is no interrupt;
 * - how often DB_AGAIN is tried again: there is no clock here;
 * - when to save, and that power lasts: a save is a few dozen steps, each as long as the memory takes for a
 *   write;
 * - bus time-outs, block-select bits and write protection, in the functions that read and write;
 * - the brown-out detector and its fuse at 2.7 V;
 * - loudness: a code in range is a sound that the product can make, not one that is harmless.
 * What is read back proves the bytes of now, not the margin of a cell that was written at low supply.
 *
 * Slots count from 0: preset 1 of the manual is slot 0. Codes count from 0, anticlockwise first.
 */
#ifndef DB_HEADER
#define DB_HEADER

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DB_BUILD       0x06BAD4C9u /* this build, shared with doorbell.c */
#define DB_CODE        0x4442u /* the product's own code, in every record's checksum and in identity */
#define DB_REVISION    1u /* of the layout */
#define DB_UNRELEASED  1u /* 1: a trial; its records have revision 0 and its fingerprint */
#define DB_FINGERPRINT 0xF3B594A9u /* of the layout of all records */
#define DB_MEMORY      128u /* bytes of the memory */
#define DB_PRODUCT     "Doorbell"

#define DB_SLOTS       2u /* presets */

/* An item by its number, the number of a place, or none of them. */
typedef uint8_t db_index;
#define DB_NOTHING 0xFFu

/* ---- Answers */

typedef uint8_t db_answer;

#define DB_OK       0u  /* of a driver: done */
#define DB_SOUND    0u  /* good, of this revision */
#define DB_OLDER    1u  /* good, of an earlier revision; its values are those of today that mean the same */
#define DB_NEWER    2u  /* good, of a later revision, which stays untouched: factory values */
#define DB_BLANK    3u  /* nothing was ever written */
#define DB_DAMAGED  4u  /* something is neither good nor blank, and nothing replaces it */
#define DB_TRIAL    5u  /* written by a trial that is not this one */
#define DB_FOREIGN  6u  /* written by another product */
#define DB_MISSING  7u  /* no good copy: factory values */
#define DB_MORE     8u  /* not done yet: call again */
#define DB_AGAIN    9u  /* the memory was busy, or two readings differed: try again, nothing has changed */
#define DB_REFUSED  10u /* the memory cannot be reached; nothing has changed */
#define DB_WORN     11u /* of a save: no place is left that keeps what is written; the old value stays */
#define DB_RANGE    12u /* of a save: a code is out of range, and db_look_ok names it */

/* Reads length bytes (1 to DB_PIECE) of the memory from address into to; context is the driver's. Answers
 * DB_OK, DB_AGAIN where the memory is busy, or DB_REFUSED where it does not answer. */
typedef db_answer db_read(uint16_t address, uint8_t *to, uint8_t length, void *context);

/* Writes length bytes from there to the memory from address on; they all lie in one page. Answers DB_OK where
 * the memory has taken them and may still be writing, DB_AGAIN where it is busy and has taken nothing, or
 * DB_REFUSED. */
typedef db_answer db_write(uint16_t address, const uint8_t *from, uint8_t length, void *context);

/* How the memory is reached. Clear it before you fill it: a member that comes later is then null, which means
 * that it is not there. */
typedef struct {
    db_read *read;
    void *context;
    db_write *write;
} db_driver;

/* ---- What plays: stored codes */

typedef struct {
    uint8_t last_preset; /* slot of the preset called last */
    uint8_t engaged; /* 1 engaged, 0 bypassed */
    uint8_t level; /* 0 to 100: 0 % to 100 % */
} db_look;

/* Param Level: 0 % to 100 %, code k is 0 % and k times 1 %. Default 50: 50 %. */
#define DB_LABEL_LEVEL "Level"
#define DB_ITEM_LEVEL 2u
#define DB_CODES_LEVEL 101u
#define DB_DEFAULT_LEVEL 50u

#define DB_ROWS 3u /* items of db_look have numbers below this */

/* ---- The memory */

typedef struct {
    uint16_t product;          /* DB_CODE, or whose memory this is */
    uint16_t fingerprint_high; /* of the layout that the unit was made with */
    uint16_t fingerprint_low;
    uint8_t hardware;          /* place of the board revision in the product's list; 255: not said */
    uint8_t trial;             /* 1: made from a source that no release froze */
} db_identity;

#define DB_SEEN 1u
#define DB_LOADED 3u
#define DB_LONGEST 12u
#define DB_RECORD 7u
#define DB_SPARES 1u

/* Bytes of the memory that are read at once: on a bus an address costs about four. */
#define DB_PIECE 32u

/* Bytes of a record. */
typedef uint8_t db_length;

/* A kind of record: bytes of one, and of those before its checksum; its rows, row to just before end; its
 * places, first to just before stop. */
typedef struct {
    db_length length;
    db_length body;
    db_index row;
    db_index end;
    db_index first;
    db_index stop;
    db_index places;
} db_kind;

/* A checksum that is being worked out. */
typedef uint16_t db_sum;

/* Everything that is known of the memory, the place that has been read last and what is being saved. Its
 * members are for the functions here alone; those that are used most stand first, where small chips reach
 * them with one short instruction. */
typedef struct {
    uint8_t kind;
    uint8_t mask;
    uint8_t changed;
    db_kind of;
    db_index number;
    uint8_t saving;
    db_index to;
    db_index tries;
    db_index live;
    db_index saved;
    db_index twice;
    db_index tidied;
    db_length done;
    db_length until;
    uint8_t newest;
    uint8_t behind;
    uint8_t same;
    uint8_t tried;
    uint8_t worn;
    uint8_t lost;
    uint8_t resetting;
    uint8_t notes;
    db_answer unit;
    db_answer whose;
    uint8_t opening;
    db_index place;
    db_index unseen;
    db_index aged;
    db_index replaced;
    uint16_t address;
    db_sum sum;
    uint8_t *cursor;
    db_answer loaded[DB_LOADED];
    uint8_t seen[DB_SEEN];
    uint8_t current[DB_SEEN];
    db_driver driver;
    uint8_t bytes[DB_LONGEST];
    uint8_t record[DB_RECORD];
} db_store;

/* Begins anew with a memory, reading nothing yet. The driver is copied. */
void db_open(db_store *store, const db_driver *driver);

/* Looks at one of the memory's 9 places, at most 12 bytes and those twice where they are not good.
 * Answers DB_MORE until all have been looked at, then what db_unit answers. After DB_AGAIN and DB_REFUSED the
 * same place is next. Loads do not wait for it. */
db_answer db_open_step(db_store *store);

/* The gravest thing that db_open_step has found: DB_FOREIGN, DB_TRIAL, DB_NEWER, DB_DAMAGED (identity, trims,
 * setup, state or a preset has no good copy), DB_OLDER, DB_BLANK or DB_SOUND; DB_MORE while it is not
 * through. */
db_answer db_unit(const db_store *store);

/* Whose unit this is. DB_SOUND, DB_FOREIGN (identity is then the other product's), DB_MISSING, DB_AGAIN or
 * DB_REFUSED; identity changes only with the first two. */
db_answer db_identity_get(db_store *store, db_identity *identity);

/* Loads. Each looks at all places of its kind and takes the newest good copy. DB_SOUND: the unit's own
 * values.
 * DB_MISSING, DB_OLDER, DB_NEWER: factory values stand in for them. DB_AGAIN, DB_REFUSED: nothing has
 * changed.
 * A code that is not in use becomes the item's default, the rest of the record stands, and db_look_ok names
 * the item. Members that are not of the kind stay as they are. */

/* The sound of a slot (below DB_SLOTS; another answers DB_MISSING and changes nothing); last_preset becomes
 * it. */
db_answer db_load_preset(db_store *store, uint8_t slot, db_look *look);

/* What played last: the sound, the slot it came from, and whether the unit was engaged. */
db_answer db_load_state(db_store *store, db_look *look);

/* Values of a new unit, read from flash. A slot that is not there gets the sound of the last one and
 * last_preset of preset 1. */
void db_factory_preset(uint8_t slot, db_look *look);
void db_factory_state(db_look *look);

/* ---- Saving
 *
 * One thing is saved at a time. db_save_preset or db_save_state packs a copy; db_save_step writes it, to
 * another place than the value that it is to replace. Supply that fails at any moment leaves the old value or
 * the new one, and touches nothing else. Loads may run between the steps, and play the one or the other.
 *
 * Those that pack neither read nor write. DB_OK: call db_save_step now. DB_MORE: db_open_step is not
 * through, or something else is being saved. DB_FOREIGN: another product's memory. DB_NEWER: it has records
 * of a later revision, which only db_reset_look_step writes over. DB_REFUSED: the driver cannot write.
 * DB_RANGE: as it says.
 * DB_MISSING: there is no such slot. After all but DB_OK nothing has changed. */

db_answer db_save_preset(db_store *store, uint8_t slot, const db_look *look);
db_answer db_save_state(db_store *store, const db_look *look);

/* Looks at one place or calls write once. DB_MORE and DB_AGAIN: call again. DB_SOUND: the value is in the
 * memory and has been read back; nothing is written where it was there already. DB_WORN: no place is left
 * that keeps what is written, and the old value stays. DB_NEWER: the memory has a record of a later revision.
 * DB_REFUSED: the memory cannot be reached; call again, or abandon. */
db_answer db_save_step(db_store *store);

/* Ends a save or a reset where it is, which is as safe as a power cut. */
void db_save_abandon(db_store *store);

/* Begins to save the factory values of a slot, with its factory name where it has one; db_save_step goes on.
 * Answers as db_save_preset does. */
db_answer db_reset_preset(db_store *store, uint8_t slot);

/* Saves the factory values of the whole look, number after number, also over records of a later revision;
 * what the bench measured and the serial stay. A save under way is abandoned. Answers DB_MORE and DB_AGAIN
 * until it is through: then DB_SOUND, and the store is as after db_open: open it and load again. DB_WORN: not
 * all could be saved.
 * Otherwise as db_save_step and db_save_preset. */
db_answer db_reset_look_step(db_store *store);

/* Of the DB_SPARES places that presets have to spare: how many have not refused a save since db_open. At 0
 * the next worn place ends the saving of presets; every preset still plays. */
uint8_t db_spares_left(const db_store *store);

/* ---- The bench
 *
 * These stand in doorbell_bench.c, which firmware for the field does not link. They write identity, mirror
 * after mirror and first one that is not good, and nothing else. When they are through, what they wrote has
 * to be loaded again. */

/* What is being written at the bench. Its members are for the functions here alone. */
typedef struct {
    db_driver driver;
    uint16_t bit;
    db_length body;
    db_length done;
    db_length from;
    db_length end;
    db_index place;
    db_index first;
    db_index stop;
    db_index left;
    db_index worst;
    db_answer unit;
    uint8_t saving;
    uint8_t resetting;
    uint8_t found;
    uint8_t counter;
    uint8_t newest;
    uint8_t any;
    uint8_t age;
    uint8_t seal;
    uint8_t record[12u];
} db_bench;

/* Begins with a memory whose db_unit is unit. The driver is copied. */
void db_bench_open(db_bench *bench, const db_driver *driver, db_answer unit);

/* Packs identity, also over another product's. hardware: place of the board revision, 255: not said.
 * DB_OK: call db_bench_step now. DB_MORE: unit is that, or something else is being written. DB_REFUSED: the
 * driver cannot write. DB_RANGE: there is no such board revision. After all but DB_OK nothing has changed. */
db_answer db_bench_save_identity(db_bench *bench, uint8_t hardware);

/* Reads one mirror or calls write once. DB_MORE and DB_AGAIN: call again. DB_SOUND: all mirrors have it; one
 * that had it was not written. DB_WORN: a mirror does not keep what is written; those after it stay as they
 * were. DB_NEWER: trims of a later revision, which stay. DB_REFUSED: the memory cannot be reached; call again
 * or open anew. */
db_answer db_bench_step(db_bench *bench);

/* Takes identity back to those of a new unit: the serial is lost, and the unit has to be stamped again.
 * With db_reset_look_step the whole unit is as new. Answers as db_bench_step and those that pack do. */
db_answer db_bench_reset_all_step(db_bench *bench);

/* The first item of look whose code is out of range, else the item whose code the last load had to replace
 * by its default, else DB_NOTHING. */
db_index db_look_ok(const db_store *store, const db_look *look);

/* A code by the number of its item. A number that is not below DB_ROWS reads as 0; db_set answers 1 where it
 * has set the code, 0 where number or code is out of range and nothing has changed. */
uint16_t db_get(const db_look *look, db_index item);
uint8_t db_set(db_look *look, db_index item, uint16_t code);

#define DB_MUTED    0u
#define DB_BYPASSED 1u
#define DB_ENGAGED  2u

/* How to start, from the answers so far. Until db_open_step is through and state loaded without DB_AGAIN
 * or DB_REFUSED: DB_MUTED. Where the memory is blank, foreign, newer or a trial's, or has no good copy of
 * state: DB_BYPASSED. Otherwise DB_BYPASSED. look is what was loaded. */
uint8_t db_start(const db_store *store, const db_look *look);

/* Tests the chip that this runs on: 0 good, 1 this header is of another build than doorbell.c, 2 the
 * checksum's check value 0x29B1 of "123456789" does not come out, 3 the tables of the memory, 4 an engine
 * value or a knob's code. Give it DB_BUILD. It computes 101 values in one go: tens of thousands keep an 8-bit
 * processor busy for a second or more, which belongs on the bench and not into each start. */
uint8_t db_self_test(uint32_t build);

/* ---- Engine values. A code that is not in use answers what the default does. */

/* Level: u8 where 1 is 0.5 %.
 *    7:00  code     0  0 %               0
 *    9:30  code    25  25 %              50
 *   12:00  code    50  50 %              100
 *    2:30  code    75  75 %              150
 *    5:00  code   100  100 %             200
 * A linear rule, no table. Every value is exact.
 * Straight pieces needed at least: 1. */
uint8_t db_engine_level(uint16_t code);

#ifdef __cplusplus
}
#endif

#endif
