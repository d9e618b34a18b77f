/* Verb: one line that tells the pretend scale what happens to it. docs/pretend.md lists them for its reader. */
#ifndef PLANT_VERB_H
#define PLANT_VERB_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "core/mass.h"

#define VERB_LINE 200 /* longest line, NUL included */
#define VERB_WHY 200  /* room for one sentence of error with NUL */

enum verb_kind {
    VERB_NOTHING, /* an empty line or a comment (#) */
    VERB_PUT,     /* mass */
    VERB_POUR,    /* mass, flow */
    VERB_STOP,
    VERB_TAKE,    /* mass, flow (0 = at once) */
    VERB_CLEAR,   /* "take all" */
    VERB_BUMP,    /* mass */
    VERB_VIBRATE, /* mass, hz, seconds */
    VERB_SILENT,  /* seconds, below 0 = until "silent 0" */
    VERB_FAULT,   /* the same, until "fault 0" */
    VERB_GARBAGE, /* count */
    VERB_UNPLUG,
    VERB_PLUG,
    VERB_RESTART,
    VERB_PRINT,
    VERB_TARE,
    VERB_ZERO,
    VERB_UNIT,         /* unit */
    VERB_FIGURES,      /* unit: of the figures, while the lines name the old one */
    VERB_WAIT,         /* seconds */
    VERB_WAIT_SETTLED, /* seconds: at the longest */
    VERB_SHOW,
    VERB_QUIT,
};

struct verb {
    uint8_t kind; /* enum verb_kind */
    uint8_t unit; /* enum mass_unit */
    uint32_t count;
    mass_pg mass, flow; /* flow per second */
    double hz, seconds;
};

/* False with a sentence, that names the form expected, if the line is not a verb. */
bool verb_parse(const char *line, struct verb *out, char why[VERB_WHY]);
/* The forms of all verbs, one a line, for --help. */
const char *verb_forms(void);

#endif
