/* made by paramc from doorbell.paramc; change that file, not this one. */
#include "doorbell.h"

#include <stddef.h>

#if !defined(DB_BUILD) || (DB_BUILD != 0x20B12056u)
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

DB_CHECK_(db_check_bytes, (sizeof(uint8_t) == 1u) && (sizeof(uint16_t) == 2u) && (sizeof(uint32_t) == 4u));

#define DB_IDENTITY_ 0u
#define DB_BENCH_ 0xFFu
#define DB_SETUP_ 0xFFu
#define DB_PRESETS_ 1u
#define DB_STATE_ 2u
#define DB_KINDS_ 3u
#define DB_HEAD_ 3u
#define DB_NUMBER_ 1u
#define DB_ANY_ 0xFFu
#define DB_BLANKS_ 0xFFu
#define DB_START_ 0xFFFFu
#define DB_CODED_ 0xB481u
#define DB_RESIDUE_ 0x0000u
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
#define DB_FLASH_LENGTH_(p) DB_FLASH_U8(p)

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
    uint8_t length; /* bytes of a record */
    db_index row;
    db_index end;
    db_index first;
    db_index stop;
    uint8_t text;    /* bytes of the name or serial behind the rows */
} db_kind;

static const db_row DB_FLASH db_rows[] = {
    { 1u, 0u, (uint8_t)offsetof(db_look, last_preset), 0x01u },
    { 1u, 0u, (uint8_t)offsetof(db_look, engaged), 0x01u },
    { 100u, 50u, (uint8_t)offsetof(db_look, level), 0x07u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, product), 0x90u },
    { 255u, 0u, (uint8_t)offsetof(db_identity, hardware), 0x08u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, fingerprint_high), 0x90u },
    { 65535u, 0u, (uint8_t)offsetof(db_identity, fingerprint_low), 0x90u },
    { 1u, 0u, (uint8_t)offsetof(db_identity, trial), 0x01u },
};
DB_CHECK_(db_rows_sized, sizeof(db_rows) == (8u * sizeof(db_row)));

static const db_kind DB_FLASH db_kinds[] = {
    { 12u, 3u, 8u, 0u, 2u, 0u }, /* identity */
    { 7u, 2u, 3u, 2u, 5u, 0u }, /* presets */
    { 7u, 0u, 3u, 5u, 9u, 0u }, /* state */
};
DB_CHECK_(db_kinds_sized, sizeof(db_kinds) == (3u * sizeof(db_kind)));

/* Addresses of all places, kind after kind. */
static const uint16_t DB_FLASH db_places[] = {
    4u, 16u, 28u, 35u, 42u, 49u, 56u, 63u, 70u,
};
DB_CHECK_(db_places_sized, sizeof(db_places) == (9u * sizeof(uint16_t)));

/* Fingerprints that a trial's records have in their cover, high byte first: of the look, of the bench. */
static const uint8_t DB_FLASH db_fingerprints[8] = {
    0x1Au, 0xE1u, 0x83u, 0xE9u, 0x24u, 0xDFu, 0x24u, 0x3Eu
};

/* Factory sounds, one after another: a code in one byte, or in two where its row is wide, high byte first.
 * Slots from the last one on have what the last one has. */
static const uint8_t DB_FLASH db_factory[] = {
    /* Preset 1 */
    50u,
};
DB_CHECK_(db_factory_sized, sizeof(db_factory) == (DB_FACTORY_ * DB_FACTORED_));

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

/* Whether a place with this answer holds a record with a good checksum. */
#define DB_GOOD_(answer) ((answer) <= DB_NEWER)

/* Reads the next bytes of the record, at most so many. */
static void db_fetch(db_store *store, uint8_t most)
{
    uint8_t length = most;
    db_answer answer;
    if (store->left < length) {
        length = (uint8_t)store->left;
    }
    if (store->trouble == DB_OK) {
        answer = store->driver.read(store->address, store->piece, length, store->driver.context);
        if (answer != DB_OK) {
            store->trouble = (answer == DB_AGAIN) ? DB_AGAIN : DB_REFUSED;
        }
    }
    store->address = (uint16_t)(store->address + length);
    store->at = 0u;
    store->end = length;
}

/* The next byte of the record, taken into the checksum; 0 where the memory could not be read. */
static uint8_t db_next(db_store *store)
{
    uint8_t byte = 0u;
    if (store->at == store->end) {
        db_fetch(store, DB_PIECE);
    }
    if (store->trouble == DB_OK) {
        byte = store->piece[store->at];
        store->sum = db_add(store->sum, byte);
        store->changed = (uint8_t)(store->changed | (byte ^ DB_BLANKS_));
    }
    store->at++;
    store->left--;
    return byte;
}

