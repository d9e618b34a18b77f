/* Key bytes: what a terminal sends, into keys. Sequences of cursor and function keys are passed over, whatever they are;
 * only the number pad's in application mode (ECMA-48 single shift 3 and a letter, as the VT100 family sends them) have a
 * meaning here. */
#include "screen/keys.h"

#include "screen/text.h"

#define ESC_GAP UINT64_C(50000) /* a lone Escape: what follows later is no sequence */

enum { ESC_NONE, ESC_SEEN, ESC_CSI, ESC_SS3 };

static uint32_t pad_key(uint8_t byte)
{
    if (byte >= 'p' && byte <= 'y')
        return (uint32_t)('0' + byte - 'p');
    switch (byte) {
    case 'M':
        return KEY_PRESS_ENTER;
    case 'j':
        return '*';
    case 'k':
        return '+';
    case 'l':
        return ',';
    case 'm':
        return '-';
    case 'n':
        return '.';
    case 'o':
        return '/';
    default:
        return 0;
    }
}

/* A control sequence ends with its first byte from 40 to 7E (ECMA-48, 5.4); a single shift 3 has one byte. */
static bool escape_byte(struct keys *k, uint8_t byte, uint32_t *key)
{
    uint8_t was = k->escape;
    k->escape = ESC_NONE;
    if (was == ESC_SS3) {
        *key = pad_key(byte);
        return *key != 0;
    }
    if (was == ESC_CSI)
        k->escape = byte >= 0x40 && byte <= 0x7E ? ESC_NONE : ESC_CSI;
    else if (byte == '[')
        k->escape = ESC_CSI;
    else if (byte == 'O')
        k->escape = ESC_SS3;
    return false;
}

static bool utf8_byte(struct keys *k, uint8_t byte, uint32_t *key)
{
    if (k->utf8_left && (byte & 0xC0) == 0x80) {
        k->utf8 = k->utf8 << 6 | (byte & 0x3FU);
        *key = k->utf8;
        return --k->utf8_left == 0;
    }
    k->utf8_left = 0;
    if (byte >= 0xF0 && byte <= 0xF4) {
        k->utf8 = byte & 0x07U;
        k->utf8_left = 3;
    } else if (byte >= 0xE0) {
        k->utf8 = byte & 0x0FU;
        k->utf8_left = byte < 0xF0 ? 2 : 0;
    } else if (byte >= 0xC2) {
        k->utf8 = byte & 0x1FU;
        k->utf8_left = 1;
    }
    return false;
}

bool keys_byte(struct keys *k, uint8_t byte, uint64_t now, uint32_t *key)
{
    if (k->escape && now - k->last_at > ESC_GAP)
        k->escape = ESC_NONE;
    if (k->escape)
        return escape_byte(k, byte, key);
    if (byte >= 0x80)
        return utf8_byte(k, byte, key);
    k->utf8_left = 0;
    switch (byte) {
    case 0x1B:
        k->escape = ESC_SEEN;
        k->last_at = now;
        return false;
    case '\r':
    case '\n':
        *key = KEY_PRESS_ENTER;
        return true;
    case '\b':
    case 0x7F:
        *key = KEY_PRESS_BACK;
        return true;
    default:
        *key = byte;
        return byte >= 0x20;
    }
}
