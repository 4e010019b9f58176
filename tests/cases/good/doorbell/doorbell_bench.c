/* made by paramc from doorbell.paramc; change that file, not this one.
 *
 * Writers of what the bench owns. Firmware for the field does not link this file: what it saves of the
 * player's has no way to identity and trims, and nothing here has one to the player's. */
#include "doorbell.h"

#include <stddef.h>

#if !defined(DB_BUILD) || (DB_BUILD != 0x06BAD4C9u)
#error "doorbell.h and _bench.c come from different builds: run paramc build"
#endif

/* Where tables live and how they are read. Chips that have their flash in another address space than their
 * RAM need more than a const: for AVR it is here; for others define DB_FLASH and its readers before this
 * file. */
#ifndef DB_FLASH
#ifdef __AVR__
#include <avr/pgmspace.h>
#define DB_FLASH PROGMEM
#define DB_FLASH_U8(p)  (pgm_read_byte(p))
#define DB_FLASH_U16(p) (pgm_read_word(p))
#define DB_FLASH_U32(p) (pgm_read_dword(p))
#define DB_FLASH_S8(p)  ((int8_t)pgm_read_byte(p))
#define DB_FLASH_S16(p) ((int16_t)pgm_read_word(p))
#define DB_FLASH_S32(p) ((int32_t)pgm_read_dword(p))
#else
#define DB_FLASH
#define DB_FLASH_U8(p)  (*(p))
#define DB_FLASH_U16(p) (*(p))
#define DB_FLASH_U32(p) (*(p))
#define DB_FLASH_S8(p)  (*(p))
#define DB_FLASH_S16(p) (*(p))
#define DB_FLASH_S32(p) (*(p))
#endif
#endif
/* Functions that would take more flash where they are called than they do apart. */
#ifndef DB_APART
#if defined(__GNUC__)
#define DB_APART __attribute__((noinline))
#else
#define DB_APART
#endif
#endif

#define DB_START_ 0xFFFFu
#define DB_CODED_ 0xB481u
#define DB_RESIDUE_ 0x0000u
#define DB_POLY_ 0x1021u
#define DB_STORED_ 2u
#define DB_FINAL_ 0x0000u
#define DB_MARK_ 0u
#define DB_PAGE_ 1u
#define DB_TOP_ 0x8000u
#define DB_DOWN_ 8
#define DB_ALL_ 0xFFFFu

/* What a bench is doing, in bench->saving. */
#define DB_IDLE_   0u
#define DB_SCAN_   1u /* finds the newest copy, and one that is not good, which is written first */
#define DB_PLACE_  2u /* does the next place need to be written? */
#define DB_BREAK_  3u /* breaks the seal there */
#define DB_FILL_   4u /* writes the record, but for its checksum */
#define DB_COMMIT_ 5u /* writes the checksum */

/* What a place was found to be, in bench->found. */
#define DB_SEALED_ 1u /* it has a good record */
#define DB_EQUAL_  2u /* with the values that are to be written */
#define DB_KEPT_   4u /* the bytes that have been written last are there */

/* Addresses of all mirrors: of identity. */
static const uint16_t DB_FLASH db_places[] = {
    4u, 16u,
};

/* The checksum with one byte more, the highest bit first. */
static db_sum db_add(db_sum sum, uint8_t byte)
{
    db_sum after = (db_sum)(sum ^ ((db_sum)byte << DB_DOWN_));
    uint8_t bit;
    for (bit = 0u; bit < 8u; bit++) {
        if ((after & DB_TOP_) != 0u) {
            after = (db_sum)((db_sum)(after << 1) ^ DB_POLY_);
        } else {
            after = (db_sum)(after << 1);
        }
    }
    return (db_sum)(after & DB_ALL_);
}

static uint16_t db_address(const db_bench *bench)
{
    return DB_FLASH_U16(&db_places[bench->place]);
}

/* What the checksum covers before a record. */
static db_sum db_cover(const db_bench *bench, uint8_t revision)
{
    uint16_t address = db_address(bench);
    db_sum sum = DB_START_;
    sum = db_add(sum, (uint8_t)(address >> 8));
    sum = db_add(sum, (uint8_t)(address & 0xFFu));
    (void)revision;
    return sum;
}

