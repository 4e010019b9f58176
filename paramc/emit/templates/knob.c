/* An ADC count as a share of the way between the ends, 0 to top: the nearest integer, a tie to the even one. */
static uint16_t p_share(uint16_t adc, const p_ends *ends, uint16_t top)
{
    uint16_t way;
    uint16_t span;
    uint32_t whole;
    uint32_t rest;
    if (ends->low < ends->high) {
        way = (adc > ends->low) ? (uint16_t)(adc - ends->low) : 0u;
        span = (uint16_t)(ends->high - ends->low);
    } else {
        way = (adc < ends->low) ? (uint16_t)(ends->low - adc) : 0u;
        span = (uint16_t)(ends->low - ends->high);
    }
    if (way >= span) {
        whole = top;
    } else {
        whole = (uint32_t)top * way;
        rest = whole % span;
        whole = whole / span;
        rest = rest * 2u;
        if ((rest > span) || ((rest == span) && ((whole & 1u) != 0u))) {
            whole++;
        }
    }
    return (uint16_t)whole;
}

/* The code of an item for a count, or the last code where that lies between the codes of the counts slack below
 * and above. Ends that are equal tell nothing: the last code stays, or the default where that is no code. */
static uint16_t p_settle(
    uint16_t adc, const p_ends *ends, uint16_t last_code, uint16_t top, uint16_t slack, p_index item,
    uint16_t (*code)(uint16_t reading))
{
    uint16_t below = (adc > slack) ? (uint16_t)(adc - slack) : 0u;
    uint16_t above = (adc < (uint16_t)(top - slack)) ? (uint16_t)(adc + slack) : top;
    uint16_t settled = last_code;
    below = code(p_share(below, ends, top));
    above = code(p_share(above, ends, top));
    if (ends->low == ends->high) {
        if (P_UNUSED_(&p_rows[item], item, last_code)) {
            settled = P_FLASH_U16(&p_rows[item].standard);
        }
    } else if (((last_code < below) && (last_code < above)) || ((last_code > below) && (last_code > above))) {
        settled = code(p_share(adc, ends, top));
    } else {
        /* too little has changed */
    }
    return settled;
}
