/* Whether a place with this answer holds a record with a good checksum. */
#define P_GOOD_(answer) ((answer) <= P_NEWER)

/* Reads the next bytes of the record, at most so many. */
static void p_fetch(p_store *store, uint8_t most)
{
    uint8_t length = most;
    p_answer answer;
    if (store->left < length) {
        length = (uint8_t)store->left;
    }
    if (store->trouble == P_OK) {
        answer = store->driver.read(store->address, store->piece, length, store->driver.context);
        if (answer != P_OK) {
            store->trouble = (answer == P_AGAIN) ? P_AGAIN : P_REFUSED;
        }
    }
    store->address = (uint16_t)(store->address + length);
    store->at = 0u;
    store->end = length;
}

/* The next byte of the record, taken into the checksum; 0 where the memory could not be read. */
static uint8_t p_next(p_store *store)
{
    uint8_t byte = 0u;
    if (store->at == store->end) {
        p_fetch(store, P_PIECE);
    }
    if (store->trouble == P_OK) {
        byte = store->piece[store->at];
        store->sum = p_add(store->sum, byte);
        store->changed = (uint8_t)(store->changed | (byte ^ P_BLANKS_));
    }
    store->at++;
    store->left--;
    return byte;
}