/* Reads the place in hand once. *sum tells one reading from another. */
static db_answer db_read_place(db_bench *bench, db_sum *sum)
{
    db_answer answer = DB_OK;
    uint8_t piece[DB_PIECE];
    uint8_t length = 0u;
    uint8_t at = 0u;
    uint8_t revision = 0u;
    uint8_t stop = (uint8_t)(bench->body + DB_STORED_);
    uint8_t i;
    bench->found = DB_SEALED_ | DB_EQUAL_ | DB_KEPT_;
    *sum = DB_START_;
    for (i = 0u; (i != stop) && (answer == DB_OK); i++) {
        if (at == length) {
            length = DB_PIECE;
            if ((uint8_t)(stop - i) < length) {
                length = (uint8_t)(stop - i);
            }
            at = 0u;
            answer = bench->driver.read((uint16_t)(db_address(bench) + i), piece, length, bench->driver.context);
        }
        if (answer == DB_OK) {
            if (i == 0u) {
                revision = piece[0];
                *sum = db_cover(bench, revision);
            }
            if (i == 1u) {
                bench->counter = piece[at];
            }
            *sum = db_add(*sum, piece[at]);
            if (piece[at] != bench->record[i]) {
                if ((i >= bench->from) && (i < bench->end)) {
                    bench->found &= (uint8_t)(0xFFu ^ DB_KEPT_);
                }
                if ((i != 1u) && (i < bench->body)) {
                    bench->found &= (uint8_t)(0xFFu ^ DB_EQUAL_);
                }
            }
            if ((i >= bench->body) && ((piece[at] == 0x00u) || (piece[at] == 0xFFu))) {
                bench->found &= (uint8_t)(0xFFu ^ DB_SEALED_);
            }
            at++;
        } else {
            answer = (answer == DB_AGAIN) ? DB_AGAIN : DB_REFUSED;
        }
    }
    if ((answer == DB_OK) && (*sum != DB_RESIDUE_)) {
        bench->found &= (uint8_t)(0xFFu ^ DB_SEALED_);
    }
    if ((bench->found & DB_SEALED_) != 0u) {
        bench->age = revision;
    }
    return answer;
}

/* Reads it until it is sure: what is not good has to read the same way twice. */
static db_answer db_look_at(db_bench *bench, uint8_t wanted)
{
    db_sum first;
    db_sum second;
    db_answer answer = db_read_place(bench, &first);
    if ((answer == DB_OK) && ((bench->found & wanted) == 0u)) {
        answer = db_read_place(bench, &second);
        if ((answer == DB_OK) && (first != second)) {
            answer = DB_AGAIN;
        }
    }
    return answer;
}

/* Gives the record the next counter that seals in the place in hand, and leaves its seal broken in front. */
static void db_seal(db_bench *bench)
{
    uint8_t sealed = 0u;
    uint8_t i;
    uint8_t at;
    db_sum sum;
    bench->record[1] = bench->newest;
    while (sealed == 0u) {
        bench->record[1]++;
        sum = db_cover(bench, bench->record[0]);
        for (at = 0u; at != bench->body; at++) {
            sum = db_add(sum, bench->record[at]);
        }
        sum = (db_sum)(sum ^ DB_FINAL_);
        sealed = 1u;
        for (i = 0u; i != DB_STORED_; i++) {
            bench->record[at] = (uint8_t)(sum >> DB_DOWN_);
            sum = (db_sum)(sum << 8);
            if ((bench->record[at] == 0x00u) || (bench->record[at] == 0xFFu)) {
                sealed = 0u;
            }
            at++;
        }
    }
    bench->seal = bench->record[bench->body];
    bench->record[bench->body] = 0xFFu;
}

/* What is written next: from just after so many bytes of the record to just before so many. */
static void db_begin(db_bench *bench, uint8_t saving, uint8_t from, uint8_t end)
{
    bench->saving = saving;
    bench->from = from;
    bench->done = from;
    bench->end = end;
}

/* On to the next mirror, or to the end. */
static db_answer db_go_on(db_bench *bench)
{
    db_answer answer = DB_MORE;
    bench->left--;
    bench->place++;
    if (bench->place == bench->stop) {
        bench->place = bench->first;
    }
    bench->saving = DB_PLACE_;
    if (bench->left == 0u) {
        bench->saving = DB_IDLE_;
        answer = DB_SOUND;
    }
    return answer;
}

/* A mirror of the search. */
static db_answer db_scan(db_bench *bench)
{
    uint8_t ahead;
    db_answer answer = db_look_at(bench, DB_SEALED_);
    if (answer == DB_OK) {
        answer = DB_MORE;
        if ((bench->found & DB_SEALED_) == 0u) {
            bench->worst = bench->place;
        } else {
            ahead = (uint8_t)(bench->counter - bench->newest);
            if ((bench->any == 0u) || (ahead < 0x80u)) {
                bench->newest = bench->counter;
            }
            bench->any = 1u;
        }
        bench->place++;
        if ((bench->place == bench->stop) && (answer == DB_MORE)) {
            bench->place = bench->worst;
            bench->saving = DB_PLACE_;
        }
    }
    return answer;
}

/* A mirror that has the values stays as it is; another gets them. */
static db_answer db_begin_place(db_bench *bench)
{
    db_answer answer = db_look_at(bench, DB_SEALED_);
    if (answer == DB_OK) {
        if ((bench->found & (DB_SEALED_ | DB_EQUAL_)) == (DB_SEALED_ | DB_EQUAL_)) {
            answer = db_go_on(bench);
        } else {
            db_seal(bench);
            db_begin(bench, DB_BREAK_, bench->body, (uint8_t)(bench->body + 1u));
            answer = DB_MORE;
        }
    }
    return answer;
}

/* Writes what is next, or reads back what has been written. A mirror that does not keep it ends the save: the
 * others are not touched. */
