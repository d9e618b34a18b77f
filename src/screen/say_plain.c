/* Plain lines: what is said, one line each, without colour and without moving the cursor. The first word says what it is;
 * fields are parted by " | ". */
#include "screen/say.h"

#include "screen/names.h"
#include "screen/text.h"

/* The longest names all that a formula can put into the mixer at once: none of them may be cut off. */
#define SENTENCE_MAX (CAP_INGREDIENTS * (CAP_NAME + 1) + CAP_TEXT + 100)

static void bar(struct text *t)
{
    text_put(t, " | ");
}

static void put_sentence(struct text *t, const struct say *s)
{
    char text[SENTENCE_MAX];
    say_sentence(s, text, sizeof text);
    text_put(t, text);
}

static void put_mass(struct text *t, const struct say *s, mass_pg mass)
{
    enum mass_unit unit;
    int places;
    say_unit(s, &unit, &places);
    text_mass(t, mass, unit, places);
}

static void put_band(struct text *t, const struct say *s, mass_pg target, mass_pg low, mass_pg high)
{
    bar(t);
    text_put(t, "target ");
    put_mass(t, s, target);
    bar(t);
    text_put(t, "band ");
    put_mass(t, s, low);
    text_put(t, " to ");
    put_mass(t, s, high);
}

/* " | type: yes, no" or that the scale answers by itself. */
static void put_answers(struct text *t, const struct prompt *p)
{
    bool first = true;
    bar(t);
    for (unsigned word = 0; word < ANSWER_COUNT; word++) {
        if (!(p->answers & UINT32_C(1) << word))
            continue;
        const char *value;
        text_put(t, first ? "type: " : ", ");
        first = false;
        text_put(t, answer_list_word(p, (enum answer_word)word, &value));
        if (value[0]) {
            text_put(t, " ");
            text_put(t, value);
        }
    }
    if (first)
        text_put(t, "the scale answers");
}

static void put_choices(struct text *t, const struct say *s)
{
    for (uint8_t i = 0; s->choices && i < s->choice_count; i++) {
        const struct view_choice *c = &s->choices[i];
        const char *value;
        (void)answer_list_word(s->prompt, (enum answer_word)c->word, &value);
        if (!c->text[0] && value[0])
            continue; /* its value is typed, which here means the whole answer is */
        bar(t);
        text_number(t, i + 1);
        text_put(t, " = ");
        text_put(t, answer_text((enum answer_word)c->word));
        if (c->text[0]) {
            text_put(t, " ");
            text_clean(t, c->text);
        }
    }
}

static void put_prompt(struct text *t, const struct say *s)
{
    const struct prompt *p = s->prompt;
    const struct ingredient *in = say_ingredient(s);
    text_put(t, "prompt @");
    text_number(t, s->n);
    text_put(t, " ");
    text_put(t, ask_text((enum ask)p->ask));
    if (p->item) {
        bar(t);
        text_put(t, "item ");
        text_number(t, p->item);
    }
    if (in) {
        bar(t);
        text_clean(t, ingredient_name(in, s->lang));
        if (in->bin) {
            bar(t);
            text_put(t, "bin ");
            text_number(t, in->bin);
        }
    }
    if (say_scale_name(s)) {
        bar(t);
        text_put(t, "scale ");
        text_clean(t, say_scale_name(s));
    }
    if (p->has_band)
        put_band(t, s, p->target, p->low, p->high);
    bar(t);
    put_sentence(t, s);
    put_answers(t, p);
    put_choices(t, s);
}

