/* Text: bounded appending and cleaning. */
#include "screen/text.h"
#include "core/character.h"

#include <string.h>

uint32_t utf8_next(const char **s)
{
    const char *at = *s;
    if (!*at)
        return 0;
    size_t len = character_len(at, 4);
    *s += len ? len : 1;
    return len ? character_code(at, len) : NOT_UTF8;
}

unsigned utf8_put(uint32_t c, char out[4])
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        out[0] = (char)(0xC0 | c >> 6);
        out[1] = (char)(0x80 | (c & 0x3F));
        return 2;
    }
    if (c < 0x10000) {
        out[0] = (char)(0xE0 | c >> 12);
        out[1] = (char)(0x80 | (c >> 6 & 0x3F));
        out[2] = (char)(0x80 | (c & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | c >> 18);
    out[1] = (char)(0x80 | (c >> 12 & 0x3F));
    out[2] = (char)(0x80 | (c >> 6 & 0x3F));
    out[3] = (char)(0x80 | (c & 0x3F));
    return 4;
}

bool utf8_valid(const char *s)
{
    uint32_t c;
    while ((c = utf8_next(&s)) != 0)
        if (c == NOT_UTF8)
            return false;
    return true;
}

bool utf8_unsafe(uint32_t c)
{
    return c == NOT_UTF8 || character_unsafe(c);
}

bool text_is_clean(const char *s)
{
    uint32_t c;
    while ((c = utf8_next(&s)) != 0)
        if (utf8_unsafe(c))
            return false;
    return true;
}

void text_begin(struct text *t, char *buf, size_t cap)
{
    *t = (struct text){.buf = buf, .cap = cap, .full = cap == 0};
    if (cap)
        buf[0] = 0;
}

static void put_bytes(struct text *t, const char *bytes, size_t n)
{
    if (t->full || n >= t->cap - t->len) {
        t->full = true;
        return;
    }
    memcpy(t->buf + t->len, bytes, n);
    t->len += n;
    t->buf[t->len] = 0;
}

void text_put(struct text *t, const char *words)
{
    put_bytes(t, words, strlen(words));
}

void text_clean(struct text *t, const char *foreign)
{
    uint32_t c;
    while ((c = utf8_next(&foreign)) != 0) {
        char bytes[4] = {0};
        put_bytes(t, bytes, utf8_put(utf8_unsafe(c) ? '?' : c, bytes));
    }
}

void text_number(struct text *t, int64_t value)
{
    char digits[24], *p = digits + sizeof digits;
    uint64_t left = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    *--p = 0;
    do
        *--p = (char)('0' + left % 10);
    while (left /= 10);
    if (value < 0)
        *--p = '-';
    text_put(t, p);
}

void text_milli(struct text *t, int32_t value)
{
    int64_t wide = value, size = wide < 0 ? -wide : wide;
    if (wide < 0)
        text_put(t, "-");
    text_number(t, size / 1000);
    size %= 1000;
    if (!size)
        return;
    char tail[5] = {'.', (char)('0' + size / 100), (char)('0' + size / 10 % 10), (char)('0' + size % 10), 0};
    for (int i = 3; tail[i] == '0'; i--)
        tail[i] = 0;
    text_put(t, tail);
}

void text_mass(struct text *t, mass_pg mass, enum mass_unit unit, int places)
{
    char number[MASS_TEXT_MAX] = "";
    mass_format_unit(mass, unit, places, number, sizeof number);
    text_put(t, number);
}

void text_difference(mass_pg off, enum mass_unit unit, int places, char buf[MASS_TEXT_MAX])
{
    char *figure = buf + 1;
    buf[0] = '+';
    if (!mass_format_unit(off, unit, places, figure, MASS_TEXT_MAX - 1))
        *figure = '\0';
    bool nothing = !figure[strcspn(figure, "123456789")];
    if (off < 0 || nothing) /* a minus stands in the figure already */
        memmove(buf, figure, strlen(figure) + 1);
}
