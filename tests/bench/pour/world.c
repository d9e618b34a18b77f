#include "tests/bench/pour/world.h"

#include <string.h>

#include "plant/parameters.h"

#define LONGEST_S 45.0
#define AFTER_S 4.0 /* the oracle looks 3 s ahead */

static void begin_plant(struct world *w)
{
    const struct pour_case *c = &w->c;
    uint64_t seed = c->seed * UINT64_C(0xd1342543de82ef95);
    platform_init(&w->platform, (double)c->capacity * 1e-12 / 3, c->empty_hz, c->damping);
    indicator_init(&w->indicator, &c->indicator, c->division < PG_PER_G ? UNIT_G : UNIT_KG, seed + 1);
    frames_init(&w->frames, &c->frames, seed + 2);
    air_init(&w->air, c->fall_ms, c->push);
    disturb_init(&w->disturb, &c->disturb, seed + 3);
    person_begin(w);
}

static void step(struct world *w)
{
    struct reading shown, r;
    mass_pg before = w->platform.load;
    person_step(w);
    mass_pg by_hand = w->platform.load - before;
    w->platform.load += disturb_step(&w->disturb);
    w->platform.push_g = w->disturb.counts_g + w->disturb.other_g + w->air.push_g;
    platform_step(&w->platform);
    indicator_step(&w->indicator, w->platform.felt_g);
    w->now_ms++;
    w->now_s = (double)w->now_ms * 0.001;
    judge_step(w, by_hand);
    if (frames_looks(&w->frames, w->now_ms)) {
        indicator_show(&w->indicator, &shown);
        if (frames_step(&w->frames, w->now_ms, &shown, &r)) {
            station_reading(w, &r);
            judge_reading(w, &r);
        }
    }
    if (w->tick_us && w->now_ms * 1000 + 1 >= w->tick_us)
        station_tick(w);
    if (w->how.reacts)
        station_offers(w);
}

void world_run(struct world *w, uint64_t seed, bool cued)
{
    struct formula *formula = w->formula;
    struct manner_of how = w->how;
    void (*trace)(const struct world *, const struct reading *, const char *) = w->trace;
    memset(w, 0, sizeof *w);
    w->formula = formula;
    w->how = how;
    w->trace = trace;
    w->cued = cued;
    case_draw(&w->c, seed);
    w->cue_from_s = w->begun_s = w->offered_s = -1;
    begin_plant(w);
    if (!station_begin(w))
        return;
    double after_s = cued ? AFTER_S : 0; /* without the cue only over-weighs and times are asked for */
    while (w->now_s < LONGEST_S && !w->out.caught && (!w->done || w->now_s < w->out.net[RULE_OURS].at_s + after_s))
        step(w);
    judge_end(w);
}
