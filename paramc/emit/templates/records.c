/* Sets a member of a structure by its row. */
static void p_put(uint8_t *to, p_index row, uint16_t code)
{
    uint8_t *member = &to[P_FLASH_OFFSET_(&p_rows[row].offset)];
    if ((P_FLASH_U8(&p_rows[row].width) & P_WIDE_) != 0u) {
        *(uint16_t *)(void *)member = code;
    } else {
        *member = (uint8_t)code;
    }
}

/* Takes the fields of a record, a code that is not in use as the default, into to and text where they are
 * not null. */
static void p_fields(p_store *store, uint8_t *to, uint8_t *text)
{
    p_index row = P_FLASH_INDEX_(&p_kinds[store->kind].row);
    p_index end = P_FLASH_INDEX_(&p_kinds[store->kind].end);
    uint8_t i = (text != NULL) ? P_FLASH_U8(&p_kinds[store->kind].text) : 0u;
    uint8_t *letter = text;
    uint16_t code;
    for (; row != end; row++) {
        code = p_field(store, (uint8_t)(P_FLASH_U8(&p_rows[row].width) & P_WIDTH_));
        if (code > P_FLASH_U16(&p_rows[row].last)) {
            code = P_FLASH_U16(&p_rows[row].standard);
            if (store->replaced == P_NOTHING) {
                store->replaced = row;
            }
        }
        if (to != NULL) {
            p_put(to, row, code);
        }
    }
    for (; i != 0u; i--) {
        *letter = (uint8_t)p_field(store, 8u);
        letter++;
    }
}

/* Reads a place once, and takes its fields where to or text is not null. Only a place that answers P_SOUND,
 * P_OLDER or P_NEWER holds a record; P_MISSING is one of another number than the wanted one, or its ruins. */
static p_answer p_look_at(p_store *store, p_index place, uint8_t *to, uint8_t *text)
{
    p_answer answer = P_MISSING;
    uint8_t sealed = 1u;
    uint8_t revision;
    uint8_t byte;
    store->address = P_FLASH_U16(&p_places[place]);
    store->left = P_FLASH_LENGTH_(&p_kinds[store->kind].length);
    store->trouble = P_OK;
    store->piece[0] = 0xFFu;
    store->changed = 0u;
    store->bits = 0u;
    store->number = 0u;
    p_cover(store);
    revision = p_next(store);
    store->counter = p_next(store);
    if (store->kind == P_PRESETS_) {
        store->number = (uint8_t)p_field(store, P_NUMBER_);
    }
    if ((store->wanted == P_ANY_) || (store->number == store->wanted)) {
        if ((to != NULL) || (text != NULL)) {
            p_fields(store, to, text);
        }
        while (store->left != 0u) {
            byte = p_next(store);
            if ((store->left < P_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
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
static p_answer p_examine(p_store *store, p_index place, uint8_t *to)
{
    p_answer answer = p_look_at(store, place, to, NULL);
    p_sum before = store->sum;
    if (!P_GOOD_(answer) && (answer < P_MORE)) {
        answer = p_look_at(store, place, to, NULL);
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
        answer = p_examine(store, place, NULL);
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
    } else if (best == P_SOUND) {
        answer = p_look_at(store, newest, to, text);
        if (answer != P_SOUND) {
            store->replaced = P_NOTHING;
            best = (answer == P_REFUSED) ? P_REFUSED : P_AGAIN;
        }
    } else {
        /* factory values are the caller's to give */
    }
    return best;
}
