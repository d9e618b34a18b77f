/* Values: one reader per type of key, and what each expects in words. */
#include <stddef.h>
#include <string.h>

#include "files/amount.h"
#include "files/table.h"

bool code_good(const char *text)
{
    size_t n = strlen(text);
    if (!n || text[0] == '-' || text[n - 1] == '-')
        return false;
    for (size_t i = 0; i < n; i++)
        if (!((text[i] >= 'a' && text[i] <= 'z') || (text[i] >= '0' && text[i] <= '9') || text[i] == '-'))
            return false;
    return true;
}

const char *list_next(const char *at, char *out, size_t cap, bool *too_long)
{
    while (*at == ' ' || *at == '\t' || *at == ',')
        at++;
    if (!*at)
        return NULL;
    size_t n = strcspn(at, " \t,");
    *too_long = n >= cap;
    size_t fits = *too_long ? cap - 1 : n;
    memcpy(out, at, fits);
    out[fits] = '\0';
    return at + n;
}

/* A decimal of at most three places, in thousandths, from the front of the text; *end where it stops. */
static const char *thousandths(const char *at, const char **end, int64_t *out)
{
    bool negative = *at == '-';
    int64_t v = 0;
    unsigned digits = 0;
    unsigned places = 0;
    bool point = false;
    for (at += negative; (*at >= '0' && *at <= '9') || (*at == '.' && !point); at++) {
        if (*at == '.') {
            point = true;
            continue;
        }
        if (++digits > 12 || (point && ++places > 3))
            return "too many digits or decimals";
        v = v * 10 + (*at - '0');
    }
    if (!digits)
        return "not a number";
    for (; places < 3; places++)
        v *= 10;
    *end = at;
    *out = negative ? -v : v;
    return NULL;
}

static const char *take_text(const struct key *k, const char *value, char *into)
{
    size_t n = strlen(value);
    if (!n)
        return "it is empty";
    if (n >= k->room)
        return "too long";
    if (k->type == KEY_CODE && !code_good(value))
        return "not of that form";
    memcpy(into, value, n + 1);
    return NULL;
}

/* Digits alone: a sign, a blank or 0x is more likely a slip than meant. Growing stops above every range. */
static const char *take_whole(const struct key *k, const char *value, void *into)
{
    int64_t v = 0;
    if (!*value)
        return "it is empty";
    for (const char *c = value; *c; c++) {
        if (*c < '0' || *c > '9')
            return "not a whole number";
        if (v < INT32_MAX)
            v = v * 10 + (*c - '0');
    }
    if (v < k->low || v > k->high)
        return "out of range";
    if (k->room == 1)
        *(uint8_t *)into = (uint8_t)v;
    else if (k->room == 2)
        *(uint16_t *)into = (uint16_t)v;
    else
        *(uint32_t *)into = (uint32_t)v;
    return NULL;
}

static const char *take_thousands(const struct key *k, const char *value, int32_t *into)
{
    const char *end;
    int64_t v;
    const char *wrong = thousandths(value, &end, &v);
    if (wrong)
        return wrong;
    if (*end)
        return "not a number alone";
    if (v < k->low || v > k->high)
        return "out of range";
    *into = (int32_t)v;
    return NULL;
}

static const char *take_mass(const struct key *k, const char *value, mass_pg *into)
{
    mass_pg m = 0;
    const char *wrong = mass_take(value, strlen(value), &m);
    if (wrong)
        return wrong;
    if (m < k->low || m > k->high)
        return "out of range";
    *into = m;
    return NULL;
}

/* Whole milliseconds; a number without unit is a fault, like everywhere. */
static const char *take_time(const struct key *k, const char *value, uint32_t *into)
{
    const char *unit;
    int64_t v;
    const char *wrong = thousandths(value, &unit, &v);
    if (wrong)
        return wrong;
    while (*unit == ' ' || *unit == '\t')
        unit++;
    if (!strcmp(unit, "ms")) {
        if (v % 1000)
            return "a part of a millisecond";
        v /= 1000;
    } else if (strcmp(unit, "s") != 0) {
        return "no unit of time";
    }
    if (v < k->low || v > k->high)
        return "out of range";
    *into = (uint32_t)v;
    return NULL;
}

/* The place of a word in "a|b|c", or -1. */
static int word_place(const char *words, const char *word, size_t n)
{
    for (int place = 0;; place++) {
        size_t len = strcspn(words, "|");
        if (len == n && !memcmp(words, word, n))
            return place;
        if (!words[len])
            return -1;
        words += len + 1;
    }
}

static const char *take_choice(const struct key *k, const char *value, uint8_t *into)
{
    int place = word_place(k->words, value, strlen(value));
    if (place < 0)
        return *value ? "not one of them" : "it is empty";
    *into = (uint8_t)place;
    return NULL;
}

/* "none" is a word of its own: an empty value may be a forgotten one. */
static const char *take_flags(const struct key *k, const char *value, uint8_t *into)
{
    uint8_t bits = 0;
    char word[32];
    bool too_long;
    if (!*value)
        return "it is empty";
    if (strcmp(value, "none") != 0)
        for (const char *at = value; (at = list_next(at, word, sizeof word, &too_long)) != NULL;) {
            int place = too_long ? -1 : word_place(k->words, word, strlen(word));
            if (place < 0)
                return "not all are known";
            bits = (uint8_t)(bits | 1 << place);
        }
    *into = bits;
    return NULL;
}

static const char *take_bool(const char *value, bool *into)
{
    bool yes = !strcmp(value, "yes");
    if (!yes && strcmp(value, "no") != 0)
        return "neither yes nor no";
    *into = yes;
    return NULL;
}

static const char *take_bytes(const char *value, struct profile_command *into)
{
    struct profile_command c = {0};
    const char *wrong = bytes_take(&value, '\0', c.bytes, PROFILE_COMMAND, &c.len);
    if (!wrong)
        *into = c;
    return wrong;
}

const char *value_take(const struct key *k, const char *value, void *into)
{
    switch ((enum key_type)k->type) {
    case KEY_TEXT:
    case KEY_CODE:
        return take_text(k, value, into);
    case KEY_WHOLE:
        return take_whole(k, value, into);
    case KEY_THOUSANDS:
        return take_thousands(k, value, into);
    case KEY_MASS:
        return take_mass(k, value, into);
    case KEY_TIME:
        return take_time(k, value, into);
    case KEY_BOOL:
        return take_bool(value, into);
    case KEY_CHOICE:
        return take_choice(k, value, into);
    case KEY_FLAGS:
        return take_flags(k, value, into);
    case KEY_PERCENT:
        return percent_take(value, into);
    case KEY_BAND:
        return band_take(value, into);
    case KEY_AMOUNT:
        return amount_take(value, into);
    case KEY_LIMIT:
        return limit_take(value, into);
    case KEY_BYTES:
        return take_bytes(value, into);
    case KEY_RAW:
        break;
    }
    if (!*value)
        return "it is empty";
    *(const char **)into = value;
    return NULL;
}
