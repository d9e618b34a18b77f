/* Hand: a person at a scale, a pure model stepped by time. It pours fast while much is missing and eases off near the target,
 * lets go and waits for rest, tops up, and spoons out what is too much once the screen says so.
 *
 * A cue it obeys when it has seen it: eases off to its slowest flow, or stops. Who hesitates and then sees the net inside the
 * band pours no more.
 *
 * What it does now follows from what the screen showed a reaction time ago, and from what it believes to have poured
 * since: it misjudges its own flow by a few percent, another few in each weighing. Reaction time is log-normal with
 * a median of 0.35 s (from memory: simple visual reactions are near 0.25 s, a choice adds to it); the flows, the
 * misjudgement and the spoon are common practice, no source. */
#ifndef PLANT_HAND_H
#define PLANT_HAND_H

#include <stdbool.h>
#include <stdint.h>

#include "core/flow.h"
#include "plant/random.h"

struct hand_spec {
    double reaction_s, reaction_sigma; /* median; deviation of its logarithm */
    double lag_s;                      /* how late it believes the scale to be */
    double flow_sigma;                 /* how far its idea of its own flow is off, as a share of it */
    double fast_g_s, slow_g_s;         /* flow while much is missing; the slowest steady one */
    double ease_s;                     /* eases off so that the rest would last about so long */
    double spoon_g_s;                  /* flow at which a spoon takes out */
    double spoon_sigma;                /* how far a spoonful is off what was meant, as a share of it */
    /* zero: none of it */
    double hesitate_g, hesitate_s; /* stops once when so much is poured, for so long */
    double piece_g, piece_s;       /* lays pieces of this mass instead of pouring, each within piece_s; cuts the last */
};

/* What the screen shows. */
struct hand_view {
    bool fresh;     /* there is a figure */
    bool settled;   /* and it stands still */
    bool says_over; /* it asks to take some out */
    uint8_t cue;    /* enum flow_cue */
    double net_g;
    double low_g, high_g;
};

enum hand_doing { HAND_POURS, HAND_HESITATES, HAND_LAYS, HAND_WAITS, HAND_SPOONS, HAND_DONE };

#define HAND_SIGHTS 128 /* at 50 steps a second 2.5 s of memory: far more than a reaction takes */

struct hand_sight {
    double at_s, poured_g;
    struct hand_view view;
};

struct hand {
    struct hand_spec spec;
    struct random random;
    uint8_t doing;   /* enum hand_doing */
    uint32_t sights; /* how many were ever taken */
    double now_s;
    double reaction_s; /* this time */
    double misjudged;  /* believed flow over true flow, this weighing */
    double flow_g_s;
    double poured_g; /* since hand_begin */
    double extra_g;  /* poured beyond the middle of the band on purpose, once */
    double since_s;  /* when it began what it is doing */
    double end_s;    /* when the spoonful is out, the piece laid, the hesitation over */
    bool hesitated, last_piece;
    bool obeyed; /* it has stopped because the cue said so */
    struct hand_sight ring[HAND_SIGHTS];
};

/* A practised hand for a target of this size and a band of this width (high - low): bulk within about one second. */
struct hand_spec hand_practised(double target_g, double band_g);
void hand_begin(struct hand *h, const struct hand_spec *spec, double extra_g, double now_s, uint64_t seed);
/* What it does at `now_s` with this view: the flow onto the platform in grams a second, below 0 while it spoons out.
 * Call it about 50 times a second. HAND_DONE: at rest inside the band. */
double hand_step(struct hand *h, double now_s, const struct hand_view *view);

#endif
