/* Truth: whether a scale's figures still mean what they meant when the container was tared. What can be told from the line
 * is told here; docs/zero-and-tare.md says what can't. */
#include "core/seq_internal.h"

#define LOAD_DIVISIONS 2
/* A jump of fewer divisions may be noise or drift. */
#define JUMP_DIVISIONS 5
/* How long a platform stands before and after what no hand can do to it: longer than an indicator's filter. */
#define STAND_TICKS 400
/* A load can come or go unseen between readings that may be further apart than this. */
#define UNSEEN_US 500000
/* "Under zero" for longer than a knock. */
#define UNDER_TICKS 1000

/* The item that is worked on has, or is about to have, a tare here. */
static bool at_stake(const struct sequence *s, uint8_t scale)
{
    const struct item *it = sequence_item(s, s->current);
    return it && it->scale == scale && !s->typed && s->phase >= PHASE_CLEAR && s->phase <= PHASE_SECOND &&
           (it->status == ITEM_TARED || s->phase == PHASE_CONTAINER);
}

/* A container of that item stands here, as far as was seen last. */
static bool load_due(const struct sequence *s, uint8_t scale)
{
    const struct scale_state *sc = &s->scales[scale];
    bool tared = sequence_item(s, s->current)->status == ITEM_TARED;
    return s->phase >= PHASE_CONTAINER &&
           (seq_loaded(s, scale, sc->seen) || (tared && seq_loaded(s, scale, sc->last_gross)));
}

/* Said once, though several signs may tell of the same loss. */
void seq_lose(struct sequence *s, uint8_t scale, enum notice_code why, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (!sc->lost) {
        if (why != NOTICE_ZERO || !sc->said_zero)
            seq_notice(fx, why, scale, s->current);
        sc->said_zero = sc->said_zero || why == NOTICE_ZERO;
        sc->why = (uint8_t)why;
    }
    sc->lost = sc->doubt = true;
}

/* A person's word alone is not enough: the scale must show it too, at rest. */
void seq_confirm_empty(struct sequence *s, uint64_t now, struct effects *fx)
{
    uint8_t scale = s->prompt.scale;
    mass_pg gross = 0;
    bool disputed = false;
    enum refusal_code no = seq_unsettled(s, scale, now, &gross, &disputed);
    if (no == REFUSED_COUNT && !seq_empty(s, scale, gross))
        no = REFUSED_EMPTY;
    if (no != REFUSED_COUNT) {
        seq_refuse(fx, s, no);
        return;
    }
    s->scales[scale].zero = gross;
    struct record *r = seq_draft(s, REC_EMPTIED);
    r->scale = scale;
    r->gross = gross;
    r->disputed = disputed;
    r->why = s->scales[scale].why;
    seq_propose(s, fx);
}

void seq_found_again(struct sequence *s, uint8_t scale, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    sc->lost = sc->doubt = false;
    sc->last_gross = sc->seen = sc->zero;
    seq_emptied(s, scale, fx);
}

static uint64_t gap_us(const struct sequence *s, uint8_t scale)
{
    return settle_gap_us(&s->setup->scales[scale].settle);
}

/* A net weight: the scale was tared at its own keys. Its figure says nothing of what stands on the platform. */
static void tared_there(struct sequence *s, uint8_t scale, struct reading *r, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    r->state = READING_FAULT;
    sc->doubt = true;
    if (!sc->said_tared)
        seq_notice(fx, NOTICE_TARED, scale, s->current);
    sc->said_tared = true;
}

/* Is it the same load in the figures of another unit? */
static bool other_unit(const struct scale_setup *setup, uint8_t unit, const struct stand *st)
{
    mass_pg least = JUMP_DIVISIONS * setup->division;
    if (st->before <= least || st->at <= least || unit == UNIT_NONE)
        return false;
    for (unsigned v = UNIT_KG; v <= UNIT_GR; v++) {
        uint64_t num = (uint64_t)unit_pg((enum mass_unit)unit), den = (uint64_t)unit_pg((enum mass_unit)v);
        mass_pg want = 0, off = 0;
        if (v != unit && !muldiv(st->before, num, den, ROUND_HALF_EVEN, &want) &&
            !muldiv(setup->division, num, den, ROUND_UP, &off) && !add64(off, setup->division, &off) &&
            seq_distance(st->at, want) <= off)
            return true;
    }
    return false;
}

