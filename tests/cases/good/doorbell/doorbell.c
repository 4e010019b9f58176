/* made by paramc from doorbell.paramc; change that file, not this one. */
#include "doorbell.h"

#include <stddef.h>

#if !defined(DB_BUILD) || (DB_BUILD != 0x7EE4F13Cu)
#error "doorbell.h and .c come from different builds: run paramc build"
#endif

/* Where tables live and how they are read. Chips that have their flash in another address space than their
 * RAM need more than a const: for AVR it is here; for others define DB_FLASH and its readers before this file. */
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

/* Sizes that everything below counts on, checked while this is compiled. */
#define DB_CHECK_(name, truth) typedef char name[(truth) ? 1 : -1]
#define DB_SIZED_(table, bytes) DB_CHECK_(table##_sized, sizeof(table) == (bytes))

DB_CHECK_(db_check_bytes, (sizeof(uint8_t) == 1u) && (sizeof(uint16_t) == 2u) && (sizeof(uint32_t) == 4u));

#define DB_IDENTITY_ 0u
#define DB_BENCH_ 0xFFu
#define DB_SETUP_ 0xFFu
#define DB_PRESETS_ 1u
#define DB_STATE_ 2u
#define DB_KINDS_ 3u
#define DB_PIECE_ 16u
#define DB_HEAD_ 3u
#define DB_NUMBER_ 1u
#define DB_ANY_ 0xFFu
#define DB_BLANKS_ 0xFFu
#define DB_START_ 0xFFFFu
#define DB_CODED_ 0xB481u
#define DB_RESIDUE_ 0x0000u
#define DB_FINAL_ 0x0000u
#define DB_PROOF_ 0x29B1u
#define DB_POLY_ 0x1021u
#define DB_STORED_ 2u
#define DB_TOP_ 0x8000u
#define DB_DOWN_ 8
#define DB_ALL_ 0xFFFFu
#define DB_FACTORY_ 1u
#define DB_FACTORED_ 1u
#define DB_FLASH_INDEX_(p) DB_FLASH_U8(p)
#define DB_FLASH_OFFSET_(p) DB_FLASH_U8(p)

/* Every field that a record or a structure has: highest code in use, default, member, width. */
typedef struct {
    uint16_t last;
    uint16_t standard;
    uint8_t offset;
    uint8_t width; /* bits, and DB_WIDE_ where the member is a uint16_t */
} db_row;

#define DB_WIDTH_ 0x1Fu
#define DB_WIDE_  0x80u

/* A kind of record. Its rows are row to just before end, its places first to just before stop. */
typedef struct {
    uint16_t length; /* bytes of a record */
    db_index row;
    db_index end;
    db_index first;
    db_index stop;
    uint8_t text;    /* bytes of the name or serial behind the rows */
} db_kind;

static const db_row DB_FLASH db_rows[8u] = {
    { 1u, 0u, (uint8_t)offsetof(db_look, last_preset), 0x01u },
    { 1u, 0u, (uint8_t)offsetof(db_look, engaged), 0x01u },
    { 100u, 50u, (uint8_t)offsetof(db_look, level), 0x07u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, product), 0x90u },
    { 255u, 0u, (uint8_t)offsetof(db_identity, hardware), 0x08u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, fingerprint_high), 0x90u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, fingerprint_low), 0x90u },
    { 1u, 0u, (uint8_t)offsetof(db_identity, trial), 0x01u },
};
DB_SIZED_(db_rows, 8u * sizeof(db_row));

static const db_kind DB_FLASH db_kinds[3u] = {
    { 12u, 3u, 8u, 0u, 2u, 0u }, /* identity */
    { 7u, 2u, 3u, 2u, 5u, 0u }, /* presets */
    { 7u, 0u, 3u, 5u, 9u, 0u }, /* state */
};
DB_SIZED_(db_kinds, 3u * sizeof(db_kind));

/* Addresses of all places, kind after kind. */
static const uint16_t DB_FLASH db_places[9u] = {
    4u, 16u, 28u, 35u, 42u, 49u, 56u, 63u, 70u,
};
DB_SIZED_(db_places, 9u * sizeof(uint16_t));

