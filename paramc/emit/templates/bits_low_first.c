/* The next field of a record: as many bits as it is wide, at most 16, the lowest first. Identity alone has
 * the highest first, so that it reads alike in every product. */
static uint16_t p_field(p_store *store, uint8_t width)
{
    uint16_t value = 0u;
    uint16_t place = 1u;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        if (store->bits == 0u) {
            store->byte = p_next(store);
            store->bits = 8u;
        }
        if (store->kind == P_IDENTITY_) {
            value = (uint16_t)((uint16_t)(value << 1) | (uint16_t)(store->byte >> 7));
            store->byte = (uint8_t)(store->byte << 1);
        } else {
            if ((store->byte & 1u) != 0u) {
                value = (uint16_t)(value | place);
            }
            place = (uint16_t)(place << 1);
            store->byte = (uint8_t)(store->byte >> 1);
        }
        store->bits--;
    }
    return value;
}
