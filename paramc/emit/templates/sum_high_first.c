/* The checksum with one byte more, the highest bit first. */
static p_sum p_add(p_sum sum, uint8_t byte)
{
    uint8_t bit;
    sum = (p_sum)(sum ^ ((p_sum)byte << P_DOWN_));
    for (bit = 0u; bit < 8u; bit++) {
        if ((sum & P_TOP_) != 0u) {
            sum = (p_sum)((p_sum)(sum << 1) ^ P_POLY_);
        } else {
            sum = (p_sum)(sum << 1);
        }
    }
    return (p_sum)(sum & P_ALL_);
}
