/* A small main loop for Teasel Pinch, as its firmware would have it: wake, play, follow knobs and foot, save.
 *
 * It shows where each generated function belongs. Debouncing is the board's, and the hidden mode's gestures are
 * followed in their simplest form.
 *
 * When to save is the firmware's choice, and this is one: a slot keeps what the knobs make of it. What has changed is
 * saved once nothing has moved for two seconds, and a sound also before the next preset is called. One step of a save
 * is done in each round of the main loop, so that knobs and foot are never waited for; power may go at any moment. */
#include <stddef.h>

#include "board.h"

#define TURNED 6u /* the five knobs and the toggle, by the numbers of their controls */
#define HOLD_NEXT_MS 800u
#define HOLD_UNDER_MS 3000u
#define UNDER_IDLE_MS 20000u
#define REST_MS 2000u

/* What has changed and is not saved. */
#define UNSAVED_STATE 1u
#define UNSAVED_SETUP 2u
#define UNSAVED_SOUND 4u

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
    uint8_t unsaved;
    uint8_t saving;                    /* tp_save_step is not through */
    uint8_t next;                      /* the next preset has been asked for */
    uint8_t reset_asked;               /* the first of the two holds that reset the look */
    uint8_t resetting;
    tp_answer unkept;                  /* why something could not be saved: for a lamp */
    uint32_t down_since;
    uint32_t moved_at;
    uint32_t changed_at;
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
    driver.write = board_write;
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
    p->unsaved = 0u;
    p->saving = 0u;
    p->next = 0u;
    p->reset_asked = 0u;
    p->resetting = 0u;
    p->unkept = TP_SOUND;
    for (knob = 0u; knob < TURNED; knob++) {
        for (mode = 0u; mode < TP_MODES; mode++) {
            p->turned[knob][mode] = TP_FRESH;
        }
    }
    tell_engine(p);
    play(p, (tp_self_test(TP_BUILD) == 0u) ? tp_start(&p->store, &p->look) : TP_MUTED);
}

static void changed(pedal *p, uint8_t what, uint32_t now)
{
    p->unsaved |= what;
    p->changed_at = now;
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
        p->reset_asked = 0u;
        changed(p, (p->mode == TP_MODE_UNDER) ? UNSAVED_SETUP : (UNSAVED_SOUND | UNSAVED_STATE), now);
        tell_engine(p);
    }
}

static void next_preset(pedal *p, uint32_t now)
{
    uint8_t slot = (uint8_t)((p->look.last_preset + 1u) % TP_SLOTS);
    UNTIL_ANSWERED(tp_load_preset(&p->store, slot, &p->look));
    p->next = 0u;
    changed(p, UNSAVED_STATE, now);
    tell_engine(p);
}

/* Begins to save one of the things that have changed. What cannot be saved now is not tried again until it changes
 * anew: a memory of a later revision or of another product stays as it is. */
static void begin_save(pedal *p)
{
    tp_answer answer;
    uint8_t what = UNSAVED_STATE;
    if ((p->unsaved & UNSAVED_SOUND) != 0u) {
        what = UNSAVED_SOUND;
        answer = tp_save_preset(&p->store, p->look.last_preset, &p->look);
    } else if ((p->unsaved & UNSAVED_SETUP) != 0u) {
        what = UNSAVED_SETUP;
        answer = tp_save_setup(&p->store, &p->look);
    } else {
        answer = tp_save_state(&p->store, &p->look);
    }
    if ((answer != TP_MORE) && (answer != TP_AGAIN)) {
        p->unsaved &= (uint8_t)~what;
        p->saving = (answer == TP_OK) ? 1u : 0u;
        p->unkept = (answer == TP_OK) ? p->unkept : answer;
    }
}

/* One step of what is to be done with the memory. */
static void follow_memory(pedal *p, uint32_t now)
{
    tp_answer answer;
    uint8_t rested = ((now - p->changed_at) >= REST_MS) ? 1u : 0u;
    if (p->resetting != 0u) {
        answer = tp_reset_look_step(&p->store);
        if (answer == TP_SOUND) {
            wake(p);
        } else if ((answer != TP_MORE) && (answer != TP_AGAIN)) {
            tp_save_abandon(&p->store);
            p->resetting = 0u;
            p->unkept = answer;
        } else {
            /* not through */
        }
    } else if (p->saving != 0u) {
        answer = tp_save_step(&p->store);
        if ((answer != TP_MORE) && (answer != TP_AGAIN)) {
            if (answer == TP_REFUSED) {
                tp_save_abandon(&p->store);
            }
            p->saving = 0u;
            p->unkept = answer;
        }
    } else if ((p->next != 0u) && ((p->unsaved & UNSAVED_SOUND) == 0u)) {
        next_preset(p, now);
    } else if ((p->unsaved != 0u) && ((rested != 0u) || (p->next != 0u))) {
        begin_save(p);
    } else {
        /* all is as it should be */
    }
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
        changed(p, UNSAVED_STATE, now);
    }
    if ((down != 0u) && (p->held == 0u) && (p->mode == TP_MODE_MAIN) && ((now - p->down_since) >= HOLD_NEXT_MS)) {
        p->held = 1u;
        play(p, p->path_before);
        p->next = 1u;
    }
    if ((down != 0u) && (p->held == 0u) && (p->mode == TP_MODE_UNDER) && ((now - p->down_since) >= HOLD_UNDER_MS)) {
        /* The look goes back to factory values at the second of two such holds. */
        p->held = 1u;
        p->resetting = p->reset_asked;
        p->reset_asked = 1u;
        p->moved_at = now;
    }
    p->foot = down;
}

static void follow_modes(pedal *p, uint32_t now)
{
    if ((p->mode == TP_MODE_UNDER) && ((now - p->moved_at) >= UNDER_IDLE_MS)) {
        p->mode = TP_MODE_MAIN;
        p->reset_asked = 0u;
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
        follow_memory(&p, now);
    }
    return 0;
}
