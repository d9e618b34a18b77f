/* Disturb: see disturb.h. */
#include "plant/disturb.h"

#include <math.h>
#include <string.h>

#include "plant/parameters.h"

#define STEP_S 0.001
#define PI 3.14159265358979323846
#define REST_EDGE_S 0.12 /* a hand comes down and leaves within this */
#define GUST_EDGE_S 0.6
#define SLOW_S 0.3 /* what of a draught is slower than this no figure can tell from mass */

static void draw_knock(struct disturb *d, unsigned k, double at_s)
{
    d->knock_at_s[k] = at_s;
    d->knock_for_s[k] = draw_even(&d->random, 0.03, 0.09);
    d->knock_d[k] = parameter_draw(P_BUMP_D, &d->random) * (random_bits(&d->random) & 1 ? 1 : -1);
}

void disturb_init(struct disturb *d, const struct disturb_spec *spec, uint64_t seed)
{
    memset(d, 0, sizeof *d);
    d->spec = *spec;
    d->let_go_s = d->rest_from_s = d->trickle_until_s = -1;
    random_seed(&d->random, seed);
    d->quiet = spec->vibration_d <= 0 && !spec->knocks && spec->rest_d <= 0 && spec->gust_d <= 0 &&
               spec->trickle_d_s <= 0 && fabs(spec->drift_d_s) <= 0;
    for (unsigned k = 1; k < spec->knocks; k++)
        draw_knock(d, k, draw_even(&d->random, 0, 15));
}

void disturb_let_go(struct disturb *d)
{
    const struct disturb_spec *s = &d->spec;
    d->let_go_s = d->now_s;
    if (s->knocks)
        draw_knock(d, 0, d->now_s + s->knock_later_s);
    if (s->rest_d > 0)
        d->rest_from_s = fmax(d->now_s + s->rest_later_s, 0);
    if (s->trickle_d_s > 0)
        d->trickle_until_s = d->now_s + s->trickle_for_s;
}

void disturb_take_up(struct disturb *d)
{
    d->trickle_until_s = -1;
    if (d->rest_from_s >= 0 && d->now_s < d->rest_from_s + d->spec.rest_for_s - REST_EDGE_S)
        d->rest_from_s = d->now_s - d->spec.rest_for_s + REST_EDGE_S;
}

/* 0..1..0 with soft edges. */
static double there(double since_s, double for_s, double edge_s)
{
    double edge = fmin(since_s, for_s - since_s) / edge_s;
    if (edge <= 0)
        return 0;
    return edge >= 1 ? 1 : edge * edge * (3 - 2 * edge);
}

static double knocks(const struct disturb *d)
{
    double f = 0;
    for (unsigned k = 0; k < d->spec.knocks; k++) {
        double since_s = d->now_s - d->knock_at_s[k];
        if (d->knock_for_s[k] > 0 && since_s >= 0 && since_s < d->knock_for_s[k])
            f += d->knock_d[k] * sin(PI * since_s / d->knock_for_s[k]);
    }
    return f;
}

static double vibration(const struct disturb *d)
{
    double since_s = d->now_s - d->spec.vibration_from_s;
    if (d->spec.vibration_d <= 0 || since_s < 0 || since_s > d->spec.vibration_for_s)
        return 0;
    return d->spec.vibration_d * there(since_s, d->spec.vibration_for_s, 0.3) *
           sin(2 * PI * d->spec.vibration_hz * since_s);
}

static void gusts(struct disturb *d)
{
    const struct disturb_spec *s = &d->spec;
    if (d->now_s >= d->gust_until_s) {
        d->gust_aim = d->gust_aim == 0 ? s->gust_d * (random_bits(&d->random) & 1 ? 1 : -1) : 0;
        d->gust_until_s = d->now_s + s->gust_s * draw_even(&d->random, 0.6, 1.5);
    }
    double most = s->gust_d / GUST_EDGE_S * STEP_S, off = d->gust_aim - d->gust;
    d->gust += off > most ? most : off < -most ? -most : off;
    double keep = 1 - STEP_S / s->flutter_s;
    d->flutter = keep * d->flutter + sqrt(1 - keep * keep) * s->flutter_d * random_normal(&d->random);
}

static mass_pg drip(struct disturb *d)
{
    const struct disturb_spec *s = &d->spec;
    if (d->now_s >= d->trickle_until_s)
        return 0;
    d->drop_due_d += s->trickle_d_s * STEP_S;
    if (d->drop_due_d < s->drop_d)
        return 0;
    double falls = s->drop_d > 0 ? s->drop_d : d->drop_due_d;
    d->drop_due_d -= falls;
    return (mass_pg)(falls * s->division_g * 1e12);
}

mass_pg disturb_step(struct disturb *d)
{
    const struct disturb_spec *s = &d->spec;
    d->now_s += STEP_S;
    if (d->quiet)
        return 0;
    double counts = s->drift_d_s * d->now_s, other = knocks(d) + vibration(d);
    if (s->gust_d > 0) {
        gusts(d);
        d->slow_flutter += (d->flutter - d->slow_flutter) * STEP_S / SLOW_S;
        counts += d->gust + d->slow_flutter;
        other += d->flutter - d->slow_flutter;
    }
    if (d->rest_from_s >= 0) {
        double hand = there(d->now_s - d->rest_from_s, s->rest_for_s, REST_EDGE_S);
        counts += s->rest_d * hand;
        d->phase += 2 * PI * s->tremor_hz * STEP_S * (1 + 0.3 * random_normal(&d->random));
        other += s->tremor_d * hand * sin(d->phase);
    }
    d->counts_g = counts * s->division_g;
    d->other_g = other * s->division_g;
    return drip(d);
}
