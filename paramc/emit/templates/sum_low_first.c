/* The checksum with one byte more, the lowest bit first; the polynomial is written the same way round. */
static p_sum p_add(p_sum sum, uint8_t byte)
{
    p_sum after = (p_sum)(sum ^ byte);
    uint8_t bit;
    for (bit = 0u; bit < 8u; bit++) {
        if ((after & 1u) != 0u) {
            after = (p_sum)((p_sum)(after >> 1) ^ P_POLY_);
        } else {
            after = (p_sum)(after >> 1);
        }
    }
    return after;
}
