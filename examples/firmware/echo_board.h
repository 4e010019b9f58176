/* What echo.c asks of the board it runs on. echo_host.c answers from a script, echo_avr.c from an ATmega328P.
 * All product knowledge is in the generated files; all hardware is behind these functions. */
#ifndef ECHO_BOARD_H
#define ECHO_BOARD_H

#include <stdint.h>

#include "long_causeway.h"

/* Once, at switch-on. */
void board_begin(void);

/* Milliseconds since switch-on; it may wrap. */
uint32_t board_milliseconds(void);

/* Whether the unit still has power. A board that cannot know says yes. */
uint8_t board_runs(void);

/* The count of a knob or of the pedal, 12 bits, by the number of its control. */
uint16_t board_analog(uint8_t control);

/* The position of the toggle or the rotary, 0 the first, by the number of its control. */
uint8_t board_position(uint8_t control);

/* Whether a footswitch reads down, bounces and all: LC_FOOT_LEFT or LC_FOOT_RIGHT. */
uint8_t board_foot(uint8_t foot);

/* Whether the service jumper is closed. */
uint8_t board_jumper(void);

/* A byte that came in by MIDI; 0 where there is none. */
uint8_t board_midi_in(uint8_t *byte);

/* Queues a whole message for MIDI out, or drops it where the queue has no room for all of it. */
void board_midi_out(const uint8_t *bytes, uint8_t length);

/* LC_MUTED, LC_BYPASSED or LC_ENGAGED. */
void board_path(uint8_t path);

/* An engine value for the audio code, by the number of its item. */
void board_engine(lc_index item, int32_t value);

/* What plays while the tap switch is held, by its way: LC_HOLD_ACTION_FREEZE and so on; LC_NONE: no longer. */
void board_effect(uint8_t way);

/* The memory, as lc_driver wants it. */
lc_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context);
lc_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context);

#endif
