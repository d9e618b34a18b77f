/* The bench: setting up, time, the store, and what must hold at every step. */
#include "tests/unit/seq_bench.h"

#include <stdio.h>
#include <string.h>

struct bench B;

static struct band_spec percent(uint32_t under, uint32_t over)
{
    struct band_spec band = {.under = {.given = true, .share = {under, 100}},
                             .over = {.given = true, .share = {over, 100}}};
    return band;
}

static void ingredient(uint8_t i, const char *key, struct share share, enum weigh_way way, uint8_t step)
{
    struct ingredient *in = &B.formula.ingredients[i];
    snprintf(in->key, sizeof in->key, "%s", key);
    snprintf(in->name[0], sizeof in->name[0], "%s", key);
    in->share = share;
    in->way = (uint8_t)way;
    in->weigh_order = i;
    in->add_step = step;
    in->base = BASE_MEAT;
    in->band = percent(2, 2);
    in->ask_lot = true;
}

static void step(uint8_t k, enum step_kind kind, const char *key)
{
    struct step *st = &B.formula.steps[k];
    st->kind = (uint8_t)kind;
    snprintf(st->key, sizeof st->key, "%s", key);
    snprintf(st->text[0], sizeof st->text[0], "%s", key);
    st->low_milli = st->high_milli = CHECK_NONE;
}

static void make_formula(void)
{
    ingredient(PORK, "pork-shoulder", (struct share){7, 10}, WAY_CUP, ADD_MEAT);
    ingredient(BEEF, "beef-chuck", (struct share){3, 10}, WAY_CUP, ADD_MEAT);
    B.formula.ingredients[PORK].meat = B.formula.ingredients[BEEF].meat = true;
    B.formula.ingredients[PORK].base = B.formula.ingredients[BEEF].base = BASE_BLOCK;
    ingredient(WATER, "ice-water", (struct share){1, 10}, WAY_TUB, ADD_SPICE);
    B.formula.ingredients[WATER].ask_lot = false;
    ingredient(SALT, "salt", (struct share){9, 500}, WAY_TUB, ADD_SPICE);
    B.formula.ingredients[SALT].band = percent(3, 3);
    /* 2.5 g of a 6.25 % cure per kg of meat is 156.25 ppm, exactly the limit of 9 CFR 424.21(c), 1/4 oz per 100 lb */
    ingredient(CURE, "curing-salt", (struct share){1, 400}, WAY_CUP, ADD_SPICE);
    snprintf(B.formula.ingredients[CURE].substance, CAP_KEY, "sodium-nitrite");
    B.formula.ingredients[CURE].content = (struct share){1, 16};
    /* a bag of 340 g for 11.34 kg of meat */
    ingredient(SEASONING, "seasoning", (struct share){17, 567}, WAY_BAG, ADD_SPICE);
    ingredient(CHEESE, "mountain-cheese", (struct share){1, 10}, WAY_CUP, ADD_CHEESE);
    B.formula.ingredients[CHEESE].critical = true;
    B.formula.ingredient_count = INGREDIENTS;
    step(ADD_MEAT, STEP_ADD, "meat");
    step(ADD_SPICE, STEP_ADD, "spice");
    step(MIX, STEP_INSTRUCTION, "mix until tacky");
    step(TEMPERATURE, STEP_CHECK, "temperature");
    B.formula.steps[TEMPERATURE].low_milli = -1500;
    B.formula.steps[TEMPERATURE].high_milli = 12000;
    step(ADD_CHEESE, STEP_ADD, "cheese");
    B.formula.step_count = STEPS;
}

static void make_scale(uint8_t k, const char *name, mass_pg capacity, mass_pg division)
{
    struct scale_setup *sc = &B.scales[k];
    snprintf(sc->name, sizeof sc->name, "%s", name);
    sc->capacity = capacity;
    sc->division = sc->settle.division = sc->flow.division = division;
    sc->min_load = 20 * division; /* class III with e = 5 g, class II with e = 0.01 g: OIML R 76-1, table 3 */
}

