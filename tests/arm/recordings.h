/* The recordings of tests/replay as constants, for a board without a file system. Written by write_recordings.c at each build:
 * profile, division, the bytes with the reads that brought them, and what the host made of them. */
#ifndef TESTS_ARM_RECORDINGS_H
#define TESTS_ARM_RECORDINGS_H

#include "core/profile.h"
#include "tests/arm/replay.h"

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
    struct part expected; /* by the profile as it was read from its file, so that nothing of it can be left unwritten */
};

extern const struct recording recordings[];

#endif
