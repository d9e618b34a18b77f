/* Air: see air.h. */
#include "plant/air.h"

#include <string.h>

#define SMOOTH_MS 10.0

void air_init(struct air *a, uint32_t fall_ms, double push)
{
    memset(a, 0, sizeof *a);
    a->fall_ms = fall_ms < AIR_MS ? fall_ms : AIR_MS - 1;
    a->push = push;
}

mass_pg air_step(struct air *a, mass_pg mass)
{
    a->ring[a->at % AIR_MS] = mass;
    mass_pg lands = a->ring[(a->at + AIR_MS - a->fall_ms) % AIR_MS];
    a->at++;
    a->flying += mass - lands;
    double push_g = (double)lands * 1e-12 * a->fall_ms * a->push;
    a->push_g += (push_g - a->push_g) / SMOOTH_MS;
    return lands;
}
