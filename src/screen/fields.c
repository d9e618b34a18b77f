/* Fields: what stands in braces in the sentences. */
#include "screen/sentences.h"

#include <string.h>

#include "screen/names.h"

/* A second lot goes on top of the first: either of them. */
static bool shares_container(const struct say *s)
{
    const struct item *rest = s->item && s->work && s->item->rest ? &s->work[s->item->rest - 1] : NULL;
    return s->item && (s->item->in_place || (rest && rest->in_place));
}

/* Of the prompt that is said now, which is there. */
static bool prompt_is(const struct prompt *p, enum when when)
{
    switch (when) {
    case WHEN_NO_ITEM:
        return !p->item;
    case WHEN_BACK:
        return p->back;
    case WHEN_BAG:
        return p->way == WAY_BAG;
    case WHEN_EMPTY_KNOWN:
        return p->has_empty;
    case WHEN_UNPLANNED:
        return !p->has_band;
    case WHEN_OUTSIDE:
        return p->answers & UINT32_C(1) << ANSWER_HOLD;
    case WHEN_ASKED:
        return p->answers & UINT32_C(1) << ANSWER_YES;
    case WHEN_REASON:
        return !(p->answers & UINT32_C(1) << ANSWER_YES) && p->answers & UINT32_C(1) << ANSWER_KEEP;
    default:
        return false;
    }
}

/* The same, by what it wants to be confirmed. */
static bool prompt_confirms(const struct say *s, enum when when)
{
    const struct prompt *p = s->prompt;
    switch (when) {
    case WHEN_DECLARED:
        return p->what == WHAT_BASIS && s->setup && s->setup->basis == BASIS_DECLARED;
    case WHEN_BASIS:
        return p->what == WHAT_BASIS;
    case WHEN_SECOND:
        return p->what == WHAT_SECOND && p->other;
    case WHEN_AGAIN:
        return p->what == WHAT_SECOND && !p->other;
    case WHEN_RETRY:
        return p->what == WHAT_RETRY;
    case WHEN_TUB:
        return p->what == WHAT_TUB;
    case WHEN_EMPTY:
        return p->what == WHAT_EMPTY;
    case WHEN_CHANGED:
        return p->what == WHAT_CHANGED;
    default:
        return false;
    }
}

/* Of the prompt that was answered, which is there. */
static bool answered_asks(const struct prompt *p, enum when when)
{
    switch (when) {
    case WHEN_ASKS_LOT:
        return p->ask == ASK_LOT;
    case WHEN_ASKS_NUMBER:
        return p->ask == ASK_CHECK;
    case WHEN_ASKS_ITEM:
        return p->ask == ASK_ADD;
    case WHEN_ASKS_LUG:
        return p->ask == ASK_CONFIRM && p->what == WHAT_BASIS;
    case WHEN_ASKS_CODE:
        return p->ask == ASK_PERSON || p->other;
    case WHEN_ASKS_OTHER:
        return p->other;
    case WHEN_CONFIRMS:
        return p->ask == ASK_CONFIRM;
    default:
        return false;
    }
}

static bool record_is(const struct record *r, enum when when)
{
    switch (when) {
    case WHEN_OVER:
        return r->verdict == VERDICT_OVER;
    case WHEN_UNDER:
        return r->verdict == VERDICT_UNDER;
    case WHEN_NEXT:
        return r->next;
    default:
        return false;
    }
}

static bool batch_is(const struct say *s, const struct prompt *p, enum when when)
{
    switch (when) {
    case WHEN_HELD_MAY:
        return s->held && p && p->answers;
    case WHEN_HELD:
        return s->held && s->setup && s->setup->people;
    case WHEN_HELD_ALONE:
        return s->held;
    default:
        return false;
    }
}

bool say_when(const struct say *s, enum when when)
{
    const struct prompt *p = s->kind == SAY_PROMPT ? s->prompt : NULL;
    const struct record *r = s->record;
    switch (when) {
    case WHEN_ALWAYS:
        return true;
    case WHEN_TOO_LONG:
        return s->room > 0;
    case WHEN_WHY:
        return s->why && s->why[0];
    case WHEN_LIGHTER:
        return s->item && s->item->status == ITEM_TARED && s->effect && s->effect->mass < s->item->tare;
    case WHEN_TEXT:
        return s->items && s->item_count && step_text(s->step, s->lang)[0];
    case WHEN_TYPED:
        return p ? p->typed : r && r->manner == MANNER_TYPED;
    case WHEN_IN_TUB:
        return s->item && s->item->way == WAY_TUB;
    case WHEN_ALONG:
        return shares_container(s);
    default:
        break;
    }
    return (p && (prompt_is(p, when) || prompt_confirms(s, when))) || (s->prompt && answered_asks(s->prompt, when)) ||
           (r && record_is(r, when)) || batch_is(s, p, when);
}

/* "the bench scale"; a name that already ends in "scale" is not told twice. */
static void put_scale(const struct say *s, struct text *out)
{
    const char *name = say_scale_name(s);
    text_put(out, "the ");
    if (name) {
        size_t n = strlen(name);
        text_clean(out, name);
        if (n >= 5 && !strcmp(name + n - 5, "scale"))
            return;
        text_put(out, " ");
    }
    text_put(out, "scale");
}

static void put_capital_scale(const struct say *s, struct text *out)
{
    size_t at = out->len;
    put_scale(s, out);
    if (out->len > at)
        out->buf[at] = 'T';
}

static void put_cup(const struct say *s, struct text *out)
{
    if (s->item && s->item->kind == ITEM_MEAT) {
        text_put(out, "lug");
        return;
    }
    uint8_t way = s->kind == SAY_PROMPT ? s->prompt->way : s->item ? s->item->way : WAY_CUP;
    text_put(out, weigh_way_text((enum weigh_way)way));
}

