#include "tests/bench/pour/case.h"

#include <math.h>
#include <string.h>

#include "plant/parameters.h"

static const struct {
    const char *text, *what;
} classes[CLASS_COUNT] = {
#define X(name, text, what) {text, what},
    POUR_CLASSES(X)
#undef X
};

const char *class_text(enum pour_class c)
{
    return classes[c].text;
}

const char *class_what(enum pour_class c)
{
    return classes[c].what;
}

static bool one_in(struct random *r, unsigned n)
{
    return random_bits(r) % n == 0;
}

static enum mark_kind draw_mark(struct random *r)
{
    /* Of 100 scales: common practice, no source; bad marks are drawn oftener than they are met. */
    static const uint8_t weights[MARK_KINDS] = {[MARK_HONEST] = 46, [MARK_ABSENT] = 20,     [MARK_LATE] = 12,
                                                [MARK_WRONG] = 8,   [MARK_STUCK_STILL] = 8, [MARK_STUCK_MOVING] = 6};
    unsigned at = (unsigned)(random_uniform(r) * 100), kind = 0;
    while (kind + 1 < MARK_KINDS && at >= weights[kind])
        at -= weights[kind++];
    return (enum mark_kind)kind;
}

static void draw_scale(struct pour_case *c, struct random *r)
{
    static const struct {
        mass_pg capacity, division;
    } scales[] = {{15 * PG_PER_KG, 5 * PG_PER_G},
                  {6 * PG_PER_KG, 2 * PG_PER_G},
                  {3 * PG_PER_KG, PG_PER_G},
                  {30 * PG_PER_KG, 10 * PG_PER_G},
                  {600 * PG_PER_G, 10 * PG_PER_MG}};
    unsigned k = (unsigned)(random_bits(r) % 5);
    c->capacity = scales[k].capacity;
    c->division = scales[k].division;
    c->d_g = (double)c->division * 1e-12;
    c->empty_hz = parameter_draw(P_EMPTY_HZ, r);
    c->damping = parameter_draw(P_DAMPING, r);
}

static void draw_indicator(struct pour_case *c, struct random *r)
{
    struct frames_spec *f = &c->frames;
    c->tenth = random_bits(r) & 1;
    f->period_ms = c->tenth ? 100 : 1000 / parameter_draw(P_RATE_HZ, r);
    f->jitter_ms = f->period_ms * parameter_draw(P_JITTER, r);
    f->lost = one_in(r, 3) ? parameter_draw(P_LOST, r) : 0;
    f->late_ms = parameter_draw(P_MARK_LATE_MS, r);
    f->mark = (uint8_t)draw_mark(r);
    c->indicator = indicator_usual(c->capacity, c->division);
    c->indicator.noise_d = parameter_draw(P_NOISE_D, r);
    c->indicator.noise_memory = parameter_draw(P_NOISE_MEMORY, r);
    c->indicator.filter_ms = (uint32_t)fmax(f->period_ms * parameter_draw(P_FILTER, r), 20);
    c->indicator.motion_ms = (uint32_t)parameter_draw(P_MOTION_MS, r);
    c->indicator.tracks_zero = !one_in(r, 3);
}

static mass_pg divisions(const struct pour_case *c, double n)
{
    return (mass_pg)nearbyint(n) * c->division;
}

static void draw_task(struct pour_case *c, struct random *r)
{
    double capacity_d = (double)(c->capacity / c->division);
    double target_d = draw_log(r, parameter_row(P_TARGET)->low, parameter_row(P_TARGET)->high * capacity_d);
    double least_d = parameter_row(P_CONTAINER)->low, most_d = parameter_row(P_CONTAINER)->high * capacity_d;
    c->target = divisions(c, target_d);
    c->half_band = divisions(c, fmax(target_d * parameter_draw(P_BAND, r), 2));
    c->container = (mass_pg)(draw_log(r, least_d, most_d) * (double)c->division);
    c->set_s = parameter_draw(P_SET_S, r);
    c->first_s = parameter_draw(P_FIRST_REACTION, r);
    c->valve_s = parameter_draw(P_VALVE_S, r);
    c->fall_ms = (uint32_t)parameter_draw(P_FALL_MS, r);
    c->push = parameter_draw(P_PUSH, r);
}

static void draw_hand(struct pour_case *c, struct random *r)
{
    double target_g = (double)c->target * 1e-12, band_g = 2e-12 * (double)c->half_band;
    c->hand = hand_practised(target_g, band_g);
    c->hand.fast_g_s = target_g / parameter_draw(P_FILL_S, r);
    c->hand.slow_g_s = fmax(band_g * parameter_draw(P_SLOW_FLOW, r), 1.2 * c->d_g);
    c->hand.slow_g_s = fmin(c->hand.slow_g_s, c->hand.fast_g_s);
    c->hand.ease_s = parameter_draw(P_EASE_S, r);
}