/* Both stands have lasted: a load that came or went would have been seen moving. */
static void judge_jump(struct sequence *s, uint8_t scale, const struct reading *r, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    struct stand *st = &sc->stand;
    mass_pg least = JUMP_DIVISIONS * seq_division(s, scale);
    st->jumped = false;
    if (other_unit(&s->setup->scales[scale], r->unit, st)) {
        if (at_stake(s, scale)) {
            sc->was = st->before;
            sc->wrong = st->at;
            seq_lose(s, scale, NOTICE_FACTOR, fx);
        }
        return;
    }
    if (st->at > st->before && !seq_near(s, scale, st->at, st->before, JUMP_DIVISIONS))
        st->useless = true;
    bool gone = st->before > least && st->at <= seq_division(s, scale);
    if (gone && r->state == READING_STABLE && gap_us(s, scale) <= UNSEEN_US && !st->useless && at_stake(s, scale))
        seq_lose(s, scale, NOTICE_KEYS, fx);
}

static void watch_stand(struct sequence *s, uint8_t scale, const struct reading *r, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    struct stand *st = &sc->stand;
    uint64_t last = sc->settle.newest.at;
    bool seldom = s->setup->scales[scale].agreeing; /* loads come and go between its lines */
    bool stands =
        !seldom && reading_has_weight(r) && r->state != READING_MOVING && last && r->at - last <= gap_us(s, scale);
    uint32_t ticks = seq_ticks(r->at);
    if (stands && st->stands && seq_near(s, scale, r->mass, st->at, 1)) {
        st->at = r->mass;
        if (st->jumped && ticks - st->since >= STAND_TICKS)
            judge_jump(s, scale, r, fx);
        return;
    }
    st->jumped = stands && st->stands && seq_ticks(last) - st->since >= STAND_TICKS;
    st->stands = stands;
    st->before = st->at;
    st->at = r->mass;
    st->since = ticks;
}

/* A unit that the line names is converted, unless its figures are too coarse for this scale's division. */
static void watch_unit(struct sequence *s, uint8_t scale, struct reading *r, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (r->state == READING_UNIT && !sc->said_unit)
        seq_notice(fx, NOTICE_UNIT, scale, s->current);
    if (reading_has_weight(r) && sc->unit != UNIT_NONE && r->unit != sc->unit) {
        bool coarse = r->step > 2 * seq_division(s, scale);
        if (!sc->said_unit)
            seq_notice(fx, coarse ? NOTICE_COARSE : NOTICE_CONVERTED, scale, s->current);
        if (coarse)
            r->state = READING_UNIT;
    }
    sc->said_unit = r->state == READING_UNIT;
    if (reading_has_weight(r))
        sc->unit = r->unit;
}

/* Far below zero many scales show no figure at all: what was taken for zero was not. */
static void watch_under(struct sequence *s, uint8_t scale, const struct reading *r, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    uint32_t ticks = seq_ticks(r->at);
    if (r->state != READING_UNDER || !sc->under_since)
        sc->under_since = r->state == READING_UNDER ? ticks | 1 : 0;
    if (!sc->under_since || ticks - sc->under_since + 1 < UNDER_TICKS || s->prompt.scale != scale)
        return;
    if (at_stake(s, scale) && !sc->lost)
        seq_lose(s, scale, NOTICE_ZERO, fx);
    else if (!sc->said_zero)
        seq_notice(fx, NOTICE_ZERO, scale, s->current);
    sc->said_zero = true;
    if (s->phase == PHASE_EMPTY)
        seq_open(s, PHASE_CLEAR, fx);
}

/* A reading as the sequence takes it. One that says "no weight yet", or that comes after a hole in the line, may be the
 * first of a scale that was off meanwhile. */
static void take_reading(struct sequence *s, const struct event *ev, struct effects *fx)
{
    struct scale_state *sc = &s->scales[ev->scale];
    const struct settle_rule *rule = &s->setup->scales[ev->scale].settle;
    struct reading r = ev->reading;
    uint64_t hole = 2 * gap_us(s, ev->scale);
    if (r.basis == BASIS_NET && reading_has_weight(&r))
        tared_there(s, ev->scale, &r, fx);
    else if (r.state == READING_FAULT || r.state == READING_NOTYET ||
             (sc->settle.newest.at && r.at > sc->settle.newest.at + hole))
        sc->doubt = true;
    if (r.state == READING_OVER && !sc->said_overload)
        seq_notice(fx, NOTICE_OVERLOAD, ev->scale, s->current);
    sc->said_overload = r.state == READING_OVER;
    watch_unit(s, ev->scale, &r, fx);
    watch_stand(s, ev->scale, &r, fx);
    watch_under(s, ev->scale, &r, fx);
    if (reading_has_weight(&r) && !sc->doubt) {
        sc->seen = r.mass;
        if (!seq_loaded(s, ev->scale, r.mass)) { /* not at rest, for hands that change two cups are quick */
            sc->lifted = true;
            sc->said_container = false;
        }
    }
    settle_feed(&sc->settle, rule, &r);
    if (s->setup->scales[ev->scale].agreeing)
        agree_feed(&sc->agree, rule->division, &r);
    if (FLOW_CUE)
        flow_feed(&sc->flow, &s->setup->scales[ev->scale].flow, &r);
}

