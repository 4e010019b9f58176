/* A small main loop for Long Causeway: what pedal.c leaves out. Taps become a time, MIDI goes both ways, an expression
 * pedal sets one of four items and learns its ends.
 *
 * Whatever sets an item, it is the same code of the same item, and goes through `set`. A hand that comes back to a
 * knob after that finds it where the knob was left, and lc_follow_turn knows what to do about it. What a hand, a foot
 * or the taps set is said by MIDI; what came in by MIDI is not said again. A sound that has been saved goes out as an
 * exclusive message, so that a computer beside it has it too; one that comes in plays, and is kept in its slot.
 *
 * When to save is the firmware's choice: as in pedal.c, once nothing has moved for two seconds, one step in each
 * round of the loop. Loads are tried once a round, so that nothing here waits while it plays. */
#include <stddef.h>

#include "echo_board.h"

#define TURNED 8u /* the knobs, the toggle and the rotary, by the numbers of their controls */
#define REST_MS 2000u
#define LEAST_TRAVEL 200u /* counts from heel to toe that can be learned */

/* What has changed and is not saved. */
#define UNSAVED_STATE 1u
#define UNSAVED_SETUP 2u
#define UNSAVED_SOUND 4u

#define NO_SLOT 0xFFu

typedef struct {
    lc_store store;
    lc_look look;
    lc_trims trims;
    uint16_t turned[TURNED];  /* last code of each control in the mode that is on */
    lc_follow follow[TURNED]; /* and how far it is from the code that plays */
    lc_feet feet;
    lc_taps taps;
    lc_pedal pedal;
    lc_learn learn;
    lc_midi midi;
    uint8_t message[LC_DUMP]; /* an exclusive message, as it comes in */
    char name[LC_NAME + 1u];  /* of a sound that came in */
    uint8_t named;            /* the sound that is not saved has that name */
    uint8_t learning;
    uint8_t mode;
    uint8_t path;
    uint8_t path_before; /* what the press changed, for undoing it */
    uint8_t moved;       /* a knob or switch has moved in this round */
    uint8_t call;        /* the slot that has been asked for, or NO_SLOT */
    uint8_t unsaved;
    uint8_t saving;      /* what is being saved: lc_save_step is not through */
    lc_answer unkept;    /* why something could not be saved: for a lamp */
    uint32_t stepped_at;
    uint32_t changed_at;
} echo;

/* How many codes an item has that a control sets. */
static uint16_t codes_of(lc_index item)
{
    static const uint16_t codes[LC_ROWS] = {
        [LC_ITEM_TIME] = LC_CODES_TIME, [LC_ITEM_REPEATS] = LC_CODES_REPEATS, [LC_ITEM_MIX] = LC_CODES_MIX,
        [LC_ITEM_MOD_RATE] = LC_CODES_MOD_RATE, [LC_ITEM_MOD_DEPTH] = LC_CODES_MOD_DEPTH,
        [LC_ITEM_TILT] = LC_CODES_TILT, [LC_ITEM_MOD_SHAPE] = LC_CODES_MOD_SHAPE,
        [LC_ITEM_SUBDIVISION] = LC_CODES_SUBDIVISION, [LC_ITEM_LOW_PASS] = LC_CODES_LOW_PASS,
        [LC_ITEM_PEDAL_TARGET] = LC_CODES_PEDAL_TARGET, [LC_ITEM_HEEL] = LC_CODES_HEEL,
        [LC_ITEM_TOE] = LC_CODES_TOE, [LC_ITEM_TAPS_AVERAGED] = LC_CODES_TAPS_AVERAGED,
        [LC_ITEM_CHANNEL] = LC_CODES_CHANNEL, [LC_ITEM_HOLD_ACTION] = LC_CODES_HOLD_ACTION,
        [LC_ITEM_DUCKING] = LC_CODES_DUCKING, [LC_ITEM_TEMPO_SCOPE] = LC_CODES_TEMPO_SCOPE
    };
    return codes[item];
}