/* Fingerprints that a trial's records have in their cover, high byte first: of the look, of the bench. */
static const uint8_t DB_FLASH db_fingerprints[8] = {
    0x1Au, 0xE1u, 0x83u, 0xE9u, 0x24u, 0xDFu, 0x24u, 0x3Eu
};

/* Factory sounds, one after another: a code in one byte, or in two where its row is wide, high byte first.
 * Slots from the last one on have what the last one has. */
static const uint8_t DB_FLASH db_factory[1u] = {
    50u, /* preset 1 */
};
DB_SIZED_(db_factory, DB_FACTORY_ * DB_FACTORED_);

/* Offsets of members have to fit their type. */
DB_CHECK_(db_check_look, sizeof(db_look) <= 0xFFu);
DB_CHECK_(db_check_identity, sizeof(db_identity) <= 0xFFu);

uint8_t db_engine_level(uint16_t code)
{
    uint16_t k = (code <= 100u) ? code : 50u;
    return (uint8_t)((uint16_t)(k * 2u));
}

/* The checksum CRC-16/IBM-3740: 16 bits, high bit first, polynomial 0x1021, start 0xFFFF, final 0x0000, check value 0x29B1. */
typedef uint16_t db_sum;

/* The checksum with one byte more, the highest bit first. */
static db_sum db_add(db_sum sum, uint8_t byte)
{
    uint8_t bit;
    sum = (db_sum)(sum ^ ((db_sum)byte << DB_DOWN_));
    for (bit = 0u; bit < 8u; bit++) {
        if ((sum & DB_TOP_) != 0u) {
            sum = (db_sum)((db_sum)(sum << 1) ^ DB_POLY_);
        } else {
            sum = (db_sum)(sum << 1);
        }
    }
    return (db_sum)(sum & DB_ALL_);
}

/* One visit to a place of the memory: its bytes in order, a piece at a time, and what they tell. */
typedef struct {
    db_store *store;
    uint8_t *to;      /* structure that takes the fields; null: none are taken */
    uint8_t *text;    /* takes the bytes of the name or serial; null: none are taken */
    db_sum sum;        /* of the cover and all bytes so far */
    uint16_t address; /* of the next piece */
    uint16_t left;    /* bytes of the record that are still to come */
    uint8_t kind;
    uint8_t wanted;   /* only copies of this number count; DB_ANY_: all do */
    uint8_t number;
    uint8_t revision;
    uint8_t counter;
    db_answer trouble; /* why the memory could not be read; DB_OK: it could */
    uint8_t changed;  /* bits in which any byte is not blank */
    uint8_t bits;     /* of byte, still to be taken */
    uint8_t byte;
    uint8_t at;       /* next byte of the piece */
    uint8_t end;      /* just past its last */
    uint8_t piece[DB_PIECE_];
} db_visit;

/* Whether a place with this answer holds a record with a good checksum. */
#define DB_GOOD_(answer) ((answer) <= DB_NEWER)

static void db_fetch(db_visit *visit, uint8_t most)
{
    uint8_t length = most;
    db_answer answer;
    if (visit->left < length) {
        length = (uint8_t)visit->left;
    }
    if (visit->trouble == DB_OK) {
        answer = visit->store->driver.read(visit->address, visit->piece, length, visit->store->driver.context);
        if (answer != DB_OK) {
            visit->trouble = (answer == DB_AGAIN) ? DB_AGAIN : DB_REFUSED;
        }
    }
    visit->address = (uint16_t)(visit->address + length);
    visit->at = 0u;
    visit->end = length;
}

static uint8_t db_next(db_visit *visit)
{
    uint8_t byte = 0u;
    if (visit->at == visit->end) {
        db_fetch(visit, DB_PIECE_);
    }
    if (visit->trouble == DB_OK) {
        byte = visit->piece[visit->at];
        visit->sum = db_add(visit->sum, byte);
        visit->changed = (uint8_t)(visit->changed | (byte ^ DB_BLANKS_));
    }
    visit->at++;
    visit->left--;
    return byte;
}