/* The load that stood there before the figures jumped shows as it did: its unit is the old one again. */
static void switched_back(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    const struct item *it = seq_current(s);
    if (sc->why != NOTICE_FACTOR || !seq_near(s, scale, gross, sc->was, LOAD_DIVISIONS))
        return;
    sc->lost = sc->doubt = false;
    sc->was = sc->wrong = 0;
    if (it && it->scale == scale && it->status == ITEM_TARED && (s->phase == PHASE_CLEAR || s->phase == PHASE_EMPTY))
        seq_open(s, PHASE_FILL, fx);
}

/* Less than nothing stands there: what was taken for zero was not. */
static bool below_zero(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    mass_pg zero = s->scales[scale].zero;
    if (gross >= zero || seq_near(s, scale, gross, zero, LOAD_DIVISIONS) || !at_stake(s, scale))
        return false;
    seq_lose(s, scale, NOTICE_ZERO, fx);
    return true;
}

/* What was accepted still stands there, and its weight jumps: a hand or a tool lay on it when it was accepted, or something
 * was put in or taken out since. Drift creeps, and is followed. A hand that comes and goes again has changed nothing. The
 * first weight after a restart is held against the one that was accepted. */
static void watch_accepted(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    const struct item *held = sequence_item(s, sc->holds), *it = seq_current(s);
    mass_pg before = sc->changed;
    bool filling = it && it->scale == scale && it->status == ITEM_TARED;
    bool stands = held && held->status == ITEM_WEIGHED && !filling;
    if (!stands && seq_loaded(s, scale, gross))
        sc->lifted = false;
    if (!stands || sc->doubt || sc->lifted)
        return;
    mass_pg last = sc->known ? sc->last_gross : held->gross;
    if (!seq_loaded(s, scale, gross) || !seq_loaded(s, scale, last) || seq_near(s, scale, gross, last, LOAD_DIVISIONS))
        return;
    if (add64(before, gross - last, &sc->changed) || seq_near(s, scale, sc->changed, 0, LOAD_DIVISIONS))
        sc->changed = 0;
    else if (!before)
        seq_notice(fx, NOTICE_CHANGED, scale, held->id)->mass = sc->changed;
}

/* At zero with nothing to stand there, or at its earlier load: nothing was lost while the line was down. At zero where a
 * container should stand, the scale may have zeroed it away. */
static void settle_doubt(struct sequence *s, uint8_t scale, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    mass_pg gross;
    bool disputed;
    if (!seq_settled(s, scale, now, &gross, &disputed))
        return;
    if (sc->lost) {
        switched_back(s, scale, gross, fx);
        return;
    }
    if (below_zero(s, scale, gross, fx))
        return;
    bool same = seq_near(s, scale, gross, sc->last_gross, LOAD_DIVISIONS);
    bool none = seq_empty(s, scale, gross);
    if (sc->doubt && none && !same && at_stake(s, scale) && load_due(s, scale)) {
        seq_lose(s, scale, sc->said_tared ? NOTICE_TARED : NOTICE_LOST, fx);
        return;
    }
    if (sc->doubt && !same && !none)
        return;
    watch_accepted(s, scale, gross, fx);
    if (sc->doubt || none)
        sc->said_zero = sc->said_tared = false;
    if (CAP_SCALES > 1 && !sc->doubt)
        seq_watch_elsewhere(s, scale, gross, fx);
    sc->doubt = false;
    sc->known = true;
    sc->last_gross = sc->seen = gross;
}

/* A scale is back: what was typed or judged meanwhile is weighed after all. */
static void weigh_again(struct sequence *s, uint8_t scale, struct effects *fx)
{
    const struct item *it = seq_current(s);
    if (!it || it->scale != scale)
        return;
    s->typed = false;
    if (s->phase >= PHASE_OVER && s->phase <= PHASE_SECOND)
        seq_open(s, it->status == ITEM_TARED ? PHASE_FILL : PHASE_CLEAR, fx);
}

void seq_feed(struct sequence *s, const struct event *ev, struct effects *fx)
{
    struct scale_state *sc = &s->scales[ev->scale];
    bool lost = sc->link > LINK_UP;
    sc->link = LINK_UP;
    sc->noise_since = 0;
    sc->said_garbled = false;
    take_reading(s, ev, fx);
    seq_watch_holes(s, ev->scale, fx);
    if (lost) {
        seq_notice(fx, NOTICE_BACK, ev->scale, s->current);
        weigh_again(s, ev->scale, fx);
    }
    settle_doubt(s, ev->scale, ev->at, fx);
}
