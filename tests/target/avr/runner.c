/* Runs an AVR program under libsimavr and keeps what it says apart from what the simulator says.
 *
 *     runner ELF CHIP CYCLES EEPROM REPORT [SCRIPT [MEMORY]]
 *
 * Standard output has the bytes of UART0 and nothing else; standard error the simulator's complaints.
 * The EEPROM starts as the file EEPROM and is written back to it however the run ends. REPORT gets
 * "cycles N", "status N" (register GPIOR1) and a line "mark NUMBER CYCLE" for each write to GPIOR0.
 * SCRIPT has lines of what happens around the chip, in their order, each with its cycle:
 *     CYCLE uart BYTE            a byte comes in at UART0
 *     CYCLE pin PORT BIT LEVEL   a pin is driven: D 3 0
 *     CYCLE adc CHANNEL MV       an analog input has so many millivolts of 5000
 * MEMORY is an image of 8 KiB for a serial EEPROM at address 0x50 of the two-wire bus, with two bytes of address,
 * pages of 32 and 5 ms for each write, and is written back as well. REPORT then has a line "spi BYTE" for each
 * byte that went out by SPI.
 * Exit: 0 the program ended itself (sleep without interrupts), 2 the runner could not do its work,
 * 3 the chip crashed, 4 CYCLES were used up.
 */
#include <simavr/avr_adc.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_spi.h>
#include <simavr/avr_twi.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

/* ---- What is around the chip */

enum { LINES = 4096, SENT = 65536, PART = 8192, PART_PAGE = 32, PART_ADDRESS = 0xA0, PART_WRITE = 80000 };

static struct {
    avr_cycle_count_t at;
    char what[8];
    char port;
    unsigned which;
    unsigned value;
} lines[LINES];
static unsigned line_count;
static unsigned next_line;

static uint8_t sent[SENT];
static unsigned sent_count;

static struct {
    uint8_t bytes[PART];
    unsigned address;
    unsigned index;
    uint8_t selected;
    uint8_t written;
    avr_cycle_count_t ready;
    avr_irq_t *input;
} part;

static void read_script(const char *name)
{
    char text[96];
    FILE *file = fopen(name, "r");
    if (file == NULL) {
        fail("cannot read the script", name);
    }
    while (fgets(text, (int)sizeof text, file) != NULL) {
        unsigned long long at;
        int used = 0;
        if (line_count == LINES || sscanf(text, "%llu %7s %n", &at, lines[line_count].what, &used) != 2) {
            fail("not a line of a script:", text);
        }
        lines[line_count].at = at;
        if (strcmp(lines[line_count].what, "pin") == 0) {
            if (sscanf(text + used, "%c %u %u", &lines[line_count].port, &lines[line_count].which,
                       &lines[line_count].value) != 3) {
                fail("not a pin:", text);
            }
            if (lines[line_count].port < 'A' || lines[line_count].port > 'Z' || lines[line_count].which > 7) {
                fail("not a pin:", text);
            }
        } else if (sscanf(text + used, "%u %u", &lines[line_count].which, &lines[line_count].value) < 1) {
            fail("not a line of a script:", text);
        }
        line_count++;
    }
    fclose(file);
}

/* Drives a pin from outside. simavr raises the pins of a port anew each time the program writes to it, to what drives
 * them or else to their pull-ups, so that it is told the level as well as the change. */
static void drive(avr_t *avr, char port, unsigned which, unsigned value)
{
    static unsigned char driven['Z' + 1], levels['Z' + 1];
    const unsigned char bit = (unsigned char)(1u << which);
    unsigned char *level = &levels[(unsigned char)port];
    driven[(unsigned char)port] |= bit;
    *level = (unsigned char)((*level & ~bit) | (value != 0 ? bit : 0));
    avr_ioport_external_t outside = {
        .name = (unsigned char)port & 0x7Fu, .mask = driven[(unsigned char)port], .value = *level,
    };
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(port), &outside);
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ(port), (int)which), value);
}

