/* Amounts: percent, ppm, mass per mass, and what a seasoning bag says on its back. */
#include "files/amount.h"

#include <string.h>

#define AMOUNT_TEXT 160
#define MILLIONTHS_PERCENT 100000000u /* one whole, in steps of a millionth of a percent */

/* A piece of text, not NUL-terminated. */
struct piece {
    const char *at;
    size_t n;
};

static struct piece trim(const char *at, size_t n)
{
    while (n && *at == ' ') {
        at++;
        n--;
    }
    while (n && at[n - 1] == ' ')
        n--;
    return (struct piece){at, n};
}

/* Copies with each run of blanks as one, none at the ends. False: no room. */
static bool squeeze(const char *value, char out[AMOUNT_TEXT])
{
    size_t n = 0;
    for (; *value; value++) {
        char c = *value == '\t' ? ' ' : *value;
        if (c == ' ' && (n == 0 || out[n - 1] == ' '))
            continue;
        if (n + 1 >= AMOUNT_TEXT)
            return false;
        out[n++] = c;
    }
    if (n && out[n - 1] == ' ')
        n--;
    out[n] = '\0';
    return true;
}

/* If the piece ends in `end`, cuts it off. */
static bool cut_end(struct piece *p, const char *end)
{
    size_t n = strlen(end);
    if (p->n < n || memcmp(p->at + p->n - n, end, n) != 0)
        return false;
    *p = trim(p->at, p->n - n);
    return true;
}

/* If `word` stands in the piece, splits it there. */
static bool split(struct piece p, const char *word, struct piece *left, struct piece *right)
{
    const char *at = memmem(p.at, p.n, word, strlen(word));
    if (!at)
        return false;
    *left = trim(p.at, (size_t)(at - p.at));
    const char *after = at + strlen(word);
    *right = trim(after, (size_t)(p.at + p.n - after));
    return true;
}

/* What core's codes mean for a share that somebody wrote. */
static const char *share_words(enum fail fail)
{
    switch (fail) {
    case FAIL_NONE:
        return NULL;
    case FAIL_SYNTAX:
        return "not a decimal number";
    case FAIL_ZERO:
        return "nothing can be a share of zero";
    default:
        return "too fine or too large a fraction to be held exactly";
    }
}

const char *mass_take(const char *value, size_t n, mass_pg *out)
{
    switch (mass_parse(value, n, out)) {
    case FAIL_NONE:
        return NULL;
    case FAIL_UNIT:
        return "no unit, or not a known one";
    case FAIL_RANGE:
        return "beyond 9,223 kg";
    case FAIL_INEXACT:
        return "more decimals than can be held exactly";
    default:
        return "not a mass";
    }
}

/* "100 lb", or "kg" for one kilogram. */
static const char *mass_or_unit(struct piece p, mass_pg *out)
{
    enum mass_unit unit = unit_from_text(p.at, p.n);
    if (unit == UNIT_NONE)
        return mass_take(p.at, p.n, out);
    *out = unit_pg(unit);
    return NULL;
}

/* "1 bag of 2 lb" or a plain mass. Whole bags only: half of one is weighed as its mass, not counted. */
static const char *bags(struct piece p, mass_pg *out)
{
    struct piece count;
    struct piece each;
    if (!split(p, " bag of ", &count, &each) && !split(p, " bags of ", &count, &each))
        return mass_take(p.at, p.n, out);
    int64_t n = 0;
    for (size_t i = 0; i < count.n; i++) {
        if (count.at[i] < '0' || count.at[i] > '9' || n > 99)
            return "not a whole number of bags from 1 to 99";
        n = n * 10 + (count.at[i] - '0');
    }
    if (n < 1 || n > 99)
        return "not a whole number of bags from 1 to 99";
    mass_pg one = 0;
    const char *wrong = mass_take(each.at, each.n, &one);
    if (wrong)
        return wrong;
    return share_words(muldiv(one, (uint64_t)n, 1, ROUND_HALF_EVEN, out));
}

