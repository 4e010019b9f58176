/* The board of pedal.c on an ATmega328P at 16 MHz: knobs on ADC0 to ADC4, the toggle on PD2 and PD3 to ground
 * (centre off), the footswitch on PD4 and the jumper on PD5 to ground, the path relay on PB0, the mute on PB1,
 * the lamp on PB5. Engine values leave on the serial port at 38400 baud, as a second processor would get them.
 *
 * Fuses that this needs: the brown-out detector at 2.7 V, and EESAVE so that a chip erase keeps the memory. */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>

#include "board.h"

#ifndef F_CPU
#define F_CPU 16000000UL
#endif
#define BAUD_DIVIDER (F_CPU / (8UL * 38400UL) - 1UL)

static volatile uint32_t milliseconds;

ISR(TIMER0_COMPA_vect)
{
    milliseconds++;
}

void board_begin(void)
{
    DDRB = (uint8_t)((1u << PB0) | (1u << PB1) | (1u << PB5));
    PORTB = (uint8_t)(1u << PB1);
    PORTD = (uint8_t)((1u << PD2) | (1u << PD3) | (1u << PD4) | (1u << PD5));
    ADMUX = (uint8_t)(1u << REFS0);
    ADCSRA = (uint8_t)((1u << ADEN) | (1u << ADPS2) | (1u << ADPS1) | (1u << ADPS0));
    UBRR0 = (uint16_t)BAUD_DIVIDER;
    UCSR0A = (uint8_t)(1u << U2X0);
    UCSR0B = (uint8_t)(1u << TXEN0);
    TCCR0A = (uint8_t)(1u << WGM01);
    TCCR0B = (uint8_t)((1u << CS01) | (1u << CS00));
    OCR0A = (uint8_t)(F_CPU / 64UL / 1000UL - 1UL);
    TIMSK0 = (uint8_t)(1u << OCIE0A);
    sei();
}

uint32_t board_milliseconds(void)
{
    uint32_t now;
    uint8_t flags = SREG;
    cli();
    now = milliseconds;
    SREG = flags;
    return now;
}

uint8_t board_runs(void)
{
    return 1u;
}

uint16_t board_knob(uint8_t control)
{
    ADMUX = (uint8_t)((1u << REFS0) | (control & 7u));
    ADCSRA |= (uint8_t)(1u << ADSC);
    while ((ADCSRA & (uint8_t)(1u << ADSC)) != 0u) {
    }
    return ADC;
}

uint8_t board_toggle(uint8_t control)
{
    uint8_t position = TP_TONE_PLAIN;
    (void)control;
    if ((PIND & (uint8_t)(1u << PD2)) == 0u) {
        position = TP_TONE_WARM;
    } else if ((PIND & (uint8_t)(1u << PD3)) == 0u) {
        position = TP_TONE_BRIGHT;
    } else {
        /* centre */
    }
    return position;
}

uint8_t board_foot(void)
{
    return ((PIND & (uint8_t)(1u << PD4)) == 0u) ? 1u : 0u;
}

uint8_t board_jumper(void)
{
    return ((PIND & (uint8_t)(1u << PD5)) == 0u) ? 1u : 0u;
}

static void send(uint8_t byte)
{
    while ((UCSR0A & (uint8_t)(1u << UDRE0)) == 0u) {
    }
    UDR0 = byte;
}

void board_path(uint8_t path)
{
    if (path == TP_ENGAGED) {
        PORTB |= (uint8_t)((1u << PB0) | (1u << PB5));
    } else {
        PORTB &= (uint8_t)~((1u << PB0) | (1u << PB5));
    }
    if (path == TP_MUTED) {
        PORTB |= (uint8_t)(1u << PB1);
    } else {
        PORTB &= (uint8_t)~(1u << PB1);
    }
}

static void send_digits(uint32_t value, uint8_t digits)
{
    uint8_t digit;
    while (digits != 0u) {
        digits--;
        digit = (uint8_t)((value >> (4u * digits)) & 0x0Fu);
        send((uint8_t)(digit + ((digit < 10u) ? 0x30u : 0x37u)));
    }
}

/* A line of the item's number and the value, both hexadecimal. */
void board_engine(tp_index item, int32_t value)
{
    send_digits(item, 2u);
    send_digits((uint32_t)value, 8u);
    send(0x0Au);
}

tp_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    tp_answer answer = TP_AGAIN;
    (void)context;
    if (eeprom_is_ready()) {
        eeprom_read_block(to, (const void *)(uintptr_t)address, length);
        answer = TP_OK;
    }
    return answer;
}

/* The memory is written byte by byte: one byte is all that it is ever given. It writes on by itself for some
 * milliseconds, in which nothing here waits. */
tp_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    tp_answer answer = TP_AGAIN;
    (void)length;
    (void)context;
    if (eeprom_is_ready()) {
        eeprom_write_byte((uint8_t *)(uintptr_t)address, *from);
        answer = TP_OK;
    }
    return answer;
}
