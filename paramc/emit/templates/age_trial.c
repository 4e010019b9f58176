/* What the checksum covers before the record: product code, address and, in a trial's own record, the
 * fingerprint. Identity has the address alone, so that anything can read whose memory it is. */
static void p_cover(p_store *store, uint16_t address, uint8_t revision)
{
    uint8_t i;
    uint8_t at = (store->kind == P_BENCH_) ? 4u : 0u;
    store->sum = (store->kind == P_IDENTITY_) ? P_START_ : P_CODED_;
    p_take(store, (uint8_t)(address >> 8));
    p_take(store, (uint8_t)(address & 0xFFu));
    if ((store->kind != P_IDENTITY_) && (revision == 0u)) {
        for (i = 0u; i < 4u; i++) {
            p_take(store, P_FLASH_U8(&p_fingerprints[at + i]));
        }
    }
}

/* Whose a record is whose checksum is right. This file is a trial: revision 0 with its own fingerprint, and
 * the revision that it wants to become. */
static p_answer p_age(uint8_t revision)
{
    p_answer answer = P_SOUND;
    if ((revision != 0u) && (revision != P_REVISION)) {
        answer = (revision < P_REVISION) ? P_OLDER : P_NEWER;
    }
    return answer;
}
