/* The ATmega328P's own EEPROM through avr-libc: byte by byte, and busy for some 3.4 ms after each. */
#include "drive.h"

#include <avr/eeprom.h>

static p_answer read_bytes(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    (void)context;
    if (!eeprom_is_ready()) {
        return P_AGAIN;
    }
    eeprom_read_block(to, (const void *)address, length);
    return P_OK;
}

static p_answer write_bytes(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    (void)context;
    if (length != 1u) {
        return P_REFUSED; /* a page of one byte is all that this memory has */
    }
    if (!eeprom_is_ready()) {
        return P_AGAIN;
    }
    eeprom_write_byte((uint8_t *)address, *from);
    return P_OK;
}

void drive(p_driver *driver)
{
    driver->read = read_bytes;
    driver->write = write_bytes;
    driver->context = 0;
}