static db_answer db_fill(db_bench *bench)
{
    db_answer answer;
    uint8_t length = (uint8_t)(bench->end - bench->done);
    uint8_t room = (uint8_t)(DB_PAGE_ - (bench->done & (DB_PAGE_ - 1u)));
    if (length != 0u) {
        if (length > room) {
            length = room;
        }
        answer = bench->driver.write((uint16_t)(db_address(bench) + bench->done), &bench->record[bench->done],
                                     (uint8_t)length, bench->driver.context);
        if (answer == DB_OK) {
            bench->done = (uint8_t)(bench->done + length);
            answer = DB_MORE;
        } else if (answer != DB_AGAIN) {
            answer = DB_REFUSED;
        } else {
            /* the same is next */
        }
    } else {
        answer = db_look_at(bench, DB_KEPT_);
        if ((answer == DB_OK) && ((bench->found & DB_KEPT_) == 0u)) {
            bench->saving = DB_IDLE_;
            answer = DB_WORN;
        } else if (answer == DB_OK) {
            answer = DB_MORE;
            if (bench->saving == DB_BREAK_) {
                db_begin(bench, DB_FILL_, 0u, bench->body);
            } else if (bench->saving == DB_FILL_) {
                bench->record[bench->body] = bench->seal;
                db_begin(bench, DB_COMMIT_, bench->body, (uint8_t)(bench->body + DB_STORED_));
            } else {
                answer = db_go_on(bench);
            }
        } else {
            /* the same is next */
        }
    }
    return answer;
}

db_answer db_bench_step(db_bench *bench)
{
    db_answer answer;
    switch (bench->saving) {
    case DB_IDLE_:
        answer = DB_SOUND;
        break;
    case DB_SCAN_:
        answer = db_scan(bench);
        break;
    case DB_PLACE_:
        answer = db_begin_place(bench);
        break;
    default:
        answer = db_fill(bench);
        break;
    }
    return answer;
}

void db_bench_open(db_bench *bench, const db_driver *driver, db_answer unit)
{
    bench->driver = *driver;
    bench->unit = unit;
    bench->saving = DB_IDLE_;
    bench->resetting = 0u;
}

/* Begins a record of so many bytes before its checksum, for the mirrors from first to just before stop. */
static void db_clear(db_bench *bench, uint8_t body, db_index first, db_index stop)
{
    uint8_t i;
    bench->body = body;
    bench->first = first;
    bench->stop = stop;
    bench->place = first;
    bench->worst = first;
    bench->left = (db_index)(stop - first);
    bench->newest = 0u;
    bench->any = 0u;
    bench->bit = 0u;
    for (i = 2u; i != body; i++) {
        bench->record[i] = 0u;
    }
    bench->record[0] = DB_MARK_;
    bench->record[1] = 0u;
    db_begin(bench, DB_IDLE_, 0u, 0u);
}

/* Adds a field, as many bits as it is wide. */
static void db_push(db_bench *bench, uint16_t code, uint8_t width)
{
    uint8_t i;
    uint8_t from;
    uint8_t to;
    uint8_t *byte;
    for (i = 0u; i < width; i++) {
        from = (uint8_t)(width - 1u - i);
        to = (uint8_t)(7u - (bench->bit & 7u));
        if (((uint16_t)(code >> from) & 1u) != 0u) {
            byte = &bench->record[2u + (bench->bit >> 3)];
            *byte = (uint8_t)(*byte | (uint8_t)(1u << to));
        }
        bench->bit++;
    }
}

/* Whether a save can begin. */
static db_answer db_may_save(const db_bench *bench)
{
    db_answer answer = DB_OK;
    if ((bench->saving != DB_IDLE_) || (bench->unit == DB_MORE)) {
        answer = DB_MORE;
    } else if (bench->driver.write == NULL) {
        answer = DB_REFUSED;
    } else {
        answer = DB_OK;
    }
    return answer;
}

db_answer db_bench_save_identity(db_bench *bench, uint8_t hardware)
{
    db_answer answer = db_may_save(bench);
    if (answer == DB_OK) {
        db_clear(bench, 10u, 0u, 2u);
        db_push(bench, DB_CODE, 16u);
        db_push(bench, hardware, 8u);
        db_push(bench, 0xF3B5u, 16u);
        db_push(bench, 0x94A9u, 16u);
        db_push(bench, DB_UNRELEASED, 1u);
        bench->saving = DB_SCAN_;
    }
    return answer;
}

db_answer db_bench_reset_all_step(db_bench *bench)
{
    db_answer answer = DB_OK;
    if (bench->resetting == 0u) {
        bench->saving = DB_IDLE_;
        answer = db_may_save(bench);
        if (answer == DB_OK) {
            bench->resetting = 1u;
        }
    }
    if (answer == DB_OK) {
        answer = db_bench_step(bench);
    }
    if ((answer == DB_SOUND) && (bench->resetting == 1u)) {
        bench->resetting = 2u;
        answer = db_bench_save_identity(bench, 0xFFu);
        if (answer == DB_OK) {
            answer = DB_MORE;
        }
    } else if ((bench->saving == DB_IDLE_) && (answer != DB_MORE)) {
        bench->resetting = 0u;
    } else {
        /* not through */
    }
    return answer;
}