static const lc_ends *ends_of(const echo *e, uint8_t knob)
{
    const lc_ends *ends = &e->trims.time_ends;
    switch (knob) {
    case LC_CONTROL_REPEATS:
        ends = &e->trims.repeats_ends;
        break;
    case LC_CONTROL_MIX:
        ends = &e->trims.mix_ends;
        break;
    case LC_CONTROL_RATE:
        ends = &e->trims.rate_ends;
        break;
    case LC_CONTROL_DEPTH:
        ends = &e->trims.depth_ends;
        break;
    case LC_CONTROL_TILT:
        ends = &e->trims.tilt_ends;
        break;
    default:
        break;
    }
    return ends;
}

/* The code that a knob means now for an item. */
static uint16_t code_of(const echo *e, uint8_t knob, lc_index item, uint16_t last)
{
    const lc_ends *ends = ends_of(e, knob);
    uint16_t adc = board_analog(knob);
    uint16_t code = last;
    switch (item) {
    case LC_ITEM_TIME:
        code = lc_knob_time(adc, ends, last);
        break;
    case LC_ITEM_REPEATS:
        code = lc_knob_repeats(adc, ends, last);
        break;
    case LC_ITEM_MIX:
        code = lc_knob_mix(adc, ends, last);
        break;
    case LC_ITEM_MOD_RATE:
        code = lc_knob_mod_rate(adc, ends, last);
        break;
    case LC_ITEM_MOD_DEPTH:
        code = lc_knob_mod_depth(adc, ends, last);
        break;
    case LC_ITEM_TILT:
        code = lc_knob_tilt(adc, ends, last);
        break;
    case LC_ITEM_LOW_PASS:
        code = lc_knob_low_pass(adc, ends, last);
        break;
    case LC_ITEM_PEDAL_TARGET:
        code = lc_knob_pedal_target(adc, ends, last);
        break;
    case LC_ITEM_HEEL:
        code = lc_knob_heel(adc, ends, last);
        break;
    case LC_ITEM_TOE:
        code = lc_knob_toe(adc, ends, last);
        break;
    case LC_ITEM_TAPS_AVERAGED:
        code = lc_knob_taps_averaged(adc, ends, last);
        break;
    case LC_ITEM_CHANNEL:
        code = lc_knob_channel(adc, ends, last);
        break;
    case LC_ITEM_DUCKING:
        code = lc_knob_ducking(adc, ends, last);
        break;
    case LC_ITEM_TEMPO_SCOPE:
        code = lc_knob_tempo_scope(adc, ends, last);
        break;
    default:
        break;
    }
    return code;
}

/* What the audio code hears of an item. What has no engine value goes as its code, or is the firmware's own. */
static void tell(const echo *e, lc_index item)
{
    const lc_look *look = &e->look;
    int32_t value = (int32_t)lc_get(look, item);
    switch (item) {
    case LC_ITEM_TIME:
        value = (int32_t)lc_engine_time(look->time);
        break;
    case LC_ITEM_REPEATS:
        value = (int32_t)lc_engine_repeats(look->repeats);
        break;
    case LC_ITEM_MIX:
        value = (int32_t)lc_engine_mix(look->mix);
        break;
    case LC_ITEM_MOD_RATE:
        value = (int32_t)lc_engine_mod_rate(look->mod_rate);
        break;
    case LC_ITEM_MOD_DEPTH:
        value = (int32_t)lc_engine_mod_depth(look->mod_depth);
        break;
    case LC_ITEM_TILT:
        value = (int32_t)lc_engine_tilt(look->tilt);
        break;
    case LC_ITEM_SUBDIVISION:
        value = (int32_t)lc_engine_subdivision(look->subdivision);
        break;
    case LC_ITEM_DUCKING:
        value = (int32_t)lc_engine_ducking(look->ducking);
        break;
    case LC_ITEM_LOW_PASS:
        value = (int32_t)lc_engine_low_pass(look->low_pass);
        break;
    default:
        break;
    }
    board_engine(item, value);
}

