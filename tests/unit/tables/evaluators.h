/* The evaluators of the forms for words T of W bits, as the pages of the forms describe them. P(x) pastes the width.
 * WIDE is the type of T's products: at least 16 bits, so that no product is promoted to a signed int. */

static T P(between)(const T *at, uint8_t fraction)
{
    T way = (T)(at[1] - at[0]);
    uint16_t low = (uint16_t)((uint16_t)((uint16_t)(way & 0xFFu) * fraction) + 128u);
    T high = (T)((WIDE)((WIDE)way >> 8) * fraction);
    return (T)(at[0] + high + (T)(low >> 8));
}

static T P(grid)(const T *knots, uint16_t place)
{
    return P(between)(&knots[place >> 8], (uint8_t)place);
}

static T P(blocks)(const T *knots, const uint8_t *starts, uint16_t place)
{
    const uint8_t *at = &starts[place >> 8];
    uint16_t way = (uint16_t)((uint16_t)(place & 0xFFu) * (uint8_t)(at[1] - at[0]));
    return P(between)(&knots[at[0] + (way >> 8)], (uint8_t)way);
}

static T P(wide_blocks)(const T *knots, const uint8_t *starts, uint8_t size, uint16_t k)
{
    const uint8_t *at = &starts[k >> size];
    uint16_t in = (uint16_t)(k & (uint16_t)((1u << size) - 1u));
    uint16_t way = (uint16_t)(((uint32_t)in * (uint8_t)(at[1] - at[0])) >> (size - 8u));
    return P(between)(&knots[at[0] + (way >> 8)], (uint8_t)way);
}

typedef struct {
    uint16_t start;
    T base;
    uint32_t slope;
} P(segment);

static T P(segments)(const P(segment) *last, uint8_t shift, uint16_t k)
{
    uint32_t half = ((uint32_t)1 << shift) >> 1;
    while (k < last->start) {
        last--;
    }
    return (T)(last->base + (T)((last->slope * (uint16_t)(k - last->start) + half) >> shift));
}

#if W <= 16
static T P(short_segments)(const P(segment) *last, uint8_t shift, uint16_t k)
{
    uint16_t half = (uint16_t)((uint16_t)(1u << shift) >> 1);
    uint16_t product;
    while (k < last->start) {
        last--;
    }
    product = (uint16_t)((uint16_t)last->slope * (uint32_t)(uint16_t)(k - last->start));
    return (T)(last->base + (T)((uint16_t)(product + half) >> shift));
}

typedef struct {
    uint16_t code;
    T height;
} P(knot);

static T P(knots)(const P(knot) *last, uint16_t k)
{
    uint16_t run;
    uint32_t rise;
    while (k < last->code) {
        last--;
    }
    run = (uint16_t)(last[1].code - last[0].code);
    rise = (T)(last[1].height - last[0].height);
    return (T)(last->height + (T)((rise * (uint16_t)(k - last->code) + run / 2u) / run));
}
#endif
