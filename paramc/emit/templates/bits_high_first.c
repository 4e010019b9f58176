/* The next field of a record: as many bits as it is wide, at most 16, the highest first. */
static uint16_t p_field(p_visit *visit, uint8_t width)
{
    uint16_t value = 0u;
    uint8_t i;
    for (i = 0u; i < width; i++) {
        if (visit->bits == 0u) {
            visit->byte = p_next(visit);
            visit->bits = 8u;
        }
        value = (uint16_t)((uint16_t)(value << 1) | (uint16_t)(visit->byte >> 7));
        visit->byte = (uint8_t)(visit->byte << 1);
        visit->bits--;
    }
    return value;
}
