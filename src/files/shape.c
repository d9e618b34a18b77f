/* The shape of a scale's line: fields from left to right, with blanks between, and the words that stand in them. */
#include <string.h>

#include "files/nearest.h"
#include "files/profile_raw.h"

/* Whether a field takes ":WIDTH". */
#define WIDTH_NONE 0
#define WIDTH_MAY 1
#define WIDTH_MUST 2
#define WIDTH_DIGITS 3 /* may, and the digits' manner too */

static const struct {
    const char *word;
    uint8_t kind, width;
} fields[] = {
    {"status", FIELD_STATUS, WIDTH_MAY},    {"basis", FIELD_BASIS, WIDTH_MAY},
    {"sign", FIELD_SIGN, WIDTH_MAY},        {"weight", FIELD_WEIGHT, WIDTH_DIGITS},
    {"unit", FIELD_UNIT, WIDTH_MAY},        {"blanks", FIELD_BLANKS, WIDTH_MAY},
    {"skip", FIELD_SKIP, WIDTH_MUST},       {"ounces", FIELD_OUNCES, WIDTH_DIGITS},
    {"number", FIELD_NUMBER, WIDTH_DIGITS}, {"bits", FIELD_BITS, WIDTH_NONE},
    {"check", FIELD_CHECK, WIDTH_NONE},
};
#define FIELD_WORDS (sizeof fields / sizeof *fields)

static const char *skip_blanks(const char *at)
{
    while (*at == ' ' || *at == '\t')
        at++;
    return at;
}

static bool is_word(const char *at, size_t n, const char *word)
{
    return strlen(word) == n && !memcmp(at, word, n);
}

static const char *read_number(const char *at, size_t n, uint8_t *width)
{
    unsigned v = 0;
    for (size_t i = 0; i < n; i++) {
        if (at[i] < '0' || at[i] > '9' || v > 99)
            return "a width that is not a whole number from 1 to 60";
        v = v * 10 + (unsigned)(at[i] - '0');
    }
    if (v < 1 || v > 60)
        return "a width that is not a whole number from 1 to 60";
    *width = (uint8_t)v;
    return NULL;
}

/* ":8:packed" behind a field's word. */
static const char *read_manner(const char *at, size_t n, uint8_t rule, struct profile_field *out)
{
    if (n && rule == WIDTH_NONE)
        return "\"bits\" is one byte, \"check\" as wide as its method says; neither takes a width";
    for (const char *end = at + n; at < end;) {
        const char *colon = memchr(at + 1, ':', (size_t)(end - at - 1)), *to = colon ? colon : end;
        at++;
        size_t len = (size_t)(to - at);
        const char *wrong = NULL;
        if (rule == WIDTH_DIGITS && is_word(at, len, "packed"))
            out->digits |= FIGURE_PACKED;
        else if (rule == WIDTH_DIGITS && is_word(at, len, "reversed"))
            out->digits |= FIGURE_REVERSED;
        else
            wrong = read_number(at, len, &out->width);
        if (wrong)
            return wrong;
        at = to;
    }
    if (rule == WIDTH_MUST && !out->width)
        return "\"skip\" needs a width, such as skip:3";
    if (out->digits && !out->width)
        return "packed or reversed digits need a width, such as weight:3:packed";
    return NULL;
}

/* "weight:8" into a field; *near: what an unknown word may have meant. */
static const char *read_field(const char *at, size_t n, struct profile_field *out, const char **near)
{
    char word[24];
    const char *colon = memchr(at, ':', n);
    size_t len = colon ? (size_t)(colon - at) : n;
    struct nearest best = {0};
    snprintf(word, sizeof word, "%.*s", (int)(len < 23 ? len : 23), at);
    for (size_t i = 0; i < FIELD_WORDS; i++) {
        nearest_offer(&best, word, fields[i].word);
        if (strcmp(word, fields[i].word) != 0)
            continue;
        out->kind = fields[i].kind;
        out->width = out->kind == FIELD_BITS ? 1 : 0;
        return read_manner(at + len, n - len, fields[i].width, out);
    }
    *near = best.word;
    return "a field that is not known";
}

const char *shape_take(const char *shape, struct profile *out, const char **near)
{
    *near = NULL;
    out->field_count = 0;
    for (const char *at = skip_blanks(shape); *at; at = skip_blanks(at)) {
        struct profile_field f = {0};
        const char *wrong;
        if (*at == '"') {
            f.kind = FIELD_LITERAL;
            at++;
            wrong = bytes_take(&at, '"', f.text, PROFILE_WORD, &f.len);
            if (!wrong && !f.len)
                wrong = "a text without bytes";
        } else if (*at == '(' || *at == ')') {
            f.kind = *at++ == '(' ? FIELD_OPEN : FIELD_CLOSE;
            wrong = NULL;
        } else {
            size_t n = strcspn(at, " \t\"()");
            wrong = read_field(at, n, &f, near);
            at += n;
        }
        if (wrong)
            return wrong;
        if (out->field_count == PROFILE_FIELDS)
            return "more than 16 fields";
        out->fields[out->field_count++] = f;
    }
    return out->field_count ? NULL : "it is empty";
}

static void trim(const char **at, uint8_t *len)
{
    while (*len && (**at == ' ' || **at == '\t')) {
        ++*at;
        --*len;
    }
    while (*len && ((*at)[*len - 1] == ' ' || (*at)[*len - 1] == '\t'))
        --*len;
}

/* The same word for two meanings would be a guess; the blanks around it don't count in a line. */
static bool word_known(const struct profile *p, const struct profile_word *w)
{
    const char *text = w->text;
    uint8_t len = w->len;
    trim(&text, &len);
    for (unsigned i = 0; i < p->word_count; i++) {
        const char *other = p->words[i].text;
        uint8_t other_len = p->words[i].len;
        trim(&other, &other_len);
        if (p->words[i].kind == w->kind && other_len == len && !memcmp(other, text, len))
            return true;
    }
    return false;
}

const char *words_take(const char *list, enum field_kind kind, uint8_t means, struct profile *out)
{
    for (const char *at = skip_blanks(list); *at; at = skip_blanks(at)) {
        struct profile_word w = {.kind = (uint8_t)kind, .means = means};
        const char *wrong = NULL;
        if (*at == '"') {
            at++;
            wrong = bytes_take(&at, '"', w.text, PROFILE_WORD, &w.len);
        } else {
            size_t n = strcspn(at, " \t");
            if (n > PROFILE_WORD)
                return "a word of more than 12 bytes";
            memcpy(w.text, at, n);
            w.len = (uint8_t)n;
            at += n;
        }
        if (wrong)
            return wrong;
        if (word_known(out, &w))
            return "a word that stands for two things";
        if (out->word_count == PROFILE_WORDS)
            return "more than 24 words in the file";
        out->words[out->word_count++] = w;
    }
    return NULL;
}
