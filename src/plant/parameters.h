/* Parameters: the one table of what the simulated weighings are drawn from. One row each: range, shape, reason.
 *
 * No figure here has a published source unless its row names one: they are common practice, and from memory. */
#ifndef PLANT_PARAMETERS_H
#define PLANT_PARAMETERS_H

#include "plant/random.h"

/* How a value is drawn: evenly, evenly in its logarithm, or log-normal (low: the median; high: the logarithm's deviation). */
enum shape { EVEN, LOG, LOGNORMAL };

/* X(name, unit, low, high, shape, reason). d: divisions of the scale. */
#define PARAMETERS(X)                                                                                                  \
    X(EMPTY_HZ, "Hz", 12, 40, LOG, "platform: natural frequency empty; light fine scales are stiff, benches softer")   \
    X(DAMPING, "", 0.08, 0.4, LOG, "platform: damping ratio; a load cell alone rings, a filled one does not")          \
    X(NOISE_D, "d", 0.04, 0.5, LOG, "sample noise before the filter; the figure flickers at the upper end")            \
    X(NOISE_MEMORY, "", 0.5, 0.9, EVEN, "share of a sample's noise the next one keeps; sensor noise is not white")     \
    X(RATE_HZ, "1/s", 5, 50, LOG, "lines a second where it is not 10 (every second weighing): the issue of lines")     \
    X(JITTER, "periods", 0, 0.3, EVEN, "how late a line may come: the indicator's own loop and the serial port")       \
    X(LOST, "", 0, 0.05, EVEN, "share of lines lost, in every third weighing: noise on the line, a buffer overrun")    \
    X(FILTER, "periods", 0.5, 0.8, EVEN, "each of two filter stages: as slow as it sends, or it would alias")          \
    X(MOTION_MS, "ms", 250, 900, LOG, "within half a division before the mark says stable; 0.4 s is usual")            \
    X(MARK_LATE_MS, "ms", 200, 900, EVEN, "a late mark's age: computed in a slower loop than the figure")              \
    X(CONTAINER, "d", 25, 0.15, LOG, "low: divisions; high: share of capacity. Cups to tubs")                          \
    X(TARGET, "d", 40, 0.4, LOG, "low: divisions, twice a scale's usual least load; high: share of capacity")          \
    X(BAND, "", 0.01, 0.04, EVEN, "half the band as a share of the target, at least two divisions")                    \
    X(FILL_S, "s", 1, 5, LOG, "target over the fastest flow: a practised hand and a careful one")                      \
    X(SLOW_FLOW, "bands/s", 0.4, 2, LOG, "slowest steady flow, at least 1.2 divisions a second")                       \
    X(EASE_S, "s", 0.25, 0.8, EVEN, "eases off so that the rest would last so long")                                   \
    X(VALVE_S, "s", 0.03, 0.12, EVEN, "how fast the flow follows the hand's wish: tilting a jug back")                 \
    X(FALL_MS, "ms", 60, 200, EVEN, "fall of 2 to 20 cm")                                                              \
    X(HIGH_FALL_MS, "ms", 250, 450, EVEN, "material in the air: a fall of 30 cm to 1 m, out of a bag or from a bin")   \
    X(PUSH, "", 0.3, 1, EVEN, "share of a landing stream's push that is felt: it slides down the wall or lands flat")  \
    X(FIRST_REACTION, "s", 0.35, 0.25, LOGNORMAL, "time to begin what the screen asks; the hand has its own draws")    \
    X(SET_S, "s", 0.1, 0.4, EVEN, "time to set a container down")                                                      \
    X(SLOW_SET_S, "s", 0.6, 3, EVEN, "container put down slowly: a full tub, a careful person")                        \
    X(VIBRATION_HZ, "Hz", 2, 12, EVEN, "mixer on the same bench: paddles, gearbox, loose feet")                        \
    X(VIBRATION_D, "d", 0.2, 3, LOG, "its force before the filter")                                                    \
    X(VIBRATION_S, "s", 2, 25, LOG, "for so long; it begins at any time in the first 8 s")                             \
    X(BUMP_D, "d", 3, 300, LOG, "a knock against bench or container, 30 to 90 ms, half of them downwards")             \
    X(BUMP_LATER_S, "s", 0, 1.5, EVEN, "a knock after the hand lets go; some more come at any time")                   \
    X(REST_D, "d", 0.8, 40, LOG, "a hand resting on the pan or a sleeve touching it: steady force, counted as mass")   \
    X(REST_LATER_S, "s", -0.3, 0.8, EVEN, "it comes so long after the hand lets go (before: it never left)")           \
    X(REST_S, "s", 0.6, 5, LOG, "and stays for so long")                                                               \
    X(TREMOR_D, "d", 0.05, 0.9, LOG, "its tremor; share of the force that shakes")                                     \
    X(TREMOR_HZ, "Hz", 6, 11, EVEN, "physiological tremor is 8 to 12 Hz, slower when tired (from memory)")             \
    X(GUST_D, "d", 0.2, 1.5, EVEN, "draught: push of a gust, counted as mass; either way")                             \
    X(GUST_S, "s", 0.8, 5, LOG, "a gust lasts, and pauses, so long; it comes and goes within 0.6 s")                   \
    X(FLUTTER_D, "d", 0.05, 0.5, LOG, "draught: deviation of its turbulence; what of it lasts 0.3 s counts")           \
    X(FLUTTER_S, "s", 0.05, 0.25, EVEN, "and how long that lasts")                                                     \
    X(DRIFT_D_S, "d/s", 0.03, 0.1, EVEN, "sensor warms or creeps, counted as mass: 1 division in 10 s at most")        \
    X(TRICKLE_D_S, "d/s", 0.1, 0.95, EVEN, "drip or trickle after the hand has stopped: below 1 division a second")    \
    X(TRICKLE_S, "s", 0.5, 8, LOG, "for so long")                                                                      \
    X(DROP_D, "d", 0.02, 0.4, LOG, "one drop")                                                                         \
    X(DRIBBLE_D_S, "d/s", 1.1, 6, LOG, "the slow hand: shakes the last out just faster than 1 division a second")      \
    X(HESITATE_AT, "", 0.3, 0.97, EVEN, "hesitation: at this share of the target")                                     \
    X(HESITATE_S, "s", 0.4, 3, LOG, "for so long; who sees the net inside the band then pours no more")                \
    X(OVER, "bands", 0.3, 2, EVEN, "poured over on purpose, then spooned out: so much beyond the upper edge")          \
    X(LUMP, "bands", 0.6, 4, LOG, "meat pieces, diced cheese: one piece against the band's width")                     \
    X(SCOOP_S, "s", 1.5, 5, EVEN, "container off the platform while it is filled at the bin")

enum parameter {
#define X(name, unit, low, high, shape, reason) P_##name,
    PARAMETERS(X)
#undef X
        PARAMETER_COUNT
};

struct parameter_row {
    const char *name, *unit;
    double low, high;
    enum shape shape;
    const char *reason;
};
const struct parameter_row *parameter_row(enum parameter p);
double parameter_draw(enum parameter p, struct random *r);
/* Between low and high whatever the row says of them. */
double draw_even(struct random *r, double low, double high);
double draw_log(struct random *r, double low, double high);

#endif
