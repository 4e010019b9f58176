/* made by paramc from doorbell.paramc; change that file, not this one. */
#include "doorbell.h"

#include <stddef.h>

#if !defined(DB_BUILD) || (DB_BUILD != 0x06BAD4C9u)
#error "doorbell.h and .c come from different builds: run paramc build"
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

/* Sizes that everything below counts on, checked while this is compiled. */
#define DB_CHECK_(name, truth) typedef char name[(truth) ? 1 : -1]

DB_CHECK_(db_check_bytes, (sizeof(uint8_t) == 1u) && (sizeof(uint16_t) == 2u) && (sizeof(uint32_t) == 4u));

#define DB_IDENTITY_ 0u
#define DB_BENCH_ 0xFFu
#define DB_SETUP_ 0xFFu
#define DB_PRESETS_ 2u
#define DB_STATE_ 1u
#define DB_KINDS_ 3u
#define DB_NUMBERS_ 4u
#define DB_NUMBER_ 1u
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

static const db_row DB_FLASH db_rows[] = {
    { 1u, 0u, (uint8_t)offsetof(db_look, last_preset), 0x01u },
    { 1u, 0u, (uint8_t)offsetof(db_look, engaged), 0x01u },
    { 100u, 50u, (uint8_t)offsetof(db_look, level), 0x07u },
};
DB_CHECK_(db_rows_sized, sizeof(db_rows) == (3u * sizeof(db_row)));

/* Whether a code is not in use of a row and where it stands. */
#define DB_UNUSED_(row, at, code) (((code) > DB_FLASH_U16(&(row)->last)))

static const db_kind DB_FLASH db_kinds[] = {
    { 12u, 10u, 0u, 0u, 0u, 2u, 2u }, /* identity */
    { 7u, 5u, 0u, 3u, 2u, 6u, 4u }, /* state */
    { 7u, 5u, 2u, 3u, 6u, 9u, 3u }, /* presets */
};
DB_CHECK_(db_kinds_sized, sizeof(db_kinds) == (3u * sizeof(db_kind)));

