/* Lines: answer lines out of bytes (plain, json), and what plain mode makes easier for fingers and scanners. */
#include "screen/lines.h"

#include <stdio.h>
#include <string.h>

#include "screen/text.h"

/* A line that can't be taken, under the prompt that it names: answer_parse refuses what stands in brackets. */
static void spoil(char *line, const char *mark)
{
    size_t n = 0;
    if (line[0] == '@')
        n = 1 + strspn(line + 1, "0123456789");
    if (n < 2 || n > 11 || line[n] != ' ')
        n = 0;
    snprintf(line + n, ANSWER_LINE - n, "%s[%s]", n ? " " : "", mark);
}

/* The line is whole. False: it is blank, there is nothing to answer. */
static bool finish(struct screen *s, char line[ANSWER_LINE])
{
    uint16_t n = s->typed_len;
    bool too_long = s->too_long;
    s->typed_len = 0;
    s->too_long = false;
    if (n && s->typed[n - 1] == '\r')
        n--;
    memcpy(line, s->typed, n);
    line[n] = 0;
    if (too_long) {
        spoil(line, "too long");
        return true;
    }
    if (strlen(line) != n || !utf8_valid(line)) {
        spoil(line, "not UTF-8 text");
        return true;
    }
    return line[strspn(line, " \t")] != 0;
}

bool lines_byte(struct screen *s, char byte, char line[ANSWER_LINE])
{
    if (byte == '\n')
        return finish(s, line);
    if (s->typed_len < ANSWER_LINE - 1)
        s->typed[s->typed_len++] = byte;
    else
        s->too_long = true;
    return false;
}

static bool is_word(const char *text)
{
    size_t n = strcspn(text, " \t");
    for (unsigned w = 0; w < ANSWER_COUNT; w++)
        if (strlen(answer_text((enum answer_word)w)) == n && !memcmp(answer_text((enum answer_word)w), text, n))
            return true;
    return false;
}

static bool is_number(const char *text)
{
    size_t sign = *text == '-';
    return text[sign] && strspn(text + sign, "0123456789.") == strlen(text + sign);
}

/* What a line that begins with no word of ours means to the prompt; ANSWER_COUNT: nothing. */
static enum answer_word bare_word(const struct prompt *p, const char *text)
{
    if (p->ask == ASK_PERSON)
        return ANSWER_PERSON;
    if (p->other)
        return ANSWER_YES;
    if (p->ask == ASK_LOT)
        return ANSWER_LOT;
    if (p->ask == ASK_CHECK && is_number(text))
        return ANSWER_VALUE;
    return ANSWER_COUNT;
}

void lines_ease(const struct view *v, char line[ANSWER_LINE])
{
    char old[ANSWER_LINE];
    size_t at = strspn(line, " \t");
    if (line[at] == '@') {
        at += 1 + strspn(line + at + 1, "0123456789");
        at += strspn(line + at, " \t");
    }
    char *text = line + at;
    if (!*text || *text == '[' || is_word(text))
        return;
    snprintf(old, sizeof old, "%s", text);
    size_t room = ANSWER_LINE - at;
    if (v->prompt.ask != ASK_CHECK && *old >= '1' && *old < '1' + v->choice_count && !old[1 + strspn(old + 1, " \t")]) {
        const struct view_choice *c = &v->choices[*old - '1'];
        const char *word = answer_text((enum answer_word)c->word);
        snprintf(text, room, "%s%s%s", word, c->text[0] ? " " : "", c->text);
        return;
    }
    enum answer_word word = bare_word(&v->prompt, old);
    if (word == ANSWER_COUNT)
        return;
    int n = snprintf(text, room, "%s %s", answer_text(word), old);
    if (n < 0 || (size_t)n >= room)
        snprintf(text, room, "[too long]");
}
