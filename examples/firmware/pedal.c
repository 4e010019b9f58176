/* A small main loop for Teasel Pinch, as its firmware would have it: wake, play, follow knobs and foot, save.
 *
 * It shows where each generated function belongs. What reads down goes to tp_feet_step, and what that means comes out
 * as events; what a knob gives goes to tp_follow_turn, which knows what to do when a preset holds another value than
 * the knob points to.
 *
 * When to save is the firmware's choice, and this is one: a slot keeps what the knobs make of it. What has changed is
 * saved once nothing has moved for two seconds, and a sound also before the next preset is called. One step of a save
 * is done in each round of the main loop, so that knobs and foot are never waited for; power may go at any moment. */
#include <stddef.h>

#include "board.h"

#define TURNED 6u /* the five knobs and the toggle, by the numbers of their controls */
#define REST_MS 2000u

/* What has changed and is not saved. */
#define UNSAVED_STATE 1u
#define UNSAVED_SETUP 2u
#define UNSAVED_SOUND 4u

typedef struct {
    tp_store store;
    tp_look look;
    tp_trims trims;
    tp_answer answers;                  /* gravest thing that opening found */
    uint16_t turned[TURNED][TP_MODES];  /* last code of each control in each mode */
    tp_follow follow[TURNED][TP_MODES]; /* and how far it is from the code that plays */
    tp_feet feet;
    uint8_t mode;
    uint8_t path;
    uint8_t path_before;                /* what the press changed, for undoing it */
    uint8_t moved;                      /* a knob or the toggle has moved in this round */
    uint8_t asks;                       /* a reset asks for its second hold: for a lamp */
    uint8_t unsaved;
    uint8_t saving;                     /* tp_save_step is not through */
    uint8_t next;                       /* the next preset has been asked for */
    uint8_t resetting;
    tp_answer unkept;                   /* why something could not be saved: for a lamp */
    uint32_t stepped_at;
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

/* Tries a load until the memory is not busy: while waking only, when the path is muted and nothing plays. */
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
    p->unsaved = 0u;
    p->saving = 0u;
    p->next = 0u;
    p->asks = 0u;
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

/* What turning a control to a code of its own makes of its item. The toggle acts at once, as its position is its
 * value. The first time only shows where the control stands: memory's values stand until a hand turns one. */
static void turn(pedal *p, uint8_t knob, uint16_t code, uint32_t now)
{
    static const uint8_t how[TURNED] = {
        TP_RECALL_SQUEEZE, TP_RECALL_RATIO, TP_RECALL_ATTACK, TP_RECALL_RELEASE, TP_RECALL_LEVEL, TP_LEAP
    };
    static const uint16_t codes[TURNED][2] = { /* of main and of under the panel */
        { TP_CODES_SQUEEZE, TP_CODES_DRY_BLEND }, { TP_CODES_RATIO, TP_CODES_SIDE_CUT },
        { TP_CODES_ATTACK, TP_CODES_KNEE },       { TP_CODES_RELEASE, TP_CODES_MAKE_UP },
        { TP_CODES_LEVEL, TP_CODES_POWER_ON },    { TP_CODES_TONE, TP_CODES_METER }
    };
    tp_index item = tp_sets(p->mode, knob);
    uint16_t is = tp_get(&p->look, item);
    uint16_t last = (uint16_t)(codes[knob][(p->mode == TP_MODE_UNDER) ? 1u : 0u] - 1u);
    if (p->turned[knob][p->mode] == TP_FRESH) {
        tp_follow_begin(&p->follow[knob][p->mode], code, is);
    } else {
        p->moved = 1u;
        code = tp_follow_turn(&p->follow[knob][p->mode], how[knob], code, is, last);
        if ((code != is) && (tp_set(&p->look, item, code) != 0u)) {
            changed(p, (p->mode == TP_MODE_UNDER) ? UNSAVED_SETUP : (UNSAVED_SOUND | UNSAVED_STATE), now);
            tell_engine(p);
        }
    }
}

static void follow_knobs(pedal *p, uint32_t now)
{
    uint8_t knob;
    uint16_t code;
    p->moved = 0u;
    for (knob = 0u; knob < TURNED; knob++) {
        code = code_of(p, knob, p->turned[knob][p->mode]);
        if (code != p->turned[knob][p->mode]) {
            turn(p, knob, code, now);
            p->turned[knob][p->mode] = code;
        }
    }
}

/* In another mode the knobs mean something else: where each stands is looked at afresh. */
static void go_to(pedal *p, uint8_t mode)
{
    uint8_t knob;
    p->mode = mode;
    for (knob = 0u; knob < TURNED; knob++) {
        p->turned[knob][mode] = TP_FRESH;
    }
}

/* Tries once to call the next preset: while the memory is busy, knobs and foot go on. */
static void next_preset(pedal *p, uint32_t now)
{
    uint8_t slot = (uint8_t)((p->look.last_preset + 1u) % TP_SLOTS);
    tp_answer answer = tp_load_preset(&p->store, slot, &p->look);
    if (answer == TP_REFUSED) {
        p->next = 0u;
        p->unkept = answer;
    } else if (answer != TP_AGAIN) {
        p->next = 0u;
        changed(p, UNSAVED_STATE, now);
        tell_engine(p);
    } else {
        /* once more in the next round */
    }
}

/* Begins to save one of the things that have changed. What cannot be saved now is not tried again until it changes
 * anew: a memory of a later revision or of another product stays as it is, and TP_MORE says that waking could not
 * look at all of it. */
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
    if (answer != TP_AGAIN) {
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

/* What a gesture asks for. The bench has firmware of its own, which is linked with teasel_pinch_bench.c, so that here
 * the jumper enters nothing. */
static void act(pedal *p, const tp_event *event, uint32_t now)
{
    tp_gesture gesture;
    if (event->what == TP_IDLE) {
        go_to(p, TP_MODE_MAIN);
    } else if (event->what == TP_ASK) {
        p->asks = 1u;
    } else if (event->what == TP_CALM) {
        p->asks = 0u;
    } else if ((p->path == TP_MUTED) || (tp_gesture_get(event->gesture, &gesture) == 0u)) {
        /* nothing plays, so that there is nothing to switch */
    } else if (event->what == TP_UNDO) {
        if (gesture.deed == TP_DEED_BYPASS) {
            play(p, p->path_before);
        }
    } else if (event->what == TP_DO) {
        switch (gesture.deed) {
        case TP_DEED_BYPASS:
            p->path_before = p->path;
            play(p, (p->path == TP_ENGAGED) ? TP_BYPASSED : TP_ENGAGED);
            changed(p, UNSAVED_STATE, now);
            break;
        case TP_DEED_NEXT:
            p->next = 1u;
            break;
        case TP_DEED_RESET_LOOK:
            p->asks = 0u;
            p->resetting = 1u;
            break;
        case TP_DEED_ENTER:
            if (gesture.about == TP_MODE_UNDER) {
                go_to(p, TP_MODE_UNDER);
            }
            break;
        default:
            break;
        }
    } else {
        /* the jumper is open again */
    }
}

static void follow_feet(pedal *p, uint32_t now)
{
    tp_event events[TP_EVENTS];
    tp_panel_now panel;
    uint8_t count;
    uint8_t at;
    panel.elapsed_ms = (uint16_t)(now - p->stepped_at);
    panel.mode = p->mode;
    panel.moved = p->moved;
    panel.down[TP_FOOT_FOOT] = board_foot();
    panel.closed[TP_JUMPER_1] = board_jumper();
    p->stepped_at = now;
    count = tp_feet_step(&p->feet, &panel, events);
    for (at = 0u; at < count; at++) {
        act(p, &events[at], now);
    }
}

int main(void)
{
    static pedal p;
    uint32_t now;
    board_begin();
    wake(&p);
    tp_feet_begin(&p.feet);
    p.stepped_at = board_milliseconds();
    while (board_runs() != 0u) {
        now = board_milliseconds();
        follow_knobs(&p, now);
        follow_feet(&p, now);
        follow_memory(&p, now);
    }
    return 0;
}
