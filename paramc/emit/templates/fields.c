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
