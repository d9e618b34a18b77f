/* What the replay program feeds to core: the same on the host and on the emulated target. */
#ifndef TESTS_ARM_VECTORS_H
#define TESTS_ARM_VECTORS_H

#include "core/formula.h"

extern const char *const vector_masses[]; /* texts, good and bad, ended by NULL */
extern const struct formula vector_formula;

#endif
