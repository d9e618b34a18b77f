/* What a key expects, in words: for faults and for the reference page. */
#include <stdio.h>
#include <string.h>

#include "files/table.h"

/* Ranges are bounds of ours, so the unit is the one that reads best. */
static void mass_words(mass_pg m, char *buf, size_t cap)
{
    mass_format_unit(m, m >= PG_PER_KG ? UNIT_KG : UNIT_G, -1, buf, cap);
}

/* "a|b|c" as "a, b, c". */
static void choice_words(const char *words, char *buf, size_t cap)
{
    size_t n = 0;
    for (; *words && n + 3 < cap; words++) {
        buf[n++] = *words == '|' ? ',' : *words;
        if (*words == '|')
            buf[n++] = ' ';
    }
    buf[n] = '\0';
}

static void time_words(const struct key *k, char *buf, size_t cap)
{
    snprintf(buf, cap, "a time such as 100 ms or 1.5 s, %lld ms to %lld s", (long long)k->low,
             (long long)k->high / 1000);
}

static void range_words(const struct key *k, char *buf, size_t cap)
{
    char low[MASS_TEXT_MAX];
    char high[MASS_TEXT_MAX];
    mass_words(k->low, low, sizeof low);
    mass_words(k->high, high, sizeof high);
    snprintf(buf, cap, "a mass with its unit (kg, g, mg, lb, oz, gr), %s to %s", low, high);
}

/* Types whose words depend on the row: its room, range or list of words. */
static void by_type(const struct key *k, char *buf, size_t cap)
{
    char words[200];
    switch ((enum key_type)k->type) {
    case KEY_TEXT:
        snprintf(buf, cap, "text of 1 to %u bytes", k->room - 1u);
        return;
    case KEY_CODE:
        snprintf(buf, cap, "1 to %u of a-z, 0-9 and -", k->room - 1u);
        return;
    case KEY_WHOLE:
        snprintf(buf, cap, "a whole number, %lld to %lld", (long long)k->low, (long long)k->high);
        return;
    case KEY_THOUSANDS:
        snprintf(buf, cap, "a number of at most 3 decimals, %lld to %lld", (long long)k->low / 1000,
                 (long long)k->high / 1000);
        return;
    case KEY_MASS:
        range_words(k, buf, cap);
        return;
    case KEY_TIME:
        time_words(k, buf, cap);
        return;
    case KEY_CHOICE:
        choice_words(k->words, words, sizeof words);
        snprintf(buf, cap, "one of %s", words);
        return;
    case KEY_FLAGS:
        choice_words(k->words, words, sizeof words);
        snprintf(buf, cap, "any of %s, or none", words);
        return;
    case KEY_BYTES:
        snprintf(buf, cap, "1 to %d bytes, others than printable ones as \\r \\n \\t \\\\ or \\x02", PROFILE_COMMAND);
        return;
    default:
        return;
    }
}

static const char amount_form[] =
    "an amount such as 1.6 % of meat, 1.2 % of total, 2.5 g per kg of meat, 340 g for 11.34 kg of meat or 1 bag of "
    "2 lb for 50 lb of meat";

/* Types whose form never differs. */
static const char *const fixed[] = {
    [KEY_BOOL] = "yes or no",
    [KEY_PERCENT] = "a percentage such as 6.25 %, above 0 % and at most 100 %",
    [KEY_BAND] = "a share of the target such as 2 %, or a mass such as 5 g",
    [KEY_AMOUNT] = amount_form,
    [KEY_LIMIT] = "a limit such as 0.25 oz per 100 lb, 156.25 ppm or 0.5 %",
    [KEY_RAW] = "text",
};

void value_expected(const struct key *k, char *buf, size_t cap)
{
    const char *words = k->form ? k->form : k->type < sizeof fixed / sizeof *fixed ? fixed[k->type] : NULL;
    if (words)
        snprintf(buf, cap, "%s", words);
    else
        by_type(k, buf, cap);
}
