/* Indicator: see indicator.h. */
#include "plant/indicator.h"

#include <math.h>
#include <string.h>

#define KEY_WAIT_MS 3000
#define JUMP_D 20             /* divisions off: the filter opens up */
#define BOOT_GIVE_UP_MS 10000 /* a platform that never rests is taken as it is */

static double grams(mass_pg mass)
{
    return (double)mass * 1e-12;
}

struct indicator_spec indicator_usual(mass_pg capacity, mass_pg division)
{
    return (struct indicator_spec){
        .capacity = capacity,
        .division = division,
        .noise_d = 0.15,
        .noise_memory = 0.7, /* filtered sensor noise is far from white */
        .sample_ms = 10,
        .filter_ms = 60,
        .motion_ms = 400,
        .boot_ms = 2000,
        .tracks_zero = true,
    };
}

void indicator_init(struct indicator *i, const struct indicator_spec *spec, enum mass_unit unit, uint64_t seed)
{
    memset(i, 0, sizeof *i);
    i->spec = *spec;
    i->sample_in = 1;
    i->still_ms = spec->motion_ms;
    random_seed(&i->random, seed);
    indicator_unit(i, unit);
}

static bool still(const struct indicator *i)
{
    return i->still_ms >= i->spec.motion_ms;
}

/* Comes to rest by staying within half a division, and leaves rest by more than one: else noise at an edge would flicker. */
static void watch_motion(struct indicator *i)
{
    double d = grams(i->spec.division);
    if (fabs(i->shown_g - i->still_g) > (still(i) ? d : d / 2)) {
        i->still_g = i->shown_g;
        i->still_ms = 0;
    } else if (!still(i)) {
        i->still_ms += i->spec.sample_ms;
        if (still(i))
            i->still_g = i->shown_g;
    }
}

/* Half a division a second, at rest, with nothing tared, and never more than 2 % of the capacity off the power-on zero (4 % in
 * all): the rules of the header. */
static void track_zero(struct indicator *i)
{
    double d = grams(i->spec.division), off = i->shown_g - i->zero_g;
    double most = d / 2 * i->spec.sample_ms * 0.001;
    if (!i->spec.tracks_zero || i->tare || !still(i) || fabs(off) > d / 2)
        return;
    if (fabs(i->zero_g + off - i->first_g) > grams(i->spec.capacity) * 0.02)
        return;
    i->zero_g += off > most ? most : off < -most ? -most : off;
}

/* A mass near g grams as a multiple of the division in the unit shown. */
static mass_pg rounded(const struct indicator *i, double g)
{
    return (mass_pg)nearbyint(g / grams(i->step)) * i->step;
}

/* A key that was pressed while the figure moved is carried out at rest, or forgotten. */
static void carry_out_keys(struct indicator *i)
{
    if (i->tare_left && still(i)) {
        mass_pg gross = rounded(i, i->shown_g - i->zero_g);
        i->tare = gross > 0 ? gross : 0;
        i->tare_left = 0;
    }
    if (i->zero_left && still(i)) {
        if (fabs(i->shown_g - i->first_g) <= grams(i->spec.capacity) * 0.02) {
            i->zero_g = i->shown_g;
            i->tare = 0;
        }
        i->zero_left = 0;
    }
    uint32_t ms = i->spec.sample_ms;
    i->tare_left -= i->tare_left > ms ? ms : i->tare_left;
    i->zero_left -= i->zero_left > ms ? ms : i->zero_left;
}

/* Restarting: no weight for boot_ms, then zero is taken at rest, where it lies near the factory's. */
static void boot(struct indicator *i)
{
    i->boot_left -= i->boot_left > i->spec.sample_ms ? i->spec.sample_ms : i->boot_left;
    if (i->boot_left > BOOT_GIVE_UP_MS || (i->boot_left && !still(i)))
        return;
    double off = fabs(i->shown_g - i->factory_g);
    i->zero_g = i->first_g = off <= grams(i->spec.capacity) * 0.2 ? i->shown_g : i->factory_g;
    i->boot_left = 0;
}