/* The next field of a record: as many bits as it is wide, at most 16, the lowest first. Identity alone has
 * the highest first, so that it reads alike in every product. */
static uint16_t db_field(db_visit *visit, uint8_t width)
{
    uint16_t value = 0u;
    uint16_t place = 1u;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        if (visit->bits == 0u) {
            visit->byte = db_next(visit);
            visit->bits = 8u;
        }
        if (visit->kind == DB_IDENTITY_) {
            value = (uint16_t)((uint16_t)(value << 1) | (uint16_t)(visit->byte >> 7));
            visit->byte = (uint8_t)(visit->byte << 1);
        } else {
            if ((visit->byte & 1u) != 0u) {
                value = (uint16_t)(value | place);
            }
            place = (uint16_t)(place << 1);
            visit->byte = (uint8_t)(visit->byte >> 1);
        }
        visit->bits--;
    }
    return value;
}

/* What the checksum covers before the record: product code, address and, in a trial's own record, the
 * fingerprint. Identity has the address alone, so that anything can read whose memory it is. */
static void db_cover(db_visit *visit)
{
    uint8_t i;
    uint8_t at = (visit->kind == DB_BENCH_) ? 4u : 0u;
    visit->sum = (visit->kind == DB_IDENTITY_) ? DB_START_ : DB_CODED_;
    visit->sum = db_add(visit->sum, (uint8_t)(visit->address >> 8));
    visit->sum = db_add(visit->sum, (uint8_t)(visit->address & 0xFFu));
    db_fetch(visit, DB_HEAD_);
    if ((visit->kind != DB_IDENTITY_) && (visit->piece[0] == 0u)) {
        for (i = 0u; i < 4u; i++) {
            visit->sum = db_add(visit->sum, DB_FLASH_U8(&db_fingerprints[at + i]));
        }
    }
}

/* Whose a record is whose checksum is right. This file is a trial: revision 0 with its own fingerprint, and
 * the revision that it wants to become. */
static db_answer db_age(uint8_t revision)
{
    db_answer answer = DB_SOUND;
    if ((revision != 0u) && (revision != DB_REVISION)) {
        answer = (revision < DB_REVISION) ? DB_OLDER : DB_NEWER;
    }
    return answer;
}

/* Members of a structure by their row. */
static void db_put(uint8_t *to, db_index row, uint16_t code)
{
    uint8_t *member = &to[DB_FLASH_OFFSET_(&db_rows[row].offset)];
    if ((DB_FLASH_U8(&db_rows[row].width) & DB_WIDE_) != 0u) {
        *(uint16_t *)(void *)member = code;
    } else {
        *member = (uint8_t)code;
    }
}

/* The fields of a record, a code that is not in use as the default. */
static void db_fields(db_visit *visit)
{
    db_index row = DB_FLASH_INDEX_(&db_kinds[visit->kind].row);
    db_index end = DB_FLASH_INDEX_(&db_kinds[visit->kind].end);
    uint8_t texts = DB_FLASH_U8(&db_kinds[visit->kind].text);
    uint16_t code;
    uint8_t i;
    for (; row != end; row++) {
        code = db_field(visit, (uint8_t)(DB_FLASH_U8(&db_rows[row].width) & DB_WIDTH_));
        if (code > DB_FLASH_U16(&db_rows[row].last)) {
            code = DB_FLASH_U16(&db_rows[row].standard);
            if (visit->store->replaced == DB_NOTHING) {
                visit->store->replaced = row;
            }
        }
        if (visit->to != NULL) {
            db_put(visit->to, row, code);
        }
    }
    if (visit->text != NULL) {
        for (i = 0u; i < texts; i++) {
            visit->text[i] = (uint8_t)db_field(visit, 8u);
        }
    }
}

/* Reads a place once. Only a place that answers SOUND, OLDER or NEWER holds a record; MISSING is a record of
 * another number than the wanted one, or the ruins of one. */
