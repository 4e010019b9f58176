/* Runs an AVR program under libsimavr and keeps what it says apart from what the simulator says.
 *
 *     runner ELF CHIP CYCLES EEPROM REPORT
 *
 * Standard output has the bytes of UART0 and nothing else; standard error the simulator's complaints.
 * The EEPROM starts as the file EEPROM and is written back to it however the run ends. REPORT gets
 * "cycles N", "status N" (register GPIOR1) and a line "mark NUMBER CYCLE" for each write to GPIOR0.
 * Exit: 0 the program ended itself (sleep without interrupts), 2 the runner could not do its work,
 * 3 the chip crashed, 4 CYCLES were used up.
 */
#include <simavr/avr_eeprom.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

enum { GPIOR0 = 0x3E, GPIOR1 = 0x4A }; /* data addresses, ATmega48A to 328P data sheet, register summary */
enum { MARKS = 4096 };

static struct {
    uint8_t number;
    avr_cycle_count_t cycle;
} marks[MARKS];
static unsigned marked;

static void fail(const char *what, const char *which)
{
    fprintf(stderr, "runner: %s %s\n", what, which);
    exit(2);
}

static void complain(avr_t *avr, const int level, const char *format, va_list arguments)
{
    (void)avr;
    if (level <= LOG_ERROR) {
        vfprintf(stderr, format, arguments);
    }
}

static void say(struct avr_irq_t *irq, uint32_t value, void *unused)
{
    (void)irq;
    (void)unused;
    putchar((int)(value & 0xFFu));
}

static void mark(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused)
{
    (void)unused;
    avr->data[address] = value;
    if (marked == MARKS) {
        fail("more marks than fit:", "4096");
    }
    marks[marked].number = value;
    marks[marked].cycle = avr->cycle;
    marked++;
}

static void no_sleep(avr_t *avr, avr_cycle_count_t cycles)
{
    (void)avr; /* simulated time passes; nobody needs to wait for it */
    (void)cycles;
}

static avr_cycle_count_t out_of_cycles(avr_t *avr, avr_cycle_count_t when, void *flag)
{
    (void)avr;
    (void)when;
    *(int *)flag = 1;
    return 0;
}

static void read_eeprom(avr_t *avr, const char *name, uint8_t *bytes)
{
    avr_eeprom_desc_t eeprom = {.ee = bytes, .offset = 0, .size = avr->e2end + 1u};
    FILE *file = fopen(name, "rb");
    if (file == NULL || fread(bytes, 1, eeprom.size, file) != eeprom.size || fgetc(file) != EOF) {
        fail("not an image of the whole EEPROM:", name);
    }
    fclose(file);
    avr_ioctl(avr, AVR_IOCTL_EEPROM_SET, &eeprom);
}

static void write_eeprom(avr_t *avr, const char *name)
{
    avr_eeprom_desc_t eeprom = {.ee = NULL, .offset = 0, .size = avr->e2end + 1u};
    FILE *file = fopen(name, "wb");
    avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &eeprom);
    if (eeprom.ee == NULL || file == NULL || fwrite(eeprom.ee, 1, eeprom.size, file) != eeprom.size ||
        fclose(file) != 0) {
        fail("cannot write", name);
    }
}

static void write_report(const avr_t *avr, const char *name)
{
    FILE *file = fopen(name, "w");
    unsigned i;
    if (file == NULL) {
        fail("cannot write", name);
    }
    fprintf(file, "cycles %llu\nstatus %u\n", (unsigned long long)avr->cycle, avr->data[GPIOR1]);
    for (i = 0; i < marked; i++) {
        fprintf(file, "mark %u %llu\n", marks[i].number, (unsigned long long)marks[i].cycle);
    }
    if (fclose(file) != 0) {
        fail("cannot write", name);
    }
}

int main(int argc, char **argv)
{
    static uint8_t eeprom[65536];
    elf_firmware_t firmware = {0};
    uint32_t uart_flags = 0;
    avr_t *avr;
    int spent = 0;
    int state;

    if (argc != 6) {
        fail("usage: runner", "ELF CHIP CYCLES EEPROM REPORT");
    }
    avr_global_logger_set(complain);
    if (elf_read_firmware(argv[1], &firmware) != 0) {
        fail("cannot read the program", argv[1]);
    }
    avr = avr_make_mcu_by_name(argv[2]);
    if (avr == NULL) {
        fail("simavr does not know the chip", argv[2]);
    }
    avr_init(avr);
    firmware.frequency = 16000000;
    avr_load_firmware(avr, &firmware);
    avr->sleep = no_sleep;
    read_eeprom(avr, argv[4], eeprom);

    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &uart_flags); /* no copy with colours on standard error */
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), say, NULL);
    avr_register_io_write(avr, GPIOR0, mark, NULL);
    /* a timer, because the simulator runs many instructions at a time but never past a timer */
    avr_cycle_timer_register(avr, strtoull(argv[3], NULL, 10), out_of_cycles, &spent);

    do {
        state = avr_run(avr);
    } while (state != cpu_Done && state != cpu_Crashed && !spent);

    write_eeprom(avr, argv[4]);
    write_report(avr, argv[5]);
    if (fflush(stdout) != 0) {
        fail("cannot write", "standard output");
    }
    return state == cpu_Done ? 0 : state == cpu_Crashed ? 3 : 4;
}
