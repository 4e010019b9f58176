/* Everything that a player can ask a unit to keep, one after the other.
 *
 * It prints the unit's answer, then a line for each thing that is asked: what, which, the answer, and that of a step
 * behind it, which has nothing to do where nothing was begun. Last comes how often the driver was to write. */
#include "drive.h"

#include "board.h"

static p_driver inner;
static uint16_t writes;

static p_answer counted(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    writes++;
    return inner.write(address, from, length, context);
}

static void say(const char *what, uint32_t which, p_answer answer)
{
    board_print(what);
    board_putchar(' ');
    board_print_u32(which);
    board_putchar(' ');
    board_print_u32(answer);
    board_putchar('\n');
}

/* Goes on with what was begun, as a main loop does that does not look at answers. */
static void asked_for(p_store *store, const char *what, uint32_t which, p_answer answer)
{
    uint16_t steps;
    say(what, which, answer);
    for (steps = 0u; steps < 200u; steps++) {
        (void)p_save_step(store);
    }
    p_save_abandon(store);
}

static void some_look(p_look *look)
{
    uint16_t row;
#if HAS_SETUP
    p_factory_setup(look);
#endif
    p_factory_state(look);
    for (row = 0u; row < ITEMS; row++) {
        (void)p_set(look, (p_index)items[row].row, (uint16_t)((row * 5u + 3u) % items[row].codes));
    }
}

int main(void)
{
    static p_store store;
    p_driver driver;
    p_look look;
    p_answer answer;
    uint8_t slot;
    drive(&inner);
    driver = inner;
    driver.write = counted;
    p_open(&store, &driver);
    do {
        answer = p_open_step(&store);
    } while (answer == P_MORE || answer == P_AGAIN);
    say("unit", 0u, p_unit(&store));
    some_look(&look);
    for (slot = 0u; slot < P_SLOTS; slot++) {
#if HAS_NAMES
        asked_for(&store, "preset", slot, p_save_preset(&store, slot, &look, "Other"));
#else
        asked_for(&store, "preset", slot, p_save_preset(&store, slot, &look));
#endif
        asked_for(&store, "slot", slot, p_reset_preset(&store, slot));
    }
    asked_for(&store, "state", 0u, p_save_state(&store, &look));
#if HAS_SETUP
    asked_for(&store, "setup", 0u, p_save_setup(&store, &look));
#endif
#ifdef LEARNED
    {
        p_learn learn;
        p_learn_begin(&learn, 300u);
        p_learn_step(&learn, 900u);
        if (p_learn_end(&learn, 100u, &look.LEARNED) != 0u) {
            asked_for(&store, "learn", 0u, p_save_setup(&store, &look));
        }
    }
#endif
    say("writes", 0u, (p_answer)(writes != 0u));
    return 0;
}
