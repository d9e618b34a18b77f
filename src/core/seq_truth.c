/* Truth: whether a scale's figures still mean what they meant when the container was tared. What can be told from the line
 * is told here; docs/zero-and-tare.md says what can't. */
#include "core/seq_internal.h"

#define LOAD_DIVISIONS 2

/* A container of the item that is worked on stands here, as far as was seen last. */
static bool load_due(const struct sequence *s, uint8_t scale)
{
    const struct item *it = sequence_item(s, s->current);
    const struct scale_state *sc = &s->scales[scale];
    mass_pg most = LOAD_DIVISIONS * seq_division(s, scale);
    bool weighing = s->phase >= PHASE_CONTAINER && s->phase <= PHASE_SECOND;
    if (!it || it->scale != scale || !weighing)
        return false;
    return sc->seen > most || (it->status == ITEM_TARED && sc->last_gross > most);
}

void seq_lose(struct sequence *s, uint8_t scale, enum notice_code why, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    if (!sc->lost) {
        seq_notice(fx, why, scale, s->current);
        seq_effect(fx, FX_SOUND, SOUND_WRONG);
        sc->why = (uint8_t)why;
    }
    sc->lost = sc->doubt = true;
}

void seq_confirm_empty(struct sequence *s, uint64_t now, struct effects *fx)
{
    uint8_t scale = s->prompt.scale;
    mass_pg gross = 0;
    bool disputed = false;
    if (!seq_settled(s, scale, now, &gross, &disputed)) {
        seq_refuse(fx, s, sequence_scale(s, scale, now, &gross) <= SETTLE_NOWEIGHT ? REFUSED_STALE : REFUSED_MOVING);
        return;
    }
    if (!seq_empty(s, scale, gross)) {
        seq_refuse(fx, s, REFUSED_EMPTY);
        return;
    }
    struct record *r = seq_draft(s, REC_EMPTIED);
    r->scale = scale;
    r->gross = gross;
    r->disputed = disputed;
    seq_copy(r->reason, notice_text((enum notice_code)s->scales[scale].why), CAP_REASON);
    seq_propose(s, fx);
}

void seq_found_again(struct sequence *s, uint8_t scale, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    sc->lost = sc->doubt = false;
    sc->last_gross = sc->seen = 0;
    seq_emptied(s, scale, fx);
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

/* A reading as the sequence takes it. One that says "no weight yet", or that comes after a hole in the line, may be the
 * first of a scale that was off meanwhile. */
static void take_reading(struct sequence *s, const struct event *ev, struct effects *fx)
{
    struct scale_state *sc = &s->scales[ev->scale];
    const struct settle_rule *rule = &s->setup->scales[ev->scale].settle;
    struct reading r = ev->reading;
    uint64_t hole = rule->gap_us ? 2 * (uint64_t)rule->gap_us : 900000;
    if (r.basis == BASIS_NET && reading_has_weight(&r))
        tared_there(s, ev->scale, &r, fx);
    else if (r.state == READING_FAULT || (sc->settle.newest.at && r.at > sc->settle.newest.at + hole))
        sc->doubt = true;
    if (r.state == READING_UNIT && !sc->said_unit)
        seq_notice(fx, NOTICE_UNIT, ev->scale, s->current);
    sc->said_unit = r.state == READING_UNIT;
    if (reading_has_weight(&r) && !sc->doubt)
        sc->seen = r.mass;
    settle_feed(&sc->settle, rule, &r);
    flow_feed(&sc->flow, &s->setup->scales[ev->scale].flow, &r);
}

/* At zero with nothing to stand there, or at its earlier load: nothing was lost while the line was down. At zero where a
 * container should stand, the scale may have zeroed it away. */
static void settle_doubt(struct sequence *s, uint8_t scale, uint64_t now, struct effects *fx)
{
    struct scale_state *sc = &s->scales[scale];
    mass_pg gross;
    bool disputed;
    if (!seq_settled(s, scale, now, &gross, &disputed) || sc->lost)
        return;
    bool same = seq_distance(gross, sc->last_gross) <= LOAD_DIVISIONS * seq_division(s, scale);
    bool none = seq_empty(s, scale, gross);
    if (sc->doubt && none && !same && load_due(s, scale)) {
        seq_lose(s, scale, sc->said_tared ? NOTICE_TARED : NOTICE_LOST, fx);
        return;
    }
    if (sc->doubt && !same && !none)
        return;
    if (sc->doubt || none)
        sc->said_zero = sc->said_tared = false;
    sc->doubt = false;
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
    bool lost = sc->link == LINK_SILENT || sc->link == LINK_UNPLUGGED;
    sc->link = LINK_UP;
    take_reading(s, ev, fx);
    if (lost) {
        seq_notice(fx, NOTICE_BACK, ev->scale, s->current);
        weigh_again(s, ev->scale, fx);
    }
    settle_doubt(s, ev->scale, ev->at, fx);
}

void seq_watch_links(struct sequence *s, uint64_t now, struct effects *fx)
{
    for (uint8_t k = 0; k < s->setup->scale_count; k++) {
        struct scale_state *sc = &s->scales[k];
        uint64_t since = sc->link == LINK_WAITING ? s->begun_at : sc->settle.newest.at;
        if (sc->link > LINK_UP || now < since || now - since <= seq_silent_us(&s->setup->scales[k].settle))
            continue;
        sc->doubt = true; /* also one that never spoke: nobody knows what stands on it */
        sc->link = LINK_SILENT;
        seq_notice(fx, NOTICE_SILENT, k, s->current);
    }
}