static void tell_all(const echo *e)
{
    static const uint8_t heard[] = { LC_ITEM_TIME,        LC_ITEM_REPEATS,   LC_ITEM_MIX,    LC_ITEM_MOD_RATE,
                                     LC_ITEM_MOD_DEPTH,   LC_ITEM_TILT,      LC_ITEM_TRAILS, LC_ITEM_DUCKING,
                                     LC_ITEM_SUBDIVISION, LC_ITEM_MOD_SHAPE, LC_ITEM_LOW_PASS };
    uint8_t at;
    for (at = 0u; at < sizeof heard; at++) {
        tell(e, heard[at]);
    }
    board_engine(LC_ITEM_LOOP_GAIN, (int32_t)lc_engine_loop_gain(e->trims.loop_gain));
    board_engine(LC_ITEM_WET_LEVEL, (int32_t)lc_engine_wet_level(e->trims.wet_level));
    board_engine(LC_ITEM_CODEC_OFFSET, (int32_t)lc_engine_codec_offset(e->trims.codec_offset));
}

static void changed(echo *e, uint8_t what)
{
    e->unsaved |= what;
    e->changed_at = e->stepped_at;
}

/* Every code of every item comes through here, whoever has set it. said: it is said by MIDI too. */
static void set(echo *e, lc_index item, uint16_t code, uint8_t said)
{
    uint8_t bytes[6];
    uint8_t length;
    if ((lc_get(&e->look, item) != code) && (lc_set(&e->look, item, code) != 0u)) {
        changed(e, (item < LC_ITEM_TIME) ? UNSAVED_SETUP : (UNSAVED_SOUND | UNSAVED_STATE));
        tell(e, item);
        if (said != 0u) {
            length = lc_midi_send(&e->look, item, lc_midi_channel(&e->look), bytes);
            if (length != 0u) {
                board_midi_out(bytes, length);
            }
        }
    }
}

static void play(echo *e, uint8_t path)
{
    e->path = path;
    e->look.engaged = (path == LC_ENGAGED) ? 1u : 0u;
    board_path(path);
}

/* ---- Waking */

/* Tries a load until the memory is not busy: while waking only, when the path is muted and nothing plays. */
#define UNTIL_ANSWERED(call)       \
    do {                           \
    } while ((call) == LC_AGAIN)

/* In another mode the knobs mean something else: where each stands is looked at afresh. */
static void go_to(echo *e, uint8_t mode)
{
    uint8_t knob;
    e->mode = mode;
    e->learning = 0u;
    for (knob = 0u; knob < TURNED; knob++) {
        e->turned[knob] = LC_FRESH;
    }
}

/* Muted until memory has answered; then as the product says, never louder than it knows to be right. */
static void wake(echo *e)
{
    lc_driver driver;
    lc_answer answer;
    board_path(LC_MUTED);
    driver.read = board_read;
    driver.write = board_write;
    driver.context = NULL;
    lc_open(&e->store, &driver);
    do {
        answer = lc_open_step(&e->store);
    } while ((answer == LC_MORE) || (answer == LC_AGAIN));
    lc_factory_state(&e->look);
    lc_factory_setup(&e->look);
    lc_nominal_trims(&e->trims);
    UNTIL_ANSWERED(lc_load_trims(&e->store, &e->trims));
    UNTIL_ANSWERED(lc_load_setup(&e->store, &e->look));
    UNTIL_ANSWERED(lc_load_state(&e->store, &e->look));
    lc_feet_begin(&e->feet);
    lc_taps_begin(&e->taps);
    lc_pedal_begin(&e->pedal);
    lc_midi_begin(&e->midi, e->message);
    go_to(e, LC_MODE_MAIN);
    e->named = 0u;
    e->call = NO_SLOT;
    e->unsaved = 0u;
    e->saving = 0u;
    e->unkept = LC_SOUND;
    e->stepped_at = board_milliseconds();
    e->changed_at = e->stepped_at;
    tell_all(e);
    /* lc_self_test is left to the bench: an ATmega328P would hold the sound back for more than a second. */
    play(e, lc_start(&e->store, &e->look));
}

