/* Settle: when a weight is true.
 *
 * A window over time, not over a count of readings: WINDOW_BINS bins of bin_us each; a bin keeps the lowest, highest,
 * first and last mass seen in it, so 200 readings a second need no more memory than 5.
 * Settled = every bin of the window holds a reading (or the profile's gap allows it to be empty), the range over the
 * window is at most one division, the mean of the second half differs from that of the first by at most half a
 * division (slope), the newest reading is not older than the scale's limit, and the scale's own motion mark says
 * "stable" or has no say. A motion mark that says "moving" over a window that is otherwise settled vetoes for
 * veto_us, after that the state is SETTLE_DISPUTED: shown, and a person confirms. */
#ifndef CORE_SETTLE_H
#define CORE_SETTLE_H

#include "core/reading.h"

#define SETTLE_BINS 8

enum settle_state {
    SETTLE_SILENT,   /* no reading fresh enough */
    SETTLE_NOWEIGHT, /* the newest reading has no weight (over, under, fault, unit) */
    SETTLE_MOVING,
    SETTLE_SETTLED,
    SETTLE_DISPUTED, /* still, but the scale's motion mark has said otherwise for longer than veto_us */
};

/* Constants of one scale. Zero in a field means its default. */
struct settle_rule {
    mass_pg division;   /* > 0 */
    uint32_t window_us; /* default 800,000 */
    uint32_t silent_us; /* reading older than this is no reading; default 2,000,000 */
    uint32_t gap_us;    /* longest gap between readings inside a window; default 450,000 */
    uint32_t veto_us;   /* default 5,000,000 */
};

struct settle_bin {
    uint64_t slot; /* number of the bin_us-long slot since time 0; bins of old slots are void */
    mass_pg low, high, last;
    uint16_t count;
    uint8_t moving; /* the scale's mark said "moving" in it */
};

struct settle {
    struct settle_bin bins[SETTLE_BINS];
    struct reading newest; /* at == 0: none yet */
    uint64_t begun;        /* the window can't reach back past this moment (start, gap, reconnect) */
    uint64_t still_since;  /* since when the figures have been still; 0 = they are not */
};

void settle_reset(struct settle *s);
/* Takes a reading. One not newer than the newest is dropped. One whose own span (at - since) or distance from the newest
 * is longer than gap_us starts the window anew: it may have queued while nobody read, old bytes are never taken for now. */
void settle_feed(struct settle *s, const struct settle_rule *rule, const struct reading *r);
/* The judgement at `now`. *mass: the settled mass (the newest reading's), set for SETTLED and DISPUTED only. */
enum settle_state settle_judge(const struct settle *s, const struct settle_rule *rule, uint64_t now, mass_pg *mass);
/* The moment, later than now, at which the judgement may change with no further reading; 0 = never. */
uint64_t settle_next(const struct settle *s, const struct settle_rule *rule, uint64_t now);

#endif
