/* made by paramc from doorbell.paramc; change that file, not this one. */
#include "doorbell.h"

#include <stddef.h>

#if !defined(DB_BUILD) || (DB_BUILD != 0xE4B59234u)
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
#define DB_FINAL_ 0x0000u
#define DB_MARK_ 0u
#define DB_LOOK_ 2u
#define DB_PAGE_ 1u
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

/* Takes a byte into the checksum of the place in hand. */
static void db_take(db_store *store, uint8_t byte)
{
    store->sum = db_add(store->sum, byte);
}

/* Reads the next bytes of the record, at most so many. */
static void db_fetch(db_store *store, uint8_t most)
{
    uint8_t length = most;
    db_answer answer;
    if ((uint16_t)(store->length - store->read) < length) {
        length = (uint8_t)(store->length - store->read);
    }
    if (store->trouble == DB_OK) {
        answer = store->driver.read((uint16_t)(store->address + store->read), store->piece, length, store->driver.context);
        if (answer != DB_OK) {
            store->trouble = (answer == DB_AGAIN) ? DB_AGAIN : DB_REFUSED;
        }
    }
    store->at = 0u;
    store->end = length;
}

/* The next byte of the record, taken into the checksum and compared with that of the record that is saved, where it
 * is in its range; 0 where the memory could not be read. */
