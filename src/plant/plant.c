/* Plant: platform and indicator stepped together, a millisecond at a time; it has no clock and no line of its own. */
#include "plant/plant.h"

#include <string.h>

struct plant_spec plant_usual(mass_pg capacity, mass_pg division, enum mass_unit unit)
{
    return (struct plant_spec){
        .indicator = indicator_usual(capacity, division),
        /* At capacity four times the pan's mass swings, so at half the empty frequency. */
        .pan_g = (double)capacity * 1e-12 / 3,
        .empty_hz = 25,
        .damping_ratio = 0.2,
        .hand_ms = 150,
        .unit = (uint8_t)unit,
    };
}

void plant_init(struct plant *p, const struct plant_spec *spec, uint64_t seed)
{
    memset(p, 0, sizeof *p);
    p->spec = *spec;
    platform_init(&p->platform, spec->pan_g, spec->empty_hz, spec->damping_ratio);
    indicator_init(&p->indicator, &spec->indicator, (enum mass_unit)spec->unit, seed);
}

void plant_step(struct plant *p)
{
    platform_step(&p->platform);
    indicator_step(&p->indicator, p->platform.felt_g);
    p->now_ms++;
}

void plant_run(struct plant *p, uint64_t ms)
{
    while (ms--)
        plant_step(p);
}

mass_pg plant_truth(const struct plant *p)
{
    return p->platform.load;
}

void plant_show(const struct plant *p, struct reading *out)
{
    indicator_show(&p->indicator, out);
}

bool plant_settled(const struct plant *p)
{
    return !platform_busy(&p->platform) && indicator_at_rest(&p->indicator);
}

bool plant_move(struct plant *p, mass_pg mass)
{
    return platform_move(&p->platform, mass, p->spec.hand_ms);
}

void plant_clear(struct plant *p)
{
    platform_clear(&p->platform, p->spec.hand_ms);
}
