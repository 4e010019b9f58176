/* Members of a structure by their row. */
static void p_put(uint8_t *to, p_index row, uint16_t code)
{
    uint8_t *member = &to[P_FLASH_OFFSET_(&p_rows[row].offset)];
    if ((P_FLASH_U8(&p_rows[row].width) & P_WIDE_) != 0u) {
        *(uint16_t *)(void *)member = code;
    } else {
        *member = (uint8_t)code;
    }
}

/* The fields of a record, a code that is not in use as the default. */
static void p_fields(p_visit *visit)
{
    p_index row = P_FLASH_INDEX_(&p_kinds[visit->kind].row);
    p_index end = P_FLASH_INDEX_(&p_kinds[visit->kind].end);
    uint8_t texts = P_FLASH_U8(&p_kinds[visit->kind].text);
    uint16_t code;
    uint8_t i;
    for (; row != end; row++) {
        code = p_field(visit, (uint8_t)(P_FLASH_U8(&p_rows[row].width) & P_WIDTH_));
        if (code > P_FLASH_U16(&p_rows[row].last)) {
            code = P_FLASH_U16(&p_rows[row].standard);
            if (visit->store->replaced == P_NOTHING) {
                visit->store->replaced = row;
            }
        }
        if (visit->to != NULL) {
            p_put(visit->to, row, code);
        }
    }
    if (visit->text != NULL) {
        for (i = 0u; i < texts; i++) {
            visit->text[i] = (uint8_t)p_field(visit, 8u);
        }
    }
}

/* Reads a place once. Only a place that answers SOUND, OLDER or NEWER holds a record; MISSING is a record of
 * another number than the wanted one, or the ruins of one. */
static p_answer p_look_at(p_visit *visit, p_index place)
{
    p_answer answer = P_DAMAGED;
    uint8_t sealed = 1u;
    uint8_t byte;
    visit->address = P_FLASH_U16(&p_places[place]);
    visit->left = P_FLASH_U16(&p_kinds[visit->kind].length);
    visit->trouble = P_OK;
    visit->piece[0] = 0xFFu;
    visit->changed = 0u;
    visit->bits = 0u;
    p_cover(visit);
    visit->revision = p_next(visit);
    visit->counter = p_next(visit);
    visit->number = 0u;
    if (visit->kind == P_PRESETS_) {
        visit->number = (uint8_t)p_field(visit, P_NUMBER_);
    }
    if ((visit->wanted != P_ANY_) && (visit->number != visit->wanted)) {
        answer = P_MISSING;
    } else {
        if ((visit->to != NULL) || (visit->text != NULL)) {
            p_fields(visit);
        }
        while (visit->left != 0u) {
            byte = p_next(visit);
            if ((visit->left < P_STORED_) && ((byte == 0x00u) || (byte == 0xFFu))) {
                sealed = 0u;
            }
        }
        if (visit->changed == 0u) {
            answer = P_BLANK;
        } else if ((sealed != 0u) && (visit->revision != 0xFFu) && (visit->number < P_SLOTS)) {
            if (visit->sum == P_RESIDUE_) {
                answer = (visit->kind == P_IDENTITY_) ? P_SOUND : p_age(visit->revision);
            } else if (visit->revision == 0u) {
                answer = P_TRIAL;
            } else {
                answer = P_DAMAGED;
            }
        } else {
            answer = P_DAMAGED;
        }
    }
    return (visit->trouble == P_OK) ? answer : visit->trouble;
}

/* Reads a place until it is sure: what is not a good record has to read the same way twice. */
static p_answer p_examine(p_visit *visit, p_index place)
{
    p_answer answer = p_look_at(visit, place);
    p_sum before = visit->sum;
    if (!P_GOOD_(answer) && (answer < P_MORE)) {
        answer = p_look_at(visit, place);
        if (!P_GOOD_(answer) && (answer < P_MORE) && (visit->sum != before)) {
            answer = P_AGAIN;
        }
    }
    return answer;
}

/* Finds the newest good copy of a number among all places of its kind, and takes its fields. A copy of a
 * later revision hides all others. The fields come from a further reading, which has to be good as well. */
static p_answer p_find(p_store *store, uint8_t kind, uint8_t number, uint8_t *to, uint8_t *text)
{
    p_visit visit;
    p_answer best = P_MISSING;
    p_answer answer = P_MISSING;
    p_index place = P_FLASH_INDEX_(&p_kinds[kind].first);
    p_index stop = P_FLASH_INDEX_(&p_kinds[kind].stop);
    p_index newest = place;
    uint8_t counter = 0u;
    uint8_t ahead;
    visit.store = store;
    visit.to = NULL;
    visit.text = NULL;
    visit.kind = kind;
    visit.wanted = number;
    store->replaced = P_NOTHING;
    for (; (place != stop) && (answer < P_MORE); place++) {
        answer = p_examine(&visit, place);
        if (answer == P_NEWER) {
            best = P_NEWER;
        } else if (P_GOOD_(answer) && (best != P_NEWER)) {
            ahead = (uint8_t)(visit.counter - counter);
            if ((best == P_MISSING) || ((ahead != 0u) && (ahead < 0x80u))) {
                best = answer;
                counter = visit.counter;
                newest = place;
            }
        } else {
            /* nothing of this number */
        }
    }
    if (answer >= P_MORE) {
        best = answer;
    } else if (best == P_SOUND) {
        visit.to = to;
        visit.text = text;
        answer = p_look_at(&visit, newest);
        if (answer != P_SOUND) {
            best = (answer == P_REFUSED) ? P_REFUSED : P_AGAIN;
        }
    } else {
        /* factory values are the caller's to give */
    }
    if (best != P_SOUND) {
        store->replaced = P_NOTHING;
    }
    return best;
}