/* Does what the script says for now, and comes back for the next line. */
static avr_cycle_count_t happen(avr_t *avr, avr_cycle_count_t when, void *unused)
{
    (void)unused;
    while (next_line < line_count && lines[next_line].at <= when) {
        const unsigned which = lines[next_line].which;
        const unsigned value = lines[next_line].value;
        if (strcmp(lines[next_line].what, "uart") == 0) {
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), which);
        } else if (strcmp(lines[next_line].what, "adc") == 0) {
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, (int)(ADC_IRQ_ADC0 + which)), value);
        } else {
            drive(avr, lines[next_line].port, which, value);
        }
        next_line++;
    }
    return next_line < line_count ? lines[next_line].at : 0;
}

static void note_sent(struct avr_irq_t *irq, uint32_t value, void *unused)
{
    (void)irq;
    (void)unused;
    if (sent_count == SENT) {
        fail("more bytes by SPI than fit:", "65536");
    }
    sent[sent_count] = (uint8_t)value;
    sent_count++;
}

static void serial_memory(struct avr_irq_t *irq, uint32_t value, void *chip)
{
    avr_t *avr = chip;
    avr_twi_msg_irq_t message;
    (void)irq;
    message.u.v = value;
    if ((message.u.twi.msg & TWI_COND_STOP) != 0) {
        part.ready = part.written ? avr->cycle + PART_WRITE : part.ready;
        part.selected = 0;
        part.written = 0;
    }
    if ((message.u.twi.msg & TWI_COND_START) != 0) {
        part.selected = 0;
        part.index = 0;
        if ((message.u.twi.addr & 0xFEu) == PART_ADDRESS && avr->cycle >= part.ready) {
            part.selected = 1;
            avr_raise_irq(part.input, avr_twi_irq_msg(TWI_COND_ACK, message.u.twi.addr, 1));
        }
    }
    if (part.selected && (message.u.twi.msg & TWI_COND_WRITE) != 0) {
        avr_raise_irq(part.input, avr_twi_irq_msg(TWI_COND_ACK, message.u.twi.addr, 1));
        if (part.index < 2) {
            part.address = (part.index == 0 ? 0 : part.address << 8) | message.u.twi.data;
        } else {
            part.bytes[part.address % PART] = (uint8_t)message.u.twi.data;
            part.address = part.address / PART_PAGE * PART_PAGE + (part.address + 1) % PART_PAGE;
            part.written = 1;
        }
        part.index++;
    }
    if (part.selected && (message.u.twi.msg & TWI_COND_READ) != 0) {
        const uint8_t byte = part.bytes[part.address % PART];
        part.address = (part.address + 1) % PART;
        avr_raise_irq(part.input, avr_twi_irq_msg(TWI_COND_READ, message.u.twi.addr, byte));
    }
}

static void keep_part(const char *name, const char *mode)
{
    FILE *file = fopen(name, mode);
    const int reads = mode[0] == 'r';
    if (file == NULL || (reads ? fread(part.bytes, 1, PART, file) : fwrite(part.bytes, 1, PART, file)) != PART ||
        fclose(file) != 0) {
        fail("not an image of 8 KiB:", name);
    }
}

static void surround(avr_t *avr, int argc, char **argv)
{
    avr->vcc = avr->avcc = avr->aref = 5000;
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_OUTPUT), note_sent, NULL);
    read_script(argv[6]);
    if (line_count != 0) {
        avr_cycle_timer_register(avr, lines[0].at, happen, NULL);
    }
    if (argc == 8) {
        keep_part(argv[7], "rb");
        part.input = avr_io_getirq(avr, AVR_IOCTL_TWI_GETIRQ(0), TWI_IRQ_INPUT);
        avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_TWI_GETIRQ(0), TWI_IRQ_OUTPUT), serial_memory, avr);
    }
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
    for (i = 0; i < sent_count; i++) {
        fprintf(file, "spi %u\n", sent[i]);
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

    if (argc < 6 || argc > 8) {
        fail("usage: runner", "ELF CHIP CYCLES EEPROM REPORT [SCRIPT [MEMORY]]");
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
    if (argc > 6) {
        surround(avr, argc, argv);
    }

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
    if (argc == 8) {
        keep_part(argv[7], "wb");
    }
    if (fflush(stdout) != 0) {
        fail("cannot write", "standard output");
    }
    return state == cpu_Done ? 0 : state == cpu_Crashed ? 3 : 4;
}
