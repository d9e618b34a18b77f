/* The shape of a scale's line: fields from left to right, with blanks between, and the words that stand in them. */
#include <string.h>

#include "files/nearest.h"
#include "files/profile_raw.h"

/* Whether a field takes ":WIDTH". */
#define WIDTH_NONE 0
#define WIDTH_MAY 1
#define WIDTH_MUST 2

static const struct {
    const char *word;
    uint8_t kind, width;
} fields[] = {
    {"status", FIELD_STATUS, WIDTH_MAY}, {"basis", FIELD_BASIS, WIDTH_MAY}, {"sign", FIELD_SIGN, WIDTH_NONE},
    {"weight", FIELD_WEIGHT, WIDTH_MAY}, {"unit", FIELD_UNIT, WIDTH_MAY},   {"blanks", FIELD_BLANKS, WIDTH_MAY},
    {"skip", FIELD_SKIP, WIDTH_MUST},
};
#define FIELD_WORDS (sizeof fields / sizeof *fields)

static const char *skip_blanks(const char *at)
{
    while (*at == ' ' || *at == '\t')
        at++;
    return at;
}

/* ":8" at the end of a field's word; no number is 0. */
static const char *read_width(const char *at, size_t n, uint8_t rule, uint8_t *width)
{
    unsigned v = 0;
    *width = 0;
    if (!n)
        return rule == WIDTH_MUST ? "\"skip\" needs a width, such as skip:3" : NULL;
    if (rule == WIDTH_NONE)
        return "\"sign\" is always one byte and takes no width";
    for (size_t i = 1; i < n; i++) {
        if (at[i] < '0' || at[i] > '9' || v > 99)
            return "a width that is not a whole number from 1 to 60";
        v = v * 10 + (unsigned)(at[i] - '0');
    }
    if (v < 1 || v > 60)
        return "a width that is not a whole number from 1 to 60";
    *width = (uint8_t)v;
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
        return read_width(at + len, n - len, fields[i].width, &out->width);
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
        } else {
            size_t n = strcspn(at, " \t\"");
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

/* The same word for two meanings would be a guess. */
static bool word_known(const struct profile *p, const struct profile_word *w)
{
    for (unsigned i = 0; i < p->word_count; i++)
        if (p->words[i].kind == w->kind && p->words[i].len == w->len && !memcmp(p->words[i].text, w->text, w->len))
            return true;
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
                return "a word of more than 8 bytes";
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
