/* A bench that writes trims or identity until its supply fails between two writes.
 *
 * Behind the product's memory the test has put what is to be done: a seed, how many writes until the supply fails
 * (two bytes, low first; 0: it does not), and what. It prints the answer. */
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

static p_answer begin(p_bench *bench, uint8_t what, uint8_t seed)
{
    p_answer answer = P_OK;
    if (what == BENCH_TRIMS) {
#if HAS_BENCH
        p_trims trims;
        TRIMS(seed)
        answer = p_bench_save_trims(bench, &trims);
#endif
    } else if (what == BENCH_IDENTITY) {
#if HAS_SERIAL
        char serial[3] = {'U', 'A', 0};
        serial[1] = (char)('A' + seed % 26u);
        answer = p_bench_save_identity(bench, 255u, serial);
#else
        answer = p_bench_save_identity(bench, 255u);
#endif
    } else {
        answer = P_OK;
    }
    (void)seed;
    return answer;
}

int main(void)
{
    static p_store store;
    static p_bench bench;
    p_driver driver;
    uint8_t asked[4];
    p_answer answer;
    board_eeprom_read(P_MEMORY, asked, 4u);
    writes_left = (uint16_t)(asked[1] | asked[2] << 8);
    drive(&inner);
    driver = inner;
    driver.write = write_until_the_end;
    p_open(&store, &driver);
    do {
        answer = p_open_step(&store);
    } while (answer == P_MORE || answer == P_AGAIN);
    p_bench_open(&bench, &driver, p_unit(&store));
    answer = begin(&bench, asked[3], asked[0]);
    if (answer == P_OK) {
        do {
            answer = asked[3] == BENCH_ALL ? p_bench_reset_all_step(&bench) : p_bench_step(&bench);
        } while (answer == P_MORE || answer == P_AGAIN);
    }
    board_print_u32(answer);
    board_putchar('\n');
    return 0;
}