/* The next field of a record: as many bits as it is wide, at most 16, the lowest first. Identity alone has
 * the highest first, so that it reads alike in every product. */
static uint16_t db_field(db_store *store, uint8_t width)
{
    uint16_t value = 0u;
    uint16_t place = 1u;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        if (store->bits == 0u) {
            store->byte = db_next(store);
            store->bits = 8u;
        }
        if (store->kind == DB_IDENTITY_) {
            value = (uint16_t)((uint16_t)(value << 1) | (uint16_t)(store->byte >> 7));
            store->byte = (uint8_t)(store->byte << 1);
        } else {
            if ((store->byte & 1u) != 0u) {
                value = (uint16_t)(value | place);
            }
            place = (uint16_t)(place << 1);
            store->byte = (uint8_t)(store->byte >> 1);
        }
        store->bits--;
    }
    return value;
}

/* What the checksum covers before the record: product code, address and, in a trial's own record, the
 * fingerprint. Identity has the address alone, so that anything can read whose memory it is. */
static void db_cover(db_store *store)
{
    uint8_t i;
    uint8_t at = (store->kind == DB_BENCH_) ? 4u : 0u;
    store->sum = (store->kind == DB_IDENTITY_) ? DB_START_ : DB_CODED_;
    store->sum = db_add(store->sum, (uint8_t)(store->address >> 8));
    store->sum = db_add(store->sum, (uint8_t)(store->address & 0xFFu));
    db_fetch(store, DB_HEAD_);
    if ((store->kind != DB_IDENTITY_) && (store->piece[0] == 0u)) {
        for (i = 0u; i < 4u; i++) {
            store->sum = db_add(store->sum, DB_FLASH_U8(&db_fingerprints[at + i]));
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

/* Sets a member of a structure by its row. */
static void db_put(uint8_t *to, db_index row, uint16_t code)
{
    uint8_t *member = &to[DB_FLASH_OFFSET_(&db_rows[row].offset)];
    if ((DB_FLASH_U8(&db_rows[row].width) & DB_WIDE_) != 0u) {
        *(uint16_t *)(void *)member = code;
    } else {
        *member = (uint8_t)code;
    }
}

/* Takes the fields of a record, a code that is not in use as the default, into to and text where they are
 * not null. */
static void db_fields(db_store *store, uint8_t *to, uint8_t *text)
{
    db_index row = DB_FLASH_INDEX_(&db_kinds[store->kind].row);
    db_index end = DB_FLASH_INDEX_(&db_kinds[store->kind].end);
    uint8_t i = (text != NULL) ? DB_FLASH_U8(&db_kinds[store->kind].text) : 0u;
    uint8_t *letter = text;
    uint16_t code;
    for (; row != end; row++) {
        code = db_field(store, (uint8_t)(DB_FLASH_U8(&db_rows[row].width) & DB_WIDTH_));
        if (code > DB_FLASH_U16(&db_rows[row].last)) {
            code = DB_FLASH_U16(&db_rows[row].standard);
            if (store->replaced == DB_NOTHING) {
                store->replaced = row;
            }
        }
        if (to != NULL) {
            db_put(to, row, code);
        }
    }
    for (; i != 0u; i--) {
        *letter = (uint8_t)db_field(store, 8u);
        letter++;
    }
}

/* Reads a place once, and takes its fields where to or text is not null. Only a place that answers DB_SOUND,
 * DB_OLDER or DB_NEWER holds a record; DB_MISSING is one of another number than the wanted one, or its ruins. */
static db_answer db_look_at(db_store *store, db_index place, uint8_t *to, uint8_t *text)
{
    db_answer answer = DB_MISSING;
    uint8_t sealed = 1u;
    uint8_t revision;
    uint8_t byte;
    store->address = DB_FLASH_U16(&db_places[place]);
    store->left = DB_FLASH_LENGTH_(&db_kinds[store->kind].length);
    store->trouble = DB_OK;
    store->piece[0] = 0xFFu;
    store->changed = 0u;
    store->bits = 0u;
    store->number = 0u;
    db_cover(store);
    revision = db_next(store);
    store->counter = db_next(store);
    if (store->kind == DB_PRESETS_) {
        store->number = (uint8_t)db_field(store, DB_NUMBER_);
    }
    if ((store->wanted == DB_ANY_) || (store->number == store->wanted)) {
        if ((to != NULL) || (text != NULL)) {
            db_fields(store, to, text);
        }
        while (store->left != 0u) {
            byte = db_next(store);
            if ((store->left < DB_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
                sealed = 0u;
            }
        }
        if (store->changed == 0u) {
            answer = DB_BLANK;
        } else if ((sealed == 0u) || (revision == 0xFFu) || (store->number >= DB_SLOTS)) {
            answer = DB_DAMAGED;
        } else if (store->sum == DB_RESIDUE_) {
            answer = (store->kind == DB_IDENTITY_) ? DB_SOUND : db_age(revision);
        } else {
            answer = (revision == 0u) ? DB_TRIAL : DB_DAMAGED;
        }
    }
    return (store->trouble == DB_OK) ? answer : store->trouble;
}

/* Reads a place until it is sure: what is not a good record has to read the same way twice. */
static db_answer db_examine(db_store *store, db_index place, uint8_t *to)
{
    db_answer answer = db_look_at(store, place, to, NULL);
    db_sum before = store->sum;
    if (!DB_GOOD_(answer) && (answer < DB_MORE)) {
        answer = db_look_at(store, place, to, NULL);
        if (!DB_GOOD_(answer) && (answer < DB_MORE) && (store->sum != before)) {
            answer = DB_AGAIN;
        }
    }
    return answer;
}

/* Finds the newest good copy of a number among all places of its kind, and takes its fields. A copy of a
 * later revision hides all others. The fields come from a further reading, which has to be good as well. */
static db_answer db_find(db_store *store, uint8_t kind, uint8_t number, uint8_t *to, uint8_t *text)
{
    db_answer best = DB_MISSING;
    db_answer answer = DB_MISSING;
    db_index place = DB_FLASH_INDEX_(&db_kinds[kind].first);
    db_index stop = DB_FLASH_INDEX_(&db_kinds[kind].stop);
    db_index newest = place;
    uint8_t counter = 0u;
    uint8_t ahead;
    store->kind = kind;
    store->wanted = number;
    for (; (place != stop) && (answer < DB_MORE); place++) {
        answer = db_examine(store, place, NULL);
        if (answer == DB_NEWER) {
            best = DB_NEWER;
        } else if (DB_GOOD_(answer) && (best != DB_NEWER)) {
            ahead = (uint8_t)(store->counter - counter);
            if ((best == DB_MISSING) || ((ahead != 0u) && (ahead < 0x80u))) {
                best = answer;
                counter = store->counter;
                newest = place;
            }
        } else {
            /* nothing of this number */
        }
    }
    store->replaced = DB_NOTHING;
    if (answer >= DB_MORE) {
        best = answer;
    } else if (best == DB_SOUND) {
        answer = db_look_at(store, newest, to, text);
        if (answer != DB_SOUND) {
            store->replaced = DB_NOTHING;
            best = (answer == DB_REFUSED) ? DB_REFUSED : DB_AGAIN;
        }
    } else {
        /* factory values are the caller's to give */
    }
    return best;
}

/* What has been seen of the memory, in store->notes. */
#define DB_WRITTEN_ 0x01u /* a place that is not blank */
#define DB_ALIEN_   0x02u /* an identity of another product */
#define DB_OWN_     0x04u /* an identity of this very trial */
#define DB_STRAY_   0x08u /* a record of another trial */
#define DB_TRIED_   0x10u /* an identity of another trial */
#define DB_LATER_   0x20u /* a record of a later revision */

void db_open(db_store *store, const db_driver *driver)
{
    uint8_t i;
    store->driver = *driver;
    store->place = 0u;
    store->opening = DB_IDENTITY_;
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
        } else {
            store->notes |= DB_TRIED_;
        }
    } else {
        /* a released unit of this product */
    }
}

static void db_note(db_store *store, db_answer answer)
{
    uint8_t at = 0u;
    uint8_t mask = (uint8_t)(1u << store->kind);
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
        if (store->kind == DB_PRESETS_) {
            at = (uint8_t)(1u + (store->number >> 3));
            mask = (uint8_t)(1u << (store->number & 7u));
        }
        store->seen[at] |= mask;
        if (answer != DB_OLDER) {
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
    db_identity identity;
    db_answer answer = store->unit;
    if (answer == DB_MORE) {
        store->kind = store->opening;
        store->wanted = DB_ANY_;
        answer = db_examine(store, store->place, (store->kind == DB_IDENTITY_) ? (uint8_t *)&identity : NULL);
        if (answer < DB_MORE) {
            db_note(store, answer);
            if ((store->kind == DB_IDENTITY_) && DB_GOOD_(answer)) {
                db_note_identity(store, &identity);
            }
            store->place++;
            if (store->place == DB_FLASH_INDEX_(&db_kinds[store->kind].stop)) {
                store->opening++;
            }
            if (store->opening == DB_KINDS_) {
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
        sum = db_add_u16(sum, DB_FLASH_LENGTH_(&db_kinds[i].length));
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
    } else if (sum != DB_PROOF_) {
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
