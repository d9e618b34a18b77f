/* The oracle of the cue: knows the mass, what is in the air, and the hand with the reaction time it has drawn. What it leaves
 * over, no cue can help; so it bounds what any cue can reach. It only ever says "stop". Obeyed, it ends in the band, so none
 * of its cues is needless. */
#include "tests/bench/pour/world.h"

#define LOOK_MS 20
#define LONGEST_MS 6000

/* What the hand does until `until` depends on nothing but what it has seen up to now: so this is no guess. */
mass_pg oracle_lands(const struct world *w)
{
    struct person_model p = w->person;
    struct air air = w->air;
    struct hand_view stop = {.fresh = true, .cue = CUE_STOP};
    mass_pg load = w->platform.load;
    unsigned still = 0;
    stop.low_g = (double)w->low * 1e-12;
    stop.high_g = (double)w->high * 1e-12;
    for (unsigned ms = 0; ms < LONGEST_MS && still <= air.fall_ms; ms++) {
        if (ms && ms % LOOK_MS == 0 && p.hand.doing == HAND_POURS)
            p.flow_g_s = hand_step(&p.hand, w->now_s + ms * 0.001, &stop);
        if (ms == 0)
            p.hand.ring[p.hand.sights++ % HAND_SIGHTS] = (struct hand_sight){w->now_s, p.hand.poured_g, stop};
        mass_pg moves = person_flows(&p, &w->c);
        load += air_step(&air, moves);
        still = moves == 0 && p.hand.doing != HAND_POURS ? still + 1 : 0;
    }
    return load;
}

/* As late as it may be: at the middle of the band, or before a look more would pass its upper edge. */
uint8_t oracle_cue(struct world *w)
{
    if (w->person.hand.doing != HAND_POURS || w->c.hand.piece_g > 0) {
        w->oracle_said = false;
        w->oracle_was = 0;
        return CUE_NONE;
    }
    if (w->oracle_said)
        return CUE_STOP;
    mass_pg net = oracle_lands(w) - w->tare_load, more = w->oracle_was ? net - w->oracle_was : 0;
    w->oracle_was = net;
    w->oracle_said = net >= w->low + (w->high - w->low) / 2 || net + more > w->high;
    return w->oracle_said ? CUE_STOP : CUE_NONE;
}
