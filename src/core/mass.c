/* Mass from text, exactly or not at all. To text: mass_text.c. */
#include <string.h>

#include "core/mass.h"

#define UNITS 7

static const mass_pg sizes[UNITS] = {0, PG_PER_KG, PG_PER_G, PG_PER_MG, PG_PER_LB, PG_PER_OZ, PG_PER_GR};
static const char names[UNITS][3] = {"", "kg", "g", "mg", "lb", "oz", "gr"};
static const char capitals[UNITS][3] = {"", "KG", "G", "MG", "LB", "OZ", "GR"};

mass_pg unit_pg(enum mass_unit unit)
{
    return (unsigned)unit < UNITS ? sizes[unit] : 0;
}

const char *unit_text(enum mass_unit unit)
{
    return names[(unsigned)unit < UNITS ? unit : UNIT_NONE];
}

enum mass_unit unit_from_text(const char *text, size_t n)
{
    for (unsigned u = UNIT_KG; u < UNITS; u++)
        if (n == (names[u][1] ? 2u : 1u) && (!memcmp(names[u], text, n) || !memcmp(capitals[u], text, n)))
            return (enum mass_unit)u;
    return UNIT_NONE;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Where the decimal sign stands (n if there is none); -1 if this is not a decimal. */
static ptrdiff_t decimal_point(const char *digits, size_t n)
{
    size_t point = n;

    for (size_t i = 0; i < n; i++) {
        if (digits[i] == '.' && point == n)
            point = i;
        else if (!is_digit(digits[i]))
            return -1;
    }
    return n - (point < n) > 0 ? (ptrdiff_t)point : -1;
}

/* Whole units, at most `most`. */
static enum fail whole_part(const char *digits, size_t n, uint64_t most, uint64_t *out)
{
    uint64_t whole = 0;

    for (size_t i = 0; i < n; i++) {
        whole = whole * 10 + (uint64_t)(digits[i] - '0');
        if (whole > most)
            return FAIL_RANGE;
    }
    *out = whole;
    return FAIL_NONE;
}

/* The decimals times the unit. From the last digit to the first, each step divides by ten: the product is whole
 * exactly if every step is, so any number of digits needs no more than 64 bits. */
static enum fail fraction_part(const char *digits, size_t n, uint64_t unit, uint64_t *out)
{
    uint64_t part = 0;

    for (size_t i = n; i > 0; i--) {
        part += (uint64_t)(digits[i - 1] - '0') * unit;
        if (part % 10)
            return FAIL_INEXACT;
        part /= 10;
    }
    *out = part;
    return FAIL_NONE;
}

enum fail mass_from_decimal(const char *digits, size_t n, bool negative, enum mass_unit unit, mass_pg *out)
{
    uint64_t most = (uint64_t)INT64_MAX + negative, one = (uint64_t)unit_pg(unit), whole, part = 0;
    ptrdiff_t point = decimal_point(digits, n);
    enum fail fail;

    if (point < 0)
        return FAIL_SYNTAX;
    if (one == 0)
        return FAIL_UNIT;
    fail = whole_part(digits, (size_t)point, most / one, &whole);
    if (!fail && (size_t)point < n)
        fail = fraction_part(digits + point + 1, n - (size_t)point - 1, one, &part);
    if (fail)
        return fail;
    if (part > most - whole * one)
        return FAIL_RANGE;
    part += whole * one;
    *out = negative && part ? -(mass_pg)(part - 1) - 1 : (mass_pg)part;
    return FAIL_NONE;
}

struct text {
    const char *at, *end;
};

static void skip_blanks(struct text *t)
{
    while (t->at < t->end && is_blank(*t->at))
        t->at++;
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* One decimal and its unit; blanks before and after both are passed. */
static enum fail parse_part(struct text *t, bool negative, enum mass_unit *unit, mass_pg *out)
{
    const char *digits = t->at, *word;
    size_t n;

    while (t->at < t->end && (is_digit(*t->at) || *t->at == '.'))
        t->at++;
    n = (size_t)(t->at - digits);
    if (decimal_point(digits, n) < 0)
        return FAIL_SYNTAX;
    skip_blanks(t);
    word = t->at;
    while (t->at < t->end && is_letter(*t->at))
        t->at++;
    if (t->at == word && t->at < t->end)
        return FAIL_SYNTAX; /* "12,5 kg": a number was begun and is not one */
    *unit = unit_from_text(word, (size_t)(t->at - word));
    skip_blanks(t);
    return mass_from_decimal(digits, n, negative, *unit, out);
}

enum fail mass_parse(const char *text, size_t n, mass_pg *out)
{
    struct text t = {text, text + n};
    bool negative;
    enum mass_unit unit, second;
    mass_pg mass, ounces, sixteen = PG_PER_LB;
    enum fail fail;

    skip_blanks(&t);
    negative = t.at < t.end && *t.at == '-';
    if (t.at < t.end && (*t.at == '-' || *t.at == '+'))
        t.at++;
    skip_blanks(&t);
    fail = parse_part(&t, negative, &unit, &mass);
    if (!fail && unit == UNIT_LB && t.at < t.end) {
        /* Whole pounds and less than a pound of ounces: "3 lb 45 oz" is a slip of the finger, not a mass. */
        fail = parse_part(&t, negative, &second, &ounces);
        if (!fail && (second != UNIT_OZ || mass % PG_PER_LB || ounces >= sixteen || ounces <= -sixteen))
            fail = FAIL_SYNTAX;
        if (!fail)
            fail = add64(mass, ounces, &mass);
    }
    if (!fail && t.at < t.end)
        fail = FAIL_SYNTAX;
    if (!fail)
        *out = mass;
    return fail;
}
