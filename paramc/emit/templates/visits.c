/* Whether a place with this answer holds a record with a good checksum. */
#define P_GOOD_(answer) ((answer) <= P_NEWER)

/* Takes a byte into the checksum of the place in hand. */
static void p_take(p_store *store, uint8_t byte)
{
    store->sum = p_add(store->sum, byte);
}

/* Reads the next bytes of the record, at most so many. */
static void p_fetch(p_store *store, uint8_t most)
{
    uint8_t length = most;
    p_answer answer;
    if ((uint16_t)(store->length - store->read) < length) {
        length = (uint8_t)(store->length - store->read);
    }
    if (store->trouble == P_OK) {
        answer = store->driver.read((uint16_t)(store->address + store->read), store->piece, length, store->driver.context);
        if (answer != P_OK) {
            store->trouble = (answer == P_AGAIN) ? P_AGAIN : P_REFUSED;
        }
    }
    store->at = 0u;
    store->end = length;
}

/* The next byte of the record, taken into the checksum and compared with that of the record that is saved, where it
 * is in its range; 0 where the memory could not be read. */
static uint8_t p_next(p_store *store)
{
    uint8_t byte = 0u;
    if (store->at == store->end) {
        p_fetch(store, P_PIECE);
    }
    if (store->trouble == P_OK) {
        byte = store->piece[store->at];
        p_take(store, byte);
        store->changed = (uint8_t)(store->changed | (byte ^ P_BLANKS_));
    }
    if ((store->read >= store->from) && (store->read < store->until) && (byte != store->record[store->read])) {
        store->differs = 1u;
    }
    store->read++;
    store->at++;
    return byte;
}
