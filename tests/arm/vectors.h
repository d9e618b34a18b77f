/* What the replay program feeds to core: the same on the host and on the emulated target. */
#ifndef TESTS_ARM_VECTORS_H
#define TESTS_ARM_VECTORS_H

#include "core/profile.h"
#include "core/sequence.h"

extern const char *const vector_masses[]; /* texts, good and bad, ended by NULL */
extern const struct formula vector_formula;
extern const struct profile vector_profile;
extern const struct setup vector_setup;

/* The batch: what happens, in order. */
enum vector_kind {
    VECTOR_LINE,   /* text comes from the scale `count` times, ten times a second */
    VECTOR_QUIET,  /* `count` tenths of a second of silence */
    VECTOR_UNPLUG, /* the scale's link is lost */
    VECTOR_ANSWER, /* the word, with text, mass or value_milli */
    VECTOR_FAIL,   /* the store refuses the next record */
};
struct vector {
    uint8_t kind; /* enum vector_kind */
    uint8_t word; /* ANSWER: enum answer_word */
    uint16_t count;
    const char *text;
    int32_t value_milli;
};
extern const struct vector vector_batch[];
extern const uint16_t vector_batch_count;

#endif