/* The names of what goes in now, each once: several lugs or lots of one ingredient are one name. */
static void put_items(const struct say *s, struct text *out)
{
    _Static_assert(CAP_INGREDIENTS <= 32, "a bit for each ingredient");
    uint32_t told = 0;
    bool first = true;
    for (uint16_t i = 0; s->items && i < s->item_count; i++) {
        const struct item *it = s->work && s->items[i] ? &s->work[s->items[i] - 1] : NULL;
        bool known = it && s->setup && it->ingredient < s->setup->formula->ingredient_count;
        if (known && (told & UINT32_C(1) << it->ingredient))
            continue;
        if (!first)
            text_put(out, "; "); /* names have commas of their own */
        first = false;
        if (known) {
            told |= UINT32_C(1) << it->ingredient;
            text_clean(out, ingredient_name(&s->setup->formula->ingredients[it->ingredient], s->lang));
        } else {
            text_put(out, "item ");
            text_number(out, s->items[i]);
        }
    }
    if (first)
        text_clean(out, step_text(s->step, s->lang));
}

static void put_unit(struct text *out, const char *unit)
{
    if (unit[0]) {
        text_put(out, " ");
        text_clean(out, unit);
    }
}

/* "from 2 to 4 C", "at most 4 C", "at least 15 min". */
static void put_limits(const struct say *s, struct text *out)
{
    const struct step *step = s->step;
    if (!step)
        return;
    bool low = step->low_milli != CHECK_NONE, high = step->high_milli != CHECK_NONE;
    if (low && high) {
        text_put(out, "from ");
        text_milli(out, step->low_milli);
        text_put(out, " to ");
        text_milli(out, step->high_milli);
    } else if (high) {
        text_put(out, "at most ");
        text_milli(out, step->high_milli);
    } else if (low) {
        text_put(out, "at least ");
        text_milli(out, step->low_milli);
    } else {
        text_put(out, "in");
    }
    put_unit(out, step->unit);
}

static void put_value(const struct say *s, struct text *out)
{
    text_milli(out, s->record ? s->record->value_milli : 0);
    if (s->step)
        put_unit(out, s->step->unit);
}

/* The masses by name; false: no such field. */
static bool mass_field(const struct say *s, const char *name, mass_pg *mass)
{
    const struct prompt *p = s->kind == SAY_PROMPT ? s->prompt : NULL;
    const struct record *r = s->record;
    if (!strcmp(name, "net"))
        *mass = p ? p->net : r ? r->net : 0;
    else if (!strcmp(name, "tare"))
        *mass = r ? r->tare : 0;
    else if (!strcmp(name, "seen"))
        *mass = s->effect ? s->effect->mass : 0;
    else if (!p)
        return false;
    else if (!strcmp(name, "take"))
        *mass = p->take;
    else if (!strcmp(name, "short"))
        *mass = p->low - p->net;
    else if (!strcmp(name, "target"))
        *mass = p->target;
    else if (!strcmp(name, "low"))
        *mass = p->low;
    else if (!strcmp(name, "high"))
        *mass = p->high;
    else if (!strcmp(name, "basis"))
        *mass = p->basis;
    else if (!strcmp(name, "empty"))
        *mass = p->empty;
    else
        return false;
    return true;
}

static const char *record_field(const struct record *r, const char *name)
{
    if (!strcmp(name, "lot"))
        return r->lot;
    if (!strcmp(name, "reason"))
        return r->reason[0] ? r->reason : "no reason given";
    if (!strcmp(name, "person"))
        return r->person;
    if (!strcmp(name, "state"))
        return batch_state_text((enum batch_state)r->state);
    return "";
}

static void put_field(const struct say *s, const char *name, struct text *out)
{
    mass_pg mass;
    if (!strcmp(name, "name")) {
        text_clean(out, ingredient_name(say_ingredient(s), s->lang));
    } else if (!strcmp(name, "scale")) {
        put_scale(s, out);
    } else if (!strcmp(name, "Scale")) {
        put_capital_scale(s, out);
    } else if (!strcmp(name, "cup")) {
        put_cup(s, out);
    } else if (!strcmp(name, "items")) {
        put_items(s, out);
    } else if (!strcmp(name, "text")) {
        text_clean(out, step_text(s->step, s->lang));
    } else if (!strcmp(name, "limits")) {
        put_limits(s, out);
    } else if (!strcmp(name, "room")) {
        text_number(out, s->room);
    } else if (!strcmp(name, "value")) {
        put_value(s, out);
    } else if (!strcmp(name, "batch")) {
        text_clean(out, s->batch ? s->batch : "");
    } else if (mass_field(s, name, &mass)) {
        enum mass_unit unit;
        int places;
        say_unit(s, &unit, &places);
        text_mass(out, mass, unit, places);
    } else if (s->record) {
        text_clean(out, record_field(s->record, name));
    }
}

void say_fill(const struct say *s, const char *pattern, struct text *out)
{
    char words[200];
    while (*pattern) {
        size_t n = strcspn(pattern, "{");
        if (n >= sizeof words)
            n = sizeof words - 1;
        memcpy(words, pattern, n);
        words[n] = 0;
        text_put(out, words);
        pattern += n;
        if (*pattern != '{')
            continue;
        n = strcspn(++pattern, "}");
        if (n >= sizeof words)
            return;
        memcpy(words, pattern, n);
        words[n] = 0;
        put_field(s, words, out);
        pattern += n + (pattern[n] == '}');
    }
}