/* ---- Hands */

/* A toggle or rotary acts at once, as its position is its value; a knob as lc_follow_turn says. The first time only
 * shows where it stands: what plays stands until a hand turns one. */
static void follow_knobs(echo *e)
{
    static const uint8_t how[TURNED] = { LC_RECALL_TIME, LC_RECALL_REPEATS, LC_RECALL_MIX, LC_RECALL_RATE,
                                         LC_RECALL_DEPTH, LC_RECALL_TILT, LC_LEAP, LC_LEAP };
    uint8_t knob;
    lc_index item;
    uint16_t code;
    uint16_t is;
    e->moved = 0u;
    for (knob = 0u; knob < TURNED; knob++) {
        item = lc_sets(e->mode, knob);
        if (item == LC_NOTHING) {
            continue;
        }
        is = lc_get(&e->look, item);
        code = (knob >= LC_CONTROL_SHAPE) ? board_position(knob) : code_of(e, knob, item, e->turned[knob]);
        if (e->turned[knob] == LC_FRESH) {
            lc_follow_begin(&e->follow[knob], code, is);
        } else if (code != e->turned[knob]) {
            e->moved = 1u;
            set(e, item, lc_follow_turn(&e->follow[knob], how[knob], code, is, (uint16_t)(codes_of(item) - 1u)), 1u);
        } else {
            /* nobody has turned it */
        }
        e->turned[knob] = code;
    }
}

/* The knob that sets what the pedal has set counts again, without a leap. */
static void hand_over(echo *e, lc_index item)
{
    uint8_t knob;
    for (knob = 0u; knob < TURNED; knob++) {
        if (lc_sets(e->mode, knob) == item) {
            lc_follow_handed(&e->follow[knob]);
        }
    }
}

static void follow_pedal(echo *e)
{
    uint16_t adc = board_analog(LC_CONTROL_EXP);
    lc_index item;
    uint16_t code;
    uint8_t what;
    if (e->learning != 0u) {
        lc_learn_step(&e->learn, adc);
    } else {
        what = lc_pedal_EXP(&e->pedal, adc, &e->look.exp_ends, &e->look, &item, &code);
        if (what == LC_PEDAL_SET) {
            set(e, item, code, 1u);
        } else if (what == LC_PEDAL_GONE) {
            hand_over(e, item);
        } else {
            /* it stands still */
        }
    }
}

/* The deed is done twice: with the pedal at its heel, and again when it has been at its toe. */
static void learn(echo *e)
{
    if (e->learning == 0u) {
        lc_learn_begin(&e->learn, board_analog(LC_CONTROL_EXP));
        e->learning = 1u;
    } else {
        e->learning = 0u;
        if (lc_learn_end(&e->learn, LEAST_TRAVEL, &e->look.exp_ends) != 0u) {
            changed(e, UNSAVED_SETUP);
        }
    }
}

/* ---- Feet */

static void tap(echo *e)
{
    uint16_t code;
    lc_tap_time(&e->taps);
    if (lc_tempo_time(&e->taps, &e->look, &code) != 0u) {
        set(e, LC_ITEM_TIME, code, 1u);
    }
}

/* The bench has firmware of its own, which is linked with long_causeway_bench.c, so that here the jumper enters
 * nothing. */
static void enter(echo *e, uint8_t mode)
{
    if (mode != LC_MODE_SERVICE) {
        go_to(e, mode);
    }
}

