/* What board_host.c and echo_host.c have in common: a script on standard input and a memory in a file. */
#ifndef SCRIPT_H
#define SCRIPT_H

#include <stdint.h>

/* A line "at 500 knob 0 700": from 500 ms on, what happens, to which, and the value where it has one. */
typedef struct {
    unsigned long at;
    char what[9];
    unsigned which;
    unsigned value;
} event;

#define EVENTS 1024

/* Reads the script; lines that are none of it are left out. */
void script_read(void);

/* The next event that is due, each once; a null pointer where none is. */
const event *script_next(unsigned long now);

/* Whether no event is left. */
int script_is_over(void);

/* Opens the memory in the file that the command line names and reads it: 1. Where it has not so many bytes it says
 * how the program is used: 0. */
int memory_open(int argc, char **argv, uint8_t *memory, unsigned size);

/* Writes to the memory and at once to its file: 1; 0 where the file does not take it. */
int memory_write(uint8_t *memory, uint16_t address, const uint8_t *from, uint8_t length);

/* 1 where all of it has reached the file. */
int memory_close(void);

#endif
