/* Hand: see hand.h. It sees what the screen showed a reaction time ago and knows only its own guess of what came since. */
#include "plant/hand.h"

#include <math.h>
#include <string.h>

struct hand_spec hand_practised(double target_g, double band_g)
{
    double fast = target_g, slow = band_g * 1.5;
    return (struct hand_spec){
        .reaction_s = 0.35,
        .reaction_sigma = 0.25,
        .lag_s = 0.16,
        .flow_sigma = 0.1,
        .fast_g_s = fast,
        .slow_g_s = slow < fast ? slow : fast,
        .ease_s = 0.4,
        .spoon_g_s = band_g,
        .spoon_sigma = 0.1,
    };
}

static void react(struct hand *h)
{
    h->reaction_s = random_lognormal(&h->random, h->spec.reaction_s, h->spec.reaction_sigma);
}

void hand_begin(struct hand *h, const struct hand_spec *spec, double extra_g, double now_s, uint64_t seed)
{
    memset(h, 0, sizeof *h);
    h->spec = *spec;
    h->extra_g = extra_g;
    h->doing = HAND_POURS;
    h->now_s = h->since_s = now_s;
    random_seed(&h->random, seed);
    h->misjudged = 1 + h->spec.flow_sigma * random_normal(&h->random);
    react(h);
}

/* What it saw (and had poured) at that time; NULL before the first sight. */
static const struct hand_sight *sight_at(const struct hand *h, double at_s)
{
    const struct hand_sight *s = NULL;
    for (uint32_t back = 1; back <= h->sights && back <= HAND_SIGHTS; back++) {
        s = &h->ring[(h->sights - back) % HAND_SIGHTS];
        if (s->at_s <= at_s)
            return s;
    }
    return h->sights <= HAND_SIGHTS ? NULL : s;
}

static void take_sight(struct hand *h, const struct hand_view *view)
{
    h->ring[h->sights++ % HAND_SIGHTS] = (struct hand_sight){h->now_s, h->poured_g, *view};
}

static double middle(const struct hand_view *v)
{
    return (v->low_g + v->high_g) / 2;
}

static void begin(struct hand *h, enum hand_doing doing, double flow_g_s)
{
    h->doing = (uint8_t)doing;
    h->flow_g_s = flow_g_s;
    h->since_s = h->now_s;
    react(h);
}

/* The flow it wants while so much is missing. */
static double wanted(const struct hand *h, double left_g, uint8_t cue)
{
    if (cue == CUE_EASE)
        return h->spec.slow_g_s;
    return fmin(fmax(left_g / h->spec.ease_s, h->spec.slow_g_s), h->spec.fast_g_s);
}

static void hesitate(struct hand *h)
{
    h->hesitated = true;
    begin(h, HAND_HESITATES, 0);
    h->end_s = h->now_s + h->spec.hesitate_s;
}

/* What it believes to be still missing: what it saw, less what it thinks to have poured since then (with the scale's own delay
 * taken off). It aims at the middle of the band. */
static void pour(struct hand *h, const struct hand_sight *seen)
{
    const struct hand_sight *then = sight_at(h, seen->at_s - h->spec.lag_s);
    double since_g = h->poured_g - (then ? then->poured_g : 0);
    double left_g = middle(&seen->view) + h->extra_g - seen->view.net_g - since_g * h->misjudged;
    bool stop = seen->view.cue == CUE_STOP && seen->at_s >= h->since_s && h->extra_g <= 0;
    h->obeyed = h->obeyed || (stop && left_g > 0);
    if (left_g <= 0 || stop)
        begin(h, HAND_WAITS, 0);
    else if (h->spec.hesitate_s > 0 && !h->hesitated && h->poured_g >= h->spec.hesitate_g)
        hesitate(h);
    else
        h->flow_g_s = wanted(h, left_g, seen->view.cue);
}

/* The next piece once the one before is seen; one that would be too much is cut to size. */
static void lay(struct hand *h, const struct hand_sight *seen)
{
    double left_g = middle(&seen->view) + h->extra_g - seen->view.net_g;
    double piece_g = h->spec.piece_g * fmax(1 + 0.3 * random_normal(&h->random), 0.2);
    if (h->sights > 1 && h->poured_g > 0 && seen->at_s < h->since_s + h->spec.lag_s)
        return;
    if (left_g <= 0) {
        begin(h, HAND_WAITS, 0);
        return;
    }
    h->last_piece = piece_g > left_g * 0.9;
    if (h->last_piece)
        piece_g = left_g * (1 + h->spec.spoon_sigma * random_normal(&h->random));
    begin(h, HAND_LAYS, piece_g / h->spec.piece_s);
    h->end_s = h->now_s + h->spec.piece_s;
}

static void spoon(struct hand *h, const struct hand_view *seen)
{
    double meant_g = seen->net_g - middle(seen);
    double scoop_g = meant_g * (1 + h->spec.spoon_sigma * random_normal(&h->random));
    begin(h, HAND_SPOONS, -h->spec.spoon_g_s);
    h->end_s = h->now_s + fmax(scoop_g, 0) / h->spec.spoon_g_s;
}

/* The scale stands still again after what was done. */
static void judge(struct hand *h, const struct hand_view *seen)
{
    bool in = seen->net_g >= seen->low_g && seen->net_g <= seen->high_g;
    h->extra_g = 0;
    if (in && h->doing != HAND_DONE)
        begin(h, HAND_DONE, 0);
    else if (seen->net_g < seen->low_g)
        begin(h, HAND_POURS, 0);
    else if (!in && seen->says_over)
        spoon(h, seen);
}

static bool timed(const struct hand *h)
{
    return h->doing == HAND_SPOONS || h->doing == HAND_LAYS || h->doing == HAND_HESITATES;
}

/* The spoonful is out, the piece lies, the hesitation is over. */
static void over(struct hand *h, const struct hand_sight *seen)
{
    bool in = seen && seen->view.fresh && seen->view.net_g >= seen->view.low_g;
    bool goes_on = (h->doing == HAND_LAYS && !h->last_piece) || (h->doing == HAND_HESITATES && !in);
    begin(h, goes_on ? HAND_POURS : HAND_WAITS, 0);
}

double hand_step(struct hand *h, double now_s, const struct hand_view *view)
{
    h->poured_g += h->flow_g_s * (now_s - h->now_s);
    h->now_s = now_s;
    take_sight(h, view);
    const struct hand_sight *seen = sight_at(h, now_s - h->reaction_s);
    if (timed(h)) {
        if (now_s < h->end_s)
            return h->flow_g_s;
        over(h, seen);
    }
    if (!seen || !seen->view.fresh)
        return h->flow_g_s;
    /* A figure at rest from before the hand let go says nothing yet: the scale needs its time to notice. */
    bool rested = seen->view.settled && seen->at_s > h->since_s + h->spec.lag_s;
    if (h->doing == HAND_POURS && h->spec.piece_g > 0)
        lay(h, seen);
    else if (h->doing == HAND_POURS)
        pour(h, seen);
    else if (rested)
        judge(h, &seen->view);
    return h->flow_g_s;
}
