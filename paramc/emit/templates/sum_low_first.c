/* The checksum with one byte more, the lowest bit first; the polynomial is written the same way round. */
static p_sum p_add(p_sum sum, uint8_t byte)
{
    uint8_t bit;
    sum = (p_sum)(sum ^ byte);
    for (bit = 0u; bit < 8u; bit++) {
        if ((sum & 1u) != 0u) {
            sum = (p_sum)((p_sum)(sum >> 1) ^ P_POLY_);
        } else {
            sum = (p_sum)(sum >> 1);
        }
    }
    return sum;
}
