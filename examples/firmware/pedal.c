/* A small main loop for Teasel Pinch, as its firmware would have it: wake, play, follow knobs and foot.
 *
 * It shows where each generated function belongs. It leaves out what a product would add: debouncing is the
 * board's, saving is not generated yet, and the hidden mode's gesture is followed in its simplest form. */
#include <stddef.h>

#include "board.h"

#define TURNED 6u /* the five knobs and the toggle, by the numbers of their controls */
#define HOLD_NEXT_MS 800u
#define HOLD_UNDER_MS 3000u
#define UNDER_IDLE_MS 20000u

typedef struct {
    tp_store store;
    tp_look look;
    tp_trims trims;
    tp_answer answers;                 /* gravest thing that opening found */
    uint16_t turned[TURNED][TP_MODES]; /* last code of each control in each mode */
    uint8_t mode;
    uint8_t path;
    uint8_t foot;
    uint8_t held;                      /* the hold has done its deed */
    uint8_t path_before;               /* what the press changed, for undoing it */
    uint32_t down_since;
    uint32_t moved_at;
} pedal;

static const tp_ends *ends_of(const pedal *p, uint8_t knob)
{
    const tp_ends *ends = &p->trims.squeeze_ends;
    switch (knob) {
    case TP_CONTROL_RATIO:
        ends = &p->trims.ratio_ends;
        break;
    case TP_CONTROL_ATTACK:
        ends = &p->trims.attack_ends;
        break;
    case TP_CONTROL_RELEASE:
        ends = &p->trims.release_ends;
        break;
    case TP_CONTROL_LEVEL:
        ends = &p->trims.level_ends;
        break;
    default:
        break;
    }
    return ends;
}

/* The code that a control means now in the mode that is on. */
static uint16_t code_of(const pedal *p, uint8_t knob, uint16_t last)
{
    const tp_ends *ends = ends_of(p, knob);
    uint16_t adc = board_knob(knob);
    uint16_t code = last;
    if (knob == TP_CONTROL_TONE) {
        code = board_toggle(knob);
    } else if (p->mode == TP_MODE_UNDER) {
        switch (knob) {
        case TP_CONTROL_SQUEEZE:
            code = tp_knob_dry_blend(adc, ends, last);
            break;
        case TP_CONTROL_RATIO:
            code = tp_knob_side_cut(adc, ends, last);
            break;
        case TP_CONTROL_ATTACK:
            code = tp_knob_knee(adc, ends, last);
            break;
        case TP_CONTROL_RELEASE:
            code = tp_knob_make_up(adc, ends, last);
            break;
        default:
            code = tp_knob_power_on(adc, ends, last);
            break;
        }
    } else {
        switch (knob) {
        case TP_CONTROL_SQUEEZE:
            code = tp_knob_squeeze(adc, ends, last);
            break;
        case TP_CONTROL_RATIO:
            code = tp_knob_ratio(adc, ends, last);
            break;
        case TP_CONTROL_ATTACK:
            code = tp_knob_attack(adc, ends, last);
            break;
        case TP_CONTROL_RELEASE:
            code = tp_knob_release(adc, ends, last);
            break;
        default:
            code = tp_knob_level(adc, ends, last);
            break;
        }
    }
    return code;
}

/* Everything that the audio code listens to. */
static void tell_engine(const pedal *p)
{
    const tp_look *look = &p->look;
    board_engine(TP_ITEM_SQUEEZE, tp_engine_squeeze(look->squeeze));
    board_engine(TP_ITEM_RATIO, (int32_t)tp_engine_ratio(look->ratio));
    board_engine(TP_ITEM_ATTACK, (int32_t)tp_engine_attack(look->attack));
    board_engine(TP_ITEM_RELEASE, (int32_t)tp_engine_release(look->release));
    board_engine(TP_ITEM_LEVEL, (int32_t)tp_engine_level(look->level));
    board_engine(TP_ITEM_TONE, (int32_t)tp_engine_tone(look->tone));
    board_engine(TP_ITEM_DRY_BLEND, (int32_t)tp_engine_dry_blend(look->dry_blend));
    board_engine(TP_ITEM_SIDE_CUT, (int32_t)tp_engine_side_cut(look->side_cut));
    board_engine(TP_ITEM_KNEE, (int32_t)tp_engine_knee(look->knee));
    board_engine(TP_ITEM_MAKE_UP, (int32_t)look->make_up);
    board_engine(TP_ITEM_METER, (int32_t)look->meter);
    board_engine(TP_ITEM_VCA_NULL, (int32_t)tp_engine_vca_null(p->trims.vca_null));
    board_engine(TP_ITEM_DETECTOR_GAIN, (int32_t)tp_engine_detector_gain(p->trims.detector_gain));
    board_engine(TP_ITEM_UNITY_LEVEL, (int32_t)tp_engine_unity_level(p->trims.unity_level));
}

