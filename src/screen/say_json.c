/* JSON lines: what is said, as docs/protocol.md has it. */
#include "screen/say.h"

#include "core/json.h"
#include "screen/names.h"
#include "screen/text.h"

#define SENTENCE_MAX 600

static const char *const event_names[] = {"hello",   "prompt", "recorded", "noted",   "notice",
                                          "refused", "state",  "end",      "reading", "cue"};

static void put_ingredient(struct json *j, const struct say *s)
{
    const struct ingredient *in = say_ingredient(s);
    json_put_string(j, "ingredient", in ? in->key : NULL);
}

static void put_text(struct json *j, const struct say *s)
{
    char text[SENTENCE_MAX];
    say_sentence(s, text, sizeof text);
    json_put_string(j, "text", text);
}

static void put_hello(struct json *j, const struct say *s)
{
    json_put_string(j, "batch", s->batch);
    json_put_bool(j, "resumed", s->resumed);
    json_key(j, "last");
    json_open(j, '{');
    json_put_string(j, "batch", s->last_batch);
    json_put_string(j, "state", s->last_state);
    json_close(j, '}');
}

/* As a client would write them: a word, and in capitals what has to take the place of its value. */
static void put_answers(struct json *j, const struct prompt *p)
{
    json_key(j, "answers");
    json_open(j, '[');
    for (unsigned word = 0; word < ANSWER_COUNT; word++) {
        if (!(p->answers & UINT32_C(1) << word))
            continue;
        const char *value;
        struct text t;
        char both[32];
        text_begin(&t, both, sizeof both);
        text_put(&t, answer_list_word(p, (enum answer_word)word, &value));
        if (value[0]) {
            text_put(&t, " ");
            text_put(&t, value);
        }
        json_string(j, both);
    }
    json_close(j, ']');
}

static void put_items(struct json *j, const struct say *s)
{
    json_key(j, "items");
    json_open(j, '[');
    for (uint16_t i = 0; s->items && i < s->item_count; i++)
        json_int(j, s->items[i]);
    json_close(j, ']');
}

/* The keys that only some prompts have. */
static void put_ask(struct json *j, const struct say *s)
{
    const struct prompt *p = s->prompt;
    bool weight =
        p->ask == ASK_CONFIRM && (p->what == WHAT_WEIGHT || p->what == WHAT_SECOND || p->what == WHAT_CHANGED);
    if (p->ask == ASK_CONFIRM)
        json_put_string(j, "what", confirm_what_text((enum confirm_what)p->what));
    if (p->ask == ASK_CONTAINER) {
        json_put_grams_if(j, "empty_g", p->has_empty, p->empty);
        json_put_bool(j, "back", p->back);
    }
    if (weight || p->ask == ASK_FILL || p->ask == ASK_OVER || p->ask == ASK_UNDER) {
        json_put_grams_if(j, "target_g", p->has_band, p->target);
        json_put_grams_if(j, "low_g", p->has_band, p->low);
        json_put_grams_if(j, "high_g", p->has_band, p->high);
    }
    if (p->ask == ASK_FILL)
        json_put_bool(j, "cues", s->cues);
    if (weight || p->ask == ASK_OVER || p->ask == ASK_UNDER)
        json_put_grams(j, "net_g", p->net);
    if (p->ask == ASK_OVER)
        json_put_grams(j, "take_g", p->take);
    if (p->ask == ASK_CONFIRM && p->what == WHAT_BASIS)
        json_put_grams(j, "basis_g", p->basis);
    if (asks_item(p))
        put_items(j, s);
    const char *text = step_text(s->step, s->lang);
    if (p->ask == ASK_INSTRUCTION || p->ask == ASK_CHECK || p->ask == ASK_ADD)
        json_put_string(j, "text", p->ask == ASK_ADD && !text[0] ? NULL : text);
    if (p->ask == ASK_CHECK && s->step) {
        json_put_string(j, "unit", s->step->unit);
        json_put_milli(j, "low", s->step->low_milli);
        json_put_milli(j, "high", s->step->high_milli);
    }
}

static void put_prompt(struct json *j, const struct say *s)
{
    const struct prompt *p = s->prompt;
    const struct ingredient *in = say_ingredient(s);
    json_put_string(j, "batch", s->batch);
    json_put_string(j, "ask", ask_text((enum ask)p->ask));
    json_put_id(j, "item", p->item);
    json_put_id(j, "parent", s->item ? s->item->parent : 0);
    put_ingredient(j, s);
    json_put_string(j, "name", ingredient_name(in, s->lang));
    json_put_id(j, "bin", in ? in->bin : 0);
    json_put_string(j, "scale", say_scale_name(s));
    json_put_string(j, "way", in ? weigh_way_text((enum weigh_way)p->way) : NULL);
    put_ask(j, s);
    put_answers(j, p);
}

