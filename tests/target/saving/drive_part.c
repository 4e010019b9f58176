/* A serial part of pages, and its driver.
 *
 * The part takes up to a page at once: the low bits of its address counter go round inside the page, so that bytes
 * too many land in front. Then it writes for a while, and does not answer: neither to reads nor to writes. */
#include "drive.h"

#include "board.h"

enum { POLLS = 5 }; /* so many times it does not answer after a write */

struct part {
    uint8_t busy;
};

static struct part part;

/* ---- The part: 1 where it answers its address */

static uint8_t part_answers(struct part *it)
{
    uint8_t answers = it->busy == 0u;
    if (!answers) {
        it->busy--;
    }
    return answers;
}

static uint8_t part_reads(struct part *it, uint16_t address, uint8_t *to, uint8_t length)
{
    uint8_t answers = part_answers(it);
    if (answers) {
        board_eeprom_read(address, to, length);
    }
    return answers;
}

static uint8_t part_writes(struct part *it, uint16_t address, const uint8_t *from, uint8_t length)
{
    uint8_t answers = part_answers(it);
    uint16_t page = (uint16_t)(address - address % PAGE);
    uint16_t at = (uint16_t)(address % PAGE);
    uint8_t i;
    if (answers) {
        for (i = 0u; i < length; i++) {
            board_eeprom_write((uint16_t)(page + at), &from[i], 1u);
            at = (uint16_t)((at + 1u) % PAGE);
        }
        it->busy = POLLS;
    }
    return answers;
}

/* ---- Its driver */

static p_answer read_part(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    return part_reads((struct part *)context, address, to, length) ? P_OK : P_AGAIN;
}

static p_answer write_part(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    return part_writes((struct part *)context, address, from, length) ? P_OK : P_AGAIN;
}

void drive(p_driver *driver)
{
    driver->read = read_part;
    driver->write = write_part;
    driver->context = &part;
}
