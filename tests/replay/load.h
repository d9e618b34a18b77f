/* What the recordings in tests/replay hold, in memory. Every failure to read one ends the program with a sentence. */
#ifndef TESTS_REPLAY_LOAD_H
#define TESTS_REPLAY_LOAD_H

#include "core/profile.h"

#define LOAD_BYTES 16384
#define LOAD_SPANS 32
#define LOAD_NAMES 64

/* One byte of the scale, the read that brought it, and the read before that. */
struct moment {
    uint64_t at, since;
    uint8_t byte;
};

enum span_kind { SPAN_STILL, SPAN_BETWEEN, SPAN_OVER, SPAN_NOISE, SPAN_UNDER, SPAN_FAULT, SPAN_NOTYET };
/* What truly was from `from` to `to`: by the script that loaded the platform. */
struct truth {
    uint64_t from, to;
    uint8_t kind;
    mass_pg low, high; /* the same where it stood still */
};

struct recorded {
    char name[CAP_KEY + 8];
    struct profile profile;
    mass_pg division;
    uint32_t count;
    struct moment moments[LOAD_BYTES];
    uint32_t span_count;
    struct truth spans[LOAD_SPANS];
};

/* The names of all recordings in tests/replay, in order; how many. Each has a second one, of what is no weight: states/NAME. */
unsigned load_names(char names[LOAD_NAMES][CAP_KEY]);
/* The recording, its profile and what truly was. */
void load(const char *name, struct recorded *out);

#endif
