/* The replay program: fixed vectors through core; one hash for each part of it. */
#ifndef TESTS_ARM_REPLAY_H
#define TESTS_ARM_REPLAY_H

#include <stdint.h>

/* What a part did: its hash, and a count of what went into it, so that an empty run can't pass for an equal one. */
struct part {
    uint64_t hash;
    uint32_t count;
};

struct recording;

struct part replay_numbers(void);
struct part replay_masses(void);
struct part replay_scaling(void);
/* In this order: the batch live, its items after it, the items from its records alone. */
struct part replay_batch(void);
struct part replay_items(void);
struct part replay_resumed(void);
/* What decode and settle make of a scale's recording. The count is that of its readings. */
struct part replay_recording(const struct recording *from);

#endif
