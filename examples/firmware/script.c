/* See script.h. */
#include <stdio.h>
#include <string.h>

#include "script.h"

static event events[EVENTS];
static int event_count;
static int next_event;
static FILE *memory_file;

void script_read(void)
{
    char line[96];
    while (event_count < EVENTS && fgets(line, (int)sizeof line, stdin) != NULL) {
        event *e = &events[event_count];
        if (sscanf(line, "at %lu %8s %u %u", &e->at, e->what, &e->which, &e->value) >= 2) {
            event_count++;
        }
    }
}

const event *script_next(unsigned long now)
{
    if (next_event == event_count || events[next_event].at > now) {
        return NULL;
    }
    next_event++;
    return &events[next_event - 1];
}

int script_is_over(void)
{
    return next_event == event_count;
}

int memory_open(int argc, char **argv, uint8_t *memory, unsigned size)
{
    memory_file = argc == 2 ? fopen(argv[1], "r+b") : NULL;
    if (memory_file == NULL || fread(memory, 1, size, memory_file) != size) {
        fprintf(stderr, "usage: %s MEMORY.bin < script\n", argv[0]);
        return 0;
    }
    return 1;
}

int memory_write(uint8_t *memory, uint16_t address, const uint8_t *from, uint8_t length)
{
    memcpy(&memory[address], from, length);
    return fseek(memory_file, (long)address, SEEK_SET) == 0 && fwrite(from, 1, length, memory_file) == length;
}

int memory_close(void)
{
    return fclose(memory_file) == 0;
}
