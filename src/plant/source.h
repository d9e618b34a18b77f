/* Source: where verbs come from, one line at a time: a script's text, or a descriptor that somebody types or writes to. */
#ifndef PLANT_SOURCE_H
#define PLANT_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "plant/verb.h"

#define SOURCE_BUFFER 4096

struct source {
    const char *text; /* a script: what is left of it; NULL for a live source */
    const char *name; /* of the script, for its errors */
    unsigned line;    /* number of the line last taken */
    int fd;           /* a live source; -1: at its end */
    bool ended;       /* nothing more will come */
    bool skipping;    /* the rest of an over-long line */
    uint64_t wait_until_us;
    bool settling; /* waits for rest, until wait_until_us at the longest */
    size_t len;
    char buffer[SOURCE_BUFFER];
};

void source_script(struct source *s, const char *text, const char *name);
void source_live(struct source *s, int fd);
/* True if a live source has room and is not at its end. */
bool source_wants(const struct source *s);
/* Reads what a live source has; call when its descriptor is ready. */
void source_fill(struct source *s);
/* The next whole line, without its end; false if there is none (yet). *too_long: it was cut off and must not be used. */
bool source_next(struct source *s, char line[VERB_LINE], bool *too_long);

#endif