void bench_new(enum meat_basis basis, mass_pg mass)
{
    memset(&B, 0, sizeof B);
    make_formula();
    make_scale(BENCH, "bench", KG(15), G(5));
    make_scale(FINE, "fine", G(600), MG(10));
    B.limits[CURE].share = (struct share){1, 6400};
    B.limits[CURE].base = BASE_MEAT;
    B.setup.formula = &B.formula;
    B.setup.limits = B.limits;
    B.setup.scales = B.scales;
    B.setup.scale_count = SCALES;
    B.setup.basis = (uint8_t)basis;
    B.setup.basis_mass = mass;
    B.setup.container_max = KG(2);
    B.setup.cup_empty = B.cup_empty;
    B.setup.cup_off = B.cup_off;
    B.item_cap = CAP_ITEMS;
    B.who = (struct person){.code = "unnamed"};
    B.lug[PORK] = KG(7);
    B.lug[BEEF] = KG(3);
    B.now = 1000000;
    B.seed = 1;
    B.end = -1;
    B.refused = REFUSED_COUNT;
}

enum fail bench_init(void)
{
    enum fail fail = sequence_init(&B.s, &B.setup, B.items, B.order, B.item_cap);
    enum fail twin = sequence_init(&B.twin, &B.setup, B.twin_items, B.twin_order, B.item_cap);
    assert_int_equal(fail, twin);
    return fail;
}

/* ---- what must hold at every step ---- */

static void is_permutation(const struct sequence *s)
{
    bool seen[CAP_ITEMS + 1] = {false};
    for (uint16_t k = 0; k < s->item_count; k++) {
        assert_int_equal(s->items[k].id, k + 1);
        assert_in_range(s->order[k], 1, s->item_count);
        assert_false(seen[s->order[k]]);
        seen[s->order[k]] = true;
    }
}

/* All that sequence_apply moves, and nothing else may. */
static void same_batch(const struct sequence *a, const struct sequence *b)
{
    assert_int_equal(a->item_count, b->item_count);
    assert_memory_equal(a->items, b->items, a->item_count * sizeof *a->items);
    assert_memory_equal(a->order, b->order, a->item_count * sizeof *a->order);
    assert_int_equal(a->started, b->started);
    assert_int_equal(a->basis, b->basis);
    if (a->started)
        assert_int_equal(a->state, b->state);
}

void bench_twin_agrees(void)
{
    static struct sequence fresh;
    static struct item items[CAP_ITEMS];
    static uint16_t order[CAP_ITEMS];
    same_batch(&B.s, &B.twin);
    assert_int_equal(sequence_init(&fresh, &B.setup, items, order, B.item_cap), FAIL_NONE);
    for (unsigned k = 0; k < B.stored_count; k++)
        assert_int_equal(sequence_apply(&fresh, &B.stored[k]), FAIL_NONE);
    same_batch(&B.s, &fresh);
}

/* Exactly one prompt is open, unless a record is under way or all is over. */
static void one_prompt(const struct effects *fx)
{
    const struct prompt *p = &B.s.prompt;
    unsigned opened = 0;
    for (uint8_t k = 0; k < fx->count; k++)
        opened += fx->list[k].kind == FX_PROMPT;
    assert_true(opened <= 1);
    assert_true(fx->count <= EFFECTS_MAX);
    if (B.s.phase == PHASE_ENDED || B.s.storing)
        return;
    assert_int_not_equal(p->ask, ASK_NOTHING);
    assert_int_equal(p->ask, phase_row((enum phase)B.s.phase)->ask);
    assert_true(p->item == 0 || p->item == B.s.current || p->what == WHAT_CHANGED);
    bool by_weight = p->ask == ASK_CLEAR || p->ask == ASK_CONTAINER || p->ask == ASK_FILL || p->ask == ASK_OVER;
    bool outranked = p->ask == ASK_RESUME && B.s.state == BATCH_HELD;
    assert_true(p->answers != 0 || by_weight || outranked); /* a way out */
    if (by_weight)
        assert_true(p->scale < SCALES);
}

static bool still_for_a_window(const struct bench_scale *sc, mass_pg division, mass_pg gross)
{
    mass_pg low = gross, high = gross;
    uint64_t first = B.now;
    for (unsigned k = 0; k < sc->heard_count && k < HEARD_MAX; k++) {
        unsigned at = (sc->heard_count - 1 - k) % HEARD_MAX;
        if (B.now - sc->heard[at].at > 800000)
            break;
        if (!sc->heard[at].good)
            return false;
        low = sc->heard[at].mass < low ? sc->heard[at].mass : low;
        high = sc->heard[at].mass > high ? sc->heard[at].mass : high;
        first = sc->heard[at].at;
    }
    return B.now - first >= 600000 && high - low <= division;
}

