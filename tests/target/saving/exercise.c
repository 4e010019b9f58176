/* A unit that saves one thing after another until its supply fails between two writes.
 *
 * Behind the product's memory the test has put what is to be done: a seed, how many writes until the supply fails
 * (two bytes, low first; 0: it does not), how many deeds, and which (see subject.h). It prints what it begins, and
 * "done" and the answer when that is through. */
#include "drive.h"

#include "board.h"

static p_driver inner;
static uint16_t writes_left;

static p_answer write_until_the_end(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    p_answer answer = inner.write(address, from, length, context);
    if (answer == P_OK && writes_left != 0u) {
        writes_left--;
        if (writes_left == 0u) {
            board_exit(0);
        }
    }
    return answer;
}

static void say(const char *what, uint32_t slot, uint32_t chance)
{
    board_print(what);
    board_putchar(' ');
    board_print_u32(slot);
    board_putchar(' ');
    board_print_u32(chance);
    board_putchar('\n');
}

static void some_look(p_look *look, uint8_t chance)
{
    uint16_t row;
#if HAS_SETUP
    p_factory_setup(look);
#endif
    p_factory_state(look);
    for (row = 0u; row < ITEMS; row++) {
        (void)p_set(look, (p_index)items[row].row, (uint16_t)((chance * 7u + row * 13u) % items[row].codes));
    }
    look->last_preset = (uint8_t)(chance % P_SLOTS);
    look->engaged = (uint8_t)(chance & 1u);
}

static p_answer begin(p_store *store, uint8_t deed, uint8_t chance)
{
    p_look look;
    uint8_t slot = (uint8_t)(chance % P_SLOTS);
    p_answer answer = P_OK;
    some_look(&look, chance);
    switch (deed) {
    case RESET_LOOK:
        say("look", 0u, chance);
        break;
    case RESET_SLOT:
        say("slot", slot, chance);
        answer = p_reset_preset(store, slot);
        break;
    case SAVE_STATE:
        say("state", 0u, chance);
        answer = p_save_state(store, &look);
        break;
#if HAS_SETUP
    case SAVE_SETUP:
        say("setup", 0u, chance);
        answer = p_save_setup(store, &look);
        break;
#endif
    default:
        say("presets", slot, chance);
#if HAS_NAMES
        do {
            answer = p_save_preset(store, slot, &look, NULL);
        } while (answer == P_AGAIN);
#else
        answer = p_save_preset(store, slot, &look);
#endif
        break;
    }
    return answer;
}

int main(void)
{
    static p_store store;
    p_driver driver;
    uint8_t asked[5];
    uint8_t chance;
    uint8_t deed;
    p_answer answer;
    board_eeprom_read(P_MEMORY, asked, 5u);
    chance = asked[0];
    writes_left = (uint16_t)(asked[1] | asked[2] << 8);
    drive(&inner);
    driver = inner;
    driver.write = write_until_the_end;
    p_open(&store, &driver);
    do {
        answer = p_open_step(&store);
    } while (answer == P_MORE || answer == P_AGAIN);
    for (; asked[3] != 0u; asked[3]--) {
        chance = (uint8_t)(chance * 5u + 89u);
        deed = asked[4];
        if (deed == ANY) {
            deed = chance % 16u == 0u ? RESET_SLOT : (uint8_t)(SAVE_PRESET + (chance >> 3) % 3u);
        }
        answer = begin(&store, deed, chance);
        if (answer == P_OK) {
            do {
                answer = deed == RESET_LOOK ? p_reset_look_step(&store) : p_save_step(&store);
            } while (answer == P_MORE || answer == P_AGAIN);
        }
        say("done", answer, p_spares_left(&store));
    }
    return 0;
}
