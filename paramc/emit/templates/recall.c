/* ---- Knobs after a recall. */

/* The quotient nearest to one * other / parts; half way counts as below. */
static uint16_t p_part(uint16_t one, uint16_t other, uint16_t parts)
{
    uint32_t whole = (uint32_t)one * other;
    uint32_t rest = whole % parts;
    whole = whole / parts;
    if (rest > (parts - rest)) {
        whole++;
    }
    return (uint16_t)whole;
}

/* Where a code goes that shares the way to the end with a knob: both are there together. */
static uint16_t p_nearer(const p_follow *follow, uint16_t knob, uint16_t last)
{
    uint16_t nearer;
    if (knob > follow->from_knob) {
        nearer = (uint16_t)(last - p_part(
            (uint16_t)(last - follow->from_code), (uint16_t)(last - knob), (uint16_t)(last - follow->from_knob)));
    } else {
        nearer = p_part(follow->from_code, knob, follow->from_knob);
    }
    return nearer;
}

void p_follow_begin(p_follow *follow, uint16_t knob, uint16_t code)
{
    follow->knob = knob;
    follow->code = code;
    follow->from_knob = knob;
    follow->from_code = code;
    follow->joined = (knob == code) ? 1u : 0u;
    follow->handed = 0u;
}

void p_follow_handed(p_follow *follow)
{
    follow->handed = 1u;
}

uint16_t p_follow_turn(p_follow *follow, uint8_t how, uint16_t knob, uint16_t code, uint16_t last)
{
    uint16_t low = (knob < follow->knob) ? knob : follow->knob;
    uint16_t high = (knob < follow->knob) ? follow->knob : knob;
    uint16_t now = code;
    uint8_t way = ((follow->handed != 0u) && (how == P_LEAP)) ? P_MEET : how;
    if (code != follow->code) {
        follow->from_knob = follow->knob;
        follow->from_code = code;
        follow->joined = 0u;
    }
    if ((low != high) && (high <= last) && (code <= last)) {
        if ((follow->joined != 0u) || (way == P_LEAP)) {
            now = knob;
        } else if (way == P_MEET) {
            if ((code >= low) && (code <= high)) {
                now = knob;
            }
        } else {
            if (((knob > follow->knob) && (follow->knob < follow->from_knob))
                || ((knob < follow->knob) && (follow->knob > follow->from_knob))) {
                follow->from_knob = follow->knob;
                follow->from_code = code;
            }
            now = p_nearer(follow, knob, last);
        }
        if (now == knob) {
            follow->joined = 1u;
            follow->handed = 0u;
        }
    }
    follow->knob = knob;
    follow->code = now;
    return now;
}
