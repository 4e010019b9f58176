/* Whether a record with this answer can be read: one of today's or of an earlier revision. */
#define P_OURS_(answer) ((answer) <= P_OLDER)

/* Reads a place once, and takes its fields where to or text is not null. Only a place that answers P_SOUND,
 * P_OLDER or P_NEWER holds a record; P_MISSING is one of another number than the wanted one, or its ruins. */
static p_answer p_look_at(p_store *store, p_index place, uint8_t *to, uint8_t *text)
{
    p_answer answer = P_MISSING;
    uint8_t sealed = 1u;
    uint8_t revision;
    uint8_t byte;
    uint16_t address = P_FLASH_U16(&p_places[place]);
    store->address = address;
    store->length = P_FLASH_LENGTH_(&p_kinds[store->kind].length);
    store->trouble = P_OK;
    store->piece[0] = 0xFFu;
    store->changed = 0u;
    store->differs = 0u;
    store->read = 0u;
    store->bits = 0u;
    store->number = 0u;
    store->unread = 0u;
    p_fetch(store, P_HEAD_);
    p_cover(store, address, store->piece[0]);
    revision = p_next(store);
    store->counter = p_next(store);
    if (store->kind == P_PRESETS_) {
        store->number = (uint8_t)p_field(store, P_NUMBER_);
    }
    if ((store->wanted == P_ANY_) || (store->number == store->wanted)) {
        if ((to != NULL) || (text != NULL)) {
            if (p_unpack(store, revision, to, text) == 0u) {
                store->unread = 1u;
            }
        } else if (store->kind == P_IDENTITY_) {
            p_whose(store);
        } else {
            /* no field is asked for */
        }
        while (store->read != store->length) {
            byte = p_next(store);
            if (((uint16_t)(store->length - store->read) < P_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
                sealed = 0u;
            }
        }
        if (store->changed == 0u) {
            answer = P_BLANK;
        } else if ((sealed == 0u) || (revision == 0xFFu) || (store->number >= P_SLOTS)) {
            answer = P_DAMAGED;
        } else if (store->sum == P_RESIDUE_) {
            answer = (store->kind == P_IDENTITY_) ? P_SOUND : p_age(revision);
        } else {
            answer = (revision == 0u) ? P_TRIAL : P_DAMAGED;
        }
    }
    return (store->trouble == P_OK) ? answer : store->trouble;
}

/* Reads a place until it is sure: what is not a good record has to read the same way twice. */
static p_answer p_examine(p_store *store, p_index place)
{
    p_answer answer = p_look_at(store, place, NULL, NULL);
    p_sum before = store->sum;
    if (!P_GOOD_(answer) && (answer < P_MORE)) {
        answer = p_look_at(store, place, NULL, NULL);
        if (!P_GOOD_(answer) && (answer < P_MORE) && (store->sum != before)) {
            answer = P_AGAIN;
        }
    }
    return answer;
}

/* Finds the newest good copy of a number among all places of its kind, and takes its fields. A copy of a
 * later revision hides all others. The fields come from a further reading, which has to be good as well. */
static p_answer p_find(p_store *store, uint8_t kind, uint8_t number, uint8_t *to, uint8_t *text)
{
    p_answer best = P_MISSING;
    p_answer answer = P_MISSING;
    p_index place = P_FLASH_INDEX_(&p_kinds[kind].first);
    p_index stop = P_FLASH_INDEX_(&p_kinds[kind].stop);
    p_index newest = place;
    uint8_t counter = 0u;
    uint8_t ahead;
    store->kind = kind;
    store->wanted = number;
    for (; (place != stop) && (answer < P_MORE); place++) {
        answer = p_examine(store, place);
        if (answer == P_NEWER) {
            best = P_NEWER;
        } else if (P_GOOD_(answer) && (best != P_NEWER)) {
            ahead = (uint8_t)(store->counter - counter);
            if ((best == P_MISSING) || ((ahead != 0u) && (ahead < 0x80u))) {
                best = answer;
                counter = store->counter;
                newest = place;
            }
        } else {
            /* nothing of this number */
        }
    }
    store->replaced = P_NOTHING;
    if (answer >= P_MORE) {
        best = answer;
    } else if (P_OURS_(best)) {
        answer = p_look_at(store, newest, to, text);
        if (answer != best) {
            store->replaced = P_NOTHING;
            best = (answer == P_REFUSED) ? P_REFUSED : P_AGAIN;
        } else if (store->unread != 0u) {
            best = P_MISSING;
        } else {
            /* taken */
        }
    } else {
        /* factory values are the caller's to give */
    }
    return best;
}
