/* The board on a Cortex-M under qemu: start-up, and semihosting for output, memory and end.
 * Semihosting: "Semihosting for AArch32 and AArch64", release 2.0, Arm 100863. */
#include "../board.h"

#include <stddef.h>

enum {
    SYS_OPEN = 0x01,
    SYS_CLOSE = 0x02,
    SYS_WRITEC = 0x03,
    SYS_WRITE0 = 0x04,
    SYS_WRITE = 0x05,
    SYS_READ = 0x06,
    SYS_SEEK = 0x0A,
    SYS_FLEN = 0x0C,
    SYS_EXIT_EXTENDED = 0x20
};
enum { OPEN_RB_PLUS = 3, OPEN_WB = 5 };
#define APPLICATION_EXIT 0x20026u

#define SYST_CSR (*(volatile uint32_t *)0xE000E010u)
#define SYST_RVR (*(volatile uint32_t *)0xE000E014u)
#define SYST_CVR (*(volatile uint32_t *)0xE000E018u)
#define SYSTICK_TOP 0xFFFFFFu

enum { MARKS = 512 };

extern uint32_t data_load[], data_start[], data_end[], bss_start[], bss_end[], stack_top[];
int main(void);
void reset(void);

static struct {
    uint8_t number;
    uint64_t ticks;
} marks[MARKS];
static uint32_t marked;
static volatile uint32_t systick_rounds;
static uint32_t memory; /* handle of the file; qemu numbers them from 1 */

static uint32_t semihost(uint32_t operation, const void *parameter)
{
    register uint32_t r0 __asm__("r0") = operation;
    register const void *r1 __asm__("r1") = parameter;
    __asm__ volatile("bkpt 0xAB" : "+r"(r0) : "r"(r1) : "memory");
    return r0;
}

static uint32_t open_file(const char *name, uint32_t name_length, uint32_t mode)
{
    const uint32_t block[3] = {(uint32_t)name, mode, name_length};
    return semihost(SYS_OPEN, block);
}

static uint32_t write_file(uint32_t handle, const void *from, uint32_t length)
{
    const uint32_t block[3] = {handle, (uint32_t)from, length};
    return semihost(SYS_WRITE, block); /* how many bytes were not written */
}

static void end(uint32_t status)
{
    const uint32_t block[2] = {APPLICATION_EXIT, status};
    for (;;) {
        (void)semihost(SYS_EXIT_EXTENDED, block);
    }
}

static void fault(const char *words)
{
    (void)semihost(SYS_WRITE0, words);
    end(BOARD_FAULT);
}

/* The marks go to their file in binary, number and ticks of each as 12 bytes: the chip's own order, least
 * byte first. */
static void write_marks(void)
{
    uint32_t i;
    uint32_t handle = open_file("marks", 5u, OPEN_WB);
    for (i = 0; i < marked; i++) {
        const uint32_t entry[3] = {marks[i].number, (uint32_t)marks[i].ticks, (uint32_t)(marks[i].ticks >> 32)};
        (void)write_file(handle, entry, sizeof entry);
    }
    (void)semihost(SYS_CLOSE, &handle);
}

void board_exit(int status)
{
    if (marked != 0u) {
        write_marks();
    }
    end((uint32_t)status);
}

void board_putchar(char c)
{
    (void)semihost(SYS_WRITEC, &c);
}

static void systick(void)
{
    systick_rounds++;
}

/* Under -icount an instruction takes a fixed time, so the clock of the chip counts instructions. */
static uint64_t ticks_now(void)
{
    uint32_t rounds, count;
    do {
        rounds = systick_rounds;
        count = SYST_CVR;
    } while (rounds != systick_rounds);
    return (uint64_t)rounds * (SYSTICK_TOP + 1u) + (SYSTICK_TOP - count);
}

void board_mark(uint8_t number)
{
    if (marked == MARKS) {
        fault("board: more marks than fit\n");
    }
    marks[marked].number = number;
    marks[marked].ticks = ticks_now();
    marked++;
}

/* The handle of the memory, standing at address; length bytes from there are inside it. */
static uint32_t memory_at(uint32_t address, uint32_t length)
{
    uint32_t size;
    if (memory == 0u) {
        memory = open_file("eeprom", 6u, OPEN_RB_PLUS);
        if (memory == UINT32_MAX) {
            fault("board: this run was given no EEPROM\n");
        }
    }
    size = semihost(SYS_FLEN, &memory);
    if (length > size || address > size - length) {
        fault("board: an address outside the EEPROM\n");
    } else {
        const uint32_t block[2] = {memory, address};
        (void)semihost(SYS_SEEK, block);
    }
    return memory;
}

void board_eeprom_read(uint32_t address, uint8_t *to, uint32_t length)
{
    const uint32_t block[3] = {memory_at(address, length), (uint32_t)to, length};
    if (semihost(SYS_READ, block) != 0u) {
        fault("board: the EEPROM cannot be read\n");
    }
}

void board_eeprom_write(uint32_t address, const uint8_t *from, uint32_t length)
{
    if (write_file(memory_at(address, length), from, length) != 0u) {
        fault("board: the EEPROM cannot be written\n");
    }
}

static void hard_fault(void)
{
    fault("board: hard fault\n");
}

void reset(void)
{
    uint32_t *to;
    const uint32_t *from = data_load;
    for (to = data_start; to != data_end; to++) {
        *to = *from++;
    }
    for (to = bss_start; to != bss_end; to++) {
        *to = 0u;
    }
    SYST_RVR = SYSTICK_TOP;
    SYST_CVR = 0u;
    SYST_CSR = 7u; /* on, with interrupt, from the processor's clock */
    board_exit(main());
}

typedef union {
    void (*handler)(void);
    uint32_t *stack;
} vector;

/* Everything that is not provided for ends as a hard fault does. */
__attribute__((section(".vectors"), used)) static const vector vectors[16] = {
    {.stack = stack_top},    {.handler = reset},      {.handler = hard_fault}, {.handler = hard_fault},
    {.handler = hard_fault}, {.handler = hard_fault}, {.handler = hard_fault}, {.handler = hard_fault},
    {.handler = hard_fault}, {.handler = hard_fault}, {.handler = hard_fault}, {.handler = hard_fault},
    {.handler = hard_fault}, {.handler = hard_fault}, {.handler = hard_fault}, {.handler = systick},
};