/* Addresses of all places, kind after kind. */
static const uint16_t DB_FLASH db_places[] = {
    4u, 16u, 49u, 56u, 63u, 70u, 28u, 35u, 42u,
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

uint8_t db_engine_level(uint16_t code)
{
    uint16_t k = (code <= 100u) ? code : 50u;
    return (uint8_t)((uint16_t)(k * 2u));
}

/* The checksum CRC-16/IBM-3740: 16 bits, high bit first, polynomial 0x1021, start 0xFFFF, final 0x0000, check
 * value 0x29B1. */
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

/* Passes the next field at the cursor: as many bits as it is wide, at most 16, the lowest first. What is
 * packed is set in bytes that have been cleared; what is unpacked passes as 0. Answers what stands there
 * then. */
static uint16_t db_field(db_store *store, uint16_t code, uint8_t width)
{
    uint16_t value = 0u;
    uint16_t place = 1u;
    uint8_t i;
    for (i = width; i != 0u; i--) {
        if (store->mask == 0u) {
            store->mask = 1u;
            store->cursor++;
        }
        if ((code & place) != 0u) {
            *store->cursor |= store->mask;
        }
        if ((*store->cursor & store->mask) != 0u) {
            value |= place;
        }
        place = (uint16_t)(place << 1);
        store->mask = (uint8_t)(store->mask << 1);
    }
    return value;
}

/* The checksum over so many bytes of a record for the place that has been looked at last, and over what it
 * covers before them: product code, address and, in a trial's own record, the fingerprint. Identity has the
 * address alone, so that anything can read whose memory it is. */
static DB_APART db_sum db_sum_of(db_store *store, const uint8_t *record, db_length length)
{
    const uint8_t *byte = record;
    db_sum sum = (store->kind == DB_IDENTITY_) ? DB_START_ : DB_CODED_;
    uint8_t at = (store->kind == DB_BENCH_) ? 4u : 0u;
    db_length i;
    store->changed = 0u;
    sum = db_add(sum, (uint8_t)(store->address >> 8));
    sum = db_add(sum, (uint8_t)(store->address & 0xFFu));
    if ((store->kind != DB_IDENTITY_) && (record[0] == 0u)) {
        for (i = 0u; i < 4u; i++) {
            sum = db_add(sum, DB_FLASH_U8(&db_fingerprints[at + i]));
        }
    }
    for (i = length; i != 0u; i--) {
        sum = db_add(sum, *byte);
        store->changed |= (uint8_t)(*byte ^ DB_BLANKS_);
        byte++;
    }
    return sum;
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
static void db_put(uint8_t *to, const db_row *row, uint16_t code)
{
    uint8_t *member = &to[DB_FLASH_OFFSET_(&row->offset)];
    if ((DB_FLASH_U8(&row->width) & DB_WIDE_) != 0u) {
        *(uint16_t *)(void *)member = code;
    } else {
        *member = (uint8_t)code;
    }
}

/* What it is. */
static uint16_t db_member(const uint8_t *from, const db_row *row)
{
    const uint8_t *member = &from[DB_FLASH_OFFSET_(&row->offset)];
    uint16_t code = *member;
    if ((DB_FLASH_U8(&row->width) & DB_WIDE_) != 0u) {
        code = *(const uint16_t *)(const void *)member;
    }
    return code;
}

/* Sets the cursor behind the head of a record of the kind in hand, and passes the number that it is of. */
static void db_pass_head(db_store *store, uint8_t *record, uint8_t number)
{
    store->cursor = &record[1];
    store->mask = 0u;
    if (store->kind == DB_PRESETS_) {
        (void)db_field(store, number, DB_NUMBER_);
    }
}

/* Passes the fields of a record of today's: packs them from a structure, or where from is null takes them
 * into to. A code that is not in use becomes the default; answers the first row that had one, or
 * DB_NOTHING. */
static db_index db_pass(db_store *store, uint8_t *to, const uint8_t *from)
{
    db_index replaced = DB_NOTHING;
    db_index i = store->of.row;
    const db_row *row = &db_rows[i];
    uint16_t code;
    for (; i != store->of.end; i++) {
        code = 0u;
        if (from != NULL) {
            code = db_member(from, row);
        }
        code = db_field(store, code, (uint8_t)(DB_FLASH_U8(&row->width) & DB_WIDTH_));
        if (DB_UNUSED_(row, i, code)) {
            code = DB_FLASH_U16(&row->standard);
            if (replaced == DB_NOTHING) {
                replaced = i;
            }
        }
        if (from == NULL) {
            db_put(to, row, code);
        }
        row++;
    }
    return replaced;
}

/* Takes the fields of the record that has been read; those of earlier revisions have none that this file
 * knows.
 * Answers 1 where it has taken them. */
static uint8_t db_unpack(db_store *store, uint8_t *to)
{
    uint8_t known = 0u;
    uint8_t revision = store->bytes[0];
    if ((revision == 0u) || (revision == DB_REVISION)) {
        db_pass_head(store, store->bytes, 0u);
        store->replaced = db_pass(store, to, NULL);
        known = 1u;
    }
    return known;
}

/* Whether a record with this answer has a good checksum, and whether it can be read: one of today's or of an
 * earlier revision. */
#define DB_GOOD_(answer) ((answer) <= DB_NEWER)
#define DB_OURS_(answer) ((answer) <= DB_OLDER)

/* The number of a slot. */
static db_index db_number_of(uint8_t slot)
{
    db_index number = slot;
    return (db_index)(number + DB_PRESETS_);
}

/* Takes the kind in hand that a number is of. */
static DB_APART void db_turn_to(db_store *store, db_index number)
{
    uint8_t kind = (number < DB_PRESETS_) ? (uint8_t)number : DB_PRESETS_;
    const uint8_t *from = (const uint8_t *)&db_kinds[kind];
    uint8_t *to = (uint8_t *)&store->of;
    uint8_t i;
    store->kind = kind;
    for (i = (uint8_t)sizeof(db_kind); i != 0u; i--) {
        *to = DB_FLASH_U8(from);
        from++;
        to++;
    }
}

/* What a driver may answer: anything else is a refusal. */
static db_answer db_driven(db_answer answer)
{
    return ((answer == DB_OK) || (answer == DB_AGAIN)) ? answer : DB_REFUSED;
}

/* Whether no byte of a checksum is one that blank, zeroed and broken ones have. */
static uint8_t db_sealed(const uint8_t *seal)
{
    const uint8_t *byte = seal;
    uint8_t sealed = 1u;
    uint8_t i;
    for (i = DB_STORED_; i != 0u; i--) {
        if ((*byte == 0x00u) || (*byte == 0xFFu)) {
            sealed = 0u;
        }
        byte++;
    }
    return sealed;
}

/* Reads a place of the kind in hand once, and judges it. */
static DB_APART db_answer db_look_at(db_store *store, db_index place)
{
    db_answer answer;
    uint8_t number = 0u;
    uint16_t address = DB_FLASH_U16(&db_places[place]);
    store->address = address;
    answer = db_driven(store->driver.read(address, store->bytes, store->of.length, store->driver.context));
    if (answer == DB_OK) {
        if (store->kind == DB_PRESETS_) {
            number = (store->bytes[2] & 0x01u);
        }
        store->number = (db_index)(store->kind + number);
        store->sum = db_sum_of(store, store->bytes, store->of.length);
        if (store->changed == 0u) {
            answer = DB_BLANK;
        } else if ((db_sealed(&store->bytes[store->of.body]) == 0u) || (store->bytes[0] == 0xFFu) ||
                   (number >= DB_SLOTS)) {
            answer = DB_DAMAGED;
        } else if (store->sum != DB_RESIDUE_) {
            answer = (store->bytes[0] == 0u) ? DB_TRIAL : DB_DAMAGED;
        } else if (store->kind != DB_IDENTITY_) {
            answer = db_age(store->bytes[0]);
        } else {
            answer = DB_SOUND;
        }
    }
    return answer;
}

/* Reads a place until it is sure: what is not a good record has to read the same way twice. */
static db_answer db_examine(db_store *store, db_index place)
{
    db_answer answer = db_look_at(store, place);
    db_sum before = store->sum;
    if (!DB_GOOD_(answer) && (answer < DB_MORE)) {
        answer = db_look_at(store, place);
        if (!DB_GOOD_(answer) && (answer < DB_MORE) && (store->sum != before)) {
            answer = DB_AGAIN;
        }
    }
    return answer;
}

/* Finds the newest good copy of a number among all places of its kind. A copy of a later revision hides all
 * others.
 * Where the answer is DB_SOUND or DB_OLDER its record is in store->bytes, from a further reading that was
 * good as well. */
static db_answer db_find(db_store *store, db_index number)
{
    db_answer best = DB_MISSING;
    db_answer answer = DB_MISSING;
    db_index newest = 0u;
    uint8_t counter = 0u;
    uint8_t ahead;
    db_index place;
    store->replaced = DB_NOTHING;
    db_turn_to(store, number);
    for (place = store->of.first; (place != store->of.stop) && (answer < DB_MORE); place++) {
        answer = db_examine(store, place);
        if (DB_GOOD_(answer) && (store->number == number) && (best != DB_NEWER)) {
            ahead = (uint8_t)(store->bytes[1] - counter);
            if ((answer == DB_NEWER) || (best == DB_MISSING) || ((ahead != 0u) && (ahead < 0x80u))) {
                best = answer;
                counter = store->bytes[1];
                newest = place;
            }
        }
    }
    if (answer >= DB_MORE) {
        best = answer;
    } else if (DB_OURS_(best)) {
        answer = db_look_at(store, newest);
        if (answer != best) {
            best = (answer == DB_REFUSED) ? DB_REFUSED : DB_AGAIN;
        }
    } else {
        /* factory values are the caller's to give */
    }
    return best;
}

/* What has been seen of the memory, in store->notes: a bit for each answer that a place gave, and one
 * more. */
#define DB_SEEN_(answer) ((uint8_t)(1u << (answer)))
#define DB_AHEAD_ 0x80u /* a record of a later revision in the look: nothing is saved beside it */

/* Whose an identity is, beside DB_SOUND, DB_TRIAL and DB_FOREIGN: this very trial's. */
#define DB_OWN_ 1u

void db_open(db_store *store, const db_driver *driver)
{
    uint8_t *bytes = (uint8_t *)store;
    uint16_t i;
    for (i = 0u; i != (uint16_t)offsetof(db_store, driver); i++) {
        bytes[i] = 0u;
    }
    store->driver = *driver; /* which may be the store's own */
    store->unit = DB_MORE;
    store->replaced = DB_NOTHING;
    store->unseen = DB_NUMBERS_;
    store->aged = DB_NUMBERS_;
}

/* Sets the bit of a number; answers what it was, 0 or not. */
static DB_APART uint8_t db_mark(uint8_t *bits, db_index number)
{
    uint8_t *byte = &bits[number >> 3];
    uint8_t mask = (uint8_t)(1u << (number & 7u));
    uint8_t was = (uint8_t)(*byte & mask);
    *byte |= mask;
    return was;
}

/* Whose the identity that has been read is. */
static db_answer db_whose(const db_store *store)
{
    db_answer whose = DB_SOUND;
    const uint8_t *identity = &store->bytes[2];
    if ((identity[0] != 0x44u) || (identity[1] != 0x42u)) {
        whose = DB_FOREIGN;
    } else if ((identity[7] & 0x80u) != 0u) {
        whose = DB_TRIAL;
        if ((identity[3] == 0xF3u) && (identity[4] == 0xB5u) && (identity[5] == 0x94u) && (identity[6] == 0xA9u)) {
            whose = DB_OWN_;
        }
    } else {
        /* a released unit of this product */
    }
    return whose;
}

/* Keeps in mind what a place is. */
static void db_note(db_store *store, db_answer answer)
{
    db_answer whose;
    store->notes = (uint8_t)(store->notes | DB_SEEN_(answer));
    if (DB_GOOD_(answer)) {
        if (store->kind == DB_IDENTITY_) {
            whose = db_whose(store);
            if (whose > store->whose) {
                store->whose = whose;
            }
        }
        if (answer == DB_NEWER) {
            store->notes |= DB_AHEAD_;
        }
        if (db_mark(store->seen, store->number) == 0u) {
            store->unseen--;
        }
        if ((answer != DB_OLDER) && (db_mark(store->current, store->number) == 0u)) {
            store->aged--;
        }
    }
}

/* The gravest of what has been seen. */
static db_answer db_judge(const db_store *store)
{
    db_answer answer = DB_SOUND;
    if (store->notes == DB_SEEN_(DB_BLANK)) {
        answer = DB_BLANK;
    } else if (store->whose >= DB_TRIAL) {
        answer = store->whose;
    } else if (((store->notes & DB_SEEN_(DB_TRIAL)) != 0u) && (store->whose == DB_SOUND) && (store->unseen != 0u)) {
        /* On this trial's own unit such a record is merely damaged, and beside all that is needed
 * harmless. */
        answer = DB_TRIAL;
    } else if ((store->notes & DB_SEEN_(DB_NEWER)) != 0u) {
        answer = DB_NEWER;
    } else if (store->unseen != 0u) {
        answer = DB_DAMAGED;
    } else if (store->aged != 0u) {
        answer = DB_OLDER;
    } else {
        /* all is well */
    }
    return answer;
}

db_answer db_open_step(db_store *store)
{
    db_answer answer = store->unit;
    if (answer == DB_MORE) {
        db_turn_to(store, store->opening);
        answer = db_examine(store, store->place);
        if (answer < DB_MORE) {
            db_note(store, answer);
            store->place++;
            if (store->place == store->of.stop) {
                store->opening++;
                if (store->opening == DB_KINDS_) {
                    store->unit = db_judge(store);
                }
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
    const uint8_t *from = &store->bytes[2];
    db_answer answer = db_find(store, DB_IDENTITY_);
    if (answer == DB_SOUND) {
        identity->product = (uint16_t)((uint16_t)((uint16_t)from[0] << 8) | from[1]);
        identity->hardware = from[2];
        identity->fingerprint_high = (uint16_t)((uint16_t)((uint16_t)from[3] << 8) | from[4]);
        identity->fingerprint_low = (uint16_t)((uint16_t)((uint16_t)from[5] << 8) | from[6]);
        identity->trial = (uint8_t)(from[7] >> 7);
        if (identity->product != DB_CODE) {
            answer = DB_FOREIGN;
        }
    }
    return answer;
}

void db_factory_preset(uint8_t slot, db_look *look)
{
    const uint8_t *from = &db_factory[(uint16_t)((uint16_t)((slot < DB_FACTORY_) ? slot : (DB_FACTORY_ - 1u)) * DB_FACTORED_)];
    const db_row *row = &db_rows[2u];
    db_index i;
    uint16_t code;
    for (i = 2u; i != 3u; i++) {
        code = DB_FLASH_U8(from);
        from++;
        if ((DB_FLASH_U8(&row->width) & DB_WIDE_) != 0u) {
            code = (uint16_t)((uint16_t)(code << 8) | DB_FLASH_U8(from));
            from++;
        }
        db_put((uint8_t *)look, row, code);
        row++;
    }
    look->last_preset = (slot < DB_SLOTS) ? slot : 0u;
}

void db_factory_state(db_look *look)
{
    db_factory_preset(0u, look);
    look->engaged = 0u;
}

/* Factory values of a number of the look. */
static void db_factory_look(db_index number, db_look *look)
{
    if (number == DB_STATE_) {
        db_factory_state(look);
    } else {
        db_factory_preset((uint8_t)(number - DB_PRESETS_), look);
    }
}

/* Loads one number, or its factory values where it has no record that this file reads. */
static db_answer db_load(db_store *store, db_index number, void *to)
{
    db_answer answer = db_find(store, number);
    if (DB_OURS_(answer) && (db_unpack(store, (uint8_t *)to) == 0u)) {
        answer = DB_MISSING;
    }
    if (answer >= DB_MORE) {
        /* as it was */
    } else if (!DB_OURS_(answer)) {
        db_factory_look(number, (db_look *)to);
    } else {
        /* taken */
    }
    /* What was never loaded is 0, as in a store that has been cleared. */
    store->loaded[store->kind] = (db_answer)(answer ^ DB_MORE);
    return answer;
}

db_answer db_load_preset(db_store *store, uint8_t slot, db_look *look)
{
    db_answer answer = DB_MISSING;
    if (slot < DB_SLOTS) {
        answer = db_load(store, db_number_of(slot), look);
        if (answer < DB_MORE) {
            look->last_preset = slot;
        }
    }
    return answer;
}

db_answer db_load_state(db_store *store, db_look *look)
{
    return db_load(store, DB_STATE_, look);
}

uint16_t db_get(const db_look *look, db_index item)
{
    return (item < DB_ROWS) ? db_member((const uint8_t *)look, &db_rows[item]) : 0u;
}

uint8_t db_set(db_look *look, db_index item, uint16_t code)
{
    uint8_t fits = ((item < DB_ROWS) && !DB_UNUSED_(&db_rows[item], item, code)) ? 1u : 0u;
    if (fits != 0u) {
        db_put((uint8_t *)look, &db_rows[item], code);
    }
    return fits;
}

db_index db_look_ok(const db_store *store, const db_look *look)
{
    db_index found = store->replaced;
    db_index row = DB_ROWS;
    uint16_t code;
    while (row != 0u) {
        row--;
        code = db_member((const uint8_t *)look, &db_rows[row]);
        if (DB_UNUSED_(&db_rows[row], row, code)) {
            found = row;
        }
    }
    return found;
}

uint8_t db_start(const db_store *store, const db_look *look)
{
    uint8_t start = DB_BYPASSED;
    if ((store->unit >= DB_MORE) || (store->loaded[DB_STATE_] < DB_MORE)) {
        start = DB_MUTED;
    } else if ((store->unit == DB_BLANK) || (store->unit == DB_NEWER) || (store->unit == DB_TRIAL) || (store->unit == DB_FOREIGN) || (store->loaded[DB_STATE_] > (DB_OLDER ^ DB_MORE))) {
        start = DB_BYPASSED;
    } else {
        start = DB_BYPASSED;
    }
    (void)look;
    return start;
}

/* What a save is doing, in store->saving. */
#define DB_IDLE_   0u
#define DB_SCAN_   1u /* finds the newest copy, place after place */
#define DB_SEEK_   2u /* finds the next free place, breaks the seal there and reads it back */
#define DB_FILL_   3u /* writes the record, but for its checksum, and reads it back */
#define DB_COMMIT_ 4u /* writes the checksum and reads it back: with its last byte the new value counts */
#define DB_RETIRE_ 5u /* breaks the seals of all other copies */

/* What breaks a seal, in the first byte of a checksum. */
#define DB_BROKEN_ 0xFFu

/* Writes what is next of the record to the place in hand, as much as lies in one page. Nothing else in this
 * file writes, and what it writes to is a place of the look: their numbers count from the first of these, so
 * that identity and bench have none. */
static db_answer db_put_down(db_store *store)
{
    db_answer answer;
    db_length from = store->done;
    db_length length = 1u;
    answer = db_driven(store->driver.write((uint16_t)(DB_FLASH_U16(&db_places[DB_LOOK_ + store->to]) + from),
                                          &store->record[from], (uint8_t)length, store->driver.context));
    if (answer == DB_OK) {
        store->done = (db_length)(from + length);
        answer = DB_MORE;
    }
    return answer;
}

/* Breaking the seal of the place in hand is next. */
static void db_unseal(db_store *store)
{
    store->record[store->of.body] = DB_BROKEN_;
    store->done = store->of.body;
    store->until = (db_length)(store->of.body + 1u);
}

/* Whether the place that has been read has the first bytes of the record. */
static DB_APART uint8_t db_equal(const db_store *store, db_length length)
{
    const uint8_t *one = store->bytes;
    const uint8_t *other = store->record;
    uint8_t equal = 1u;
    db_length i;
    for (i = length; i != 0u; i--) {
        if (*one != *other) {
            equal = 0u;
        }
        one++;
        other++;
    }
    return equal;
}

/* Gives the record for the place that has been read the next counter that seals. Answers 0 where none does
 * that is newer than those of all copies. */
static uint8_t db_seal(db_store *store)
{
    uint8_t sealed = 0u;
    uint8_t *seal = &store->record[store->of.body];
    uint8_t ahead;
    uint8_t i;
    db_sum sum;
    store->record[1] = store->newest;
    for (ahead = store->behind; (sealed == 0u) && (ahead < 0x7Fu); ahead++) {
        store->record[1]++;
        sum = (db_sum)(db_sum_of(store, store->record, store->of.body) ^ DB_FINAL_);
        for (i = 0u; i != DB_STORED_; i++) {
            seal[i] = (uint8_t)(sum >> DB_DOWN_);
            sum = (db_sum)(sum << 8);
        }
        sealed = db_sealed(seal);
    }
    return sealed;
}

/* Goes through all places from the one in hand on. */
static void db_go_through(db_store *store, uint8_t saving)
{
    store->saving = saving;
    store->tries = store->of.places;
}

/* On to the next place, behind the last to the first one. */
static DB_APART void db_go_on(db_store *store)
{
    store->tried = 0u;
    store->tries--;
    store->to++;
    if (store->to == (db_index)(store->of.stop - DB_LOOK_)) {
        store->to = (db_index)(store->of.first - DB_LOOK_);
    }
}

/* Begins to look for the copies of the number that is saved, or of one of which there are two. */
static DB_APART void db_begin(db_store *store)
{
    db_go_through(store, DB_SCAN_);
    store->to = (db_index)(store->of.first - DB_LOOK_);
    store->live = DB_NOTHING;
    store->same = 0u;
    store->behind = 0u;
    store->newest = 0u;
}

/* Begins to look for a free place, behind the newest copy first. */
static void db_begin_seek(db_store *store)
{
    uint8_t i;
    db_go_through(store, DB_SEEK_);
    store->worn = 0u;
    if (store->live != DB_NOTHING) {
        store->to = store->live;
        db_go_on(store);
    }
    for (i = 0u; i < DB_SEEN; i++) {
        store->seen[i] = 0u;
    }
}

/* A good copy of the number that is looked for. behind: how far the oldest one's counter is behind the
 * newest's. */
static void db_weigh(db_store *store)
{
    uint8_t counter = store->bytes[1];
    uint8_t ahead = (uint8_t)(counter - store->newest);
    if (store->live == DB_NOTHING) {
        ahead = 1u;
    } else if (ahead >= 0x80u) {
        ahead = (uint8_t)(0u - ahead);
        if (store->behind < ahead) {
            store->behind = ahead;
        }
        ahead = 0u;
    } else if (store->behind < 0x80u) {
        store->behind = (uint8_t)(store->behind + ahead);
    } else {
        /* too far already */
    }
    if (ahead != 0u) {
        store->live = store->to;
        store->newest = counter;
        store->record[1] = counter;
        store->same = db_equal(store, store->of.body);
    }
}

/* The place in hand has not what was written to it. It is worn out when it has been found so three times,
 * which one reading that went wrong does not do; the next free place is looked for then. Answers 0 where it
 * is to be tried again. */
static uint8_t db_give_up(db_store *store)
{
    uint8_t given_up = 0u;
    store->tried++;
    if (store->tried == 3u) {
        store->worn++;
        if ((store->kind == DB_PRESETS_) && (store->worn > store->lost)) {
            store->lost = store->worn;
        }
        store->saving = DB_SEEK_;
        db_go_on(store);
        given_up = 1u;
    }
    return given_up;
}

/* A place of the search for a free one: is it? Only one that has a good copy of another number is not. */
static void db_seek(db_store *store, db_answer found)
{
    db_index number = store->number;
    if (DB_GOOD_(found) && (number != store->saved)) {
        if ((db_mark(store->seen, number) != 0u) && (number >= store->tidied) && (number < store->twice)) {
            store->twice = number;
        }
        db_go_on(store);
    } else if (store->bytes[store->of.body] != DB_BROKEN_) {
        if (db_give_up(store) == 0u) {
            db_unseal(store);
        }
    } else if (db_seal(store) != 0u) {
        store->saving = DB_FILL_;
        store->done = 0u;
        store->until = store->of.body;
        store->tried = 0u;
    } else {
        /* A copy that is too old to be told from a new one has to go first. */
        store->tries = 0u;
        store->twice = (store->saved >= store->tidied) ? store->saved : DB_NOTHING;
    }
}

/* What has been written is read back. */
static void db_read_back(db_store *store)
{
    if (db_equal(store, store->until) == 0u) {
        (void)db_give_up(store);
    } else if (store->saving == DB_FILL_) {
        store->saving = DB_COMMIT_;
        store->until = store->of.length;
        store->tried = 0u;
    } else {
        store->live = store->to;
        store->twice = DB_NOTHING;
        db_go_through(store, DB_RETIRE_);
    }
}

/* All places have been gone through. */
static db_answer db_turn(db_store *store)
{
    db_answer answer = DB_MORE;
    db_index twice = store->twice;
    if (store->saving == DB_SCAN_) {
        if ((twice != DB_NOTHING) || (store->same != 0u)) {
            db_go_through(store, DB_RETIRE_);
        } else {
            db_begin_seek(store);
        }
    } else if (twice == DB_NOTHING) {
        answer = (store->saving == DB_SEEK_) ? DB_WORN : DB_SOUND;
        store->saving = DB_IDLE_;
    } else {
        /* Where two copies of a number take up places, as a cut can leave them, and none is free, the older
 * one goes,
         * and all begins anew. */
        if (store->saving == DB_RETIRE_) {
            store->twice = DB_NOTHING;
        } else {
            store->tidied = (db_index)(twice + 1u);
        }
        db_begin(store);
    }
    return answer;
}

/* A place of those that are gone through for the copies of a number. */
static db_answer db_pass_by(db_store *store, db_answer found)
{
    db_answer answer = DB_MORE;
    db_index wanted = store->twice;
    uint8_t passed = 1u;
    if (wanted == DB_NOTHING) {
        wanted = store->saved;
    }
    if (store->number != wanted) {
        /* another number's */
    } else if ((found == DB_NEWER) && (store->resetting == 0u)) {
        store->saving = DB_IDLE_;
        answer = DB_NEWER;
    } else if (store->saving == DB_SCAN_) {
        if (DB_GOOD_(found)) {
            db_weigh(store);
        }
    } else if ((store->to != store->live) && (found != DB_BLANK) && (store->bytes[store->of.body] != DB_BROKEN_) &&
               (store->tried == 0u)) {
        /* another copy, a good or a damaged one */
        store->tried = 1u;
        db_unseal(store);
        passed = 0u;
    } else {
        /* it does no harm, or cannot be helped */
    }
    if (passed != 0u) {
        db_go_on(store);
    }
    return answer;
}

db_answer db_save_step(db_store *store)
{
    db_answer answer = DB_SOUND;
    if (store->saving != DB_IDLE_) {
        db_turn_to(store, store->saved);
        if (store->done != store->until) {
            answer = db_put_down(store);
        } else if (store->tries == 0u) {
            answer = db_turn(store);
        } else {
            answer = db_examine(store, (db_index)(DB_LOOK_ + store->to));
            if (answer >= DB_MORE) {
                /* the same place is next */
            } else if ((store->saving == DB_SCAN_) || (store->saving == DB_RETIRE_)) {
                answer = db_pass_by(store, answer);
            } else {
                if (store->saving == DB_SEEK_) {
                    db_seek(store, answer);
                } else {
                    db_read_back(store);
                }
                answer = DB_MORE;
            }
        }
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
        /* it can */
    }
    return answer;
}

/* Packs what is to be saved of a number; where look is null, factory values.
 * Saving packs by one loop with unpacking, which takes about 88 bytes of flash on AVR and 64 on Cortex-M0;
 * a line for each field would take 128 and 80.
 */
static db_answer db_pack(db_store *store, db_index number, const db_look *look)
{
    db_answer answer = DB_OK;
    db_look fresh;
    const db_look *from = look;
    uint8_t i;
    uint8_t slot = (uint8_t)(number - DB_PRESETS_);
    if (look == NULL) {
        db_factory_look(number, &fresh);
        from = &fresh;
    }
    db_turn_to(store, number);
    for (i = 0u; i < DB_RECORD; i++) {
        store->record[i] = 0u;
    }
    store->record[0] = DB_MARK_;
    db_pass_head(store, store->record, slot);
    if (db_pass(store, NULL, (const uint8_t *)from) != DB_NOTHING) {
        answer = DB_RANGE;
    }
    if (answer < DB_MORE) {
        answer = DB_OK;
        store->saved = number;
        store->tidied = 0u;
        store->twice = DB_NOTHING;
        store->done = 0u;
        store->until = 0u;
        db_begin(store);
    }
    return answer;
}

/* The same, where something can be saved. */
static db_answer db_save(db_store *store, db_index number, const db_look *look)
{
    db_answer answer = db_may_save(store);
    if (answer == DB_OK) {
        answer = db_pack(store, number, look);
    }
    return answer;
}

db_answer db_save_preset(db_store *store, uint8_t slot, const db_look *look)
{
    return (slot < DB_SLOTS) ? db_save(store, db_number_of(slot), look) : DB_MISSING;
}

db_answer db_save_state(db_store *store, const db_look *look)
{
    return db_save(store, DB_STATE_, look);
}

db_answer db_reset_preset(db_store *store, uint8_t slot)
{
    return db_save_preset(store, slot, NULL);
}

db_answer db_reset_look_step(db_store *store)
{
    db_answer answer = DB_MORE;
    db_index next = DB_STATE_;
    if (store->resetting == 0u) {
        /* What was being saved is to go anyway. */
        store->saving = DB_IDLE_;
        answer = db_may_save(store);
        if ((answer == DB_OK) || (answer == DB_NEWER)) {
            store->resetting = 1u;
            answer = DB_SOUND;
        }
    } else {
        answer = db_save_step(store);
        if (answer == DB_WORN) {
            store->resetting = 2u;
            answer = DB_SOUND;
        }
        next = (db_index)(store->saved + 1u);
    }
    if (answer != DB_SOUND) {
        /* the number in hand is not through, or nothing can be saved */
    } else if (next != DB_NUMBERS_) {
        (void)db_pack(store, next, NULL);
        answer = DB_MORE;
    } else if (store->resetting == 1u) {
        db_open(store, &store->driver);
    } else {
        db_save_abandon(store);
        answer = DB_WORN;
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
    for (i = 0u; i < 3u; i++) {
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
    } else if (db_sum_of_descriptors() != 0x9086u) {
        fault = 3u;
    } else if (db_sum_of_tables() != 0x91AFu) {
        fault = 4u;
    } else {
        fault = 0u;
    }
    return fault;
}
