/* What the checksum covers before the record: product code and address. Identity has the address alone, so
 * that anything can read whose memory it is. */
static void p_cover(p_store *store, uint16_t address, uint8_t revision)
{
    store->sum = (store->kind == P_IDENTITY_) ? P_START_ : P_CODED_;
    p_take(store, (uint8_t)(address >> 8));
    p_take(store, (uint8_t)(address & 0xFFu));
    (void)revision;
}

/* Whose a record is whose checksum is right. Revision 0 is a trial's, which this file, a release, does not
 * take even where it could. */
static p_answer p_age(uint8_t revision)
{
    p_answer answer = P_SOUND;
    if (revision == 0u) {
        answer = P_TRIAL;
    } else if (revision != P_REVISION) {
        answer = (revision < P_REVISION) ? P_OLDER : P_NEWER;
    }
    return answer;
}
