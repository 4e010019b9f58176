/* The board of echo.c on an ATmega328P at 16 MHz:
 *
 *     PD0 PD1      MIDI in and out, 31250 baud
 *     PD2 PD3      the footswitches Bypass and Tap, to ground
 *     PD4 PD5      the toggle to ground, centre off
 *     PD6          the service jumper, to ground
 *     PD7 PB0 PB1  which knob an analog multiplexer 4051 lays on ADC0
 *     ADC1         the expression pedal
 *     ADC2         the rotary, as a ladder of four equal resistors
 *     PB2 PB3 PB5  SPI to the audio processor, in frames of five bytes: an item and its value
 *     PC3          the path relay
 *     PC4 PC5      the memory, a serial EEPROM of 8 KiB at address 0x50 of the two-wire bus, 400 kHz
 *
 * Fuse that this needs: the brown-out detector at 2.7 V. */
#include <avr/interrupt.h>
#include <avr/io.h>

#include "echo_board.h"

#ifndef F_CPU
#define F_CPU 16000000UL
#endif
#define MIDI_DIVIDER (F_CPU / (16UL * 31250UL) - 1UL)
#define BUS_DIVIDER ((F_CPU / 400000UL - 16UL) / 2UL)

#define INCOMING 64u /* bytes; powers of two */
#define OUTGOING 128u

#define DEVICE 0xA0u     /* 0x50 and the bit that says read */
#define LONGEST_WRITE 25 /* ms that a memory may be busy; one that says nothing for longer is not there */
#define LONGEST_TURN 1000u /* rounds of waiting for the bus, some ten times a byte */

static volatile uint32_t milliseconds;
static volatile uint8_t incoming[INCOMING];
static volatile uint8_t incoming_to;
static uint8_t incoming_from;
static volatile uint8_t outgoing[OUTGOING];
static uint8_t outgoing_to;
static volatile uint8_t outgoing_from;
static volatile uint8_t bus_done;
static uint32_t answered_at;

ISR(TIMER0_COMPA_vect)
{
    milliseconds++;
}

/* A byte for which there is no room is lost: a message is, and the next status byte begins another. */
ISR(USART_RX_vect)
{
    uint8_t byte = UDR0;
    uint8_t next = (uint8_t)((incoming_to + 1u) & (INCOMING - 1u));
    if (next != incoming_from) {
        incoming[incoming_to] = byte;
        incoming_to = next;
    }
}

ISR(USART_UDRE_vect)
{
    if (outgoing_from == outgoing_to) {
        UCSR0B &= (uint8_t)~(1u << UDRIE0);
    } else {
        UDR0 = outgoing[outgoing_from];
        outgoing_from = (uint8_t)((outgoing_from + 1u) & (OUTGOING - 1u));
    }
}

