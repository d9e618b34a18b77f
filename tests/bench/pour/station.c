/* The station's side: the real core, fed as the station's loop feeds it, with a yes at the very moment at which it is taken. */
#include <string.h>

#include "tests/bench/pour/world.h"

#define SPICE 0
#define MEAT 1

static void set_formula(struct world *w)
{
    struct formula *f = w->formula;
    struct ingredient *in = &f->ingredients[SPICE];
    memset(f, 0, sizeof *f);
    f->ingredient_count = 2;
    f->step_count = 1;
    in->way = WAY_CUP;
    in->base = BASE_MEAT;
    in->share = (struct share){1, 1};
    in->band.under = in->band.over = (struct band_side){.given = true, .is_mass = true, .mass = w->c.half_band};
    f->ingredients[MEAT] = (struct ingredient){.meat = true, .base = BASE_BLOCK, .share = {1, 1}, .weigh_order = 1};
    f->steps[0].kind = STEP_ADD;
}

/* What the profile of such a scale says. */
static struct profile profile_of(const struct pour_case *c)
{
    return (struct profile){.sends = SENDS_CONTINUOUS,
                            .period_ms = (uint32_t)c->frames.period_ms,
                            .silent_ms = 2000,
                            .has_motion = c->frames.mark != MARK_ABSENT};
}

static void store_all(struct world *w, struct effects *fx);

/* The tare is wrong: whoever fills is told to stop. */
static bool tells_of_tare(const struct effect *e)
{
    return e->kind == FX_NOTICE && (e->code == NOTICE_CONTAINER || e->code == NOTICE_LIGHTER);
}

/* "If it is empty: its own zero key". */
static bool tells_of_zero(const struct effect *e)
{
    return (e->kind == FX_NOTICE && (e->code == NOTICE_ZERO || e->code == NOTICE_LOADED)) ||
           (e->kind == FX_REFUSED && e->code == REFUSED_EMPTY);
}

/* What the screen shows of it. */
static void see(struct world *w, const struct effects *fx)
{
    for (uint8_t k = 0; k < fx->count; k++)
        if (fx->list[k].kind == FX_CUE)
            w->cue = fx->list[k].code;
        else if (tells_of_tare(&fx->list[k]) && w->tared && !w->done)
            w->out.caught = w->person.doing == PERSON_FILLS;
        else if (tells_of_zero(&fx->list[k]))
            w->zero_asked = true;
    if (w->cue == CUE_STOP && w->cue_from_s < 0 && w->cued)
        w->cue_from_s = w->now_s;
}

static bool refuses(const struct effects *fx)
{
    for (uint8_t k = 0; k < fx->count; k++)
        if (fx->list[k].kind == FX_REFUSED)
            return true;
    return false;
}

static void send(struct world *w, struct event *ev)
{
    struct effects fx;
    bool waited = w->s.yes_since != 0;
    ev->at = w->now_ms * 1000 + 1;
    sequence_step(&w->s, ev, &fx);
    w->out.taken_back += waited && refuses(&fx);
    see(w, &fx);
    store_all(w, &fx);
}

static void take_record(struct world *w, const struct record *r)
{
    if (r->kind == REC_TARED) {
        judge_tare(w, r->tare);
        w->tared = true;
        w->low = w->s.items[r->item - 1].low;
        w->high = w->s.items[r->item - 1].high;
    }
    if (r->kind != REC_WEIGHED)
        return;
    w->out.net[RULE_OURS] = judge_weight(w, r->gross);
    w->out.disputed = r->disputed;
    w->end_load = w->platform.load;
    w->out.missed = r->verdict == VERDICT_IN && judge_missed(w);
    w->out.fill_s = w->now_s - w->begun_s;
    w->done = true;
}

/* The disk answers at once. */
static void store_all(struct world *w, struct effects *fx)
{
    while (w->s.storing) {
        struct event ev = {.kind = EV_STORED, .at = w->now_ms * 1000 + 1};
        take_record(w, &w->s.pending);
        if (w->trace)
            w->trace(w, NULL, record_kind_text((enum record_kind)w->s.pending.kind));
        sequence_step(&w->s, &ev, fx);
        see(w, fx);
    }
}

bool station_begin(struct world *w)
{
    static const struct person who = {.code = "unnamed"};
    struct profile p = profile_of(&w->c);
    struct effects fx;
    set_formula(w);
    w->scale = (struct scale_setup){.name = "bench",
                                    .capacity = w->c.capacity,
                                    .division = w->c.division,
                                    .min_load = 20 * w->c.division,
                                    .settle = settle_rule_for(&p, w->c.division),
                                    .flow = flow_rule_for(&p, w->c.division)};
    w->setup = (struct setup){.formula = w->formula,
                              .limits = w->limits,
                              .scales = &w->scale,
                              .scale_count = 1,
                              .basis = BASIS_PLANNED,
                              .basis_mass = w->c.target,
                              .container_max = w->c.capacity / 5};
    w->scale.settle.quick_us = w->how.quick_us;
    if (!w->cued) /* nobody was told to stop */
        w->scale.settle.told_us = UINT32_MAX;
    if (sequence_init(&w->s, &w->setup, w->items, w->order, CAP_ITEMS))
        return false;
    sequence_begin(&w->s, &who, 1, &fx);
    store_all(w, &fx);
    return true;
}

void station_yes(struct world *w)
{
    struct event ev = {.kind = EV_ANSWER, .answer = {.prompt = w->s.prompt.id, .word = ANSWER_YES}};
    send(w, &ev);
}

static bool would_take_yes(const struct world *w)
{
    bool asked = w->s.prompt.ask == ASK_CONFIRM && w->s.prompt.what == WHAT_WEIGHT;
    bool early = !w->how.asked && sequence_rests(&w->s, w->now_ms * 1000 + 1);
    return w->tared && !w->done && !w->s.yes_since && (asked || early);
}

static bool ready_to_say(const struct world *w)
{
    if (w->how.reacts)
        return !w->person.acts && w->now_s >= w->offered_s + w->c.first_s;
    return !person_is_beginning(w);
}

void station_offers(struct world *w)
{
    if (!would_take_yes(w)) {
        w->offered_s = -1;
        return;
    }
    if (w->offered_s < 0)
        w->offered_s = w->now_s;
    if (!ready_to_say(w))
        return;
    w->yes_s = w->offered_s = w->now_s; /* refused, it is said anew after another reaction */
    station_yes(w);
}

void station_tick(struct world *w)
{
    struct event ev = {.kind = EV_TICK};
    send(w, &ev);
    station_offers(w);
    w->tick_us = sequence_next(&w->s, w->now_ms * 1000 + 1);
}

void station_reading(struct world *w, const struct reading *r)
{
    struct event ev = {.kind = EV_READING, .reading = *r};
    send(w, &ev);
    station_offers(w);
    w->tick_us = sequence_next(&w->s, w->now_ms * 1000 + 1);
}
