/* Check sums and CRCs of frames. Bit by bit: a line is short, and a table would cost a board half a kilobyte. */
#include "core/check_sum.h"

/* The reflected one goes from the lowest bit on, the others from the highest. */
static uint16_t crc_byte(uint16_t crc, uint8_t byte, bool reflected)
{
    crc = (uint16_t)(crc ^ (reflected ? byte : byte << 8));
    for (int i = 0; i < 8; i++) {
        bool out = crc & (reflected ? 1u : 0x8000u);

        crc = (uint16_t)(reflected ? crc >> 1 : crc << 1);
        if (out)
            crc = (uint16_t)(crc ^ (reflected ? 0xA001u : 0x1021u));
    }
    return crc;
}

static uint16_t add_byte(uint8_t method, uint16_t sum, uint8_t byte)
{
    switch (method) {
    case SUM_PLAIN:
        return (uint16_t)(sum + byte);
    case SUM_XOR:
        return sum ^ byte;
    default:
        return crc_byte(sum, byte, method == SUM_CRC_MODBUS);
    }
}

static bool is_crc(const struct profile_check *c)
{
    return c->method >= SUM_CRC_MODBUS;
}

static bool is_long(const struct profile_check *c)
{
    return is_crc(c) || c->bits > 8;
}

uint16_t check_sum(const struct profile_check *c, const char *bytes, uint8_t n)
{
    uint16_t sum = c->method == SUM_CRC_MODBUS || c->method == SUM_CRC_CCITT ? 0xFFFF : 0;

    for (uint8_t i = 0; i < n; i++)
        sum = add_byte(c->method, sum, (uint8_t)bytes[i]);
    if (c->negated != NEGATED_NOT)
        sum = (uint16_t)~sum;
    if (c->negated == NEGATED_TWOS)
        sum++;
    return is_long(c) ? sum : (uint16_t)(sum & (c->bits == 7 ? 0x7F : 0xFF));
}

uint8_t check_width(const struct profile_check *c)
{
    uint8_t bytes = is_long(c) ? 2 : 1;

    if (c->method == SUM_NONE)
        return 0;
    return c->raw ? bytes : (uint8_t)(2 * bytes);
}

void check_write(const struct profile_check *c, uint16_t value, char out[CHECK_TEXT])
{
    uint8_t width = check_width(c);

    for (uint8_t i = 0; i < width; i++) {
        unsigned behind = c->low_first ? i : width - 1u - i; /* bytes, or digits, that are lower */

        out[i] = (char)(c->raw ? value >> 8 * behind : "0123456789ABCDEF"[value >> 4 * behind & 15]);
    }
}

/* Hexadecimal digits may come in either case. */
bool check_says(const struct profile_check *c, uint16_t value, const char *at)
{
    char want[CHECK_TEXT];
    uint8_t width = check_width(c);

    check_write(c, value, want);
    for (uint8_t i = 0; i < width; i++) {
        bool lower = !c->raw && at[i] >= 'a' && at[i] <= 'f';

        if ((lower ? (char)(at[i] - 'a' + 'A') : at[i]) != want[i])
            return false;
    }
    return width > 0;
}