static void put_recorded(struct text *t, const struct say *s)
{
    const struct record *r = s->record;
    text_put(t, "recorded item ");
    text_number(t, r->item);
    bar(t);
    text_clean(t, ingredient_name(say_ingredient(s), s->lang));
    bar(t);
    put_mass(t, s, r->net);
    bar(t);
    text_put(t, verdict_text((enum verdict)r->verdict));
    if (r->has_band)
        put_band(t, s, r->target, r->low, r->high);
    if (r->has_gross) {
        bar(t);
        text_put(t, "gross ");
        put_mass(t, s, r->gross);
        bar(t);
        text_put(t, "tare ");
        put_mass(t, s, r->tare);
    }
    if (r->lot[0]) {
        bar(t);
        text_put(t, "lot ");
        text_clean(t, r->lot);
    }
    if (say_scale_name(s)) {
        bar(t);
        text_put(t, "scale ");
        text_clean(t, say_scale_name(s));
    }
    bar(t);
    text_put(t, manner_text((enum manner)r->manner));
    if (r->reason[0]) {
        bar(t);
        text_clean(t, r->reason);
    }
    bar(t);
    text_put(t, "entry ");
    text_number(t, s->seq);
}

static void put_hello(struct text *t, const struct say *s)
{
    text_put(t, "hello ");
    put_sentence(t, s);
    if (s->last_batch && s->last_batch[0]) {
        bar(t);
        text_put(t, "last batch ");
        text_clean(t, s->last_batch);
        text_put(t, " ");
        text_clean(t, s->last_state ? s->last_state : "");
    }
}

/* A line of a fixed word, perhaps a code, and the sentence. */
static void put_line(struct text *t, const struct say *s, const char *word, const char *code)
{
    text_put(t, word);
    if (code) {
        text_put(t, " ");
        text_put(t, code);
    }
    bar(t);
    put_sentence(t, s);
}

static void put_noted(struct text *t, const struct say *s)
{
    text_put(t, "noted ");
    text_put(t, noted_ask(s));
    if (s->record->item) {
        bar(t);
        text_put(t, "item ");
        text_number(t, s->record->item);
    }
    bar(t);
    put_sentence(t, s);
    bar(t);
    text_put(t, "entry ");
    text_number(t, s->seq);
}

static void put_refused(struct text *t, const struct say *s)
{
    text_put(t, "refused ");
    text_put(t, refusal_text((enum refusal_code)s->effect->code));
    if (s->to) {
        text_put(t, " @");
        text_number(t, s->to);
    }
    bar(t);
    put_sentence(t, s);
}

static void put_end(struct text *t, const struct say *s)
{
    text_put(t, "end ");
    text_number(t, s->effect->code);
    bar(t);
    put_sentence(t, s);
}

static void put_cue(struct text *t, const struct say *s)
{
    text_put(t, "cue ");
    text_put(t, cue_text((enum flow_cue)s->cue));
    if (s->item) {
        bar(t);
        text_put(t, "item ");
        text_number(t, s->item->id);
    }
    bar(t);
    text_put(t, "lands at ");
    put_mass(t, s, s->lands);
    bar(t);
    put_sentence(t, s);
}

size_t say_plain(const struct say *s, char *buf, size_t cap)
{
    struct text t;
    if (cap < 2)
        return 0;
    text_begin(&t, buf, cap - 1); /* one byte is the line end's */
    switch (s->kind) {
    case SAY_HELLO:
        put_hello(&t, s);
        break;
    case SAY_PROMPT:
        put_prompt(&t, s);
        break;
    case SAY_RECORDED:
        put_recorded(&t, s);
        break;
    case SAY_NOTED:
        put_noted(&t, s);
        break;
    case SAY_NOTICE:
        put_line(&t, s, "notice", notice_text((enum notice_code)s->effect->code));
        break;
    case SAY_REFUSED:
        put_refused(&t, s);
        break;
    case SAY_STATE:
        put_line(&t, s, "state", batch_state_text((enum batch_state)s->effect->code));
        break;
    case SAY_END:
        put_end(&t, s);
        break;
    case SAY_CUE:
        if (s->cue == CUE_NONE)
            return 0;
        put_cue(&t, s);
        break;
    default:
        return 0;
    }
    buf[t.len++] = '\n'; /* there is room: a line that was cut is still a line */
    buf[t.len] = 0;
    return t.len;
}