static void put_recorded(struct json *j, const struct say *s)
{
    const struct record *r = s->record;
    json_put_string(j, "batch", s->batch);
    json_put_id(j, "item", r->item);
    json_put_id(j, "parent", r->parent);
    put_ingredient(j, s);
    json_put_string(j, "lot", r->lot);
    json_put_string(j, "scale", say_scale_name(s));
    json_put_grams_if(j, "gross_g", r->has_gross, r->gross);
    json_put_grams_if(j, "tare_g", r->has_gross, r->tare);
    json_put_grams_if(j, "target_g", r->has_band, r->target);
    json_put_grams_if(j, "low_g", r->has_band, r->low);
    json_put_grams_if(j, "high_g", r->has_band, r->high);
    json_put_grams(j, "actual_g", r->net);
    json_put_string(j, "verdict", verdict_text((enum verdict)r->verdict));
    json_put_string(j, "manner", manner_text((enum manner)r->manner));
    json_put_string(j, "reason", r->reason);
    json_put_int(j, "seq", s->seq);
}

static void put_noted(struct json *j, const struct say *s)
{
    const struct record *r = s->record;
    json_put_string(j, "batch", s->batch);
    json_put_id(j, "item", r->item);
    json_put_string(j, "ask", noted_ask(s));
    if (r->kind == REC_CHECKED)
        json_put_milli(j, "value", r->value_milli);
    else
        json_put_string(j, "value", noted_value(s));
    if (r->kind == REC_BASIS)
        json_put_grams(j, "basis_g", r->net);
    if (r->kind == REC_TARED)
        json_put_grams(j, "tare_g", r->tare);
    json_put_int(j, "seq", s->seq);
}

static void put_notice(struct json *j, const struct say *s)
{
    json_put_string(j, "scale", say_scale_name(s));
    json_put_string(j, "code", notice_text((enum notice_code)s->effect->code));
    put_text(j, s);
}

static void put_refused(struct json *j, const struct say *s)
{
    json_put_id(j, "to", s->to);
    json_put_string(j, "code", refusal_text((enum refusal_code)s->effect->code));
    put_text(j, s);
}

static void put_reading(struct json *j, const struct say *s)
{
    json_put_string(j, "scale", say_scale_name(s));
    json_put_grams_if(j, "gross_g", s->has_weight, s->gross);
    json_put_grams_if(j, "net_g", s->has_net, s->net);
    json_put_string(j, "state", settle_text(s->settled));
    json_put_grams_if(j, "flow_g", s->has_flow, s->flow);
    json_put_grams_if(j, "flow_error_g", s->has_flow, s->flow_error);
    json_put_grams_if(j, "lands_g", s->has_flow, s->lands);
    json_put_string(j, "cue", s->has_flow ? cue_text((enum flow_cue)s->cue) : NULL);
    json_put_bool(j, "rests", s->rests);
}

static void put_event(struct json *j, const struct say *s)
{
    switch (s->kind) {
    case SAY_HELLO:
        put_hello(j, s);
        break;
    case SAY_PROMPT:
        put_prompt(j, s);
        break;
    case SAY_RECORDED:
        put_recorded(j, s);
        break;
    case SAY_NOTED:
        put_noted(j, s);
        break;
    case SAY_NOTICE:
        put_notice(j, s);
        break;
    case SAY_REFUSED:
        put_refused(j, s);
        break;
    case SAY_STATE:
        json_put_string(j, "batch", s->batch);
        json_put_string(j, "state", batch_state_text((enum batch_state)s->effect->code));
        break;
    case SAY_END:
        json_put_int(j, "exit", s->effect->code);
        break;
    case SAY_READING:
        put_reading(j, s);
        break;
    case SAY_CUE:
        break;
    }
}

size_t say_json(const struct say *s, char *buf, size_t cap)
{
    struct json j;
    json_begin(&j, buf, cap);
    json_open(&j, '{');
    json_put_int(&j, "v", 1);
    json_put_int(&j, "n", s->n);
    json_put_string(&j, "event", event_names[s->kind]);
    put_event(&j, s);
    json_close(&j, '}');
    return json_finish(&j) ? j.len : 0;
}
