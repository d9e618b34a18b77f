/* Air: material that has left the hand and has not landed yet, and the push of its landing.
 *
 * What is let go now lands fall_ms later. A stream that lands pushes as well: mass flow times speed at landing, which is the
 * weight of just what is in the air (momentum; g x fall time = speed). So the reading of a steady pour already counts the
 * falling column, and when the hand stops, push gives way to mass. `push` is the share of it that the container feels:
 * below 1 where the stream slides down its wall. */
#ifndef PLANT_AIR_H
#define PLANT_AIR_H

#include <stdint.h>

#include "core/mass.h"

#define AIR_MS 512 /* the longest fall: 1.3 m */

struct air {
    uint32_t fall_ms, at;
    double push;
    double push_g;        /* the force of what lands now, smoothed over 10 ms */
    mass_pg flying;       /* all that is in the air */
    mass_pg ring[AIR_MS]; /* let go `at` milliseconds ago */
};

/* fall_ms below AIR_MS; 0: laid down by hand. */
void air_init(struct air *a, uint32_t fall_ms, double push);
/* One millisecond: lets go of `mass` (>= 0), returns what lands. */
mass_pg air_step(struct air *a, mass_pg mass);

#endif
