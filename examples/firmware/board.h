/* What pedal.c asks of the board it runs on. board_host.c answers from a script, board_avr.c from an
 * ATmega328P. All product knowledge is in the generated files; all hardware is behind these functions. */
#ifndef BOARD_H
#define BOARD_H

#include <stdint.h>

#include "teasel_pinch.h"

/* Once, at switch-on. */
void board_begin(void);

/* Milliseconds since switch-on; it may wrap. */
uint32_t board_milliseconds(void);

/* Whether the unit still has power. A board that cannot know says yes. */
uint8_t board_runs(void);

/* The count of the converter for a knob, by the number of its control. */
uint16_t board_knob(uint8_t control);

/* The position of a toggle, 0 the first. */
uint8_t board_toggle(uint8_t control);

/* Whether the footswitch reads down, bounces and all. */
uint8_t board_foot(void);

/* Whether the service jumper is closed. */
uint8_t board_jumper(void);

/* TP_MUTED, TP_BYPASSED or TP_ENGAGED. */
void board_path(uint8_t path);

/* An engine value for the audio code, by the number of its item. */
void board_engine(tp_index item, int32_t value);

/* The memory, as tp_driver wants it. */
tp_answer board_read(uint16_t address, uint8_t *to, uint8_t length, void *context);
tp_answer board_write(uint16_t address, const uint8_t *from, uint8_t length, void *context);

#endif