static void draw_vibration(struct disturb_spec *d, struct random *r)
{
    d->vibration_d = parameter_draw(P_VIBRATION_D, r);
    d->vibration_hz = parameter_draw(P_VIBRATION_HZ, r);
    d->vibration_from_s = draw_even(r, 0, 8);
    d->vibration_for_s = parameter_draw(P_VIBRATION_S, r);
}

static void draw_bumps(struct disturb_spec *d, struct random *r)
{
    d->knocks = 1 + (unsigned)(random_bits(r) % DISTURB_KNOCKS);
    d->knock_later_s = parameter_draw(P_BUMP_LATER_S, r);
}

static void draw_resting(struct disturb_spec *d, struct random *r)
{
    d->rest_d = parameter_draw(P_REST_D, r);
    d->rest_later_s = parameter_draw(P_REST_LATER_S, r);
    d->rest_for_s = parameter_draw(P_REST_S, r);
    d->tremor_d = parameter_draw(P_TREMOR_D, r);
    d->tremor_hz = parameter_draw(P_TREMOR_HZ, r);
}

static void draw_draught(struct disturb_spec *d, struct random *r)
{
    d->gust_d = parameter_draw(P_GUST_D, r);
    d->gust_s = parameter_draw(P_GUST_S, r);
    d->flutter_d = parameter_draw(P_FLUTTER_D, r);
    d->flutter_s = parameter_draw(P_FLUTTER_S, r);
}

static void draw_trickle(struct disturb_spec *d, struct random *r)
{
    d->trickle_d_s = parameter_draw(P_TRICKLE_D_S, r);
    d->trickle_for_s = parameter_draw(P_TRICKLE_S, r);
    d->drop_d = one_in(r, 2) ? 0 : parameter_draw(P_DROP_D, r);
}

static void draw_class(struct pour_case *c, enum pour_class class, struct random *r)
{
    double band_g = 2e-12 * (double)c->half_band, target_g = (double)c->target * 1e-12;
    switch (class) {
    case CLASS_VIBRATION:
        draw_vibration(&c->disturb, r);
        break;
    case CLASS_BUMP:
        draw_bumps(&c->disturb, r);
        break;
    case CLASS_RESTING:
        draw_resting(&c->disturb, r);
        break;
    case CLASS_DRAUGHT:
        draw_draught(&c->disturb, r);
        break;
    case CLASS_DRIFT:
        c->disturb.drift_d_s = parameter_draw(P_DRIFT_D_S, r) * (one_in(r, 2) ? 1 : -1);
        break;
    case CLASS_TRICKLE:
        draw_trickle(&c->disturb, r);
        break;
    case CLASS_IN_AIR:
        c->fall_ms = (uint32_t)parameter_draw(P_HIGH_FALL_MS, r);
        break;
    case CLASS_SLOW_SET:
        c->set_s = parameter_draw(P_SLOW_SET_S, r);
        break;
    case CLASS_SCOOP:
        c->scoops = true;
        c->scoop_s = parameter_draw(P_SCOOP_S, r);
        break;
    case CLASS_DRIBBLE:
        c->hand.slow_g_s = fmin(parameter_draw(P_DRIBBLE_D_S, r) * c->d_g, c->hand.fast_g_s);
        break;
    case CLASS_HESITATION:
        c->hand.hesitate_g = target_g * parameter_draw(P_HESITATE_AT, r);
        c->hand.hesitate_s = parameter_draw(P_HESITATE_S, r);
        break;
    case CLASS_SPOON:
        c->extra_g = band_g * (0.5 + parameter_draw(P_OVER, r));
        break;
    case CLASS_PIECES:
        c->hand.piece_g = fmax(band_g * parameter_draw(P_LUMP, r), target_g / 8);
        c->hand.piece_s = parameter_draw(P_SET_S, r) * 0.6;
        break;
    default:
        break;
    }
}

void case_draw(struct pour_case *c, uint64_t seed)
{
    struct random r;
    memset(c, 0, sizeof *c);
    random_seed(&r, seed * UINT64_C(0x9e3779b97f4a7c15) + 1);
    random_seed(&r, random_bits(&r));
    c->seed = seed;
    c->class = (enum pour_class)(seed % CLASS_COUNT);
    draw_scale(c, &r);
    draw_indicator(c, &r);
    draw_task(c, &r);
    draw_hand(c, &r);
    c->disturb.division_g = c->d_g;
    if (c->class != CLASS_ALL)
        draw_class(c, c->class, &r);
    for (unsigned k = CLASS_VIBRATION; c->class == CLASS_ALL && k < CLASS_ALL; k++)
        if (one_in(&r, 3))
            draw_class(c, (enum pour_class)k, &r);
}

bool case_is_stream(const struct pour_case *c)
{
    return c->hand.piece_g <= 0 && c->extra_g <= 0 && !c->scoops;
}
