/* One visit to a place of the memory: its bytes in order, a piece at a time, and what they tell. */
typedef struct {
    p_store *store;
    uint8_t *to;      /* structure that takes the fields; null: none are taken */
    uint8_t *text;    /* takes the bytes of the name or serial; null: none are taken */
    p_sum sum;        /* of the cover and all bytes so far */
    uint16_t address; /* of the next piece */
    uint16_t left;    /* bytes of the record that are still to come */
    uint8_t kind;
    uint8_t wanted;   /* only copies of this number count; P_ANY_: all do */
    uint8_t number;
    uint8_t revision;
    uint8_t counter;
    p_answer trouble; /* why the memory could not be read; P_OK: it could */
    uint8_t changed;  /* bits in which any byte is not blank */
    uint8_t bits;     /* of byte, still to be taken */
    uint8_t byte;
    uint8_t at;       /* next byte of the piece */
    uint8_t end;      /* just past its last */
    uint8_t piece[P_PIECE_];
} p_visit;

/* Whether a place with this answer holds a record with a good checksum. */
#define P_GOOD_(answer) ((answer) <= P_NEWER)

static void p_fetch(p_visit *visit, uint8_t most)
{
    uint8_t length = most;
    p_answer answer;
    if (visit->left < length) {
        length = (uint8_t)visit->left;
    }
    if (visit->trouble == P_OK) {
        answer = visit->store->driver.read(visit->address, visit->piece, length, visit->store->driver.context);
        if (answer != P_OK) {
            visit->trouble = (answer == P_AGAIN) ? P_AGAIN : P_REFUSED;
        }
    }
    visit->address = (uint16_t)(visit->address + length);
    visit->at = 0u;
    visit->end = length;
}

static uint8_t p_next(p_visit *visit)
{
    uint8_t byte = 0u;
    if (visit->at == visit->end) {
        p_fetch(visit, P_PIECE_);
    }
    if (visit->trouble == P_OK) {
        byte = visit->piece[visit->at];
        visit->sum = p_add(visit->sum, byte);
        visit->changed = (uint8_t)(visit->changed | (byte ^ P_BLANKS_));
    }
    visit->at++;
    visit->left--;
    return byte;
}
