/* The view model, from the sequence: what the full screen shows. Plain data; nothing is decided here. */
#include <string.h>
#include <time.h>

#include "screen/names.h"
#include "station/inside.h"

static const char *in_language(const struct weigher *w, const char (*texts)[CAP_NAME])
{
    return texts[w->lang][0] ? texts[w->lang] : texts[0];
}

/* Always the front of the text, whatever the room. */
static void put(char *to, size_t cap, const char *text)
{
    size_t n = strnlen(text, cap - 1);
    memcpy(to, text, n);
    to[n] = '\0';
}

static void view_scale(const struct weigher *w, uint8_t k, struct view_scale *out)
{
    const struct scale_state *sc = &w->seq.scales[k];
    const struct reading *r = &sc->settle.newest;
    mass_pg gross;
    put(out->name, sizeof out->name, w->scale_setups[k].name);
    out->link = sc->link == LINK_SILENT && sc->said_garbled ? LINK_NOISE : sc->link;
    out->doubt = sc->doubt;
    out->reading = r->state;
    out->settled = (uint8_t)sequence_scale(&w->seq, k, w->now, &gross);
    out->wanted = w->seq.prompt.scale == k;
    out->shows[0] = '\0';
    if (r->at && sc->link == LINK_UP && reading_has_weight(r))
        (void)mass_format_unit(r->mass, (enum mass_unit)r->unit, r->places, out->shows, sizeof out->shows);
}

void unit_of(const struct weigher *w, uint8_t scale, uint8_t *unit, uint8_t *places)
{
    *unit = UNIT_KG;
    *places = 3;
    if (scale >= w->setup.scale_count)
        return;
    const struct reading *r = &w->seq.scales[scale].settle.newest;
    bool has_unit = r->at && r->unit != UNIT_NONE;
    enum mass_unit u = (enum mass_unit)r->unit;
    int p = r->places;
    if (!has_unit)
        scale_unit(&w->scale_setups[scale], &u, &p);
    else if (!reading_has_weight(r)) /* "under zero" shows no decimals: every band would be in whole grams */
        p = mass_places(w->scale_setups[scale].division, u);
    *unit = (uint8_t)u;
    *places = (uint8_t)p;
}

static void docket_line(const struct weigher *w, const struct item *it, struct view_line *out)
{
    const struct ingredient *in = &w->formula.ingredients[it->ingredient];
    memset(out, 0, sizeof *out);
    out->item = it->id;
    put(out->name, sizeof out->name, in_language(w, in->name));
    put(out->lot, sizeof out->lot, it->lot);
    out->net = it->net;
    out->target = it->target;
    out->has_target = it->has_band;
    out->verdict = it->verdict;
    out->manner = it->manner;
    out->status = it->status;
    unit_of(w, it->scale, &out->unit, &out->places);
}

/* The newest VIEW_DOCKET that were weighed: counted first, so that the older ones can be passed over in order. */
static void docket(struct weigher *w)
{
    struct view *v = &w->view;
    unsigned count = 0, skip;
    for (uint16_t k = 0; k < w->seq.item_count; k++)
        count += w->seq.items[w->seq.order[k] - 1].ingredient != NO_INGREDIENT &&
                 w->seq.items[w->seq.order[k] - 1].status >= ITEM_WEIGHED;
    skip = count > VIEW_DOCKET ? count - VIEW_DOCKET : 0;
    v->line_count = 0;
    for (uint16_t k = 0; k < w->seq.item_count; k++) {
        const struct item *it = &w->seq.items[w->seq.order[k] - 1];
        if (it->ingredient == NO_INGREDIENT || it->status < ITEM_WEIGHED)
            continue;
        if (skip)
            skip--;
        else
            docket_line(w, it, &v->lines[v->line_count++]);
    }
}

static void step_place(struct weigher *w)
{
    w->view.steps = w->seq.item_count;
    w->view.step = 0;
    for (uint16_t k = 0; k < w->seq.item_count; k++)
        if (w->seq.order[k] == w->seq.current)
            w->view.step = (uint16_t)(k + 1);
}

static void view_step(struct weigher *w, const struct item *it)
{
    struct view *v = &w->view;
    v->title[0] = v->text[0] = v->lot[0] = v->check_unit[0] = '\0';
    v->bin = 0;
    v->low_milli = v->high_milli = CHECK_NONE;
    if (!it || v->prompt.item == 0)
        return;
    put(v->lot, sizeof v->lot, it->lot);
    if (it->ingredient != NO_INGREDIENT) {
        put(v->title, sizeof v->title, in_language(w, w->formula.ingredients[it->ingredient].name));
        v->bin = w->formula.ingredients[it->ingredient].bin;
    } else if (it->kind >= ITEM_ADD) {
        const struct step *st = &w->formula.steps[it->step];
        put(v->text, sizeof v->text, st->text[w->lang][0] ? st->text[w->lang] : st->text[0]);
        put(v->check_unit, sizeof v->check_unit, st->unit);
        v->low_milli = st->low_milli;
        v->high_milli = st->high_milli;
    }
}

