/* Case: one simulated weighing as it is drawn from its seed: scale, platform, disturbance, hand. */
#ifndef TESTS_POUR_CASE_H
#define TESTS_POUR_CASE_H

#include "plant/air.h"
#include "plant/disturb.h"
#include "plant/frames.h"
#include "plant/hand.h"
#include "plant/plant.h"

/* X(name, text, what). A weighing's class is its seed modulo their number. */
#define POUR_CLASSES(X)                                                                                                \
    X(CALM, "calm", "nothing disturbs")                                                                                \
    X(VIBRATION, "vibration", "a mixer on the same bench")                                                             \
    X(BUMP, "bump", "one to four knocks")                                                                              \
    X(RESTING, "resting hand", "steady force counts as mass, its tremor does not")                                     \
    X(DRAUGHT, "draught", "a gust's steady push counts as mass, its turbulence does not")                              \
    X(DRIFT, "drift", "the sensor's drift counts as mass")                                                             \
    X(TRICKLE, "trickle", "drips or trickles below 1 division a second after the hand has stopped")                    \
    X(IN_AIR, "in the air", "poured from high above")                                                                  \
    X(SLOW_SET, "set slowly", "container put down slowly")                                                             \
    X(SCOOP, "off and back", "container filled at the bin and put back")                                               \
    X(DRIBBLE, "dribble", "the hand shakes the last out just faster than 1 division a second")                         \
    X(HESITATION, "hesitation", "stops on the way, then goes on unless the net is in its band")                        \
    X(SPOON, "spooned out", "poured over on purpose, then spooned out")                                                \
    X(PIECES, "pieces", "pieces bigger than the band, the last one cut")                                               \
    X(ALL, "all at once", "several of these")

enum pour_class {
#define X(name, text, what) CLASS_##name,
    POUR_CLASSES(X)
#undef X
        CLASS_COUNT
};
const char *class_text(enum pour_class c);
const char *class_what(enum pour_class c);

struct pour_case {
    uint64_t seed;
    enum pour_class class;
    mass_pg capacity, division;
    double d_g; /* the division in grams */
    double empty_hz, damping;
    struct indicator_spec indicator;
    struct frames_spec frames;
    struct disturb_spec disturb;
    struct hand_spec hand;
    bool tenth; /* ten lines a second */
    mass_pg container, target, half_band;
    double extra_g; /* poured over on purpose */
    double set_s, first_s, valve_s, scoop_s;
    uint32_t fall_ms;
    double push;
    bool scoops;
};

void case_draw(struct pour_case *c, uint64_t seed);
/* A stream that a cue can stop: not pieces, not poured over on purpose, not filled elsewhere. */
bool case_is_stream(const struct pour_case *c);

#endif