static void act(echo *e, const lc_gesture *gesture)
{
    switch (gesture->deed) {
    case LC_DEED_BYPASS:
        e->path_before = e->path;
        play(e, (e->path == LC_ENGAGED) ? LC_BYPASSED : LC_ENGAGED);
        changed(e, UNSAVED_STATE);
        break;
    case LC_DEED_FLIP:
        set(e, gesture->about, (lc_get(&e->look, gesture->about) == 0u) ? 1u : 0u, 1u);
        break;
    case LC_DEED_NEXT:
        e->call = (uint8_t)((e->look.last_preset + 1u) % LC_SLOTS);
        break;
    case LC_DEED_WHILE_HELD:
        board_effect((uint8_t)lc_get(&e->look, gesture->about));
        break;
    case LC_DEED_TAP:
        tap(e);
        break;
    case LC_DEED_LEARN:
        learn(e);
        break;
    case LC_DEED_ENTER:
        enter(e, gesture->about);
        break;
    case LC_DEED_LEAVE:
        go_to(e, LC_MODE_MAIN);
        break;
    default:
        break;
    }
}

/* Gives back what a press did that has turned out to be the beginning of a hold. */
static void undo(echo *e, const lc_gesture *gesture)
{
    if (gesture->deed == LC_DEED_BYPASS) {
        play(e, e->path_before);
    } else if (gesture->deed == LC_DEED_FLIP) {
        set(e, gesture->about, (lc_get(&e->look, gesture->about) == 0u) ? 1u : 0u, 1u);
    } else if (gesture->deed == LC_DEED_TAP) {
        lc_taps_undo(&e->taps);
    } else {
        /* nothing else is done by a press */
    }
}

static void follow_feet(echo *e, uint16_t elapsed_ms)
{
    lc_event events[LC_EVENTS];
    lc_panel_now panel;
    lc_gesture gesture;
    uint8_t count;
    uint8_t at;
    panel.elapsed_ms = elapsed_ms;
    panel.mode = e->mode;
    panel.moved = e->moved;
    panel.down[LC_FOOT_LEFT] = board_foot(LC_FOOT_LEFT);
    panel.down[LC_FOOT_RIGHT] = board_foot(LC_FOOT_RIGHT);
    panel.closed[LC_JUMPER_1] = board_jumper();
    count = lc_feet_step(&e->feet, &panel, events);
    for (at = 0u; at < count; at++) {
        if (events[at].what == LC_IDLE) {
            go_to(e, LC_MODE_MAIN);
        } else if ((e->path == LC_MUTED) || (lc_gesture_get(events[at].gesture, &gesture) == 0u)) {
            /* nothing plays, so that there is nothing to switch */
        } else if (events[at].what == LC_DO) {
            act(e, &gesture);
        } else if (events[at].what == LC_UNDO) {
            undo(e, &gesture);
        } else if ((events[at].what == LC_END) && (gesture.deed == LC_DEED_WHILE_HELD)) {
            board_effect(LC_NONE);
        } else {
            /* the jumper is open again; no deed of this product asks a second time */
        }
    }
}

/* ---- MIDI */

/* A sound came in: it plays as if its preset had been called, and is kept in its slot without a rest. While another
 * is not saved none is taken: who sends several waits until each has come back. */
static void take(echo *e)
{
    uint8_t slot;
    if (((e->unsaved & UNSAVED_SOUND) == 0u) && (e->saving != UNSAVED_SOUND)
        && (lc_dump_read(e->message, LC_DUMP, &slot, &e->look, e->name) == LC_SOUND)) {
        e->look.last_preset = slot;
        e->named = 1u;
        e->call = NO_SLOT;
        changed(e, UNSAVED_SOUND | UNSAVED_STATE);
        e->changed_at -= REST_MS;
        tell_all(e);
    }
}

static void follow_midi(echo *e)
{
    lc_midi_event event;
    uint8_t byte;
    while (board_midi_in(&byte) != 0u) {
        switch (lc_midi_byte(&e->midi, lc_midi_channel(&e->look), byte, &event)) {
        case LC_MIDI_SET:
            set(e, event.item, event.code, 0u);
            break;
        case LC_MIDI_PRESET:
            e->call = event.slot;
            break;
        case LC_MIDI_DUMP:
            take(e);
            break;
        default:
            break;
        }
    }
}

