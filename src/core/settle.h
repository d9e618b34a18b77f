/* Settle: when a weight is true.
 *
 * Judged by time, not by a count of readings: 200 readings a second need no more memory than 5. All comparisons are of what
 * the scale shows, in eighths of its division. Two ways lead to "still"; either will do:
 *
 *   quiet   = the figure has not left its level (by half a division or more) for as long as it must, and for at least
 *             QUIET_READINGS readings. How long depends on how it came there: PACE times what the last two divisions took,
 *             at least quick_us, at most window_us. A stream that stops, or a thing put down, comes to its level fast and
 *             must hold it briefly; a figure that crept may be a trickle between two steps and must hold it long.
 *   told    = the hand that fills was told to stop, 1.2 s ago or longer: even a slow one that obeys has, and its last has
 *             landed. Then the first level after it need hold for told_us and for twice what its last two divisions took:
 *             whoever goes on after that, by pieces or spoons, in which no flow is seen, is not told any more. The end of a
 *             flow faster than 200 divisions a second may hide behind what the stream presses less, so 60 ms are added for
 *             each time that it was twice as fast.
 *   noisy   = the figure flickers, but goes nowhere. Slots, each a 7th of window_us, keep the lowest, highest, sum and count
 *             of what was seen in them. Over twelve slots: lowest to highest within one division; the newest third's mean
 *             within half a division of the oldest third's, and their ranges no more than a quarter apart; the newest
 *             reading within 3/8 of the whole mean and 5/8 of the newest third's, but where that third has moved on from
 *             the oldest at all, within 1/8 of it on the side that it came from: in a flicker that a trickle lifts, the
 *             lower figure is an old one. Or the same over sixteen slots with a range of three divisions, the thirds' means
 *             within 3/8 and the newest within half a division of the mean: the more noise this platform shows, the longer
 *             it is looked at. Or over sixteen slots with a range of one division and the newest within 5/8 of the mean and
 *             half a division of the newest third's on the side that it came from: what has flickered for so long between
 *             two figures rests between them, and may be taken at either unless it is hardly ever shown.
 *   begun   = readings without a break have come for the whole of it. A break is a reading later than gap_us after the one
 *             before, one that may itself be older than gap_us (at - since: it may have queued while nobody read, and old
 *             bytes are never taken for now), one without a weight, or a reset.
 *   age     : at the judgement the newest reading is not older than gap_us; older than silent_us is "silent".
 *   mark    : the newest reading says "stable" or has no say. If it says "moving" while all else holds, that vetoes for
 *             veto_us; after that the state is SETTLE_DISPUTED: shown, and a person confirms. A mark that has vetoed in
 *             vain loses its veto until it says "stable" at rest. A "stable" shortens nothing.
 *   lone    : the newest reading shows another figure than the two before it, and one of those was no news itself. It may be
 *             a line of which the cable has changed a digit by less than half a division; the next reading tells. (Where
 *             the figures never repeat, being finer than a division, none is lone.)
 *
 * Measured: 12 false accepts in 1,000,000 simulated weighings (95 % bounds 7 to 21), none that rest refused,
 * median delay 0.99 s, 95 of 100 within 1.41 s. How, and how the constants were chosen: docs/settling.md.
 * Range and mark follow the rule of weighing law that only stable weights are recorded (within one division; Canada
 * SI/98-81 s.45). A division <= 0 or above 100 kg never settles. */
#ifndef CORE_SETTLE_H
#define CORE_SETTLE_H

#include "core/profile.h"

#define SETTLE_BINS 16
#define SETTLE_TRAIL 4

enum settle_state {
    SETTLE_SILENT,   /* no reading fresh enough */
    SETTLE_NOWEIGHT, /* the newest reading has no weight (over, under, fault, unit) */
    SETTLE_MOVING,
    SETTLE_SETTLED,
    SETTLE_DISPUTED, /* still, but the scale's motion mark has said otherwise for longer than veto_us */
};

/* Constants of one scale, the same in every call. Zero in a field means its default. window_us counts for at least twice
 * gap_us. */