static mass_pg accepted_of(uint8_t i)
{
    mass_pg sum = 0;
    for (uint16_t k = 0; k < B.s.item_count; k++) {
        const struct item *it = &B.s.items[k];
        if (it->ingredient == i && it->status >= ITEM_WEIGHED && it->status <= ITEM_IN_MIXER)
            sum += it->net;
    }
    return sum;
}

static void two_lines_agree(const struct bench_scale *sc, mass_pg division)
{
    assert_true(sc->heard_count > 1);
    unsigned newest = (sc->heard_count - 1) % HEARD_MAX, before = (sc->heard_count - 2) % HEARD_MAX;
    assert_true(sc->heard[newest].good && sc->heard[before].good);
    assert_true(B.now - sc->heard[newest].at <= 10000000);
    assert_true(seq_distance(sc->heard[newest].mass, sc->heard[before].mass) <= division);
}

/* Invariants 1 and 6, from what the bench itself knows. */
static void judge_live(const struct record *r)
{
    const struct item *it = sequence_item(&B.s, r->item);
    const struct bench_scale *sc = &B.at[it->scale];
    assert_true(r->has_gross);
    assert_int_equal(r->scale, it->scale);
    assert_int_equal(it->status, ITEM_TARED);
    assert_int_equal(r->tare, it->tare);
    assert_false(sc->unplugged);
    assert_true(sc->heard_count > 0);
    assert_int_equal(r->gross, sc->heard[(sc->heard_count - 1) % HEARD_MAX].mass);
    assert_int_equal(r->agreed, B.scales[it->scale].agreeing);
    if (r->agreed) {
        two_lines_agree(sc, B.scales[it->scale].division);
    } else {
        assert_true(B.now - sc->heard[(sc->heard_count - 1) % HEARD_MAX].at <= 450000);
        assert_true(still_for_a_window(sc, B.scales[it->scale].division, r->gross));
    }
    assert_int_equal(r->net, it->way == WAY_BAG ? r->tare - r->gross : r->gross - r->tare);
    assert_true(r->net >= -B.scales[it->scale].division);
    assert_true(!r->disputed || sc->restless);
}

static void judge_weighed(const struct record *r)
{
    const struct item *it = sequence_item(&B.s, r->item);
    const struct ingredient *in = &B.formula.ingredients[it->ingredient];
    bool declared = it->kind == ITEM_MEAT && B.setup.basis == BASIS_DECLARED;
    if (r->manner == MANNER_LIVE) {
        judge_live(r);
    } else if (!declared) {
        assert_true(B.s.person.rights & RIGHT_TYPE);
        assert_true(B.at[it->scale].unplugged || B.at[it->scale].mute);
        assert_false(r->has_gross);
        assert_true(r->net > 0);
    }
    assert_true(it->kind == ITEM_MEAT || r->has_band);
    if (r->has_band && (r->net < r->low || r->net > r->high)) {
        assert_true(r->reason[0]);
        assert_true(B.s.person.rights & RIGHT_ACCEPT);
        assert_int_not_equal(r->verdict, VERDICT_IN);
    }
    if (in->critical && !declared)
        assert_true(r->second[0]);
    if (in->ask_lot)
        assert_true(r->lot[0]);
    if (it->ingredient == CURE && B.limits[CURE].share.den == 6400) /* 1/6400 of the meat over 1/16 of the cure */
        assert_true((accepted_of(CURE) + r->net) * 400 <= B.s.basis);
}

static void judge_record(const struct record *r)
{
    if (r->kind == REC_WEIGHED)
        judge_weighed(r);
    if (B.s.started) {
        assert_int_not_equal(r->kind, REC_STARTED);
        assert_true(r->person[0] || B.s.phase == PHASE_PERSON); /* a stop before anybody signed in */
    } else {
        assert_int_equal(r->kind, REC_STARTED);
    }
}

static void hear(const struct effects *fx)
{
    for (uint8_t k = 0; k < fx->count; k++) {
        const struct effect *e = &fx->list[k];
        switch ((enum effect_kind)e->kind) {
        case FX_PROMPT:
            B.prompts++;
            break;
        case FX_NOTICE:
            B.notices[e->code]++;
            B.notice_mass = e->mass;
            B.notice_ingredient = e->ingredient;
            B.notice_scale = e->scale;
            break;
        case FX_REFUSED:
            B.refused = e->code;
            break;
        case FX_STATE:
            B.state = e->code;
            break;
        case FX_END:
            B.end = e->code;
            break;
        case FX_SOUND:
            B.sounds[e->code]++;
            break;
        case FX_CUE:
            B.cues[e->code]++;
            break;
        case FX_RECORD:
            break;
        }
    }
}

