/* Frames: when an indicator sends its lines, which are lost, and what its motion mark is worth.
 *
 * All figures are common practice, no source. A mark that is wrong is drawn anew now and then, whatever the weight does. */
#ifndef PLANT_FRAMES_H
#define PLANT_FRAMES_H

#include "core/reading.h"
#include "plant/random.h"

enum mark_kind { MARK_HONEST, MARK_ABSENT, MARK_LATE, MARK_WRONG, MARK_STUCK_STILL, MARK_STUCK_MOVING, MARK_KINDS };
const char *mark_text(enum mark_kind kind);

struct frames_spec {
    double period_ms; /* 20..200: 50 to 5 a second */
    double jitter_ms; /* each line comes up to so much late; below the period */
    double lost;      /* share of the lines */
    double late_ms;   /* MARK_LATE: how old the mark is */
    uint8_t mark;     /* enum mark_kind */
};

#define FRAMES_PAST 64 /* marks of the last 64 x 16 ms */

struct frames {
    struct frames_spec spec;
    struct random random;
    double due_ms, sends_ms; /* the line's place in its rhythm; when it really leaves */
    uint64_t last_us;        /* when the line before came */
    bool wrong;              /* what a wrong mark says now */
    uint8_t past[FRAMES_PAST];
};

void frames_init(struct frames *f, const struct frames_spec *spec, uint64_t seed);
/* One millisecond; shown: what the indicator shows now. True if a line arrives: *out is its reading, at and since set
 * (now_ms x 1000 + 1, so that the first is not 0). */
bool frames_step(struct frames *f, uint64_t now_ms, const struct reading *shown, struct reading *out);
/* True if a line leaves or the mark is looked at in this millisecond: only then `shown` is read. */
bool frames_looks(const struct frames *f, uint64_t now_ms);

#endif
