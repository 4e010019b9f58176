/* The checksum over so many bytes of a record for the place that has been looked at last, and over what it covers
 * before them: product code and address. Identity has the address alone, so that anything can read whose memory it
 * is. */
static P_APART p_sum p_sum_of(p_store *store, const uint8_t *record, p_length length)
{
    const uint8_t *byte = record;
    p_sum sum = (store->kind == P_IDENTITY_) ? P_START_ : P_CODED_;
    p_length i;
    store->changed = 0u;
    sum = p_add(sum, (uint8_t)(store->address >> 8));
    sum = p_add(sum, (uint8_t)(store->address & 0xFFu));
    for (i = length; i != 0u; i--) {
        sum = p_add(sum, *byte);
        store->changed |= (uint8_t)(*byte ^ P_BLANKS_);
        byte++;
    }
    return sum;
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
    } else {
        /* of this one */
    }
    return answer;
}
