/* The board on the ATmega328P: UART at its fastest, the chip's own EEPROM, end by sleep without interrupts. */
#include "../board.h"

#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <stddef.h>
#include <stdlib.h>

void board_exit(int status)
{
    if ((UCSR0B & (1u << TXEN0)) != 0u) {
        while ((UCSR0A & (1u << UDRE0)) == 0u) {
        }
    }
    eeprom_busy_wait();
    GPIOR1 = (uint8_t)status; /* the runner takes the status from here */
    cli();
    sleep_enable();
    for (;;) {
        sleep_cpu();
    }
}

/* The C start-up calls exit with main's value; the library's own would spin for ever. */
void exit(int status)
{
    board_exit(status);
    for (;;) {
    }
}

void board_putchar(char c)
{
    if ((UCSR0B & (1u << TXEN0)) == 0u) {
        UBRR0 = 0;
        UCSR0A = 1u << U2X0;
        UCSR0B = 1u << TXEN0;
    }
    while ((UCSR0A & (1u << UDRE0)) == 0u) {
    }
    UDR0 = (uint8_t)c;
}

static void check(uint32_t address, uint32_t length)
{
    if (length > E2END + 1ul || address > E2END + 1ul - length) {
        board_print("board: an address outside the EEPROM\n");
        board_exit(BOARD_FAULT);
    }
}

/* serial.c has others, for a program that is built with it. */
__attribute__((weak)) void board_eeprom_read(uint32_t address, uint8_t *to, uint32_t length)
{
    check(address, length);
    eeprom_read_block(to, (const void *)(uint16_t)address, (size_t)length);
}

__attribute__((weak)) void board_eeprom_write(uint32_t address, const uint8_t *from, uint32_t length)
{
    check(address, length);
    eeprom_write_block(from, (void *)(uint16_t)address, (size_t)length);
    eeprom_busy_wait(); /* when this returns the bytes are in the memory */
}
