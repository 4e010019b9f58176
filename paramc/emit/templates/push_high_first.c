/* Adds a field to the record that is saved, as many bits as it is wide, the highest first. */
static void p_push(p_store *store, uint16_t code, uint8_t width)
{
    uint8_t i;
    for (i = width; i != 0u; i--) {
        store->byte = (uint8_t)((uint8_t)(store->byte << 1) | (uint8_t)((uint16_t)(code >> (uint8_t)(i - 1u)) & 1u));
        store->bits++;
        if (store->bits == 8u) {
            store->bits = 0u;
            store->record[store->done] = store->byte;
            store->done++;
        }
    }
}