void board_begin(void)
{
    DDRB = (uint8_t)((1u << PB0) | (1u << PB1) | (1u << PB2) | (1u << PB3) | (1u << PB5));
    DDRC = (uint8_t)(1u << PC3);
    DDRD = (uint8_t)((1u << PD1) | (1u << PD7));
    PORTB = (uint8_t)(1u << PB2);
    PORTD = (uint8_t)((1u << PD2) | (1u << PD3) | (1u << PD4) | (1u << PD5) | (1u << PD6));
    ADCSRA = (uint8_t)((1u << ADEN) | (1u << ADPS2) | (1u << ADPS1) | (1u << ADPS0));
    SPCR = (uint8_t)((1u << SPE) | (1u << MSTR) | (1u << SPR0));
    TWBR = (uint8_t)BUS_DIVIDER;
    UBRR0 = (uint16_t)MIDI_DIVIDER;
    UCSR0B = (uint8_t)((1u << RXCIE0) | (1u << RXEN0) | (1u << TXEN0));
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

static uint16_t converted(uint8_t input)
{
    ADMUX = (uint8_t)((1u << REFS0) | input);
    ADCSRA |= (uint8_t)(1u << ADSC);
    while ((ADCSRA & (uint8_t)(1u << ADSC)) != 0u) {
    }
    return ADC;
}

/* This converter has 10 bits and the product's 12: the lower two stay 0, but for a top that is the top. */
uint16_t board_analog(uint8_t control)
{
    uint16_t count;
    if (control == LC_CONTROL_EXP) {
        count = converted(1u);
    } else {
        PORTD = (uint8_t)((PORTD & (uint8_t)~(1u << PD7)) | (uint8_t)((control & 1u) << PD7));
        PORTB = (uint8_t)((PORTB & (uint8_t)~((1u << PB0) | (1u << PB1))) | (uint8_t)((control >> 1) & 3u));
        count = converted(0u);
    }
    return (uint16_t)((count << 2) | (count >> 8));
}

uint8_t board_position(uint8_t control)
{
    uint8_t position = LC_MOD_SHAPE_TRIANGLE; /* centre */
    if (control == LC_CONTROL_BEAT) {
        position = (uint8_t)((converted(2u) + 128u) >> 8);
    } else if ((PIND & (uint8_t)(1u << PD4)) == 0u) {
        position = LC_MOD_SHAPE_SINE;
    } else if ((PIND & (uint8_t)(1u << PD5)) == 0u) {
        position = LC_MOD_SHAPE_DRIFT;
    } else {
        /* centre */
    }
    return position;
}

uint8_t board_foot(uint8_t foot)
{
    uint8_t mask = (foot == LC_FOOT_LEFT) ? (uint8_t)(1u << PD2) : (uint8_t)(1u << PD3);
    return ((PIND & mask) == 0u) ? 1u : 0u;
}

uint8_t board_jumper(void)
{
    return ((PIND & (uint8_t)(1u << PD6)) == 0u) ? 1u : 0u;
}

/* ---- MIDI */

uint8_t board_midi_in(uint8_t *byte)
{
    uint8_t there = (incoming_from != incoming_to) ? 1u : 0u;
    if (there != 0u) {
        *byte = incoming[incoming_from];
        incoming_from = (uint8_t)((incoming_from + 1u) & (INCOMING - 1u));
    }
    return there;
}

void board_midi_out(const uint8_t *bytes, uint8_t length)
{
    uint8_t at;
    uint8_t used = (uint8_t)((uint8_t)(outgoing_to - outgoing_from) & (OUTGOING - 1u));
    if (length < (OUTGOING - used)) {
        for (at = 0u; at < length; at++) {
            outgoing[outgoing_to] = bytes[at];
            outgoing_to = (uint8_t)((outgoing_to + 1u) & (OUTGOING - 1u));
        }
        UCSR0B |= (uint8_t)(1u << UDRIE0);
    }
}

/* ---- The audio processor */

static void send(uint8_t byte)
{
    SPDR = byte;
    while ((SPSR & (uint8_t)(1u << SPIF)) == 0u) {
    }
}

void board_engine(lc_index item, int32_t value)
{
    uint32_t bits = (uint32_t)value;
    PORTB &= (uint8_t)~(1u << PB2);
    send(item);
    send((uint8_t)(bits >> 24));
    send((uint8_t)((bits >> 16) & 0xFFu));
    send((uint8_t)((bits >> 8) & 0xFFu));
    send((uint8_t)(bits & 0xFFu));
    PORTB |= (uint8_t)(1u << PB2);
}

/* What is no item has numbers above all of them. */
void board_effect(uint8_t way)
{
    board_engine(0xFEu, (int32_t)way);
}

void board_path(uint8_t path)
{
    if (path == LC_ENGAGED) {
        PORTC |= (uint8_t)(1u << PC3);
    } else {
        PORTC &= (uint8_t)~(1u << PC3);
    }
    board_engine(0xFFu, (int32_t)path);
}

/* ---- The memory */

/* The bus has done what it was told, and waits for more. */
ISR(TWI_vect)
{
    TWCR = (uint8_t)(1u << TWEN);
    bus_done = 1u;
}

/* One deed of the bus; answers its status, or 0xFF where the bus does not move. */
static uint8_t bus(uint8_t deed)
{
    uint16_t turns = 0u;
    bus_done = 0u;
    TWCR = (uint8_t)((1u << TWINT) | (1u << TWEN) | (1u << TWIE) | deed);
    while ((bus_done == 0u) && (turns < LONGEST_TURN)) {
        turns++;
    }
    return (turns < LONGEST_TURN) ? (uint8_t)(TWSR & 0xF8u) : 0xFFu;
}

/* Sends a byte; 1: the memory has acknowledged it, as an address to write to, a byte, or an address to read from. */
static uint8_t bus_send(uint8_t byte)
{
    uint8_t status;
    TWDR = byte;
    status = bus(0u);
    return ((status == 0x18u) || (status == 0x28u) || (status == 0x40u)) ? 1u : 0u;
}

/* Speaks to the memory and says an address. 1: it listens. While it writes it does not answer. */
static uint8_t address_memory(uint16_t address)
{
    uint8_t listens = 0u;
    if ((bus((uint8_t)(1u << TWSTA)) == 0x08u) && (bus_send(DEVICE) != 0u)
        && (bus_send((uint8_t)(address >> 8)) != 0u) && (bus_send((uint8_t)(address & 0xFFu)) != 0u)) {
        listens = 1u;
    }
    return listens;
}

static lc_answer end_of_bus(uint8_t good)
{
    lc_answer answer = LC_OK;
    uint16_t turns = 0u;
    TWCR = (uint8_t)((1u << TWINT) | (1u << TWEN) | (1u << TWSTO));
    while (((TWCR & (uint8_t)(1u << TWSTO)) != 0u) && (turns < LONGEST_TURN)) {
        turns++;
    }
    if (good != 0u) {
        answered_at = board_milliseconds();
    } else if ((board_milliseconds() - answered_at) < LONGEST_WRITE) {
        answer = LC_AGAIN;
    } else {
        answer = LC_REFUSED;
        answered_at = board_milliseconds();
    }
    return answer;
}

lc_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context)
{
    uint8_t at;
    uint8_t good = address_memory(address);
    (void)context;
    if ((good != 0u) && (bus((uint8_t)(1u << TWSTA)) == 0x10u) && (bus_send(DEVICE | 1u) != 0u)) {
        for (at = 0u; (at < length) && (good != 0u); at++) {
            /* The last byte is not acknowledged: the memory lets go of the bus. */
            good = ((at + 1u) < length) ? (uint8_t)(bus((uint8_t)(1u << TWEA)) == 0x50u) : (uint8_t)(bus(0u) == 0x58u);
            to[at] = TWDR;
        }
    } else {
        good = 0u;
    }
    return end_of_bus(good);
}

lc_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context)
{
    uint8_t at;
    uint8_t good = address_memory(address);
    (void)context;
    for (at = 0u; (at < length) && (good != 0u); at++) {
        good = bus_send(from[at]);
    }
    return end_of_bus(good);
}
