/* Prove: which port is which scale, shown by a person who puts something on it. */
#ifndef STATION_PROVE_H
#define STATION_PROVE_H

#include <signal.h>
#include <stdio.h>

#include "station/feeder.h"

#define PROVE_MOST 16 /* ports that are listened to at a time */

enum prove_end {
    PROVE_FOUND,
    PROVE_NONE,    /* nothing moved within the time */
    PROVE_SEVERAL, /* two moved: which is meant can't be told */
    PROVE_DEAF,    /* no port gave a weight with this profile */
    PROVE_STOPPED,
};

struct prove {
    const struct profile *profile;
    unsigned count;
    const char *devices[PROVE_MOST];
    bool taken[PROVE_MOST]; /* found to be another scale: not listened to */
    unsigned found;         /* place in devices, after PROVE_FOUND */
    struct feeder feeders[PROVE_MOST];
    bool heard[PROVE_MOST], moved[PROVE_MOST];
    mass_pg first[PROVE_MOST];
};

/* Listens to all devices that are not taken, with the profile. ready is called once when the ports have had time to say
 * what stands on them: the moment to ask for something on the scale. A weight has moved when it differs from the first one
 * by PROVE_STEPS steps of its last place. to: what can't be opened is said there. */
#define PROVE_STEPS 10
enum prove_end prove_run(struct prove *p, void (*ready)(void *), void *user, FILE *to,
                         const volatile sig_atomic_t *stop);

#endif
