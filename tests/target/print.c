/* The printing that all boards share, built on board_putchar. */
#include "board.h"

void board_print(const char *text)
{
    while (*text != '\0') {
        board_putchar(*text++);
    }
}

void board_print_u32(uint32_t value)
{
    char digits[10];
    uint8_t n = 0;
    do {
        digits[n++] = (char)('0' + (char)(value % 10u));
        value /= 10u;
    } while (value != 0u);
    while (n != 0u) {
        board_putchar(digits[--n]);
    }
}

void board_print_i32(int32_t value)
{
    if (value < 0) {
        board_putchar('-');
        board_print_u32(0u - (uint32_t)value);
    } else {
        board_print_u32((uint32_t)value);
    }
}

void board_print_hex(uint8_t value)
{
    static const char digits[] = "0123456789ABCDEF";
    board_putchar(digits[value >> 4]);
    board_putchar(digits[value & 15u]);
}