static void send_saved(echo *e)
{
    uint8_t bytes[LC_DUMP];
    char name[LC_NAME + 1u];
    if (lc_preset_name(&e->store, e->look.last_preset, name) == LC_SOUND) {
        lc_dump_write(e->look.last_preset, &e->look, name, bytes);
        board_midi_out(bytes, LC_DUMP);
    }
}

/* ---- Memory */

/* Tries once to call a preset. Where one tempo is kept for all, its own time stays away. */
static void call(echo *e)
{
    uint8_t bytes[2];
    uint16_t time = e->look.time;
    lc_answer answer = lc_load_preset(&e->store, e->call, &e->look);
    if (answer == LC_REFUSED) {
        lc_factory_preset(e->call, &e->look);
        e->unkept = answer;
    }
    if (answer != LC_AGAIN) {
        if (e->look.tempo_scope == LC_TEMPO_SCOPE_GLOBAL) {
            e->look.time = time;
        }
        e->call = NO_SLOT;
        changed(e, UNSAVED_STATE);
        tell_all(e);
        board_midi_out(bytes, lc_midi_send_preset(e->look.last_preset, lc_midi_channel(&e->look), bytes));
    }
}

/* Begins to save one of the things that have changed. What cannot be saved now is not tried again until it changes
 * anew: a memory of a later revision or of another product stays as it is, and LC_MORE says that waking could not
 * look at all of it. */
static void begin_save(echo *e)
{
    lc_answer answer;
    uint8_t what = UNSAVED_STATE;
    if ((e->unsaved & UNSAVED_SOUND) != 0u) {
        what = UNSAVED_SOUND;
        answer = lc_save_preset(&e->store, e->look.last_preset, &e->look, (e->named != 0u) ? e->name : NULL);
    } else if ((e->unsaved & UNSAVED_SETUP) != 0u) {
        what = UNSAVED_SETUP;
        answer = lc_save_setup(&e->store, &e->look);
    } else {
        answer = lc_save_state(&e->store, &e->look);
    }
    if (answer != LC_AGAIN) {
        e->unsaved &= (uint8_t)~what;
        e->saving = (answer == LC_OK) ? what : 0u;
        e->unkept = (answer == LC_OK) ? e->unkept : answer;
    }
}

/* One step of what is to be done with the memory. */
static void follow_memory(echo *e, uint32_t now)
{
    lc_answer answer;
    uint8_t rested = ((now - e->changed_at) >= REST_MS) ? 1u : 0u;
    if (e->saving != 0u) {
        answer = lc_save_step(&e->store);
        if ((answer != LC_MORE) && (answer != LC_AGAIN)) {
            if (answer == LC_REFUSED) {
                lc_save_abandon(&e->store);
            }
            if (e->saving == UNSAVED_SOUND) {
                e->named = 0u;
                if ((answer == LC_SOUND) && ((e->unsaved & UNSAVED_SOUND) == 0u)) {
                    send_saved(e);
                }
            }
            e->saving = 0u;
            e->unkept = answer;
        }
    } else if ((e->call != NO_SLOT) && ((e->unsaved & UNSAVED_SOUND) == 0u)) {
        call(e);
    } else if ((e->unsaved != 0u) && ((rested != 0u) || (e->call != NO_SLOT))) {
        begin_save(e);
    } else {
        /* all is as it should be */
    }
}

int main(void)
{
    static echo e;
    uint32_t now;
    uint16_t elapsed_ms;
    board_begin();
    wake(&e);
    while (board_runs() != 0u) {
        now = board_milliseconds();
        elapsed_ms = (uint16_t)(now - e.stepped_at);
        e.stepped_at = now;
        lc_taps_wait(&e.taps, elapsed_ms);
        follow_knobs(&e);
        follow_pedal(&e);
        follow_feet(&e, elapsed_ms);
        follow_midi(&e);
        follow_memory(&e, now);
    }
    return 0;
}