static void sample(struct indicator *i, double felt_g)
{
    double keep = i->spec.noise_memory;
    double fresh = i->spec.noise_d * grams(i->spec.division) * random_normal(&i->random);
    i->noise_g = keep * i->noise_g + sqrt(1 - keep * keep) * fresh;
    double seen_g = felt_g + i->noise_g, filter_ms = i->spec.filter_ms;
    if (fabs(seen_g - i->shown_g) > JUMP_D * grams(i->spec.division))
        filter_ms /= 4; /* a load, not noise: follow it quickly */
    double share = i->spec.sample_ms / (filter_ms + i->spec.sample_ms);
    /* Two stages one after the other: a step begins gently. */
    i->stage_g += share * (seen_g - i->stage_g);
    i->shown_g += share * (i->stage_g - i->shown_g);
    watch_motion(i);
    if (i->boot_left) {
        boot(i);
        return;
    }
    track_zero(i);
    carry_out_keys(i);
}

void indicator_step(struct indicator *i, double felt_g)
{
    if (--i->sample_in == 0) {
        i->sample_in = i->spec.sample_ms;
        sample(i, felt_g);
    }
}

void indicator_show(const struct indicator *i, struct reading *out)
{
    mass_pg gross = rounded(i, i->shown_g - i->zero_g);
    memset(out, 0, sizeof *out);
    out->mass = gross - i->tare;
    out->unit = i->unit;
    out->places = (uint8_t)mass_places(i->step, (enum mass_unit)i->unit);
    out->step = unit_pg((enum mass_unit)i->unit);
    for (unsigned k = 0; k < out->places; k++)
        out->step /= 10;
    out->basis = i->tare ? BASIS_NET : BASIS_GROSS;
    if (i->boot_left)
        out->state = READING_NOTYET;
    else if (gross > i->spec.capacity + 9 * i->spec.division)
        out->state = READING_OVER;
    else if (gross < -20 * i->spec.division) /* common practice, no source */
        out->state = READING_UNDER;
    else
        out->state = still(i) ? READING_STABLE : READING_MOVING;
}

void indicator_tare(struct indicator *i)
{
    i->tare_left = KEY_WAIT_MS;
}

void indicator_zero(struct indicator *i)
{
    i->zero_left = KEY_WAIT_MS;
}

void indicator_unit(struct indicator *i, enum mass_unit unit)
{
    i->unit = (uint8_t)unit;
    i->step = division_in(i->spec.division, unit);
    i->tare = rounded(i, grams(i->tare));
}

void indicator_restart(struct indicator *i)
{
    i->boot_left = i->spec.boot_ms + BOOT_GIVE_UP_MS;
    i->tare_left = i->zero_left = i->still_ms = 0;
    i->tare = 0;
    i->stage_g = i->shown_g = i->still_g = 0;
}

bool indicator_at_rest(const struct indicator *i)
{
    return !i->boot_left && still(i) && !i->tare_left && !i->zero_left;
}

mass_pg division_in(mass_pg division, enum mass_unit unit)
{
    static const uint8_t ones[3] = {1, 2, 5};
    mass_pg one = unit_pg(unit), best = one;
    /* Pounds, ounces and grains are exact to three decimals, kilograms and grams to more. */
    mass_pg finest = one / (unit == UNIT_KG || unit == UNIT_G ? 1000000 : 1000);
    if (division % finest == 0)
        return division;
    for (mass_pg power = finest; power <= 100 * one; power *= 10)
        for (int k = 0; k < 3; k++) {
            double off = fabs(log(grams(power * ones[k]) / grams(division)));
            if (off < fabs(log(grams(best) / grams(division))))
                best = power * ones[k];
        }
    return best;
}