/* Kept as the fraction of the two masses and never divided out: "340 g for 11.34 kg" is no decimal. */
static const char *ratio(struct piece part, struct piece whole, struct share *out)
{
    mass_pg a = 0;
    mass_pg b = 0;
    const char *wrong = bags(part, &a);
    if (!wrong)
        wrong = mass_or_unit(whole, &b);
    if (wrong)
        return wrong;
    if (a <= 0 || b <= 0)
        return "a mass that is not above zero";
    return share_words(share_of_masses(a, b, out));
}

/* "1.6 %" or "500 ppm"; *mine false if the piece is neither. */
static const char *portion(struct piece p, bool *mine, struct share *out)
{
    uint32_t over = cut_end(&p, "%") ? 100 : cut_end(&p, "ppm") ? 1000000 : 0;
    *mine = over != 0;
    return over ? share_words(share_from_decimal(p.at, p.n, over, out)) : NULL;
}

/* portion, or mass per mass with " per " or " for " between. */
static const char *any_share(struct piece p, bool masses, struct share *out)
{
    bool mine;
    struct piece part;
    struct piece whole;
    const char *wrong = portion(p, &mine, out);
    if (mine)
        return wrong;
    if (masses && (split(p, " per ", &part, &whole) || split(p, " for ", &part, &whole)))
        return ratio(part, whole, out);
    return "neither a percentage nor a mass for a mass";
}

bool share_six_places(struct share s)
{
    return s.den && MILLIONTHS_PERCENT % s.den == 0;
}

const char *amount_take(const char *value, struct amount *out)
{
    char text[AMOUNT_TEXT];
    if (!squeeze(value, text))
        return "too long";
    struct piece p = {text, strlen(text)};
    struct amount a = {BASE_MEAT, {0, 0}};
    if (cut_end(&p, " of total"))
        a.base = BASE_TOTAL;
    else if (!cut_end(&p, " of meat"))
        return "it does not say of what";
    /* of the total, masses would be a fraction that may not be a decimal: see share_six_places */
    if (a.base == BASE_TOTAL && (memmem(p.at, p.n, " per ", 5) || memmem(p.at, p.n, " for ", 5)))
        return "a share of the total is a percentage";
    const char *wrong = any_share(p, true, &a.share);
    if (wrong)
        return wrong;
    if (a.share.num == 0)
        return "nothing would be weighed";
    if (a.base == BASE_TOTAL && !share_six_places(a.share))
        return "more than six decimals";
    /* Ten times the meat is no seasoning but a slip of unit. Of the total, all of it would leave nothing for the meat. */
    if (a.share.num / a.share.den >= (a.base == BASE_TOTAL ? 1 : 10))
        return a.base == BASE_TOTAL ? "not below 100 %" : "not below 1000 %";
    *out = a;
    return NULL;
}

const char *limit_take(const char *value, struct share *out)
{
    char text[AMOUNT_TEXT];
    struct share s = {0, 0};
    if (!squeeze(value, text))
        return "too long";
    const char *wrong = any_share((struct piece){text, strlen(text)}, true, &s);
    if (wrong)
        return wrong;
    if (s.num > s.den)
        return "above 100 %";
    *out = s;
    return NULL;
}

const char *percent_take(const char *value, struct share *out)
{
    struct share s = {0, 0};
    const char *wrong = any_share(trim(value, strlen(value)), false, &s);
    if (wrong)
        return "not a percentage";
    if (s.num == 0 || s.num > s.den)
        return s.num ? "above 100 %" : "not above zero";
    *out = s;
    return NULL;
}

const char *band_take(const char *value, struct band_side *out)
{
    struct band_side b = {.given = true};
    bool mine;
    const char *wrong = portion(trim(value, strlen(value)), &mine, &b.share);
    if (!mine) {
        b.is_mass = true;
        wrong = mass_take(value, strlen(value), &b.mass);
    }
    if (wrong)
        return wrong;
    if (b.is_mass ? b.mass < 0 : b.share.num > b.share.den)
        return b.is_mass ? "below zero" : "above 100 %";
    *out = b;
    return NULL;
}
