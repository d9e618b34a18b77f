/* Names: what a say speaks of. */
#include "screen/names.h"

uint8_t say_scale(const struct say *s)
{
    switch (s->kind) {
    case SAY_PROMPT:
        return s->prompt ? s->prompt->scale : NO_SCALE;
    case SAY_RECORDED:
    case SAY_NOTED:
        return s->record ? s->record->scale : NO_SCALE;
    case SAY_NOTICE:
        return s->effect ? s->effect->scale : NO_SCALE;
    case SAY_READING:
    case SAY_CUE:
        return s->scale;
    default:
        return NO_SCALE;
    }
}

static const struct scale_setup *setup_of(const struct say *s)
{
    uint8_t scale = say_scale(s);
    return s->setup && scale < s->setup->scale_count ? &s->setup->scales[scale] : NULL;
}

const char *say_scale_name(const struct say *s)
{
    const struct scale_setup *scale = setup_of(s);
    return scale ? scale->name : NULL;
}

const struct ingredient *say_ingredient(const struct say *s)
{
    uint8_t in = NO_INGREDIENT;
    if (s->kind == SAY_PROMPT && s->prompt)
        in = s->prompt->ingredient;
    else if ((s->kind == SAY_RECORDED || s->kind == SAY_NOTED) && s->record)
        in = s->record->ingredient;
    else if (s->kind == SAY_NOTICE && s->effect)
        in = s->effect->ingredient;
    if (in == NO_INGREDIENT && s->item)
        in = s->item->ingredient;
    if (!s->setup || !s->setup->formula || in >= s->setup->formula->ingredient_count)
        return NULL;
    return &s->setup->formula->ingredients[in];
}

const char *ingredient_name(const struct ingredient *in, uint8_t lang)
{
    if (!in)
        return "";
    return lang < CAP_LANGS && in->name[lang][0] ? in->name[lang] : in->name[0];
}

const char *step_text(const struct step *step, uint8_t lang)
{
    if (!step)
        return "";
    return lang < CAP_LANGS && step->text[lang][0] ? step->text[lang] : step->text[0];
}

void scale_unit(const struct scale_setup *scale, enum mass_unit *unit, int *places)
{
    *unit = scale && scale->division < PG_PER_G ? UNIT_G : UNIT_KG;
    *places = scale ? mass_places(scale->division, *unit) : -1;
}

void say_unit(const struct say *s, enum mass_unit *unit, int *places)
{
    if (s->unit == UNIT_NONE) {
        scale_unit(setup_of(s), unit, places);
        return;
    }
    *unit = (enum mass_unit)s->unit;
    *places = s->places;
}

bool asks_item(const struct prompt *p)
{
    return p->ask == ASK_ADD || (p->ask == ASK_CONFIRM && p->what == WHAT_BASIS);
}

const char *answer_list_word(const struct prompt *p, enum answer_word word, const char **value)
{
    *value = answer_value_text(word);
    if (word == ANSWER_YES && p->other)
        *value = "CODE";
    if (word == ANSWER_DISCARD && asks_item(p))
        *value = "ITEM";
    return answer_text(word);
}

/* "Is that all the meat?" answered with no: one more lug. */
static bool basis_refused(const struct say *s)
{
    return s->prompt && s->prompt->ask == ASK_CONFIRM && s->prompt->what == WHAT_BASIS;
}

/* Nearly every record answers one kind of prompt; a discard is taken by several. */
const char *noted_ask(const struct say *s)
{
    switch (s->record->kind) {
    case REC_STARTED:
    case REC_SIGNED_IN:
        return ask_text(ASK_PERSON);
    case REC_LOT:
        return ask_text(ASK_LOT);
    case REC_TARED:
        return ask_text(ASK_CONTAINER);
    case REC_STAGED:
        return ask_text(s->record->asked ? ASK_CONFIRM : ASK_CLEAR);
    case REC_MORE:
        return ask_text(basis_refused(s) ? ASK_CONFIRM : ASK_MORE);
    case REC_DISCARDED: /* several prompts take it */
        return ask_text(s->prompt ? (enum ask)s->prompt->ask : ASK_OVER);
    case REC_STATE:
        return ask_text(ASK_RESUME);
    case REC_ADDED:
        return ask_text(ASK_ADD);
    case REC_INSTRUCTED:
        return ask_text(ASK_INSTRUCTION);
    case REC_CHECKED:
        return ask_text(ASK_CHECK);
    default:
        return ask_text(ASK_CONFIRM);
    }
}

const char *noted_value(const struct say *s)
{
    const struct record *r = s->record;
    switch (r->kind) {
    case REC_STARTED:
    case REC_SIGNED_IN:
        return r->person;
    case REC_LOT:
        return r->lot;
    case REC_MORE:
        return answer_text(r->next && !basis_refused(s) ? ANSWER_YES : ANSWER_NO);
    case REC_DISCARDED:
        return answer_text(ANSWER_DISCARD);
    case REC_TARED:
    case REC_STAGED:
        return r->asked ? answer_text(ANSWER_YES) : NULL;
    default:
        return answer_text(ANSWER_YES);
    }
}

const char *settle_text(uint8_t settled)
{
    static const char *const words[] = {"silent", "noweight", "moving", "settled", "disputed"};
    return settled < sizeof words / sizeof words[0] ? words[settled] : "";
}
