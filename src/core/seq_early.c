/* A yes that waits. Whoever sees the figure stand in its band may say yes at once: the yes waits until the weight is settled, and
 * what is recorded is the settled weight. If it moves away before, the yes is refused. So the time that a hand needs to answer
 * and the time that the station needs to be sure run side by side; and a platform that shakes need not be answered in the
 * very moment in which it is still. */
#include "core/seq_internal.h"

/* The weight that is settled at last may differ by so much from the one that the yes was said to. */
#define STANDS_DIVISIONS 1
/* What has not settled by then moves, or the person must be told that the scale's motion mark disagrees. */
#define WAITS_US 3000000u

/* Nothing but rest is missing. */
static bool acceptable(const struct sequence *s, const struct item *it, uint64_t now, mass_pg *net)
{
    const struct scale_state *sc = &s->scales[it->scale];
    return it->status == ITEM_TARED && !it->unfit && !s->typed && !sc->doubt && !sc->said_container &&
           sequence_net(s, now, net) && seq_phase_of_net(s, it, *net) == PHASE_CONFIRM;
}

bool sequence_rests(const struct sequence *s, uint64_t now)
{
    const struct item *it = sequence_item(s, s->current);
    mass_pg net;
    return EARLY_YES && s->phase == PHASE_FILL && s->state != BATCH_PAUSED && !s->storing && it &&
           !s->setup->scales[it->scale].agreeing && acceptable(s, it, now, &net) &&
           settle_rests(&s->scales[it->scale].settle, &s->setup->scales[it->scale].settle, now);
}

/* It was settled when the question came; on a platform that shakes it may be so again with the next reading. */
static bool shakes(const struct sequence *s, const struct item *it, uint64_t now, mass_pg net)
{
    const struct settle *settle = &s->scales[it->scale].settle;
    mass_pg gross;
    return s->phase == PHASE_CONFIRM && !s->setup->scales[it->scale].agreeing &&
           sequence_scale(s, it->scale, now, &gross) == SETTLE_MOVING &&
           now - settle->newest.at <= settle_gap_us(&s->setup->scales[it->scale].settle) &&
           seq_near(s, it->scale, net, s->opened_net, STANDS_DIVISIONS);
}

void seq_yes_to_weight(struct sequence *s, uint64_t now, struct effects *fx)
{
    const struct item *it = seq_current(s);
    mass_pg net;
    bool good = acceptable(s, it, now, &net);
    if (s->yes_since) /* it is said twice */
        return;
    if (EARLY_YES && good && (sequence_rests(s, now) || shakes(s, it, now, net))) {
        s->yes_net = net;
        s->yes_since = now;
        s->yes_knows = s->phase == PHASE_CONFIRM && s->scales[it->scale].said_motion;
    } else if (s->phase == PHASE_CONFIRM) {
        seq_accept(s, now, fx);
    } else {
        seq_refuse(fx, s, good ? REFUSED_MOVING : REFUSED_WORD);
    }
}

void seq_yes_waits(struct sequence *s, const struct item *it, uint64_t now, struct effects *fx)
{
    mass_pg net;
    if (!EARLY_YES || s->yes_since == 0 ||
        (now - s->yes_since <= WAITS_US && acceptable(s, it, now, &net) &&
         seq_near(s, it->scale, net, s->yes_net, STANDS_DIVISIONS)))
        return;
    s->yes_since = 0;
    seq_refuse(fx, s, REFUSED_MOVING);
}

bool seq_yes_is_due(struct sequence *s, mass_pg net, uint64_t now, bool disputed, struct effects *fx)
{
    if (!EARLY_YES || s->yes_since == 0)
        return false;
    s->yes_since = 0;
    s->opened_net = net;
    if (!disputed || s->yes_knows)
        seq_accept(s, now, fx);
    else if (s->phase == PHASE_CONFIRM) /* that the mark disagrees must have been known when the yes was said */
        seq_refuse(fx, s, REFUSED_MOVING);
    else
        seq_open(s, PHASE_CONFIRM, fx);
    return true;
}