static db_answer db_look_at(db_visit *visit, db_index place)
{
    db_answer answer = DB_DAMAGED;
    uint8_t sealed = 1u;
    uint8_t byte;
    visit->address = DB_FLASH_U16(&db_places[place]);
    visit->left = DB_FLASH_U16(&db_kinds[visit->kind].length);
    visit->trouble = DB_OK;
    visit->piece[0] = 0xFFu;
    visit->changed = 0u;
    visit->bits = 0u;
    db_cover(visit);
    visit->revision = db_next(visit);
    visit->counter = db_next(visit);
    visit->number = 0u;
    if (visit->kind == DB_PRESETS_) {
        visit->number = (uint8_t)db_field(visit, DB_NUMBER_);
    }
    if ((visit->wanted != DB_ANY_) && (visit->number != visit->wanted)) {
        answer = DB_MISSING;
    } else {
        if ((visit->to != NULL) || (visit->text != NULL)) {
            db_fields(visit);
        }
        while (visit->left != 0u) {
            byte = db_next(visit);
            if ((visit->left < DB_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
                sealed = 0u;
            }
        }
        if (visit->changed == 0u) {
            answer = DB_BLANK;
        } else if ((sealed != 0u) && (visit->revision != 0xFFu) && (visit->number < DB_SLOTS)) {
            if (visit->sum == DB_RESIDUE_) {
                answer = (visit->kind == DB_IDENTITY_) ? DB_SOUND : db_age(visit->revision);
            } else if (visit->revision == 0u) {
                answer = DB_TRIAL;
            } else {
                answer = DB_DAMAGED;
            }
        } else {
            answer = DB_DAMAGED;
        }
    }
    return (visit->trouble == DB_OK) ? answer : visit->trouble;
}

/* Reads a place until it is sure: what is not a good record has to read the same way twice. */
static db_answer db_examine(db_visit *visit, db_index place)
{
    db_answer answer = db_look_at(visit, place);
    db_sum before = visit->sum;
    if (!DB_GOOD_(answer) && (answer < DB_MORE)) {
        answer = db_look_at(visit, place);
        if (!DB_GOOD_(answer) && (answer < DB_MORE) && (visit->sum != before)) {
            answer = DB_AGAIN;
        }
    }
    return answer;
}

/* Finds the newest good copy of a number among all places of its kind, and takes its fields. A copy of a
 * later revision hides all others. The fields come from a further reading, which has to be good as well. */
static db_answer db_find(db_store *store, uint8_t kind, uint8_t number, uint8_t *to, uint8_t *text)
{
    db_visit visit;
    db_answer best = DB_MISSING;
    db_answer answer = DB_MISSING;
    db_index place = DB_FLASH_INDEX_(&db_kinds[kind].first);
    db_index stop = DB_FLASH_INDEX_(&db_kinds[kind].stop);
    db_index newest = place;
    uint8_t counter = 0u;
    uint8_t ahead;
    visit.store = store;
    visit.to = NULL;
    visit.text = NULL;
    visit.kind = kind;
    visit.wanted = number;
    store->replaced = DB_NOTHING;
    for (; (place != stop) && (answer < DB_MORE); place++) {
        answer = db_examine(&visit, place);
        if (answer == DB_NEWER) {
            best = DB_NEWER;
        } else if (DB_GOOD_(answer) && (best != DB_NEWER)) {
            ahead = (uint8_t)(visit.counter - counter);
            if ((best == DB_MISSING) || ((ahead != 0u) && (ahead < 0x80u))) {
                best = answer;
                counter = visit.counter;
                newest = place;
            }
        } else {
            /* nothing of this number */
        }
    }
    if (answer >= DB_MORE) {
        best = answer;
    } else if (best == DB_SOUND) {
        visit.to = to;
        visit.text = text;
        answer = db_look_at(&visit, newest);
        if (answer != DB_SOUND) {
            best = (answer == DB_REFUSED) ? DB_REFUSED : DB_AGAIN;
        }
    } else {
        /* factory values are the caller's to give */
    }
    if (best != DB_SOUND) {
        store->replaced = DB_NOTHING;
    }
    return best;
}

/* What has been seen of the memory, in store->notes. */
#define DB_WRITTEN_ 0x01u /* a place that is not blank */
#define DB_ALIEN_   0x02u /* an identity of another product */
#define DB_OWN_     0x04u /* an identity of this very trial */
#define DB_STRAY_   0x08u /* a record of another trial */
#define DB_TRIED_   0x10u /* an identity of any trial, met by a release */
#define DB_LATER_   0x20u /* a record of a later revision */

void db_open(db_store *store, const db_driver *driver)
{
    uint8_t i;
    store->driver = *driver;
    store->place = 0u;
    store->kind = DB_IDENTITY_;
    store->notes = 0u;
    store->unit = DB_MORE;
    store->trims = DB_MORE;
    store->setup = DB_MORE;
    store->state = DB_MORE;
    store->replaced = DB_NOTHING;
    for (i = 0u; i < DB_SEEN; i++) {
        store->seen[i] = 0u;
        store->current[i] = 0u;
    }
    /* Bits that stand for no number count as seen. */
    store->seen[0] = 0xFAu;
    store->current[0] = 0xFAu;
    store->seen[DB_SEEN - 1u] = 0xFCu;
    store->current[DB_SEEN - 1u] = 0xFCu;
}

static void db_note_identity(db_store *store, const db_identity *identity)
{
    if (identity->product != DB_CODE) {
        store->notes |= DB_ALIEN_;
    } else if (identity->trial != 0u) {
        if ((identity->fingerprint_high == 0xF3B5u) && (identity->fingerprint_low == 0x94A9u)) {
            store->notes |= DB_OWN_;
        }
    } else {
        /* a released unit of this product */
    }
}

static void db_note(db_store *store, const db_visit *visit, db_answer answer)
{
    uint8_t at = 0u;
    uint8_t mask = (uint8_t)(1u << visit->kind);
    if (answer != DB_BLANK) {
        store->notes |= DB_WRITTEN_;
    }
    if (answer == DB_TRIAL) {
        store->notes |= DB_STRAY_;
    }
    if (answer == DB_NEWER) {
        store->notes |= DB_LATER_;
    }
    if (DB_GOOD_(answer)) {
        if (visit->kind == DB_PRESETS_) {
            at = (uint8_t)(1u + (visit->number >> 3));
            mask = (uint8_t)(1u << (visit->number & 7u));
        }
        store->seen[at] |= mask;
        /* Identity and bench keep the revision that they were written with: their age is no news. */
        if ((answer != DB_OLDER) || (visit->kind == DB_BENCH_)) {
            store->current[at] |= mask;
        }
    }
}

/* The gravest of what has been seen. */
static db_answer db_judge(const db_store *store)
{
    db_answer answer = DB_SOUND;
    uint8_t unseen = 0u;
    uint8_t aged = 0u;
    uint8_t i;
    for (i = 0u; i < DB_SEEN; i++) {
        unseen |= (uint8_t)(0xFFu ^ store->seen[i]);
        aged |= (uint8_t)(0xFFu ^ store->current[i]);
    }
    if ((store->notes & DB_WRITTEN_) == 0u) {
        answer = DB_BLANK;
    } else if ((store->notes & DB_ALIEN_) != 0u) {
        answer = DB_FOREIGN;
    } else if ((store->notes & DB_TRIED_) != 0u) {
        answer = DB_TRIAL;
    } else if (((store->notes & (DB_STRAY_ | DB_OWN_)) == DB_STRAY_) && (unseen != 0u)) {
        /* On this trial's own unit such a record is merely damaged, and beside all that is needed harmless. */
        answer = DB_TRIAL;
    } else if ((store->notes & DB_LATER_) != 0u) {
        answer = DB_NEWER;
    } else if (unseen != 0u) {
        answer = DB_DAMAGED;
    } else if (aged != 0u) {
        answer = DB_OLDER;
    } else {
        answer = DB_SOUND;
    }
    return answer;
}

db_answer db_open_step(db_store *store)
{
    db_visit visit;
    db_identity identity;
    db_answer answer = store->unit;
    if (answer == DB_MORE) {
        visit.store = store;
        visit.to = (store->kind == DB_IDENTITY_) ? (uint8_t *)&identity : NULL;
        visit.text = NULL;
        visit.kind = store->kind;
        visit.wanted = DB_ANY_;
        answer = db_examine(&visit, store->place);
        if (answer < DB_MORE) {
            db_note(store, &visit, answer);
            if ((store->kind == DB_IDENTITY_) && DB_GOOD_(answer)) {
                db_note_identity(store, &identity);
            }
            store->place++;
            if (store->place == DB_FLASH_INDEX_(&db_kinds[store->kind].stop)) {
                store->kind++;
            }
            if (store->kind == DB_KINDS_) {
                store->unit = db_judge(store);
            }
            answer = store->unit;
        }
    }
    return answer;
}

db_answer db_unit(const db_store *store)
{
    return store->unit;
}

db_answer db_identity_get(db_store *store, db_identity *identity)
{
    db_identity fresh;
    db_answer answer = db_find(store, DB_IDENTITY_, 0u, (uint8_t *)&fresh, NULL);
    if (answer == DB_SOUND) {
        *identity = fresh;
        if (fresh.product != DB_CODE) {
            answer = DB_FOREIGN;
        }
    }
    return answer;
}

void db_factory_preset(uint8_t slot, db_look *look)
{
    uint16_t at = (uint16_t)((uint16_t)((slot < DB_FACTORY_) ? slot : (DB_FACTORY_ - 1u)) * DB_FACTORED_);
    db_index row;
    uint16_t code;
    for (row = DB_FLASH_INDEX_(&db_kinds[DB_PRESETS_].row); row != DB_FLASH_INDEX_(&db_kinds[DB_PRESETS_].end); row++) {
        code = DB_FLASH_U8(&db_factory[at]);
        at++;
        if ((DB_FLASH_U8(&db_rows[row].width) & DB_WIDE_) != 0u) {
            code = (uint16_t)((uint16_t)(code << 8) | DB_FLASH_U8(&db_factory[at]));
            at++;
        }
        db_put((uint8_t *)look, row, code);
    }
    look->last_preset = (slot < DB_SLOTS) ? slot : 0u;
}

void db_factory_state(db_look *look)
{
    db_factory_preset(0u, look);
    look->engaged = 0u;
}

/* Loads one number of a kind; look changes only where the answer is SOUND. */
static db_answer db_load(db_store *store, uint8_t kind, uint8_t number, db_look *look)
{
    db_look fresh = *look;
    db_answer answer = db_find(store, kind, number, (uint8_t *)&fresh, NULL);
    if (answer == DB_SOUND) {
        *look = fresh;
    }
    return answer;
}

db_answer db_load_preset(db_store *store, uint8_t slot, db_look *look)
{
    db_answer answer = DB_MISSING;
    if (slot < DB_SLOTS) {
        answer = db_load(store, DB_PRESETS_, slot, look);
        if (answer == DB_SOUND) {
            look->last_preset = slot;
        } else if (answer < DB_MORE) {
            db_factory_preset(slot, look);
        } else {
            /* look stays as it was */
        }
    }
    return answer;
}

db_answer db_load_state(db_store *store, db_look *look)
{
    store->state = db_load(store, DB_STATE_, 0u, look);
    if ((store->state != DB_SOUND) && (store->state < DB_MORE)) {
        db_factory_state(look);
    }
    return store->state;
}

static uint16_t db_member(const uint8_t *from, db_index row)
{
    const uint8_t *member = &from[DB_FLASH_OFFSET_(&db_rows[row].offset)];
    uint16_t code = *member;
    if ((DB_FLASH_U8(&db_rows[row].width) & DB_WIDE_) != 0u) {
        code = *(const uint16_t *)(const void *)member;
    }
    return code;
}

uint16_t db_get(const db_look *look, db_index item)
{
    return (item < DB_ROWS) ? db_member((const uint8_t *)look, item) : 0u;
}

uint8_t db_set(db_look *look, db_index item, uint16_t code)
{
    uint8_t fits = ((item < DB_ROWS) && (code <= DB_FLASH_U16(&db_rows[item].last))) ? 1u : 0u;
    if (fits != 0u) {
        db_put((uint8_t *)look, item, code);
    }
    return fits;
}

db_index db_look_ok(const db_store *store, const db_look *look)
{
    db_index found = store->replaced;
    db_index row = DB_ROWS;
    while (row != 0u) {
        row--;
        if (db_member((const uint8_t *)look, row) > DB_FLASH_U16(&db_rows[row].last)) {
            found = row;
        }
    }
    return found;
}

uint8_t db_start(const db_store *store, const db_look *look)
{
    uint8_t start = DB_BYPASSED;
    if ((store->unit >= DB_MORE) || (store->state >= DB_MORE)) {
        start = DB_MUTED;
    } else if ((store->unit == DB_BLANK) || (store->unit == DB_NEWER) || (store->unit == DB_TRIAL) || (store->unit == DB_FOREIGN) || (store->state != DB_SOUND)) {
        start = DB_BYPASSED;
    } else {
        start = DB_BYPASSED;
    }
    (void)look;
    return start;
}

static db_sum db_add_u16(db_sum sum, uint16_t value)
{
    return db_add(db_add(sum, (uint8_t)(value >> 8)), (uint8_t)(value & 0xFFu));
}

static db_sum db_add_u32(db_sum sum, uint32_t value)
{
    return db_add_u16(db_add_u16(sum, (uint16_t)(value >> 16)), (uint16_t)(value & 0xFFFFu));
}

/* The checksum over everything that describes the memory, as the chip reads it. */
static db_sum db_sum_of_descriptors(void)
{
    db_sum sum = DB_START_;
    uint16_t i;
    for (i = 0u; i < 8u; i++) {
        sum = db_add_u16(sum, DB_FLASH_U16(&db_rows[i].last));
        sum = db_add_u16(sum, DB_FLASH_U16(&db_rows[i].standard));
        sum = db_add(sum, DB_FLASH_U8(&db_rows[i].width));
    }
    for (i = 0u; i < DB_KINDS_; i++) {
        sum = db_add_u16(sum, DB_FLASH_U16(&db_kinds[i].length));
        sum = db_add_u16(sum, DB_FLASH_INDEX_(&db_kinds[i].stop));
    }
    for (i = 0u; i < 9u; i++) {
        sum = db_add_u16(sum, DB_FLASH_U16(&db_places[i]));
    }
    for (i = 0u; i < (DB_FACTORY_ * DB_FACTORED_); i++) {
        sum = db_add(sum, DB_FLASH_U8(&db_factory[i]));
    }
    return sum;
}

/* The checksum over every engine value and every knob's code, as the chip computes them. */
static db_sum db_sum_of_tables(void)
{
    db_sum sum = DB_START_;
    uint16_t k;
    for (k = 0u; k <= 100u; k++) {
        sum = db_add_u32(sum, (uint32_t)db_engine_level(k));
    }
    return sum;
}

uint8_t db_self_test(uint32_t build)
{
    uint8_t fault = 0u;
    uint8_t digit;
    db_sum sum = DB_START_;
    for (digit = 0x31u; digit <= 0x39u; digit++) {
        sum = db_add(sum, digit);
    }
    if (build != DB_BUILD) {
        fault = 1u;
    } else if ((db_sum)(sum ^ DB_FINAL_) != DB_PROOF_) {
        fault = 2u;
    } else if (db_sum_of_descriptors() != 0x3D8Fu) {
        fault = 3u;
    } else if (db_sum_of_tables() != 0x91AFu) {
        fault = 4u;
    } else {
        fault = 0u;
    }
    return fault;
}
