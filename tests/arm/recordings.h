/* The recordings of tests/replay as constants, for a board without a file system. Written by write_recordings.c at each build:
 * profile, division, and the bytes with the reads that brought them. */
#ifndef TESTS_ARM_RECORDINGS_H
#define TESTS_ARM_RECORDINGS_H

#include "core/profile.h"

/* One read of the port. */
struct recorded_read {
    uint32_t at; /* microseconds after the recording's start */
    uint16_t count;
};

struct recording {
    const char *name; /* NULL ends the list */
    const struct profile *profile;
    mass_pg division;
    const struct recorded_read *reads;
    uint32_t read_count;
    const uint8_t *bytes;
};

extern const struct recording recordings[];

#endif