struct settle_rule {
    mass_pg division;   /* > 0 */
    uint32_t quick_us;  /* default 950,000 */
    uint32_t told_us;   /* default 550,000; above quick_us: being told shortens nothing */
    uint32_t window_us; /* default 1,380,000 */
    uint32_t silent_us; /* reading older than this is no reading; default 2,000,000 */
    uint32_t gap_us;    /* longest gap between readings inside a window; default 450,000. For a scale that sends every
                           p microseconds, half as much again as p, or one late line starts the window anew */
    uint32_t veto_us;   /* default 1,000,000 */
};

/* In eighths of a division from the anchor. */
struct settle_bin {
    int32_t sum;
    int16_t low, high;
    uint16_t count; /* 0: nothing was seen */
};

struct settle {
    struct settle_bin bins[SETTLE_BINS]; /* of slot n at n % SETTLE_BINS */
    uint64_t slot;                       /* the newest reading's slot, counted from time 0 */
    struct reading newest;               /* at == 0: none yet */
    mass_pg anchor;                      /* what the eighths count from: a mass since the last break */
    uint64_t begun;                      /* the unbroken readings' first; 0 = none */
    uint64_t level_since;                /* the figure is on its level */
    uint64_t left[SETTLE_TRAIL];         /* when levels before it were last seen; 0 = none */
    uint64_t told;                       /* when the hand that fills was told to stop; 0 = it was not */
    uint64_t rested;                     /* `told` when a level was last held for long enough: it is used up */
    uint32_t tail_us;                    /* how much longer the end of its flow may be hidden than that of a slow one */
    uint64_t vetoed_since;               /* since when only the motion mark objects; 0 = it does not */
    int16_t level, trail[SETTLE_TRAIL];  /* eighths; those levels, the newest first */
    int16_t shown;                       /* the newest reading's eighths */
    uint16_t level_count;                /* readings on the level */
    mass_pg last[2];                     /* of the two readings before the newest in its row */
    uint8_t repeats; /* bit 0: the newest shows what one of them did; bit 1: so did the one before it ... */
    bool lone;       /* the newest shows a new figure in a row of repeated ones */
    bool veto_spent; /* vetoed in vain */
    bool quiet;      /* the level has been held for as long as it must; until it is left */
    bool still;      /* quiet or noisy as of the newest reading */
};

/* The rule of a scale that sends as its profile says: gap_us is half as much again as the period, but not below its
 * default. The profile's silent_ms counts; the rest are defaults. */
struct settle_rule settle_rule_for(const struct profile *p, mass_pg division);
/* The rule's gap_us, or its default. */
uint64_t settle_gap_us(const struct settle_rule *rule);
void settle_reset(struct settle *s);
/* Takes a reading (its `at` > 0). One older than the newest is dropped, but if by more than silent_us, the clock was set
 * back and all begins anew. Of several from one read the last is the newest. */
void settle_feed(struct settle *s, const struct settle_rule *rule, const struct reading *r);
/* The hand that fills was told to stop at `since`, when the net grew by so much a second; 0: it was not, or pours again. Counts
 * for the readings that are fed from now on. */
void settle_told(struct settle *s, const struct settle_rule *rule, uint64_t since, mass_pg per_second);
/* The judgement at `now`. *mass: the settled mass (the newest reading's), set for SETTLED and DISPUTED only. Cheap: the
 * window is judged when it is fed. A newest reading from the future is as old as it is far ahead. */
enum settle_state settle_judge(const struct settle *s, const struct settle_rule *rule, uint64_t now, mass_pg *mass);
/* It may be at rest, though nobody can be sure yet: the level has been held for 0.45 s and for 1.5 times what its last two
 * divisions took, whatever the mark says. A yes may be said to it; what is recorded is settled. */
bool settle_rests(const struct settle *s, const struct settle_rule *rule, uint64_t now);
/* The moment, later than now, at which the judgement may change with no further reading; 0 = never. */
uint64_t settle_next(const struct settle *s, const struct settle_rule *rule, uint64_t now);

#endif
