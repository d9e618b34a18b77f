/* Indicator: what stands between the load cell and the line: samples, filter, zero, tare, motion mark, rounding.
 *
 * Where the figures come from: zero tracking by at most half a division a second and only at rest, zero key within
 * 4 % of capacity in all and power-on zero within 20 %, nothing shown above capacity + 9 divisions, are the rules of
 * OIML R 76-1 (4.5.7, 4.5.1, 4.2.3; from memory, 4 % and 20 % also in Canada's SI/98-81 s. 42 and 43). Filter, noise
 * and motion figures are common practice, no source. */
#ifndef PLANT_INDICATOR_H
#define PLANT_INDICATOR_H

#include <stdbool.h>
#include <stdint.h>

#include "core/reading.h"
#include "plant/random.h"

struct indicator_spec {
    mass_pg capacity, division; /* > 0 */
    double noise_d;             /* deviation of one sample, in divisions */
    double noise_memory;        /* 0..1: how much of a sample's noise the next one keeps */
    uint32_t sample_ms;         /* gap between samples */
    uint32_t filter_ms;         /* of each of the filter's two stages; a quarter of it far off*/
    uint32_t motion_ms;         /* within half a division for so long: stable, until more than one off it */
    uint32_t boot_ms;           /* no weight for so long after power-on */
    bool tracks_zero;
};

struct indicator {
    struct indicator_spec spec;
    struct random random;
    double noise_g;                /* the sample's noise, carried on */
    double stage_g, shown_g;       /* the filter's two stages */
    double factory_g;              /* zero as adjusted at the factory */
    double zero_g, first_g;        /* zero now; zero at power-on */
    double still_g;                /* where the weight has been still... */
    uint32_t still_ms;             /* ...for so long */
    uint32_t sample_in;            /* steps to the next sample */
    uint32_t boot_left;            /* ms, 0 = running */
    uint32_t tare_left, zero_left; /* ms for which a tare or zero waits for rest; 0 = none waits */
    mass_pg tare;                  /* 0 = shows gross */
    mass_pg step;                  /* the division in the unit shown */
    uint8_t unit;                  /* enum mass_unit */
};

/* The usual figures for a scale of this capacity and division. */
struct indicator_spec indicator_usual(mass_pg capacity, mass_pg division);
/* Powered and at zero with an empty platform. unit: of the display. */
void indicator_init(struct indicator *i, const struct indicator_spec *spec, enum mass_unit unit, uint64_t seed);
/* One millisecond with the load cell at felt_g. */
void indicator_step(struct indicator *i, double felt_g);
/* What it shows now: mass, step, places, unit, state, basis. The times stay 0. */
void indicator_show(const struct indicator *i, struct reading *out);

/* The keys. Tare and zero wait up to three seconds for rest, then are forgotten. Tare takes what is on the platform (at
 * zero it clears the tare); zero works near the power-on zero only, and clears the tare. */
void indicator_tare(struct indicator *i);
void indicator_zero(struct indicator *i);
void indicator_unit(struct indicator *i, enum mass_unit unit);
/* Off and on again: tare forgotten, zero taken anew at whatever lies there, if it is within 20 % of capacity. */
void indicator_restart(struct indicator *i);
/* True if the mark says stable and no key waits. */
bool indicator_at_rest(const struct indicator *i);

/* The division that a scale of this division has in another unit: itself where the unit's decimals can hold it, else the
 * nearest of 1, 2, 5 times a power of ten. */
mass_pg division_in(mass_pg division, enum mass_unit unit);

#endif
