/* JSON writer into a caller's buffer (RFC 8259): no heap, exact decimals, strings escaped, bytes that are not UTF-8
 * become U+FFFD. Reading JSON is SQLite's business (src/store). */
#ifndef CORE_JSON_H
#define CORE_JSON_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/mass.h"

struct json {
    char *buf;
    size_t cap, len;
    bool full;  /* something did not fit: the text is not to be used */
    bool comma; /* a value stands before this place */
};

void json_begin(struct json *j, char *buf, size_t cap);
/* NUL-terminates; false if something did not fit. */
bool json_finish(struct json *j);
void json_open(struct json *j, char bracket);  /* '{' or '[' */
void json_close(struct json *j, char bracket); /* '}' or ']' */
void json_key(struct json *j, const char *key);
void json_string(struct json *j, const char *text);
void json_string_n(struct json *j, const char *text, size_t n);
void json_int(struct json *j, int64_t value);
void json_bool(struct json *j, bool value);
void json_null(struct json *j);
/* Decimal grams, exact, without exponent. */
void json_grams(struct json *j, mass_pg mass);
/* value / 10^places, exact, without exponent or needless zeros: thousandths (3), millionths of a percent (6). */
void json_decimal(struct json *j, int64_t value, unsigned places);

/* key and value in one. */
void json_put_string(struct json *j, const char *key, const char *text); /* NULL or "" gives null */
void json_put_int(struct json *j, const char *key, int64_t value);
void json_put_bool(struct json *j, const char *key, bool value);
void json_put_null(struct json *j, const char *key);
void json_put_grams(struct json *j, const char *key, mass_pg mass);
/* The same, or null where there is none: no such number (0), an unknown mass, a check's limit that was not given
 * (INT32_MIN, formula.h's CHECK_NONE). milli is in thousandths. */
void json_put_id(struct json *j, const char *key, uint32_t id);
void json_put_grams_if(struct json *j, const char *key, bool known, mass_pg mass);
void json_put_milli(struct json *j, const char *key, int32_t milli);

#endif
