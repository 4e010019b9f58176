/* The next field of a record: as many bits as it is wide, at most 16, the highest first. */
static uint16_t p_field(p_store *store, uint8_t width)
{
    uint16_t value = 0u;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        if (store->bits == 0u) {
            store->byte = p_next(store);
            store->bits = 8u;
        }
        value = (uint16_t)((uint16_t)(value << 1) | (uint16_t)(store->byte >> 7));
        store->byte = (uint8_t)(store->byte << 1);
        store->bits--;
    }
    return value;
}
