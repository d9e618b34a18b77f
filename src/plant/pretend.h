/* Pretend: a simulated scale in real time, on a wire, told by verbs what happens to it. docs/pretend.md is its page. */
#ifndef PLANT_PRETEND_H
#define PLANT_PRETEND_H

#include "plant/plant.h"
#include "plant/source.h"
#include "plant/wire.h"

struct pretend_spec {
    const struct profile *profile;
    struct plant_spec plant;
    uint64_t seed;
    const char *on;     /* a tty to talk on; NULL: a pseudo-terminal of its own */
    const char *link;   /* NULL: none */
    const char *script; /* its whole text, every line already seen to be a verb; NULL: none */
    const char *script_name;
    bool ends; /* end when standard input ends (its verbs done); else go on until told */
};

enum pretend_result { PRETEND_DONE, PRETEND_NO_WIRE, PRETEND_SYSTEM };

/* Fits the profile: a line for full capacity, for less than nothing and at rest can be said. False with a sentence. */
bool pretend_fits(const struct profile *p, const struct plant_spec *spec, char why[WIRE_WHY]);
/* Runs until `quit`, SIGTERM, SIGINT or SIGHUP (or the end of standard input, see `ends`). First line on standard output:
 * the path that a reader opens. */
enum pretend_result pretend_run(const struct pretend_spec *spec, char why[WIRE_WHY]);

#endif
