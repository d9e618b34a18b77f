/* Answers: "[@N] WORD [VALUE]" read strictly. What can't be read is refused, never guessed. */
#include "screen/screen.h"

#include <string.h>

#include "screen/text.h"

static const char *skip_blanks(const char *s)
{
    while (*s == ' ' || *s == '\t')
        s++;
    return s;
}

/* Unsigned decimal of at most `max`; *s moved behind it. False: no digit, or too large. */
static bool read_number(const char **s, uint32_t max, uint32_t *out)
{
    const char *p = *s;
    uint64_t value = 0;
    while (*p >= '0' && *p <= '9') {
        value = value * 10 + (uint64_t)(*p++ - '0');
        if (value > max)
            return false;
    }
    if (p == *s)
        return false;
    *s = p;
    *out = (uint32_t)value;
    return true;
}

/* "-12.5" in thousandths. False: not a decimal, more than three places, or out of range. */
static bool read_milli(const char *s, int32_t *out)
{
    bool minus = *s == '-';
    s += minus || *s == '+';
    uint32_t whole;
    int64_t milli = 0;
    if (!read_number(&s, 2000000, &whole)) /* its thousandths fit 32 bits */
        return false;
    if (*s == '.') {
        int64_t place = 100;
        if (*++s < '0' || *s > '9')
            return false;
        for (; *s >= '0' && *s <= '9'; s++, place /= 10) {
            if (!place && *s != '0')
                return false;
            milli += place * (*s - '0');
        }
    }
    if (*s)
        return false;
    milli += (int64_t)whole * 1000;
    *out = (int32_t)(minus ? -milli : milli);
    return true;
}

/* A lot, a reason, a code: not empty, all of it fits, nothing in it that has no place in a record. */
static bool read_text(const char *value, char *out, size_t cap)
{
    size_t n = strlen(value);
    uint32_t c;
    if (!n || n >= cap)
        return false;
    for (const char *p = value; (c = utf8_next(&p)) != 0;)
        if (utf8_unsafe(c))
            return false;
    memcpy(out, value, n + 1);
    return true;
}

static bool read_item(const char *value, struct answer *out)
{
    uint32_t item;
    if (!*value)
        return true;
    if (!read_number(&value, UINT16_MAX, &item) || *value || !item)
        return false;
    out->item = (uint16_t)item;
    return true;
}

static bool read_value(struct answer *out, const char *value)
{
    switch (out->word) {
    case ANSWER_YES: /* with a value it is the second person's code */
        return !*value || read_text(value, out->who.code, sizeof out->who.code);
    case ANSWER_PERSON:
        return read_text(value, out->who.code, sizeof out->who.code);
    case ANSWER_LOT:
        return read_text(value, out->text, CAP_LOT);
    case ANSWER_KEEP:
    case ANSWER_SHORT:
        return read_text(value, out->text, sizeof out->text);
    case ANSWER_VALUE:
        return read_milli(value, &out->value_milli);
    case ANSWER_TYPED:
        return mass_parse(value, strlen(value), &out->mass) == FAIL_NONE && out->mass > 0;
    case ANSWER_DISCARD:
        return read_item(value, out);
    default:
        return !*value;
    }
}

static bool find_word(const char *word, size_t n, uint8_t *out)
{
    for (unsigned w = 0; w < ANSWER_COUNT; w++) {
        const char *known = answer_text((enum answer_word)w);
        if (strlen(known) == n && !memcmp(known, word, n)) {
            *out = (uint8_t)w;
            return true;
        }
    }
    return false;
}

enum refusal_code answer_parse(const char *line, struct answer *out, uint32_t *at)
{
    char value[ANSWER_LINE];
    *at = 0;
    memset(out, 0, sizeof *out);
    line = skip_blanks(line);
    if (*line == '@') {
        line++;
        if (!read_number(&line, UINT32_MAX, at) || !*at || (*line && *line != ' ' && *line != '\t'))
            return REFUSED_VALUE;
        line = skip_blanks(line);
    }
    if (*line == '[') /* screen_answer's mark for a line that was too long or no text */
        return REFUSED_VALUE;
    size_t n = strcspn(line, " \t");
    if (!find_word(line, n, &out->word))
        return REFUSED_WORD;
    line = skip_blanks(line + n);
    n = strlen(line);
    while (n && (line[n - 1] == ' ' || line[n - 1] == '\t'))
        n--;
    if (n >= sizeof value)
        return REFUSED_VALUE;
    memcpy(value, line, n);
    value[n] = 0;
    return read_value(out, value) ? REFUSED_COUNT : REFUSED_VALUE;
}

unsigned answer_room(const char *line)
{
    static const uint8_t rooms[ANSWER_COUNT] = {[ANSWER_LOT] = CAP_LOT - 1,
                                                [ANSWER_KEEP] = CAP_REASON - 1,
                                                [ANSWER_SHORT] = CAP_REASON - 1,
                                                [ANSWER_PERSON] = CAP_PERSON - 1,
                                                [ANSWER_YES] = CAP_PERSON - 1};
    uint8_t word;
    line = skip_blanks(line);
    if (*line == '@')
        line = skip_blanks(line + 1 + strspn(line + 1, "0123456789"));
    if (!strncmp(line, "[too long]", 10))
        return ANSWER_LINE - 1;
    size_t n = strcspn(line, " \t");
    if (!find_word(line, n, &word) || !rooms[word])
        return 0;
    return strlen(skip_blanks(line + n)) > rooms[word] ? rooms[word] : 0;
}
