/* Passes the next field at the cursor: as many bits as it is wide, at most 16, the highest first. What is packed is set
 * in bytes that have been cleared; what is unpacked passes as 0. Answers what stands there then. */
static uint16_t p_field(p_store *store, uint16_t code, uint8_t width)
{
    uint16_t value = 0u;
    uint16_t place = 1u;
    uint8_t i;
    for (i = width; i > 1u; i--) {
        place = (uint16_t)(place << 1);
    }
    for (i = width; i != 0u; i--) {
        if (store->mask == 0u) {
            store->mask = 0x80u;
            store->cursor++;
        }
        if ((code & place) != 0u) {
            *store->cursor |= store->mask;
        }
        if ((*store->cursor & store->mask) != 0u) {
            value |= place;
        }
        place = (uint16_t)(place >> 1);
        store->mask = (uint8_t)(store->mask >> 1);
    }
    return value;
}
