/* Adds a field to the record that is saved, as many bits as it is wide, the lowest first. */
static void p_push(p_store *store, uint16_t code, uint8_t width)
{
    uint16_t rest = code;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        store->byte = (uint8_t)(store->byte >> 1);
        if ((rest & 1u) != 0u) {
            store->byte |= 0x80u;
        }
        rest = (uint16_t)(rest >> 1);
        store->bits++;
        if (store->bits == 8u) {
            store->bits = 0u;
            store->record[store->done] = store->byte;
            store->done++;
        }
    }
}
