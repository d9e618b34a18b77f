/* Flow: how fast the weight grows while somebody fills, where it will end, and a cue early enough to stop in time.
 *
 * The hand stops a reaction time after it is told to, and the scale shows it late. So the cue is not about the figure shown
 * but about where it lands:
 *
 *   flow    = slope of a least-squares line through the newest slots: as many as agree with one another (the line's slope
 *             within one and a half standard errors of that through every shorter stretch). A slot is a stretch of time that keeps
 *             the mean of its readings, so 200 readings a second need no more memory than 5. The uncertainty is one
 *             standard error: what the slots stray from the line, and never less than the rounding to the division.
 *   lands   = the line's net now + what comes in lag + air + reaction: where the net ends if the cue is given now. A flow
 *             that surely fell from one quarter of the slots to the next goes on falling so. One that was told to ease off
 *             stays for a slow reaction (1.3 times the median) and, where it does not show yet, for 0.6 reactions from now,
 *             then a tenth is left; 2.6 reactions after it was told it is not believed any more.
 *   spread  = flow x half a reaction: so much more comes from a hand that is slower than 19 of 20.
 *   late    = lands + spread + one standard error of the flow over that time.
 *   stop    : 0.7 spreads less than lands reaches the lower edge: who obeys at once is not left short. 1.8 of a spread that
 *             is more than seven tenths of what lies between target and upper edge: so fast a flow is mostly about to be
 *             eased off. A net that has come to the lower edge needs none of it.
 *             Where the target is the upper edge itself (a regulated ingredient: what is over can't stay) lands alone
 *             counts, half-way from the upper edge to the middle below that, and easing is not believed.
 *   ease off: late - lands is more than what lies between target and upper edge (it goes at half of that), and late
 *             would pass the upper edge within ease_us. Once shown it stays while that would be within ten seconds,
 *             unless the flow fits by now. Whoever is no longer told to ease off pours fast again, which is seen too late:
 *             so it also comes, and stays, while the fastest flow that was told to ease off in this filling would go from
 *             lands to the upper edge within 0.29 s.
 *   handled : growth that began more than two divisions below a net of nothing, that at any time was faster than the whole
 *             target in 0.4 s, or that is younger than rise_us was not poured: a container is set down or lifted off, a
 *             piece is thrown in. No cue until it has ended.
 *   known   = readings without a break (longer than three periods and 60 ms) in three slots or more, and the newest not
 *             older than that. A flow counts as one where it is above three times its uncertainty;
 *             one that did for half a second still does above its uncertainty: while it changes, that is large.
 *   stopped : since when "stop" is or was last shown, and the flow then. Forgotten once the net surely falls, or has grown for
 *             longer than rise_us, and is not to be stopped: settle.h takes a hand that was told to stop long ago for one
 *             that has.
 *   shown   : a cue comes at once. It goes when it was not due for hold_us (ease off: 0.28 s): it doesn't chatter.
 *
 * Where less than four readings come a second, or only settled ones, nothing is known: no cue and no pointer.
 * Reaction: log-normal, median 0.35 s (from memory: simple visual reactions are near 0.25 s, a choice adds to it), 19 of
 * 20 below 1.5 times that (its logarithm deviates by 0.25). Lag: two filter stages of about 0.7 periods each, common
 * practice, no source. Air: what falls is not on the platform yet, but a stream that lands pushes as much as what is in the
 * air weighs (momentum: speed at landing = g x fall time), so the figure counts most of it already: 0 unless given.
 * All other figures were chosen on seeds 1 to 3 of `make bench-pour`.
 *
 * Error rates, on seeds that the choice never saw: docs/easing.md. */
#ifndef CORE_FLOW_H
#define CORE_FLOW_H

#include "core/profile.h"

#define FLOW_BINS 16
#ifndef FLOW_CUE /* 0: a small board that gives no cue, as if each scale sent too seldom; its line takes five kilobytes */
#define FLOW_CUE 1
#endif

enum flow_cue { CUE_NONE, CUE_EASE, CUE_STOP };

