/* The board on the host: standard output, and a memory that is the file named by BOARD_EEPROM. */
#include "../board.h"

#include <stdio.h>
#include <stdlib.h>

static FILE *memory;

void board_exit(int status)
{
    exit(status);
}

static void fault(const char *words)
{
    fflush(stdout);
    fprintf(stderr, "board: %s\n", words);
    exit(BOARD_FAULT);
}

void board_putchar(char c)
{
    putchar(c);
}

void board_mark(uint8_t number)
{
    (void)number;
}

static void go_to(uint32_t address, uint32_t length)
{
    long size;
    if (memory == NULL) {
        const char *name = getenv("BOARD_EEPROM");
        memory = name == NULL ? NULL : fopen(name, "r+b");
        if (memory == NULL) {
            fault("this run was given no EEPROM");
        }
        setvbuf(memory, NULL, _IONBF, 0); /* what is written is there however the run ends */
    }
    fseek(memory, 0, SEEK_END);
    size = ftell(memory);
    if (size < 0 || length > (uint32_t)size || address > (uint32_t)size - length) {
        fault("an address outside the EEPROM");
    }
    fseek(memory, (long)address, SEEK_SET);
}

void board_eeprom_read(uint32_t address, uint8_t *to, uint32_t length)
{
    go_to(address, length);
    if (fread(to, 1, length, memory) != length) {
        fault("the EEPROM cannot be read");
    }
}

void board_eeprom_write(uint32_t address, const uint8_t *from, uint32_t length)
{
    go_to(address, length);
    if (fwrite(from, 1, length, memory) != length) {
        fault("the EEPROM cannot be written");
    }
}