static struct item items_before[CAP_ITEMS];
static uint16_t order_before[CAP_ITEMS];
static struct sequence before;

/* A yes that waited: what it is proposed for, or asked of a second person, is what it was said to. */
static void judge_waited(void)
{
    const struct record *r = &B.s.pending;
    const struct item *it = sequence_item(&B.s, before.current);
    assert_int_equal(it->status, ITEM_TARED);
    mass_pg division = B.scales[it->scale].division;
    if (B.s.phase == PHASE_SECOND)
        assert_true(seq_distance(B.s.opened_net, before.yes_net) <= division);
    if (!B.s.storing || r->kind != REC_WEIGHED)
        return;
    assert_int_equal(r->item, before.current);
    assert_true(seq_distance(r->net, before.yes_net) <= division);
    assert_true(B.now - before.yes_since <= 3000000);
    assert_true(!it->has_band || (r->net >= it->low && r->net <= it->high));
    assert_int_equal(r->verdict, VERDICT_IN);
    assert_true(!r->disputed || before.yes_knows);
    assert_false(it->unfit || B.formula.ingredients[it->ingredient].critical);
    assert_true(seq_same(r->person, before.person.code));
}

/* One event, and what may and may not follow from it. */
static void one_step(const struct event *ev, struct effects *fx)
{
    unsigned accepted = B.sounds[SOUND_ACCEPTED];
    before = B.s;
    memcpy(items_before, B.items, B.s.item_count * sizeof *B.items);
    memcpy(order_before, B.order, B.s.item_count * sizeof *B.order);
    sequence_step(&B.s, ev, fx);
    hear(fx);
    if (before.yes_since && !B.s.yes_since && ev->kind != EV_ANSWER && ev->kind != EV_STORED)
        judge_waited();
    if (ev->kind == EV_STORED) {
        is_permutation(&B.s);
    } else {
        before.items = items_before;
        before.order = order_before;
        same_batch(&before, &B.s);
        assert_int_equal(accepted, B.sounds[SOUND_ACCEPTED]); /* never said before it is on disk */
    }
    assert_true(B.s.prompt.id >= before.prompt.id);
    assert_int_equal(B.s.prompt.id == before.prompt.id, !memcmp(&B.s.prompt, &before.prompt, sizeof before.prompt));
    one_prompt(fx);
}

static bool proposes(const struct effects *fx)
{
    unsigned records = 0;
    for (uint8_t k = 0; k < fx->count; k++)
        records += fx->list[k].kind == FX_RECORD;
    assert_true(records <= 1);
    if (records)
        judge_record(&B.s.pending);
    return records == 1;
}

static void store_one(struct event *ev)
{
    bool fails = B.fail_all || B.fail_at == 1;
    if (B.fail_at)
        B.fail_at--;
    memset(ev, 0, sizeof *ev);
    ev->at = B.now;
    ev->kind = fails ? EV_STORE_FAILED : EV_STORED;
    if (fails)
        return;
    assert_true(B.stored_count < STORED_MAX);
    B.stored[B.stored_count++] = B.s.pending;
    assert_int_equal(sequence_apply(&B.twin, &B.s.pending), FAIL_NONE);
}

static void settle_records(struct effects *fx)
{
    while (proposes(fx) && !B.keeps_waiting) {
        struct event ev;
        store_one(&ev);
        one_step(&ev, fx);
        same_batch(&B.s, &B.twin);
        if (ev.kind == EV_STORED)
            B.current_after[B.stored_count - 1] = B.s.current;
    }
}

void bench_event(struct event *ev)
{
    struct effects fx;
    ev->at = B.now;
    one_step(ev, &fx);
    settle_records(&fx);
}

void store_answers(void)
{
    struct effects fx;
    struct event ev;
    B.keeps_waiting = false;
    assert_true(B.s.storing);
    store_one(&ev);
    one_step(&ev, &fx);
    settle_records(&fx);
}

