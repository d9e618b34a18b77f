/* Reading: what one line of a scale said, and when. What can't be told is "unknown", never guessed. */
#ifndef CORE_READING_H
#define CORE_READING_H

#include <stdint.h>

#include "core/mass.h"

/* The order counts: up to MOVING there is a weight, and of two words in a line the later one holds. */
enum reading_state {
    READING_UNKNOWN, /* a weight whose line says nothing of motion */
    READING_STABLE,
    READING_MOVING,
    READING_OVER,   /* over capacity: no weight */
    READING_UNDER,  /* under zero range: no weight */
    READING_FAULT,  /* the scale reports a fault: no weight */
    READING_UNIT,   /* a weight in a unit that can't be known: no weight */
    READING_NOTYET, /* the scale says that it has no weight yet: it warms up, or waits for rest */
};
enum reading_basis { BASIS_UNKNOWN, BASIS_GROSS, BASIS_NET };

struct reading {
    mass_pg mass;   /* as shown, exact; meaningless where the state says "no weight" */
    mass_pg step;   /* one unit of the last place shown, e.g. 0.001 kg: not the division (that is the station file's) */
    uint64_t at;    /* monotonic microseconds of the read that brought its last byte */
    uint64_t since; /* of the previous read that drained the port: the line can't be older than this */
    uint8_t state;  /* enum reading_state */
    uint8_t basis;  /* enum reading_basis */
    uint8_t unit;   /* enum mass_unit that the scale showed */
    uint8_t places; /* decimals that the scale showed */
};

static inline bool reading_has_weight(const struct reading *r)
{
    return r->state <= READING_MOVING;
}

#endif
