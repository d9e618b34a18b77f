/* Disturb: what else moves a platform: a mixer, knocks, a resting hand, draught, drift, drips. Ranges and reasons are in
 * parameters.h.
 *
 * What no reading can tell from mass counts as mass: the steady force of a resting hand, the push of a draught but for what of it
 * changes within 0.3 s, and the drift of the sensor. `counts_g` is their sum. The rest (tremor, turbulence, vibration, knocks) does not. */
#ifndef PLANT_DISTURB_H
#define PLANT_DISTURB_H

#include <stdbool.h>

#include "core/mass.h"
#include "plant/random.h"

#define DISTURB_KNOCKS 4

struct disturb_spec {
    double division_g;
    /* in divisions; zero: none of it */
    double vibration_d, vibration_hz, vibration_from_s, vibration_for_s;
    unsigned
        knocks; /* up to DISTURB_KNOCKS; the first comes knock_later_s after the hand lets go, the others anywhere */
    double knock_later_s;
    double rest_d, rest_later_s, rest_for_s, tremor_d, tremor_hz;
    double gust_d, gust_s, flutter_d, flutter_s;
    double drift_d_s;
    double trickle_d_s, trickle_for_s, drop_d; /* drop_d 0: a thread */
};

struct disturb {
    struct disturb_spec spec;
    struct random random;
    bool quiet; /* nothing of the spec is there */
    double now_s;
    double let_go_s; /* the hand has last let go; below 0: never yet */
    double knock_at_s[DISTURB_KNOCKS], knock_d[DISTURB_KNOCKS], knock_for_s[DISTURB_KNOCKS];
    double rest_from_s; /* below 0: not now */
    double phase, flutter, slow_flutter, gust, gust_aim, gust_until_s;
    double drop_due_d;        /* of the next drop, what has gathered */
    double trickle_until_s;   /* below 0: nothing trickles */
    double counts_g, other_g; /* the forces now */
};

void disturb_init(struct disturb *d, const struct disturb_spec *spec, uint64_t seed);
/* One millisecond: sets the forces, returns the mass that drips onto the platform. */
mass_pg disturb_step(struct disturb *d);
/* The hand has stopped pouring (setting down, ...): what depends on that is planned anew. */
void disturb_let_go(struct disturb *d);
/* The hand pours again: nothing drips beside it, and it leaves the pan. */
void disturb_take_up(struct disturb *d);

#endif
