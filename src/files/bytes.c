/* Bytes of a serial line as text: printable ones as they are, the others as escapes. */
#include <string.h>

#include "files/table.h"

static int hex(char c)
{
    static const char digits[] = "0123456789abcdef";
    const char *at = c ? strchr(digits, c | (c >= 'A' && c <= 'F' ? 0x20 : 0)) : NULL;
    return at ? (int)(at - digits) : -1;
}

/* One escape after its backslash; *at moves past it. -1: not one. */
static int escape(const char **at)
{
    char c = *(*at)++;
    switch (c) {
    case 'r':
        return '\r';
    case 'n':
        return '\n';
    case 't':
        return '\t';
    case '\\':
    case '"':
        return c;
    case 'x': {
        int high = hex((*at)[0]);
        int low = high < 0 ? -1 : hex((*at)[1]);
        *at += low < 0 ? 0 : 2;
        return low < 0 ? -1 : high * 16 + low;
    }
    default:
        return -1;
    }
}

/* The closing quote is passed over, so that a caller goes on behind it. */
const char *bytes_take(const char **at, char quote, char *out, size_t cap, uint8_t *len)
{
    *len = 0;
    while (**at && **at != quote) {
        int c = (unsigned char)*(*at)++;
        if (c == '\\')
            c = escape(at);
        if (c < 0)
            return "an escape that is not known";
        if (*len == cap)
            return quote ? "too long, or a quote without its end" : "too long";
        out[(*len)++] = (char)c;
    }
    if (quote && *(*at)++ != quote) {
        (*at)--;
        return "a quote without its end";
    }
    return NULL;
}
