/* JSON: see json.h. Each piece goes in whole or not at all. */
#include <string.h>

#include "core/character.h"
#include "core/json.h"

void json_begin(struct json *j, char *buf, size_t cap)
{
    *j = (struct json){.buf = buf, .cap = cap, .full = cap == 0};
}

bool json_finish(struct json *j)
{
    if (j->cap > 0)
        j->buf[j->len] = '\0';
    return !j->full;
}

/* All or nothing, and nothing more once something did not fit: what stands there is whole pieces. */
static void put(struct json *j, const char *bytes, size_t n)
{
    if (j->full || n >= j->cap - j->len) {
        j->full = true;
        return;
    }
    memcpy(j->buf + j->len, bytes, n);
    j->len += n;
}

static void put_char(struct json *j, char c)
{
    put(j, &c, 1);
}

/* What stands before a value or key, and the mark for what comes after. */
static void next_value(struct json *j)
{
    if (j->comma)
        put_char(j, ',');
    j->comma = true;
}

void json_open(struct json *j, char bracket)
{
    next_value(j);
    put_char(j, bracket);
    j->comma = false;
}

void json_close(struct json *j, char bracket)
{
    put_char(j, bracket);
    j->comma = true;
}

/* A control character (C0, DEL, C1: whoever reads it may be a terminal), a quote or a backslash. */
static void put_escaped(struct json *j, unsigned char c)
{
    static const char hex[] = "0123456789abcdef";
    static const char from[] = "\"\\\b\f\n\r\t", to[] = "\"\\bfnrt";
    char text[6] = {'\\', 'u', '0', '0', hex[c >> 4], hex[c & 15]};
    size_t n = 6;

    for (size_t i = 0; i < sizeof from - 1; i++) {
        if ((unsigned char)from[i] == c) {
            text[1] = to[i];
            n = 2;
        }
    }
    put(j, text, n);
}

static void put_string(struct json *j, const char *text, size_t n)
{
    put_char(j, '"');
    while (n > 0 && !j->full) {
        size_t len = character_len(text, n);
        uint32_t c = character_code(text, len);

        if (len > 0 && (c == '"' || c == '\\' || character_controls(c)))
            put_escaped(j, (unsigned char)c);
        else if (len > 0)
            put(j, text, len);
        else
            put(j, "\xef\xbf\xbd", 3); /* U+FFFD for a byte that is not UTF-8: the line stays valid JSON */
        text += len ? len : 1;
        n -= len ? len : 1;
    }
    put_char(j, '"');
}

/* strlen is not among the few library calls that the core allows itself. */
static size_t length(const char *text)
{
    size_t n = 0;

    while (text[n])
        n++;
    return n;
}

void json_key(struct json *j, const char *key)
{
    next_value(j);
    put_string(j, key, length(key));
    put_char(j, ':');
    j->comma = false;
}

void json_string_n(struct json *j, const char *text, size_t n)
{
    next_value(j);
    put_string(j, text, n);
}

void json_string(struct json *j, const char *text)
{
    json_string_n(j, text, length(text));
}

void json_int(struct json *j, int64_t value)
{
    json_decimal(j, value, 0);
}

void json_bool(struct json *j, bool value)
{
    next_value(j);
    put(j, value ? "true" : "false", value ? 4 : 5);
}

void json_null(struct json *j)
{
    next_value(j);
    put(j, "null", 4);
}

/* -1: every decimal that it has. The number is the mass, not a rounding of it. */
void json_grams(struct json *j, mass_pg mass)
{
    char text[MASS_TEXT_MAX];
    size_t n = mass_format(mass, UNIT_G, -1, text, sizeof text);

    next_value(j);
    put(j, text, n);
}

void json_decimal(struct json *j, int64_t value, unsigned places)
{
    uint64_t size = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    char text[20]; /* of 2^64 */
    unsigned n = 0;

    next_value(j);
    if (value < 0)
        put_char(j, '-');
    for (; places > 0 && size % 10 == 0; places--)
        size /= 10;
    for (; size > 0; size /= 10)
        text[sizeof text - ++n] = (char)('0' + size % 10);
    if (n <= places)
        put_char(j, '0');
    else
        put(j, text + sizeof text - n, n - places);
    if (places == 0)
        return;
    put_char(j, '.');
    for (unsigned zeros = n < places ? places - n : 0; zeros > 0; zeros--)
        put_char(j, '0');
    n = n < places ? n : places;
    put(j, text + sizeof text - n, n);
}

void json_put_string(struct json *j, const char *key, const char *text)
{
    json_key(j, key);
    if (text && *text)
        json_string(j, text);
    else
        json_null(j);
}

void json_put_int(struct json *j, const char *key, int64_t value)
{
    json_key(j, key);
    json_int(j, value);
}

void json_put_bool(struct json *j, const char *key, bool value)
{
    json_key(j, key);
    json_bool(j, value);
}

void json_put_null(struct json *j, const char *key)
{
    json_key(j, key);
    json_null(j);
}

void json_put_grams(struct json *j, const char *key, mass_pg mass)
{
    json_key(j, key);
    json_grams(j, mass);
}

void json_put_id(struct json *j, const char *key, uint32_t id)
{
    if (id)
        json_put_int(j, key, id);
    else
        json_put_null(j, key);
}

void json_put_grams_if(struct json *j, const char *key, bool known, mass_pg mass)
{
    if (known)
        json_put_grams(j, key, mass);
    else
        json_put_null(j, key);
}

void json_put_milli(struct json *j, const char *key, int32_t milli)
{
    json_key(j, key);
    if (milli == INT32_MIN)
        json_null(j);
    else
        json_decimal(j, milli, 3);
}