void bench_begin(void)
{
    struct effects fx;
    if (!B.s.setup)
        assert_int_equal(bench_init(), FAIL_NONE);
    sequence_begin(&B.s, B.setup.people ? NULL : &B.who, B.now, &fx);
    hear(&fx);
    one_prompt(&fx);
    settle_records(&fx);
}

void bench_rebuild(void)
{
    assert_int_equal(sequence_init(&B.s, &B.setup, B.items, B.order, B.item_cap), FAIL_NONE);
    for (unsigned k = 0; k < B.stored_count; k++)
        assert_int_equal(sequence_apply(&B.s, &B.stored[k]), FAIL_NONE);
    for (uint8_t k = 0; k < SCALES; k++)
        B.at[k].heard_count = 0;
    B.end = -1;
}

void bench_restart(void)
{
    B.now += 5000000;
    bench_rebuild();
    bench_begin();
    for (uint8_t k = 0; k < SCALES; k++)
        if (B.at[k].unplugged)
            unplug(k);
}

/* ---- time and platforms ---- */

static uint32_t draw(void)
{
    B.seed = B.seed * 1664525u + 1013904223u;
    return B.seed >> 8;
}

static void read_scale(uint8_t k)
{
    struct bench_scale *sc = &B.at[k];
    struct event ev = {.kind = EV_READING, .scale = k};
    struct reading *r = &ev.reading;
    mass_pg division = B.scales[k].division, shown = sc->load - sc->zero - sc->keys;
    if (B.noise)
        shown += division * 4 / 10 * ((mass_pg)(draw() % 2001) - 1000) / 1000;
    assert_int_equal(mass_to_division(shown, division, ROUND_HALF_EVEN, &r->mass), FAIL_NONE);
    if (sc->den)
        (void)muldiv(r->mass, sc->num, sc->den, ROUND_HALF_EVEN, &r->mass);
    if (seq_distance(sc->load, sc->felt) >
        division) /* an indicator marks motion for a while after a load has changed */
        sc->moving = 3;
    else if (sc->moving)
        sc->moving--;
    sc->felt = sc->load;
    r->at = B.now;
    r->since = sc->last_at ? sc->last_at : B.now;
    r->step = sc->step ? sc->step : division;
    r->state = sc->markless                                 ? READING_UNKNOWN
               : sc->restless || (sc->moving && !sc->stuck) ? READING_MOVING
                                                            : READING_STABLE;
    r->basis = sc->keys ? BASIS_NET : BASIS_GROSS;
    r->unit = sc->names ? sc->names : UNIT_G;
    if (sc->unit)
        r->state = READING_UNIT;
    if (sc->faulty)
        r->state = READING_FAULT;
    if (sc->load > B.scales[k].capacity)
        r->state = READING_OVER;
    if (sc->load < -KG(1))
        r->state = READING_UNDER;
    sc->last_at = B.now;
    unsigned at = sc->heard_count++ % HEARD_MAX;
    sc->heard[at].at = B.now;
    sc->heard[at].mass = r->mass;
    sc->heard[at].good = reading_has_weight(r) && r->basis == BASIS_GROSS;
    bench_event(&ev);
}

void pass(unsigned tenths)
{
    while (tenths--) {
        struct event tick = {.kind = EV_TICK};
        B.now += 100000;
        for (uint8_t k = 0; k < SCALES && B.end < 0; k++)
            if (!B.at[k].unplugged && !B.at[k].mute)
                read_scale(k);
        if (B.end < 0)
            bench_event(&tick);
    }
}

void settle(void)
{
    pass(15);
}

void put(uint8_t scale, mass_pg load)
{
    B.at[scale].load = load;
    settle();
}

void lift(uint8_t scale)
{
    put(scale, 0);
}

void pour(uint8_t scale, mass_pg more)
{
    mass_pg from = B.at[scale].load;
    for (int k = 1; k <= 10; k++) {
        B.at[scale].load = from + more / 10 * k;
        pass(1);
    }
    put(scale, from + more);
}

void unplug(uint8_t scale)
{
    struct event ev = {.kind = EV_LINK, .scale = scale, .link = LINK_UNPLUGGED};
    B.at[scale].unplugged = true;
    B.at[scale].heard_count = 0;
    bench_event(&ev);
}

void plug(uint8_t scale)
{
    B.at[scale].unplugged = false;
    B.at[scale].mute = false;
}