static void play(pedal *p, uint8_t path)
{
    p->path = path;
    p->look.engaged = (path == TP_ENGAGED) ? 1u : 0u;
    board_path(path);
}

/* Tries a load until the memory is not busy. Nothing plays in the meantime: the path is muted. */
#define UNTIL_ANSWERED(call)       \
    do {                           \
    } while ((call) == TP_AGAIN)

/* Muted until memory has answered; then as the product says, never louder than it knows to be right. */
static void wake(pedal *p)
{
    tp_driver driver;
    uint8_t knob;
    uint8_t mode;
    board_path(TP_MUTED);
    driver.read = board_read;
    driver.context = NULL;
    tp_open(&p->store, &driver);
    do {
        p->answers = tp_open_step(&p->store);
    } while ((p->answers == TP_MORE) || (p->answers == TP_AGAIN));
    tp_factory_state(&p->look);
    tp_factory_setup(&p->look);
    tp_nominal_trims(&p->trims);
    UNTIL_ANSWERED(tp_load_trims(&p->store, &p->trims));
    UNTIL_ANSWERED(tp_load_setup(&p->store, &p->look));
    UNTIL_ANSWERED(tp_load_state(&p->store, &p->look));
    p->mode = TP_MODE_MAIN;
    p->foot = 0u;
    p->held = 0u;
    for (knob = 0u; knob < TURNED; knob++) {
        for (mode = 0u; mode < TP_MODES; mode++) {
            p->turned[knob][mode] = TP_FRESH;
        }
    }
    tell_engine(p);
    play(p, (tp_self_test(TP_BUILD) == 0u) ? tp_start(&p->store, &p->look) : TP_MUTED);
}

/* Knobs and the toggle act when they have moved since they were last looked at: after waking and after a preset call the
 * memory's values stand until a hand turns one. */
static void follow_knobs(pedal *p, uint32_t now)
{
    uint8_t knob;
    uint8_t moved = 0u;
    uint16_t code;
    uint16_t *last;
    tp_index item;
    for (knob = 0u; knob < TURNED; knob++) {
        last = &p->turned[knob][p->mode];
        code = code_of(p, knob, *last);
        if (code != *last) {
            item = tp_sets(p->mode, knob);
            if ((*last != TP_FRESH) && (tp_set(&p->look, item, code) != 0u)) {
                moved = 1u;
            }
            *last = code;
        }
    }
    if (moved != 0u) {
        p->moved_at = now;
        tell_engine(p);
    }
}

static void next_preset(pedal *p)
{
    uint8_t slot = (uint8_t)((p->look.last_preset + 1u) % TP_SLOTS);
    UNTIL_ANSWERED(tp_load_preset(&p->store, slot, &p->look));
    tell_engine(p);
}

static void follow_foot(pedal *p, uint32_t now)
{
    uint8_t down = board_foot();
    if (p->path == TP_MUTED) {
        down = 0u;
    }
    if ((down != 0u) && (p->foot == 0u)) {
        p->down_since = now;
        p->held = 0u;
        p->path_before = p->path;
        play(p, (p->path == TP_ENGAGED) ? TP_BYPASSED : TP_ENGAGED);
    }
    if ((down != 0u) && (p->held == 0u) && (p->mode == TP_MODE_MAIN) && ((now - p->down_since) >= HOLD_NEXT_MS)) {
        p->held = 1u;
        play(p, p->path_before);
        next_preset(p);
    }
    p->foot = down;
}

static void follow_modes(pedal *p, uint32_t now)
{
    if ((p->mode == TP_MODE_UNDER) && ((now - p->moved_at) >= UNDER_IDLE_MS)) {
        p->mode = TP_MODE_MAIN;
    }
}

/* The foot that stays down while power comes on asks for the page under the panel. */
static void look_for_the_page_under(pedal *p)
{
    uint32_t began = board_milliseconds();
    while ((board_foot() != 0u) && (board_runs() != 0u)) {
        if ((board_milliseconds() - began) >= HOLD_UNDER_MS) {
            p->mode = TP_MODE_UNDER;
            p->foot = 1u;
            p->held = 1u;
            p->moved_at = board_milliseconds();
            break;
        }
    }
}

int main(void)
{
    static pedal p;
    uint32_t now;
    board_begin();
    wake(&p);
    look_for_the_page_under(&p);
    while (board_runs() != 0u) {
        now = board_milliseconds();
        follow_knobs(&p, now);
        follow_foot(&p, now);
        follow_modes(&p, now);
    }
    return 0;
}
