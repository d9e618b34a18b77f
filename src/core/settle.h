/* Settle: when a weight is true.
 *
 * A window over time, not over a count of readings: SETTLE_BINS slots of time, of which each keeps only the lowest and the
 * highest mass seen in it, so 200 readings a second need no more memory than 5. The rule:
 *
 *   window  = the larger of window_us and twice gap_us: a slow scale needs a longer one, or a single reading would be
 *             a window. A slot is a 7th of it; the newest, begun slot and the 7 before it count.
 *   begun   = readings without a break have come for at least the window. A break is a reading later than gap_us after
 *             the one before, one that may itself be older than gap_us (at - since: it may have queued while nobody
 *             read, and old bytes are never taken for now), one without a weight, or a reset.
 *   range   : highest - lowest over the slots <= one division.
 *   slope   : the mean of the newer four slots differs from that of the older four by <= half a division. (A slot counts
 *             as the middle of its lowest and highest; an empty one does not count.)
 *   age     : at the judgement the newest reading is not older than gap_us; older than silent_us is "silent".
 *   mark    : the newest reading says "stable" or has no say. If it says "moving" while all else holds, that vetoes for
 *             veto_us; after that the state is SETTLE_DISPUTED: shown, and a person confirms.
 *
 *   lone    : the newest reading shows another figure than the two before it, and one of those was no news itself. It may be
 *             a line of which the cable has changed a digit by less than the range; the next reading tells. (Where the
 *             figures never repeat, being finer than a division, none is lone.)
 *
 * The figures are common practice, no source; range and mark follow the rule of weighing law that only stable weights are
 * recorded (within one division; Canada SI/98-81 s.45). A division <= 0 or above 100 kg never settles. */
#ifndef CORE_SETTLE_H
#define CORE_SETTLE_H

#include "core/profile.h"

#define SETTLE_BINS 8

enum settle_state {
    SETTLE_SILENT,   /* no reading fresh enough */
    SETTLE_NOWEIGHT, /* the newest reading has no weight (over, under, fault, unit) */
    SETTLE_MOVING,
    SETTLE_SETTLED,
    SETTLE_DISPUTED, /* still, but the scale's motion mark has said otherwise for longer than veto_us */
};

/* Constants of one scale, the same in every call. Zero in a field means its default. */
struct settle_rule {
    mass_pg division;   /* > 0 */
    uint32_t window_us; /* default 900,000 */
    uint32_t silent_us; /* reading older than this is no reading; default 2,000,000 */
    uint32_t gap_us;    /* longest gap between readings inside a window; default 450,000. For a scale that sends every
                           p microseconds, half as much again as p, or one late line starts the window anew */
    uint32_t veto_us;   /* default 5,000,000 */
};

struct settle_bin {
    mass_pg low, high; /* low > high: nothing was seen */
};

struct settle {
    struct settle_bin bins[SETTLE_BINS]; /* of slot n at n % SETTLE_BINS */
    uint64_t slot;                       /* the newest reading's slot, counted from time 0 */
    struct reading newest;               /* at == 0: none yet */
    uint64_t begun;                      /* the unbroken readings' first; 0 = none */
    uint64_t vetoed_since;               /* since when only the motion mark objects; 0 = it does not */
    mass_pg last[2];                     /* of the two readings before the newest in its row */
    uint8_t repeats; /* bit 0: the newest shows what one of them did; bit 1: so did the one before it ... */
    bool lone;       /* the newest shows a new figure in a row of repeated ones */
    bool still;      /* begun, range and slope hold as of the newest reading */
};

/* The rule of a scale that sends as its profile says: gap_us is half as much again as the period, but not below its
 * default. The profile's silent_ms counts; the rest are defaults. */
struct settle_rule settle_rule_for(const struct profile *p, mass_pg division);
void settle_reset(struct settle *s);
/* Takes a reading (its `at` > 0). One older than the newest is dropped, but if by more than silent_us, the clock was set
 * back and all begins anew. Of several from one read the last is the newest. */
void settle_feed(struct settle *s, const struct settle_rule *rule, const struct reading *r);
/* The judgement at `now`. *mass: the settled mass (the newest reading's), set for SETTLED and DISPUTED only. Cheap: the
 * window is judged when it is fed. A newest reading from the future is as old as it is far ahead. */
enum settle_state settle_judge(const struct settle *s, const struct settle_rule *rule, uint64_t now, mass_pg *mass);
/* The moment, later than now, at which the judgement may change with no further reading; 0 = never. */
uint64_t settle_next(const struct settle *s, const struct settle_rule *rule, uint64_t now);

#endif
