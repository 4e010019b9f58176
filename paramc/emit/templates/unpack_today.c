/* Takes the fields of a record; those of earlier revisions have none that this file knows. Answers 1 where it
 * has taken them. */
static uint8_t p_unpack(p_store *store, uint8_t revision, uint8_t *to, uint8_t *text)
{
    uint8_t known = 1u;
    if ((store->kind == P_IDENTITY_) || (revision == 0u) || (revision >= P_REVISION)) {
        p_fields(store, to, text);
    } else {
        known = 0u;
    }
    return known;
}