static uint8_t db_next(db_store *store)
{
    uint8_t byte = 0u;
    if (store->at == store->end) {
        db_fetch(store, DB_PIECE);
    }
    if (store->trouble == DB_OK) {
        byte = store->piece[store->at];
        db_take(store, byte);
        store->changed = (uint8_t)(store->changed | (byte ^ DB_BLANKS_));
    }
    if ((store->read >= store->from) && (store->read < store->until) && (byte != store->record[store->read])) {
        store->differs = 1u;
    }
    store->read++;
    store->at++;
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
static void db_cover(db_store *store, uint16_t address, uint8_t revision)
{
    uint8_t i;
    uint8_t at = (store->kind == DB_BENCH_) ? 4u : 0u;
    store->sum = (store->kind == DB_IDENTITY_) ? DB_START_ : DB_CODED_;
    db_take(store, (uint8_t)(address >> 8));
    db_take(store, (uint8_t)(address & 0xFFu));
    if ((store->kind != DB_IDENTITY_) && (revision == 0u)) {
        for (i = 0u; i < 4u; i++) {
            db_take(store, DB_FLASH_U8(&db_fingerprints[at + i]));
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

/* What has been seen of the memory, in store->notes. */
#define DB_WRITTEN_ 0x01u /* a place that is not blank */
#define DB_ALIEN_   0x02u /* an identity of another product */
#define DB_OWN_     0x04u /* an identity of this very trial */
#define DB_STRAY_   0x08u /* a record of another trial */
#define DB_TRIED_   0x10u /* an identity of another trial */
#define DB_LATER_   0x20u /* a record of a later revision */
#define DB_AHEAD_   0x40u /* such a record in the look: nothing is saved beside it */

/* Whose an identity is, in store->whose as in store->notes, from its first fields. */
static void db_whose(db_store *store)
{
    uint8_t whose = 0u;
    uint16_t product = db_field(store, 16u);
    uint16_t high;
    uint16_t low;
    (void)db_field(store, 8u);
    high = db_field(store, 16u);
    low = db_field(store, 16u);
    if (product != DB_CODE) {
        whose = DB_ALIEN_;
    } else if (db_field(store, 1u) != 0u) {
        whose = DB_TRIED_;
        if ((high == 0xF3B5u) && (low == 0x94A9u)) {
            whose = DB_OWN_;
        }
    } else {
        /* a released unit of this product */
    }
    store->whose = whose;
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

/* Takes the fields of a record; those of earlier revisions have none that this file knows. Answers 1 where it
 * has taken them. */
static uint8_t db_unpack(db_store *store, uint8_t revision, uint8_t *to, uint8_t *text)
{
    uint8_t known = 1u;
    if ((store->kind == DB_IDENTITY_) || (revision == 0u) || (revision >= DB_REVISION)) {
        db_fields(store, to, text);
    } else {
        known = 0u;
    }
    return known;
}

/* Whether a record with this answer can be read: one of today's or of an earlier revision. */
#define DB_OURS_(answer) ((answer) <= DB_OLDER)

/* Reads a place once, and takes its fields where to or text is not null. Only a place that answers DB_SOUND,
 * DB_OLDER or DB_NEWER holds a record; DB_MISSING is one of another number than the wanted one, or its ruins. */
static db_answer db_look_at(db_store *store, db_index place, uint8_t *to, uint8_t *text)
{
    db_answer answer = DB_MISSING;
    uint8_t sealed = 1u;
    uint8_t revision;
    uint8_t byte;
    uint16_t address = DB_FLASH_U16(&db_places[place]);
    store->address = address;
    store->length = DB_FLASH_LENGTH_(&db_kinds[store->kind].length);
    store->trouble = DB_OK;
    store->piece[0] = 0xFFu;
    store->changed = 0u;
    store->differs = 0u;
    store->read = 0u;
    store->bits = 0u;
    store->number = 0u;
    store->unread = 0u;
    db_fetch(store, DB_HEAD_);
    db_cover(store, address, store->piece[0]);
    revision = db_next(store);
    store->counter = db_next(store);
    if (store->kind == DB_PRESETS_) {
        store->number = (uint8_t)db_field(store, DB_NUMBER_);
    }
    if ((store->wanted == DB_ANY_) || (store->number == store->wanted)) {
        if ((to != NULL) || (text != NULL)) {
            if (db_unpack(store, revision, to, text) == 0u) {
                store->unread = 1u;
            }
        } else if (store->kind == DB_IDENTITY_) {
            db_whose(store);
        } else {
            /* no field is asked for */
        }
        while (store->read != store->length) {
            byte = db_next(store);
            if (((uint16_t)(store->length - store->read) < DB_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
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
static db_answer db_examine(db_store *store, db_index place)
{
    db_answer answer = db_look_at(store, place, NULL, NULL);
    db_sum before = store->sum;
    if (!DB_GOOD_(answer) && (answer < DB_MORE)) {
        answer = db_look_at(store, place, NULL, NULL);
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
        answer = db_examine(store, place);
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
    } else if (DB_OURS_(best)) {
        answer = db_look_at(store, newest, to, text);
        if (answer != best) {
            store->replaced = DB_NOTHING;
            best = (answer == DB_REFUSED) ? DB_REFUSED : DB_AGAIN;
        } else if (store->unread != 0u) {
            best = DB_MISSING;
        } else {
            /* taken */
        }
    } else {
        /* factory values are the caller's to give */
    }
    return best;
}

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
    store->lost = 0u;
    store->from = 0u;
    store->until = 0u;
    db_save_abandon(store);
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

/* Sets a bit by the last three bits of its number; answers what it was, 0 or not. */
static uint8_t db_mark(uint8_t *bits, uint8_t number)
{
    uint8_t mask = (uint8_t)(1u << (number & 7u));
    uint8_t was = (uint8_t)(*bits & mask);
    *bits |= mask;
    return was;
}

static void db_note(db_store *store, db_answer answer)
{
    uint8_t at = 0u;
    uint8_t number = store->kind;
    if (answer != DB_BLANK) {
        store->notes |= DB_WRITTEN_;
    }
    if (answer == DB_TRIAL) {
        store->notes |= DB_STRAY_;
    }
    if (answer == DB_NEWER) {
        store->notes |= DB_LATER_;
        store->notes |= DB_AHEAD_;
    }
    if (DB_GOOD_(answer)) {
        if (store->kind == DB_IDENTITY_) {
            store->notes |= store->whose;
        }
        if (store->kind == DB_PRESETS_) {
            number = store->number;
            at = (uint8_t)(1u + (number >> 3));
        }
        (void)db_mark(&store->seen[at], number);
        if (answer != DB_OLDER) {
            (void)db_mark(&store->current[at], number);
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
    db_answer answer = store->unit;
    if (answer == DB_MORE) {
        store->kind = store->opening;
        store->wanted = DB_ANY_;
        answer = db_examine(store, store->place);
        if (answer < DB_MORE) {
            db_note(store, answer);
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

/* Factory values of a number of the look. */
static void db_factory_look(uint8_t kind, uint8_t number, db_look *look)
{
    if (kind == DB_STATE_) {
        db_factory_state(look);
    } else {
        db_factory_preset(number, look);
    }
}

/* Loads one number of the look, or its factory values where it has no sound record. */
static db_answer db_load(db_store *store, uint8_t kind, uint8_t number, db_look *look)
{
    db_look fresh = *look;
    db_answer answer = db_find(store, kind, number, (uint8_t *)&fresh, NULL);
    if (DB_OURS_(answer)) {
        *look = fresh;
    } else if (answer < DB_MORE) {
        db_factory_look(kind, number, look);
    } else {
        /* look stays as it was */
    }
    return answer;
}

db_answer db_load_preset(db_store *store, uint8_t slot, db_look *look)
{
    db_answer answer = DB_MISSING;
    if (slot < DB_SLOTS) {
        answer = db_load(store, DB_PRESETS_, slot, look);
        if (answer < DB_MORE) {
            look->last_preset = slot;
        }
    }
    return answer;
}

db_answer db_load_state(db_store *store, db_look *look)
{
    store->state = db_load(store, DB_STATE_, 0u, look);
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
    } else if ((store->unit == DB_BLANK) || (store->unit == DB_NEWER) || (store->unit == DB_TRIAL) || (store->unit == DB_FOREIGN) || (store->state > DB_OLDER)) {
        start = DB_BYPASSED;
    } else {
        start = DB_BYPASSED;
    }
    (void)look;
    return start;
}

/* Adds a field to the record that is saved, as many bits as it is wide, the lowest first. */
static void db_push(db_store *store, uint16_t code, uint8_t width)
{
    uint16_t rest = code;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        store->byte = (uint8_t)(store->byte >> 1);
        if ((rest & 1u) != 0u) {
            store->byte |= 0x80u;
        }
        rest = (uint16_t)(rest >> 1);
        store->bits++;
        if (store->bits == 8u) {
            store->bits = 0u;
            store->record[store->done] = store->byte;
            store->done++;
        }
    }
}

/* What a save is doing, in store->saving. */
#define DB_IDLE_   0u
#define DB_SCAN_   1u /* finds the newest copy, place after place */
#define DB_TIDY_   2u /* the same for a number whose older copy takes up a place */
#define DB_SAME_   3u /* is the newest copy equal to what is to be saved? */
#define DB_SEEK_   4u /* finds the next free place */
#define DB_BREAK_  5u /* breaks the seal there */
#define DB_FILL_   6u /* writes the record, but for its checksum */
#define DB_COMMIT_ 7u /* writes the checksum: with its last byte the new value counts */
#define DB_RETIRE_ 8u /* breaks the seals of all other copies */
#define DB_SWEEP_  9u /* the same, behind DB_TIDY_ */

/* What breaks a seal, in the first byte of a checksum. */
#define DB_BROKEN_ 0xFFu

/* Which bytes of the record are written, or compared, next. */
static void db_range(db_store *store, uint8_t from, uint8_t length)
{
    store->done = from;
    store->from = from;
    store->until = (uint8_t)(from + length);
}

/* Breaking a seal is next. */
static void db_unseal(db_store *store)
{
    store->record[store->body] = DB_BROKEN_;
    db_range(store, store->body, 1u);
}

/* Reads the place in hand; one of another number than the wanted answers DB_MISSING. store->differs then says
 * whether it has other bytes than the record's in the range. */
static db_answer db_visit(db_store *store, uint8_t wanted)
{
    store->kind = store->save_kind;
    store->wanted = wanted;
    return db_examine(store, (db_index)(DB_LOOK_ + store->to));
}

/* Writes what is next of the record to the place in hand, as much as lies in one page. Nothing else in this file
 * writes, and what it writes to is a place of the look: their numbers count from the first of these, so that
 * identity and bench have none. */
static db_answer db_put_down(db_store *store)
{
    db_answer answer;
    uint8_t from = store->done;
    uint8_t length = (uint8_t)(store->until - from);
    uint8_t room = (uint8_t)(DB_PAGE_ - (from & (DB_PAGE_ - 1u)));
    if (length > room) {
        length = room;
    }
    answer = store->driver.write((uint16_t)(DB_FLASH_U16(&db_places[DB_LOOK_ + store->to]) + from),
                                 &store->record[from], (uint8_t)length, store->driver.context);
    if (answer == DB_OK) {
        store->done = (uint8_t)(from + length);
        answer = DB_MORE;
    } else if (answer != DB_AGAIN) {
        answer = DB_REFUSED;
    } else {
        /* the same is next */
    }
    return answer;
}

/* Gives the record a counter and the checksum that it has in the place in hand; answers 1 where that seals. */
static uint8_t db_close(db_store *store, uint8_t counter)
{
    uint8_t sealed = 1u;
    uint8_t *byte = store->record;
    uint8_t i;
    db_sum sum;
    store->record[1] = counter;
    store->kind = store->save_kind;
    db_cover(store, DB_FLASH_U16(&db_places[DB_LOOK_ + store->to]), DB_MARK_);
    for (i = store->body; i != 0u; i--) {
        db_take(store, *byte);
        byte++;
    }
    sum = (db_sum)(store->sum ^ DB_FINAL_);
    for (i = 0u; i != DB_STORED_; i++) {
        *byte = (uint8_t)(sum >> DB_DOWN_);
        sum = (db_sum)(sum << 8);
        if ((*byte == 0x00u) || (*byte == 0xFFu)) {
            sealed = 0u;
        }
        byte++;
    }
    return sealed;
}

/* Gives the record for the place in hand the next counter that seals. Answers 0 where none does that is newer than
 * those of all copies. */
static uint8_t db_seal(db_store *store)
{
    uint8_t sealed = 0u;
    uint8_t counter = store->newest;
    uint8_t ahead;
    for (ahead = store->behind; (sealed == 0u) && (ahead < 0x7Fu); ahead++) {
        counter++;
        sealed = db_close(store, counter);
    }
    return sealed;
}

/* Goes through all places from the one in hand on. */
static void db_go_through(db_store *store, uint8_t saving)
{
    store->saving = saving;
    store->tries = (db_index)(store->stop - store->first);
}

/* Begins to look for the copies of a number. */
static void db_begin(db_store *store, uint8_t saving, uint8_t number)
{
    db_go_through(store, saving);
    store->searched = number;
    store->to = store->first;
    store->live = DB_NOTHING;
    store->newest = 0u;
    store->behind = 0u;
}

/* On to the next place, behind the last to the first one. */
static void db_go_on(db_store *store)
{
    store->to++;
    if (store->to == store->stop) {
        store->to = store->first;
    }
}

/* Begins to look for a free place, behind the newest copy first. */
static void db_begin_seek(db_store *store)
{
    uint8_t i;
    db_go_through(store, DB_SEEK_);
    store->twice = DB_ANY_;
    store->worn = 0u;
    if (store->live != DB_NOTHING) {
        db_go_on(store);
        store->tries--;
    }
    for (i = 0u; i < DB_SEEN; i++) {
        store->seen[i] = 0u;
    }
}

static db_answer db_end_save(db_store *store, db_answer answer)
{
    store->saving = DB_IDLE_;
    return answer;
}

/* A good copy of the number that is looked for. behind: how far the oldest one's counter is behind the newest's. */
static void db_weigh(db_store *store)
{
    uint8_t ahead = (uint8_t)(store->counter - store->newest);
    uint8_t behind = store->behind;
    if (store->live == DB_NOTHING) {
        ahead = 1u;
    } else if (ahead < 0x80u) {
        behind = (uint8_t)(behind + ahead);
    } else {
        ahead = (uint8_t)(0u - ahead);
        if (behind < ahead) {
            behind = ahead;
        }
        ahead = 0u;
    }
    if (ahead != 0u) {
        store->live = store->to;
        store->newest = store->counter;
    }
    store->behind = (behind < 0x80u) ? behind : 0x80u;
}

/* A place of the search for a free one: is it? Only one that has a good copy of another number is not. */
static db_answer db_seek(db_store *store, uint8_t good)
{
    uint8_t number = store->number;
    if ((good != 0u) && (number != store->save_number)) {
        if ((db_mark(&store->seen[number >> 3], number) != 0u) && (number >= store->tidied) && (number < store->twice)) {
            store->twice = number;
        }
        db_go_on(store);
    } else if (db_seal(store) != 0u) {
        store->saving = DB_BREAK_;
        db_unseal(store);
        if (store->differs == 0u) {
            store->done++; /* it is broken already */
        }
    } else {
        /* A copy that is too old to be told from a new one has to go first. */
        store->tries = 0u;
        store->twice = (store->save_number >= store->tidied) ? store->save_number : DB_ANY_;
    }
    return DB_MORE;
}

/* All places have been gone through. */
static db_answer db_turn(db_store *store)
{
    db_answer answer = DB_MORE;
    switch (store->saving) {
    case DB_SCAN_:
        if (store->live != DB_NOTHING) {
            store->to = store->live;
            store->saving = DB_SAME_;
        } else {
            db_begin_seek(store);
        }
        break;
    case DB_TIDY_:
        db_go_through(store, DB_SWEEP_);
        break;
    case DB_SWEEP_:
        db_begin(store, DB_SCAN_, store->save_number);
        break;
    case DB_SEEK_:
        /* No place is free. Where two copies of a number take up places, as a cut can leave them, the older one
         * goes and all begins anew; else the spares are gone. */
        if (store->twice == DB_ANY_) {
            answer = db_end_save(store, DB_WORN);
        } else {
            store->tidied = (uint8_t)(store->twice + 1u);
            db_begin(store, DB_TIDY_, store->twice);
        }
        break;
    default:
        answer = db_end_save(store, DB_SOUND);
        break;
    }
    return answer;
}

/* A place of those that are gone through. */
static db_answer db_pass(db_store *store)
{
    db_answer answer;
    uint8_t good;
    db_unseal(store);
    answer = db_visit(store, (store->saving == DB_SEEK_) ? DB_ANY_ : store->searched);
    good = DB_GOOD_(answer) ? 1u : 0u;
    if (answer >= DB_MORE) {
        /* the same place is next */
    } else if (store->saving == DB_SEEK_) {
        store->tries--;
        answer = db_seek(store, good);
    } else if ((answer == DB_NEWER) && (store->resetting == 0u)) {
        answer = db_end_save(store, DB_NEWER);
    } else {
        if (store->saving < DB_SEEK_) {
            if (good != 0u) {
                db_weigh(store);
            }
            answer = DB_MORE;
        } else if ((store->to != store->live) && (answer != DB_MISSING) && (answer != DB_BLANK) && (store->differs != 0u)) {
            /* another copy, a good or a damaged one */
            answer = db_put_down(store);
        } else {
            answer = DB_MORE;
        }
        if (answer == DB_MORE) {
            store->tries--;
            db_go_on(store);
        }
    }
    return answer;
}

/* Writes what is next of the record, or reads back what has been written; or, of DB_SAME_, compares. */
static db_answer db_fill(db_store *store)
{
    db_answer answer;
    if (store->done != store->until) {
        answer = db_put_down(store);
    } else {
        answer = db_visit(store, DB_ANY_);
        if ((answer < DB_MORE) && (store->differs != 0u)) {
            answer = db_visit(store, DB_ANY_); /* a place is not worn out because of one reading */
        }
        if (answer >= DB_MORE) {
            /* the same is next */
        } else if (store->differs == 0u) {
            if (store->saving == DB_BREAK_) {
                db_range(store, 0u, store->body);
            } else if (store->saving == DB_FILL_) {
                (void)db_close(store, store->record[1]);
                db_range(store, store->body, DB_STORED_);
            } else {
                store->live = store->to;
                db_go_through(store, DB_COMMIT_);
            }
            store->saving++;
            answer = DB_MORE;
        } else {
            store->worn++;
            if ((store->save_kind == DB_PRESETS_) && (store->worn > store->lost)) {
                store->lost = store->worn;
            }
            store->saving = DB_SEEK_;
            db_go_on(store);
            answer = DB_MORE;
        }
    }
    return answer;
}

/* Where the newest copy has the bytes that it would have with these values, nothing is left to write but to break
 * the seals that a cut may have left on other copies. */
static db_answer db_same(db_store *store)
{
    db_answer answer;
    (void)db_close(store, store->newest);
    db_range(store, 0u, (uint8_t)(store->body + DB_STORED_));
    answer = db_visit(store, DB_ANY_);
    if (answer >= DB_MORE) {
        /* the same is next */
    } else if (store->differs == 0u) {
        db_go_through(store, DB_RETIRE_);
        answer = DB_MORE;
    } else {
        db_begin_seek(store);
        answer = DB_MORE;
    }
    return answer;
}

db_answer db_save_step(db_store *store)
{
    db_answer answer;
    switch (store->saving) {
    case DB_IDLE_:
        answer = DB_SOUND;
        break;
    case DB_SAME_:
        answer = db_same(store);
        break;
    case DB_BREAK_:
    case DB_FILL_:
    case DB_COMMIT_:
        answer = db_fill(store);
        break;
    default:
        answer = (store->tries != 0u) ? db_pass(store) : db_turn(store);
        break;
    }
    return answer;
}

void db_save_abandon(db_store *store)
{
    store->saving = DB_IDLE_;
    store->resetting = 0u;
}

/* Whether a save can begin. */
static db_answer db_may_save(const db_store *store)
{
    db_answer answer = DB_OK;
    if ((store->unit == DB_MORE) || (store->saving != DB_IDLE_) || (store->resetting != 0u)) {
        answer = DB_MORE;
    } else if (store->unit == DB_FOREIGN) {
        answer = DB_FOREIGN;
    } else if (store->driver.write == NULL) {
        answer = DB_REFUSED;
    } else if ((store->notes & DB_AHEAD_) != 0u) {
        answer = DB_NEWER;
    } else {
        answer = DB_OK;
    }
    return answer;
}

/* Adds a code of the look, and says so where it is out of range. */
static void db_line(db_store *store, uint16_t code, uint16_t last, uint8_t width)
{
    if (code > last) {
        store->trouble = DB_RANGE;
    }
    db_push(store, code, width);
}

/* Packs what is to be saved of a number; nothing is read or written.
 * A line for each field: a loop takes 78 bytes on AVR and 90 on Cortex-M0, lines take 82 and 65.
 */
static db_answer db_pack(db_store *store, uint8_t kind, uint8_t number, const db_look *look)
{
    db_answer answer = DB_OK;
    const db_kind *of = &db_kinds[kind];
    store->save_kind = kind;
    store->save_number = number;
    store->body = (uint8_t)(DB_FLASH_LENGTH_(&of->length) - DB_STORED_);
    store->first = (db_index)(DB_FLASH_INDEX_(&of->first) - DB_LOOK_);
    store->stop = (db_index)(DB_FLASH_INDEX_(&of->stop) - DB_LOOK_);
    store->tidied = 0u;
    store->done = 2u;
    store->bits = 0u;
    store->record[0] = DB_MARK_;
    if (kind == DB_PRESETS_) {
        db_push(store, number, DB_NUMBER_);
    }
    store->trouble = DB_OK;
    if (kind == DB_STATE_) {
        db_line(store, look->last_preset, 1u, 1u);
        db_line(store, look->engaged, 1u, 1u);
    }
    if (kind >= DB_PRESETS_) {
        db_line(store, look->level, 100u, 7u);
    }
    answer = store->trouble;
    while (store->done != store->body) {
        db_push(store, 0u, 1u);
    }
    if (answer == DB_OK) {
        db_begin(store, DB_SCAN_, number);
    }
    return answer;
}

/* Packs the factory values of a number. */
static db_answer db_pack_factory(db_store *store, uint8_t kind, uint8_t number)
{
    db_look look;
    db_factory_look(kind, number, &look);
    return db_pack(store, kind, number, &look);
}

/* Packs what is to be saved, where look is null factory values, where that can be. */
static db_answer db_save(db_store *store, uint8_t kind, uint8_t number, const db_look *look)
{
    db_answer answer = db_may_save(store);
    if (answer != DB_OK) {
        /* it cannot be saved now */
    } else if (look == NULL) {
        answer = db_pack_factory(store, kind, number);
    } else {
        answer = db_pack(store, kind, number, look);
    }
    return answer;
}

db_answer db_save_preset(db_store *store, uint8_t slot, const db_look *look)
{
    return (slot < DB_SLOTS) ? db_save(store, DB_PRESETS_, slot, look) : DB_MISSING;
}

db_answer db_save_state(db_store *store, const db_look *look)
{
    return db_save(store, DB_STATE_, 0u, look);
}

db_answer db_reset_preset(db_store *store, uint8_t slot)
{
    return (slot < DB_SLOTS) ? db_save(store, DB_PRESETS_, slot, NULL) : DB_MISSING;
}

/* On to the next number of the look; when there is none, ends the reset. */
static db_answer db_reset_next(db_store *store)
{
    db_answer answer = DB_MORE;
    uint8_t kind = store->save_kind;
    uint8_t number = (uint8_t)(store->save_number + 1u);
    if ((kind != DB_PRESETS_) || (number == DB_SLOTS)) {
        number = 0u;
        kind++;
    }
    if (kind != DB_KINDS_) {
        (void)db_pack_factory(store, kind, number);
    } else if (store->resetting == 1u) {
        answer = DB_SOUND;
        db_open(store, &store->driver);
    } else {
        answer = DB_WORN;
        store->resetting = 0u;
    }
    return answer;
}

db_answer db_reset_look_step(db_store *store)
{
    db_answer answer = DB_OK;
    if (store->resetting == 0u) {
        /* What was being saved is to go anyway. */
        db_save_abandon(store);
        answer = db_may_save(store);
        if ((answer == DB_OK) || (answer == DB_NEWER)) {
            answer = db_pack_factory(store, DB_PRESETS_, 0u);
            store->resetting = 1u;
        }
    }
    if (answer == DB_OK) {
        answer = db_save_step(store);
        if (answer == DB_WORN) {
            store->resetting = 2u;
        }
        if ((answer == DB_SOUND) || (answer == DB_WORN)) {
            answer = db_reset_next(store);
        }
    }
    return answer;
}

uint8_t db_spares_left(const db_store *store)
{
    return (store->lost < DB_SPARES) ? (uint8_t)(DB_SPARES - store->lost) : 0u;
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