/* Constants of one scale, the same in every call. Zero in a field means its default. */
struct flow_rule {
    mass_pg division;   /* > 0, at most 100 kg; else nothing is known */
    uint32_t period_us; /* usual gap between readings; default 100,000. Above 250,000: nothing is known */
    uint32_t lag_us;    /* how late the figure is: platform, filter, line; default 20,000 and one and a half periods */
    uint32_t air_us;    /* how long what the figure does not count yet falls; 0 = it counts all */
    uint32_t reaction_us; /* median; default 350,000 */
    uint32_t ease_us;     /* how long before it is too late the hand is told to ease off; default 360,000 */
    uint32_t hold_us;     /* default 400,000 */
    uint32_t rise_us;     /* default 110,000 */
    bool mute;            /* it sends settled weights only, or at its key: nothing is known */
};

/* The mean of the readings of one slot. count 0: none came. */
struct flow_bin {
    mass_pg mass;
    uint32_t at; /* since the slot began */
    uint32_t count;
};

struct flow {
    struct flow_bin bins[FLOW_BINS]; /* of slot n at n % FLOW_BINS */
    uint64_t slot;                   /* the newest reading's slot, counted from time 0 */
    uint64_t newest;                 /* when it came; 0 = none since the last break */
    uint64_t rise_since;             /* since when the net grows; 0 = it does not */
    uint64_t stopped_at;             /* when the hand came to be told to stop; 0 = it was not, or went on since */
    mass_pg stopped;                 /* the flow at that time */
    uint64_t eased_at;               /* since when the hand is told to ease off; 0 = it is not */
    uint64_t lower_since;            /* since when a lower cue than the one shown is due; 0 = it is not */
    mass_pg before;                  /* the fastest flow that was told to ease off in this filling; 0 = none was */
    uint8_t cue;                     /* enum flow_cue: the one shown */
    bool handled;                    /* this growth was not poured */
};

/* What is to be reached. The net is mass - tare, or tare - mass where it falls (out of the bag). low <= target <= high. */
struct flow_aim {
    mass_pg tare, target, low, high;
    bool falls;
};

struct flow_view {
    bool known;
    uint8_t cue;         /* enum flow_cue that is due now, before hold_us; CUE_NONE if not known */
    mass_pg per_second;  /* growth of the net; below 0: it shrinks. As all masses here 0 if not known */
    mass_pg uncertainty; /* of it, one standard error, >= 0 */
    mass_pg net;         /* by the line, as late as the scale shows it */
    mass_pg fastest;     /* growth between two slots next to each other, per second */
    mass_pg lands;       /* the net if the cue to stop were given now */
    mass_pg spread;      /* what a slow hand lets in beyond that */
    mass_pg late;        /* lands with a slow hand and an unsure flow */
};

/* "none", "ease", "stop". */
const char *cue_text(enum flow_cue cue);
/* The rule of a scale that sends as its profile says. */
struct flow_rule flow_rule_for(const struct profile *p, mass_pg division);
/* False: on this scale nothing can be told while it is filled, and what it shows is not live. */
bool flow_tells(const struct flow_rule *rule);
void flow_reset(struct flow *f);
/* Takes a reading (its `at` > 0). One older than the newest is dropped, but if by more than two seconds, the clock was set
 * back and all begins anew. One without a weight, or after a break, or that may itself have waited for longer than a gap
 * (at - since), begins anew too. */
void flow_feed(struct flow *f, const struct flow_rule *rule, const struct reading *r);
/* What is so at `now`. An aim whose edges are not in order, or whose masses are beyond a quarter of a mass's reach, has no
 * cue. */
struct flow_view flow_look(const struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim,
                           uint64_t now);
/* The same, and moves the cue shown (returned, and in f->cue). Call it after every reading, and at flow_next. */
enum flow_cue flow_steer(struct flow *f, const struct flow_rule *rule, const struct flow_aim *aim, uint64_t now);
/* The moment, later than now, at which the cue shown may change with no further reading; 0 = never. */
uint64_t flow_next(const struct flow *f, const struct flow_rule *rule, uint64_t now);

#endif
