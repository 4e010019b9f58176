/* What a test program may ask of whatever runs it: the host, a simulated AVR or a simulated Cortex-M.
 * main's value ends the run: 0 good, 1 to 99 the program's own trouble; 100 and up are the boards'. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Ends the run at once, as returning status from main does. */
void board_exit(int status);

/* Standard output of the run. */
void board_putchar(char c);
void board_print(const char *text);
void board_print_u32(uint32_t value); /* decimal */
void board_print_i32(int32_t value);  /* decimal */
void board_print_hex(uint8_t value);  /* two digits, capitals */

/* The memory of the run: what the test gave, then 0xFF. A write is there for the test to read after the
 * run, however the run ended. An address outside the memory ends the run with BOARD_FAULT. */
void board_eeprom_read(uint32_t address, uint8_t *to, uint32_t length);
void board_eeprom_write(uint32_t address, const uint8_t *from, uint32_t length);

/* Notes the moment for the test: cycles on AVR, instructions on Cortex-M, nothing on the host.
 * Two marks with nothing between them are 2 cycles apart on AVR; on Cortex-M measure such a pair too. */
#ifdef __AVR__
#include <avr/io.h>
static inline void board_mark(uint8_t number)
{
    __asm__ volatile("" ::: "memory");
    GPIOR0 = number; /* the runner watches this register */
    __asm__ volatile("" ::: "memory");
}
#else
void board_mark(uint8_t number);
#endif

/* A board's own status: the chip faulted, or the program asked for what the board does not have. */
#define BOARD_FAULT 254

#ifdef __cplusplus
}
#endif

#endif
