/* Plant: one simulated scale, platform and indicator together. A plain struct, stepped by time, without clock or I/O:
 * the pretend scale runs it in real time, benches thousands of times faster. */
#ifndef PLANT_PLANT_H
#define PLANT_PLANT_H

#include "plant/indicator.h"
#include "plant/platform.h"

struct plant_spec {
    struct indicator_spec indicator;
    double pan_g;         /* moving mass of the empty platform */
    double empty_hz;      /* its natural frequency, below 60 */
    double damping_ratio; /* of the empty platform */
    uint32_t hand_ms;     /* how long a thing takes to be set down or lifted off */
    uint8_t unit;         /* enum mass_unit of the display */
};

struct plant {
    struct plant_spec spec;
    struct platform platform;
    struct indicator indicator;
    uint64_t now_ms; /* since plant_init */
};

/* A bench scale as they usually are: 25 Hz empty, half that at capacity. Common practice, no source. */
struct plant_spec plant_usual(mass_pg capacity, mass_pg division, enum mass_unit unit);
void plant_init(struct plant *p, const struct plant_spec *spec, uint64_t seed);
void plant_step(struct plant *p); /* one millisecond */
void plant_run(struct plant *p, uint64_t ms);

/* The true mass on the platform, at this instant. */
mass_pg plant_truth(const struct plant *p);
void plant_show(const struct plant *p, struct reading *out);
/* Nothing moves, nothing is on its way, no key waits, and the mark says stable. */
bool plant_settled(const struct plant *p);

/* By hand, in the spec's time; see platform.h. */
bool plant_move(struct plant *p, mass_pg mass);
void plant_clear(struct plant *p);

#endif
