/* The checksum with one byte more, the highest bit first. */
static p_sum p_add(p_sum sum, uint8_t byte)
{
    p_sum after = (p_sum)(sum ^ ((p_sum)byte << P_DOWN_));
    uint8_t bit;
    for (bit = 0u; bit < 8u; bit++) {
        if ((after & P_TOP_) != 0u) {
            after = (p_sum)((p_sum)(after << 1) ^ P_POLY_);
        } else {
            after = (p_sum)(after << 1);
        }
    }
    return (p_sum)(after & P_ALL_);
}
