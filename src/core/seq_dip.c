/* The net falls below nothing as somebody begins to fill: a hand lay on the cup when it was tared, and has gone. What is poured
 * next hides it, and the cup would hold too much by as much as the hand pressed. No rest is waited for: there is none. */
#include "core/seq_internal.h"

#define DIP_DIVISIONS 5
/* A knock is over sooner, as an indicator's filter shows it; a hand comes off and stays off. */
#define DIP_TICKS 150
/* So long after it the growth that hides it has begun. */
#define PAST_TICKS 2000
#define EMPTY_DIVISIONS 2

void seq_forget_dip(struct scale_state *sc)
{
    sc->dip_from = sc->dip_to = 0;
    sc->dip_low = 0;
}

/* The newest reading of a cup that stands where it was tared; one that is lifted off, or a figure that is no weight, ends it. */
static bool stands(const struct sequence *s, const struct item *it, mass_pg *net)
{
    const struct scale_state *sc = &s->scales[it->scale];
    const struct reading *r = &sc->settle.newest;
    if (it->way != WAY_CUP || it->in_place || s->poured || s->setup->scales[it->scale].agreeing || sc->doubt ||
        sc->lifted || sc->said_container) /* it is being put back; or rests, and is told of as another cup */
        return false;
    return reading_has_weight(r) && r->mass >= it->tare / 2 && seq_item_net(s, it, r->mass, net);
}

bool seq_dipped(struct sequence *s, const struct item *it, struct effects *fx)
{
    struct scale_state *sc = &s->scales[it->scale];
    mass_pg net = 0, least = DIP_DIVISIONS * seq_division(s, it->scale);
    uint32_t at = seq_ticks(sc->settle.newest.at) | 1;
    if (!stands(s, it, &net)) {
        seq_forget_dip(sc);
        return false;
    }
    if (net < -least) {
        if (!sc->dip_from)
            sc->dip_from = at;
        sc->dip_to = at;
        if (net < sc->dip_low)
            sc->dip_low = net;
        return false;
    }
    if (sc->dip_to - sc->dip_from < DIP_TICKS || at - sc->dip_to > PAST_TICKS) {
        seq_forget_dip(sc);
        return false;
    }
    if (net <= least)
        return false;
    seq_notice(fx, NOTICE_LIGHTER, it->scale, it->id)->mass = -sc->dip_low;
    s->not_empty = it->tare + sc->dip_low + EMPTY_DIVISIONS * seq_division(s, it->scale);
    seq_draft(s, REC_UNTARED)->net = sc->dip_low;
    seq_propose(s, fx);
    seq_forget_dip(sc);
    return true;
}
