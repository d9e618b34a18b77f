/* Agree: when a weight is true on a scale that can't be watched, for it sends a line only once it has come to rest, or when
 * its print key is pressed. No window can be judged there, so:
 *
 *   settled = two lines agree: the same figure (a division off may be a digit that the cable has changed), at least
 *             AGREE_APART_US apart (two presses, or two rests) and at most AGREE_WITHIN_US, no line between them that
 *             differs, says "moving" or has no weight.
 *   fresh   = the newer one is not older than AGREE_FRESH_US. What was put in after it can't be known: the person who says
 *             yes sees the figure and the cup.
 *
 * What was accepted so is marked in its record (`agreed`). The times are common practice, no source. */
#ifndef CORE_AGREE_H
#define CORE_AGREE_H

#include "core/settle.h"

#define AGREE_APART_US 500000u
#define AGREE_WITHIN_US 30000000u
#define AGREE_FRESH_US 10000000u

struct agree {
    mass_pg first;     /* the line that the newer ones are held against */
    uint64_t first_at; /* 0 = none */
    bool two;          /* another one has agreed */
};

/* True: on a scale with such a profile two agreeing lines stand for rest. */
bool agree_counts(const struct profile *p);
/* Takes a reading (its `at` > 0), in the order in which they come: an older one begins anew. */
void agree_feed(struct agree *a, mass_pg division, const struct reading *r);
/* As settle_judge, of the newest reading fed; never DISPUTED. No line for however long is not "silent": these scales are. */
enum settle_state agree_judge(const struct agree *a, const struct reading *newest, uint64_t now, mass_pg *mass);
/* The moment, later than now, at which the judgement may change with no further reading; 0 = never. */
uint64_t agree_next(const struct agree *a, const struct reading *newest, uint64_t now);

#endif