uint16_t items_asked(const struct weigher *w, const struct item *of, uint16_t ids[CAP_ITEMS])
{
    uint16_t n = 0;
    for (uint16_t k = 0; k < w->seq.item_count; k++) {
        const struct item *it = &w->seq.items[k];
        bool weighed = it->status == ITEM_WEIGHED || it->status == ITEM_STAGED;
        if (!weighed || it->ingredient == NO_INGREDIENT)
            continue;
        const struct ingredient *in = &w->formula.ingredients[it->ingredient];
        if (of->kind == ITEM_BASIS ? in->meat : in->add_step == of->step)
            ids[n++] = it->id;
    }
    return n;
}

static void adds(struct weigher *w, const struct item *it)
{
    struct view *v = &w->view;
    uint16_t ids[CAP_ITEMS];
    uint16_t n = v->prompt.ask == ASK_ADD && it ? items_asked(w, it, ids) : 0;
    v->add_count = n < VIEW_DOCKET ? n : VIEW_DOCKET;
    v->adds_left = n - v->add_count;
    for (uint16_t k = 0; k < v->add_count; k++)
        docket_line(w, &w->seq.items[ids[k] - 1], &v->adds[k]);
}

/* What stays the same until another prompt opens. */
static void view_prompt(struct weigher *w)
{
    struct view *v = &w->view;
    const struct item *it = sequence_item(&w->seq, w->seq.prompt.item);
    struct say what = {.kind = SAY_PROMPT, .prompt = &v->prompt, .setup = &w->setup, .lang = w->lang, .item = it};
    what.batch = w->batch;
    what.work = w->seq.items;
    what.held = w->seq.state == BATCH_HELD;
    if (w->seq.prompt.scale < w->setup.scale_count)
        unit_of(w, w->seq.prompt.scale, &what.unit, &what.places);
    v->prompt = w->seq.prompt;
    v->prompt_n = w->prompt_n;
    if (it && it->ingredient == NO_INGREDIENT && it->kind >= ITEM_ADD)
        what.step = &w->formula.steps[it->step];
    put(v->formula, sizeof v->formula, in_language(w, w->formula.name));
    put(v->batch, sizeof v->batch, w->batch);
    put(v->person, sizeof v->person, w->seq.person.code);
    step_place(w);
    view_step(w, it);
    choices_make(w);
    adds(w, it);
    docket(w);
    (void)say_sentence(&what, v->sentence, sizeof v->sentence);
}

/* A yes to a weight may be said while it is still filled, and to the question that follows: for whoever reads it that is one. Any
 * other question, be it of another weight that was typed, is a new one. */
static void view_yes(struct weigher *w, const struct prompt *was)
{
    struct view *v = &w->view;
    bool asked = v->prompt.ask == ASK_CONFIRM && v->prompt.what == WHAT_WEIGHT;
    v->waits = w->seq.yes_since != 0;
    v->rests = !v->waits && sequence_rests(&w->seq, w->now);
    if (!v->rests && !asked)
        v->offered_at = 0;
    else if (!v->offered_at || (v->prompt.id != was->id && (was->ask != ASK_FILL || was->item != v->prompt.item)))
        v->offered_at = w->now;
}

static void view_clock(struct weigher *w)
{
    time_t t = (time_t)(w->utc / 1000000);
    struct tm tm;
    localtime_r(&t, &tm);
    strftime(w->view.clock, sizeof w->view.clock, "%H:%M", &tm);
}

/* Called at every reading: names, choices and docket are made anew only with another prompt (choices ask the journal), the
 * clock only with another minute. */
void view_build(struct weigher *w)
{
    struct view *v = &w->view;
    struct prompt was = v->prompt;
    v->at = w->now;
    if (v->prompt.id != w->seq.prompt.id || v->prompt_n != w->prompt_n)
        view_prompt(w);
    if (v->clock[0] == '\0' || w->utc / 60000000 != w->view_minute)
        view_clock(w);
    w->view_minute = w->utc / 60000000;
    v->state = w->seq.state;
    v->scale_count = w->setup.scale_count;
    for (uint8_t k = 0; k < v->scale_count; k++)
        view_scale(w, k, &v->scales[k]);
    uint8_t scale = v->prompt.scale;
    v->may_type = (w->seq.person.rights & RIGHT_TYPE) != 0;
    v->has_net = sequence_net(&w->seq, w->now, &v->net);
    v->settled = scale < v->scale_count && v->scales[scale].settled >= SETTLE_SETTLED;
    v->seldom = scale < v->scale_count && !flow_tells(&w->scale_setups[scale].flow);
    v->agreeing = scale < v->scale_count && w->scale_setups[scale].agreeing;
    v->cue = sequence_flow(&w->seq, w->now).cue;
    view_yes(w, &was);
    v->division = scale < v->scale_count ? w->scale_setups[scale].division : 0;
    unit_of(w, scale, &v->unit, &v->places);
    put(v->notice, sizeof v->notice, w->notice_weight ? w->notice : "");
    v->notice_weight = w->notice_weight;
}
