/* The memory of the run in a serial EEPROM beside the ATmega328P, in place of the chip's own: avr/runner.c has the
 * part. By interrupt, since simavr does not take TWINT back from a program that asks for it in a loop. */
#include "../board.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#define PART 8192ul
#define DEVICE 0xA0u /* 0x50 and the bit that says read */
#define SENT_START 0x08u
#define SENT_START_AGAIN 0x10u
#define GOT_BYTE 0x50u
#define GOT_LAST_BYTE 0x58u

static volatile uint8_t done;

ISR(TWI_vect)
{
    TWCR = (uint8_t)(1u << TWEN);
    done = 1u;
}

static uint8_t bus(uint8_t deed)
{
    sei();
    done = 0u;
    TWCR = (uint8_t)((1u << TWINT) | (1u << TWEN) | (1u << TWIE) | deed);
    while (done == 0u) {
    }
    return (uint8_t)(TWSR & 0xF8u);
}

static uint8_t sent(uint8_t byte)
{
    uint8_t status;
    TWDR = byte;
    status = bus(0u);
    return ((status == 0x18u) || (status == 0x28u) || (status == 0x40u)) ? 1u : 0u;
}

static void stop(void)
{
    TWCR = (uint8_t)((1u << TWINT) | (1u << TWEN) | (1u << TWSTO));
    while ((TWCR & (uint8_t)(1u << TWSTO)) != 0u) {
    }
}

static void expect(uint8_t good)
{
    if (good == 0u) {
        board_print("board: the serial memory does not answer\n");
        board_exit(BOARD_FAULT);
    }
}

/* While the part writes it does not answer. */
static void address_part(uint32_t address)
{
    TWBR = 12u; /* 400 kHz at 16 MHz */
    for (;;) {
        expect(bus((uint8_t)(1u << TWSTA)) == SENT_START);
        if (sent(DEVICE) != 0u) {
            break;
        }
        stop();
    }
    expect(sent((uint8_t)(address >> 8)) && sent((uint8_t)(address & 0xFFu)));
}

static void check(uint32_t address, uint32_t length)
{
    if (length > PART || address > PART - length) {
        board_print("board: an address outside the serial memory\n");
        board_exit(BOARD_FAULT);
    }
}

void board_eeprom_read(uint32_t address, uint8_t *to, uint32_t length)
{
    uint32_t at;
    check(address, length);
    if (length == 0u) {
        return;
    }
    address_part(address);
    expect((bus((uint8_t)(1u << TWSTA)) == SENT_START_AGAIN) && sent(DEVICE | 1u));
    for (at = 0u; at < length - 1u; at++) {
        expect(bus((uint8_t)(1u << TWEA)) == GOT_BYTE);
        to[at] = TWDR;
    }
    expect(bus(0u) == GOT_LAST_BYTE);
    to[at] = TWDR;
    stop();
}

/* A byte at a time, so that no page's end is met. */
void board_eeprom_write(uint32_t address, const uint8_t *from, uint32_t length)
{
    uint32_t at;
    check(address, length);
    for (at = 0u; at < length; at++) {
        address_part(address + at);
        expect(sent(from[at]));
        stop();
    }
}
